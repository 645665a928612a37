"""Where the balls of a lower drift in their cages over a cycle: the creeping drift of the solves in space,
along the lifts, speeds and flows of a run (M5k)."""

import math
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.table.drift import Drift, drift_at
from balltravel.cycle.run import Cycle
from balltravel.estimate.suction_losses import bore_viscosity
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import core_parameters, full_flow, geometry_of

Array = NDArray[np.float64]

CENTRED = 0.01
"""Offset of a ball that leaves its seat, over that at which it touches there, unless one is given."""

OFF_SEAT = 1e-3
"""Lift over seat radius from which on a ball is off its seat."""

LONGEST = 1e-3
"""Step [s] at most."""


@dataclass(frozen=True)
class Drifted:
    """Offsets of a ball over its guide clearance, from when it leaves its seat until it is back: ``opened``
    when it first gets to its largest lift (within 1 %), ``mean`` over what passes forward, ``closing`` when
    the flow turns."""

    opened: float
    mean: float
    closing: float


@dataclass(frozen=True)
class DriftReport:
    """Of both balls by the check's name, the angle from plumb [rad] and the start that they were made with;
    None of a ball that does not leave its seat."""

    tilt: float
    start: float
    inlet: Drifted | None
    piston: Drifted | None

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers."""
        return asdict(self)


def drift_of(cycle: Cycle, tilt: float = 0.0, start: float = CENTRED) -> DriftReport:
    """Where both balls of a run drift. ``tilt`` [rad]: of the lower from plumb, its weight along the offset;
    ``start``: offset of a ball that leaves its seat, over that at which it touches."""
    inlet, piston = (_of_check(cycle, k, tilt, start) for k in range(2))
    return DriftReport(tilt, start, inlet, piston)


def _of_check(cycle: Cycle, k: int, tilt: float, start: float) -> Drifted | None:
    s, m = cycle.scenario, cycle.motion
    check = (s.inlet_check, s.piston_check)[k]
    whole = geometry_of(check, s.closures, 1.0)
    r, clearance = whole.contact_radius, whole.offset
    rows = _off_seat(m.lift[:, k] / r)
    if rows.size < 2 or not clearance:
        return None
    lift, flow = m.lift[rows, k], m.flow[rows, k] / r**3
    speed = (m.ball_speed[rows, k] - k * m.piston_speed[rows]) / r
    step = np.diff(m.time[rows]) % m.period
    push = _push(s, k, tilt) / r**2
    offset = _carried(drift_at(whole, lift), step, flow, speed, push, start) * r / clearance
    forward = np.maximum(flow[:-1], 0.0) * step
    passed = float(forward.sum())
    if not passed:
        return None
    turned = int(np.flatnonzero(forward)[-1])
    at_stop = int(np.argmax(lift >= 0.99 * lift.max()))
    mean = float(offset[:-1] @ forward) / passed
    return Drifted(float(offset[at_stop]), mean, float(offset[turned]))


def _off_seat(lift: Array) -> NDArray[np.intp]:
    """Rows of the longest flight of a ball, in the order of time, over the end of the cycle too."""
    off = lift > OFF_SEAT
    if off.all() or not off.any():
        return np.arange(lift.size) if off.all() else np.array([], np.intp)
    first = int(np.flatnonzero(~off)[0])
    turned = np.roll(np.arange(lift.size), -first)
    flights = np.split(turned, np.flatnonzero(np.diff(off[turned].astype(int))) + 1)
    return max((flight for flight in flights if off[flight[0]]), key=len)


def _push(s: Scenario, k: int, tilt: float) -> float:
    """Weight of a ball aside over the viscosity in its seat bore [m2/s]."""
    p, check = core_parameters(s), (s.inlet_check, s.piston_check)[k]
    viscosity = bore_viscosity(s, full_flow(s), 0.5 * check.seat_diameter)
    return abs((p.inlet, p.piston)[k].net_weight) * math.sin(tilt) / viscosity


def _carried(drift: Drift, step: Array, flow: Array, speed: Array, push: float, start: float) -> Array:
    """Offset over the seat radius at each row."""
    offset, offsets = start * float(drift.most[0]), []
    for i, whole in enumerate(step):
        offset = min(offset, float(drift.most[i]))
        offsets.append(offset)
        parts = max(math.ceil(whole / LONGEST), 1)
        for _ in range(parts):
            aside = drift.speed(i, offset, float(flow[i]), float(speed[i]), push)
            offset = min(max(offset + whole / parts * aside, 0.0), float(drift.most[i]))
    return np.array([*offsets, offset])
