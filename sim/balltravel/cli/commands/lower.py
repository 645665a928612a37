"""Commands about a lower and its shims. Heavy imports stand inside."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Failures, Job, option
from balltravel.cli.given import RefusedError

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.study.cycle_report import CycleReport
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.week.recommend import Week


def _check(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.preview import preview

    return job.scenario, preview(job.scenario)


def _simulate(job: Job) -> tuple[Any, ...]:
    from balltravel.study.cycle_report import cycle_report

    return job.scenario, cycle_report(job.scenario)


def _cycle_dataset(_: Any, report: "CycleReport") -> "xr.Dataset":
    from balltravel.cycle.dataset import to_dataset

    return to_dataset(report.cycle)


def _simulation_failures(_: Any, report: "CycleReport") -> Failures:
    return Failures(int(report.cycle.status.failed), 1)


def _recommend(job: Job) -> tuple[Any, ...]:
    from balltravel.study.travel.recommend import recommend

    return job.scenario, recommend(job.scenario, progress=job.progress)


def _failed_of(names: Iterable[str]) -> Failures:
    """Of trials by the names of their statuses."""
    from balltravel.core.status import Status

    failures = {status.name.lower() for status in Status if status.failed}
    ends = [name in failures for name in names]
    return Failures(sum(ends), len(ends))


def _recommendation_failures(_: Any, recommendation: "Recommendation") -> Failures:
    return _failed_of(trial.status for trial in recommendation.arrangements)


def _week(job: Job) -> tuple[Any, ...]:
    from balltravel.study.week.recommend import recommend_week

    assert job.file is not None
    if len(job.file.week) < 2:
        raise RefusedError(
            f"--week: {job.arguments.file} has no table [week]; allowed: a file with further materials; "
            'example: [week."flush solvent"]'
        )
    return job.file.week, recommend_week(job.file.week, progress=job.progress)


def _week_failures(_: Any, week: "Week") -> Failures:
    return _failed_of(trial.status for material in week.materials for trial in material.arrangements)


WEEK = Command(
    "recommend --week",
    "",
    _week,
    "report.text.week:week_text",
    "report.json:week_dict",
    figure="report.figures.week:week_figure",
    counts="runs",
    failures=_week_failures,
)


CHECK = Command(
    "check",
    "Print the scenario as it was read and what follows from it; runs nothing.",
    _check,
    "report.text.check:check_text",
    "report.json:check_dict",
    examples=("check scenarios/primer.toml",),
    compiled=False,
)

SIMULATE = Command(
    "simulate",
    "Simulate one cycle and print its numbers.",
    _simulate,
    "report.text.simulate:simulation_text",
    "report.json:simulation_dict",
    figure="report.figures.cycle:figure_of_report",
    draws="the cycle",
    dataset=_cycle_dataset,
    writes="the cycle",
    examples=('simulate scenarios/primer.toml --set "material.viscosity=3500 cP" --figure cycle.png',),
    failures=_simulation_failures,
)

RECOMMEND = Command(
    "recommend",
    "Try all arrangements of the shims and recommend one.",
    _recommend,
    "report.text.recommend:recommendation_text",
    "report.json:recommendation_dict",
    figure="report.figures.travel:travel_figure",
    draws="the losses against travel",
    options=(option("--week", action="store_true", help="one arrangement for all materials of [week]"),),
    examples=(
        "recommend scenarios/primer.toml --figure travel.png",
        "recommend scenarios/week_of_a_coater.toml --week --figure week.png",
    ),
    counts="runs",
    failures=_recommendation_failures,
    variant=lambda arguments: WEEK if arguments.week else None,
)

LOWER = (CHECK, SIMULATE, RECOMMEND)
