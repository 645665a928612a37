"""What is expected of readings where unknowns have other values: runs of each situation, none made twice."""

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np

from balltravel.bench.calibrate.fall import FALL, FALL_SIGN, fall_time
from balltravel.bench.calibrate.posterior import SHOWS, Array
from balltravel.bench.calibrate.unknowns import Unknowns
from balltravel.bench.fit import Row, rows_of
from balltravel.bench.observed import Observations
from balltravel.bench.runs import can_be
from balltravel.bench.signs import SIGNS, STALL_SIGNS, Sign, run_cycles, run_stalls
from balltravel.estimate.suction_losses import outlet_load
from balltravel.scenario.model import Scenario, with_values
from balltravel.sweeps.cases import Progress

STALL = "stall"

HARDLY = 0.25 * SHOWS
"""By how many errors of reading an unknown must move one of a situation to be varied there (our choice)."""

Run = Callable[[Sequence[Mapping[str, Any]], Any], Mapping[str, Array]]
"""Changes of a scenario, and whom to tell how far it is, to signs [SI], one array each."""


def readings_of(observed: Observations, stroke: float) -> list[Row]:
    """All readings of a file but those of good days; ``stroke`` [m] turns times of creep into speeds."""
    rows = [row for row in rows_of(observed, stroke) if not row.good]
    if observed.ball_fall:
        rows.append(Row(FALL, FALL, False, math.log(observed.ball_fall["time"]), FALL_SIGN.sd, 0.0))
    return rows


def sign_of(key: str) -> Sign:
    """The sign of a reading."""
    return FALL_SIGN if key == FALL else SIGNS[key]


class Count:
    """How many runs are done, told with how many there will be about: nobody knows before."""

    def __init__(self, progress: Progress | None, about: int) -> None:
        self._progress, self._about, self.done = progress, about, 0

    def begin(self) -> None:
        """None is done yet."""
        if self._progress is not None:
            self._progress(0, self._about)

    def batch(self, size: int) -> Progress | None:
        """Whom to tell of further runs, so many."""
        before, self.done = self.done, self.done + size
        return None if self._progress is None else lambda done, _: self._tell(before + done)

    def _tell(self, done: int) -> None:
        assert self._progress is not None
        self._progress(done, max(self._about, done + 1))

    def finish(self) -> None:
        """There are no more."""
        if self._progress is not None:
            self._progress(self.done, self.done)


class Bench:
    """The runs of a scenario in each situation of a file of observations, all counted in ``count``."""

    def __init__(
        self,
        unknowns: Unknowns,
        observed: Observations,
        workers: int | None = None,
        count: Count | None = None,
    ) -> None:
        self.unknowns, self.count = unknowns, count or Count(None, 0)
        scenario = unknowns.scenario
        self.stall_pressure = observed.stall_pressure or max(outlet_load(scenario), 1e5)
        self._runs: dict[str, tuple[Scenario, int, Run]] = {}
        for number, condition in enumerate(observed.seen, 1):
            as_set = with_values(scenario, condition.changes)
            self._runs[f"seen {number}"] = (as_set, number, partial(_at_work, as_set, workers))
        self._runs[STALL] = (scenario, 0, partial(_at_stall, scenario, self.stall_pressure, workers))
        if observed.ball_fall:
            self._runs[FALL] = (scenario, 0, partial(_falling, scenario, observed.ball_fall))
        self._acting = {
            name: np.array([not u.only or number in u.only for u in unknowns.each], bool)
            for name, (_, number, _) in self._runs.items()
        }
        self._varied = dict(self._acting)
        self.known: dict[tuple[str, bytes], dict[str, float]] = {}

    def focus(self, rows: Sequence[Row], slopes: Array | None) -> None:
        """Vary from now on in each situation only what moves its readings (slopes: readings, unknowns), and
        leaks in a stall; None: everything that acts in the pump at work."""
        for name, acting in self._acting.items():
            of_it = [i for i, row in enumerate(rows) if row.situation == name]
            if slopes is None:
                self._varied[name] = self._varied[name] if name == STALL else acting
            elif of_it:
                sds = np.array([rows[i].sd for i in of_it])
                moves = (np.abs(slopes[of_it]) > HARDLY * sds[:, None]).any(axis=0)
                self._varied[name] = acting & (moves | (self.unknowns.leaks & (name == STALL)))

    def expected(self, rows: Sequence[Row], points: Array) -> Array:
        """What is expected of readings (n, readings) at points (n, unknowns), each on the scale of its sign;
        nan where a run failed."""
        values = {name: self.signs(name, points) for name in {row.situation for row in rows}}
        columns = [sign_of(row.key).scaled(values[row.situation][row.key], row.floor) for row in rows]
        return np.array(columns).T.reshape(len(points), len(rows))

    def signs(self, situation: str, points: Array) -> dict[str, Array]:
        """All signs of a situation [SI] at points (n, unknowns); of creep the speed."""
        here = np.where(self._varied[situation], points, 0.0) + 0.0
        new = {point.tobytes(): point for point in here if (situation, point.tobytes()) not in self.known}
        if new:
            self._run(situation, list(new.values()))
        rows = [self.known[situation, point.tobytes()] for point in here]
        return {key: np.array([row[key] for row in rows]) for key in rows[0]}

    def _run(self, situation: str, points: Sequence[Array]) -> None:
        scenario, number, run = self._runs[situation]
        changes = [self.unknowns.changes(point.tolist(), number) for point in points]
        possible = [i for i, changed in enumerate(changes) if can_be(scenario, changed)]
        values = (
            run([changes[i] for i in possible], self.count.batch(len(possible) * (situation != FALL)))
            if possible
            else {}
        )
        keys = values or dict.fromkeys((*SIGNS, FALL))
        for i, point in enumerate(points):
            place = possible.index(i) if i in possible else None
            self.known[situation, point.tobytes()] = {
                key: math.nan if place is None else float(values[key][place]) for key in keys
            }


def _at_work(scenario: Scenario, workers: int | None, changes: Any, progress: Any) -> Mapping[str, Array]:
    return run_cycles(scenario, changes, workers, progress)


def _at_stall(
    scenario: Scenario, pressure: float, workers: int | None, changes: Any, progress: Any
) -> Mapping[str, Array]:
    return run_stalls(scenario, changes, pressure, workers, progress)


def _falling(scenario: Scenario, fall: Mapping[str, Any], changes: Any, _: Any) -> Mapping[str, Array]:
    return {FALL: np.array([fall_time(with_values(scenario, changed), fall) for changed in changes])}


def unread(rows: Sequence[Row], situations: Sequence[str]) -> list[tuple[str, str]]:
    """Situation and sign of what nobody has read yet."""
    read = {(row.situation, row.key) for row in rows}
    places = [(name, key) for name in situations for key in SIGNS if (key in STALL_SIGNS) == (name == STALL)]
    return [place for place in places if place not in read]
