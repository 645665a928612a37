"""The contenders: each runs a problem's cycles from rest at a tolerance and says what the last one delivers.

A contender is made ready first, compiled and warmed up; what is timed is the integration alone. Each begins
anew at the stroke's kinks, which are known beforehand; none but our own is given exact derivatives.
"""

from collections.abc import Callable
from functools import cache, partial
from typing import Any, NamedTuple

import numba
import numpy as np
from by_address import address_of, from_c, from_python
from problem import Problem
from right_side import FEW, guards_in_mode, met, modes_hold_until, rates_by_penalty, rates_in_mode
from scipy.integrate import solve_ivp

from balltravel.core.contact import FREE
from balltravel.core.cycles import run
from balltravel.core.events import FIRST_MONITOR, HIGH
from balltravel.core.records import as_block, as_record
from balltravel.core.status import Status
from balltravel.core.workspace import GUARDS, MOST_ROWS, make_contact, make_workspace
from balltravel.setup.parameters import control_for

try:
    from numbalsoda import lsoda
except ImportError:
    lsoda = None

EVENTS, PENALTY = "events", "penalty"
MOST_STEPS, MOST_PIECES, MOST_CALLS = 1_000_000, 10_000, 2_000_000
"""Where a solver gives up: steps of numbalsoda in a segment, pieces of a segment between events, calls of the
right-hand side by scipy in a case."""

Ready = Callable[[], float]
"""Runs the case; the volume delivered in the last cycle, over swept; nan where the solver gives up."""


class Contender(NamedTuple):
    """A solver and a kind of contact."""

    name: str
    contact: str
    ready: Callable[[Problem, float], Ready]

    @property
    def label(self) -> str:
        """What it is called in a table."""
        return f"{self.name}, {self.contact}"


@cache
def _room() -> tuple[Any, Any]:
    """A workspace, as the arrays and as a block that has handles of them."""
    arrays = make_workspace()
    return arrays, as_block(arrays)


def own(problem: Problem, tolerance: float) -> Ready:
    """This engine, with the rows and events that it keeps; no metrics."""
    control = control_for(problem.p, tolerance, problem.cycles, MOST_ROWS)._replace(periodic_tolerance=-1.0)
    given = as_record(problem.p), as_record(control), as_record(make_contact())
    _, block = _room()

    def case() -> float:
        status, cycles, _ = run(*given, block[0])
        if status != Status.NOT_PERIODIC or cycles != problem.cycles:
            return np.nan
        return float(block["march"]["delivered"][0] / problem.swept)

    return case


def delivered(problem: Problem, u: Any) -> float:
    """The volume of the last cycle, over swept, from the scaled states at its end."""
    return float(u[FEW - 1] * problem.block["scale"][0, FEW - 1] / problem.swept)


@cache
def _compiled_lsoda(kind: np.dtype[Any]) -> Any:
    """A whole case by numbalsoda without Python in it, and the right-hand side that it is given."""
    rates = from_c(rates_by_penalty, kind, FEW)

    @numba.njit(nogil=True, error_model="numpy")
    def case(
        function: int, block: Any, data: Any, rest: Any, clock: Any, cycles: int, tolerance: float
    ) -> Any:
        u, ends = rest.copy(), np.empty(2)
        for _ in range(cycles):
            u[FEW - 1] = 0.0
            for segment in range(clock.size - 1):
                block[0].segment[0] = segment
                ends[0], ends[1] = clock[segment], clock[segment + 1]
                reached, fine = lsoda(function, u, ends, data, tolerance, tolerance, MOST_STEPS)
                if not fine:
                    return u * np.nan
                u[:] = reached[1]
        return u

    return case, rates


def compiled_lsoda(problem: Problem, tolerance: float) -> Ready:
    """numbalsoda's LSODA: contact by penalty, for it has no events."""
    case, rates = _compiled_lsoda(problem.block.dtype)
    block = problem.block.view(np.ndarray)
    data = block.view(np.float64)
    given = rates.address, block, data, problem.rest, problem.clock, problem.cycles, tolerance
    return lambda: delivered(problem, case(*given))


@cache
def _from_python(kernel: Any, kind: np.dtype[Any]) -> Any:
    return from_python(kernel, kind)


class GivesUpError(Exception):
    """A case that takes too many calls."""


