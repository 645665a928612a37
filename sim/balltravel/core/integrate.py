"""From parameters to a periodic cycle: adaptive steps, located events, contact modes.

The cycle's own clock runs from 0 (piston in the middle of the dwell at bottom dead centre) to the period.
Steps end exactly at the stroke's kinks and at events. Contact is a mode: a ball on its seat or stop stays at
exactly 0 or the travel until the net force pulls it off.
"""

import math

from balltravel.core.contact import FREE, SEATED
from balltravel.core.events import (
    FIRST_MONITOR,
    TRIP,
    contact_event,
    guards,
    let_go,
    monitor_event,
    set_tolerances,
    to_go,
    triggered,
)
from balltravel.core.jit import kernel
from balltravel.core.model import (
    INLET_LIFT,
    SIZE,
    V,
    X,
    moment,
    rates,
)
from balltravel.core.motor import BRAKE, DRIVE, HELD, MOTOR_SEGMENTS, REST, left_of, phase_of
from balltravel.core.parameters import NO_MOTOR, Array, Control, Parameters
from balltravel.core.recording import record
from balltravel.core.rosenbrock import (
    NODES,
    STAGES,
    assign,
    error_norm,
    factorise,
    solve,
    stage_rhs,
    stage_state,
    step_factor,
)
from balltravel.core.slopes import derivatives
from balltravel.core.status import Status
from balltravel.core.workspace import (
    GUARDS,
    MOST_EVENTS,
    MOST_ROWS,
    Contact,
    Workspace,
)

# Shares of the cycle: the first step after a change of mode, the smallest step, the largest.
FIRST_STEP, LEAST_STEP, LARGEST_STEP = 1e-5, 1e-14, 5e-3


@kernel
def look(p: Parameters, segment: int, t: float, y: Array, work: Workspace) -> None:
    """Evaluate the model at one instant into ``work.now``."""
    moment(p, segment, t, y, True, work.now)


@kernel
def differentiate(p: Parameters, contact: Contact, work: Workspace) -> None:
    """Rates and their derivatives at the instant last looked at: of the states that feed back here."""
    inlet, piston = contact.mode[0], contact.mode[1]
    rates(p, work.now, work.y, inlet, piston, work.rates)
    if p.more == 1:
        derivatives(p, work.now, inlet, piston, work.whole_jacobian, work.by_time)
    else:
        derivatives(p, work.now, inlet, piston, work.jacobian, work.by_time)


@kernel
def factorised(p: Parameters, c: Control, h: float, work: Workspace) -> bool:
    """Factors of a step's linear system; False if it is singular."""
    if p.more == 1:
        return factorise(work.whole_jacobian, c.scale, h, work.whole_matrix, work.whole_order)
    return factorise(work.jacobian, c.scale, h, work.matrix, work.order)


@kernel
def attempt(
    p: Parameters, c: Control, segment: int, t: float, h: float, contact: Contact, work: Workspace
) -> float:
    """One trial step from ``work.y`` into ``work.trial``; its error norm, infinite where it fails.

    ``work.rates``, ``by_time`` and ``jacobian`` hold the rates and derivatives at the start.
    """
    inlet, piston = contact.mode[0], contact.mode[1]
    if not factorised(p, c, h, work):
        return math.inf
    for stage in range(STAGES):
        stage_state(stage, work.y, work.increments, work.trial)
        if stage == 0:
            assign(work.stage, work.rates)
        else:
            moment(p, segment, t + NODES[stage] * h, work.trial, False, work.now)
            rates(p, work.now, work.trial, inlet, piston, work.stage)
        stage_rhs(stage, h, work.stage, work.by_time, work.increments)
        if p.more == 1:
            solve(
                work.whole_jacobian, c.scale, h, work.whole_matrix, work.whole_order, work.increments[stage]
            )
        else:
            solve(work.jacobian, c.scale, h, work.matrix, work.order, work.increments[stage])
    for i in range(SIZE):
        work.trial[i] += work.increments[STAGES - 1, i]
    error = error_norm(work.increments[STAGES - 1], work.y, work.trial, c.scale, c.end, c.rtol, c.counted)
    return error if error >= 0.0 else math.inf


@kernel
def trial_guards(p: Parameters, segment: int, t: float, contact: Contact, work: Workspace) -> None:
    """Guards at the trial state."""
    look(p, segment, t, work.trial, work)
    guards(p, work.now, work.trial, contact, work.guard_trial)


