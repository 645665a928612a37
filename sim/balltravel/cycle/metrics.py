"""What a cycle says, by name; the core measures it. Definitions: docs/results.md, one a word."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from operator import attrgetter
from typing import Annotated, Any, get_type_hints

import numpy as np
from numpy.typing import NDArray

from balltravel.core.measures import INLET, LOSS_BUDGET, MEASURES, PISTON, measure
from balltravel.core.readings import Sizes
from balltravel.core.records import as_record
from balltravel.cycle.motion import Motion, events_in, rows_in

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CheckMetrics:
    """One ball check over a cycle; flags: ``early``, ``never_seats``, ``never_lifts``."""

    closing_lag: Annotated[float, "s", "reversal until it seats, any void included"]
    ball_lag: Annotated[float, "s", "slow closing: flow reversal until it seats"]
    closing_lag_stroke_fraction: Annotated[float, "1", "share of the stroke in the closing lag"]
    hydraulic_closing: Annotated[float, "s", "reversal until 99 % of the backflow passed"]
    backflow_volume: Annotated[float, "m3", "volume backward through the open check"]
    leak_volume: Annotated[float, "m3", "volume backward through the shut check"]
    landing_speed: Annotated[float, "m s-1", "fastest approach to the seat (pounding)"]
    landing_energy: Annotated[float, "J", "energy of ball and liquid at that speed"]
    stop_landing_speed: Annotated[float, "m s-1", "fastest arrival at the stop"]
    peak_lift: Annotated[float, "m", "largest lift in the cycle"]
    lift_at_reversal: Annotated[float, "m", "lift when the piston reverses"]
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class LossBudget:
    """Where the swept volume goes [m3]; the parts add up to ``swept``, ``residual`` is left by round-off."""

    swept: float
    delivered: float
    underfill: float
    inlet_backflow: float
    piston_backflow: float
    leak: float
    compression_and_gas: float
    residual: float


@dataclass(frozen=True)
class Metrics:
    """A cycle in numbers, SI units. The void stands last, before the inlet check, whose closing lag includes
    the time in which it closes."""

    fill_fraction: Annotated[float, "1", "most drawn in over swept volume (filling)"]
    fill_at_top_dead_centre: Annotated[float, "1", "drawn in at top dead centre over swept"]
    volumetric_efficiency: Annotated[float, "1", "delivered over swept volume"]
    delivered_volume: Annotated[float, "m3", "net volume delivered per cycle"]
    delivered_flow: Annotated[float, "m3 s-1", "net flow delivered at the cycle rate"]
    delivered_upstroke: Annotated[float, "m3", "net volume delivered in the upstroke"]
    delivered_downstroke: Annotated[float, "m3", "net volume delivered in the downstroke"]
    lowest_chamber_pressure: Annotated[float, "Pa", "lowest absolute pressure, lower chamber"]
    lowest_pressure_at_pull_off: Annotated[float, "Pa", "lowest there until the inlet ball lifts"]
    lowest_pressure_after: Annotated[float, "Pa", "lowest chamber pressure after that"]
    lowest_port_pressure: Annotated[float, "Pa", "lowest absolute pressure, inlet port"]
    inlet_gauge_pressure: Annotated[float, "Pa", "mean gauge pressure at the inlet, upstroke"]
    vapour_margin: Annotated[float, "Pa", "lowest chamber less vapour pressure"]
    lost_stroke: Annotated[float, "m", "the longer of lost up- and downstroke"]
    lost_upstroke: Annotated[float, "m", "upward travel until delivery begins"]
    lost_downstroke: Annotated[float, "m", "downward travel until delivery begins"]
    volume_residual: Annotated[float, "1", "largest volume balance error over swept"]
    cycle_rate: Annotated[float, "s-1", "cycle rate as run"]
    upstroke_time: Annotated[float, "s", "time of the upstroke, changeover included"]
    downstroke_time: Annotated[float, "s", "time of the downstroke, changeover included"]
    piston_speed: Annotated[float, "m s-1", "largest speed of the piston, either way"]
    outlet_pressure: Annotated[float, "Pa", "mean absolute pressure, upper chamber"]
    spray_pressure: Annotated[float, "Pa", "mean absolute pressure before the tip"]
    pressure_dip: Annotated[float, "1", "dip (pulsation) before the tip over mean"]
    dip_at_top: Annotated[float, "1", "dip about the top reversal, over mean"]
    dip_at_bottom: Annotated[float, "1", "dip about the bottom reversal, over mean"]
    packing_leak_volume: Annotated[float, "m3", "downward past piston (lower) packing"]
    rod_leak_volume: Annotated[float, "m3", "outward past rod (throat) packing"]
    void_volume: Annotated[float, "m3", "void (cavitation) at top dead centre"]
    void_collapse: Annotated[float, "s", "top dead centre until the void has closed"]
    inlet: CheckMetrics
    piston: CheckMetrics
    loss_budget: LossBudget

    def flat(self) -> dict[str, float]:
        """Numbers by dotted name: ``fill_fraction``, ``inlet.closing_lag``, ``loss_budget.underfill``."""
        return {name: attrgetter(name)(self) for name in metric_names()}


@cache
def metric_names() -> tuple[str, ...]:
    """Dotted names of all numbers of a cycle, in order."""
    names = []
    for name, kind in get_type_hints(Metrics).items():
        parts = [item.name for item in fields(kind) if item.name != "flags"] if is_dataclass(kind) else []
        names += [f"{name}.{part}" for part in parts] or [name]
    return tuple(names)


def describe(name: str) -> tuple[str, str]:
    """Units and meaning of a metric by its dotted name."""
    head, _, tail = name.partition(".")
    if head == "loss_budget":
        return "m3", f"loss budget: {tail.replace('_', ' ')}"
    owner, key = (CheckMetrics, tail) if tail else (Metrics, head)
    units, text = get_type_hints(owner, include_extras=True)[key].__metadata__
    return units, f"{text} ({head} check)" if tail else text


def metrics_from(out: Array, flags: NDArray[np.int64]) -> Metrics:
    """The metrics that the core has measured: numbers in the order of metric_names, and what is odd about
    each ball (``core.measures.measure``)."""
    # One and the same nan, with which metrics that are alike are equal.
    values = [math.nan if math.isnan(value) else value for value in out.tolist()]
    return Metrics(
        **_named(Metrics, values[:INLET]),
        inlet=CheckMetrics(**_named(CheckMetrics, values[INLET:PISTON]), flags=_ODD[flags[0]]),
        piston=CheckMetrics(**_named(CheckMetrics, values[PISTON:LOSS_BUDGET]), flags=_ODD[flags[1]]),
        loss_budget=LossBudget(**_named(LossBudget, values[LOSS_BUDGET:])),
    )


def _named(kind: type[Any], values: Sequence[float]) -> dict[str, Any]:
    """Values by the names of the first fields of a record."""
    return dict(zip((item.name for item in fields(kind)), values, strict=False))


_ODD: tuple[tuple[str, ...], ...] = ((), ("early",), ("never_seats",), ("never_lifts",))
"""Flags of a check by the core's number (``core.check_measures``)."""


def metrics_of(m: Motion) -> Metrics:
    """All metrics of one whole cycle."""
    out, flags = np.zeros(MEASURES), np.zeros(2, np.int64)
    rows, events = rows_in(m), events_in(m)
    sizes = as_record(
        Sizes(
            m.swept_volume, m.bore_area, m.annulus_area, m.stroke, m.period, m.top_dead_centre,
            m.barometric_pressure, m.vapour_pressure, float(m.moving_mass[0]), float(m.moving_mass[1]),
        )
    )  # fmt: skip
    measure(sizes, rows, len(rows), events, len(events), out, flags)
    return metrics_from(out, flags)
