"""Arguments of the kernels as the simulation hands them over, or as they are where nothing is compiled."""

import os
from typing import Any, TypeVar

import numpy as np

from balltravel.core.parameters import Material
from balltravel.core.records import as_record, record_type
from balltravel.core.rheology import Rheology
from balltravel.core.workspace import make_workspace

_Group = TypeVar("_Group")
PLAIN = os.environ.get("NUMBA_DISABLE_JIT", "0") != "0"


def boxed(group: _Group) -> _Group:
    """A record for a compiled kernel; in plain Python the group itself, which is read ten times faster."""
    return group if PLAIN else as_record(group)


def liquid(viscosity: float, density: float, **rheology: float) -> Material:
    """A material of which only this counts."""
    return boxed(Material(Rheology(viscosity, **rheology), density, 1.5e9, 0.005, 2000.0, 293.15))


class Work:
    """A workspace: ``box`` goes to the kernels, the attributes are its arrays where they lie."""

    def __init__(self) -> None:
        plain = make_workspace()
        if PLAIN:
            self.box, self._fields = plain, plain._asdict()
        else:
            block = np.zeros(1, dtype=record_type(plain))
            self.box, self._fields = block[0], {name: block[name][0] for name in plain._fields}

    def __getattr__(self, name: str) -> Any:
        return self._fields[name]
