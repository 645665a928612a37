"""A value that was tried: what one gives to --set, and what a run of exactly that gave."""

from dataclasses import dataclass

from balltravel.core.status import Status
from balltravel.cycle.validity import is_indication
from balltravel.material.model import material_model
from balltravel.scenario.model import Scenario, flat
from balltravel.study.search.inputs import Input
from balltravel.study.search.walk import Base
from balltravel.study.travel.trials import missed
from balltravel.sweeps.cases import Case

NOTICEABLE = 1.01
"""By how many times a pressure or a rate that is a result must rise to be told of (our choice)."""

SET_PRESSURES = ("drive.supply_gauge_pressure", "suction.tank_gauge_pressure", "outlet.gauge_pressure")
TEMPERATURES = ("material.temperature", "suction.temperature")
RATES = ("drive.cycle_rate", "drive.free_cycle_rate")


@dataclass(frozen=True)
class TriedValue:
    """A value as one gives it to --set (every text), and what a run of exactly that gave: fill, delivery (of
    swept), landing speed [m/s] of the inlet ball, targets missed in words and by name, whether closures are
    so far outside their range that it is an indication, whether the cycle repeats itself, and the material's
    viscosity [Pa s] in the lower (as other printouts have it). Numbers are None where the run failed.
    ``raises``: which of ``pressure``, ``temperature`` and ``speed`` it raises."""

    settings: tuple[str, ...]
    value: float
    fill: float | None
    delivery: float | None
    landing: float | None
    missed: tuple[str, ...]
    indication: bool
    repeats: bool
    viscosity: float
    targets: tuple[str, ...] = ()
    raises: tuple[str, ...] = ()


def tried_value(
    item: Input | None, scenario: Scenario, case: Case, settings: tuple[str, ...], base: Base | None = None
) -> TriedValue:
    """What a case says; ``base``: from which it was walked, to see what rises."""
    m = case.metrics
    misses = () if m is None else tuple(missed(scenario, m))
    failed = f"the run failed ({case.status.name.lower()})"
    return TriedValue(
        settings,
        float("nan") if item is None else present_value(item, scenario),
        None if m is None else m.fill_fraction,
        None if m is None else m.volumetric_efficiency,
        None if m is None else m.inlet.landing_speed,
        (failed,) if m is None else tuple(miss.text for miss in misses),
        is_indication(case.excursions),
        case.status == Status.OK,
        material_model(scenario.material).nominal_viscosity(scenario.material.temperature),
        ("run",) if m is None else tuple(miss.target for miss in misses),
        () if base is None else raised(base, scenario, case),
    )


def present_value(item: Input, scenario: Scenario) -> float:
    """The value of an input [SI]."""
    return float(item.present(scenario) if item.present else flat(scenario)[item.key])


def raised(base: Base, scenario: Scenario, case: Case) -> tuple[str, ...]:
    """Which of pressure, temperature and speed are higher than in a base: those that the scenario sets, and
    the mean pressure in the upper chamber and the cycle rate as run."""
    before, after = flat(base.scenario), flat(scenario)

    def more(keys: tuple[str, ...]) -> bool:
        return any((after[key] or 0.0) > (before[key] or 0.0) for key in keys)

    pressure, speed = more(SET_PRESSURES), more(RATES)
    if base.case.metrics is not None and case.metrics is not None:
        pressure |= case.metrics.outlet_pressure > NOTICEABLE * base.case.metrics.outlet_pressure
        speed |= case.metrics.cycle_rate > NOTICEABLE * base.case.metrics.cycle_rate
    rises = {"pressure": pressure, "temperature": more(TEMPERATURES), "speed": speed}
    return tuple(name for name, rose in rises.items() if rose)
