"""What a cycle says: pure functions of a result. Definitions: docs/results.md, one a word."""

import math
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from operator import attrgetter
from typing import Annotated, get_type_hints

import numpy as np
from numpy.typing import NDArray

from balltravel.core.contact import SEATED
from balltravel.core.events import Event
from balltravel.cycle.motion import Motion
from balltravel.setup.runs import mean_over

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
    lowest_chamber_pressure: Annotated[float, "Pa", "lowest absolute pressure, lower chamber"]
    lowest_pressure_at_pull_off: Annotated[float, "Pa", "lowest there until the inlet ball lifts"]
    lowest_pressure_after: Annotated[float, "Pa", "lowest chamber pressure after that"]
    lowest_port_pressure: Annotated[float, "Pa", "lowest absolute pressure, inlet port"]
    vapour_margin: Annotated[float, "Pa", "lowest chamber less vapour pressure"]
    lost_stroke: Annotated[float, "m", "the longer of lost up- and downstroke"]
    lost_upstroke: Annotated[float, "m", "upward travel until delivery begins"]
    lost_downstroke: Annotated[float, "m", "downward travel until delivery begins"]
    volume_residual: Annotated[float, "1", "largest volume balance error over swept"]
    cycle_rate: Annotated[float, "s-1", "cycle rate as run"]
    piston_speed: Annotated[float, "m s-1", "largest speed of the piston, either way"]
    outlet_pressure: Annotated[float, "Pa", "mean absolute pressure, upper chamber"]
    spray_pressure: Annotated[float, "Pa", "mean absolute pressure before the tip"]
    pressure_dip: Annotated[float, "1", "dip (pulsation) before the tip over mean"]
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


class _Window:
    """A check over the stroke in which it should shut, with the stroke before it: time 0 is the reversal.

    The piston check's reversal is the cycle's start, so its stroke before is taken from the cycle's end,
    which for a periodic cycle is the same.
    """

    def __init__(self, m: Motion, check: int) -> None:
        period, top = m.period, m.top_dead_centre
        time, volume = m.time, m.passed_volume[:, check]
        contact, position = m.contact[:, check], m.piston_position
        if check == 0:
            self.time, self.volume, self.contact = time - top, volume, contact
            self.position = position
            shift = top
        else:
            first, second = time <= top, time >= top
            self.time = np.concatenate([time[second] - period, time[first]])
            self.volume = np.concatenate([volume[second] - volume[-1], volume[first]])
            self.contact = np.concatenate([contact[second], contact[first]])
            self.position = np.concatenate([position[second], position[first]])
            shift = 0.0
        self.half = period - top if check == 0 else top
        of_check = m.event_check == check
        kinds, times = m.event_kind[of_check], m.event_time[of_check] - shift
        seated = times[(kinds == Event.SEATED) & (times >= 0.0) & (times <= self.half)]
        self.seated_at: float | None = float(seated[-1]) if seated.size else None
        self.seated_at_reversal = bool(contact[np.searchsorted(time, shift, "right") - 1] == SEATED)
        self.seated_at_end = bool(self.contact[-1] == SEATED)

    def travelled(self, until: float) -> float:
        """Piston travel from the reversal [m]."""
        start, end = np.interp([0.0, until], self.time, self.position)
        return float(abs(end - start))

    def flow_turned(self, before: float) -> float:
        """When the volume passed was largest, before a given time: there the flow changed sign for good."""
        reach = self.time <= before
        return float(self.time[reach][np.argmax(self.volume[reach])])

    def backflow_passed(self, share: float) -> float:
        """When a share of the backflow around this reversal has passed; 0 if there is none."""
        start = self.flow_turned(self.half)
        counts = (self.contact[:-1] != SEATED) & (self.time[:-1] >= start)
        steps = np.minimum(np.diff(self.volume), 0.0) * counts
        passed = np.concatenate([[0.0], np.cumsum(-steps)])
        if passed[-1] <= 0.0:
            return 0.0
        i = int(np.searchsorted(passed, share * passed[-1]))
        part = (share * passed[-1] - passed[i - 1]) / (passed[i] - passed[i - 1])
        return float(self.time[i - 1] + part * (self.time[i] - self.time[i - 1]))


