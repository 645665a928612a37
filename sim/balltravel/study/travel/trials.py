"""The travels that the shims give, simulated: what each misses of the targets, and which is preferred."""

import math
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol, TypeVar

from balltravel.cycle.metrics import Metrics
from balltravel.cycle.validity import Excursion, is_indication
from balltravel.estimate.cautions import PARTICLE_CLEARANCE, seat_gap
from balltravel.estimate.suction_losses import feed_excess
from balltravel.scenario.model import Scenario, ScenarioError, with_shims_below, with_values
from balltravel.scenario.shims import Arrangement, travels_of
from balltravel.sweeps.cases import Case, Progress, run_cases
from balltravel.units import to_texts, told_apart
from balltravel.units.display import against
from balltravel.units.systems import unit_in_use

EQUAL_DELIVERY = 0.005
"""Deliveries within this share of the swept volume count as equal."""

EQUAL_LANDING = 1.05
"""Landing speeds up to this many times the gentlest count as equal (our choice)."""

GENTLE = 0.5
"""Landing speeds below this share of the target count as equal: seat and ball take them (our choice)."""

HEAVIER = 1.2
"""Viscosity over the given one at which each travel is tried as well: nobody knows a material's viscosity
better, and it rises as the material cools (our choice)."""

MOST_FACTOR = 100.0

EQUAL_SHORTFALL = 0.01
"""Shortfalls s are compared in steps of this size in ln(1 + s) (our choice)."""

NO_DELIVERY = 0.01
"""A lower that delivers less than this share of the swept volume does not pump (our choice)."""


@dataclass(frozen=True)
class Choice:
    """Where the shims go (numbers counted from 1) and the ball travel that follows [m]."""

    shims_below: tuple[int, ...]
    shims_above: tuple[int, ...]
    ball_travel: float


class Miss(NamedTuple):
    """A target that is not met: in words, how far off, over the target, and which: ``fill``, ``delivery``,
    ``landing``, ``gap``, ``pumping``, ``feed`` or ``run``; ``is_default`` where nobody set it."""

    text: str
    shortfall: float
    target: str
    is_default: bool = False


@dataclass(frozen=True)
class Trial:
    """An arrangement that was simulated: how that ended, which targets it does not meet and by how much in
    all (the sum of what is missing of each over the target), which closures it takes outside their range,
    what it delivers of swept at a viscosity higher by a fifth (None if that run failed), and the targets that
    it misses there alone. ``below_default``: default targets that it does not meet, which refuse nothing.
    """

    shims_below: tuple[int, ...]
    shims_above: tuple[int, ...]
    ball_travel: float
    status: str
    metrics: Metrics | None
    unmet: tuple[str, ...]
    excursions: tuple[Excursion, ...] = ()
    scatter: float = 0.0
    shortfall: float = 0.0
    heavier: float | None = None
    below_default: tuple[str, ...] = ()
    unmet_in_heavier: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether it was simulated to the end."""
        return self.metrics is not None

    @property
    def assured(self) -> float:
        """The lesser of what it delivers at the given viscosity and at the higher one, over swept."""
        return self.delivery if self.heavier is None else min(self.delivery, self.heavier)

    @property
    def is_indication(self) -> bool:
        """Whether closures are outside their range for so long that its numbers are an indication only."""
        return is_indication(self.excursions)

    @property
    def choice(self) -> Choice:
        """Where its shims go."""
        return Choice(self.shims_below, self.shims_above, self.ball_travel)

    @property
    def delivery(self) -> float:
        """Delivered over swept; below any other for a run that failed."""
        return self.metrics.volumetric_efficiency if self.metrics is not None else float("-inf")

    @property
    def landing(self) -> float:
        """Landing speed of the inlet ball [m/s]; above any other for a run that failed."""
        return self.metrics.inlet.landing_speed if self.metrics is not None else float("inf")


class Asked(NamedTuple):
    """What is asked of a lower: targets of fill, delivery (0: none) and landing [m/s], and the gap that
    particles need [m]; numbers, or arrays that go with those of many cases."""

    fill: Any
    delivery: Any
    landing: Any
    gap: Any


class Reached(NamedTuple):
    """What it reaches of that: fill, delivery over swept, landing [m/s], gap [m], and the pressure of the
    feed above the outlet's [Pa]; numbers, or arrays of many cases."""

    fill: Any
    delivery: Any
    landing: Any
    gap: Any
    feed: Any


