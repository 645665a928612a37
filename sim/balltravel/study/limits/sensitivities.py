"""Which inputs matter most: the change of fill and delivery where each, by itself, is a little off."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from balltravel.scenario.model import Scenario, ScenarioError
from balltravel.study.search.inputs import Input
from balltravel.study.travel.accuracy import numerical_band
from balltravel.sweeps.cases import Case, Progress, run_cases

LEAST_EFFECT = 5e-4
"""Changes of fill and delivery below this share of swept are not shown: they would read 0.0 %."""


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
        return max((change.size for change in (self.less, self.more) if change is not None), default=0.0)

    @property
    def scatter(self) -> float:
        """By how much delivery changed from cycle to cycle, of swept."""
        return max((change.scatter for change in (self.less, self.more) if change is not None), default=0.0)


@dataclass(frozen=True)
class Sensitivities:
    """Effects, the largest first; fill and delivery that they are changes of; ``accuracy``: changes below it
    say nothing (the numerical band, and what would read 0.0 %)."""

    fill: float | None
    delivery: float | None
    accuracy: float
    effects: tuple[Effect, ...]

    def is_significant(self, effect: Effect) -> bool:
        """Whether an effect is above the accuracy and above its own scatter."""
        return effect.size >= max(self.accuracy, effect.scatter)


def _step_words(item: Input) -> str:
    assert item.doubt is not None
    kind, size = item.doubt
    if kind == "%":
        return f"+-{size:g} %"
    return f"x and / {size:g}" if kind == "x" else f"{kind}{size:g} {_difference_unit(item)}"


def _difference_unit(item: Input) -> str:
    return "K" if item.unit == "degC" else item.unit


def _change_words(item: Input, more: bool) -> str:
    """``10 % narrower``, ``5 K colder``, ``half as much``."""
    assert item.doubt is not None
    kind, size = item.doubt
    word = item.more if more else item.less
    if kind == "x":
        return f"{size:g} times as much" if more else f"1/{size:g} of it"
    unit = "%" if kind == "%" else _difference_unit(item)
    return f"{size:g} {unit} {word}"


def sensitivities(
    scenario: Scenario,
    case: Case,
    read: Callable[[Sequence[str]], Scenario],
    inputs: Sequence[Input],
    workers: int | None = None,
    progress: Progress | None = None,
) -> Sensitivities:
    """The effect of each input that is in doubt and plays a part; ``case``: of the scenario as it is."""
    base = case.metrics
    if base is None:
        return Sensitivities(None, None, math.inf, ())
    varied = [item for item in inputs if item.doubt is not None and item.is_active(scenario)]
    steps: list[tuple[int, bool, tuple[str, ...], Scenario | None]] = []
    for number, item in enumerate(varied):
        assert item.doubt is not None
        present = item.now(scenario)
        for more, value in enumerate(item.doubt.values(present)):
            if value is None or value == present:
                continue
            settings = item.settings(scenario, item.scale.rounded(value))
            steps.append((number, bool(more), settings, _if_allowed(read, settings)))
    possible = [step[3] for step in steps if step[3] is not None]
    cases = iter(run_cases(possible, workers=workers, progress=progress))
    changes: dict[tuple[int, bool], Change] = {}
    for number, more, settings, changed in steps:
        result = None if changed is None else next(cases)
        m = None if result is None else result.metrics
        scatter = 0.0 if result is None or m is None else result.scatter
        fill = None if m is None else m.fill_fraction - base.fill_fraction
        delivery = None if m is None else m.volumetric_efficiency - base.volumetric_efficiency
        changes[number, more] = Change(settings, _change_words(varied[number], more), fill, delivery, scatter)
    steps_both_ways = [
        (changes.get((number, False)), changes.get((number, True))) for number in range(len(varied))
    ]
    effects = [
        Effect(item.key, item.words, _step_words(item), less, more)
        for item, (less, more) in zip(varied, steps_both_ways, strict=True)
        if less is not None or more is not None
    ]
    band = numerical_band(scenario, case).values
    widest = max(band.get(name, 0.0) for name in ("fill_fraction", "volumetric_efficiency"))
    accuracy = max(LEAST_EFFECT, widest, case.scatter)
    ordered = sorted(effects, key=lambda effect: -effect.size)
    return Sensitivities(base.fill_fraction, base.volumetric_efficiency, accuracy, tuple(ordered))


def _if_allowed(read: Callable[[Sequence[str]], Scenario], settings: Sequence[str]) -> Scenario | None:
    """The scenario, unless its rules refuse it."""
    try:
        return read(settings)
    except ScenarioError:
        return None