def backward_volumes(m: Motion, check: int) -> tuple[float, float]:
    """Volumes [m3] through a check against its direction: while open (backflow) and while shut (leak).

    Every change of the flow's sign is a row, so the differences of the volume, a state, are exact.
    """
    steps = np.diff(m.passed_volume[:, check])
    shut = m.contact[:-1, check] == SEATED
    back = np.maximum(-steps, 0.0)
    return float(np.sum(back[~shut])), float(np.sum(back[shut]))


def check_metrics(m: Motion, check: int) -> CheckMetrics:
    """Metrics of one check; 0 inlet, 1 piston."""
    window = _Window(m, check)
    lift = m.lift[:, check]
    reversal = m.top_dead_centre if check == 0 else 0.0
    flags: list[str] = []
    if not np.any(lift > 0.0):
        flags, lag, ball_lag = ["never_lifts"], window.half, window.half
    elif window.seated_at is not None and window.seated_at_end:
        lag = window.seated_at
        ball_lag = lag - window.flow_turned(lag)
    elif window.seated_at_reversal and window.seated_at_end:
        flags, lag, ball_lag = ["early"], 0.0, 0.0
    else:
        flags, lag, ball_lag = ["never_seats"], window.half, window.half
    of_check = m.event_check == check
    kind, value = m.event_kind[of_check], m.event_value[of_check]
    approach = -value[(kind == Event.GAP_CROSSED) & (value < 0.0)]
    stops = value[(kind == Event.STOPPED) | (kind == Event.BOUNCED_ON_STOP)]
    landing = float(approach.max(initial=0.0))
    backflow, leak = backward_volumes(m, check)
    return CheckMetrics(
        closing_lag=lag,
        ball_lag=ball_lag,
        closing_lag_stroke_fraction=window.travelled(lag) / m.stroke,
        hydraulic_closing=window.backflow_passed(0.99),
        backflow_volume=backflow,
        leak_volume=leak,
        landing_speed=landing,
        landing_energy=0.5 * float(m.moving_mass[check]) * landing**2,
        stop_landing_speed=float(stops.max(initial=0.0)),
        peak_lift=float(lift.max()),
        lift_at_reversal=float(np.interp(reversal, m.time, lift)),
        flags=tuple(flags),
    )


def _leak_between(m: Motion, check: int, rows: slice) -> float:
    volume, contact = m.passed_volume[rows, check], m.contact[rows, check]
    return float(np.sum(np.maximum(-np.diff(volume), 0.0)[contact[:-1] == SEATED]))


def loss_budget(m: Motion) -> LossBudget:
    """Swept volume = delivered + underfill + backflow of both checks + leak + compression and gas.

    With t* the instant at which most has been drawn in: underfill is the bore area times the stroke still (or
    again) to go at t*; the backflows are what returned through the open checks and was not drawn again, the
    piston check's until t*, the inlet check's after it; compression and gas is what the chamber's contents
    gave by expanding until t*, with what little the cycle has stored.
    """
    drawn, passed = m.passed_volume[:, 0], m.passed_volume[:, 1]
    end = int(np.argmax(drawn))
    area, swept = m.bore_area, m.swept_volume
    lower, upper = m.lower_surplus, m.upper_surplus
    leak_up = _leak_between(m, 1, slice(0, end + 1))
    leak_down = _leak_between(m, 0, slice(end, None))
    past_packings = float(m.packing_volume[end] + m.rod_volume[-1])
    parts = {
        "delivered": float(m.delivered_volume[-1]),
        "underfill": swept - area * float(m.position_integral[end]),
        "inlet_backflow": float(drawn[end] - drawn[-1]) - leak_down,
        "piston_backflow": float(-passed[end]) - leak_up,
        "leak": leak_up + leak_down + past_packings,
        "compression_and_gas": float(lower[-1] - lower[end] + upper[-1] - upper[0]),
    }
    return LossBudget(swept=swept, residual=swept - math.fsum(parts.values()), **parts)


