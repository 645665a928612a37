"""A material's flow curves and density as the core takes them."""

from functools import lru_cache

from balltravel.closures.flow_curves import by_stress, in_pipe, tabulated
from balltravel.core.parameters import Array
from balltravel.core.rheology import Rheology
from balltravel.material.model import material_model
from balltravel.scenario import model as described

BLUNT = 0.05
"""Shear rate at which a yield stress is blunted, over the cycle rate: a thousandth of what flows (our
choice)."""

HOSE_BLUNT = 0.1
"""Floor of the hose's 8 U/d over that of shear rates: it is slower than any other (our choice)."""


@lru_cache(maxsize=64)
def _rheology(material: described.Material, temperature: float, floor: float) -> Rheology:
    known = material_model(material)
    if known.newtonian:
        return Rheology(float(known.viscosity(1.0, temperature)))
    return tabulated(lambda rate: known.viscosity(rate, temperature), floor, known.yield_stress(temperature))


@lru_cache(maxsize=64)
def _flow_curves(
    material: described.Material, temperature: float, floor: float
) -> tuple[Rheology, Rheology, Rheology]:
    known, rheology = material_model(material), _rheology(material, temperature, floor)
    if known.newtonian:
        return rheology, rheology, rheology

    def law(rate: Array) -> Array:
        return known.viscosity(rate, temperature)

    in_hose = in_pipe(law, HOSE_BLUNT * floor, known.yield_stress(temperature))
    return rheology, by_stress(rheology), in_hose


def flow_curves(
    material: described.Material, cycle_rate: float, temperature: float | None = None
) -> tuple[Rheology, Rheology, Rheology]:
    """The material's viscosity over shear rate, over stress, and as a pipe sees it, at a temperature [K],
    that in the lower unless one is given; blunted at a share of the cycle rate [1/s]."""
    kelvin = material.temperature if temperature is None else temperature
    return _flow_curves(material, kelvin, BLUNT * cycle_rate)


def rheology_of(material: described.Material, cycle_rate: float) -> Rheology:
    """The material's viscosity over shear rate, in the lower."""
    return _rheology(material, material.temperature, BLUNT * cycle_rate)


def density_of(material: described.Material, temperature: float | None = None) -> float:
    """Density [kg/m3] at a temperature [K], that in the lower unless one is given."""
    return material_model(material).density_at(material.temperature if temperature is None else temperature)
