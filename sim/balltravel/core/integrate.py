"""Adaptive steps, located events, contact modes: one attempt of a step at a time.

The cycle's own clock runs from 0 (piston in the middle of the dwell at bottom dead centre) to the period.
Steps end exactly at the stroke's kinks and at events. Contact is a mode: a ball on its seat or stop stays at
exactly 0 or the travel until the net force pulls it off.

Every call of ``try_once`` makes one attempt, be it of a step, of a shorter one or on the way to an event:
cases that run side by side on a GPU stay together.
"""

import math

from balltravel.core.contact import FREE
from balltravel.core.events import guards, set_tolerances, triggered
from balltravel.core.jit import kernel
from balltravel.core.model import INLET_LIFT, SIZE, STATES, WHOLE, moment, rates
from balltravel.core.parameters import Array, Control, Parameters
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
from balltravel.core.workspace import GUARDS, Contact, March, Workspace

# Shares of the cycle: the first step after a change of mode, the smallest step, the largest.
FIRST_STEP, LEAST_STEP, LARGEST_STEP = 1e-5, 1e-14, 5e-3

AIMED, MET = 0.25, 0.5
"""Shares of a guard's tolerance: how far beyond its zero a trial is aimed, and within which it is met."""

MOST_ROUNDS, ROUNDS_TO_MIDDLE = 100, 8
"""Attempts at most on the way to an event, and after how many without end the middle is tried."""

TAKE, SEARCH, CONFIRM = 0, 1, 2
"""Purposes of an attempt: a step, a point on the way to an event, the event's end of the bracket again."""

GO_ON, TAKEN, ON_EVENT, NO_STEP = 0, 1, 2, 3
"""What an attempt leads to: another one, a step, a step onto an event, no step at all."""


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
def stages(
    p: Parameters, c: Control, segment: int, t: float, h: float, contact: Contact, work: Workspace, few: int
) -> None:
    """The stages of a step into ``work.increments``; ``few``: how many states feed back."""
    inlet, piston = contact.mode[0], contact.mode[1]
    for stage in range(STAGES):
        stage_state(stage, work.y, work.increments, work.trial, few, WHOLE)
        if stage == 0:
            assign(work.stage, work.rates)
        else:
            moment(p, segment, t + NODES[stage] * h, work.trial, False, work.now)
            rates(p, work.now, work.trial, inlet, piston, work.stage)
        stage_rhs(stage, h, work.stage, work.by_time, work.increments, few, WHOLE)
        if p.more == 1:
            solve(
                work.whole_jacobian, c.scale, h, work.whole_matrix, work.whole_order, work.increments[stage]
            )
        else:
            solve(work.jacobian, c.scale, h, work.matrix, work.order, work.increments[stage], WHOLE)


@kernel
def attempt(
    p: Parameters, c: Control, segment: int, t: float, h: float, contact: Contact, work: Workspace
) -> float:
    """One trial step from ``work.y`` into ``work.trial``; its error norm, infinite where it fails.

    ``work.rates``, ``by_time`` and ``jacobian`` hold the rates and derivatives at the start.
    """
    few = WHOLE if p.more == 1 else STATES
    if p.more == 1:
        regular = factorise(work.whole_jacobian, c.scale, h, work.whole_matrix, work.whole_order)
    else:
        regular = factorise(work.jacobian, c.scale, h, work.matrix, work.order)
    if not regular:
        return math.inf
    stages(p, c, segment, t, h, contact, work, few)
    last = work.increments[STAGES - 1]
    for i in range(few):
        work.trial[i] += last[i]
    for i in range(WHOLE, SIZE):
        work.trial[i] += last[i]
    error = error_norm(last, work.y, work.trial, c.scale, c.end, c.rtol, c.counted, few, WHOLE)
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
def next_trial(m: March, contact: Contact, work: Workspace) -> float:
    """Where to look for the first root in the bracket: the nearest secant root of the guards past zero, aimed
    a little beyond; an end that stays counts less and less (the Illinois rule: Dowell and Jarratt
    1971, from memory), and every eighth round the middle is tried."""
    middle = 0.5 * (m.low + m.high)
    if m.rounds % ROUNDS_TO_MIDDLE == ROUNDS_TO_MIDDLE - 1:
        return middle
    best = m.high
    for k in range(GUARDS):
        above = contact.side[k] * work.guard_low[k] * m.weight_low
        below = contact.side[k] * work.guard_high[k] * m.weight_high
        if below < 0.0:
            share = (above + AIMED * work.tolerance[k]) / (above - below) if above > below else 0.5
            best = min(best, m.low + min(1.0, max(0.0, share)) * (m.high - m.low))
    return best if m.low < best < m.high else middle


