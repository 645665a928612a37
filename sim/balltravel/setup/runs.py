"""The compiled core, run: parameters in, rows and events out."""

import threading
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.batch import make_outcome, run_batch
from balltravel.core.cycles import run_stalled
from balltravel.core.excursions import NO_RANGES
from balltravel.core.measures import MEASURES
from balltravel.core.parameters import Array, Control, Parameters
from balltravel.core.readings import mean_of
from balltravel.core.records import as_block, as_record, handles_in
from balltravel.core.status import Status
from balltravel.core.workspace import MOST_EVENTS, MOST_ROWS, make_contact, make_workspace
from balltravel.scenario.arguments import Number
from balltravel.setup.cases import Cases
from balltravel.setup.parameters import control_for

TOLERANCE = Number("rtol", 1e-9, 1e-3, "1e-6", whole=False)
CYCLES = Number("max_cycles", 1, 10_000, "30")
STEPS = Number("most_steps", 1, MOST_ROWS, "40000")
"""What a user may ask of the integration: relative tolerance, cycles at most, steps of a cycle at most."""


class Run(NamedTuple):
    """What the core gives back: status, cycles run, change of delivery over the last, rows and events, when
    the last cycle's segments began and the last of them ended [s]; and what it has measured of it
    (``core.measures``): numbers, and what is odd about each ball."""

    status: Status
    cycles: int
    delivered_change: float
    rows: Array
    events: Array
    clock: Array
    measures: Array = np.full(MEASURES, np.nan)
    flags: NDArray[np.int64] = np.zeros(2, np.int64)


class _Room(threading.local):
    """A workspace for the runs of a thread, one after the other: its rows are 60 MB, of which a run touches
    a few."""

    def __init__(self) -> None:
        self.arrays = make_workspace()
        # As an array of one, whose large fields are looked at where they lie: a record's attributes copy.
        self.block = as_block(self.arrays)


_ROOM = _Room()
_NO_OUTCOME = as_block(make_outcome())
_NO_RANGES = as_record(NO_RANGES)


def run_core(p: Parameters, control: Control | None = None) -> Run:
    """Run the core to a periodic cycle."""
    c = control or control_for(p)
    work, arrays, outcomes = _ROOM.block, _ROOM.arrays, _no_outcomes(1)
    # Records keep the tables that their copies in the arrays have handles of.
    of_case, how = as_record(p), as_record(c)
    arrays_of_one = _array_of(of_case), _array_of(how), _array_of(_NO_RANGES)
    run_batch(*arrays_of_one, as_record(make_contact()), work[0], outcomes)
    out = outcomes[0]
    rows = arrays.rows[: min(out["rows"], MOST_ROWS)].copy()
    events = arrays.events[: min(out["events"], MOST_EVENTS)].copy()
    clock = work["clock"][0, : p.drive.segments + 1].copy()
    status, cycles, change = Status(out["status"]), int(out["cycles"]), float(out["scatter"])
    return Run(status, cycles, change, rows, events, clock, out["measures"].copy(), out["odd"].copy())


def _array_of(record: Any) -> NDArray[Any]:
    block = np.empty(1, record.dtype)
    block[0] = record
    return block


def run_cases(cases: Cases, device: str = "cpu") -> NDArray[Any]:
    """Run a batch of cases, in this thread without Python between them or on a GPU; an array of records of
    Outcome. Raises NoGpuError where no GPU can be used."""
    outcomes = _no_outcomes(len(cases.parameters))
    if device == "cpu":
        _run(cases, outcomes)
        return outcomes
    from balltravel.core.device import run_batch as run_on_gpu

    left = run_on_gpu(
        cases.parameters, cases.control, cases.ranges, partial(handles_in, value=cases.like), outcomes
    )
    if left.any():
        few = cases._replace(
            parameters=cases.parameters[left], control=cases.control[left], ranges=cases.ranges[left]
        )
        again = _no_outcomes(int(left.sum()))
        _run(few, again)
        outcomes[left] = again
    return outcomes


def _no_outcomes(count: int) -> NDArray[Any]:
    outcomes = np.empty(count, dtype=_NO_OUTCOME.dtype)
    outcomes[:] = _NO_OUTCOME
    return outcomes


def _run(cases: Cases, outcomes: NDArray[Any]) -> None:
    contact, work = as_record(make_contact()), _ROOM.block[0]
    run_batch(cases.parameters, cases.control, cases.ranges, contact, work, outcomes)


def run_stall(p: Parameters, upward: bool, control: Control | None = None) -> tuple[Status, Array]:
    """Let the motor push from the middle of a stroke; how that ended, and the rows."""
    c = control or control_for(p, most_steps=MOST_ROWS)
    work = _ROOM.block
    status = run_stalled(as_record(p), as_record(c), upward, as_record(make_contact()), work[0])
    return Status(status), _ROOM.arrays.rows[: min(work["number"][0, 0], MOST_ROWS)].copy()


def mean_over(time: Array, values: Array) -> float:
    """Mean over time of values at the ends of steps."""
    return mean_of(np.stack([time, values], 1), len(time), 1)
