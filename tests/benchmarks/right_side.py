"""The core's own balances as a right-hand side for other solvers: its ``moment`` and ``rates``, called as
they stand, on states that are scaled so that one absolute tolerance does for all.

Nine states: the eight that feed back, and the volume delivered. Two kinds of contact. *Modes*, as in the
core: a ball on its seat or stop stands still there, and whoever integrates has to locate landings and
releases. *Penalty*, for solvers without events: both balls are always free, beyond seat and stop a stiff
damped spring pushes back, and the lift that the balances see ends smoothly just above the seat.
"""

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

from balltravel.core.contact import FREE
from balltravel.core.events import contact_event, guards
from balltravel.core.jit import kernel
from balltravel.core.march import end_of_hold
from balltravel.core.model import (
    DELIVERED,
    INLET_LIFT,
    INLET_SPEED,
    PISTON_LIFT,
    PISTON_SPEED,
    STATES,
    moment,
    rates,
)
from balltravel.core.parameters import Array
from balltravel.core.workspace import Workspace

FEW = STATES + 1
"""States that are integrated here."""


class Spring(NamedTuple):
    """The penalty at one ball: stiffness [N/m], damping [N s/m] with the depth over which it comes [m], and
    the lift that is left [m]."""

    stiffness: float
    damping: float
    skin: float
    rest: float


@dataclass
class Penalty:
    """The penalty at both balls."""

    inlet: Spring
    piston: Spring


@kernel
def beyond(spring: Spring, travel: float, z: float, w: float) -> float:
    """Force of the penalty on a ball [N]: a spring beyond seat or stop, and a damper whole almost at once."""
    if z < 0.0:
        return max(0.0, -z * (spring.stiffness - spring.damping * w / (spring.skin - z)))
    if z > travel:
        deep = z - travel
        return min(0.0, -deep * (spring.stiffness + spring.damping * w / (spring.skin + deep)))
    return 0.0


@kernel
def left(spring: Spring, z: float) -> float:
    """The lift that the balances see: ``z`` in the flow, and a smooth way to nothing where it is below 0."""
    return 0.5 * (z + math.sqrt(z * z + 4.0 * spring.rest * spring.rest))


@kernel
def unscale(problem: Any, u: Array) -> None:
    """States of the core from scaled ones."""
    for i in range(STATES):
        problem.y[i] = u[i] * problem.scale[i]


@kernel
def scaled(problem: Any, out: Array) -> None:
    """Rates of the scaled states."""
    for i in range(STATES):
        out[i] = problem.rates[i] / problem.scale[i]
    out[STATES] = problem.rates[DELIVERED] / problem.scale[STATES]


@kernel
def rates_by_penalty(problem: Any, t: float, u: Array, out: Array) -> None:
    """Rates of the scaled states at ``t`` in the problem's segment, both balls free."""
    p, y, now, of = problem.p, problem.y, problem.now, problem.penalty
    unscale(problem, u)
    inlet, piston = y[INLET_LIFT], y[PISTON_LIFT]
    y[INLET_LIFT], y[PISTON_LIFT] = left(of.inlet, inlet), left(of.piston, piston)
    moment(p, problem.segment[0], t, y, False, now)
    rates(p, now, y, FREE, FREE, problem.rates)
    push = beyond(of.inlet, p.inlet.travel, inlet, y[INLET_SPEED])
    problem.rates[INLET_SPEED] += push / now.inlet.mass
    push = beyond(of.piston, p.piston.travel, piston, y[PISTON_SPEED])
    problem.rates[PISTON_SPEED] += push / now.piston.mass
    scaled(problem, out)


@kernel
def rates_in_mode(problem: Any, t: float, u: Array, out: Array) -> None:
    """Rates of the scaled states at ``t`` in the problem's segment, with its contact modes."""
    inlet, piston = problem.contact.mode[0], problem.contact.mode[1]
    unscale(problem, u)
    moment(problem.p, problem.segment[0], t, problem.y, False, problem.now)
    rates(problem.p, problem.now, problem.y, inlet, piston, problem.rates)
    scaled(problem, out)


@kernel
def guards_in_mode(problem: Any, t: float, u: Array, out: Array) -> None:
    """The core's guards."""
    unscale(problem, u)
    moment(problem.p, problem.segment[0], t, problem.y, False, problem.now)
    guards(problem.p, problem.now, problem.y, problem.contact, out)


@kernel
def put(problem: Any, t: float, u: Array, work: Workspace) -> None:
    """The core's workspace at these states, with no event in its list."""
    work.number[1] = 0
    for i in range(STATES):
        work.y[i] = u[i] * problem.scale[i]
    moment(problem.p, problem.segment[0], t, work.y, True, work.now)


@kernel
def modes_hold_until(problem: Any, t: float, end: float, u: Array, work: Workspace) -> float:
    """Release balls whose hold is over, as the core does; until when the modes hold if nothing happens."""
    put(problem, t, u, work)
    return end_of_hold(t, end, problem.contact, work)


@kernel
def met(problem: Any, t: float, u: Array, guard: int, work: Workspace) -> None:
    """Let a guard of contact that has fallen have the core's effect on states and modes."""
    put(problem, t, u, work)
    contact_event(problem.p, work.now, problem.contact, work, guard, t)
    for i in range(STATES):
        u[i] = work.y[i] / problem.scale[i]
