"""What stands against a recommendation and is said before its reasons."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from balltravel.estimate.suction_losses import suction_losses
from balltravel.scenario.model import Scenario, ScenarioError, with_shims_below, with_value
from balltravel.study.travel.trials import HEAVIER, Trial
from balltravel.sweeps.cases import run_cases
from balltravel.units import to_text
from balltravel.units.display import in_unit
from balltravel.units.systems import unit_in_use

TOLERANCE = 1e-4
"""How far a travel may be off [m]: a stack of shims, a gasket, a worn seat (our choice)."""

CLIFF = 0.02
"""Loss of delivery over swept, from one travel to one a tolerance away, that is told (our choice)."""


class Neighbour(NamedTuple):
    """The travel of one check [m], a tolerance away from the chosen one, and what is delivered of swept."""

    check: str
    travel: float
    delivery: float


def reservations(scenario: Scenario, chosen: Trial, trials: Sequence[Trial]) -> tuple[str, ...]:
    """Sentences on the chosen trial, the weightiest first; empty where nothing stands against it."""
    at = with_shims_below(scenario, chosen.shims_below)
    return (*_starved(at, trials), *_edge(at, chosen), *default_missed(chosen), *_heavier(chosen, trials))


def limit_beyond_travel(scenario: Scenario, trials: Sequence[Trial]) -> str:
    """What limits a lower that no travel fills: ``hose``, ``cage``, or ``travel`` where the gap that travel
    sets takes most; empty where some travel fills it. ``scenario``: at the travel that is named."""
    needed = scenario.target.fill_fraction
    if any(trial.metrics.fill_fraction >= needed for trial in trials if trial.metrics is not None):
        return ""
    return suction_losses(scenario).starved_by or "travel"


def _starved(scenario: Scenario, trials: Sequence[Trial]) -> Iterator[str]:
    """The hose or the cage takes the suction, and no travel fills the chamber."""
    culprit = limit_beyond_travel(scenario, trials)
    if culprit in ("hose", "cage"):
        wider = "A wider or shorter hose, a feed" if culprit == "hose" else "A wider cage"
        yield (
            f"The {culprit}, not travel, is the limit: none of these travels fills the chamber. {wider}, "
            "thinner material or a lower cycle rate does (`balltravel limits FILE`)."
        )


def neighbours(scenario: Scenario) -> list[Neighbour]:
    """Both checks' travels a tolerance shorter and longer, each alone, and their deliveries."""
    places: list[tuple[str, float, Scenario]] = []
    for check, key, now, travel in (
        ("inlet", "inlet_check.base_travel", scenario.inlet_check.base_travel, scenario.inlet_travel),
        ("piston", "piston_check.travel", scenario.piston_check.travel, scenario.piston_check.travel),
    ):
        for step in (-TOLERANCE, TOLERANCE):
            try:
                places.append((check, travel + step, with_value(scenario, key, now + step)))
            except ScenarioError:
                continue
    cases = run_cases([moved for _, _, moved in places])
    return [
        Neighbour(check, travel, case.metrics.volumetric_efficiency)
        for (check, travel, _), case in zip(places, cases, strict=True)
        if case.metrics is not None
    ]


def _edge(scenario: Scenario, chosen: Trial) -> Iterator[str]:
    """A travel next to the chosen one that delivers much less."""
    worst = min(neighbours(scenario), key=lambda near: near.delivery, default=None)
    if worst is None or chosen.delivery - worst.delivery <= CLIFF + chosen.scatter:
        return
    now = scenario.inlet_travel if worst.check == "inlet" else scenario.piston_check.travel
    way = "longer" if worst.travel > now else "shorter"
    apart = f"{in_unit(TOLERANCE, 'length', 'mm'):.1g} {unit_in_use('mm')}"
    yield (
        f"This travel stands at an edge: with the {worst.check} ball's travel {apart} {way} "
        f"({to_text(worst.travel, 'length', 3)}) it delivers {100 * worst.delivery:.1f} % of swept instead "
        f"of {100 * chosen.delivery:.1f} %. Measure both travels, or stay farther from the edge."
    )


def default_missed(chosen: Trial) -> Iterator[str]:
    """Default targets that a trial does not meet, as a warning; nothing where it meets them."""
    if chosen.below_default:
        yield (
            f"A target that nobody set is missed: {'; '.join(chosen.below_default)}. The default is our "
            "choice and only warns; set it under [target] to what the job needs."
        )


def _heavier(chosen: Trial, trials: Sequence[Trial]) -> Iterator[str]:
    """Targets that it meets now and misses in heavier material, and who would not."""
    if not chosen.unmet_in_heavier:
        return
    holds = [t for t in trials if t.complete and not (t.unmet or t.below_default or t.unmet_in_heavier)]
    nearest = min(holds, key=lambda trial: abs(trial.ball_travel - chosen.ball_travel), default=None)
    other = "no arrangement of these shims meets it then"
    if nearest is not None:
        other = f"a ball travel of {to_text(nearest.ball_travel, 'length', 3)} meets it then"
    more = f"At {100 * (HEAVIER - 1):.0f} % more viscosity"
    yield f"{more} it misses: {'; '.join(chosen.unmet_in_heavier)}; {other}."
