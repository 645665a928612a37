"""A closing event solved on a moving mesh: a ball leaves its stop and falls, or is carried, to its seat.

The ball's equation of motion and the liquid's are solved together, step by step, so that the liquid's mass on
the ball needs no formula. Needs NGSolve (extra ``fem``).
"""

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from .moving_mesh import Flow, MovedMesh, Values

FROM, TO = 0.8, 1.25
"""Lifts that a mesh serves, over that at which it is made."""

GROWTH = 1.3
"""A step over the one before it, at most."""

SETTLED = 1e-6
"""Change of the steady flow at the start, in a step, over its largest velocity."""


class Size(NamedTuple):
    """Lengths in seat radii: ball, cage, lift at the stop and at the end; straight bore and cage in their
    radii and the largest element in the cage's."""

    ball: float = 1.4
    cage: float = 2.0
    stop: float = 0.4
    end: float = 0.03
    run_in: float = 3.0
    run_out: float = 3.0
    widest: float = 0.35


@dataclass(frozen=True)
class Case:
    """A ball of a mass under a weight less buoyancy, in a liquid; ``flow`` over time, with its derivative
    ``rate``, is what a piston draws. ``compliance`` of the chamber between check and piston: 0 where that
    flow goes through the check. ``longest``: of a step in time."""

    mass: float
    weight: float
    density: float
    viscosity: float
    flow: object
    longest: float
    compliance: float = 0.0
    size: Size = field(default_factory=Size)


class Row(NamedTuple):
    """An instant of an event; ``force``: of the liquid on the ball, ``drop``: of the pressure end to end."""

    time: float
    lift: float
    speed: float
    flow: float
    force: float
    drop: float


@dataclass
class Instant:
    """A row with the liquid's velocity (2, nodes) and the lift at which the mesh stood."""

    row: Row
    velocity: np.ndarray
    mesh_at: float


class Steps(NamedTuple):
    """``first``: step after a start from rest, over the longest; ``share``: of the lift passed in a step;
    ``repeats`` of a step with the mesh where the ball came to."""

    share: float = 0.04
    first: float = 0.01
    repeats: int = 0


def weights(dt, dt_before):
    """Of a quantity now and its two last values in its derivative times dt (BDF2, BDF1 at the start)."""
    if not dt_before:
        return 1.0, -1.0, 0.0
    ratio = dt / dt_before
    return (1.0 + 2.0 * ratio) / (1.0 + ratio), -(1.0 + ratio), ratio**2 / (1.0 + ratio)


