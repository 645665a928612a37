"""The page of a job as a file: for the command and for people who call it from Python."""

import hashlib
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from balltravel.files.read_write import ScenarioFile, as_written, write_or_tell
from balltravel.scenario.arguments import path_given, refused, scenario_given
from balltravel.scenario.model import Scenario
from balltravel.study.limits.job import with_job
from balltravel.study.travel.recommend import Recommendation
from balltravel.study.verdict.record import Answer
from balltravel.sweeps.cases import Progress

if TYPE_CHECKING:
    from balltravel.report.pages.job.page import Source


def job_report(
    scenario: Scenario,
    recommendation: Recommendation,
    path: str | Path,
    *,
    progress: Progress | None = None,
) -> Recommendation:
    """Write one page with all that is known of a job: a recommendation (as ``balltravel.recommend`` makes it
    of this scenario) and what it rests on, in the units in use (``balltravel.shown_in``); a name in .html.

    Returns the recommendation with its ``job``, as ``balltravel.card`` does: that takes some seconds of runs;
    ``progress`` is called with (parts done, parts in all). Raises ScenarioError for another ending and
    FileError where it cannot be written.
    """
    target = path_given(path, '"job.html"')
    if target.suffix.lower() != ".html":
        raise refused("path", f'"{str(path)[:80]}" given', "a name ending in .html", "job.html")
    if recommendation.job is None:
        recommendation = with_job(scenario_given(scenario), recommendation, progress)
    data = _page(scenario, Answer(recommendation, recommendation.verdict), None)
    write_or_tell(data, target)
    return recommendation


def report_bytes(
    scenario: Scenario,
    answer: Recommendation | Answer,
    given: ScenarioFile,
    path: str,
    settings: Sequence[str] = (),
    today: date | None = None,
) -> bytes:
    """The page of an answer whose job is known; ``path``, ``settings``: with which the file was read."""
    from balltravel.report.pages.job.page import Source

    whole = answer if isinstance(answer, Answer) else Answer(answer, answer.verdict)
    written = as_written(given, path, settings)
    return _page(scenario, whole, Source(given.sha256, given.text, tuple(settings), written), today)


def _page(
    scenario: Scenario, answer: Answer, source: "Source | None" = None, today: date | None = None
) -> bytes:
    """``source`` None: of a scenario that was made in Python."""
    from balltravel.report.figures.plain import plain_settings

    with plain_settings():
        from balltravel.report.pages.job.page import Source, job_html

        of_json = hashlib.sha256(scenario.model_dump_json().encode()).hexdigest()
        return job_html(scenario, answer, source or Source(of_json), today).encode()
