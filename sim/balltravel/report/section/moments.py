"""The moments of a cycle that somebody should see, each in a plain sentence."""

from typing import NamedTuple

from balltravel.core.events import Event
from balltravel.cycle.metrics import CheckMetrics, Metrics
from balltravel.cycle.motion import Motion
from balltravel.cycle.run import Cycle
from balltravel.report.tables import bench
from balltravel.units import to_text


class Moment(NamedTuple):
    """When [s since bottom dead centre], and what happens."""

    time: float
    said: str


LEAST_VOID = 5e-4
"""Share of swept below which a void, or what leaks in, is not worth a word."""


def moments_of(cycle: Cycle) -> tuple[Moment, ...]:
    """The moments in order; of an event that repeats the one that counts. Not of a failed run."""
    assert cycle.metrics is not None
    motion, metrics = cycle.motion, cycle.metrics
    seen = [
        Moment(0.0, "The piston turns at the bottom: the upstroke begins."),
        *_top(motion, metrics),
        *_inlet(motion, metrics),
        *_piston(motion, metrics),
    ]
    return tuple(sorted(seen))


def _first(m: Motion, kind: Event, check: int, after: float) -> float | None:
    """When an event first happens after a time, within half a period of it."""
    times = m.event_time[(m.event_kind == kind) & (m.event_check == check)]
    since = (times - after) % m.period
    near = since[since < 0.5 * m.period]
    return None if near.size == 0 else float((after + near.min()) % m.period)


def _top(m: Motion, metrics: Metrics) -> list[Moment]:
    """The turn at the top, and until when the void, if there is one, takes up the downstroke."""
    turn = "The piston turns at the top: the downstroke begins"
    if not (metrics.void_collapse > 0.0 and metrics.void_volume > LEAST_VOID * m.swept_volume):
        return [Moment(m.top_dead_centre, f"{turn}.")]
    share = bench(metrics.void_volume, "volume", 3)
    turned = Moment(m.top_dead_centre, f"{turn}, with {share} of void in the chamber.")
    if metrics.void_collapse >= metrics.downstroke_time:
        return [turned, Moment(0.999 * m.period, "The downstroke ends, and the void has not closed.")]
    lost = to_text(metrics.void_collapse, "time", 3)
    return [turned, Moment(m.top_dead_centre + metrics.void_collapse, f"The void closes: {lost} lost.")]


def _inlet(m: Motion, metrics: Metrics) -> list[Moment]:
    moments = []
    lifted = _first(m, Event.RELEASED, 0, 0.0)
    if lifted is not None:
        moments.append(Moment(lifted, "The inlet ball lifts: material comes in."))
    stopped = _first(m, Event.STOPPED, 0, lifted or 0.0)
    if stopped is not None and stopped < m.top_dead_centre:
        moments.append(Moment(stopped, "The inlet ball is on its stop: it can lift no further."))
    if "never_lifts" in metrics.inlet.flags:
        leaks = metrics.fill_fraction > LEAST_VOID
        comes = "only what leaks under it" if leaks else "nothing"
        moments.append(Moment(0.5 * m.top_dead_centre, f"The inlet ball does not lift: {comes} comes in."))
    if "never_seats" in metrics.inlet.flags:
        moments.append(Moment(0.999 * m.period, "The downstroke ends, and the inlet ball has not seated."))
    if not metrics.inlet.flags:
        seated = m.top_dead_centre + metrics.inlet.closing_lag
        moments.append(Moment(seated, f"The inlet ball seats, {_late(metrics.inlet)}"))
    return moments


def _piston(m: Motion, metrics: Metrics) -> list[Moment]:
    moments = []
    lifted = _first(m, Event.RELEASED, 1, m.top_dead_centre)
    if lifted is not None:
        words = "The piston ball lifts: the downstroke delivers what the rod displaces."
        moments.append(Moment(lifted, words))
    if not metrics.piston.flags:
        seats = f"The piston ball seats, {_late(metrics.piston)}"
        moments.append(Moment(metrics.piston.closing_lag, seats))
    return moments


def _late(check: CheckMetrics) -> str:
    """How late a ball is: by its own lag. That from the piston's turn has the time in it in which a void
    closes, while material still comes in."""
    late, back = to_text(check.ball_lag, "time", 3), bench(check.backflow_volume, "volume", 3)
    return f"{late} after the flow turned: {back} went back."