@kernel
def dips(p: Parameters, h: float, contact: Contact, work: Workspace) -> float:
    """Share of a step after which a free ball has passed seat or stop and come back within the step, by the
    cubic through both ends; 1 where none has."""
    for k in range(2):
        if contact.mode[k] != FREE:
            continue
        travel = p.inlet.travel if k == 0 else p.piston.travel
        z, w = INLET_LIFT + 2 * k, INLET_LIFT + 2 * k + 1
        z0, z1 = work.y[z], work.trial[z]
        w0, w1 = h * work.y[w], h * work.trial[w]
        for share in (0.25, 0.5, 0.75):
            rest = 1.0 - share
            middle = rest * rest * ((1.0 + 2.0 * share) * z0 + share * w0)
            middle += share * share * ((3.0 - 2.0 * share) * z1 - rest * w1)
            if middle < -1e-9 * travel or middle > (1.0 + 1e-9) * travel:
                return share
    return 1.0


@kernel
def next_trial(low: float, high: float, round_: int, contact: Contact, work: Workspace) -> float:
    """Where to look for the first root in (low, high]: the nearest secant root of the guards past zero, aimed
    half a tolerance beyond; every third round the middle."""
    if round_ % 3 == 2:
        return 0.5 * (low + high)
    best = high
    for k in range(GUARDS):
        side = contact.side[k]
        above, below = side * work.guard_low[k], side * work.guard_trial[k]
        if below < 0.0:
            share = (above + 0.5 * work.tolerance[k]) / (above - below) if above > below else 0.5
            best = min(best, low + min(1.0, max(0.0, share)) * (high - low))
    return best


@kernel
def near_enough(contact: Contact, work: Workspace) -> bool:
    """Whether every guard past zero is within its tolerance."""
    near = True
    for k in range(GUARDS):
        near = near and contact.side[k] * work.guard_trial[k] >= -work.tolerance[k]
    return near


@kernel
def locate(
    p: Parameters, c: Control, segment: int, t: float, h: float, contact: Contact, work: Workspace
) -> float:
    """Shorten a step that has passed guards so that it ends on the first of them.

    The step itself is repeated, not interpolated: an event is met with the order of the method. Leaves the
    state at the event in ``work.trial`` and the guards there in ``work.guard_trial``; returns its length.
    """
    low, high = 0.0, h
    assign(work.guard_low, work.guard)
    set_tolerances(p, contact, work.tolerance)
    for round_ in range(100):
        if near_enough(contact, work) or high - low <= LEAST_STEP * p.drive.period:
            break
        middle = next_trial(low, high, round_, contact, work)
        if not low < middle < high:
            middle = 0.5 * (low + high)
        attempt(p, c, segment, t, middle, contact, work)
        assign(work.guard_kept, work.guard_trial)
        trial_guards(p, segment, t + middle, contact, work)
        if triggered(work.guard_trial, contact.side):
            high = middle
        else:
            low = middle
            assign(work.guard_low, work.guard_trial)
            assign(work.guard_trial, work.guard_kept)
    attempt(p, c, segment, t, high, contact, work)
    trial_guards(p, segment, t + high, contact, work)
    return high


@kernel
def respond(p: Parameters, segment: int, t: float, contact: Contact, work: Workspace) -> None:
    """Let every guard past zero have its effect."""
    for guard in range(FIRST_MONITOR):
        if contact.side[guard] * work.guard_trial[guard] < 0.0:
            look(p, segment, t, work.y, work)
            contact_event(p, work.now, contact, work, guard, t)
    # A landing changes ball speed, and with it the flow, at once: so the other guards are looked at after it.
    look(p, segment, t, work.y, work)
    guards(p, work.now, work.y, contact, work.guard_trial)
    for guard in range(FIRST_MONITOR, TRIP):
        if contact.side[guard] * work.guard_trial[guard] < 0.0:
            monitor_event(contact, work, guard, t)


@kernel
def keep_row(p: Parameters, segment: int, t: float, contact: Contact, work: Workspace) -> None:
    """Record the present instant."""
    look(p, segment, t, work.y, work)
    if work.number[0] < MOST_ROWS:
        record(work.rows[work.number[0]], t, work.now, work.y, contact.mode[0], contact.mode[1])
    work.number[0] += 1


@kernel
def drawn_empty(p: Parameters, work: Workspace) -> bool:
    """Whether more has left the inlet port or a chamber than was in it: for any contents at all the law gives
    a pressure above the vapour's."""
    now = work.now
    return bool(min(now.port, now.lower, now.upper) < p.material.vapour_pressure)


@kernel
def end_of_hold(t: float, end: float, contact: Contact, work: Workspace) -> float:
    """Release balls whose hold is over; the time at which the next hold ends, or ``end``."""
    for k in range(2):
        if contact.mode[k] == FREE or contact.armed[k] == 1:
            continue
        net = work.now.inlet.force if k == 0 else work.now.piston.force
        if t < contact.hold[k]:
            end = min(end, contact.hold[k])
        elif (net > 0.0) == (contact.mode[k] == SEATED):
            let_go(contact, work, k, t)
        else:
            contact.armed[k] = 1
    return end


