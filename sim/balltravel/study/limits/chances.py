"""How often the targets hold over all that is not known, and how far an input may go by itself while they hold
in 95 of 100 draws of all else.

The draws are the same at every value: those of ``study/verdict/draws``, by which no input moves when another
one does, so that what holds changes with the value alone. The row's own input has no spread then.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from balltravel.scenario.model import Scenario, ScenarioError
from balltravel.scenario.shims import Arrangement
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.limits.tried import present_value
from balltravel.study.search.inputs import Input
from balltravel.study.search.walk import Base, Walk, farthest
from balltravel.study.travel.trials import asked_of
from balltravel.study.verdict.draws import Draws, draw
from balltravel.study.verdict.inputs import Inputs, inputs_of
from balltravel.study.verdict.runs import Runs, run_draws

Array = NDArray[np.float64]

OFTEN = 0.95
"""Share of the draws in which the targets must hold."""

HALVINGS = 5
"""How often the way to the single limit is halved: what is told is within 1/32 of it (our choice)."""

SUSPECTS = 8
"""Draws, those nearest to a miss, that a value must pass before all others are run there (our choice)."""

AT_ONCE = 4
"""Draws that are run before one looks whether enough have missed a target."""

PARTS = (1.0, 0.5, 0.25)
"""Where a value that holds in 95 of 100 is looked for beyond the one that holds at the likely values: at
these shares of the way to the end of what is searched, in turn."""

MOST_STEPS = 30_000
"""A lower whose run takes more steps of the method is not drawn: a row takes some sixty runs (our choice; most
take 2000 to 12 000, one whose cycle rate is sought at a tip some hundred thousand)."""

LEVEL = frozenset(
    ("material.viscosity", "material.readings", "material.yield_stress", "material.least_viscosity")
)
"""What says how thick a material is at every shear rate: known where its viscosity is. How it thins is not."""


@dataclass(frozen=True)
class Margin:
    """Of a row of limits: the farthest value [SI] at which the targets hold in 95 of 100 draws of all else,
    None where there is none; then ``chance_now``: the share of draws in which they do at the present one."""

    holds_in_95: float | None
    chance_now: float | None = None


@dataclass
class _Row:
    """An input whose value is set while all else is drawn (all is, where there is no ``item``), and what came of
    it: value -> draw -> whether the targets hold. ``slack``: of each draw how near to a miss it was last."""

    base: Base
    item: Input | None
    count: int
    seed: int
    slack: Array
    met: dict[float, dict[int, bool]] = field(default_factory=dict)
    _draws: dict[float, Draws] = field(default_factory=dict)

    @cached_property
    def now(self) -> float:
        """The present value [unit of the input]."""
        return 0.0 if self.item is None else self.item.scale.rounded(self.item.now(self.base.scenario))

    @cached_property
    def own(self) -> frozenset[str]:
        """Keys that are known where the row's value is."""
        if self.item is None:
            return frozenset()
        keys = {text.partition("=")[0] for text in self.item.settings(self.base.scenario, self.now)}
        return frozenset(keys) | (LEVEL if self.item.key == "material.viscosity_factor" else set())

    @cached_property
    def made(self) -> tuple[int, ...]:
        """Draws that make a scenario at the present value: what is made of them elsewhere must hold."""
        return tuple(i for i, s in enumerate(self.draws_at(self.now).scenarios) if s is not None)

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

    def inputs_at(self, value: float) -> Inputs:
        """What is drawn beside a value."""
        scenario = self.scenario_at(value)
        whole = inputs_of(scenario, spreads_of(scenario))
        drawn = tuple(each for each in whole.drawn if each.key.partition("[")[0] not in self.own)
        return replace(
            whole, drawn=drawn, fixed={k: v for k, v in whole.fixed.items() if k not in self.own}
        )

    def draws_at(self, value: float) -> Draws:
        """The draws with a value."""
        if value not in self._draws:
            self._draws[value] = draw(self.inputs_at(value), self.count, self.seed)
        return self._draws[value]

    def often(self, value: float, most: int | None = None) -> bool:
        """Whether the targets hold in 95 of 100 draws, by the ``most`` draws nearest to a miss (all by default);
        no more are run than it takes to say no."""
        met = self.met.setdefault(value, {})
        order = sorted(self.made, key=lambda i: float(self.slack[i]))
        waiting = [i for i in order[:most] if i not in met]
        while sum(not holds for holds in met.values()) <= self.misses_allowed:
            if not waiting:
                return bool(self.made)
            size = AT_ONCE if len(met) < SUSPECTS else len(waiting)
            self._run(value, waiting[:size])
            waiting = waiting[size:]
        return False

    def chance(self, value: float) -> float:
        """Share of the draws in which the targets hold."""
        met = self.met.setdefault(value, {})
        self._run(value, [i for i in self.made if i not in met])
        return sum(met.values()) / len(met) if met else 0.0

    def _run(self, value: float, places: Sequence[int]) -> None:
        try:
            draws = self.draws_at(value)
        except ScenarioError:
            self.met[value] |= dict.fromkeys(places, False)
            return
        if not places:
            return
        scenario = draws.scenario
        arrangement = Arrangement(scenario.shims.below, (), scenario.inlet_travel)
        runs = run_draws(_of(draws, places), [arrangement], workers=1)
        met, slack = _met(runs), _slack(runs)
        self.met[value] |= dict(zip(places, met.tolist(), strict=True))
        self.slack[list(places)] = slack


