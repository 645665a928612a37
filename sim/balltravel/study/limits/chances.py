"""How often the targets hold over all that is not known, and how far an input may go by itself while they
hold in 95 of 100 draws of all else.

The draws are the same at every value (``study/verdict/draws``), so that what holds changes with the value
alone. The input that a row varies has no spread of its own there.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.estimate.cautions import seat_gap
from balltravel.scenario.changes import Sound
from balltravel.scenario.model import Scenario, ScenarioError, with_values
from balltravel.scenario.shims import Arrangement
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.limits.tried import present_value
from balltravel.study.search.inputs import Input
from balltravel.study.search.walk import Base, Walk, farthest
from balltravel.study.travel.trials import asked_of
from balltravel.study.verdict.draws import Draws, draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.runs import TOLERANCE, Runs
from balltravel.sweeps.columns import compute

Array = NDArray[np.float64]

OFTEN = 0.95
"""Share of the draws in which the targets must hold."""

STEPS = 16
"""Steps in which the way to the single limit is taken (our choice)."""

SUSPECTS = 2
"""Draws beyond those that may miss a target, all nearest to a miss, that a value must pass before the others
are run there (our choice)."""

FEW = 9
"""Draws that are run in small batches, for they may show that a value fails; all others go at once."""

PARTS = (1.0, 0.5, 0.25)
"""Where a value that holds in 95 of 100 is looked for beyond the one that holds at the likely values: at
these shares of the way to the end of what is searched, in turn."""

MOST_STEPS = 30_000
"""A lower whose run takes more steps of the method is not drawn: a row takes some forty runs (our choice).
Most take 2000 to 12 000; one whose cycle rate is sought takes several times as many."""

TARGETS = ("fill", "landing", "delivery")
"""Targets that draws may be ordered by."""

LEAST = 1e-3
"""A share that counts as none is asked for."""

LEVEL = ("material.viscosity", "material.readings", "material.yield_stress", "material.least_viscosity")
"""What says how thick a material is at every shear rate: known where its viscosity is."""


@dataclass(frozen=True)
class Margin:
    """Of a row of limits: the farthest value [SI] at which the targets hold in 95 of 100 draws of all else,
    None where there is none; then ``chance_now``: the share of draws in which they do at the present one."""

    holds_in_95: float | None
    chance_now: float | None = None


@dataclass(frozen=True)
class Look:
    """A first look at a base over all that is not known: its draws; ``chance`` that the targets hold, None
    of a lower whose runs are too long to be drawn; ``slack``: how far each draw is from a miss; ``met``:
    whether the targets hold in it."""

    base: Base
    draws: Draws
    chance: float | None = None
    slack: "Slack" = field(default_factory=dict)
    met: Mapping[int, bool] = field(default_factory=dict)


@dataclass
class _Row:
    """An input whose value is set while all else is drawn (all is, where there is no ``item``), and what came
    of it: value -> draw -> whether the targets hold. ``slack``: how far each draw was from a miss when it was
    last run; ``target``: by which target draws are ordered until they are run; ``way``: 1 where larger values
    are harder, else -1; ``held``: of each draw the hardest value at which the targets held."""

    base: Base
    draws: Draws
    item: Input | None
    slack: "Slack"
    target: str = "fill"
    way: float = 1.0
    held: dict[int, float] = field(default_factory=dict)
    met: dict[float, dict[int, bool]] = field(default_factory=dict)

    @cached_property
    def now(self) -> float:
        """The present value [unit of the input]."""
        return 0.0 if self.item is None else self.item.scale.rounded(self.item.now(self.base.scenario))

    @cached_property
    def own(self) -> frozenset[str]:
        """Keys that are known where the row's value is."""
        level = LEVEL if self.item is not None and self.item.key == "material.viscosity_factor" else ()
        return frozenset((*self._set_to(self.now), *level))

    def knows(self, key: str) -> bool:
        """Whether an input is known where the row's value is: no draw changes it."""
        return key.partition("[")[0] in self.own

    @cached_property
    def changes(self) -> tuple[dict[str, Any], ...]:
        """What each draw changes beside the row's own input."""
        drawn = [each for each in self.draws.drawn if not self.knows(each.key)]
        if not drawn:
            return ()
        places = [self.draws.drawn.index(each) for each in drawn]
        columns = [each.spread.at(self.draws.shares[:, k]) for each, k in zip(drawn, places, strict=True)]
        fixed = {key: value for key, value in self.draws.inputs.fixed.items() if key not in self.own}
        inputs = replace(self.draws.inputs, drawn=tuple(drawn), fixed=fixed)
        keys = [each.key for each in drawn]
        return tuple(inputs.changes(dict(zip(keys, row, strict=True))) for row in zip(*columns, strict=True))

    @cached_property
    def made(self) -> tuple[int, ...]:
        """Draws that make a scenario at the present value: what is made of them elsewhere must hold."""
        own = self._set_to(self.now)
        return tuple(i for i, each in enumerate(self.changes) if _scenario(self.base, {**own, **each}))

    @property
    def misses_allowed(self) -> int:
        """How many draws may miss a target."""
        return math.floor((1.0 - OFTEN) * len(self.made) + 1e-9)

    def scenario_at(self, value: float) -> Scenario:
        """The base with a value; raises ScenarioError."""
        scenario = self.base.scenario
        if self.item is None:
            return scenario
        return self.base.with_settings(self.item.settings(scenario, value))

    def _set_to(self, value: float) -> dict[str, Any]:
        """What a value changes: dotted key -> SI value; raises ScenarioError."""
        if self.item is None:
            return {}
        scenario = self.scenario_at(value)
        texts = self.item.settings(self.base.scenario, value)
        keys = [text.partition("=")[0].split(".") for text in texts]
        return {f"{table}.{name}": getattr(getattr(scenario, table), name) for table, name in keys}

    def is_likely(self, value: float) -> bool:
        """Whether a value passes the draws that are nearest to a miss."""
        return self.often(value, self.misses_allowed + SUSPECTS)

    def often(self, value: float, most: int | None = None) -> bool:
        """Whether the targets hold in 95 of 100 draws, by the ``most`` draws nearest to a miss (by default
        all); once too many have missed one, no more are run, nor is one that held at a harder value."""
        met = self.met.setdefault(value, {})
        nearest = sorted(self.made, key=self._from_a_miss)[:most]
        waiting = [i for i in nearest if i not in met and not self._held_beyond(i, value)]
        while waiting and _misses(met) <= self.misses_allowed:
            size = self.misses_allowed + SUSPECTS if len(met) < FEW else len(waiting)
            self._run(value, waiting[:size])
            waiting = waiting[size:]
        return bool(self.made) and _misses(met) <= self.misses_allowed

    def _held_beyond(self, draw: int, value: float) -> bool:
        return draw in self.held and self.way * self.held[draw] >= self.way * value

    def _from_a_miss(self, draw: int) -> float:
        """How far a draw is from a miss: as last run in this row, else by the row's target at present."""
        run = any(draw in met for met in self.met.values())
        names = TARGETS if run else (self.target,)
        return min(float(self.slack[name][draw]) for name in names)

    def chance(self, value: float) -> float:
        """Share of the draws in which the targets hold."""
        met = self.met.setdefault(value, {})
        self._run(value, [i for i in self.made if i not in met])
        return sum(met.values()) / len(met) if met else 0.0

    def _run(self, value: float, places: Sequence[int]) -> None:
        """Run a value in some of the draws; where it makes no scenario, the targets do not hold."""
        try:
            own = self._set_to(value)
        except ScenarioError:
            self.met[value] |= dict.fromkeys(places, False)
            return
        changes = {i: {**own, **self.changes[i]} for i in places}
        scenarios = {i: _scenario(self.base, each) for i, each in changes.items()}
        made = {i: s for i, s in scenarios.items() if s is not None}
        self.met[value] |= dict.fromkeys(places, False)
        if made:
            runs = _runs(self.base, self.draws, [changes[i] for i in made], list(made.values()))
            self.met[value] |= dict(zip(made, _met(runs).tolist(), strict=True))
            self.held |= {i: value for i in made if self.met[value][i] and not self._held_beyond(i, value)}
            for name, values in _slack(runs).items():
                self.slack[name][list(made)] = values


