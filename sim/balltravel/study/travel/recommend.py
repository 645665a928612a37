"""From all arrangements of the shims to one: the recommendation with its reasons, warnings and band."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from balltravel.core.status import Status
from balltravel.cycle.metrics import Metrics
from balltravel.estimate.cautions import warnings_for
from balltravel.estimate.suction_losses import feed_excess
from balltravel.scenario.arguments import scenario_given
from balltravel.scenario.model import Scenario, with_shims_below, with_value
from balltravel.study.travel.accuracy import Band, numerical_band
from balltravel.study.travel.dives import dive_caution
from balltravel.study.travel.reasons import reasons
from balltravel.study.travel.rest_and_pot_life import FirstStroke, PotLife, first_stroke, pot_life
from balltravel.study.travel.trials import NO_DELIVERY, Choice, Trial, by_nearness, ranked, run_trials
from balltravel.sweeps.cases import Case, Progress

__all__ = ["Choice", "Recommendation", "Trial", "recommend", "warnings_for"]


@dataclass(frozen=True)
class OffAxis:
    """The other end of what a ball in its cage may do: both balls touch their cages. What is recommended
    then, and the metrics of the arrangement that is chosen for centred balls."""

    recommended: Choice | None
    metrics: Metrics | None


@dataclass(frozen=True)
class Recommendation:
    """The chosen arrangement, or None where none meets the targets, with all that were tried.

    ``indication``: its numbers rest on closures outside their range; ``band``: its numerical band;
    ``off_axis``: the same with balls that touch their cages, None where the scenario says so itself;
    ``first_stroke``, ``pot_life``: of the chosen arrangement, where the material's keys give them.
    """

    recommended: Choice | None
    runner_up: Choice | None
    best_available: Choice | None
    arrangements: tuple[Trial, ...]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    indication: bool
    band: Band
    off_axis: OffAxis | None = None
    first_stroke: FirstStroke | None = None
    pot_life: PotLife | None = None

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return asdict(self)


VALIDATION_NOTE = (
    "No published measurements of closing lag against viscosity for free balls are known: the model is "
    "verified against exact cases and component data, not against a pump. Timing the fall of the real ball "
    "in its real check in a known oil is a cheap test of the closures (see `balltravel check`)."
)


def recommend(scenario: Scenario, *, progress: Progress | None = None) -> Recommendation:
    """Simulate every arrangement of the shims and choose one.

    Order: meets the targets (fill, landing speed, gap at least three times the largest particle: common
    practice, no source; something delivered; a feed that does not run through by itself); then delivery,
    where differences within 0.5 % of swept count as equal; then the gentler landing, where 5 % count as equal
    and so does all below half the target; then the shorter travel. ``recommended`` is None where none meets
    the targets; ``best_available`` is then the one that misses least of them. The scenario's own
    ``shims.below`` plays no part. Raises ScenarioError for what is no scenario.
    """
    scenario_given(scenario)
    trials = run_trials(scenario, progress)
    meeting = _meeting(scenario, trials)
    order = meeting or by_nearness(trials)
    chosen = order[0] if order else None
    pumping = _pumping(scenario, order)
    warnings: tuple[str, ...] = ()
    band = Band({}, "no run was complete")
    if chosen is not None:
        chosen_scenario = with_shims_below(scenario, chosen.shims_below)
        status = Status[chosen.status.upper()]
        warnings = (
            *warnings_for(chosen_scenario, chosen.metrics, status),
            *dive_caution(chosen_scenario, chosen.metrics),
        )
        band = Band({}, "no arrangement is named")
    if chosen is not None and pumping:
        band = numerical_band(
            chosen_scenario, Case(status, chosen.metrics, chosen.excursions, chosen.scatter)
        )
    return Recommendation(
        recommended=meeting[0].choice if meeting else None,
        runner_up=pumping[1].choice if len(pumping) > 1 else None,
        best_available=None if meeting or not pumping else pumping[0].choice,
        arrangements=tuple(trials),
        reasons=tuple(reasons(scenario, trials, order, bool(meeting))),
        warnings=(*warnings, VALIDATION_NOTE),
        indication=chosen is not None and chosen.is_indication,
        band=band,
        off_axis=_off_axis(scenario, pumping[0]) if pumping else None,
        first_stroke=first_stroke(chosen_scenario) if chosen is not None and pumping else None,
        pot_life=pot_life(chosen_scenario) if chosen is not None and pumping else None,
    )


def best_of(scenario: Scenario, trials: Sequence[Trial]) -> Trial | None:
    """The trial that `recommend` names: recommended, else the nearest; None where it names none."""
    order = _meeting(scenario, trials) or by_nearness(trials)
    return next(iter(_pumping(scenario, order)), None)


def _pumping(scenario: Scenario, order: Sequence[Trial]) -> list[Trial]:
    """Of an order those that pump, by the piston and not by the feed."""
    return [] if feed_excess(scenario) > 0.0 else [trial for trial in order if trial.delivery >= NO_DELIVERY]


def _meeting(scenario: Scenario, trials: Sequence[Trial]) -> list[Trial]:
    return ranked([trial for trial in trials if not trial.unmet], scenario.target.landing_speed)


def _off_axis(scenario: Scenario, chosen: Trial) -> OffAxis | None:
    """All arrangements once more with touching balls."""
    if scenario.closures.ball_position == "touching":
        return None
    touching = with_value(scenario, "closures.ball_position", "touching")
    trials = run_trials(touching)
    meeting = _meeting(touching, trials)
    metrics = next((trial.metrics for trial in trials if trial.choice == chosen.choice), None)
    return OffAxis(meeting[0].choice if meeting else None, metrics)