@kernel
def accepted_step(
    p: Parameters, c: Control, segment: int, t: float, end: float, h: float, contact: Contact, work: Workspace
) -> tuple[float, float, float]:
    """Find a step from ``t`` that meets the tolerance, not beyond ``end`` nor an event.

    Returns its length (0 if there is none), the length to try next and 1 if it ends on an event.
    """
    while True:
        whole = t + h * (1.0 + 1e-9) >= end
        step = end - t if whole else h
        if step <= LEAST_STEP * p.drive.period and not whole:
            return 0.0, h, 0.0
        error = attempt(p, c, segment, t, step, contact, work)
        if not error <= 1.0:
            h = step * (0.2 if math.isinf(error) else step_factor(error))
            if h <= LEAST_STEP * p.drive.period:
                return 0.0, h, 0.0
            continue
        trial_guards(p, segment, t + step, contact, work)
        proposal = step * step_factor(error)
        if triggered(work.guard_trial, contact.side):
            return locate(p, c, segment, t, step, contact, work), proposal, 1.0
        share = dips(p, step, contact, work)
        if share < 1.0:
            h = share * step
            continue
        # A step cut short by a kink says nothing against the length in use.
        return step, max(proposal, h) if whole else proposal, 0.0


@kernel
def end_of(p: Parameters, segment: int, t: float, work: Workspace) -> float:
    """When a segment that begins at ``t`` ends; that of a stroke in which a motor drives, at the latest. With
    a motor's brake, the deceleration that brings the piston to rest at the end of its stroke."""
    if p.motor.kind == NO_MOTOR:
        return float(p.drive.start[segment + 1])
    phase, v = phase_of(segment), work.y[V]
    if phase == HELD:
        work.now.since = t
    if phase == REST:
        return t + p.motor.dwell_time
    if phase != BRAKE:
        return t + p.motor.limit
    left = left_of(p.drive.stroke, segment < MOTOR_SEGMENTS // 2, work.y[X])
    work.now.brake = -0.5 * v * abs(v) / left
    return float(t + 2.0 * left / abs(v))


@kernel
def finish(p: Parameters, segment: int, t: float, work: Workspace) -> None:
    """Set the clock; a piston that has braked stands, round-off aside."""
    work.clock[segment + 1] = t
    if p.motor.kind != NO_MOTOR and phase_of(segment) == BRAKE:
        work.y[V] = 0.0


@kernel
def run_segment(
    p: Parameters, c: Control, segment: int, h: float, contact: Contact, work: Workspace
) -> float:
    """Integrate over one segment of the stroke, from ``work.clock`` on; the next step's length, or minus a
    status."""
    t = work.clock[segment]
    end = end_of(p, segment, t, work)
    look(p, segment, t, work.y, work)
    # A piston may be free as soon as the valve has begun to shift.
    tripped = work.now.held == 1.0 and to_go(p, work.now) < 0.0
    largest = LARGEST_STEP * p.drive.period
    while t < end and not tripped:
        look(p, segment, t, work.y, work)
        stop = end_of_hold(t, end, contact, work)
        keep_row(p, segment, t, contact, work)
        if work.number[0] >= min(c.most_rows, MOST_ROWS):
            return -1.0 * Status.TOO_MANY_STEPS.value
        if drawn_empty(p, work):
            return -1.0 * Status.DRAWN_EMPTY.value
        if work.number[1] >= MOST_EVENTS:
            return -1.0 * Status.TOO_MANY_EVENTS.value
        differentiate(p, contact, work)
        guards(p, work.now, work.y, contact, work.guard)
        step, h, on_event = accepted_step(p, c, segment, t, stop, min(h, largest), contact, work)
        if step <= 0.0:
            return -1.0 * Status.STEP_TOO_SMALL.value
        t = stop if t + step >= stop else t + step
        assign(work.y, work.trial)
        if on_event > 0.0:
            keep_row(p, segment, t, contact, work)
            before = contact.mode[0] + 3 * contact.mode[1]
            tripped = work.guard_trial[TRIP] < 0.0
            respond(p, segment, t, contact, work)
            if contact.mode[0] + 3 * contact.mode[1] != before:
                h = min(h, FIRST_STEP * p.drive.period)
    finish(p, segment, t, work)
    if p.motor.kind != NO_MOTOR and phase_of(segment) in (HELD, DRIVE) and not tripped:
        return -1.0 * Status.STALLED.value
    return h