def shortfalls(asked: Asked, reached: Reached) -> dict[str, Any]:
    """How far each target is missed, over the target; 0 where it is met, nan where nothing is known."""
    return {
        "fill": _lacking(reached.fill, asked.fill),
        "delivery": _lacking(reached.delivery, asked.delivery),
        "landing": _beyond(reached.landing, asked.landing),
        "gap": _lacking(reached.gap, asked.gap),
        "pumping": 1.0 * (reached.delivery < NO_DELIVERY),
        "feed": 1.0 * (reached.feed > 0.0),
    }


def _lacking(reached: Any, wanted: Any) -> Any:
    """What is missing, over what is wanted; where nothing is wanted, nothing is missing."""
    return (reached < wanted) * (1.0 - reached / (wanted + (wanted == 0.0)))


def _beyond(reached: Any, allowed: Any) -> Any:
    """What is too much, over what is allowed."""
    return (reached > allowed) * (reached / allowed - 1.0)


def asked_of(scenario: Scenario) -> Asked:
    """What a scenario asks of its lower."""
    target, needed = scenario.target, PARTICLE_CLEARANCE * scenario.material.largest_particle
    return Asked(target.fill_fraction, target.delivery, target.landing_speed, needed)


DEFAULTS = {"fill": "fill_fraction", "landing": "landing_speed"}
"""Targets that hold where nobody sets them -> their key."""


def is_default(scenario: Scenario, target: str) -> bool:
    """Whether nobody set a target: it then refuses nothing."""
    return target in DEFAULTS and scenario.target.is_default(DEFAULTS[target])


def landing_missed(scenario: Scenario, metrics: Metrics) -> list[Miss]:
    """The target of the landing, if the inlet ball does not meet it: all that is asked of a flush."""
    by = _beyond(metrics.inlet.landing_speed, scenario.target.landing_speed)
    return [_miss(scenario, "landing", by, _landing_words(scenario, metrics))] if by > 0.0 else []


def missed(scenario: Scenario, metrics: Metrics) -> list[Miss]:
    """The targets that a case does not meet, each with its number and the target's."""
    asked, gap = asked_of(scenario), seat_gap(scenario.inlet_check, scenario.inlet_travel)
    shares = (metrics.fill_fraction, metrics.volumetric_efficiency)
    reached = Reached(*shares, metrics.inlet.landing_speed, gap, feed_excess(scenario))
    short = {name: by for name, by in shortfalls(asked, reached).items() if by > 0.0}
    words: dict[str, Callable[[], str]] = {
        "fill": lambda: _share_words(scenario, "fill", reached.fill, asked.fill),
        "delivery": lambda: _share_words(scenario, "delivery", reached.delivery, asked.delivery),
        "landing": lambda: _landing_words(scenario, metrics),
        "gap": lambda: "gap {} of {} (three particles)".format(*to_texts((gap, asked.gap), "length")),
        "pumping": lambda: "delivers nothing",
        "feed": lambda: "feed runs through (feed pressure above outlet pressure)",
    }
    return [_miss(scenario, name, by, words[name]()) for name, by in short.items()]


def _miss(scenario: Scenario, target: str, by: float, text: str) -> Miss:
    return Miss(text, by, target, is_default(scenario, target))


def _target(scenario: Scenario, target: str, text: str) -> str:
    """``target 90 %``, or ``default target 90 %``."""
    return f"{'default ' if is_default(scenario, target) else ''}target {text}"


def _share_words(scenario: Scenario, target: str, share: float, wanted: float) -> str:
    percent, asked = 100.0 * share, 100.0 * wanted
    return f"{target} {told_apart(percent, asked, 1)} % ({_target(scenario, target, f'{asked:g} %')})"


def _landing_words(scenario: Scenario, metrics: Metrics) -> str:
    fastest, limit = metrics.inlet.landing_speed, scenario.target.landing_speed
    lands, wanted = against(fastest, limit, "velocity", "m/s", 2)
    return f"landing {lands} {unit_in_use('m/s')} ({_target(scenario, 'landing', wanted)})"


def _heavier(scenario: Scenario) -> dict[str, float]:
    """Keys of a material that is heavier by a fifth at every shear rate."""
    return {"material.viscosity_factor": min(HEAVIER * scenario.material.viscosity_factor, MOST_FACTOR)}


TargetCheck = Callable[[Scenario, Metrics], list[Miss]]
"""What a case does not meet of what is asked of it."""


def possible_travels(scenario: Scenario) -> dict[Arrangement, Scenario]:
    """The scenario with each travel that its shims give, by the fewest shims below the cage; without those
    that leave no travel."""
    possible: dict[Arrangement, Scenario] = {}
    for arrangement in travels_of(scenario):
        with suppress(ScenarioError):
            possible[arrangement] = with_shims_below(scenario, arrangement.below)
    return possible


