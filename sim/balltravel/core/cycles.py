"""From rest to a cycle that repeats."""

import math

import numpy as np

from balltravel.core.events import guards, reset_sides
from balltravel.core.integrate import FIRST_STEP, keep_row, run_segment
from balltravel.core.jit import kernel
from balltravel.core.model import (
    AIR_ABOVE,
    AIR_BELOW,
    DELIVERED,
    INLET_LIFT,
    LOWER,
    PISTON_LIFT,
    PORT,
    SIZE,
    STATES,
    STORE,
    UPPER,
    WHOLE,
    X,
    moment,
)
from balltravel.core.motor import DRIVE, MOTOR_SEGMENTS
from balltravel.core.parameters import NO_MOTOR, Array, Chamber, Control, Parameters
from balltravel.core.rosenbrock import assign
from balltravel.core.status import Status
from balltravel.core.workspace import Contact, Workspace

LONGEST = 25
"""Steps of a run at most, over the rows that a cycle may have: after the cycle in which it passes them a run
ends as one that does not repeat (our choice; a million steps take some ten seconds)."""


@kernel
def run_cycle(p: Parameters, c: Control, h: float, contact: Contact, work: Workspace) -> float:
    """Integrate over one cycle; the next step's length, or minus a status."""
    work.number[0], work.number[1] = 0, 0
    for i in range(WHOLE, SIZE):
        work.y[i] = 0.0
    work.clock[0] = 0.0
    for segment in range(p.drive.segments):
        h = run_segment(p, c, segment, h, contact, work)
        if h < 0.0:
            return h
        if p.motor.kind != NO_MOTOR:
            h = min(h, FIRST_STEP * p.drive.period)
    period = work.clock[p.drive.segments]
    keep_row(p, p.drive.segments - 1, period, contact, work)
    contact.hold[0] -= period
    contact.hold[1] -= period
    return h


@kernel
def surplus_at(p: Parameters, chamber: Chamber, target: float, position: float = 0.0) -> float:
    """Contents less volume of a chamber at a position whose pressure is ``target`` [Pa absolute] (M2a)."""
    m = p.material
    u = target - m.vapour_pressure
    above = p.reference_pressure - m.vapour_pressure
    per_contents = (1.0 - m.gas_fraction) * (1.0 - (u - above) / m.bulk_modulus)
    per_contents += m.gas_fraction * above / u
    space = chamber.volume + chamber.area * position
    volume = space + chamber.compliance * (target - p.reference_pressure)
    return volume / per_contents - space


@kernel
def initialise(
    p: Parameters, contact: Contact, work: Workspace, segment: int = 0, position: float = 0.0
) -> bool:
    """At rest at a position [m], bottom dead centre unless one is given, both balls seated, chambers at
    suction and outlet pressure."""
    y = work.y
    for i in range(SIZE):
        y[i] = 0.0
    for i in range(3):
        chamber = p.port if i == 0 else p.lower if i == 1 else p.upper
        target = p.outlet_pressure if i == 2 else p.suction.pressure
        y[(PORT, UPPER - 1, UPPER)[i]] = surplus_at(p, chamber, target, position)
    if p.motor.kind != NO_MOTOR:
        y[X] = position
        y[AIR_BELOW] = y[AIR_ABOVE] = p.reference_pressure
    if p.outlet.hose == 1:
        y[STORE] = surplus_at(p, p.outlet.store, p.outlet_pressure)
    moment(p, segment, 0.0, y, True, work.now)
    guards(p, work.now, y, contact, work.guard)
    reset_sides(work.guard, contact.side)
    return bool(np.isfinite(work.now.port) and np.isfinite(work.now.lower) and np.isfinite(work.now.upper))


@kernel
def change(p: Parameters, c: Control, before: Array, after: Array) -> float:
    """Largest change of the feeding-back states over a cycle, in their sizes."""
    swept = p.lower.area * p.drive.stroke
    largest = 0.0
    for i in range(WHOLE if p.more == 1 else STATES):
        size = c.scale[i]
        if i in (PORT, LOWER, UPPER, STORE):
            size = swept
        elif i in (INLET_LIFT, PISTON_LIFT):
            size = 0.01 * (p.inlet.seat_radius if i == INLET_LIFT else p.piston.seat_radius)
        largest = max(largest, abs(after[i] - before[i]) / size)
    return largest


@kernel
def run(p: Parameters, c: Control, contact: Contact, work: Workspace) -> tuple[int, int, float]:
    """Run cycles from rest until they repeat, at most ``max_cycles`` and as LONGEST says.

    Returns the status, the number of cycles and the change of the delivered volume over the last one (over
    swept); rows and events of the last cycle stay in ``work``.
    """
    swept = p.lower.area * p.drive.stroke
    status, cycles, drift, steps = Status.NOT_PERIODIC.value, 0, math.inf, 0
    if not initialise(p, contact, work):
        return Status.NOT_FINITE.value, 0, drift
    h, delivered = FIRST_STEP * p.drive.period, math.inf
    for cycle in range(c.max_cycles):
        assign(work.y_start, work.y)
        h = run_cycle(p, c, h, contact, work)
        cycles = cycle + 1
        if h < 0.0:
            status = int(-h)
            break
        drift = abs(work.y[DELIVERED] - delivered) / swept
        delivered = work.y[DELIVERED]
        settled = change(p, c, work.y_start, work.y) <= 1000.0 * c.periodic_tolerance
        if settled and drift <= c.periodic_tolerance:
            status = Status.OK.value
            break
        steps += work.number[0]
        if steps >= LONGEST * c.most_rows:
            break
    return status, cycles, drift


@kernel
def run_stalled(p: Parameters, c: Control, upward: bool, contact: Contact, work: Workspace) -> int:
    """Let a motor push from the middle of the stroke, from rest, for its limit of time or to the end.

    Returns the status, STALLED where the stroke did not end; the rows stay in ``work``.
    """
    segment = DRIVE if upward else MOTOR_SEGMENTS // 2 + DRIVE
    if not initialise(p, contact, work, segment, 0.5 * p.drive.stroke):
        return Status.NOT_FINITE.value
    work.number[0], work.number[1] = 0, 0
    work.clock[segment] = 0.0
    h = run_segment(p, c, segment, FIRST_STEP * p.drive.period, contact, work)
    return int(-h) if h < 0.0 else Status.OK.value
