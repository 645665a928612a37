"""What ``check`` prints: what decides in the scenario as it was read, what follows from it, a test with a
falling ball; and every key with its value."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from balltravel.closures.own.record import CheckTable
from balltravel.core.parameters import AIR
from balltravel.estimate.cautions import seat_gap
from balltravel.estimate.preview import BenchFall, CheckPreview, Preview
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.report.tables import (
    bench,
    bench_unit,
    beside,
    both,
    bullets,
    conditions,
    filled,
    number,
    plain,
    shim_names,
    table,
    travel_set,
)
from balltravel.scenario.model import FIELDS, Check, Scenario, defaults_taken, flat, quantity_of
from balltravel.scenario.unknowns import is_just_written, origin_of, range_in_words, spreads_of
from balltravel.setup.drive import ANR, cycle_rate_of, motor_parameters
from balltravel.units import to_text
from balltravel.units.display import is_foreign, prose


def shown_value(key: str, value: Any, written: Mapping[str, str]) -> str:
    """A value as it was written, with the unit of the bench beside it: ``3/16 in (4.762 mm)``; of a default
    and a bare number both units of the bench; what was written in another system than the one in use as the
    bench has it."""
    if key == "material.readings":
        return _readings(value, plain(written.get(key, "")))
    if isinstance(value, CheckTable):
        return f"{plain(written.get(key, 'a table'))} ({len(value.rows)} lifts, digest {value.digest[:8]})"
    quantity = quantity_of(FIELDS[key])
    if quantity is None or value is None:
        return _listed(value)
    values, dimension = value if isinstance(value, tuple) else (value,), quantity.dimension
    first, second = (
        ", ".join(filter(None, (show(v, dimension) for v in values))) for show in (bench, beside)
    )
    text = plain(written.get(key, first))
    if is_foreign(text):
        return first
    unit = bench_unit(dimension)
    other = second if text.endswith(f" {unit}") or text == first else first
    return f"{text} ({other})" if other and other != text else text


def _readings(readings: tuple[ViscosityReading, ...], text: str) -> str:
    """What instruments showed, as it was written if that is short, and what follows from a single reading."""
    if not readings:
        return "none"
    first = readings[0]
    says = f"{len(readings)} readings, see `balltravel material`"
    if len(readings) == 1:
        rate = f" at {first.shear_rate:.3g} 1/s" if first.shear_rate else ""
        says = f"{bench(first.viscosity, 'viscosity')}{rate}"
    short = text and len(text) <= LONGEST_READINGS and not is_foreign(text)
    return f"{text} ({says})" if short else says


LONGEST_READINGS = 30
"""Characters of readings that stand beside what they say."""


def _listed(value: Any) -> str:
    if value is None:
        return "none"
    return ", ".join(map(str, value)) or "none" if isinstance(value, tuple) else str(value)


def all_keys_text(scenario: Scenario, _: Preview, written: Mapping[str, str]) -> str:
    """Every key with its value, and whether that is a default."""
    taken = set(defaults_taken(scenario))
    rows = [
        (key, "default" if key in taken else "", shown_value(key, value, written))
        for key, value in flat(scenario).items()
        if value is not None
    ]
    return "\n".join([plain(scenario.title), "", table(("key", "", "value"), rows)])


def ranges_text(scenario: Scenario, _: Preview, __: Mapping[str, str]) -> str:
    """Every key that is not known exactly with its range about its value, and where that is from."""
    rows = [
        (key, range_in_words(key, spread), prose(origin_of(key, spread)))
        for key, spread in spreads_of(scenario).items()
    ]
    listed = table(("key", "range", "from"), rows)
    return "\n".join([plain(scenario.title), "", listed, "", filled(prose(_RANGES_NOTE))])


MOST_RANGES = 5
"""Stated ranges that are listed without being asked for."""

_RANGES_NOTE = """\
95 of 100 values lie within a share, a factor (x/) or +-; nothing lies outside low to high. A value that is
known exactly is written { exactly = "5 Pa.s" }; docs/ranges.md has all ways to write a range."""


def _keys(count: int) -> str:
    return "1 key" if count == 1 else f"{count} keys"


def _unknowns(scenario: Scenario) -> list[str]:
    """The first stated ranges, and how many keys have which kind."""
    spreads = spreads_of(scenario)
    stated = [key for key in spreads if key in scenario.ranges and not is_just_written(spreads[key])]
    rows = [(key, range_in_words(key, spreads[key])) for key in stated[:MOST_RANGES]]
    more = f" ({MOST_RANGES} are shown)" if len(stated) > MOST_RANGES else ""
    told = f"Not known exactly: {_keys(len(spreads) - len(stated))} with a typical range"
    told += f", {_keys(len(stated))} with a stated one{more}" if stated else ""
    told += "; `--ranges` lists all."
    return ["", filled(told), *([table(("key", "range"), rows)] if rows else [])]


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


def _air_valves(scenario: Scenario) -> list[str]:
    """How wide an air motor's supply must be for its rate without load, and its exhaust."""
    motor = motor_parameters(scenario)
    if motor.kind != AIR:
        return []
    supply, exhaust = (
        to_text(each / ANR, "sonic conductance", 3) for each in (motor.conductance, motor.exhaust)
    )
    valves = f"its supply {supply} (by the rate without load), exhaust {exhaust}"
    return [filled(f"Air motor, sonic conductance of {valves}")]