def _misses(met: Mapping[int, bool]) -> int:
    return sum(not holds for holds in met.values())


def _scenario(base: Base, changes: Mapping[str, Any]) -> Scenario | None:
    """The base with changes; None where they make no scenario."""
    try:
        return with_values(base.scenario, changes)
    except ScenarioError:
        return None


def _runs(base: Base, draws: Draws, changes: Sequence[dict[str, Any]], scenarios: Sequence[Scenario]) -> Runs:
    """Runs of changes that are known to make these scenarios, in this thread."""
    count, nothing = len(changes), np.empty((len(changes), 0))
    columns = compute(base.scenario, Sound(changes), TOLERANCE)
    made = Draws(draws.inputs, draws.seed, nothing, nothing, tuple(changes), tuple(scenarios))
    arrangement = Arrangement(base.scenario.shims.below, (), base.scenario.inlet_travel)
    gap = np.array([[seat_gap(s.inlet_check, s.inlet_travel)] for s in scenarios])
    by_draw = {name: values[:, None] for name, values in columns.items()}
    return Runs(made, (arrangement,), by_draw, np.ones((count, 1), bool), gap)


def _met(runs: Runs) -> NDArray[np.bool_]:
    """Whether a draw meets all targets, those that nobody set among them, as the single limit has it."""
    return np.asarray(np.logical_and.reduce([by[:, 0] == 0.0 for by in runs.shortfalls.values()]), bool)


