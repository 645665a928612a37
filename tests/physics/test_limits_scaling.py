"""The same lower in other units gives the same answer (limit 7): no constant with a dimension is hidden."""

from typing import Any

import numpy as np
import pytest

from balltravel.core.parameters import NO_MOTOR, Parameters
from balltravel.core.recording import COLUMNS
from balltravel.core.status import Status

from ..helpers.lowers import harmonic, lower, run_cycles

# Powers of length, time and mass of every field; what is not named is a pure number.
PRESSURE = (-1, -2, 1)
FLOW, VOLUME, LENGTH, SPEED = (3, -1, 0), (3, 0, 0), (1, 0, 0), (1, -1, 0)
DIMENSIONS: dict[str, tuple[int, int, int]] = {
    "material.density": (-3, 0, 1),
    "material.bulk_modulus": PRESSURE,
    "material.vapour_pressure": PRESSURE,
    "material.release_rate": (0, -1, 0),
    "drive.period": (0, 1, 0),
    "drive.stroke": (1, 0, 0),
    "drive.angular_speed": (0, -1, 0),
    "drive.start": (0, 1, 0),
    "drive.position": (1, 0, 0),
    "drive.speed": (1, -1, 0),
    "drive.acceleration": (1, -2, 0),
    "drive.jerk": (1, -3, 0),
    "motor.area": (2, 0, 0),
    "motor.supply": PRESSURE,
    "motor.free_speed": SPEED,
    "motor.mass": (0, 0, 1),
    "motor.friction": (1, -2, 1),
    "motor.ramp_time": (0, 1, 0),
    "motor.dwell_time": (0, 1, 0),
    "motor.conductance": FLOW,
    "motor.exhaust": FLOW,
    "motor.dead_volume": VOLUME,
    "motor.limit": (0, 1, 0),
    "outlet_pressure": PRESSURE,
    "outlet_resistance": (-4, -1, 1),
    "reference_pressure": PRESSURE,
    "gravity": (1, -2, 0),
}
LINES = ("suction", "outlet.line")
for line in LINES:
    for name in ("laminar", "strainer", "strainer_rate", "fittings"):
        DIMENSIONS[f"{line}.{name}"] = (-3, 0, 0)
    DIMENSIONS[f"{line}.inertance"] = (-4, 0, 1)
    DIMENSIONS[f"{line}.minor"] = (-7, 0, 1)
    DIMENSIONS[f"{line}.pressure"] = PRESSURE
    DIMENSIONS[f"{line}.diameter"] = (1, 0, 0)
for narrow in ("outlet.tip", "piston_packing", "rod_packing"):
    DIMENSIONS[f"{narrow}.laminar"] = DIMENSIONS[f"{narrow}.rate"] = (-3, 0, 0)
    DIMENSIONS[f"{narrow}.head"] = (-7, 0, 1)
LIQUIDS = ("material.rheology", "material.by_stress", *(f"{line}.rheology" for line in LINES))
for liquid in LIQUIDS:
    DIMENSIONS[f"{liquid}.viscosity"] = (-1, -1, 1)
    DIMENSIONS[f"{liquid}.yield_stress"] = PRESSURE
for chamber in ("port", "lower", "upper", "outlet.store"):
    DIMENSIONS[f"{chamber}.volume"] = (3, 0, 0)
    DIMENSIONS[f"{chamber}.area"] = (2, 0, 0)
    DIMENSIONS[f"{chamber}.compliance"] = (4, 2, -1)
for check in ("inlet", "piston"):
    for name in ("seat_radius", "ball_radius", "travel", "leak_gap", "pad_radius", "roughness"):
        DIMENSIONS[f"{check}.{name}"] = (1, 0, 0)
    DIMENSIONS[f"{check}.landing_gap"] = DIMENSIONS[f"{check}.table_origin"] = (1, 0, 0)
    DIMENSIONS[f"{check}.ball_mass"] = DIMENSIONS[f"{check}.added_mass"] = (0, 0, 1)
    DIMENSIONS[f"{check}.coupling_mass"] = (-2, 0, 1)
    DIMENSIONS[f"{check}.net_weight"] = DIMENSIONS[f"{check}.spring_preload"] = (1, -2, 1)
    DIMENSIONS[f"{check}.spring_rate"] = (0, -2, 1)
PURE_OF_A_CHECK = ("table_step", "table", "measured_force")
PURE = {
    "material.gas_fraction",
    "material.dissolved",
    *(f"{line}.relative_roughness" for line in LINES),
    "drive.segments",
    "drive.turn",
    "motor.kind",
    "outlet.hose",
    "more",
    *(f"{check}.{name}" for check in ("inlet", "piston") for name in PURE_OF_A_CHECK),
    # Of a Newtonian liquid, which has no table.
    *(f"{liquid}.{name}" for liquid in LIQUIDS for name in ("square", "first", "step", "table")),
}


def column_dimension(name: str) -> tuple[int, int, int]:
    """Powers of length, time and mass of a recorded column."""
    if name == "time":
        return (0, 1, 0)
    if name in ("inlet_mode", "piston_mode"):
        return (0, 0, 0)
    for ending, dimension in (
        ("pressure", PRESSURE),
        ("flow", FLOW),
        ("volume", VOLUME),
        ("surplus", VOLUME),
        ("speed", SPEED),
        ("gas", VOLUME),
    ):
        if name.endswith(ending):
            return dimension
    if name in ("air_below", "air_above"):
        return PRESSURE
    assert name in ("piston_position", "driven_position", "inlet_lift", "piston_lift", "position_integral"), (
        name
    )
    return LENGTH


