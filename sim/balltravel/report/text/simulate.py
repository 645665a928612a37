"""What ``simulate`` prints: one cycle in numbers."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict

from balltravel.core.status import Status
from balltravel.cycle.metrics import CheckMetrics, LossBudget, Metrics, describe
from balltravel.cycle.run import Cycle
from balltravel.report.tables import (
    RANGES,
    bench_unit,
    both,
    bullets,
    column,
    conditions,
    filled,
    in_mercury,
    number,
    plain,
    table,
    travel_set,
)
from balltravel.scenario.model import Scenario
from balltravel.study.cycle_report import CycleReport
from balltravel.units import DIMENSIONS

_DIMENSION_OF = {
    "1": "fraction",
    **{dimension.si: name for name, dimension in reversed(DIMENSIONS.items()) if dimension.si},
}
"""Unit of a metric, written as in ``units``, to its dimension; of two dimensions of one unit the first."""


def _dimension_of(unit: str) -> str:
    """Of a unit as datasets write it: ``m3 s-1``. Empty for one that no dimension has."""
    over = [part for part in unit.split() if part.endswith("-1")]
    under = "".join(f"/{part.removesuffix('-1')}" for part in over)
    above = ".".join(part for part in unit.split() if part not in over) or ("1" if over else "")
    return _DIMENSION_OF.get(f"{above}{under}", "")


GROUPS: dict[str, tuple[str, ...]] = {
    "delivery": (
        "fill_fraction", "fill_at_top_dead_centre", "volumetric_efficiency", "delivered_volume",
        "delivered_upstroke", "delivered_downstroke", "delivered_flow", "cycle_rate", "upstroke_time",
        "downstroke_time", "lost_stroke", "lost_upstroke", "lost_downstroke",
    ),
    "suction": (
        "vapour_margin", "lowest_chamber_pressure", "lowest_pressure_at_pull_off", "lowest_pressure_after",
        "lowest_port_pressure", "inlet_gauge_pressure", "void_volume", "void_collapse",
    ),
    "inlet check (foot valve)": ("inlet.",),
    "piston check": ("piston.",),
    "outlet and piston": (
        "outlet_pressure", "spray_pressure", "pressure_dip", "dip_at_top", "dip_at_bottom", "piston_speed",
        "packing_leak_volume", "rod_leak_volume", "volume_residual",
    ),
}  # fmt: skip
"""Heading -> metrics below it in their order, or how their names begin; the last has all others too."""


def _by_group(names: Iterable[str]) -> dict[str, list[str]]:
    """Names of metrics under their headings; each stands below one."""
    left, groups = list(names), {}
    for heading, members in GROUPS.items():
        those = [name for member in members for name in left if name == member or _begins(name, member)]
        groups[heading] = those
        left = [name for name in left if name not in those]
    groups[heading] += left
    return groups


def _begins(name: str, member: str) -> bool:
    return member.endswith(".") and name.startswith(member)


GAUGE = ("outlet_pressure", "spray_pressure")
"""Metrics that are absolute pressures, shown as a gauge has them."""

SETTLED = 0.001
"""A change of delivery [% of swept] over the last cycle below which nothing is said of its size."""

ROUND_OFF = 1e-9
"""A residual over the swept volume below which nothing is said of its size: the balance closes no better."""


def _metric_rows(values: Mapping[str, float], atmosphere: float) -> list[tuple[str, str, str]]:
    """Name, value and meaning of each; those of a check without its name, which the heading says."""
    rows = []
    for name, value in values.items():
        unit, meaning = describe(name)
        dimension = _dimension_of(unit)
        if name in GAUGE:
            value, meaning = value - atmosphere, meaning.replace("absolute", "gauge")
        shown = both(value, dimension, 3) if dimension else f"{number(value, 3)} {unit}"
        if name == "inlet_gauge_pressure":
            shown = in_mercury(value) or shown
        if name == "volume_residual":
            shown = _residual(value)
        check, _, tail = name.rpartition(".")
        rows.append((tail, shown, meaning.removesuffix(f" ({check} check)")))
    return rows


def _residual(share: float) -> str:
    return "below 1e-9" if abs(share) < ROUND_OFF else number(share, 2)


def _metric_table(values: Mapping[str, float], atmosphere: float) -> str:
    """All metrics that the cycle has, group by group."""
    known = {
        name: value
        for name, value in values.items()
        if not name.startswith("loss_budget.") and not math.isnan(value)
    }
    rows: list[tuple[str, str, str]] = []
    for heading, names in _by_group(known).items():
        if names:
            rows += [("", "", ""), (f"{heading}:", "", "")] if rows else [(f"{heading}:", "", "")]
            of_group = _metric_rows({name: known[name] for name in names}, atmosphere)
            rows += [(f"  {name}", value, meaning) for name, value, meaning in of_group]
    return table(("metric", "value", "meaning"), rows, (1,))


NOTHING = 1e-12
"""Share of swept below which a volume is round-off: the balance closes no better."""


def _in_both(volume: float, swept: float) -> tuple[str, str]:
    """A volume in the unit in use and in % of the swept one."""
    if abs(volume) <= NOTHING * swept:
        return "0", "0"
    return number(column(volume, "volume"), 3), number(100.0 * volume / swept, 3)


def loss_text(budget: LossBudget) -> str:
    """The loss budget in cc and in % of the swept volume."""
    rows = (
        (name.replace("_", " "), *_in_both(value, budget.swept))
        for name, value in asdict(budget).items()
        if name != "residual"
    )
    left = _residual(budget.residual / budget.swept)
    note = f"The parts add up to the swept volume; what is left over it: {left}."
    return table(("loss budget", bench_unit("volume"), "% of swept"), rows, (1, 2)) + f"\n{note}"


def simulation_text(_: Scenario, report: CycleReport) -> str:
    """A cycle: how the run ended, metrics, loss budget and warnings."""
    cycle, metrics, advice = report.cycle, report.cycle.metrics, report.cycle.status.advice
    head = [
        plain(cycle.scenario.title),
        filled(f"{conditions(cycle.scenario)}; {travel_set(cycle.scenario)}"),
    ]
    if metrics is None:
        further = [sentence for sentence in report.warnings if sentence != advice]
        return "\n".join([*head, filled(advice), *_at_stall(cycle), *bullets("Warnings", further)])
    percent = 100.0 * cycle.delivered_change
    change = f"less than {SETTLED:g}" if abs(percent) < SETTLED else f"{number(percent, 2)}"
    run = f"{cycle.cycles} cycles run, delivery changed by {change} % of swept over the last"
    head.append(filled(f"{advice} ({run})"))
    flags = [f"{name} check: {', '.join(check.flags)}" for name, check in _checks(metrics) if check.flags]
    return "\n".join(
        [
            *head,
            "",
            _metric_table(metrics.flat(), cycle.scenario.suction.barometric_pressure),
            "",
            loss_text(metrics.loss_budget),
            *bullets("Flags", flags),
            *bullets(RANGES, [str(excursion) for excursion in cycle.excursions]),
            *bullets("Warnings", report.warnings),
        ]
    )


def _at_stall(cycle: Cycle) -> list[str]:
    """What a gauge shows where a motor stalls."""
    if cycle.status != Status.STALLED:
        return []
    gauge = float(cycle.motion.upper_pressure[-1] - cycle.motion.barometric_pressure)
    return [f"Pressure in the upper chamber then: {both(gauge, 'pressure', 3)} gauge."]


def _checks(metrics: Metrics) -> tuple[tuple[str, CheckMetrics], tuple[str, CheckMetrics]]:
    return ("inlet", metrics.inlet), ("piston", metrics.piston)
