"""From all arrangements of the shims to one: the recommendation with its reasons, warnings and band."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from balltravel.core.status import Status
from balltravel.cycle.metrics import Metrics
from balltravel.estimate.cautions import decisive_warnings, further_warnings
from balltravel.estimate.suction_losses import feed_excess
from balltravel.scenario.arguments import scenario_given
from balltravel.scenario.model import Scenario, with_shims_below, with_values
from balltravel.scenario.unknowns import changes_of
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.parameters import ball_share
from balltravel.study.travel.accuracy import Band, numerical_band
from balltravel.study.travel.dives import dive_caution
from balltravel.study.travel.outlet_dip import OutletDip, outlet_dip
from balltravel.study.travel.port_compliance import port_caution, port_tries
from balltravel.study.travel.reasons import reasons
from balltravel.study.travel.reservations import reservations
from balltravel.study.travel.rest_and_pot_life import FirstStroke, PotLife, first_stroke, pot_life
from balltravel.study.travel.trials import NO_DELIVERY, Choice, Trial, by_nearness, ranked, run_trials
from balltravel.sweeps.cases import Batches, Case, Progress

if TYPE_CHECKING:
    from balltravel.study.limits.job import Job
    from balltravel.study.verdict.record import Verdict

__all__ = ["Choice", "Recommendation", "Trial", "recommend"]


@dataclass(frozen=True)
class OffAxis:
    """The same with both balls where they drift in their cages: what is recommended then, the metrics of the
    arrangement that is chosen without, and the offset of its inlet ball over its guide clearance."""

    recommended: Choice | None
    metrics: Metrics | None
    inlet_share: float


@dataclass(frozen=True)
class Recommendation:
    """The chosen arrangement, or None where none meets the targets that were set, with all that were tried.

    ``reservations``: what stands against it and counts for more than its reasons, the weightiest first;
    ``indication``: its numbers rest on closures outside their range; ``band``: its numerical band;
    ``off_axis``: the same with balls that drift, None where the scenario's own do;
    ``outlet_dip``: the dip at changeover, at a tip; ``first_stroke``, ``pot_life``: of the chosen one, where
    the material's keys give them; ``verdict``: what holds over all that is not known, None where nothing was
    drawn; ``job``: what stands on a job card, None where none was made.
    """

    recommended: Choice | None
    runner_up: Choice | None
    best_available: Choice | None
    arrangements: tuple[Trial, ...]
    reservations: tuple[str, ...]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    indication: bool
    band: Band
    off_axis: OffAxis | None = None
    outlet_dip: OutletDip | None = None
    first_stroke: FirstStroke | None = None
    pot_life: PotLife | None = None
    verdict: "Verdict | None" = None
    job: "Job | None" = None

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units; with a verdict it is there too, and each
        arrangement has what it promises (None of one that was not drawn); with a job it has that."""
        values = asdict(replace(self, verdict=None, job=None))
        del values["verdict"], values["job"]
        if self.job is not None:
            values["job"] = self.job.as_dict()
        if self.verdict is None:
            return values
        for trial, entry in zip(self.arrangements, values["arrangements"], strict=True):
            promised = self.verdict.promised(trial.choice)
            entry |= {name: getattr(promised, name, None) for name in PROMISED}
        return {**values, "verdict": self.verdict.as_dict()}


DRIFTING = "drifting"

PROMISED = ("chance", "delivery_5", "delivery_50", "delivery_95", "regret_95")
"""What an arrangement's entry has of its prospect."""


VALIDATION_NOTE = (
    "No published measurements of closing lag against viscosity for free balls are known: the model is "
    "verified against exact cases and component data, not against a pump. Timing the fall of the real ball "
    "in its real check in a known oil is a cheap test of the closures (see `balltravel check`)."
)


def recommend(scenario: Scenario, *, progress: Progress | None = None) -> Recommendation:
    """Simulate every arrangement of the shims and choose one.

    Order: meets the targets (fill, landing speed, gap at least three times the largest particle: common
    practice, no source; something delivered; a feed that does not run through by itself; of fill and landing
    what was set, for a default target refuses nothing and is told as a reservation); then delivery,
    where differences within 0.5 % of swept count as equal; then the gentler landing, where 5 % count as equal
    and so does all below half the target; then the shorter travel. ``recommended`` is None where none meets
    the targets; ``best_available`` is then the one that misses least of them. The scenario's own
    ``shims.below`` plays no part. ``progress`` is called with (runs done, runs in all). Raises ScenarioError
    for what is no scenario.
    """
    scenario_given(scenario)
    batches = Batches(progress, 1 if scenario.closures.ball_position == DRIFTING else 2)
    trials = run_trials(scenario, batches.next())
    meeting = _meeting(scenario, trials)
    order = meeting or by_nearness(trials)
    pumping = _pumping(scenario, order)
    why = tuple(reasons(scenario, trials, order, bool(meeting)))
    if not order:
        batches.finish()
        band = Band({}, "no run was complete")
        return Recommendation(None, None, None, tuple(trials), (), why, (VALIDATION_NOTE,), False, band)
    chosen = order[0]
    at = with_shims_below(scenario, chosen.shims_below)
    status = Status[chosen.status.upper()]
    case = Case(status, chosen.metrics, chosen.excursions, chosen.scatter)
    against = standing_against(scenario, chosen, trials, bool(pumping))
    off_axis = _off_axis(scenario, chosen, batches) if pumping else None
    batches.finish()
    return Recommendation(
        recommended=meeting[0].choice if meeting else None,
        runner_up=pumping[1].choice if len(pumping) > 1 else None,
        best_available=None if meeting or not pumping else pumping[0].choice,
        arrangements=tuple(trials),
        reservations=against,
        reasons=why,
        warnings=(
            *further_warnings(at, chosen.metrics),
            *dive_caution(at, chosen.metrics),
            VALIDATION_NOTE,
        ),
        indication=chosen.is_indication,
        band=numerical_band(at, case) if pumping else Band({}, "no arrangement is named"),
        off_axis=off_axis,
        outlet_dip=outlet_dip(scenario, chosen, trials) if pumping else None,
        first_stroke=first_stroke(at) if pumping else None,
        pot_life=pot_life(at) if pumping else None,
    )


def standing_against(
    scenario: Scenario, chosen: Trial, trials: Sequence[Trial], pumps: bool = True
) -> tuple[str, ...]:
    """What stands against a trial, the weightiest first; some runs are made for it. ``pumps``: False where
    none does."""
    at = with_shims_below(scenario, chosen.shims_below)
    return (
        *decisive_warnings(at, chosen.metrics, Status[chosen.status.upper()]),
        *port_caution(at, port_tries(at, chosen.metrics)),
        *(reservations(scenario, chosen, trials) if pumps else ()),
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


def _off_axis(scenario: Scenario, chosen: Trial, batches: Batches) -> OffAxis | None:
    """All arrangements once more with drifting balls."""
    if scenario.closures.ball_position == DRIFTING:
        return None
    drifting = with_values(scenario, changes_of(scenario, {"closures.ball_position": DRIFTING}))
    trials = run_trials(drifting, batches.next())
    meeting = _meeting(drifting, trials)
    metrics = next((trial.metrics for trial in trials if trial.choice == chosen.choice), None)
    at = with_shims_below(drifting, chosen.shims_below)
    share = ball_share(at, at.inlet_check, at.inlet_travel, lambda: cycle_rate_of(at))
    return OffAxis(meeting[0].choice if meeting else None, metrics, share)
