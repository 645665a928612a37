"""What goes with the density of each case of a sweep: what was written or read as a kinematic viscosity."""

from collections.abc import Collection
from typing import Any

from balltravel.scenario.model import Scenario
from balltravel.sweeps.values import READINGS
from balltravel.units import is_kinematic

DENSITY, VISCOSITY = "material.density", "material.viscosity"


def all_kinematic(given: object) -> bool:
    """Whether all values of a key that it has are written as kinematic viscosities (``"4000 cSt"``)."""
    values = [value for value in given if value is not None] if isinstance(given, list | tuple) else []
    return bool(values) and all(map(is_kinematic, values))


def written_kinematic(viscosity: float | None, density: float) -> str | None:
    """A viscosity [Pa s] at a density [kg/m3] as one that goes with the density."""
    return None if viscosity is None else f"{viscosity / density:.17g} m2/s"


def is_kinematic_in(scenario: Scenario) -> bool:
    """Whether the viscosity of a scenario was written as a kinematic one."""
    stated = scenario.ranges.get(VISCOSITY)
    return scenario.material.viscosity is not None and stated is not None and stated.follows == DENSITY


def keys_with_density(
    scenario: Scenario, samples: Collection[str], grid: Collection[str], kinematic: bool
) -> tuple[str, ...]:
    """Keys whose value goes with the density of a case, by the keys that a sweep has in its ``samples`` and
    in its ``grid``: of the scenario a viscosity that was written in cSt and readings of cups, where the sweep
    has no others; of the samples those that are ``kinematic`` viscosities, and readings beside a grid of
    densities (beside samples of it they are drawn with it)."""
    if DENSITY not in {*samples, *grid}:
        return ()
    goes = {
        VISCOSITY: is_kinematic_in(scenario) and VISCOSITY not in grid,
        READINGS: any(reading.kinematic for reading in scenario.material.readings),
    }
    if VISCOSITY in samples:
        goes[VISCOSITY] = kinematic
    if READINGS in samples:
        goes[READINGS] = DENSITY in grid
    return tuple(key for key, does in goes.items() if does)


def at_its_density(scenario: Scenario, keys: Collection[str], changes: dict[str, Any]) -> dict[str, Any]:
    """The changes of a case, with the values of these ``keys``, which are those at the density of the
    scenario, at the case's own density."""
    denser = changes[DENSITY] / scenario.material.density
    own = {VISCOSITY: scenario.material.viscosity, READINGS: scenario.material.readings}
    values = {key: changes.get(key, own[key]) for key in keys}
    return {**changes, **{key: _denser(value, denser) for key, value in values.items() if value}}


def _denser(value: Any, factor: float) -> Any:
    """A kinematic viscosity, or those of the readings that are one, at so many times the density."""
    if isinstance(value, float):
        return factor * value
    return tuple(r._replace(viscosity=factor * r.viscosity) if r.kinematic else r for r in value)
