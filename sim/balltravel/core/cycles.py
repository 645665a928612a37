"""A run: from rest to a cycle that repeats."""

import math

from balltravel.core.contact import SEATED
from balltravel.core.events import guards, reset_sides
from balltravel.core.integrate import FIRST_STEP
from balltravel.core.jit import kernel
from balltravel.core.march import REPEATS, SEGMENT, advance, begin_cycle, begin_segment
from balltravel.core.model import AIR_ABOVE, AIR_BELOW, PORT, SIZE, STORE, UPPER, X, forget, moment
from balltravel.core.motor import DRIVE, MOTOR_SEGMENTS
from balltravel.core.parameters import NO_MOTOR, Chamber, Control, Parameters
from balltravel.core.status import Status
from balltravel.core.workspace import GUARDS, Contact, Workspace


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
    forget(work.now)
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
    return bool(
        math.isfinite(work.now.port) and math.isfinite(work.now.lower) and math.isfinite(work.now.upper)
    )


@kernel
def start(p: Parameters, work: Workspace, until: int) -> None:
    """Nothing has been run yet, and this is where to stop."""
    m = work.march
    m.until, m.status, m.under_way, m.cycles, m.steps = until, -1, 0, 0, 0
    m.h, m.drift, m.delivered = FIRST_STEP * p.drive.period, math.inf, math.inf


@kernel
def begin(p: Parameters, c: Control, contact: Contact, work: Workspace) -> None:
    """Stand at rest at the beginning of a run of cycles until they repeat, or at its end if it cannot begin;
    whatever contact and workspace were used for before."""
    for k in range(2):
        contact.mode[k], contact.armed[k], contact.hold[k] = SEATED, 1, 0.0
    for k in range(GUARDS):
        contact.side[k] = 1.0
    work.number[0], work.number[1] = 0, 0
    start(p, work, REPEATS)
    if not initialise(p, contact, work):
        work.march.status = Status.NOT_FINITE.value
    elif c.max_cycles < 1:
        work.march.status = Status.NOT_PERIODIC.value
    else:
        begin_cycle(p, work)


@kernel
def run(p: Parameters, c: Control, contact: Contact, work: Workspace) -> tuple[int, int, float]:
    """Run cycles from rest until they repeat, no more than some (``max_cycles``, and LONGEST).

    Returns the status, the number of cycles, a failed one included, and the change of the delivered volume
    over the last one (over swept); rows and events of the last cycle stay in ``work``.
    """
    begin(p, c, contact, work)
    while work.march.status < 0:
        advance(p, c, contact, work)
    return work.march.status, work.march.cycles, work.march.drift


@kernel
def run_stalled(p: Parameters, c: Control, upward: bool, contact: Contact, work: Workspace) -> int:
    """Let a motor push from the middle of the stroke, from rest, for its limit of time or to the end.

    Returns the status, STALLED where the stroke did not end; the rows stay in ``work``.
    """
    segment = DRIVE if upward else MOTOR_SEGMENTS // 2 + DRIVE
    if not initialise(p, contact, work, segment, 0.5 * p.drive.stroke):
        return Status.NOT_FINITE.value
    m = work.march
    start(p, work, SEGMENT)
    work.number[0], work.number[1] = 0, 0
    m.segment, work.clock[segment] = segment, 0.0
    begin_segment(p, work)
    while m.status < 0:
        advance(p, c, contact, work)
    return int(m.status)
