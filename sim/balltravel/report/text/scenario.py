"""Results as plain text, one function for each command, in the units of the bench."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from itertools import islice, product
from typing import TYPE_CHECKING, Any

from balltravel.cycle.validity import from_json
from balltravel.estimate.preview import CheckPreview, Preview
from balltravel.report.tables import (
    COLUMN_NOTE,
    RANGES,
    bench,
    beside,
    both,
    bullets,
    conditions,
    number,
    plain,
    rounded,
    shim_names,
    table,
    travel_set,
)
from balltravel.scenario.model import FIELDS, Scenario, defaults_taken, flat, from_result, quantity_of
from balltravel.setup.drive import cycle_rate_of
from balltravel.units import DIMENSIONS, to_text

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.cycle.metrics import LossBudget, Metrics
    from balltravel.estimate.check_resistance import Resistance

_DIMENSION_OF = {
    "1": "fraction",
    "s": "time",
    "s-1": "frequency",
    "m": "length",
    "m3": "volume",
    "m3 s-1": "flow",
    "m s-1": "velocity",
    "Pa": "pressure",
    "J": "energy",
}

MOST_ROWS = 60
"""Rows of a sweep that are printed; more go to a file."""


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


def _travels(scenario: Scenario, found: Preview) -> str:
    rows = (
        (
            shim_names(one.shims_below),
            shim_names(one.shims_above),
            bench(one.ball_travel, "length"),
            beside(one.ball_travel, "length"),
            _remark(one.ball_travel, scenario.inlet_travel),
        )
        for one in found.arrangements
    )
    return table(("below", "above", "ball travel", "", ""), rows, (2, 3))


def _remark(travel: float, fitted: float) -> str:
    if travel <= 0.0:
        return "not possible: no travel"
    return "fitted now" if math.isclose(travel, fitted, rel_tol=1e-9) else ""


def _check_rows(one: CheckPreview) -> list[tuple[str, str]]:
    word = "falls" if one.fall_speed >= 0.0 else "rises"
    oils = [
        (
            f"bench test in oil of {number(oil.viscosity)} Pa.s, {number(oil.density)} kg/m3",
            "the ball does not fall" if oil.time is None else to_text(oil.time, "time", 3),
        )
        for oil in one.bench
    ]
    return [
        ("ball travel", both(one.travel, "length")),
        ("viscosity in the seat bore, full speed", to_text(one.seat_viscosity, "viscosity", 3)),
        ("Reynolds number at the seat, full speed", number(one.seat_reynolds, 3)),
        ("wall factor of the ball in its cage", number(one.wall_factor, 3)),
        (f"ball {word} in this material, far from the seat", to_text(abs(one.fall_speed), "velocity", 3)),
        *oils,
    ]


_BENCH_TEST = """\
Bench test: hold the real check upright in an oil of known viscosity and density, its seat open to the oil
below (nothing below it shut, no spring), let the ball go at its stop and time it. The times above are what
the closures say of it, until the ball is a hundredth of the seat radius above its seat (the last film of a
cone no eye can time): a measured time far from them tells how far to trust the closures for this check. The
fall in the material is for a bore that is closed below."""


def check_text(scenario: Scenario, found: Preview) -> str:
    """What was understood of a scenario, and what follows from it without a run."""
    taken = set(defaults_taken(scenario))
    values = flat(scenario).items()
    rows = [_setting_row(key, value, key in taken) for key, value in values if value is not None]
    parts = [
        plain(scenario.title),
        "",
        table(("key", "value", "", "SI", ""), rows, (1, 2, 3)),
        "",
        f"Defaults taken: {', '.join(defaults_taken(scenario)) or 'none'}",
        "",
        f"Swept volume: {both(found.swept_volume, 'volume')} per cycle, "
        f"{both(found.swept_volume * cycle_rate_of(scenario), 'flow')}"
        f" at {bench(cycle_rate_of(scenario), 'frequency')}",
        f"Piston at full speed: {both(found.piston_speed, 'velocity')}",
        "",
        "Arrangements of the shims:",
        _travels(scenario, found),
    ]
    for name, one in (("Inlet check", found.inlet), ("Piston check", found.piston)):
        parts += ["", table((name, ""), _check_rows(one))]
    return "\n".join([*parts, "", _BENCH_TEST, *bullets("Warnings", found.warnings)])


# --- simulate


def _metric_rows(values: Mapping[str, float]) -> list[tuple[str, str, str]]:
    from balltravel.cycle.metrics import describe

    rows = []
    for name, value in values.items():
        if name.startswith("loss_budget.") or math.isnan(value):
            continue
        unit, meaning = describe(name)
        dimension = _DIMENSION_OF[unit]
        digits = 4 if dimension in ("fraction", "volume") else 3
        shown = number(value, 2) if name == "volume_residual" else both(value, dimension, digits)
        rows.append((name, shown, meaning))
    return rows


def loss_text(budget: "LossBudget") -> str:
    """The loss budget in cc and in % of the swept volume."""
    rows = (
        (name.replace("_", " "), number(1e6 * value, 4), rounded(100.0 * value / budget.swept, 3))
        for name, value in asdict(budget).items()
        if name != "residual"
    )
    note = f"The parts add up to the swept volume within {abs(budget.residual) / budget.swept:.1e} of it."
    return table(("loss budget", "cc", "% of swept"), rows, (1, 2)) + f"\n{note}"


def simulation_text(data: "xr.Dataset", metrics: "Metrics | None", warnings: Sequence[str]) -> str:
    """A cycle: how the run ended, metrics, loss budget and warnings."""
    scenario = from_result(data.attrs["scenario"])
    head = [
        plain(data.attrs["title"]),
        f"{conditions(scenario)}; {travel_set(scenario)}",
    ]
    if metrics is None:
        told = [sentence for sentence in warnings if sentence != data.attrs["advice"]]
        return "\n".join([*head, data.attrs["advice"], *_at_stall(data), *bullets("Warnings", told)])
    head.append(
        f"{data.attrs['advice']} ({data.attrs['cycles']} cycles run, delivery changed by "
        f"{number(100.0 * data.attrs['delivered_change'], 2)} % of swept over the last)"
    )
    found = from_json(data.attrs["excursions"])
    rows = _metric_rows(metrics.flat())
    flags = [f"{name} check: {', '.join(one.flags)}" for name, one in _checks(metrics) if one.flags]
    return "\n".join(
        [
            *head,
            "",
            table(("metric", "value", "meaning"), rows, (1,)),
            "",
            loss_text(metrics.loss_budget),
            *bullets("Flags", flags),
            *bullets(RANGES, [str(one) for one in found]),
            *bullets("Warnings", warnings),
        ]
    )


def _at_stall(data: "xr.Dataset") -> list[str]:
    """What a gauge shows where a motor stalls."""
    if data.attrs["status"] != "stalled":
        return []
    gauge = float(data.upper_pressure[-1] - data.barometric_pressure)
    return [f"Pressure in the upper chamber then: {both(gauge, 'pressure', 3)} gauge."]


def _checks(metrics: "Metrics") -> tuple[tuple[str, Any], tuple[str, Any]]:
    return ("inlet", metrics.inlet), ("piston", metrics.piston)


# --- resistance

_RESISTANCE_NOTE = """\
Creeping flow, lengths in r, the radius of the circle on which the ball sits: dp = mu (Rqq Q/r^3 - Rqw w/r),
F = mu (Rqw Q/r - Rww r w), S = Rww - Rqw^2/Rqq; less Poiseuille's loss of the bore below the seat and of the
cage above the ball. At a sharp edge Rqq gap^2 tends to a constant and Rqw/Rqq to pi as the gap closes; on a
cone Rqq gap^2.5 does."""


def resistance_text(found: "Mapping[str, Resistance]") -> str:
    """The numbers of one check or more over their lifts."""
    parts: list[str] = []
    for name, one in found.items():
        where = "" if one.inside else " (not inside the table of solves)"
        head = f"{name}: {one.about}R/r {number(one.ball)}, R_c/r {number(one.cage)}{where}"
        columns = (
            one.lift,
            one.gap,
            one.Rqq,
            one.Rqw,
            one.Rww,
            one.S,
            one.Rqw / one.Rqq,
            one.Rqq * one.gap**2,
        )
        rows = [[number(float(value), 5) for value in row] for row in zip(*columns, strict=True)]
        names = ("lift/r", "gap/r", "Rqq", "Rqw", "Rww", "S", "Rqw/Rqq", "Rqq gap^2")
        far = f"far from the seat: Rqw {number(one.far_Rqw, 5)}, Rww {number(one.far_Rww, 5)}"
        parts += [head, table(names, rows, range(len(names))), far, ""]
    return "\n".join([*parts, _RESISTANCE_NOTE])


# --- sweep

_SWEEP_COLUMNS = (
    ("fill", "fill_fraction", "fraction"),
    ("deliv.", "volumetric_efficiency", "fraction"),
    ("in lag", "inlet_closing_lag", "time"),
    ("ball lag", "inlet_ball_lag", "time"),
    ("in back", "inlet_backflow_volume", "volume"),
    ("landing", "inlet_landing_speed", "velocity"),
    ("pis back", "piston_backflow_volume", "volume"),
    ("margin", "vapour_margin", "pressure"),
    ("range", "outside_range", "fraction"),
)


def _swept_value(key: str, value: Any) -> str:
    quantity = quantity_of(FIELDS[key]) if key in FIELDS else None
    return bench(float(value), quantity.dimension) if quantity and not isinstance(value, str) else str(value)


_FOUND_COLUMNS = (("rate", "cycle_rate", "frequency"), ("tip (abs.)", "spray_pressure", "pressure"))
"""What a motor or a tip makes of a case."""


def _sweep_columns(data: "xr.Dataset") -> tuple[tuple[str, str, str], ...]:
    """Columns of a sweep's table, with what is found where the cycle rate is not given or there is a tip."""
    scenario = json.loads(data.attrs["scenario"])
    rate = _FOUND_COLUMNS[:1] if scenario["drive"]["cycle_rate"] is None else ()
    tip = _FOUND_COLUMNS[1:] if scenario["outlet"]["form"].startswith("tip") else ()
    return (*_SWEEP_COLUMNS, *rate, *tip)