def volume_residual(m: Motion) -> float:
    """Largest error of the volume balances, over swept volume: each chamber's contents against the flows in
    and out at every row, and the integrated piston position against the stroke's own."""
    swept, area, annulus = m.swept_volume, m.bore_area, m.annulus_area
    x = m.position_integral
    drawn, passed = m.passed_volume[:, 0], m.passed_volume[:, 1]
    lower, upper, port = m.lower_surplus, m.upper_surplus, m.port_surplus
    packing, rod = m.packing_volume, m.rod_volume
    errors = (
        lower - lower[0] - (drawn - passed + packing - area * x),
        upper - upper[0] - (passed - packing - rod - m.delivered_volume + annulus * x),
        port - port[0] - (m.line_volume - drawn),
        area * (x - m.piston_position),
    )
    return float(max(np.max(np.abs(e)) for e in errors)) / swept


def lost_travel(m: Motion) -> tuple[float, float]:
    """Piston travel [m] from each reversal (bottom, top) to the instant at which least has been delivered in
    the stroke: until then the outlet ran backward, on the whole. 0 where it never did.

    By the volume, a state, and not by the last change of the flow's sign: in the closing ramp the flow may
    pass zero by a hair, which means nothing.
    """
    top, end = m.top_dead_centre, m.period
    time, position, delivered = m.time, m.piston_position, m.delivered_volume
    lost = []
    for start, last in ((0.0, top), (top, end)):
        stroke = np.flatnonzero((time >= start) & (time <= last))
        least = stroke[np.argmin(delivered[stroke])]
        lost.append(float(abs(position[least] - np.interp(start, time, position))))
    return lost[0], lost[1]


def _void_collapse(m: Motion) -> float:
    """Time from top dead centre until the chamber is back at atmospheric pressure; 0 without a void."""
    half = m.top_dead_centre
    if np.interp(half, m.time, m.void_volume) < 1e-6 * m.swept_volume:
        return 0.0
    crossed = (m.event_kind == Event.PRESSURE_CROSSED) & (m.event_value > 0.0)
    after = m.event_time[crossed & (m.event_time >= half)]
    return float(after[0] if after.size else m.period) - half


def spray_of(m: Motion) -> tuple[float, float]:
    """Mean absolute pressure before the tip [Pa] and its dip over the mean gauge one; nan without a tip."""
    pressure = m.tip_pressure
    if not pressure.any():
        return math.nan, math.nan
    mean = mean_over(m.time, pressure)
    return mean, float(mean - pressure.min()) / (mean - m.barometric_pressure)


def metrics_of(m: Motion) -> Metrics:
    """All metrics of one cycle."""
    time, half = m.time, m.top_dead_centre
    drawn, pressure = m.passed_volume[:, 0], m.lower_pressure
    swept, delivered = m.swept_volume, float(m.delivered_volume[-1])
    open_rows = np.flatnonzero(m.contact[:, 0] != SEATED)
    pull_off = int(open_rows[0]) if open_rows.size else len(time) - 1
    lost_up, lost_down = lost_travel(m)
    spray, dip = spray_of(m)
    return Metrics(
        fill_fraction=float(drawn.max()) / swept,
        fill_at_top_dead_centre=float(np.interp(half, time, drawn)) / swept,
        volumetric_efficiency=delivered / swept,
        delivered_volume=delivered,
        delivered_flow=delivered / m.period,
        lowest_chamber_pressure=float(pressure.min()),
        lowest_pressure_at_pull_off=float(pressure[: pull_off + 1].min()),
        lowest_pressure_after=float(pressure[pull_off:].min()),
        lowest_port_pressure=float(m.port_pressure.min()),
        vapour_margin=float(pressure.min() - m.vapour_pressure),
        lost_stroke=max(lost_up, lost_down),
        lost_upstroke=lost_up,
        lost_downstroke=lost_down,
        volume_residual=volume_residual(m),
        cycle_rate=1.0 / m.period,
        piston_speed=float(np.abs(m.piston_speed).max()),
        outlet_pressure=mean_over(time, m.upper_pressure),
        spray_pressure=spray,
        pressure_dip=dip,
        packing_leak_volume=float(m.packing_volume[-1]),
        rod_leak_volume=float(m.rod_volume[-1]),
        void_volume=float(np.interp(half, time, m.void_volume)),
        void_collapse=_void_collapse(m),
        inlet=check_metrics(m, 0),
        piston=check_metrics(m, 1),
        loss_budget=loss_budget(m),
    )
