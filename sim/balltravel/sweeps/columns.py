"""What a batch of cases gives back: one array a number, the whole schema whatever happened to a case."""

import threading
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.core.excursions import SHARE
from balltravel.core.status import Status
from balltravel.cycle.found_rate import find_rate
from balltravel.cycle.metrics import describe, metric_names
from balltravel.cycle.motion import CHECKS
from balltravel.scenario.changes import Sound
from balltravel.scenario.model import Scenario, with_values
from balltravel.scenario.tables import given_keys
from balltravel.setup.cases import CaseMaker, Cases
from balltravel.setup.parameters import MAX_CYCLES, RTOL
from balltravel.setup.runs import run_cases

Columns = dict[str, NDArray[Any]]
"""Name of a column -> its values, one a case in the order of the cases; the names are those of ``schema``."""

_SOUGHT = "tip at pressure"
"""The form of outlet with which the cycle rate is a result."""

FLAGS = ("none", "early", "never_seats", "never_lifts", "no_cycle")
"""What may be odd about a check's ball, as CheckMetrics has it; the last of a failed case."""


def schema() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Name, numpy's type and attributes of every column, in order: all metrics (dots in their names as
    underscores), flags of both balls, and how the case ended."""
    for name in metric_names():
        units, text = describe(name)
        yield name.replace(".", "_"), "f8", {"units": units, "long_name": text}
    for check in CHECKS:
        yield f"{check}_flags", "i1", _coded(FLAGS, f"what is odd about the ball ({check} check)")
    yield "status", "i1", _coded([status.name.lower() for status in Status], "how the case ended")
    for name, text in (
        ("outside_range", "largest share of the cycle that a closure is outside its range"),
        ("scatter", "change of the delivered volume over the last cycle, over swept volume"),
    ):
        yield name, "f8", {"units": "1", "long_name": text}
    yield "cycles", "i4", {"units": "1", "long_name": "cycles until it repeats"}
    yield "error", "O", {"long_name": "what went wrong, in a sentence; empty where nothing did"}


def _coded(meanings: Sequence[str], text: str) -> dict[str, Any]:
    """Attributes of codes and what they mean, by the CF conventions."""
    values = np.arange(len(meanings), dtype=np.int8)
    return {"flag_values": values, "flag_meanings": " ".join(meanings), "long_name": text}


def empty(count: int) -> Columns:
    """Columns of so many cases of which nothing is known yet."""
    columns: Columns = {}
    for name, kind, _ in schema():
        nothing = {"f8": np.nan, "O": ""}.get(kind, 0)
        columns[name] = np.full(count, nothing, kind)
    return columns


class _Makers(threading.local):
    """The last scenario of which a thread has made cases: what can be known of it beforehand is kept."""

    def __init__(self) -> None:
        self.key: object = None
        self.maker: CaseMaker | None = None

    def of(self, scenario: Scenario, rtol: float, max_cycles: int) -> CaseMaker:
        """A maker of cases of a scenario, one that comes from another process among them."""
        key = (scenario.model_dump_json(), given_keys(scenario), rtol, max_cycles)
        if self.maker is None or key != self.key:
            self.key, self.maker = key, CaseMaker(scenario, rtol, max_cycles=max_cycles)
        return self.maker


_MAKERS = _Makers()


def compute(
    scenario: Scenario,
    changes: Sequence[Mapping[str, Any]],
    rtol: float = RTOL,
    device: str = "cpu",
    max_cycles: int = MAX_CYCLES,
) -> Columns:
    """Run a scenario once for each set of changes (dotted key -> SI value), in this thread or on a GPU.

    What happens to one case touches no other: one that fails is nan and says so in ``status`` and ``error``,
    and so is one that meets an error that nobody foresaw. The whole batch is one call of the compiled core,
    but for cases whose cycle rate has to be found.
    """
    columns = empty(len(changes))
    sought = [changed.get("outlet.form", scenario.outlet.form) == _SOUGHT for changed in changes]
    at_once = [i for i, seeks in enumerate(sought) if not seeks]
    if at_once:
        cases = _MAKERS.of(scenario, rtol, max_cycles).make(
            [changes[i] for i in at_once], isinstance(changes, Sound)
        )
        _write_all(cases, run_cases(cases, device), columns, np.array(at_once))
    for i, seeks in enumerate(sought):
        if seeks:
            _run_at_its_rate(scenario, changes[i], rtol, columns, i)
    return columns


def _write_all(cases: Cases, outcomes: NDArray[Any], columns: Columns, places: NDArray[np.int64]) -> None:
    """Write a batch's outcomes into their places."""
    status = outcomes["status"]
    status[list(cases.errors)] = Status.UNFORESEEN
    failed = status > Status.NOT_PERIODIC
    for k, name in enumerate(metric_names()):
        columns[name.replace(".", "_")][places] = np.where(failed, np.nan, outcomes["measures"][:, k])
    for k, check in enumerate(CHECKS):
        columns[f"{check}_flags"][places] = np.where(failed, FLAGS.index("no_cycle"), outcomes["odd"][:, k])
    columns["status"][places], columns["cycles"][places] = status, outcomes["cycles"]
    share = outcomes["ranges"][:, :, SHARE].max(axis=1)
    columns["outside_range"][places] = np.where(failed, np.nan, share)
    columns["scatter"][places] = outcomes["scatter"]
    for case in np.flatnonzero(failed):
        columns["error"][places[case]] = Status(status[case]).advice
    for i, error in cases.errors.items():
        _write_error(error, columns, int(places[i]))


def _run_at_its_rate(
    scenario: Scenario, changed: Mapping[str, Any], rtol: float, columns: Columns, i: int
) -> None:
    """Run a case at the cycle rate that is found for it; one cycle, and failed, where none is."""
    try:
        at_rate, found, _ = find_rate(with_values(scenario, changed))
        cases = CaseMaker(at_rate, rtol, max_cycles=MAX_CYCLES if found else 1).make([{}])
        outcomes = run_cases(cases)
    except Exception as error:  # whatever it is, it is told of and the others go on
        _write_error(error, columns, i)
        return
    if not found:
        outcomes["status"] = Status.RATE_NOT_FOUND
    _write_all(cases, outcomes, columns, np.array([i]))


def _write_error(error: Exception, columns: Columns, i: int) -> None:
    columns["status"][i], columns["error"][i] = Status.UNFORESEEN, f"{type(error).__name__}: {error}"
    columns["scatter"][i], columns["cycles"][i] = np.nan, 0
    columns["inlet_flags"][i] = columns["piston_flags"][i] = FLAGS.index("no_cycle")
