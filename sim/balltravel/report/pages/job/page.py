"""The page of a job: the verdict first, then what it rests on, as one file that needs nothing else."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from balltravel import __version__
from balltravel.core.status import Status
from balltravel.cycle.run import Cycle, run_cycle
from balltravel.estimate.material_report import material_report
from balltravel.material.model import material_model
from balltravel.report.care import CARE
from balltravel.report.figures.cycle import cycle_columns
from balltravel.report.figures.everyone.cycle import message_of, plain_figure
from balltravel.report.figures.everyone.delivery import delivery_figure
from balltravel.report.figures.everyone.embedded import embedded
from balltravel.report.figures.material import material_figure
from balltravel.report.figures.verdict import verdict_figure
from balltravel.report.over_travel import points_of_draws, points_of_run, travel_message
from balltravel.report.pages.job.bars import losses, spans, worth_knowing
from balltravel.report.pages.job.drawing import drawing_of
from balltravel.report.pages.job.tables import input_rows, prospect_rows, trial_rows
from balltravel.report.pages.markup import markup
from balltravel.report.section.moments import moments_of
from balltravel.report.tables import bench, plain, viscosity_stated
from balltravel.report.text.card.front import card_of
from balltravel.report.text.recommend import named_lines, reservations_head, targets_in_words
from balltravel.report.text.verdict import (
    draws_in_words,
    is_overruled,
    named_alone,
    single_run_head,
    targets_are_set,
    verdict_sentences,
    verdict_text,
    why_named,
)
from balltravel.scenario.model import Scenario, with_shims_below
from balltravel.study.limits.job import named_choice
from balltravel.study.travel.recommend import standing_against
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.study.travel.recommend import Recommendation, Trial
    from balltravel.study.verdict.record import Answer


@dataclass(frozen=True)
class Source:
    """Where a scenario is from: the text of its file, the digest of that file, or of the scenario as JSON
    where there is none, the settings given beside it, and the text of values that were written as text."""

    sha256: str
    text: str = ""
    settings: tuple[str, ...] = ()
    written: dict[str, str] = field(default_factory=dict)

    @property
    def keys_set(self) -> set[str]:
        """The keys that were given beside the file."""
        return {setting.partition("=")[0].strip() for setting in self.settings}


def job_html(scenario: Scenario, answer: "Answer", source: Source, today: date | None = None) -> str:
    """The page of an answer whose job is known, in the units in use."""
    recommendation, verdict = answer.recommendation, answer.verdict
    card, overruled = card_of(scenario, recommendation, today), is_overruled(verdict, recommendation)
    return markup(
        "job.html",
        card=card,
        targets=plain(targets_in_words(scenario)),
        told=[plain(line) for line in _told(scenario, answer)],
        reservations=_reservations(scenario, recommendation, overruled),
        drawing=drawing_of(*card.drawn),
        drawn_over=verdict is not None,
        targets_counted=targets_are_set(scenario),
        rows=prospect_rows(scenario, verdict) if verdict else trial_rows(scenario, recommendation),
        travel_unit=unit_in_use("mm"),
        given_up=f"{100.0 * verdict.regret_mean:.2f} %" if verdict else "",
        worth=worth_knowing(verdict) if verdict else [],
        spans=list(spans(recommendation.job, viscosity_stated(scenario.material)))
        if recommendation.job
        else [],
        why=[plain(line) for line in (why_named(verdict, named_alone(recommendation)) if verdict else ())],
        reasons_head=plain(single_run_head(verdict, recommendation)).rstrip(":") if verdict else "",
        overruled=overruled,
        reasons=[plain(line) for line in recommendation.reasons],
        warnings=[plain(line) for line in recommendation.warnings],
        printed=verdict_text(scenario, answer),
        inputs=input_rows(scenario, source.written, source.keys_set),
        provenance=list(_provenance(answer, source, today)),
        file="\n".join(map(plain, source.text.splitlines())),
        care=" ".join(CARE),
        is_newtonian=material_model(scenario.material).newtonian,
        figures=_figures(scenario, answer),
        **_of_the_named(scenario, recommendation),
    )


def _told(scenario: Scenario, answer: "Answer") -> list[str]:
    """The verdict in the words that are printed."""
    if answer.verdict is not None:
        return verdict_sentences(scenario, answer.verdict)
    said = named_lines(scenario, answer.recommendation)
    return [*said, "Every value was taken as exact: nothing is said of chances."]


def _reservations(
    scenario: Scenario, recommendation: "Recommendation", overruled: bool
) -> tuple[str, list[str]]:
    """What stands against the arrangement that is named, and its head. That of a run which the verdict
    overrules is of another travel: then it is found anew, at the likely values."""
    head, told = reservations_head(recommendation), recommendation.reservations
    if overruled:
        trial = _named_trial(recommendation)
        head = f"{head} (at the likely values)"
        told = standing_against(scenario, trial, recommendation.arrangements) if trial else ()
    return head, [plain(line) for line in told]


def _named_trial(recommendation: "Recommendation") -> "Trial | None":
    """The run of the arrangement that is named; None where none is or it failed."""
    choice = named_choice(recommendation)
    named = (trial for trial in recommendation.arrangements if trial.choice == choice)
    return next((trial for trial in named if trial.metrics is not None), None)


def _of_the_named(scenario: Scenario, recommendation: "Recommendation") -> dict[str, Any]:
    """Losses and cycle of the arrangement that is named, at the likely values; empty where none is."""
    trial = _named_trial(recommendation)
    if trial is None or trial.metrics is None:
        return {"losses": [], "delivered": "", "travel": "", "cycle": None}
    cycle = run_cycle(with_shims_below(scenario, trial.shims_below))
    budget = trial.metrics.loss_budget
    return {
        "losses": losses(budget),
        "delivered": f"{100.0 * budget.delivered / budget.swept:.1f} %",
        "travel": bench(trial.ball_travel, "length"),
        "cycle": None if cycle.metrics is None else _cycle_drawn(cycle),
    }


NARROW = 4.7
"""Width of a figure that is read on a phone as well [in]."""


def _cycle_drawn(cycle: Cycle) -> dict[str, Markup]:
    """In two readings: for everyone, whose words are told to who cannot see it, and all of it."""
    repeats = "" if cycle.status == Status.OK else ", which does not repeat itself"
    said = " ".join([f"{message_of(cycle)}.", *(moment.said for moment in moments_of(cycle))])
    whole, top = cycle_columns(cycle, NARROW)
    return {
        "plain": embedded(plain_figure(cycle, NARROW, footed=False), "cycle-plain", said),
        "whole": embedded(whole, "cycle", f"All of one cycle{repeats}: lifts, pressures, flows"),
        "top": embedded(top, "cycle-top", "The same around top dead centre"),
    }


def _figures(scenario: Scenario, answer: "Answer") -> dict[str, Markup]:
    """The material, and the map of the draws where they are known."""
    over_rate = "Viscosity over the shear rates in this lower"
    figure = material_figure(scenario, material_report(scenario))
    drawn = {"material": embedded(figure, "material", over_rate)}
    points = points_of_draws(answer.verdict) if answer.verdict else points_of_run(answer.recommendation)
    said = f"Delivery over ball travel. {travel_message(points)}."
    drawn["delivery"] = embedded(delivery_figure(scenario, answer, NARROW), "delivery", said)
    if answer.points is not None:
        label = "Delivery over ball travel, the best travel over the two inputs that decide most"
        drawn["draws"] = embedded(verdict_figure(scenario, answer), "draws", label)
    return drawn


def _provenance(answer: "Answer", source: Source, today: date | None) -> Iterator[tuple[str, str]]:
    verdict = answer.verdict
    yield "Version", f"balltravel {__version__}"
    yield "Date", str(today or date.today())
    yield "Draws", draws_in_words(verdict) if verdict else "none: every value was taken as exact"
    if verdict is not None and verdict.refused:
        yield "Left out", f"{verdict.refused} draws that make no possible lower or material"
    job = answer.recommendation.job
    if job is not None and job.limits:
        yield "Limits", f"over {job.draws} draws" if job.draws else "at the likely values"
    yield ("Digest of the file" if source.text else "Digest of the scenario"), f"sha256 {source.sha256}"
    for setting in source.settings:
        yield "Set beside the file", plain(setting)
