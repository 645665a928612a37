"""The finite-element solver in space, where NGSolve is there; else the tests say why not."""

import pytest

try:
    from balltravel.closures.fem.half_check import HalfCheck
    from balltravel.closures.fem.off_axis import ASIDE, FALL, FLOW, SPIN, free, motions

    MISSING = ""
except (ImportError, OSError) as error:  # OSError: a library of the system is missing
    MISSING = f"no finite elements in space here: {error}"

NEEDS_NGSOLVE = pytest.mark.skipif(bool(MISSING), reason=MISSING or "-")

__all__ = ["ASIDE", "FALL", "FLOW", "NEEDS_NGSOLVE", "SPIN", "HalfCheck", "free", "motions"]
