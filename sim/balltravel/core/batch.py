"""Many cases one after the other, with nothing of them kept but their numbers."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.core.cycles import run
from balltravel.core.excursions import SHARE, USES, Ranges, excursions
from balltravel.core.jit import kernel
from balltravel.core.measures import MEASURES, measure
from balltravel.core.parameters import Array, Parameters
from balltravel.core.readings import sizes_of
from balltravel.core.recording import events_of, rows_of
from balltravel.core.status import Status
from balltravel.core.workspace import MOST_EVENTS, Contact, Workspace


@dataclass
class Outcome:
    """How a case ended: status, cycles run, steps in all, rows and events of the last cycle, the change of
    delivery over it (over swept); unless it failed its metrics (``core.measures``), what is odd about each
    ball (``core.check_measures``), and each use of a closure held against its range
    (``core.excursions``), shape (USES, 3)."""

    status: int
    cycles: int
    steps: int
    rows: int
    events: int
    scatter: float
    measures: Array
    odd: NDArray[np.int64]
    ranges: Array


def make_outcome() -> Outcome:
    """A case of which nothing is known."""
    nothing = np.full((USES, 3), np.nan)
    nothing[:, SHARE] = 0.0
    return Outcome(0, 0, 0, 0, 0, np.nan, np.full(MEASURES, np.nan), np.zeros(2, np.int64), nothing)


@kernel
def conclude(p: Parameters, ranges: Ranges, work: Workspace, out: Outcome) -> None:
    """What a run that is over says, into ``out``; the numbers of a failed one stay what they are."""
    m = work.march
    out.status, out.cycles, out.scatter = m.status, m.cycles, m.drift
    out.rows, out.events = work.number[0], min(work.number[1], MOST_EVENTS)
    out.steps = m.cycles * work.number[0]
    if m.status > Status.NOT_PERIODIC.value or m.cycles == 0:
        return
    rows, events = rows_of(work.rows), events_of(work.events)
    sizes_of(p, work.clock, work.sizes)
    measure(work.sizes, rows, out.rows, events, out.events, out.measures, out.odd)
    excursions(p, ranges, rows, out.rows, False, work.mask, out.ranges)


@kernel
def run_batch(
    parameters: NDArray[Any],
    control: NDArray[Any],
    ranges: NDArray[Any],
    contact: Contact,
    work: Workspace,
    outcomes: NDArray[Any],
) -> None:
    """Run cases, arrays of records of Parameters, Control and Ranges, into as many of Outcome."""
    for i in range(outcomes.shape[0]):
        run(parameters[i], control[i], contact, work)
        conclude(parameters[i], ranges[i], work, outcomes[i])