class _Function:
    """What scipy calls: a compiled kernel of a block, handed over by its address, or as it stands."""

    def __init__(self, kernel: Any, block: Any, size: int, by_address: bool = True) -> None:
        self._call = _from_python(kernel, block.dtype) if by_address else kernel
        self._given, self._size = address_of(block) if by_address else block[0], size
        self.calls = 0

    def __call__(self, t: float, u: Any) -> Any:
        self.calls += 1
        if self.calls > MOST_CALLS:
            raise GivesUpError
        out = np.empty(self._size)
        self._call(self._given, t, u, out)
        return out


def scipy_by_penalty(method: str, problem: Problem, tolerance: float, by_address: bool = True) -> Ready:
    """scipy's solve_ivp with the jitted right-hand side, contact by penalty."""
    block, clock = problem.block, problem.clock
    function = _Function(rates_by_penalty, block, FEW, by_address)

    def case() -> float:
        function.calls = 0
        u = problem.rest.copy()
        for _ in range(problem.cycles):
            u[FEW - 1] = 0.0
            for segment in range(clock.size - 1):
                block["segment"][0, 0] = segment
                span = clock[segment], clock[segment + 1]
                solved = solve_ivp(function, span, u, method=method, rtol=tolerance, atol=tolerance)
                if not solved.success:
                    return np.nan
                u = solved.y[:, -1].copy()
        return delivered(problem, u)

    return case


class _ByEvents:
    """scipy's solve_ivp from event to event; what happens there is what the core lets happen."""

    def __init__(self, method: str, problem: Problem, tolerance: float) -> None:
        self._problem, self._block = problem, problem.block
        self._solve = partial(solve_ivp, method=method, rtol=tolerance, atol=tolerance)
        self._rates = _Function(rates_in_mode, self._block, FEW)
        self._guards = _Function(guards_in_mode, self._block, GUARDS)
        self._events = [self._event(guard) for guard in range(FIRST_MONITOR)]

    def _event(self, guard: int) -> Any:
        guards = self._guards

        def event(t: float, u: Any) -> float:
            return float(guards(t, u)[guard])

        event.terminal, event.direction = True, -1.0  # type: ignore[attr-defined]
        return event

    def __call__(self) -> float:
        problem, contact = self._problem, self._block["contact"]
        contact["mode"], contact["armed"], contact["hold"], contact["side"] = 0, 1, 0.0, 1.0
        self._rates.calls = self._guards.calls = 0
        u = problem.rest.copy()
        for _ in range(problem.cycles):
            u[FEW - 1] = 0.0
            for segment in range(problem.clock.size - 1):
                u = self._segment(segment, u)
            contact["hold"] -= problem.clock[-1]
        return delivered(problem, u)

    def _segment(self, segment: int, u: Any) -> Any:
        t, end = self._problem.clock[segment : segment + 2]
        self._block["segment"][0, 0] = segment
        for _ in range(MOST_PIECES):
            if t >= end:
                return u
            t, u = self._piece(float(t), float(end), u)
        return u * np.nan

    def _piece(self, t: float, end: float, u: Any) -> tuple[float, Any]:
        """On to the next event, or to where a hold or the segment ends."""
        record, (_, room) = self._problem.record, _room()
        stop = modes_hold_until(record, t, end, u, room[0])
        # A guard that is past zero from the start would not be seen to fall.
        for guard in np.flatnonzero(self._guards(t, u)[:FIRST_MONITOR] < 0.0):
            met(record, t, u, int(guard), room[0])
        modes = self._block["contact"]["mode"][0]
        # A ball at rest has one guard, a free one two: seat and stop.
        asked = [guard for guard in range(FIRST_MONITOR) if guard < HIGH or modes[guard % 2] == FREE]
        solved = self._solve(self._rates, (t, stop), u, events=[self._events[guard] for guard in asked])
        if not solved.success:
            return end, u * np.nan
        t, u = float(solved.t[-1]), solved.y[:, -1].copy()
        for guard, times in zip(asked, solved.t_events, strict=True):
            if times.size:
                met(record, t, u, guard, room[0])
        return t, u


def scipy_by_events(method: str, problem: Problem, tolerance: float) -> Ready:
    """scipy's solve_ivp with the jitted right-hand side, contact by its events."""
    return _ByEvents(method, problem, tolerance)


OWN = Contender("this engine", EVENTS, own)


def contenders() -> list[Contender]:
    """Our own engine first, then all that can be imported."""
    listed = [OWN]
    if lsoda is not None:
        listed.append(Contender("numbalsoda LSODA", PENALTY, compiled_lsoda))
    for method in ("LSODA", "Radau"):
        listed.append(Contender(f"scipy {method}", PENALTY, partial(scipy_by_penalty, method)))
        listed.append(Contender(f"scipy {method}", EVENTS, partial(scipy_by_events, method)))
    return listed
