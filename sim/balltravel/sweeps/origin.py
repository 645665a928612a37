"""Which program computes: what must be the same wherever the cases of one study are run."""

import hashlib
from functools import cache
from importlib.metadata import version
from pathlib import Path

from balltravel import __version__

PACKAGE = Path(__file__).parents[1]

ROOMS = ("closures", "core", "cycle", "material", "scenario", "setup", "site", "units")
"""Where the numbers of a case come from; texts and figures may change while a sweep goes on."""


@cache
def origin() -> str:
    """The version of balltravel and of the libraries that its numbers depend on, and a digest of its sources:
    between two releases the version alone does not tell."""
    digest = hashlib.sha256((PACKAGE / "sweeps" / "columns.py").read_bytes())
    for room in ROOMS:
        for path in sorted((PACKAGE / room).rglob("*")):
            if path.suffix in (".py", ".csv", ".txt"):
                digest.update(path.read_bytes())
    libraries = ", ".join(f"{name} {version(name)}" for name in ("numba", "numpy"))
    return f"balltravel {__version__}, {libraries}, sources {digest.hexdigest()[:12]}"