def factor(dimension: tuple[int, int, int], units: tuple[float, float, float]) -> float:
    """What a quantity is multiplied by when the units of length, time and mass shrink by ``units``."""
    return float(np.prod([unit**power for unit, power in zip(units, dimension, strict=True)]))


def scaled(group: Any, units: tuple[float, float, float], path: str = "") -> Any:
    """The same parameters in other units; a field that the table does not know fails."""
    changed = {}
    for name, value in zip(group._fields, group, strict=True):
        full = f"{path}{name}"
        if hasattr(value, "_fields"):
            changed[name] = scaled(value, units, f"{full}.")
        elif full not in PURE:
            changed[name] = value * factor(DIMENSIONS[full], units)
    return group._replace(**changed)


def driven(kind: str, supply: float, ratio: float) -> dict[str, Any]:
    """A motor, an outlet hose with a tip, worn packings and gas in solution."""
    return {
        "material": {"viscosity": 0.5, "dissolved_gas_fraction": 0.05, "gas_release_time": 0.2},
        "lower": {"piston_packing_gap": 5e-5, "rod_packing_gap": 2e-5},
        "drive": {
            "profile": "motor",
            "motor": kind,
            "cycle_rate": None,
            "supply_gauge_pressure": supply,
            "area_ratio": ratio,
            "free_cycle_rate": 1.0,
        },
        "outlet": {
            "form": "tip",
            "gauge_pressure": None,
            "hose_length": 8.0,
            "hose_diameter": 0.0127,
            "tip_diameter": 1.2e-3,
            "tip_discharge_coefficient": 0.8,
        },
    }


CASES: list[dict[str, Any]] = [
    {"material": {"viscosity": 10.0}},
    {"material": {"viscosity": 2.0}, "drive": harmonic(0.8)},
    {
        "material": {"viscosity": 5.0, "free_gas_fraction": 0.02},
        "inlet_check": {"stop": "pad", "stop_pad_diameter": 0.01, "spring_preload": 0.5, "spring_rate": 50.0},
        "piston_check": {"leak_gap": 2e-5},
    },
    driven("hydraulic", 6e6, 2.5),
    driven("air", 6e5, 25.0),
]


def differences(p: Parameters, units: tuple[float, float, float], cycles: int) -> float:
    """Largest difference of any column between the run and the run in other units, over the column's size."""
    here, there = run_cycles(p, cycles), run_cycles(scaled(p, units), cycles)
    assert (here.status, here.cycles) == (there.status, there.cycles)
    assert here.rows.shape == there.rows.shape
    assert here.events.shape == there.events.shape
    worst = 0.0
    for i, name in enumerate(COLUMNS):
        size = np.abs(here.rows[:, i]).max() or 1.0
        back = there.rows[:, i] / factor(column_dimension(name), units)
        worst = max(worst, float(np.abs(back - here.rows[:, i]).max() / size))
    return worst


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("units", [(4.0, 1.0, 1.0), (1.0, 0.25, 1.0), (1.0, 1.0, 16.0), (0.25, 16.0, 4.0)])
def test_units_that_are_powers_of_four_change_no_digit(
    within, case: dict[str, Any], units: tuple[float, float, float]
) -> None:
    p = lower(**case)
    assert run_cycles(p).status is Status.OK
    # A binary number times a power of four keeps its digits, through roots too.
    within(differences(p, units, 60), 1e-12)


@pytest.mark.parametrize("units", [(4.0, 1.0, 1.0), (0.25, 16.0, 4.0)])
def test_not_even_in_a_thin_liquid_with_bouncing_balls(within, units: tuple[float, float, float]) -> None:
    within(differences(lower(material={"viscosity": 0.02}), units, 5), 1e-12)


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("units", [(100.0, 1.0, 1000.0), (39.37, 1.0, 2.2046), (1.0, 1.0 / 60.0, 1.0)])
def test_any_other_units_change_nothing_that_matters(
    case: dict[str, Any], units: tuple[float, float, float]
) -> None:
    p = lower(**case)
    here, there = run_cycles(p), run_cycles(scaled(p, units))
    assert here.status is there.status is Status.OK
    delivered = COLUMNS.index("delivered_volume")
    swept = p.lower.area * p.drive.stroke
    ours = here.rows[-1, delivered] / swept
    theirs = there.rows[-1, delivered] / (swept * factor(VOLUME, units))
    # Round-off grows where an air motor's piston jumps; by powers of four, above, there is none to grow.
    near = 1e-10 if p.motor.kind == NO_MOTOR else 1e-9
    assert theirs == pytest.approx(ours, rel=near)
    named = here.events[:, 0] < 4
    clocks = there.events[there.events[:, 0] < 4, 2] / units[1]
    # A motor's stroke ends within 1e-9 of its way, so that what follows is later or earlier by as much, and
    # more where a ball lands gently while the piston all but rests: 1.3e-8 seen.
    late = 1e-9 if p.motor.kind == NO_MOTOR else 3e-8
    assert clocks == pytest.approx(here.events[named, 2], abs=late * p.drive.period)
