"""A material's flow curves and density as the core takes them.

What is kept from case to case goes by what it depends on, not by the material: a sweep that changes the
density makes no new table of viscosities.
"""

from functools import lru_cache

import numpy as np

from balltravel.closures.flow_curves import by_stress, in_pipe, tabulated
from balltravel.core.parameters import Array
from balltravel.core.rheology import Rheology
from balltravel.material.flow_laws import FlowLaw, Newtonian
from balltravel.material.model import MaterialModel, material_model, stated_temperature
from balltravel.material.temperature_laws import density_at
from balltravel.scenario import model as described

BLUNT = 0.05
"""Shear rate at which a yield stress is blunted, over the cycle rate: a thousandth of what flows (our
choice)."""

HOSE_BLUNT = 0.1
"""Floor of the hose's 8 U/d over that of shear rates: it is slower than any other (our choice)."""

_density_at = lru_cache(maxsize=256)(density_at)


@lru_cache(maxsize=64)
def _tabulated(law: FlowLaw, scale: float, floor: float) -> Rheology:
    """A law times ``scale``, blunted at the ``floor`` [1/s]."""
    return tabulated(lambda rate: _scaled(law, scale, rate), floor, scale * law.yield_stress)


@lru_cache(maxsize=64)
def _other_curves(law: FlowLaw, scale: float, floor: float) -> tuple[Rheology, Rheology]:
    """The same over stress, and as a pipe sees it."""
    in_hose = in_pipe(lambda rate: _scaled(law, scale, rate), HOSE_BLUNT * floor, scale * law.yield_stress)
    return by_stress(_tabulated(law, scale, floor)), in_hose


def _scaled(law: FlowLaw, scale: float, rate: Array) -> Array:
    return np.asarray(scale * law.viscosity(rate))


def _rheology(known: MaterialModel, temperature: float, cycle_rate: float) -> Rheology:
    if isinstance(known.law, Newtonian):
        return Rheology(known.scale(temperature) * known.law.constant)
    return _tabulated(known.law, known.scale(temperature), BLUNT * cycle_rate)


def flow_curves(
    material: described.Material, cycle_rate: float, temperature: float | None = None
) -> tuple[Rheology, Rheology, Rheology]:
    """The material's viscosity over shear rate, over stress, and as a pipe sees it, at a temperature [K],
    that in the lower unless one is given; blunted at a share of the cycle rate [1/s]."""
    known = material_model(material)
    kelvin = material.temperature if temperature is None else temperature
    rheology = _rheology(known, kelvin, cycle_rate)
    if known.newtonian:
        return rheology, rheology, rheology
    return rheology, *_other_curves(known.law, known.scale(kelvin), BLUNT * cycle_rate)


def rheology_of(material: described.Material, cycle_rate: float) -> Rheology:
    """The material's viscosity over shear rate, in the lower."""
    return _rheology(material_model(material), material.temperature, cycle_rate)


def density_of(material: described.Material, temperature: float | None = None) -> float:
    """Density [kg/m3] at a temperature [K], that in the lower unless one is given."""
    kelvin = material.temperature if temperature is None else temperature
    return _density_at(kelvin, material.density, stated_temperature(material), material.thermal_expansion)