@kernel
def near_enough(contact: Contact, work: Workspace) -> bool:
    """Whether every guard past zero at the far end of the bracket is within half its tolerance."""
    near = True
    for k in range(GUARDS):
        near = near and contact.side[k] * work.guard_high[k] >= -MET * work.tolerance[k]
    return near


@kernel
def ended(p: Parameters, m: March, contact: Contact, work: Workspace) -> bool:
    """Whether the far end of the bracket is the event."""
    if m.rounds >= MOST_ROUNDS or m.high - m.low <= LEAST_STEP * p.drive.period:
        return True
    return near_enough(contact, work)


@kernel
def begin_search(p: Parameters, length: float, contact: Contact, work: Workspace) -> int:
    """A step has passed guards: shorten it so that it ends on the first of them.

    The step itself is repeated, not interpolated: an event is met with the order of the method."""
    m = work.march
    m.low, m.high, m.rounds, m.weight_low, m.weight_high, m.high_moved = 0.0, length, 0, 1.0, 1.0, 0
    assign(work.guard_low, work.guard)
    assign(work.guard_high, work.guard_trial)
    set_tolerances(p, contact, work.tolerance)
    if ended(p, m, contact, work):
        return ON_EVENT
    m.purpose = SEARCH
    return GO_ON


@kernel
def narrow(p: Parameters, length: float, contact: Contact, work: Workspace) -> int:
    """Narrow the bracket by an attempt within it; at the end the trial is the one at the event."""
    m = work.march
    beyond = triggered(work.guard_trial, contact.side)
    if beyond:
        # Twice on the same side: the other end's guards count half.
        m.weight_low = 0.5 * m.weight_low if m.high_moved == 1 else 1.0
        m.high, m.weight_high, m.high_moved = length, 1.0, 1
        assign(work.guard_high, work.guard_trial)
    else:
        m.weight_high = 0.5 * m.weight_high if m.high_moved == 0 and m.rounds > 0 else 1.0
        m.low, m.weight_low, m.high_moved = length, 1.0, 0
        assign(work.guard_low, work.guard_trial)
    m.rounds += 1
    if not ended(p, m, contact, work):
        return GO_ON
    m.purpose = TAKE if beyond else CONFIRM
    m.step = length
    return ON_EVENT if beyond else GO_ON


@kernel
def length_of(p: Parameters, contact: Contact, work: Workspace) -> float:
    """Length of the next attempt; 0 where no step is long enough."""
    m = work.march
    if m.purpose == CONFIRM:
        return float(m.high)
    if m.purpose == SEARCH:
        return next_trial(m, contact, work)
    m.whole = 1 if m.t + m.h * (1.0 + 1e-9) >= m.stop else 0
    if m.whole == 1:
        return float(m.stop - m.t)
    return float(m.h) if m.h > LEAST_STEP * p.drive.period else 0.0


@kernel
def judge(p: Parameters, length: float, error: float, contact: Contact, work: Workspace) -> int:
    """What follows from an attempt of a step that meets the tolerance."""
    m = work.march
    m.step, proposal = length, length * step_factor(error)
    if triggered(work.guard_trial, contact.side):
        m.h = proposal
        return begin_search(p, length, contact, work)
    share = dips(p, length, contact, work)
    if share < 1.0:
        m.h = share * length
        return GO_ON
    # A step cut short by a kink says nothing against the length in use.
    m.h = max(proposal, m.h) if m.whole == 1 else proposal
    return TAKEN


@kernel
def try_once(p: Parameters, c: Control, contact: Contact, work: Workspace) -> int:
    """One attempt, and what it leads to. A step taken has its length in ``march.step``, its end in
    ``work.trial`` and the guards there in ``work.guard_trial``; ``march.h`` is the length to try next."""
    m = work.march
    length = length_of(p, contact, work)
    if length <= 0.0:
        return NO_STEP
    error = attempt(p, c, m.segment, m.t, length, contact, work)
    if m.purpose == TAKE and not error <= 1.0:
        m.h = length * (0.2 if math.isinf(error) else step_factor(error))
        return NO_STEP if m.h <= LEAST_STEP * p.drive.period else GO_ON
    trial_guards(p, m.segment, m.t + length, contact, work)
    if m.purpose == TAKE:
        return judge(p, length, error, contact, work)
    if m.purpose == CONFIRM:
        m.purpose, m.step = TAKE, length
        return ON_EVENT
    return narrow(p, length, contact, work)
