"""Commands that run many cases. Heavy imports stand inside."""

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Failures, Job, option
from balltravel.cli.commands.lower import SEED_OPTION, draws_option, refuse_draws
from balltravel.cli.given import NotWrittenError, RefusedError, count, names_folder, samples
from balltravel.cli.output import say
from balltravel.cli.terminated import terminated_as_interrupted

if TYPE_CHECKING:
    import xarray as xr


WORKERS = option("--workers", type=count, metavar="N", help="threads; all cores by default")


def _limits(job: Job) -> tuple[Any, ...]:
    from balltravel.files.read_write import reader_of_file
    from balltravel.study.limits.find import DRAWS, find_limits

    given = job.arguments
    if given.exactly:
        refuse_draws(job, "--exactly")
    assert job.file is not None
    read = reader_of_file(job.file, given.file, given.settings)
    draws = 0 if given.exactly else DRAWS if given.draws is None else given.draws
    return job.scenario, find_limits(
        read, draws=draws, seed=given.seed or 0, workers=given.workers, progress=job.progress
    )


def _sweep(job: Job) -> tuple[Any, ...]:
    from balltravel.scenario.model import ScenarioError
    from balltravel.sweeps.grid import sweep

    if job.arguments.scheduler:
        allowed = "it with --out FOLDER, which keeps what a cluster has finished"
        raise RefusedError(
            f"--scheduler: given without a folder; allowed: {allowed}; example: --out primer_sweep"
        )
    _refuse_figure(job)
    given = job.arguments
    try:
        return job.scenario, sweep(
            job.scenario,
            **_cases(job),
            workers=given.workers,
            progress=job.progress,
            device=given.device,
        )
    except ScenarioError as error:
        raise RefusedError(*(f"in the sweep: {fault}" for fault in error.faults)) from None
    except KeyboardInterrupt:
        kept = "with --out FOLDER a sweep keeps what is finished, and the same command goes on"
        raise KeyboardInterrupt(f"interrupted: nothing was written; {kept}") from None


def _sweep_into(job: Job) -> tuple[Any, ...]:
    """Sweep into a folder: what ends it before its time is told with what stays and how to go on."""
    from balltravel.files.read_write import FileError
    from balltravel.scenario.model import ScenarioError
    from balltravel.sweeps.into_folder import sweep_into
    from balltravel.sweeps.pools import GoneError

    assert job.file is not None
    _refuse_figure(job)
    folder, kept = job.arguments.out, "what was finished is"

    def progress(done: int, cases: int) -> None:
        nonlocal kept
        kept = f"{done} of {cases} cases are"
        if job.progress is not None:
            job.progress(done, cases)

    given = job.arguments
    where = {"workers": given.workers, "scheduler": given.scheduler, "device": given.device}
    made_of = {"scenario_text": job.file.text, "scenario_sha256": job.file.sha256}
    try:
        with terminated_as_interrupted():
            what: dict[str, Any] = {**_cases(job), **where}
            data = sweep_into(folder, job.scenario, **what, progress=progress, tell=say, attributes=made_of)
    except ScenarioError as error:
        raise RefusedError(*(f"in the sweep: {fault}" for fault in error.faults)) from None
    except FileError as error:
        raise NotWrittenError(str(error)) from None
    except GoneError as error:
        raise NotWrittenError(f"{error}; {kept} in {folder}, the same command goes on") from None
    except KeyboardInterrupt:
        raise KeyboardInterrupt(f"interrupted: {kept} in {folder}, the same command goes on") from None
    return job.scenario, data


def _cases(job: Job) -> dict[str, Any]:
    """The grid, and the samples where some are asked for: then all that is not known and not in the grid is
    drawn, and of a grid that says nothing of the shims' travel every arrangement is run on the same draws."""
    from balltravel.report.drawings import ARRANGEMENT_KEYS
    from balltravel.scenario.shims import travels_of
    from balltravel.study.swept.samples import drawn_samples

    assert job.file is not None
    given, grid = job.arguments, dict[str, Any](job.file.sweep)
    if given.samples is None:
        if given.seed is not None:
            raise RefusedError("--seed: nothing is drawn; allowed: with --samples; example: --samples 128")
        return {"grid": grid or None}
    if grid.keys().isdisjoint(ARRANGEMENT_KEYS):
        grid["shims.below"] = [arrangement.below for arrangement in travels_of(job.scenario)]
    drawn = drawn_samples(job.scenario, given.samples, given.seed or 0, grid)
    if drawn.left_out:
        say(f"{drawn.left_out} of {given.samples} draws make no scenario and are left out")
    return {"grid": grid, "samples": drawn.values}


