"""What ``check`` prints: the scenario as it was read, what follows from it, a test with a falling ball."""

import math
from typing import Any

from balltravel.core.parameters import AIR
from balltravel.estimate.preview import CheckPreview, Preview
from balltravel.report.tables import bench, beside, both, bullets, filled, number, plain, shim_names, table
from balltravel.scenario.model import FIELDS, Scenario, defaults_taken, flat, quantity_of
from balltravel.setup.drive import ANR, cycle_rate_of, motor_parameters
from balltravel.units import DIMENSIONS, to_text


def _setting_row(key: str, value: Any, default: bool) -> tuple[str, str, str, str, str]:
    mark = "default" if default else ""
    if key == "material.readings":
        return key, f"{len(value)} (see `balltravel material`)" if value else "none", "", "", mark
    quantity = quantity_of(FIELDS[key])
    if quantity is None or value is None:
        return key, _listed(value), "", "", mark
    dimension, si = quantity.dimension, DIMENSIONS[quantity.dimension].si
    values = value if isinstance(value, tuple) else (value,)
    first, second = (", ".join(show(v, dimension) for v in values) for show in (bench, beside))
    return key, first, second, ", ".join(f"{number(v, 6)} {si}".strip() for v in values), mark


def _listed(value: Any) -> str:
    if value is None:
        return "none"
    return ", ".join(map(str, value)) or "none" if isinstance(value, tuple) else str(value)


def _travels(scenario: Scenario, preview: Preview) -> str:
    rows = (
        (
            shim_names(arrangement.shims_below),
            shim_names(arrangement.shims_above),
            bench(arrangement.ball_travel, "length"),
            beside(arrangement.ball_travel, "length"),
            _remark(arrangement.ball_travel, scenario.inlet_travel),
        )
        for arrangement in preview.arrangements
    )
    return table(("below", "above", "ball travel", "", ""), rows, (2, 3))


def _remark(travel: float, fitted: float) -> str:
    if travel <= 0.0:
        return "not possible: no travel"
    return "fitted now" if math.isclose(travel, fitted, rel_tol=1e-9) else ""


def _check_rows(check: CheckPreview) -> list[tuple[str, str]]:
    word = "falls" if check.fall_speed >= 0.0 else "rises"
    oils = [
        (
            f"bench test in oil of {number(oil.viscosity)} Pa.s, {number(oil.density)} kg/m3",
            "the ball does not fall" if oil.time is None else to_text(oil.time, "time", 3),
        )
        for oil in check.bench
    ]
    return [
        ("ball travel", both(check.travel, "length")),
        ("viscosity in the seat bore, full speed", to_text(check.seat_viscosity, "viscosity", 3)),
        ("Reynolds number at the seat, full speed", number(check.seat_reynolds, 3)),
        ("wall factor of the ball in its cage", number(check.wall_factor, 3)),
        (f"ball {word} in this material, far from the seat", to_text(abs(check.fall_speed), "velocity", 3)),
        *oils,
    ]


def _air_valves(scenario: Scenario) -> list[str]:
    """How wide an air motor's supply must be for its rate without load, and its exhaust."""
    motor = motor_parameters(scenario)
    if motor.kind != AIR:
        return []
    supply, exhaust = (
        to_text(each / ANR, "sonic conductance", 3) for each in (motor.conductance, motor.exhaust)
    )
    return [
        f"Air motor: sonic conductance of its supply {supply} (by the rate without load), exhaust {exhaust}"
    ]


_BENCH_TEST = """\
Bench test: hold the real check upright in an oil of known viscosity and density, its seat open to the
oil below (nothing closed below it, no spring), release the ball at its stop and time its fall. The times
above are what the closures predict, until the ball is a hundredth of the seat radius above its seat (the
last film above a cone is too slow to time by eye): a measured time far from them shows how far to trust
the closures for this check. The fall speed in the material is for a bore that is closed below."""


def check_text(scenario: Scenario, preview: Preview) -> str:
    """The scenario as interpreted, and what follows from it without a run."""
    taken = set(defaults_taken(scenario))
    values = flat(scenario).items()
    rows = [_setting_row(key, value, key in taken) for key, value in values if value is not None]
    parts = [
        plain(scenario.title),
        "",
        table(("key", "value", "", "SI", ""), rows, (1, 2, 3)),
        "",
        filled(f"Defaults taken: {', '.join(defaults_taken(scenario)) or 'none'}"),
        "",
        f"Swept volume: {both(preview.swept_volume, 'volume')} per cycle, "
        f"{both(preview.swept_volume * cycle_rate_of(scenario), 'flow')}"
        f" at {bench(cycle_rate_of(scenario), 'frequency')}",
        f"Piston at full speed: {both(preview.piston_speed, 'velocity')}",
        *_air_valves(scenario),
        "",
        "Arrangements of the shims:",
        _travels(scenario, preview),
    ]
    for name, check in (("Inlet check (foot valve)", preview.inlet), ("Piston check", preview.piston)):
        parts += ["", table((name, ""), _check_rows(check))]
    return "\n".join([*parts, "", filled(_BENCH_TEST), *bullets("Warnings", preview.warnings)])
