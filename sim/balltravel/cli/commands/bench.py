"""Commands for the bench. Heavy imports stand inside."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Job, option
from balltravel.cli.commands.log import LOG
from balltravel.cli.commands.many import WORKERS
from balltravel.cli.given import NotWrittenError, RefusedError
from balltravel.cli.output import say

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Calibration


def _diagnose(job: Job) -> tuple[Any, ...]:
    from balltravel.bench.diagnose import diagnose
    from balltravel.scenario.model import ScenarioError

    arguments = job.arguments
    try:
        return job.scenario, diagnose(
            job.scenario, arguments.observed, workers=arguments.workers, progress=job.progress
        )
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None


DIAGNOSE = Command(
    "diagnose",
    "Find what is wrong with a pump from what was seen at the bench.",
    _diagnose,
    "report.text.bench.diagnose:diagnosis_text",
    "report.json:report_dict",
    options=(
        option(
            "--observed",
            required=True,
            metavar="FILE",
            help="what was seen, a TOML file such as scenarios/seen/drum.toml",
        ),
        WORKERS,
    ),
    examples=("diagnose scenarios/roof_elastomer_from_a_drum.toml --observed scenarios/seen/drum.toml",),
    counts="runs",
)

DRAWS = 64
"""Draws of each verdict: half as many as `recommend` takes, for there are two (our choice)."""


def _calibrate(job: Job) -> tuple[Any, ...]:
    from balltravel.bench.calibrate.calibrate import calibrate
    from balltravel.scenario.model import ScenarioError

    given, scenario = job.arguments, job.scenario
    _refuse_target(job)
    try:
        calibration = calibrate(scenario, given.observed, workers=given.workers, progress=job.progress)
        path = _written(job, calibration)
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None
    own = (scenario, calibration.scenario)
    verdicts = (None, None) if given.no_verdict else tuple(_verdict(each, given.workers) for each in own)
    return scenario, calibration, verdicts, path


def _verdict(scenario: Any, workers: int | None) -> Any:
    from balltravel.study.verdict.recommend import recommend

    return recommend(scenario, draws=DRAWS, workers=workers).verdict


def _refuse_target(job: Job) -> None:
    """Find before the runs that the new scenario cannot be written."""
    from balltravel.files.read_write import FileError, check_target

    path, settings = job.arguments.target, job.arguments.settings
    if path is None:
        return
    if settings:
        allowed = "one of both: the new scenario is the file's text with other ranges"
        raise RefusedError(f"--out {path}: given with --set; allowed: {allowed}; example: --out new.toml")
    if os.path.lexists(path):
        raise RefusedError(f"--out {path}: it exists already; allowed: a new name; example: calibrated.toml")
    try:
        check_target(path)
    except FileError as error:
        raise RefusedError(f"--out {error}") from None


def _written(job: Job, calibration: "Calibration") -> str:
    """The name of the scenario that was written; empty if none was asked for. Raises ScenarioError where
    there is nothing to write."""
    from datetime import date

    from balltravel.bench.calibrate.text_of import calibrated_text
    from balltravel.files.draft import write_text
    from balltravel.files.read_write import FileError, companion_bytes
    from balltravel.files.week import parse_scenario

    path: str | None = job.arguments.target
    if path is None:
        return ""
    if calibration.misfit:
        say(f"--out {path}: not written, for the readings contradict the scenario")
        return ""
    assert job.file is not None
    source = os.path.basename(job.arguments.observed)
    text = calibrated_text(job.file.text, calibration, date.today(), source)
    parse_scenario(text, path, read_companion=lambda name: companion_bytes(Path(path), name))
    try:
        write_text(text, path)
    except FileError as error:
        raise NotWrittenError(str(error)) from None
    count = len(calibration.written)
    say(f"{path}: written, {count} range{'s' * (count != 1)} narrower")
    return path


CALIBRATE = Command(
    "calibrate",
    "Narrow the ranges of a scenario by what was read of the pump.",
    _calibrate,
    "report.text.bench.calibrate:calibration_text",
    "report.json:calibration_dict",
    options=(
        option("--observed", required=True, metavar="FILE", help="what was read, a TOML file"),
        option("--out", dest="target", metavar="NEW.toml", help="write the scenario with its new ranges"),
        option("--no-verdict", action="store_true", help="leave out the verdict before and after"),
        WORKERS,
    ),
    examples=("calibrate mine.toml --observed today.toml --out calibrated.toml",),
    counts="runs",
)

BENCH = (CALIBRATE, DIAGNOSE, LOG)
