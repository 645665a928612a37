"""Two inputs that together make the targets hold where none does alone."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

from balltravel.scenario.model import Scenario, ScenarioError
from balltravel.study.limits.tried import TriedValue, tried_value
from balltravel.study.search.inputs import Input
from balltravel.study.search.walk import Base, Walk, verdict_of
from balltravel.study.travel.trials import missed
from balltravel.sweeps.cases import Case, Progress, in_threads, run_case

MOST_INPUTS = 5
"""Inputs that are combined at most: those that gained most alone (our choice)."""

PARTS = 8
"""Steps in which a pair is taken back from where each input gained most to where it is now (our choice)."""

MOST_RUNS = MOST_INPUTS * (MOST_INPUTS - 1) // 2 * 4
"""Runs at most: every pair once, and for each that helps log2(PARTS) more."""

MOST_STEPS = 150_000
"""Inputs whose best run took more steps of the method are not combined: their runs are too long."""


class _Gain(NamedTuple):
    """An input at the value at which it missed least alone [unit of the input], and by how much."""

    item: Input
    now: float
    best: float
    shortfall: float


@dataclass(frozen=True)
class Pair:
    """Two inputs that together make all targets hold, by their keys: their present values and those that were
    run [SI], what that gave, and which share of the way from now to where each missed least that is."""

    keys: tuple[str, str]
    words: tuple[str, str]
    units: tuple[str, str]
    now: tuple[float, float]
    values: tuple[float, float]
    share: float
    holds: TriedValue


@dataclass(frozen=True)
class PairSearch:
    """The pair that needs the least change, None where none helps; which inputs were combined, in words, and
    how many runs that took."""

    least: Pair | None
    combined: tuple[str, ...]
    runs: int


def find_pair(
    base: Base, walked: Sequence[Walk], workers: int | None = None, progress: Progress | None = None
) -> PairSearch:
    """Combine the inputs that gained most alone, each where it missed least, and take the pairs that then
    meet the targets back towards the present values, both by the same share, as long as they do."""
    gains = _gains(base, walked)
    tasks = [_task(base, pair) for pair in combinations(gains, 2)]
    results = in_threads(tasks, len(tasks), workers, progress) if tasks else []
    helping = [pair for pair, _ in results if pair is not None]
    least = min(helping, key=lambda pair: pair.share, default=None)
    return PairSearch(least, tuple(gain.item.words for gain in gains), sum(runs for _, runs in results))


def _task(base: Base, pair: tuple[_Gain, _Gain]) -> Callable[[], tuple[Pair | None, int]]:
    return lambda: _least(base, pair)


def _shortfall(scenario: Scenario, case: Case) -> float:
    """What is missing of all targets, over each; infinite of a failed run."""
    if case.metrics is None:
        return float("inf")
    return sum(miss.shortfall for miss in missed(scenario, case.metrics))


def _gains(base: Base, walked: Sequence[Walk]) -> list[_Gain]:
    """Inputs that miss less somewhere than they do now, the best first."""
    now = _shortfall(base.scenario, base.case)
    best: dict[str, _Gain] = {}
    for walk in walked:
        item = walk.input
        for value, (scenario, case) in walk.runs.items():
            short = _shortfall(scenario, case)
            kept = best.get(item.key)
            if case.steps <= MOST_STEPS and short < (now if kept is None else kept.shortfall):
                best[item.key] = _Gain(item, item.now(base.scenario), value, short)
    return sorted(best.values(), key=lambda gain: gain.shortfall)[:MOST_INPUTS]


def _value(gain: _Gain, part: int) -> float:
    """The value at so many parts of the way from now to the best."""
    return gain.item.scale.rounded(gain.now + part / PARTS * (gain.best - gain.now))


def _least(base: Base, pair: tuple[_Gain, _Gain]) -> tuple[Pair | None, int]:
    """The pair at the fewest parts of the way at which it meets the targets, by bisection; and the runs."""
    runs: dict[int, tuple[Scenario, Case, tuple[str, ...]]] = {}

    def meets(part: int) -> bool:
        settings = [each.item.settings(base.scenario, _value(each, part)) for each in pair]
        keys = [{text.partition("=")[0] for text in texts} for texts in settings]
        if keys[0] & keys[1]:
            return False
        together = (*settings[0], *settings[1])
        try:
            scenario = base.with_settings(together)
        except ScenarioError:
            return False
        runs[part] = (scenario, run_case(scenario), together)
        return verdict_of(*runs[part][:2], base.check).meets

    if not meets(PARTS):
        return None, len(runs)
    low, high = 0, PARTS
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if meets(middle) else (middle, high)
    scenario, case, settings = runs[high]
    first, second = pair
    return Pair(
        (first.item.key, second.item.key),
        (first.item.words, second.item.words),
        (first.item.unit, second.item.unit),
        (first.now, second.now),
        (_value(first, high), _value(second, high)),
        high / PARTS,
        tried_value(None, scenario, case, settings, base),
    ), len(runs)
