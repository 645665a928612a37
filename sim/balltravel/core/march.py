"""A run from step to step: segments of the stroke, contact, rows and events, cycles until they repeat.

``advance`` makes one pass: it begins a step where none is under way, makes one attempt, and lets a step that
is taken have its effects.
"""

from balltravel.core.contact import FREE, SEATED
from balltravel.core.events import (
    FIRST_MONITOR,
    TRIP,
    Event,
    contact_event,
    guards,
    let_go,
    monitor_event,
    to_go,
)
from balltravel.core.integrate import (
    FIRST_STEP,
    GO_ON,
    LARGEST_STEP,
    NO_STEP,
    ON_EVENT,
    TAKE,
    differentiate,
    look,
    try_once,
)
from balltravel.core.jit import kernel
from balltravel.core.model import (
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
    V,
    X,
)
from balltravel.core.motor import BRAKE, DRIVE, HELD, MOTOR_SEGMENTS, REST, left_of, phase_of
from balltravel.core.parameters import NO_MOTOR, Array, Control, Parameters, pieces
from balltravel.core.recording import events_of, record, rows_of
from balltravel.core.rosenbrock import assign
from balltravel.core.status import Status
from balltravel.core.workspace import MOST_EVENTS, MOST_ROWS, Contact, March, Workspace

LONGEST = 25
"""Steps of a run at most, over the rows that a cycle may have: after the cycle in which it passes them a run
ends as one that does not repeat (our choice; a million steps take some ten seconds)."""

CHATTER = 500
"""Contacts in a cycle of which a run that has no rows left says that a ball chatters (our choice: balls that
bounce until they rest make some hundred)."""

REPEATS, CYCLE, SEGMENT = 0, 1, 2
"""What a run goes on until: a cycle that repeats, the end of a cycle, the end of a segment."""


@kernel
def fail(m: March, status: int) -> None:
    """The run ends within a cycle, which counts as one."""
    m.status = status
    m.cycles += 1


@kernel
def at_hand(p: Parameters, work: Workspace) -> None:
    """See to it that ``work.now`` is the present instant."""
    m = work.march
    if m.seen == 0:
        look(p, m.segment, m.t, work.y, work)
        m.seen = 1


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
def keep_row(p: Parameters, contact: Contact, work: Workspace) -> None:
    """Record the present instant."""
    at_hand(p, work)
    if work.number[0] < MOST_ROWS:
        row = rows_of(work.rows)[work.number[0]]
        record(p, row, work.march.t, work.now, work.y, contact.mode[0], contact.mode[1])
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
def end_of(p: Parameters, segment: int, t: float, work: Workspace) -> float:
    """When a segment that begins at ``t`` ends; that of a stroke in which a motor drives, at the latest. With
    a motor's brake, the deceleration that brings the piston to rest at the end of its stroke."""
    if p.motor.kind == NO_MOTOR:
        return float(pieces(p.drive.start)[segment + 1])
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
def begin_segment(p: Parameters, work: Workspace) -> None:
    """Stand at the beginning of a segment, whose time is in ``work.clock``."""
    m = work.march
    m.t, m.seen = work.clock[m.segment], 0
    m.end = end_of(p, m.segment, m.t, work)
    at_hand(p, work)
    # A piston may be free as soon as the valve has begun to shift.
    m.tripped = 1 if work.now.held == 1.0 and to_go(p, work.now) < 0.0 else 0


@kernel
def begin_cycle(p: Parameters, work: Workspace) -> None:
    """Stand at bottom dead centre, with no row, event or volume yet."""
    work.number[0], work.number[1] = 0, 0
    for i in range(WHOLE, SIZE):
        work.y[i] = 0.0
    assign(work.y_start, work.y)
    work.march.segment, work.clock[0] = 0, 0.0
    begin_segment(p, work)


@kernel
def end_segment(p: Parameters, work: Workspace) -> None:
    """Set the clock; a piston that has braked stands, round-off aside."""
    m = work.march
    work.clock[m.segment + 1] = m.t
    if p.motor.kind == NO_MOTOR:
        return
    if phase_of(m.segment) == BRAKE:
        work.y[V] = 0.0
    if phase_of(m.segment) in (HELD, DRIVE) and m.tripped == 0:
        fail(m, Status.STALLED.value)
    m.h = min(m.h, FIRST_STEP * p.drive.period)


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
def end_cycle(p: Parameters, c: Control, contact: Contact, work: Workspace) -> None:
    """Keep the last row, and see whether the cycle repeats or the run is long enough."""
    m = work.march
    period = work.clock[p.drive.segments]
    keep_row(p, contact, work)
    contact.hold[0] -= period
    contact.hold[1] -= period
    m.cycles += 1
    m.drift = abs(work.y[DELIVERED] - m.delivered) / (p.lower.area * p.drive.stroke)
    m.delivered = work.y[DELIVERED]
    m.steps += work.number[0]
    settled = change(p, c, work.y_start, work.y) <= 1000.0 * c.periodic_tolerance
    if settled and m.drift <= c.periodic_tolerance:
        m.status = Status.OK.value
    elif m.cycles >= c.max_cycles or m.steps >= LONGEST * c.most_rows:
        m.status = Status.NOT_PERIODIC.value