def run_trials(
    scenario: Scenario, progress: Progress | None = None, check: TargetCheck = missed, heavier: bool = True
) -> list[Trial]:
    """Simulate every travel that the shims give, by the fewest shims below the cage; an arrangement that
    leaves no travel is listed and not run. Without ``heavier`` none is run at a higher viscosity."""
    arrangements, possible = travels_of(scenario), possible_travels(scenario)
    thicker = [with_values(s, _heavier(scenario)) for s in possible.values()] if heavier else []
    done = run_cases([*possible.values(), *thicker], progress=progress)
    cases = dict(zip(possible, done, strict=False))
    in_thicker = dict(zip(possible, done[len(possible) :], strict=False))
    return [
        _trial(arrangement, possible[arrangement], cases[arrangement], in_thicker.get(arrangement), check)
        if arrangement in possible
        else _no_travel(arrangement)
        for arrangement in arrangements
    ]


def _no_travel(arrangement: Arrangement) -> Trial:
    shims = (arrangement.below, arrangement.above, arrangement.travel)
    return Trial(*shims, "not_possible", None, ("no travel",), shortfall=math.inf)


def _trial(
    arrangement: Arrangement, scenario: Scenario, case: Case, thicker: Case | None, check: TargetCheck
) -> Trial:
    """What came of an arrangement, at its viscosity and at the higher one."""
    misses = [Miss("the run failed", math.inf, "run")]
    if case.metrics is not None:
        misses = check(scenario, case.metrics)
    in_heavier = [] if thicker is None or thicker.metrics is None else check(scenario, thicker.metrics)
    known = {miss.target for miss in misses}
    return Trial(
        *(arrangement.below, arrangement.above, arrangement.travel),
        status=case.status.name.lower(),
        metrics=case.metrics,
        unmet=tuple(miss.text for miss in misses if not miss.is_default),
        excursions=case.excursions,
        scatter=case.scatter,
        shortfall=sum(miss.shortfall for miss in misses if not miss.is_default),
        heavier=_delivery(thicker),
        below_default=tuple(miss.text for miss in misses if miss.is_default),
        unmet_in_heavier=tuple(miss.text for miss in in_heavier if miss.target not in known),
    )


def _delivery(case: Case | None) -> float | None:
    return None if case is None or case.metrics is None else case.metrics.volumetric_efficiency


class Preferable(Protocol):
    """What an order of preference looks at."""

    @property
    def complete(self) -> bool:
        """Whether it was simulated to the end."""

    @property
    def assured(self) -> float:
        """What is surely delivered, over swept, or how little less than that is lost."""

    @property
    def landing(self) -> float:
        """Landing speed [m/s], or that over another."""

    @property
    def ball_travel(self) -> float:
        """Ball travel [m]."""


P = TypeVar("P", bound=Preferable)


def equals_of(trials: Sequence[P]) -> list[P]:
    """Those that deliver as much as the best of them, within EQUAL_DELIVERY: the rule of a tie."""
    best = max(trial.assured for trial in trials)
    return [trial for trial in trials if trial.assured >= best - EQUAL_DELIVERY]


def ranked(trials: Sequence[P], landing_target: float) -> list[P]:
    """Trials in order of preference: delivery, the lesser of that at the given viscosity and at a fifth more,
    where what is within 0.5 % of swept of the best counts as equal; then the gentler landing, where 5 % count
    as equal and so does all below half the target [m/s]; then the shorter travel. Repeated on the rest: the
    order is total."""
    rest = [trial for trial in trials if trial.complete]
    order: list[P] = []
    while rest:
        equals = equals_of(rest)
        gentlest = min(trial.landing for trial in equals)
        limit = max(EQUAL_LANDING * gentlest, GENTLE * landing_target)
        gentle = [trial for trial in equals if trial.landing <= limit]
        first = min(gentle, key=lambda trial: trial.ball_travel)
        order.append(first)
        rest.remove(first)
    return order


class Measurable(Preferable, Protocol):
    """What an order of nearness to the targets looks at besides."""

    @property
    def shortfall(self) -> float:
        """What is missing of all targets, each over the target."""

    @property
    def delivery(self) -> float:
        """Delivered over swept."""


M = TypeVar("M", bound=Measurable)


def by_nearness(trials: Sequence[M]) -> list[M]:
    """Trials that miss a target, the nearest first: by their shortfall; then the higher delivery; then the
    shorter travel."""
    run = [trial for trial in trials if trial.complete]

    def key(trial: M) -> tuple[int, float, float]:
        return round(math.log1p(trial.shortfall) / EQUAL_SHORTFALL), -trial.delivery, trial.ball_travel

    return sorted(run, key=key)