def _refuse_figure(job: Job) -> None:
    """Find what these keys cannot be drawn as before the long run; raises RefusedError."""
    from balltravel.report.drawings import DRAWINGS, drawings_of
    from balltravel.scenario.shims import travels_of

    assert job.file is not None
    wanted, figure = job.arguments.draw, job.arguments.figure
    if wanted and not figure:
        raise RefusedError(f"--draw {wanted}: nothing is drawn; allowed: with --figure FILE.png")
    if figure and job.arguments.samples is not None:
        instead = "without --samples; what is kept with --out can be drawn from Python"
        raise RefusedError(f"--figure {figure}: a sweep over samples; allowed: {instead}")
    sizes = {key: len(values) for key, values in job.file.sweep.items()}
    sizes = sizes or {"shims.below": len(travels_of(job.scenario))}
    fitting = drawings_of(sizes)
    if figure and (wanted not in fitting if wanted else not fitting):
        varied = ", ".join(key for key, size in sizes.items() if size > 1) or "no key with several values"
        allowed = (f"for {name} {DRAWINGS[name]}" for name in ([wanted] if wanted else DRAWINGS))
        raise RefusedError(f"--figure {figure}: a sweep over {varied}; allowed: {'; or '.join(allowed)}")


def _as_asked(arguments: argparse.Namespace) -> Command | None:
    """The command with the figure that is asked for, into a folder if ``--out`` names one."""
    place = {"map": "swept_map", "envelope": "swept_envelope", "losses": "swept_losses"}
    command = SWEEP
    if arguments.draw:
        command = replace(command, figure=f"report.figures.swept:{place[arguments.draw]}")
    if arguments.out and names_folder(arguments.out):
        command = replace(command, work=_sweep_into, dataset=None)
    return command


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
    options=(
        draws_option(32),
        SEED_OPTION,
        option("--exactly", action="store_true", help="take every value as given: no draws"),
        WORKERS,
    ),
    examples=(
        "limits scenarios/mastic.toml --figure effects.png",
        "limits scenarios/mastic.toml --exactly",
    ),
    counts="parts of the search",
)

SWEEP = Command(
    "sweep",
    "Run every combination of values; all arrangements of the shims if none is given.",
    _sweep,
    "report.text.sweep:sweep_text",
    "report.json:sweep_dict",
    figure="report.figures.swept:sweep_figure",
    draws="the best travel as a map, the largest cycle rate or the losses, by the keys",
    dataset=lambda _, data: data,
    writes="all results",
    folder=True,
    options=(
        option(
            "--over",
            action="append",
            default=[],
            dest="grid",
            metavar="KEY=[VALUES]",
            help="values to run over, or linear(LOW, HIGH, COUNT) or log(...); stronger than the file's "
            "[sweep]; repeatable",
        ),
        option(
            "--samples",
            type=samples,
            metavar="N",
            help="draw all that is not known so many times (a power of two), and run every combination on "
            "each draw; see docs/ranges.md",
        ),
        SEED_OPTION,
        option("--draw", choices=("map", "envelope", "losses"), help="which of the figures to draw"),
        WORKERS,
        option(
            "--device", choices=("cpu", "gpu"), default="cpu", help="where to compute; see docs/cluster.md"
        ),
        option(
            "--scheduler",
            metavar="ADDRESS",
            help="compute on the workers of this dask scheduler; see docs/cluster.md",
        ),
    ),
    examples=(
        'sweep scenarios/primer.toml --over \'drive.cycle_rate=["20 /min", "40 /min"]\'',
        "sweep scenarios/primer.toml --over 'shims.below=[[2], [1, 2]]' --samples 64 --out draws",
    ),
    counts="cases",
    failures=_sweep_failures,
    variant=_as_asked,
)

MANY = (LIMITS, SWEEP)