@kernel
def go_on(p: Parameters, c: Control, contact: Contact, work: Workspace) -> None:
    """A segment is over: on to the next, in the next cycle if it was the last."""
    m = work.march
    end_segment(p, work)
    if m.status >= 0:
        return
    if m.until == SEGMENT:
        m.status = Status.OK.value
    elif m.segment + 1 < p.drive.segments:
        m.segment += 1
        begin_segment(p, work)
    else:
        m.seen = 0
        end_cycle(p, c, contact, work)
        if m.until == CYCLE:
            m.status = Status.OK.value
        elif m.status < 0:
            begin_cycle(p, work)


@kernel
def chatters(work: Workspace) -> bool:
    """Whether balls met seat or stop so often in the cycle in hand that this is what its rows are of."""
    contacts = 0
    for i in range(min(work.number[1], MOST_EVENTS)):
        kind = events_of(work.events)[i][0]
        if kind == Event.BOUNCED_ON_SEAT.value or kind == Event.BOUNCED_ON_STOP.value:
            contacts += 1
    return contacts >= CHATTER


@kernel
def begin_step(p: Parameters, c: Control, contact: Contact, work: Workspace) -> None:
    """Keep the row at the beginning of a step, and all that its attempts start from."""
    m = work.march
    at_hand(p, work)
    m.stop = end_of_hold(m.t, m.end, contact, work)
    keep_row(p, contact, work)
    if work.number[0] >= min(c.most_rows, MOST_ROWS - 1):
        fail(m, Status.TOO_MANY_EVENTS.value if chatters(work) else Status.TOO_MANY_STEPS.value)
    elif drawn_empty(p, work):
        fail(m, Status.DRAWN_EMPTY.value)
    elif work.number[1] >= MOST_EVENTS:
        fail(m, Status.TOO_MANY_EVENTS.value)
    differentiate(p, contact, work)
    guards(p, work.now, work.y, contact, work.guard)
    m.h, m.purpose, m.under_way = min(m.h, LARGEST_STEP * p.drive.period), TAKE, 1


@kernel
def settle(p: Parameters, onto_event: bool, contact: Contact, work: Workspace) -> None:
    """Take a step, and let what it has met have its effect."""
    m = work.march
    reached = m.t + m.step
    # The trial's guards were looked at there, if it is not rounded off.
    m.seen = 1 if reached < m.stop else 0
    m.t = m.stop if reached >= m.stop else reached
    m.under_way = 0
    assign(work.y, work.trial)
    if not onto_event:
        return
    keep_row(p, contact, work)
    before = contact.mode[0] + 3 * contact.mode[1]
    m.tripped = 1 if work.guard_trial[TRIP] < 0.0 else 0
    respond(p, m.segment, m.t, contact, work)
    m.seen = 1
    if contact.mode[0] + 3 * contact.mode[1] != before:
        m.h = min(m.h, FIRST_STEP * p.drive.period)


@kernel
def make_ready(p: Parameters, c: Control, contact: Contact, work: Workspace) -> None:
    """What comes before an attempt: where no step is under way one begins, or the run is over."""
    m = work.march
    if m.under_way == 0:
        while m.status < 0 and (m.t >= m.end or m.tripped == 1):
            go_on(p, c, contact, work)
        if m.status < 0:
            begin_step(p, c, contact, work)


@kernel
def step_on(p: Parameters, c: Control, contact: Contact, work: Workspace) -> None:
    """One attempt of the step under way, and its effects."""
    outcome = try_once(p, c, contact, work)
    if outcome == NO_STEP:
        fail(work.march, Status.STEP_TOO_SMALL.value)
    elif outcome != GO_ON:
        settle(p, outcome == ON_EVENT, contact, work)


@kernel
def advance(p: Parameters, c: Control, contact: Contact, work: Workspace) -> None:
    """One pass of a run: one attempt of a step, with what comes before and after it. ``march.status`` tells
    when the run is over."""
    make_ready(p, c, contact, work)
    if work.march.status < 0:
        step_on(p, c, contact, work)
