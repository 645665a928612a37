"""Events: guards whose fall through zero ends a step, and what happens then (M7).

Two guards a ball move it between its modes; the others (flow through each check, outflow, pressure of the
lower chamber against the atmosphere, the gap at which landings are reported) only mark an instant.
"""

import math
from enum import IntEnum

from balltravel.core.contact import FREE, ON_STOP, SEATED, rebound_speed
from balltravel.core.jit import kernel
from balltravel.core.model import INLET_LIFT, Moment
from balltravel.core.motor import braking, left_of
from balltravel.core.parameters import Array, Check, Parameters
from balltravel.core.recording import events_of
from balltravel.core.rheology import viscosity
from balltravel.core.workspace import GUARDS, MOST_EVENTS, Contact, Workspace

LOW, HIGH, FLOW, OUTFLOW, PRESSURE, GAP, TRIP = 0, 2, 4, 6, 7, 8, 10
FIRST_MONITOR = FLOW

# A hold after a landing, as a share of the cycle: 0.1 ms at 30 cycles/min.
HOLD = 5e-5
TOUCH = 1e-13

# Half-widths of the bands within which a sign is not looked at: of the mean flow, of barometric pressure
# (our choice: far above round-off, far below what a result shows).
FLOW_BAND, PRESSURE_BAND = 1e-6, 1e-4


class Event(IntEnum):
    """What an entry of the event list tells; ``check`` in the list is 0 for inlet, 1 for piston."""

    SEATED = 0
    STOPPED = 1
    RELEASED = 2
    PULLED_OFF = 3
    BOUNCED_ON_SEAT = 4
    BOUNCED_ON_STOP = 5
    FLOW_TURNED = 6
    OUTFLOW_TURNED = 7
    PRESSURE_CROSSED = 8
    GAP_CROSSED = 9


@kernel
def to_go(p: Parameters, n: Moment) -> float:
    """Way that a driven piston has before it must brake [m], or the force that holds one that is held, over
    the motor's at its stall, in strokes [m] (M1b)."""
    if n.held == 1.0:
        whole = p.motor.area * (p.motor.supply - p.reference_pressure)
        return -n.up * n.balance * p.motor.mass / whole * p.drive.stroke
    left = left_of(p.drive.stroke, n.up > 0.0, n.x)
    return left - braking(p.motor, p.drive.stroke, n.up * n.v)


@kernel
def guards(p: Parameters, n: Moment, y: Array, contact: Contact, out: Array) -> None:
    """Values of all guards into ``out`` (11), each on its side of zero until its event.

    Flows and the chamber's pressure have bands about zero: what stays within is noise, not a change of sign.
    """
    band = FLOW_BAND * p.lower.area * p.drive.stroke / p.drive.period
    for k in range(2):
        check = p.inlet if k == 0 else p.piston
        z = y[INLET_LIFT + 2 * k]
        mode = contact.mode[k]
        out[HIGH + k] = 1.0
        if mode == FREE:
            out[LOW + k] = z + TOUCH * check.seat_radius
            out[HIGH + k] = check.travel - z + TOUCH * check.seat_radius
        else:
            net = n.inlet.force if k == 0 else n.piston.force
            holding = -net if mode == SEATED else net
            out[LOW + k] = holding if contact.armed[k] == 1 else -holding
        flow = n.inlet.law.flow if k == 0 else n.piston.law.flow
        out[FLOW + k] = flow + contact.side[FLOW + k] * band if mode != SEATED else 1.0
        out[GAP + k] = z - check.landing_gap
    out[OUTFLOW] = n.outflow + contact.side[OUTFLOW] * band
    out[PRESSURE] = n.lower - p.reference_pressure * (1.0 - contact.side[PRESSURE] * PRESSURE_BAND)
    out[TRIP] = to_go(p, n) if n.driven == 1.0 or n.held == 1.0 else 1.0


@kernel
def reset_sides(guard: Array, side: Array) -> None:
    """Take the guards' present signs as those to be left; the contact guards always fall from above."""
    for k in range(GUARDS):
        side[k] = 1.0 if k < FIRST_MONITOR or k == TRIP or guard[k] >= 0.0 else -1.0


@kernel
def triggered(guard: Array, side: Array) -> bool:
    """Whether any guard is past zero."""
    past = False
    for k in range(GUARDS):
        past = past or side[k] * guard[k] < 0.0
    return past