Slack = dict[str, Array]
"""Target -> of each draw how far it is from a miss, over the target; minus infinity where the run failed."""


def _slack(runs: Runs) -> Slack:
    asked = [asked_of(scenario) for scenario in runs.draws.scenarios if scenario is not None]
    fill, delivery, landing = (np.array([each[k] for each in asked]) for k in range(3))
    by_target = {
        "fill": runs.fill[:, 0] / np.maximum(fill, LEAST) - 1.0,
        "landing": 1.0 - runs.landing[:, 0] / landing,
        "delivery": runs.delivery[:, 0] / np.maximum(delivery, LEAST) - 1.0,
    }
    return {name: np.nan_to_num(values, nan=-np.inf) for name, values in by_target.items()}


def _farthest_often(row: _Row, near: float, far: float) -> float | None:
    """The farthest value, in steps from ``near`` to ``far``, at which the targets hold in 95 of 100 draws, as
    far as halving the way tells; every draw is run there, or held farther. None where they do not at ``near``
    either."""
    assert row.item is not None
    scale = row.item.scale
    values = [scale.rounded(near + step / STEPS * (far - near)) for step in range(STEPS + 1)]
    inner, outer = STEPS, STEPS
    while not row.often(values[inner]):
        if inner == 0:
            return None
        inner, outer = 0, inner
        while outer - inner > 1:
            middle = (inner + outer) // 2
            inner, outer = (middle, outer) if row.is_likely(values[middle]) else (inner, middle)
    return values[inner]


def _near_end(row: _Row, walked: Walk, promising: bool) -> float | None:
    """A value that promises to hold in 95 of 100: the present one where the targets hold there (taken for
    granted where it is ``promising``), else one as far as can be beyond the first that does."""
    if walked.meets_now:
        return row.now if promising or row.is_likely(row.now) else None
    good = walked.crossing.good
    assert good is not None
    assert row.item is not None
    end = farthest(row.base, row.item, 1 if walked.upward else -1)
    tries = [row.item.scale.rounded(good + part * (end - good)) for part in PARTS]
    return next((value for value in tries if row.is_likely(value)), None)


def _margin(row: _Row, walked: Walk, chance: float) -> Margin:
    """Of an input that was walked to a single limit; ``chance``: of the first look."""
    good = walked.crossing.good
    assert good is not None
    assert row.item is not None
    value: float | None = good
    if row.changes:
        near = _near_end(row, walked, chance >= OFTEN)
        value = None if near is None else _farthest_often(row, near, good)
    if value is None:
        return Margin(None, row.chance(row.now))
    return Margin(present_value(row.item, row.scenario_at(value)))


def look_at(base: Base, count: int, seed: int) -> Look:
    """How often the targets hold over ``count`` draws of all that is not known."""
    draws = draw(inputs_of(base.scenario, spreads_of(base.scenario)), count, seed)
    row = _Row(base, draws, None, {name: np.zeros(count) for name in TARGETS})
    if base.case.steps > MOST_STEPS:
        return Look(base, draws)
    chance = row.chance(row.now) if row.changes else float(base.meets)
    return Look(base, draws, chance, row.slack, row.met.get(row.now, {}))


def margin_task(look: Look, walked: Walk) -> Callable[[], Margin]:
    """What finds the margin of a row of limits; none without a limit, or where nothing was drawn."""
    if look.chance is None or walked.crossing.good is None:
        return lambda: Margin(None)
    bad = walked.crossing.bad
    assert bad is not None
    missed = [name for name in walked.crossing.tried[bad].misses if name in TARGETS]
    slack = {name: values.copy() for name, values in look.slack.items()}
    way = 1.0 if walked.upward == walked.meets_now else -1.0
    row = _Row(look.base, look.draws, walked.input, slack, (*missed, "fill")[0], way)
    if not any(row.knows(each.key) for each in look.draws.drawn):
        row.met[row.now] = dict(look.met)
    chance = look.chance
    return lambda: _margin(row, walked, chance)