def _sweep_row(point: "xr.Dataset", keys: Sequence[str], meaning: Mapping[int, str]) -> tuple[str, ...]:
    place = [_swept_value(key, point[key].item()) for key in keys]
    travel = [bench(float(point["ball_travel"]), "length")] if "ball_travel" in point.coords else []
    numbers = [
        bench(float(point[name]), dimension, 3) if name in point else "-"
        for _, name, dimension in _sweep_columns(point)
    ]
    return (*place, *travel, *numbers, meaning.get(int(point["status"]), "unknown"))


def sweep_text(data: "xr.Dataset") -> str:
    """The first cases of a sweep in a table, one a line, and how many there are."""
    keys = [str(key) for key in data["status"].dims]
    codes, words = data["status"].attrs["flag_values"], data["status"].attrs["flag_meanings"].split()
    meaning = {int(code): word for code, word in zip(codes, words, strict=True)}
    places = product(*(range(data.sizes[key]) for key in keys))
    points = (data.isel(dict(zip(keys, place, strict=True))) for place in islice(places, MOST_ROWS))
    rows = [_sweep_row(point, keys, meaning) for point in points]
    travel = ["travel"] if "ball_travel" in data.coords else []
    head = (*keys, *travel, *(name for name, _, _ in _sweep_columns(data)), "status")
    lines = [plain(data.attrs["title"]), "", table(head, rows, range(len(head) - 1)), "", COLUMN_NOTE]
    hidden = data["status"].size - len(rows)
    more = [f"{hidden} more cases: write all to a file with --out, or print them with --json."]
    return "\n".join([*lines, *(more if hidden > 0 else [])])
