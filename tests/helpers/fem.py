"""The finite-element solver, where gmsh and its system libraries are there; else the tests say why not."""

import pytest

try:
    from balltravel.closures.fem.creeping import Resistance, resistance
    from balltravel.closures.fem.section import cone, mesh_of, sharp_edge

    MISSING = ""
except (ImportError, OSError) as error:  # OSError: gmsh without a library of the system
    MISSING = f"no finite elements here: {error}"

NEEDS_FEM = pytest.mark.skipif(bool(MISSING), reason=MISSING or "-")

__all__ = ["NEEDS_FEM", "Resistance", "cone", "mesh_of", "resistance", "sharp_edge"]
