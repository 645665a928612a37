"""A shipped scenario as the problem that all solvers are given: so many cycles from rest, and the volume
delivered in the last of them is asked for.
"""

import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from right_side import FEW, Penalty, Spring

from balltravel.core.cycles import initialise
from balltravel.core.model import DELIVERED, SIZE, STATES, Moment
from balltravel.core.parameters import Array, Check, Parameters
from balltravel.core.records import as_block, as_record
from balltravel.core.workspace import Contact, make_contact, make_workspace
from balltravel.files.read_write import read_scenario
from balltravel.setup.parameters import control_for, core_parameters
from balltravel.setup.runs import run_core

SCENARIOS = Path(__file__).parents[2] / "scenarios"
MATERIALS = ("primer", "mastic", "stain")
"""The shipped scenarios with a Newtonian material."""


class Law(NamedTuple):
    """A penalty: how deep the outlet's pressure on the seat's area presses a ball into the spring, over its
    travel; the depth over which the damper comes, over that (0: whole at once, far above 1: in proportion to
    the depth, whole at that one); and the lift that is left under a ball that touches its seat, over its
    travel."""

    sinks: float
    skin: float
    rest: float


TUNED = Law(1e-3, 1e-4, 1e-4)
"""The penalty of the rivals. Our choice: of the 18 combinations of 1e-2, 1e-3 and 1e-4 (sinks, skin) with
1e-3 and 1e-4 (rest) the one at which numbalsoda is about fastest with primer and stain, of those that
change delivery by less than 1e-4."""


@dataclass
class _Block:
    """What a right-hand side reads and works in, as one piece of memory; ``scale``: of the nine states;
    ``segment``: of the stroke; ``contact``: where it goes by modes."""

    p: Parameters
    penalty: Penalty
    scale: Array
    now: Moment = field(default_factory=Moment)
    y: Array = field(default_factory=lambda: np.zeros(SIZE))
    rates: Array = field(default_factory=lambda: np.zeros(SIZE))
    segment: Any = field(default_factory=lambda: np.zeros(1, np.int64))
    contact: Contact = field(default_factory=make_contact)


@dataclass
class Problem:
    """A lower and its material: parameters, the block of its right-hand side, the scaled states at rest,
    starts of the segments and the end of the last [s], cycles that it takes to repeat, and swept volume
    [m3]."""

    name: str
    p: Parameters
    block: Any
    rest: Array
    clock: Array
    cycles: int
    swept: float

    @property
    def record(self) -> Any:
        """The block as kernels take it."""
        return self.block[0]


def spring_of(check: Check, pressure: float, law: Law) -> Spring:
    """The penalty at a ball, with critical damping; ``pressure`` [Pa] on the seat presses it in."""
    deep = law.sinks * check.travel
    stiffness = pressure * math.pi * check.seat_radius**2 / deep
    damping = 2.0 * math.sqrt(stiffness * (check.ball_mass + check.added_mass))
    return Spring(stiffness, damping * max(1.0, law.skin), law.skin * deep, law.rest * check.travel)


def at_rest(p: Parameters) -> Array:
    """The core's states at rest (24)."""
    work, contact = as_block(make_workspace(1, 1)), as_record(make_contact())
    if not initialise(as_record(p), contact, work[0]):
        raise ValueError("a scenario without a state at rest")
    return np.array(work["y"][0])


def problem_of(name: str, law: Law = TUNED) -> Problem:
    """The problem of a shipped scenario, with a penalty for the solvers that have no events."""
    p = core_parameters(read_scenario(SCENARIOS / f"{name}.toml"))
    control, run = control_for(p), run_core(p)
    scale = np.append(control.scale[:STATES], control.scale[DELIVERED])
    springs = [spring_of(check, p.outlet_pressure, law) for check in (p.inlet, p.piston)]
    block = as_block(_Block(p, Penalty(*springs), scale))
    rest = np.append(at_rest(p)[:STATES], 0.0) / scale
    assert rest.size == FEW
    return Problem(name, p, block, rest, run.clock, run.cycles, p.lower.area * p.drive.stroke)