def _size_rows(name: str, scenario: Scenario, travel: float, written: Mapping[str, str]) -> list[str]:
    """Sizes of one check and how they stand to each other."""
    check: Check = getattr(scenario, name)

    def size(key: str) -> str:
        return shown_value(f"{name}.{key}", getattr(check, key), written)

    return [
        size("ball_diameter"),
        size("ball_density"),
        size("seat_diameter"),
        size("cage_diameter"),
        both(travel, "length"),
        number(check.ball_diameter / check.seat_diameter, 3),
        number(check.ball_diameter / check.cage_diameter, 3),
        both(0.5 * (check.cage_diameter - check.ball_diameter), "length", 3),
        both(seat_gap(check, travel), "length", 3),
    ]


_SIZES = (
    "ball",
    "ball density",
    "seat bore",
    "cage bore",
    "ball travel",
    "ball over seat bore",
    "ball over cage bore",
    "ball guide clearance, each side",
    "gap at the seat at full travel",
)

_MOTION = (
    "viscosity in the seat bore",
    "Reynolds number at the seat",
    "wall factor of the ball in its cage",
    "fall of the ball in this material",
)


def _motion_rows(check: CheckPreview) -> list[str]:
    word = "" if check.fall_speed >= 0.0 else "rises, "
    return [
        to_text(check.seat_viscosity, "viscosity", 3),
        number(check.seat_reynolds, 3),
        number(check.wall_factor, 3),
        word + to_text(abs(check.fall_speed), "velocity", 3),
        *map(_fall, check.bench),
    ]


def _fall(oil: BenchFall) -> str:
    if oil.time is None:
        return "does not fall"
    if oil.too_thin:
        return f"too thin: {to_text(_up(oil.least_viscosity), 'viscosity', 2)} or more"
    return to_text(oil.time, "time", 3)


def _up(value: float) -> float:
    """The next number of two digits."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return math.ceil(value / step) * step


def _checks_table(scenario: Scenario, preview: Preview, written: Mapping[str, str]) -> str:
    oils = (
        f"bench test: {to_text(oil.viscosity, 'viscosity', 3)}, {bench(oil.density, 'density')}"
        for oil in preview.inlet.bench
    )
    sides = (("inlet_check", preview.inlet), ("piston_check", preview.piston))
    columns = [_size_rows(name, scenario, side.travel, written) + _motion_rows(side) for name, side in sides]
    rows = zip((*_SIZES, *_MOTION, *oils), *columns, strict=True)
    return table(("", "inlet check (foot valve)", "piston check"), rows)


_CHECKS_NOTE = """\
Viscosity and Reynolds number are at the piston's full speed. The wall factor says how many times slower the
ball falls in its cage than in open liquid; the fall in this material is far from the seat, in a bore that is
closed below."""

_BENCH_TEST = """\
Bench test: hold the real check upright in an oil of known viscosity and density, its seat open to the
oil below (nothing closed below it, no spring), release the ball at its stop and time its fall. The times
above are what the closures predict, until the ball is a hundredth of the seat radius above its seat (the
last film above a cone is too slow to time by eye): a measured time far from them shows how far to trust
the closures for this check. By hand, take an oil in which it lasts 2 s or more (common practice, no source);
--oil "VISCOSITY, DENSITY" computes the time in yours. In too thin an oil the ball falls too fast for slow
flow, and the time is not known."""


def _lines(scenario: Scenario, preview: Preview) -> Iterator[str]:
    """What drives the lower, in sentences."""
    suction, rate = scenario.suction, cycle_rate_of(scenario)
    yield f"{conditions(scenario)}; {travel_set(scenario)}"
    yield (
        f"Swept volume: {both(preview.swept_volume, 'volume')} per cycle, "
        f"{both(preview.swept_volume * rate, 'flow')} at {bench(rate, 'frequency')}; "
        f"piston at full speed: {both(preview.piston_speed, 'velocity')}"
    )
    length, across, lift = (
        both(size, "length") for size in (suction.hose_length, suction.hose_diameter, suction.lift)
    )
    line = "hose" if suction.line == "hose" else "rigid line"
    yield f"Suction: {line} of {length}, bore {across}; lift {lift}"


def _defaults(scenario: Scenario) -> str:
    """Keys that took their default, table by table; both checks together where theirs are the same."""
    tables: dict[str, list[str]] = {}
    for key in defaults_taken(scenario):
        tables.setdefault(key.partition(".")[0], []).append(key.partition(".")[2])
    names: dict[str, list[str]] = {}
    for name, keys in tables.items():
        names.setdefault(", ".join(keys), []).append(name)
    return "; ".join(f"{' and '.join(named)}: {keys}" for keys, named in names.items()) or "none"


def check_text(scenario: Scenario, preview: Preview, written: Mapping[str, str]) -> str:
    """What decides in the scenario as interpreted, and what follows from it without a run."""
    return "\n".join(
        [
            plain(scenario.title),
            *map(filled, _lines(scenario, preview)),
            *_air_valves(scenario),
            "",
            _checks_table(scenario, preview, written),
            "",
            filled(_CHECKS_NOTE),
            "",
            filled(_BENCH_TEST),
            "",
            "Arrangements of the shims:",
            _travels(scenario, preview),
            "",
            filled(f"Defaults taken: {_defaults(scenario)}. `--all` lists every key with its value."),
            *_unknowns(scenario),
            *bullets("Warnings", preview.warnings),
        ]
    )
