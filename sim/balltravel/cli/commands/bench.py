"""Commands for the bench. Heavy imports stand inside."""

from typing import Any

from balltravel.cli.command import Command, Job, option
from balltravel.cli.commands.log import LOG
from balltravel.cli.commands.many import WORKERS
from balltravel.cli.given import RefusedError


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
    "report.text.diagnose:diagnosis_text",
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

BENCH = (DIAGNOSE, LOG)
