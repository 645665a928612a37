"""``--compare``: the lower that is animated beside the first. Heavy imports stand inside."""

import os
from typing import TYPE_CHECKING

from balltravel.cli.command import Job, option
from balltravel.cli.given import RefusedError

if TYPE_CHECKING:
    from balltravel.scenario.model import Scenario

COMPARE = option(
    "--compare",
    metavar="FILE|KEY=VALUE",
    action="append",
    default=[],
    help="with --animate: a second lower on the same clock: another file, or this one with other settings; "
    "repeatable",
)

_EXAMPLE = 'example: --compare "shims.below=[]"'


def compared(job: Job) -> "tuple[Scenario, ...]":
    """The scenario to animate beside the first, if one is asked for."""
    from balltravel.files.read_write import read_scenario, reader_of_file
    from balltravel.scenario.model import ScenarioError

    given = job.arguments.compare
    if not given:
        return ()
    if not job.arguments.animate:
        raise RefusedError(
            "--compare: nothing is animated; allowed: with --animate; example: --animate ball.html"
        )
    files = [value for value in given if names_file(value)]
    settings = [value for value in given if value not in files]
    if len(files) > 1:
        raise RefusedError(
            f"--compare: {len(files)} files given; allowed: one, and settings of it; {_EXAMPLE}"
        )
    try:
        if files:
            return (read_scenario(files[0], settings),)
        assert job.file is not None
        return (reader_of_file(job.file, job.arguments.file, job.arguments.settings)(settings),)
    except ScenarioError as error:
        raise RefusedError(
            *("--compare " + str(fault).removeprefix("--set ") for fault in error.faults)
        ) from None


def names_file(value: str) -> bool:
    """Whether a value of ``--compare`` is a file and no setting."""
    return "=" not in value or os.path.isfile(value)