def _of(draws: Draws, places: Sequence[int]) -> Draws:
    """Some of the draws."""
    at = list(places)
    changes, scenarios = tuple(draws.changes[i] for i in at), tuple(draws.scenarios[i] for i in at)
    return Draws(draws.inputs, draws.seed, draws.shares[at], draws.values[at], changes, scenarios)


def _met(runs: Runs) -> NDArray[np.bool_]:
    """Whether a draw meets all targets, those that nobody set among them, as the single limit has it."""
    return np.logical_and.reduce([by[:, 0] == 0.0 for by in runs.shortfalls.values()])


def _slack(runs: Runs) -> Array:
    """How near to a miss each draw is, over the target that is nearest; minus infinity where the run failed."""
    asked = [
        asked_of(runs.draws.scenario if scenario is None else scenario) for scenario in runs.draws.scenarios
    ]
    least = np.minimum(
        runs.fill[:, 0] / np.array([max(each.fill, 1e-9) for each in asked]) - 1.0,
        1.0 - runs.landing[:, 0] / np.array([each.landing for each in asked]),
    )
    wanted = np.array([each.delivery for each in asked])
    spare = runs.delivery[:, 0] / np.maximum(wanted, 1e-9) - 1.0
    return np.nan_to_num(np.where(wanted > 0.0, np.minimum(least, spare), least), nan=-np.inf)


def _farthest_often(row: _Row, near: float, far: float) -> float | None:
    """The farthest value, from ``near`` to ``far``, at which the targets hold in 95 of 100 draws, as far as
    halving the way between both tells; every draw is run there. None where they do not even at ``near``."""
    assert row.item is not None
    if row.often(far, SUSPECTS) and row.often(far):
        return far
    while True:
        inner, outer = near, far
        for _ in range(HALVINGS):
            middle = row.item.scale.middle(inner, outer)
            if middle in (inner, outer):
                break
            inner, outer = (middle, outer) if row.often(middle, SUSPECTS) else (inner, middle)
        if row.often(inner):
            return inner
        if inner == near:
            return None
        far = inner


def _near_end(row: _Row, walked: Walk) -> float | None:
    """A value that promises to hold in 95 of 100: the present one where the targets hold there, else one as far
    as can be beyond the first that does."""
    if walked.meets_now:
        return row.now if row.often(row.now, SUSPECTS) else None
    good = walked.crossing.good
    assert good is not None and row.item is not None
    end = farthest(row.base, row.item, 1 if walked.upward else -1)
    tries = [row.item.scale.rounded(good + part * (end - good)) for part in PARTS]
    return next((value for value in tries if row.often(value, SUSPECTS)), None)


def _margin(row: _Row, walked: Walk) -> Margin:
    """Of an input that was walked to a single limit."""
    good = walked.crossing.good
    assert good is not None and row.item is not None
    value: float | None = good
    if row.inputs_at(row.now).drawn:
        near = _near_end(row, walked)
        value = None if near is None else _farthest_often(row, near, good)
    if value is None:
        return Margin(None, row.chance(row.now))
    return Margin(present_value(row.item, row.scenario_at(value)))


@dataclass(frozen=True)
class Look:
    """A first look over all that is not known, at the present values: ``chance`` that the targets hold, None
    of a lower whose runs are too long to be drawn; and which draws are near to a miss."""

    chance: float | None
    slack: Array
    count: int
    seed: int


def look_at(base: Base, count: int, seed: int) -> Look:
    """How often the targets hold over ``count`` draws of all that is not known."""
    row = _Row(base, None, count, seed, np.zeros(count))
    if base.case.steps > MOST_STEPS:
        return Look(None, row.slack, count, seed)
    if not row.inputs_at(row.now).drawn:
        return Look(float(base.meets), row.slack, count, seed)
    return Look(row.chance(row.now), row.slack, count, seed)


def margin_task(base: Base, look: Look, walked: Walk) -> Callable[[], Margin]:
    """What finds the margin of a row of limits; none without a limit, or where nothing was drawn."""
    if look.chance is None or walked.crossing.good is None:
        return lambda: Margin(None)
    row = _Row(base, walked.input, look.count, look.seed, look.slack.copy())
    return lambda: _margin(row, walked)
