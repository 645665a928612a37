"""Commands about a lower and its shims. Heavy imports stand inside."""

import argparse
import sys
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Failures, Job, option
from balltravel.cli.commands.compared import COMPARE, compared
from balltravel.cli.given import RefusedError, draws, quantity_given, seed
from balltravel.cli.output import say

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.cycle.run import Cycle
    from balltravel.scenario.model import Scenario
    from balltravel.study.cycle_report import CycleReport
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.verdict.record import Answer
    from balltravel.study.week.recommend import Week
    from balltravel.sweeps.cases import Progress


MOST_BESIDE = 3
"""Cycles beside the first in one figure."""

SEED_OPTION = option("--seed", type=seed, metavar="N", help="other draws (0)")


def draws_option(usual: int, more: str = "") -> Any:
    """How many draws a command takes; ``more``: when it takes others."""
    text = f"draws of what is not known: 32, 64 ... 4096 ({usual}){more}"
    return option("--draws", type=draws, metavar="N", help=text)


def _check(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.preview import OILS, preview
    from balltravel.files.read_write import as_written

    assert job.file is not None
    oils = tuple(map(_oil, job.arguments.oil)) or OILS
    written = as_written(job.file, job.arguments.file, job.arguments.settings)
    return job.scenario, preview(job.scenario, oils), written


def _oil(text: str) -> tuple[float, float]:
    """Viscosity [Pa s] and density [kg/m3] of an oil as it is given; raises RefusedError."""
    from balltravel.scenario.model import FIELDS, quantity_of

    viscosity, comma, density = text.rpartition(",")
    if not comma:
        allowed = "allowed: viscosity and density, a comma between them"
        raise RefusedError(f'--oil: "{text[:80]}" given; {allowed}; example: {OIL_EXAMPLE}')
    heavy = quantity_given("--oil", density.strip(), "density")
    thick = quantity_given("--oil", viscosity.strip(), "viscosity", heavy)
    for value, key in ((thick, "material.viscosity"), (heavy, "material.density")):
        quantity = quantity_of(FIELDS[key])
        assert quantity is not None
        objection = quantity.objection(value)
        if objection:
            raise RefusedError(f"--oil: {'; allowed: '.join(objection)}; example: {OIL_EXAMPLE}")
    return thick, heavy


OIL_EXAMPLE = '"10 Pa.s, 970 kg/m3"'


def _simulate(job: Job) -> tuple[Any, ...]:
    from balltravel.study.cycle_report import cycle_report

    beside, like = _beside(job), _axes_like(job)
    report = cycle_report(job.scenario, beside, job.progress, compared(job))
    return job.scenario, replace(report, like=like)


def _axes_like(job: Job) -> "Cycle | None":
    """The cycle of the scenario on whose axes the figure is to be drawn."""
    from balltravel.cycle.run import run_cycle
    from balltravel.files.read_write import read_scenario
    from balltravel.scenario.model import ScenarioError

    given = job.arguments
    for flag, value in (("--plain", given.plain), ("--axes-like", given.axes_like)):
        if value and not given.figure:
            raise RefusedError(
                f"{flag}: nothing is drawn; allowed: with --figure; example: --figure cycle.png"
            )
        if value and given.beside:
            raise RefusedError(f"{flag}: with --beside all have one figure; allowed: without --beside")
    if not given.axes_like:
        return None
    try:
        cycle = run_cycle(read_scenario(given.axes_like))
    except ScenarioError as error:
        raise RefusedError(*(f"--axes-like {fault}" for fault in error.faults)) from None
    if cycle.metrics is None:
        raise RefusedError(f"--axes-like {given.axes_like}: its run failed; allowed: a scenario that runs")
    return cycle


def _beside(job: Job) -> "list[Scenario]":
    """The scenario with each setting that is to be drawn beside it."""
    from balltravel.files.read_write import reader_of_file
    from balltravel.scenario.model import ScenarioError

    settings = job.arguments.beside
    if settings and not job.arguments.figure:
        raise RefusedError("--beside: nothing is drawn; allowed: with --figure; example: --figure lags.png")
    if len(settings) > MOST_BESIDE:
        raise RefusedError(f"--beside: {len(settings)} given; allowed: up to {MOST_BESIDE}, a column each")
    assert job.file is not None
    read = reader_of_file(job.file, job.arguments.file, job.arguments.settings)
    try:
        return [read([setting]) for setting in settings]
    except ScenarioError as error:
        raise RefusedError(str(error)) from None


def _cycle_dataset(_: Any, report: "CycleReport") -> "xr.Dataset":
    from balltravel.cycle.dataset import to_dataset

    return to_dataset(report.cycle)


def _simulation_failures(_: Any, report: "CycleReport") -> Failures:
    ends = [cycle.status.failed for cycle in (report.cycle, *report.beside, *report.compared)]
    return Failures(sum(ends), len(ends))


def _recommend(job: Job) -> tuple[Any, ...]:
    from balltravel.study.verdict.recommend import DRAWS
    from balltravel.study.verdict.verdict import recommend_over

    given, onward = job.arguments, Onward(job.progress)
    answer = recommend_over(
        job.scenario,
        draws=DRAWS if given.draws is None else given.draws,
        seed=given.seed or 0,
        progress=onward.stage(),
        tell=say if sys.stdout is not None and sys.stdout.isatty() else None,
    )
    return job.scenario, replace(answer, recommendation=_with_job(job, answer.recommendation, onward))


def _with_job(job: Job, recommendation: "Recommendation", onward: "Onward") -> "Recommendation":
    """With what stands on the card and in the report, where one is asked for."""
    if not job.arguments.card and not job.arguments.report:
        return recommendation
    from balltravel.study.limits.job import with_job

    return with_job(job.scenario, recommendation, onward.stage())


class Onward:
    """One count over stages that do not know of each other."""

    def __init__(self, progress: "Progress | None") -> None:
        self._progress, self._done = progress, 0

    def stage(self) -> "Progress | None":
        """The progress of the next stage, counted on from where the last one ended."""
        progress, before = self._progress, self._done
        if progress is None:
            return None

        def tell(done: int, whole: int) -> None:
            self._done = before + done
            progress(before + done, before + whole)

        return tell


def refuse_draws(job: Job, option: str) -> None:
    """Refuse what says how to draw, where nothing is drawn."""
    for flag, value in (("--draws", job.arguments.draws), ("--seed", job.arguments.seed)):
        if value:
            raise RefusedError(
                f"{flag}: nothing is drawn; allowed: without {option}; example: {flag} {value}"
            )


def _recommend_exactly(job: Job) -> tuple[Any, ...]:
    from balltravel.study.travel.recommend import recommend

    refuse_draws(job, "--exactly")
    onward = Onward(job.progress)
    recommendation = recommend(job.scenario, progress=onward.stage())
    return job.scenario, _with_job(job, recommendation, onward)


def _failed_of(names: Iterable[str]) -> Failures:
    """Of trials by the names of their statuses."""
    from balltravel.core.status import Status

    failures = {status.name.lower() for status in Status if status.failed}
    ends = [name in failures for name in names]
    return Failures(sum(ends), len(ends))


def _answer_failures(_: Any, answer: "Answer") -> Failures:
    return _recommendation_failures(_, answer.recommendation)


def _recommendation_failures(_: Any, recommendation: "Recommendation") -> Failures:
    return _failed_of(trial.status for trial in recommendation.arrangements)


def _week(job: Job) -> tuple[Any, ...]:
    from balltravel.study.verdict.recommend import DRAWS
    from balltravel.study.week.verdict import recommend_week

    assert job.file is not None
    given = job.arguments
    exactly = given.exactly or given.draws == 0
    if exactly:
        refuse_draws(job, "--exactly")
    if len(job.file.week) < 2:
        raise RefusedError(
            f"--week: {given.file} has no table [week]; allowed: a file with further materials; "
            'example: [week."flush solvent"]'
        )
    return job.file.week, recommend_week(
        job.file.week,
        draws=0 if exactly else DRAWS if given.draws is None else given.draws,
        seed=given.seed or 0,
        progress=job.progress,
        tell=say if sys.stdout is not None and sys.stdout.isatty() else None,
    )


def _week_failures(_: Any, week: "Week") -> Failures:
    return _failed_of(trial.status for material in week.materials for trial in material.arrangements)


WEEK = Command(
    "recommend --week",
    "",
    _week,
    "report.text.week.page:week_text",
    "report.json:week_dict",
    figure="report.figures.week:week_figure",
    counts="runs",
    failures=_week_failures,
)


CHECK_ALL = Command(
    "check --all", "", _check, "report.text.check:all_keys_text", "report.json:check_dict", compiled=False
)


CHECK_RANGES = Command(
    "check --ranges",
    "",
    _check,
    "report.text.check:ranges_text",
    "report.json:check_dict",
    compiled=False,
)


CHECK = Command(
    "check",
    "Print what was read and what follows from it without a run, and a bench test of the balls.",
    _check,
    "report.text.check:check_text",
    "report.json:check_dict",
    options=(
        option("--all", action="store_true", help="list every key with its value instead"),
        option(
            "--ranges", action="store_true", help="list what is not known exactly, with its range, instead"
        ),
        option(
            "--oil",
            action="append",
            default=[],
            metavar="VISCOSITY,DENSITY",
            help=f"oil of the bench test, e.g. {OIL_EXAMPLE}; repeatable",
        ),
    ),
    examples=("check scenarios/primer.toml",),
    compiled=False,
    variant=lambda arguments: CHECK_ALL if arguments.all else CHECK_RANGES if arguments.ranges else None,
)

SIMULATE_PLAIN = Command(
    "simulate --plain",
    "",
    _simulate,
    "report.text.simulate:simulation_text",
    "report.json:simulation_dict",
    figure="report.figures.everyone.cycle:plain_figure_of_report",
    dataset=_cycle_dataset,
    counts="runs",
    failures=_simulation_failures,
)

SIMULATE = Command(
    "simulate",
    "Simulate one cycle and print its numbers.",
    _simulate,
    "report.text.simulate:simulation_text",
    "report.json:simulation_dict",
    figure="report.figures.cycle:figure_of_report",
    draws="the cycle",
    animation="report.animate:animation_of_report",
    dataset=_cycle_dataset,
    writes="the cycle",
    options=(
        option(
            "--beside",
            metavar="KEY=VALUE",
            action="append",
            default=[],
            help="with --figure: draw the cycle with this setting beside the first, on the same axes",
        ),
        option(
            "--plain",
            action="store_true",
            help="with --figure: draw what is drawn in and how the ball lifts, for everyone, with sentences",
        ),
        option(
            "--axes-like",
            metavar="FILE",
            help="with --figure: on the axes of this scenario's figure, to lay both side by side",
        ),
        COMPARE,
    ),
    examples=(
        'simulate scenarios/primer.toml --set "material.viscosity=3500 cP" --figure cycle.png',
        "simulate scenarios/primer.toml --plain --figure ball.png",
        'simulate scenarios/mastic.toml --beside "shims.below=[2, 3]" --figure lags.png',
        'simulate scenarios/mastic.toml --animate ball.html --compare "shims.below=[]"',
    ),
    counts="runs",
    failures=_simulation_failures,
    variant=lambda arguments: SIMULATE_PLAIN if arguments.plain else None,
)

RECOMMEND_EXACTLY = Command(
    "recommend --exactly",
    "",
    _recommend_exactly,
    "report.text.recommend:recommendation_text",
    "report.json:recommendation_dict",
    figure="report.figures.travel:travel_figure",
    card="report.card:card_bytes",
    report="report.job_report:report_bytes",
    counts="runs",
    failures=_recommendation_failures,
)


def _way_of_recommending(arguments: argparse.Namespace) -> Command | None:
    """The row that answers in the place of the verdict's."""
    if arguments.week:
        for flag, given in (("--card", arguments.card), ("--report", arguments.report)):
            if given:
                raise RefusedError(
                    f"{flag}: of one material; allowed: without --week; example: {flag} {given}"
                )
        return WEEK
    return RECOMMEND_EXACTLY if arguments.exactly or arguments.draws == 0 else None


RECOMMEND = Command(
    "recommend",
    "Try all arrangements of the shims over all that is not known, and recommend one.",
    _recommend,
    "report.text.verdict:verdict_text",
    "report.json:answer_dict",
    figure="report.figures.verdict:verdict_figure",
    card="report.card:card_bytes",
    report="report.job_report:report_bytes",
    draws="delivery, the best travel and what is worth measuring",
    options=(
        draws_option(128, "; twice as many where the answer is close"),
        SEED_OPTION,
        option("--exactly", action="store_true", help="take every value as given: one run, no verdict"),
        option("--week", action="store_true", help="one arrangement for all materials of [week]"),
    ),
    examples=(
        "recommend scenarios/primer.toml --figure travel.png",
        "recommend scenarios/primer.toml --exactly",
        "recommend scenarios/primer.toml --card card.pdf",
        "recommend scenarios/primer.toml --report job.html",
        "recommend scenarios/week_of_a_coater.toml --week --figure week.png",
    ),
    counts="runs",
    failures=_answer_failures,
    variant=_way_of_recommending,
)

LOWER = (CHECK, SIMULATE, RECOMMEND)