class Event:
    """The march through a case, with elements of ``fineness``."""

    def __init__(self, case, fineness=0.3, steps=Steps()):  # noqa: B008
        self.case, self.fineness, self.steps = case, fineness, steps
        self.rows, self.meshes = [], 0
        self.left = 0.0
        self._mesh(case.size.stop)
        at_rest = Row(0.0, case.size.stop, 0.0, 0.0, 0.0, 0.0)
        self.now, self.past = Instant(at_rest, np.zeros((2, self.flow.N)), case.size.stop), None

    def _mesh(self, lift):
        self.meshes += 1
        self.moved = MovedMesh(self.case.size, lift, self.fineness)
        self.flow = Flow(self.case.size, self.moved, self.case.density, self.case.viscosity)

    def steady(self):
        """From the steady flow past the ball on its stop, found by steps of time that grow."""
        Q, still = self.case.flow(0.0), np.zeros((2, self.flow.N))
        u, dt = still, 0.3
        for _ in range(100):
            rest, _, unit = self.flow.solve(u, still, u / dt, 1.0 / dt)
            whole = rest.plus(unit.times(Q))
            new = self.flow.velocity(whole.x)
            change, u, dt = np.abs(new - u).max(), new, dt * 1.5
            if not self.case.density or change < SETTLED * np.abs(u).max():
                break
        self.now.velocity = u
        self.now.row = Row(0.0, self.case.size.stop, 0.0, Q, whole.force, whole.drop)

    def run(self, most=2000):
        """Rows of the whole event, from the start to the end's lift."""
        moving = self.case.flow(0.0) != 0.0
        if moving:
            self.steady()
        self.held = self.now.row.force > self.case.weight
        dt = self.case.longest * (1.0 if moving else self.steps.first)
        for _ in range(most):
            dt = self._step(self._length(dt))
            if self.now.row.lift < self.case.size.end:
                return self.rows
        raise RuntimeError(f"the ball is still at {self.now.row.lift:g} after {most} steps")

    def _length(self, dt):
        dt, row = min(dt, self.case.longest), self.now.row
        return min(dt, self.steps.share * row.lift / abs(row.speed)) if row.speed else dt

    def _step(self, dt):
        """One step of about dt; the next one's length."""
        new = self._attempt(dt)
        over, before = (i.row.force - self.case.weight for i in (new, self.now))
        if self.held and over < 0.0:
            share = before / (before - over) if before > 0.0 else 1.0
            if share < 0.999:
                new = self._attempt(max(share, 1e-3) * dt)
            self.held, self.left = False, new.row.time
        self.past, self.now = self.now, new
        self.rows.append(new.row)
        return GROWTH * dt

    def _attempt(self, dt):
        now, past = self.now.row, self.past and self.past.row
        before = now.time - past.time if past else 0.0
        lift = now.lift
        if not self.held:
            trend = (now.speed - past.speed) / before if past else 0.0
            lift += dt * (now.speed + 0.5 * dt * trend)
        if not self.held and lift < FROM * self.moved.made_at:
            self._remesh(lift)
        for _ in range(1 + self.steps.repeats):
            new = self._solved(dt, before, lift)
            lift = new.row.lift
        return new

    def _solved(self, dt, before, lift):
        """The next instant, with the mesh at a lift."""
        now, last = self.now, self.past or self.now
        a, b, c = weights(dt, before)
        self.moved.move(lift)
        rise = self.moved.nodes.values(self.moved.rise.reshape(2, -1))
        drift = (a * lift + b * now.mesh_at + c * last.mesh_at) / dt * rise
        ahead = now.velocity + (dt / before if before else 0.0) * (now.velocity - last.velocity)
        kept = Row(*(-(b * x + c * y) / dt for x, y in zip(now.row, last.row, strict=True)))
        parts = self.flow.solve(ahead, drift, -(b * now.velocity + c * last.velocity) / dt, a / dt)
        time = now.row.time + dt
        speed, flow = self._ball_and_chamber(parts, a / dt, kept, self.case.flow(time))
        whole = parts[0].plus(parts[1].times(speed)).plus(parts[2].times(flow))
        came = (speed + kept.lift) * dt / a
        row = Row(time, came, speed, flow, whole.force, whole.drop)
        return Instant(row, self.flow.velocity(whole.x), lift)

    def _ball_and_chamber(self, parts, rate, kept, piston):
        """Speed and flow that satisfy the ball's equation of motion, mass dw/dt = force - weight, and the
        chamber's balance, compliance d(drop)/dt = piston's flow - flow, at the end of the step."""
        case, (rest, of_speed, of_flow) = self.case, parts
        C = case.compliance
        matrix = [
            [case.mass * rate - of_speed.force, -of_flow.force],
            [C * rate * of_speed.drop, C * rate * of_flow.drop + 1.0],
        ]
        right = [
            rest.force - case.weight + case.mass * kept.speed,
            piston + C * (kept.drop - rate * rest.drop),
        ]
        if self.held:
            matrix[0], right[0] = [1.0, 0.0], 0.0
        return np.linalg.solve(matrix, right)

    def _remesh(self, lift):
        """A new mesh, and on it the flows of the last two instants: the nearest to what they were whose
        volume is kept."""
        old = self.moved
        self._mesh(max(lift / 1.2, self.case.size.end))
        smooth = Flow(self.case.size, self.moved, 1.0, 0.0)
        for instant in filter(None, (self.now, self.past)):
            old.move(instant.mesh_at)
            self.moved.move(instant.mesh_at)
            there = Values(old).at(self.moved.places(), instant.velocity)
            still = np.zeros_like(there)
            rest, of_speed, of_flow = smooth.solve(still, still, there, 1.0)
            row = instant.row
            whole = rest.plus(of_speed.times(row.speed)).plus(of_flow.times(row.flow))
            instant.velocity = smooth.velocity(whole.x)


def closing_time(rows, lift):
    """When the ball passes a lift on its way down, by cubics between rows."""
    late = next(k for k, row in enumerate(rows) if row.lift <= lift)
    a, b = rows[late - 1], rows[late]
    h = b.time - a.time
    s = np.linspace(0.0, 1.0, 2001)
    path = (
        a.lift * (1 - s) ** 2 * (1 + 2 * s)
        + b.lift * s**2 * (3 - 2 * s)
        + h * (a.speed * s * (1 - s) ** 2 + b.speed * s**2 * (s - 1))
    )
    return a.time + h * float(np.interp(-lift, -path, s))
