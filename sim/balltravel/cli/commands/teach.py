"""The command lesson: a page for a class. Heavy imports stand inside."""

import os
from pathlib import Path
from typing import Any

from balltravel.cli.command import Command, Job, option
from balltravel.cli.given import NotWrittenError, RefusedError
from balltravel.cli.output import say

PAGE = "lesson.html"


def _lesson(job: Job) -> tuple[Any, ...]:
    from balltravel.files.read_write import FileError, write_whole
    from balltravel.report.care import invented
    from balltravel.report.pages.lesson.page import lesson_html
    from balltravel.scenario.model import ScenarioError
    from balltravel.study.lesson.lesson import lesson_of

    path = job.arguments.page
    _refuse(path, job.arguments.file)
    assert job.file is not None
    try:
        lesson = lesson_of(job.scenario, job.progress)
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None
    page = lesson_html(lesson, bool(invented(job.file.text))).encode()
    try:
        write_whole(page, path)
    except (OSError, FileError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise NotWrittenError(f"{path}: cannot be written: {why}") from None
    say(f"{path}: written")
    return job.scenario, lesson, Path(path), len(page)


def _refuse(path: str, scenario: str) -> None:
    """Find out before the runs that a page cannot be written."""
    from balltravel.files.read_write import FileError, check_target

    if not path.lower().endswith((".html", ".htm")) or "\0" in path:
        raise RefusedError(f"--out {path}: allowed: a name ending in .html; example: --out {PAGE}")
    if os.path.realpath(path) == os.path.realpath(scenario):
        raise RefusedError(f"--out {path}: this is the scenario file, it would be overwritten")
    if not os.path.isdir(os.path.dirname(path) or "."):
        raise RefusedError(f"--out {path}: no such folder; allowed: a file in a folder that exists")
    try:
        check_target(path)
    except FileError as error:
        raise RefusedError(f"--out {error}") from None


LESSON = Command(
    "lesson",
    "Make a page for a class: predict the best travel from thin to too heavy material, then see.",
    _lesson,
    "report.pages.lesson.text:lesson_text",
    "report.json:lesson_dict",
    options=(option("--out", dest="page", metavar="FILE.html", default=PAGE, help=f"the page ({PAGE})"),),
    examples=(f"lesson scenarios/primer.toml --out {PAGE}",),
    counts="runs",
)

TEACH = (LESSON,)
