"""Commands that run many cases. Heavy imports stand inside."""

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Failures, Job, option
from balltravel.cli.given import NotWrittenError, RefusedError, count, names_folder
from balltravel.cli.output import say
from balltravel.cli.terminated import terminated_as_interrupted

if TYPE_CHECKING:
    import xarray as xr


WORKERS = option("--workers", type=count, metavar="N", help="threads; all cores by default")


def _limits(job: Job) -> tuple[Any, ...]:
    from balltravel.files.read_write import reader_of_file
    from balltravel.study.limits.find import find_limits

    assert job.file is not None
    read = reader_of_file(job.file, job.arguments.file, job.arguments.settings)
    return job.scenario, find_limits(read, workers=job.arguments.workers, progress=job.progress)


def _sweep(job: Job) -> tuple[Any, ...]:
    from balltravel.scenario.model import ScenarioError
    from balltravel.sweeps.grid import sweep

    assert job.file is not None
    if job.arguments.scheduler:
        allowed = "it with --out FOLDER, which keeps what a cluster has finished"
        raise RefusedError(
            f"--scheduler: given without a folder; allowed: {allowed}; example: --out primer_sweep"
        )
    try:
        grid, workers = job.file.sweep or None, job.arguments.workers
        return job.scenario, sweep(job.scenario, grid, workers=workers, progress=job.progress)
    except ScenarioError as error:
        raise RefusedError(*(f"in the sweep: {fault}" for fault in error.faults)) from None


def _sweep_into(job: Job) -> tuple[Any, ...]:
    """Sweep into a folder: what ends it before its time is told with what stays and how to go on."""
    from balltravel.files.read_write import FileError
    from balltravel.scenario.model import ScenarioError
    from balltravel.sweeps.into_folder import sweep_into
    from balltravel.sweeps.pools import GoneError

    assert job.file is not None
    folder, kept = job.arguments.out, "what was finished is"

    def progress(done: int, cases: int) -> None:
        nonlocal kept
        kept = f"{done} of {cases} cases are"
        if job.progress is not None:
            job.progress(done, cases)

    where = {"workers": job.arguments.workers, "scheduler": job.arguments.scheduler}
    made_of = {"scenario_text": job.file.text, "scenario_sha256": job.file.sha256}
    try:
        with terminated_as_interrupted():
            grid = job.file.sweep or None
            data = sweep_into(
                folder, job.scenario, grid, **where, progress=progress, tell=say, attributes=made_of
            )
    except ScenarioError as error:
        raise RefusedError(*(f"in the sweep: {fault}" for fault in error.faults)) from None
    except FileError as error:
        raise NotWrittenError(str(error)) from None
    except GoneError as error:
        raise NotWrittenError(f"{error}; {kept} in {folder}, the same command goes on") from None
    except KeyboardInterrupt:
        raise KeyboardInterrupt(f"interrupted: {kept} in {folder}, the same command goes on") from None
    return job.scenario, data


def _into_folder(arguments: argparse.Namespace) -> Command | None:
    if arguments.out and names_folder(arguments.out):
        return replace(SWEEP, work=_sweep_into, dataset=None)
    return None


def _sweep_failures(_: Any, data: "xr.Dataset") -> Failures:
    from balltravel.core.status import Status

    codes = data["status"].values.ravel().tolist()
    return Failures(sum(Status(code).failed for code in codes), len(codes))


LIMITS = Command(
    "limits",
    "Print how far each input may go by itself, and which inputs matter most.",
    _limits,
    "report.text.limits:limits_text",
    "report.json:limits_dict",
    figure="report.figures.limits:effects_figure",
    draws="what matters most",
    options=(WORKERS,),
    examples=("limits scenarios/mastic.toml --figure effects.png",),
    counts="parts of the search",
)

SWEEP = Command(
    "sweep",
    "Run every combination of values; all arrangements of the shims if none is given.",
    _sweep,
    "report.text.sweep:sweep_text",
    "report.json:sweep_dict",
    dataset=lambda _, data: data,
    writes="all results",
    folder=True,
    variant=_into_folder,
    options=(
        option(
            "--over",
            action="append",
            default=[],
            dest="grid",
            metavar="KEY=[VALUES]",
            help="values to run over, stronger than the file's [sweep]; repeatable",
        ),
        WORKERS,
        option(
            "--scheduler",
            metavar="ADDRESS",
            help="compute on the workers of this dask scheduler; see docs/cluster.md",
        ),
    ),
    examples=('sweep scenarios/primer.toml --over \'drive.cycle_rate=["20 /min", "40 /min"]\'',),
    counts="cases",
    failures=_sweep_failures,
)

MANY = (LIMITS, SWEEP)
