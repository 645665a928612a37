"""The runs of a diagnosis: what each cause, and each thing that is not known, does to the signs."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.bench.causes import GAP_KEYS, SHARES, SOUND_GAP, Cause
from balltravel.bench.signs import Array, run_cycles, run_stalls
from balltravel.scenario.model import Scenario, ScenarioError, with_values
from balltravel.scenario.unknowns import spreads_of
from balltravel.sweeps.cases import Progress

ONE_SD = 0.8413447460685429
"""Share of chance below a value one standard deviation above the middle of a normal law."""

Runner = Callable[[Scenario, Sequence[Mapping[str, Any]]], dict[str, Array]]


@dataclass(frozen=True)
class Answers:
    """What the runs of one situation say, by sign [SI]: of the scenario as it stands, of each cause at each
    of its shares (nan where it cannot be), and of each unknown one standard deviation away. ``shares``: of
    the causes that were not run at the usual ones."""

    sound: Mapping[str, float]
    causes: Mapping[str, Mapping[str, Array]]
    unknowns: Mapping[str, Mapping[str, float]]
    shares: Mapping[str, tuple[float, ...]] = field(default_factory=dict)

    def shares_of(self, cause: str) -> tuple[float, ...]:
        """Sizes at which a cause was run, as shares of the largest."""
        return self.shares.get(cause, SHARES)


def unknown_changes(scenario: Scenario) -> dict[str, dict[str, Any]]:
    """Changes by one standard deviation of each number that is not known exactly, and of each place that may
    leak a little in a sound lower; of a key that cannot go there, the other way or not at all."""
    shifted: dict[str, dict[str, Any]] = {}
    for key, spread in spreads_of(scenario).items():
        if spread.numbers_only:
            # Of a law with a likely value at its end the upper side is as good as any.
            _take_first(scenario, shifted, key, [float(spread.at(ONE_SD)), float(spread.at(1.0 - ONE_SD))])
    for key in GAP_KEYS:
        table, name = key.split(".")
        _take_first(scenario, shifted, key, [getattr(getattr(scenario, table), name) + SOUND_GAP])
    return shifted


def _take_first(
    scenario: Scenario, shifted: dict[str, dict[str, Any]], key: str, values: Sequence[float]
) -> None:
    for value in values:
        if can_be(scenario, {key: value}):
            shifted[key] = {key: value}
            return


def can_be(scenario: Scenario, changes: Mapping[str, Any]) -> bool:
    """Whether changes make a scenario."""
    try:
        with_values(scenario, changes)
    except ScenarioError:
        return False
    return True


def answers_of(scenario: Scenario, causes: Sequence[Cause], run: Runner) -> Answers:
    """All runs of one situation, at most some eighty, as one batch."""
    unknowns = unknown_changes(scenario)
    wanted: list[tuple[str, int, dict[str, Any]]] = []
    for cause in causes:
        for place, share in enumerate(cause.shares):
            changes = cause.changes(scenario, cause.size(share))
            if can_be(scenario, changes):
                wanted.append((cause.name, place, changes))
    values = run(scenario, [{}, *(changes for *_, changes in wanted), *unknowns.values()])
    by_cause: dict[str, dict[str, NDArray[np.float64]]] = {
        cause.name: {key: np.full(len(cause.shares), np.nan) for key in values} for cause in causes
    }
    for number, (name, place, _) in enumerate(wanted, 1):
        for key, column in values.items():
            by_cause[name][key][place] = column[number]
    after = 1 + len(wanted)
    return Answers(
        {key: float(column[0]) for key, column in values.items()},
        by_cause,
        {
            name: {key: float(column[after + i]) for key, column in values.items()}
            for i, name in enumerate(unknowns)
        },
        {cause.name: cause.shares for cause in causes if cause.shares != SHARES},
    )


def at_work(workers: int | None, progress: Progress | None) -> Runner:
    """Runs of the pump at work."""
    return lambda scenario, changes: run_cycles(scenario, changes, workers, progress)


def at_stall(pressure: float, workers: int | None, progress: Progress | None) -> Runner:
    """Runs of a stall at a gauge pressure [Pa]."""
    return lambda scenario, changes: run_stalls(scenario, changes, pressure, workers, progress)
