"""The job card of a recommendation as a file: for the command and for people who call it from Python."""

import os
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from balltravel.files.read_write import write_or_tell
from balltravel.scenario.arguments import path_given, refused, scenario_given
from balltravel.scenario.model import Scenario
from balltravel.study.limits.job import with_job
from balltravel.study.travel.recommend import Recommendation
from balltravel.sweeps.cases import Progress
from balltravel.units.systems import METRIC, US, in_use

if TYPE_CHECKING:
    from balltravel.study.verdict.record import Answer

ENDINGS = (".pdf", ".html")


def card(
    scenario: Scenario,
    recommendation: Recommendation,
    path: str | Path,
    *,
    progress: Progress | None = None,
) -> Recommendation:
    """Write the job card of a recommendation (as ``balltravel.recommend`` makes it of this scenario), two
    pages to print, in the units in use (``balltravel.shown_in``); ``path`` ends in .pdf or .html.

    Returns the recommendation with its ``job``: every number of the card [SI]. That takes some seconds of
    runs for the highest rate and the lowest temperature; ``progress`` is called with (parts done, parts in
    all). Raises ScenarioError for another ending and FileError where it cannot be written.
    """
    target = path_given(path, '"card.pdf"')
    if target.suffix.lower() not in ENDINGS:
        raise refused("path", f'"{str(path)[:80]}" given', "a name ending in .pdf or .html", "card.pdf")
    if recommendation.job is None:
        recommendation = with_job(scenario_given(scenario), recommendation, progress)
    data = card_bytes(scenario, recommendation, target)
    write_or_tell(data, target)
    return recommendation


def card_bytes(
    scenario: Scenario, answer: "Recommendation | Answer", path: str | Path, today: date | None = None
) -> bytes:
    """The file of an answer whose job is known, by the ending of its name."""
    from balltravel.report.figures.plain import plain_settings
    from balltravel.report.text.card.front import card_of

    recommendation = answer if isinstance(answer, Recommendation) else answer.recommendation
    made = card_of(scenario, recommendation, today)
    system = US if in_use.get() == US else METRIC
    with plain_settings():
        if os.path.splitext(path)[1].lower() == ".html":
            from balltravel.report.figures.card.html import card_html

            return card_html(made, system).encode()
        from balltravel.report.figures.card.page import card_pdf

        return card_pdf(made, system)
