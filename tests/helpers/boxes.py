"""Arguments of the kernels as the simulation hands them over, or as they are where nothing is compiled."""

import os
from typing import Any, TypeVar

import numpy as np

from balltravel.closures.flow_curves import by_stress, tabulated
from balltravel.core.parameters import Material, Parameters
from balltravel.core.records import as_block, as_record
from balltravel.core.rheology import Rheology
from balltravel.core.workspace import make_workspace

_Group = TypeVar("_Group")
PLAIN = os.environ.get("NUMBA_DISABLE_JIT", "0") != "0"


def boxed(group: _Group) -> _Group:
    """A record for a compiled kernel; in plain Python the group itself, which is read ten times faster."""
    return group if PLAIN else as_record(group)


def thin(
    viscosity: float, exponent: float = 1.0, onset: float = 1.0, yield_stress: float = 0.0, blunt: float = 1.0
) -> Rheology:
    """A Carreau liquid with a yield stress, as the core has it; Newtonian too, but by its table."""

    def curve(rate: np.ndarray) -> np.ndarray:
        return viscosity * (1.0 + (rate / onset) ** 2) ** (0.5 * (exponent - 1.0)) + yield_stress / rate

    return tabulated(curve, blunt, yield_stress)


def liquid(rheology: float | Rheology, density: float) -> Material:
    """A material of which only this counts; a number is a viscosity."""
    curve = rheology if isinstance(rheology, Rheology) else Rheology(rheology)
    return boxed(Material(curve, by_stress(curve), density, 1.5e9, 0.005, 2000.0))


def with_viscosity(p: Parameters, viscosity: float) -> Parameters:
    """The same lower in a Newtonian liquid of another viscosity."""
    one = Rheology(viscosity)
    material = p.material._replace(rheology=one, by_stress=one)
    return p._replace(material=material, suction=p.suction._replace(rheology=one))


class Work:
    """A workspace: ``box`` goes to the kernels, the attributes are its arrays where they lie."""

    def __init__(self) -> None:
        plain = make_workspace()
        if PLAIN:
            self.box, self._fields = plain, plain._asdict()
        else:
            block = as_block(plain)
            self.box, self._fields = block[0], {name: block[name][0] for name in plain._fields}
            self._fields["rows"], self._fields["events"] = plain.rows, plain.events

    def __getattr__(self, name: str) -> Any:
        return self._fields[name]
