"""How far each input may go by itself before a target is missed, or must go until all hold."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from threading import Lock
from typing import Any

from balltravel.estimate.cautions import decisive_warnings
from balltravel.scenario.arguments import SEED, draws_checked
from balltravel.scenario.model import Scenario, ScenarioError
from balltravel.scenario.shims import travels_of
from balltravel.study.limits.chances import Margin, look_at, margin_task
from balltravel.study.limits.pairs import MOST_RUNS, PairSearch, find_pair
from balltravel.study.limits.sensitivities import Sensitivities, sensitivities
from balltravel.study.limits.tried import TriedValue, present_value, tried_value
from balltravel.study.search.inputs import INPUTS, Input
from balltravel.study.search.shop import next_sizes
from balltravel.study.search.walk import Base, Budget, Reader, Walk, verdict_of, walks
from balltravel.study.travel.recommend import best_of
from balltravel.study.travel.trials import Choice, run_trials
from balltravel.sweeps.cases import Progress, in_threads, run_case
from balltravel.units import in_figures

OF_A_WALK = Budget(runs=60, steps=1_000_000)
"""Most walks take twenty runs and less than a tenth of these steps; only runs whose cycle does not repeat
within many cycles take more. The steps take a dozen seconds, and one run at most as many (our choice)."""

DRAWS = 32
"""Draws of what is not known, by default: a row takes some forty runs."""

SIZES_TRIED = 2
"""How many sizes are run until one meets the targets (our choice)."""


@dataclass(frozen=True)
class NextSize:
    """The next size that exists on the side of a limit on which the targets hold, and a run of it."""

    name: str
    tried: TriedValue


@dataclass(frozen=True)
class Limit:
    """The end of an input that keeps, or makes, all targets hold.

    ``now``: present value [SI]; ``meets_now``: whether the targets hold there; ``upward``: direction of the
    search; ``holds``: the last (or the first) value that meets them, None where nothing in the range changes
    the verdict; ``beyond``: its neighbour on the grid that does not; ``limited_by``: what is missed there;
    ``searched``: end of the search; ``to_the_end``: whether that is where the scenario's rules, the input's
    range or the cage end; ``scatters``: near the limit the verdict changes more than once, or the cycle does
    not repeat itself; ``runs``, ``failed_runs``: how many; ``unfinished``: its runs are so long that the
    search ended before: ``beyond`` is no neighbour, or ``searched`` not the end; ``shop``: why the range ends
    where it does; ``size``: the next size that exists, where something must be bought.
    """

    key: str
    words: str
    unit: str
    now: float
    meets_now: bool
    upward: bool
    holds: TriedValue | None
    beyond: TriedValue | None
    limited_by: tuple[str, ...]
    searched: TriedValue
    to_the_end: bool
    scatters: bool
    runs: int
    failed_runs: int
    unfinished: bool = False
    shop: str = ""
    size: NextSize | None = None
    holds_in_95: float | None = None
    chance_now: float | None = None

    @property
    def at_most(self) -> bool:
        """Whether ``holds`` is an upper end."""
        return self.upward == self.meets_now


SAME_SIZE = 0.01
"""Difference within which a size is the one there is now: 1 1/4 in is 31.75 mm, and sold as 31.5 mm."""


@dataclass(frozen=True)
class ArrangementLimits:
    """An arrangement of the shims with the limits there: ``names`` are ``now`` and ``recommended`` or
    ``nearest``; ``settings``: how one gets it; ``pairs``: what two inputs do together, asked where a target
    is missed and no input alone puts that right; ``warnings``: what counts for more than any input;
    ``chance``: share of the draws of all that is not known in which the targets hold, None where nothing was
    drawn."""

    names: tuple[str, ...]
    choice: Choice
    settings: tuple[str, ...]
    here: TriedValue
    limits: tuple[Limit, ...]
    pairs: PairSearch | None = None
    warnings: tuple[str, ...] = ()
    chance: float | None = None


_OF_DRAWS = {"draws", "seed", "chance", "holds_in_95", "chance_now"}


@dataclass(frozen=True)
class LimitsReport:
    """What else would help: limits of the arrangement that is there and of the best, and which inputs matter
    most in the best (in the one that is there, where none is named). ``held_vapour_pressure``: what it is
    held at [Pa] while a temperature is varied; None where it follows, or none is varied. ``beyond_shop``:
    inputs that were not searched, as they are outside what a shop can do already, in words; ``draws`` of what
    is not known (0: every value was taken as given), by their ``seed``."""

    arrangements: tuple[ArrangementLimits, ...]
    sensitivities: Sensitivities
    held_vapour_pressure: float | None = None
    beyond_shop: tuple[str, ...] = ()
    draws: int = 0
    seed: int = 0

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units; without what is said of draws where there
        are none."""

        def kept(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
            return {name: value for name, value in pairs if self.draws or name not in _OF_DRAWS}

        return asdict(self, dict_factory=kept)


def limits_of(base: Base, item: Input) -> list[Limit]:
    """The limits of one input; see walks."""
    return [limit_of(base, walked) for walked in walks(base, item)]


def limit_of(base: Base, walked: Walk) -> Limit:
    """What a walk found: the limit, its neighbour and the end of the search."""
    item, crossing = walked.input, walked.crossing

    def run_at(value: float | None) -> TriedValue | None:
        settings = () if value is None else item.settings(base.scenario, value)
        return None if value is None else tried_value(item, *walked.runs[value], settings, base)

    holds, beyond, searched = run_at(crossing.good), run_at(crossing.bad), run_at(crossing.last)
    assert searched is not None
    shop = item.shop_range(base.scenario)
    return Limit(
        key=item.key,
        words=item.words,
        unit=item.unit,
        now=present_value(item, base.scenario),
        meets_now=walked.meets_now,
        upward=walked.upward,
        holds=holds,
        beyond=beyond,
        limited_by=beyond.missed if beyond else (),
        searched=searched,
        to_the_end=walked.to_the_end,
        scatters=crossing.scatters or any(end is not None and not end.repeats for end in (holds, beyond)),
        runs=len(walked.runs),
        failed_runs=sum(case.metrics is None for _, case in walked.runs.values()),
        unfinished=crossing.unfinished,
        shop=shop.why if shop else "",
        size=_next_size(base, walked),
    )


def _next_size(base: Base, walked: Walk) -> NextSize | None:
    """The next size that exists and was run, meeting the targets; None where nothing is bought for this input
    or none does, or where that is what there is now."""
    item, good = walked.input, walked.crossing.good
    if item.sizes is None or good is None:
        return None
    now, (low, high) = item.now(base.scenario), item.ends(base.scenario)
    sizes = next_sizes(item.sizes(base.scenario), good, at_most=walked.upward == walked.meets_now)
    for size in sizes[:SIZES_TRIED]:
        between = min(now, good) <= size.value <= max(now, good)
        if abs(size.value - now) <= SAME_SIZE * now or (walked.meets_now and not between):
            return None
        try:
            scenario = base.with_settings(size.settings)
        except ScenarioError:
            continue
        case = run_case(scenario)
        if low <= size.value <= high and verdict_of(scenario, case, base.check).meets:
            return NextSize(size.name, tried_value(item, scenario, case, size.settings, base))
    return None


def _fitted_and_best(
    read: Reader, progress: Progress | None
) -> dict[Choice, tuple[tuple[str, ...], tuple[str, ...]]]:
    """Choice -> its names and settings: what is there now, and the best of the shims."""
    scenario = read(())
    trials = run_trials(scenario, progress)
    best = best_of(scenario, trials)
    below = tuple(sorted(scenario.shims.below))
    above = tuple(n for n in range(1, len(scenario.shims.thicknesses) + 1) if n not in below)
    fitted = Choice(below, above, scenario.inlet_travel)
    name = "recommended" if best is not None and not best.unmet else "nearest"
    if best is None:
        return {fitted: (("now",), ())}
    if abs(best.ball_travel - scenario.inlet_travel) <= 1e-9 * scenario.inlet_travel:
        return {fitted: (("now", name), ())}
    chosen = f"shims.below=[{', '.join(map(str, best.shims_below))}]"
    return {fitted: (("now",), ()), best.choice: ((name,), (chosen,))}


class _Stages:
    """Progress over stages of which each has its own count."""

    def __init__(self, progress: Progress | None, total: int) -> None:
        self.progress, self.total, self.begun = progress, total, 0

    def next(self, size: int) -> Progress | None:
        """The progress of the next stage, of so many parts."""
        begun, self.begun = self.begun, self.begun + size
        progress = self.progress
        if progress is None:
            return None
        progress(begun, self.total)
        return lambda done, whole: progress(begun + size * done // max(whole, 1), self.total)


def find_limits(
    read: Reader,
    *,
    inputs: Sequence[Input] | None = None,
    draws: int = DRAWS,
    seed: int = 0,
    workers: int | None = None,
    progress: Progress | None = None,
) -> LimitsReport:
    """Limits of each input by itself, in the arrangement that the scenario has and in the best of its shims,
    and the effect of each input.

    read: the scenario with settings (files.read_write.reader_of_file, or reader_of a scenario). Every value
    reported was run as the text that is reported. A failed run counts as one that does not meet the targets.
    ``draws`` of all that is not known, by which the limits are judged as well: a power of two, 32 to 4096, or
    0, which takes every value as given. ``progress`` is called with (parts of the work done, parts in all).
    Raises ScenarioError if the scenario itself cannot be.
    """
    draws, seed = draws_checked(draws), SEED.checked(seed)
    inputs = [item.in_use() for item in (INPUTS if inputs is None else inputs)]
    scenario = read(())
    margins = 2 * len(inputs) if draws else 0
    sizes = (2 * len(travels_of(scenario)), 2 * len(inputs), margins, 2 * MOST_RUNS, 2 * len(inputs))
    stages = _Stages(progress, sum(sizes))
    choices = _fitted_and_best(read, stages.next(sizes[0]))
    lock = Lock()
    bases = [Base(read, settings, lock, budget=OF_A_WALK) for _, settings in choices.values()]
    by_base = _all_walks(bases, inputs, workers, stages.next(sizes[1]))
    over_draws = stages.next(sizes[2])
    chances: list[float | None] = [None] * len(bases)
    if draws:
        by_base, chances = _over_draws(bases, by_base, draws, seed, workers, over_draws)
    pair_progress = stages.next(sizes[3])
    arrangements = []
    for base, found, chance, (choice, (names, settings)) in zip(
        bases, by_base, chances, choices.items(), strict=True
    ):
        now = tried_value(None, base.scenario, base.case, settings)
        said = decisive_warnings(base.scenario, base.case.metrics, base.case.status)
        limits = tuple(limit for _, limit in found)
        no_help = not base.meets and all(limit.holds is None for limit in limits)
        walked = [walk for walk, _ in found]
        pairs = find_pair(base, walked, workers, pair_progress) if no_help else None
        arrangements.append(ArrangementLimits(names, choice, settings, now, limits, pairs, said, chance))
    last = bases[-1]
    effects = sensitivities(
        last.scenario, last.case, last.with_settings, inputs, workers, stages.next(sizes[4])
    )
    held = _held_vapour_pressure(scenario, arrangements)
    outside = tuple(_beyond_shop(scenario, inputs))
    return LimitsReport(tuple(arrangements), effects, held, outside, draws, seed)


def _beyond_shop(scenario: Scenario, inputs: Sequence[Input]) -> Iterator[str]:
    """Inputs that are outside what a shop can do, with that range."""
    for item in inputs:
        if item.harder is None or not item.is_active(scenario):
            continue
        now, (low, high) = item.now(scenario), item.ends(scenario)
        if not low <= item.scale.rounded(now) <= high:
            here, least, most = (in_figures(size, unit=item.unit) for size in (now, low, high))
            yield f"{item.words}, now {here} {item.unit} ({least} to {most} {item.unit})"


def _all_walks(
    bases: Sequence[Base], inputs: Sequence[Input], workers: int | None, progress: Progress | None
) -> list[list[tuple[Walk, Limit]]]:
    """Of each base all walks with their limits, in the order of the inputs."""
    searches = [
        (number, item)
        for number, base in enumerate(bases)
        for item in inputs
        if item.harder is not None and item.is_active(base.scenario)
    ]

    def walk_and_limit(base: Base, item: Input) -> list[tuple[Walk, Limit]]:
        return [(walked, limit_of(base, walked)) for walked in walks(base, item)]

    tasks = [
        lambda number=number, item=item: walk_and_limit(bases[number], item) for number, item in searches
    ]
    by_base: list[list[tuple[Walk, Limit]]] = [[] for _ in bases]
    for (number, _), found in zip(searches, in_threads(tasks, len(tasks), workers, progress), strict=True):
        by_base[number] += found
    return by_base


def _over_draws(
    bases: Sequence[Base],
    by_base: Sequence[Sequence[tuple[Walk, Limit]]],
    draws: int,
    seed: int,
    workers: int | None,
    progress: Progress | None,
) -> tuple[list[list[tuple[Walk, Limit]]], list[float | None]]:
    """The same with the margins that hold in 95 of 100 draws; and of each base how often the targets hold."""
    looks = in_threads([partial(look_at, base, draws, seed) for base in bases], len(bases), workers)
    tasks = [
        margin_task(look, walked) for look, found in zip(looks, by_base, strict=True) for walked, _ in found
    ]
    margins = iter(in_threads(tasks, len(tasks), workers, progress))
    judged = [[(walked, _with_margin(limit, next(margins))) for walked, limit in found] for found in by_base]
    return judged, [look.chance for look in looks]


def _with_margin(limit: Limit, margin: Margin) -> Limit:
    return replace(limit, holds_in_95=margin.holds_in_95, chance_now=margin.chance_now)


def _held_vapour_pressure(scenario: Scenario, arrangements: Sequence[ArrangementLimits]) -> float | None:
    """The vapour pressure, where it is a plain number and a temperature is varied."""
    keys = {limit.key for arrangement in arrangements for limit in arrangement.limits}
    varied = any(key.endswith(".temperature") for key in keys)
    return scenario.material.vapour_pressure if varied and scenario.material.solvent is None else None
