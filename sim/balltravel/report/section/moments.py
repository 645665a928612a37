"""The moments of a cycle that somebody should see, each in a plain sentence."""

from typing import NamedTuple

from balltravel.core.events import Event
from balltravel.cycle.metrics import Metrics
from balltravel.cycle.motion import Motion
from balltravel.cycle.run import Cycle
from balltravel.report.tables import bench
from balltravel.units import to_text


class Moment(NamedTuple):
    """When [s since bottom dead centre], and what happens."""

    time: float
    said: str


def moments_of(cycle: Cycle) -> tuple[Moment, ...]:
    """The moments in order; of an event that repeats only the first of a stroke. Not of a failed run."""
    assert cycle.metrics is not None
    motion, metrics = cycle.motion, cycle.metrics
    seen = [
        Moment(0.0, "The piston turns at the bottom: the upstroke begins."),
        Moment(motion.top_dead_centre, "The piston turns at the top: the downstroke begins."),
        *_void(motion, metrics),
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


def _void(m: Motion, metrics: Metrics) -> list[Moment]:
    if not metrics.void_collapse > 0.0:
        return []
    share = bench(metrics.void_volume, "volume", 3)
    lost = to_text(metrics.void_collapse, "time", 3)
    return [
        Moment(m.top_dead_centre + 1e-9, f"The chamber is not full: {share} of void at the turn."),
        Moment(m.top_dead_centre + metrics.void_collapse, f"The void closes: {lost} lost."),
    ]


def _inlet(m: Motion, metrics: Metrics) -> list[Moment]:
    found = []
    lifted = _first(m, Event.RELEASED, 0, 0.0)
    if lifted is not None:
        found.append(Moment(lifted, "The inlet ball lifts: material comes in."))
    stopped = _first(m, Event.STOPPED, 0, lifted or 0.0)
    if stopped is not None and stopped < m.top_dead_centre:
        found.append(Moment(stopped, "The inlet ball is on its stop: it can lift no further."))
    seated = _first(m, Event.SEATED, 0, m.top_dead_centre)
    if seated is not None:
        back = bench(metrics.inlet.backflow_volume, "volume", 3)
        late = to_text(metrics.inlet.closing_lag, "time", 3)
        found.append(Moment(seated, f"The inlet ball seats, {late} late: {back} went back."))
    return found


def _piston(m: Motion, metrics: Metrics) -> list[Moment]:
    found = []
    lifted = _first(m, Event.RELEASED, 1, m.top_dead_centre)
    if lifted is not None:
        found.append(Moment(lifted, "The piston ball lifts: the downstroke delivers what the rod displaces."))
    seated = _first(m, Event.SEATED, 1, 0.0)
    if seated is not None:
        back = bench(metrics.piston.backflow_volume, "volume", 3)
        found.append(Moment(seated, f"The piston ball seats: {back} went back."))
    return found
