"""How far an input of a scenario may go: every such question is answered here, by the same verdict, on the
same grid, to the same ends."""

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from functools import partial
from threading import Lock
from typing import Any, NamedTuple

from balltravel.scenario.model import Scenario, ScenarioError, with_values
from balltravel.scenario.tables import FIELDS
from balltravel.study.search.crossing import Crossing, Verdict, edge, search
from balltravel.study.search.inputs import Input
from balltravel.study.travel.trials import TargetCheck, missed
from balltravel.sweeps.cases import Case, run_case
from balltravel.units import to_si
from balltravel.units.keys import quantity_of


class Budget(NamedTuple):
    """After how many runs, or about how many steps of the method in all, a walk begins no further run."""

    runs: float = math.inf
    steps: float = math.inf

    def is_spent(self, cases: Collection[Case]) -> bool:
        """Whether these cases have used it up."""
        return len(cases) >= self.runs or sum(case.steps for case in cases) >= self.steps


UNBOUNDED = Budget()

Reader = Callable[[Sequence[str]], Scenario]
"""The scenario with more settings, as --set gives them; raises ScenarioError."""

ScenarioRun = tuple[Scenario, Case]
"""A scenario and how its run ended."""


def reader_of(scenario: Scenario) -> Reader:
    """A reader for a scenario that did not come from a file."""

    def read(settings: Sequence[str]) -> Scenario:
        changes: dict[str, Any] = {}
        for text in settings:
            key, _, value = text.partition("=")
            quantity = quantity_of(FIELDS[key])
            if quantity is not None:
                changes[key] = to_si(value, quantity.dimension)
            elif key == "shims.below":
                changes[key] = tuple(int(number) for number in value.strip("[]").split(",") if number)
            else:
                changes[key] = value
        return with_values(scenario, changes)

    return read


@dataclass
class Base:
    """A lower from which one walks: reads its scenario with more settings, has run it as it is.

    The reader is used by one thread at a time; cases are run by many.
    """

    read: Reader
    settings: tuple[str, ...] = ()
    lock: Lock = field(default_factory=Lock)
    check: TargetCheck = missed
    budget: Budget = UNBOUNDED
    scenario: Scenario = field(init=False)
    case: Case = field(init=False)

    def __post_init__(self) -> None:
        self.scenario = self.read(self.settings)
        self.case = run_case(self.scenario)

    def with_settings(self, settings: Sequence[str]) -> Scenario:
        """The scenario with more settings; raises ScenarioError."""
        with self.lock:
            return self.read((*self.settings, *settings))

    @property
    def meets(self) -> bool:
        """Whether the targets hold as it is."""
        return verdict_of(self.scenario, self.case, self.check).meets


def verdict_of(scenario: Scenario, case: Case, check: TargetCheck = missed) -> Verdict:
    """Which targets a case misses, and the margins of those that change smoothly."""
    m, target = case.metrics, scenario.target
    if m is None:
        return Verdict(("run",))
    margins = {"fill": m.fill_fraction - target.fill_fraction}
    if target.delivery:
        margins["delivery"] = m.volumetric_efficiency - target.delivery
    return Verdict(tuple(miss.target for miss in check(scenario, m)), margins)


@dataclass(frozen=True)
class Walk:
    """An input walked one way from a base: where the verdict changes, every run by its value in the input's
    unit, and whether the walk went to the end of what the rules, the input's range or the cage allow."""

    input: Input
    upward: bool
    crossing: Crossing
    runs: dict[float, ScenarioRun]
    to_the_end: bool

    @property
    def meets_now(self) -> bool:
        """Whether the targets hold where the walk began."""
        return next(iter(self.crossing.tried.values())).meets

    @property
    def holds(self) -> float | None:
        """The last value that meets the targets, or the first; where nothing changes, the farthest one that
        was run, if the targets hold there, else None."""
        if self.crossing.good is not None:
            return self.crossing.good
        return self.crossing.last if self.meets_now else None

    @property
    def fails(self) -> float | None:
        """The first value that misses a target, or the last; where nothing changes, the one where the walk
        began, if a target is missed there, else None."""
        if self.crossing.bad is not None:
            return self.crossing.bad
        return None if self.meets_now else next(iter(self.crossing.tried))


def is_allowed(base: Base, item: Input, value: float) -> bool:
    """Whether a value makes a scenario, and one that the closures know as they know the base."""
    try:
        varied = base.with_settings(item.settings(base.scenario, value))
    except ScenarioError:
        return False
    return item.fits(varied) or not item.fits(base.scenario)


def farthest(base: Base, item: Input, way: int) -> float:
    """The end of the range that is searched upward (1) or downward (-1), as far as the rules take it."""
    start, scale = item.scale.rounded(item.now(base.scenario)), item.scale
    end = scale.nearer_end(start, way, item.ends(base.scenario)[way > 0])
    allowed = partial(is_allowed, base, item)
    return end if allowed(end) else edge(allowed, scale, start, end)


def walk(base: Base, item: Input, way: int) -> Walk | None:
    """Walk an input up (1) or down (-1); None where there is no room on that side."""
    now = item.now(base.scenario)
    start = item.scale.rounded(now)
    runs: dict[float, ScenarioRun] = {}
    if start == now:
        runs[start] = (base.scenario, base.case)

    def judge(value: float) -> Verdict:
        if value not in runs:
            scenario = base.with_settings(item.settings(base.scenario, value))
            runs[value] = (scenario, run_case(scenario))
        return verdict_of(*runs[value], base.check)

    allowed = partial(is_allowed, base, item)
    end = item.ends(base.scenario)[way > 0]
    if not allowed(start) or way * (end - start) <= 0.0:
        return None

    def spent() -> bool:
        return base.budget.is_spent([case for _, case in runs.values()])

    crossing = search(judge, allowed, item.scale, start, way, end, spent)
    if crossing.last == start:
        return None
    to_the_end = crossing.refused or crossing.last == end
    return Walk(item, way > 0, crossing, runs, to_the_end and not crossing.unfinished)


def walks(base: Base, item: Input) -> list[Walk]:
    """An input on the harder side where the targets hold, else on the easier one, and on the other where that
    has no change; on both sides of an input that is hard at either end."""
    if item.harder == 0:
        return [walked for way in (-1, 1) if (walked := walk(base, item, way)) is not None]
    way = int(item.harder or 1) * (1 if base.meets else -1)
    first = walk(base, item, way)
    if first is not None and first.meets_now != base.meets:  # the grid's nearest number is beyond the limit
        return [walk(base, item, -way) or first]
    if base.meets or (first is not None and first.crossing.good is not None):
        return [first] if first is not None else []
    other = walk(base, item, -way)
    if other is not None and (first is None or other.crossing.good is not None):
        return [other]
    return [first] if first is not None else []