@kernel
def set_tolerances(p: Parameters, contact: Contact, out: Array) -> None:
    """How near to zero each guard is to be met; mode by mode, since the guards change their kind."""
    flow = 1e-9 * p.lower.area * p.drive.stroke / p.drive.period
    for k in range(2):
        check = p.inlet if k == 0 else p.piston
        distance = 1e-10 * check.travel
        force = 1e-9 * math.pi * check.seat_radius**2 * p.reference_pressure
        out[LOW + k] = distance if contact.mode[k] == FREE else force
        out[HIGH + k] = distance
        out[FLOW + k] = flow
        out[GAP + k] = distance
    out[OUTFLOW] = flow
    out[PRESSURE] = 1e-6 * p.reference_pressure
    out[TRIP] = 1e-11 * p.drive.stroke


@kernel
def log_event(work: Workspace, kind: int, check: int, t: float, value: float) -> None:
    """Append to the event list; beyond its end only the count goes on, which ends the run."""
    i = work.number[1]
    if i < MOST_EVENTS:
        event = events_of(work.events)[i]
        event[0], event[1], event[2], event[3] = kind, check, t, value
    work.number[1] = i + 1


@kernel
def rest(contact: Contact, k: int, mode: int, net: float, t: float, period: float) -> None:
    """Put a ball to rest on seat or stop; its release is armed if the net force holds it there."""
    contact.mode[k] = mode
    holds = net <= 0.0 if mode == SEATED else net >= 0.0
    contact.armed[k] = 1 if holds else 0
    contact.hold[k] = t + HOLD * period


@kernel
def land(p: Parameters, n: Moment, contact: Contact, work: Workspace, k: int, high: bool, t: float) -> None:
    """A ball meets its seat or (``high``) its stop: it bounces or comes to rest."""
    check: Check = p.inlet if k == 0 else p.piston
    z, w = INLET_LIFT + 2 * k, INLET_LIFT + 2 * k + 1
    y = work.y
    y[z] = check.travel if high else 0.0
    speed = abs(y[w])
    mu = viscosity(p.material.rheology, speed / check.seat_radius)
    back = rebound_speed(check, mu, speed)
    if back > 0.0:
        y[w] = -back if high else back
        log_event(work, Event.BOUNCED_ON_STOP.value if high else Event.BOUNCED_ON_SEAT.value, k, t, speed)
        return
    y[w] = 0.0
    force = n.inlet.force if k == 0 else n.piston.force
    rest(contact, k, ON_STOP if high else SEATED, force, t, p.drive.period)
    log_event(work, Event.STOPPED.value if high else Event.SEATED.value, k, t, speed)
    if not high:
        contact.side[FLOW + k] = 1.0


@kernel
def let_go(contact: Contact, work: Workspace, k: int, t: float) -> None:
    """A ball leaves its seat or stop."""
    from_seat = contact.mode[k] == SEATED
    contact.mode[k] = FREE
    if from_seat:
        contact.side[FLOW + k] = 1.0
    log_event(work, Event.RELEASED.value if from_seat else Event.PULLED_OFF.value, k, t, 0.0)


@kernel
def contact_event(p: Parameters, n: Moment, contact: Contact, work: Workspace, guard: int, t: float) -> None:
    """A contact guard has fallen: landing, arming or release."""
    k = guard % 2
    if contact.mode[k] == FREE:
        land(p, n, contact, work, k, guard >= HIGH, t)
    elif contact.armed[k] == 1:
        let_go(contact, work, k, t)
    else:
        contact.armed[k] = 1


@kernel
def monitor_event(contact: Contact, work: Workspace, guard: int, t: float) -> None:
    """Mark an instant and look for the way back; the value is the sign after it, or the ball's speed."""
    contact.side[guard] = -contact.side[guard]
    after = contact.side[guard]
    if guard >= GAP:
        k = guard - GAP
        log_event(work, Event.GAP_CROSSED.value, k, t, work.y[INLET_LIFT + 2 * k + 1])
    elif guard == PRESSURE:
        log_event(work, Event.PRESSURE_CROSSED.value, 0, t, after)
    elif guard == OUTFLOW:
        log_event(work, Event.OUTFLOW_TURNED.value, 0, t, after)
    else:
        log_event(work, Event.FLOW_TURNED.value, guard - FLOW, t, after)
