"""What the fitter of one job asks of the arrangement that is named: what a cycle gives, and the highest rate
and the lowest temperature (of a material without a law of temperature: the thickest material) that hold."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from threading import Lock
from typing import Any

from balltravel.scenario.model import Scenario, with_shims_below
from balltravel.study.limits.chances import Look, look_at, margin_task
from balltravel.study.limits.find import DRAWS, Limit, limit_of
from balltravel.study.search.inputs import CYCLE_RATE, INPUTS, Input
from balltravel.study.search.walk import Base, Budget, reader_of, walks
from balltravel.study.travel.recommend import Recommendation
from balltravel.study.travel.trials import NO_DELIVERY, Choice
from balltravel.study.verdict.choice import NONE_MEETS_FIRST
from balltravel.sweeps.cases import Progress

CHEAP = Budget(runs=40, steps=150_000)
"""Some seconds a row; a search that takes more ends there and says so (our choice)."""

CHEAP_STEPS = 12_000
"""A lower whose run takes more steps of the method is not drawn here (our choice)."""

RATE, TEMPERATURE, VISCOSITY = "drive.cycle_rate", "material.temperature", "material.viscosity_factor"

Delivered = tuple[float, float, float]


@dataclass(frozen=True)
class Job:
    """The arrangement that is named, and what it does at the scenario's rate.

    ``meets``: False where none is recommended and this is the nearest; ``shims``: how many there are in all;
    ``swept`` [m3 a cycle]; ``delivered`` [m3 a cycle]: what 5, 50 and 95 of 100 draws stay below, of a run at
    exact values three times its number; ``cycle_rate`` as run [1/s]; ``limits``: of rate and temperature or
    viscosity, those that have a room to be searched in; ``not_searched``: key -> why not; ``draws`` over
    which limits are judged (0: at the likely values); ``chance`` that the targets hold, None: not drawn.
    """

    choice: Choice
    meets: bool
    shims: int
    swept: float
    delivered: Delivered
    cycle_rate: float
    limits: tuple[Limit, ...]
    not_searched: dict[str, str]
    draws: int
    chance: float | None

    @property
    def cycles_per_litre(self) -> Delivered:
        """Cycles that deliver a litre, the fewest first; nan where as good as nothing is delivered."""
        least = NO_DELIVERY * self.swept
        low, middle, high = (1e-3 / volume if volume > least else float("nan") for volume in self.delivered)
        return high, middle, low

    @property
    def flow(self) -> Delivered:
        """Delivered at the cycle rate [m3/s]."""
        low, middle, high = (volume * self.cycle_rate for volume in self.delivered)
        return low, middle, high

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return {**asdict(self), "cycles_per_litre": self.cycles_per_litre, "flow": self.flow}


def named_choice(recommendation: Recommendation) -> Choice | None:
    """The arrangement that an answer names: the verdict's, else that of the run, else the nearest."""
    if recommendation.verdict is not None:
        return recommendation.verdict.chosen
    return recommendation.recommended or recommendation.best_available


def meets(recommendation: Recommendation) -> bool:
    """Whether a travel meets the targets: in half of the draws, or in the run at exact values."""
    verdict = recommendation.verdict
    if verdict is None:
        return recommendation.recommended is not None
    return verdict.chosen is not None and 1.0 - verdict.any_meets < NONE_MEETS_FIRST


def job_of(
    scenario: Scenario, recommendation: Recommendation, progress: Progress | None = None
) -> Job | None:
    """The job of an answer; None where it names no arrangement that runs. ``progress`` is called with (parts
    done, parts in all)."""
    choice = named_choice(recommendation)
    metrics = next((t.metrics for t in recommendation.arrangements if t.choice == choice), None)
    if choice is None or metrics is None:
        return None
    verdict, swept = recommendation.verdict, metrics.loss_budget.swept
    promise = None if verdict is None else verdict.promised(choice)
    delivered: Delivered = (metrics.delivered_volume,) * 3
    if promise is not None:
        shares = (promise.delivery_5, promise.delivery_50, promise.delivery_95)
        delivered = (swept * shares[0], swept * shares[1], swept * shares[2])
    named = with_shims_below(scenario, choice.shims_below)
    drawn = verdict is not None and bool(verdict.inputs)
    limits, why, look = _limits(named, verdict.seed if verdict and drawn else None, progress)
    return Job(
        choice=choice,
        meets=meets(recommendation),
        shims=len(scenario.shims.thicknesses),
        swept=swept,
        delivered=delivered,
        cycle_rate=metrics.cycle_rate,
        limits=limits,
        not_searched=why,
        draws=0 if look is None or look.chance is None else DRAWS,
        chance=None if look is None else look.chance,
    )


def with_job(
    scenario: Scenario, recommendation: Recommendation, progress: Progress | None = None
) -> Recommendation:
    """The answer with its job, as ``job_of`` makes it."""
    return replace(recommendation, job=job_of(scenario, recommendation, progress))


def _limits(
    scenario: Scenario, seed: int | None, progress: Progress | None
) -> tuple[tuple[Limit, ...], dict[str, str], Look | None]:
    """Both limits, why one is not there, and the draws they were judged on (``seed`` None: none)."""
    base = Base(reader_of(scenario), (), Lock(), budget=CHEAP)
    if base.case.status.failed:
        return (), dict.fromkeys((RATE, TEMPERATURE), "the run at the likely values failed"), None
    why = dict(_not_searched(base.scenario))
    items = [item.in_use() for item in _asked(base.scenario)]
    is_cheap = base.case.steps <= CHEAP_STEPS and scenario.drive.cycle_rate is not None
    look = look_at(base, DRAWS, seed) if seed is not None and is_cheap else None
    limits = []
    for number, item in enumerate(items):
        if progress is not None:
            progress(number, len(items))
        for walked in walks(base, item)[:1]:
            limit = limit_of(base, walked)
            if look is not None:
                margin = margin_task(look, walked)()
                limit = replace(limit, holds_in_95=margin.holds_in_95, chance_now=margin.chance_now)
            limits.append(limit)
    if progress is not None:
        progress(len(items), len(items))
    found = {limit.key for limit in limits}
    why |= {item.key: "it is at the end of what a shop can do" for item in items if item.key not in found}
    return tuple(limits), why, look


def _asked(scenario: Scenario) -> list[Input]:
    """What is searched: the rate if the scenario sets it, then the temperature or, without a law of it, the
    viscosity."""
    by_key = {item.key: item for item in INPUTS}
    cold = by_key[TEMPERATURE] if by_key[TEMPERATURE].is_active(scenario) else by_key[VISCOSITY]
    return [*([CYCLE_RATE] if CYCLE_RATE.is_active(scenario) else []), cold]


def _not_searched(scenario: Scenario) -> Iterator[tuple[str, str]]:
    """Key -> why it is not searched."""
    if not CYCLE_RATE.is_active(scenario):
        sets = "motor" if scenario.drive.profile == "motor" else "tip"
        yield RATE, f"the {sets} sets the rate; `balltravel limits` shows how far its inputs may go"
    if scenario.material.temperature_law == "none":
        yield TEMPERATURE, "the file does not say how the viscosity changes with temperature"
