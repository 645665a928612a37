"""Which inputs matter most: the change of fill and delivery where each, by itself, is a little off."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from balltravel.scenario.model import Scenario, ScenarioError
from balltravel.study.search.inputs import Input
from balltravel.study.travel.accuracy import numerical_band
from balltravel.sweeps.cases import Case, run_cases

LEAST_EFFECT = 5e-4
"""Changes of fill and delivery below this share of swept are not told apart: they would read 0.0 %."""


@dataclass(frozen=True)
class Change:
    """One step of an input: what to give to --set, in words, and what it changes of fill and delivery (of
    swept), None where the scenario's rules refuse it or the run failed; by how much delivery still changed
    from cycle to cycle."""

    settings: tuple[str, ...]
    words: str
    fill: float | None
    delivery: float | None
    scatter: float = 0.0

    @property
    def size(self) -> float:
        """The larger of both changes; 0 where there are none."""
        return max(abs(self.fill or 0.0), abs(self.delivery or 0.0))


@dataclass(frozen=True)
class Effect:
    """What an input does when it is a step less, and a step more; ``less`` is None where only more is
    possible."""

    key: str
    words: str
    step: str
    less: Change | None
    more: Change | None

    @property
    def size(self) -> float:
        """The largest change of fill or delivery, of swept."""
        return max((one.size for one in (self.less, self.more) if one is not None), default=0.0)

    @property
    def scatter(self) -> float:
        """By how much delivery changed from cycle to cycle, of swept."""
        return max((one.scatter for one in (self.less, self.more) if one is not None), default=0.0)


@dataclass(frozen=True)
class Sensitivities:
    """Effects, the largest first; fill and delivery that they are changes of; ``accuracy``: changes below it
    say nothing (the numerical band, and what would read 0.0 %)."""

    fill: float | None
    delivery: float | None
    accuracy: float
    effects: tuple[Effect, ...]

    def tells(self, one: Effect) -> bool:
        """Whether an effect is above the accuracy and above its own scatter."""
        return one.size >= max(self.accuracy, one.scatter)


def _step_words(one: Input) -> str:
    assert one.doubt is not None
    kind, size = one.doubt
    if kind == "%":
        return f"+-{size:g} %"
    return f"x and / {size:g}" if kind == "x" else f"{kind}{size:g} {_difference_unit(one)}"


def _difference_unit(one: Input) -> str:
    return "K" if one.dimension == "temperature" else one.unit


def _change_words(one: Input, more: bool) -> str:
    """``10 % narrower``, ``5 K colder``, ``half as much``."""
    assert one.doubt is not None
    kind, size = one.doubt
    word = one.more if more else one.less
    if kind == "x":
        return f"{size:g} times as much" if more else f"1/{size:g} of it"
    unit = "%" if kind == "%" else _difference_unit(one)
    return f"{size:g} {unit} {word}"


def sensitivities(
    scenario: Scenario,
    case: Case,
    given: Callable[[Sequence[str]], Scenario],
    inputs: Sequence[Input],
    workers: int | None = None,
) -> Sensitivities:
    """The effect of each input that is in doubt and plays a part; ``case``: of the scenario as it is."""
    here = case.metrics
    if here is None:
        return Sensitivities(None, None, math.inf, ())
    wanted = [one for one in inputs if one.doubt is not None and one.plays(scenario)]
    steps: list[tuple[int, bool, tuple[str, ...], Scenario | None]] = []
    for number, one in enumerate(wanted):
        assert one.doubt is not None
        now = one.now(scenario)
        for more, value in enumerate(one.doubt.values(now)):
            if value is None or value == now:
                continue
            settings = one.settings(scenario, one.scale.rounded(value))
            steps.append((number, bool(more), settings, _taken(given, settings)))
    cases = iter(run_cases([step[3] for step in steps if step[3] is not None], workers=workers))
    found: dict[tuple[int, bool], Change] = {}
    for number, more, settings, there in steps:
        ran = None if there is None else next(cases)
        m, scatter = (None, 0.0) if ran is None or ran.metrics is None else (ran.metrics, ran.scatter)
        fill = None if m is None else m.fill_fraction - here.fill_fraction
        delivery = None if m is None else m.volumetric_efficiency - here.volumetric_efficiency
        found[number, more] = Change(settings, _change_words(wanted[number], more), fill, delivery, scatter)
    effects = [
        Effect(one.key, one.words, _step_words(one), found.get((number, False)), found.get((number, True)))
        for number, one in enumerate(wanted)
        if (number, True) in found or (number, False) in found
    ]
    band = numerical_band(scenario, case).values
    widest = max(band.get(name, 0.0) for name in ("fill_fraction", "volumetric_efficiency"))
    accuracy = max(LEAST_EFFECT, widest, case.scatter)
    ordered = sorted(effects, key=lambda one: -one.size)
    return Sensitivities(here.fill_fraction, here.volumetric_efficiency, accuracy, tuple(ordered))


def _taken(given: Callable[[Sequence[str]], Scenario], settings: Sequence[str]) -> Scenario | None:
    """The scenario, unless its rules refuse it."""
    try:
        return given(settings)
    except ScenarioError:
        return None
