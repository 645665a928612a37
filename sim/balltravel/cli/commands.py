"""All commands, a row each: what it works out, and where its text, JSON and figure are made.

Another command is another row of COMMANDS with its ``work``; heavy imports stand inside.
"""

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Failures, Job, option
from balltravel.cli.given import RefusedError, count, quantity_given
from balltravel.cli.run import RunError

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.study.cycle_report import CycleReport
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.week.recommend import Week

WORKERS = option("--workers", type=count, metavar="N", help="threads; all cores by default")


def _check(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.preview import preview

    return job.scenario, preview(job.scenario)


# --- material


def _material(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.material_report import material_report

    return job.scenario, material_report(job.scenario)


def _kinds(_: Job) -> tuple[Any, ...]:
    from balltravel.material.kinds import KINDS

    return (KINDS,)


def _kind(job: Job) -> tuple[Any, ...]:
    from balltravel.material.kinds import kind_named
    from balltravel.units import UnitError

    try:
        return (kind_named(job.arguments.kind),)
    except UnitError as error:
        raise RefusedError(f"--kind: {error}") from None


def _material_variant(arguments: argparse.Namespace) -> Command | None:
    if [bool(arguments.file), arguments.kinds, arguments.kind is not None].count(True) != 1:
        raise RefusedError("allowed: a scenario file, or --kinds, or --kind NAME: one of them")
    if arguments.file:
        return None
    if arguments.settings or arguments.figure:
        raise RefusedError("--set, --figure: allowed with a scenario file")
    return KINDS_OF_MATERIAL if arguments.kinds else KIND_OF_MATERIAL


KINDS_OF_MATERIAL = Command(
    "material --kinds",
    "",
    _kinds,
    "report.text.material:kinds_text",
    "report.json:kinds_dict",
    compiled=False,
)
KIND_OF_MATERIAL = Command(
    "material --kind", "", _kind, "report.text.material:kind_text", "report.json:kind_dict", compiled=False
)


# --- simulate and sweep


def _simulate(job: Job) -> tuple[Any, ...]:
    from balltravel.study.cycle_report import cycle_report

    return job.scenario, cycle_report(job.scenario)


def _cycle_dataset(_: Any, report: "CycleReport") -> "xr.Dataset":
    from balltravel.cycle.dataset import to_dataset

    return to_dataset(report.cycle)


def _simulation_failures(_: Any, report: "CycleReport") -> Failures:
    return Failures(int(report.cycle.status.failed), 1)


def _sweep(job: Job) -> tuple[Any, ...]:
    from balltravel.scenario.model import ScenarioError
    from balltravel.sweeps.grid import sweep

    assert job.file is not None
    try:
        workers = job.arguments.workers
        return job.scenario, sweep(job.scenario, job.file.sweep, workers=workers, progress=job.progress)
    except ScenarioError as error:
        raise RefusedError("\n".join(f"in the sweep: {line}" for line in str(error).splitlines())) from None


def _sweep_failures(_: Any, data: "xr.Dataset") -> Failures:
    from balltravel.core.status import Status

    codes = data["status"].values.ravel().tolist()
    return Failures(sum(Status(code).failed for code in codes), len(codes))


# --- recommend


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


# --- the site, wear and limits


def _limits(job: Job) -> tuple[Any, ...]:
    from balltravel.files.read_write import reader_of_file
    from balltravel.study.limits.find import find_limits

    assert job.file is not None
    read = reader_of_file(job.file, job.arguments.file, job.arguments.settings)
    return job.scenario, find_limits(read, workers=job.arguments.workers, progress=job.progress)


def _suction(job: Job) -> tuple[Any, ...]:
    from balltravel.study.site.suction_head import suction_report

    return job.scenario, suction_report(job.scenario)


def _prime(job: Job) -> tuple[Any, ...]:
    from balltravel.scenario.model import ScenarioError
    from balltravel.study.site.priming import PrimingError, prime
    from balltravel.study.site.priming_setup import setup_of

    against = quantity_given("--against", job.arguments.against, "pressure")
    if not 0.0 <= against <= 1e8:
        allowed = "allowed: 0 bar to 100 MPa gauge; example: 0 bar"
        raise RefusedError(f"--against: {job.arguments.against} given; {allowed}")
    try:
        setup = setup_of(job.scenario, against)
        return job.scenario.title, setup, prime(setup)
    except ScenarioError as error:
        raise RefusedError(str(error)) from None
    except PrimingError as error:
        raise RunError(str(error)) from None


def _wear(job: Job) -> tuple[Any, ...]:
    from balltravel.scenario.model import ScenarioError
    from balltravel.study.site.wear import GAP, wear_report

    given = job.arguments.gap
    gap = GAP if given is None else quantity_given("--gap", given, "length")
    try:
        return job.scenario, wear_report(job.scenario, gap, progress=job.progress)
    except ScenarioError as error:
        raise RefusedError(f"--gap: {error}") from None


# --- resistance


def _resistance(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.check_resistance import resistance_report

    if job.arguments.solve:
        raise RefusedError("--solve: allowed with the three ratios, for a sharp edge in a plain bore")
    return (resistance_report(job.scenario),)


def _ratios(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.check_resistance import RatioError, ratios_report

    given = job.arguments
    ratios = (given.ball_over_seat, given.cage_over_seat, given.lift_over_seat)
    try:
        return (ratios_report(*ratios, solve=given.solve),)
    except RatioError as error:
        raise RefusedError(str(error)) from None
    except (ImportError, OSError) as error:  # OSError: gmsh without a library of the system
        raise RefusedError(f"--solve: {error}; needed: gmsh and scikit-fem (the extra fem)") from None


def _resistance_variant(arguments: argparse.Namespace) -> Command | None:
    ratios = (arguments.ball_over_seat, arguments.cage_over_seat, arguments.lift_over_seat)
    given = [ratio is not None for ratio in ratios]
    if any(given) == bool(arguments.file) or (any(given) and not all(given)):
        options = "--ball-over-seat, --cage-over-seat and --lift-over-seat"
        raise RefusedError(f"allowed: a scenario file, or {options}, all three")
    if arguments.file:
        return None
    if arguments.settings:
        raise RefusedError("--set: allowed with a scenario file")
    return RATIOS


RATIOS = Command(
    "resistance by ratios",
    "",
    _ratios,
    "report.text.resistance:resistance_text",
    "report.json:resistance_dict",
    figure="report.figures.resistance:resistance_figure",
    compiled=False,
)


COMMANDS: tuple[Command, ...] = (
    Command(
        "check",
        "Print the scenario as it was read and what follows from it; runs nothing.",
        _check,
        "report.text.check:check_text",
        "report.json:check_dict",
        examples=("check scenarios/primer.toml",),
        compiled=False,
    ),
    Command(
        "material",
        "Print the material as interpreted, or invented kinds of material.",
        _material,
        "report.text.material:material_text",
        "report.json:report_dict",
        figure="report.figures.material:material_figure",
        draws="its viscosity",
        options=(
            option("--kinds", action="store_true", help="list kinds of material with common ranges"),
            option("--kind", metavar="NAME", help="print the invented example of a kind, to paste"),
        ),
        examples=(
            "material scenarios/mastic_by_readings.toml --figure flow.png",
            'material --kind "roof elastomer"',
        ),
        compiled=False,
        file="?",
        variant=_material_variant,
    ),
    Command(
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
    ),
    Command(
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
        counts="arrangements",
        failures=_recommendation_failures,
        variant=lambda arguments: WEEK if arguments.week else None,
    ),
    Command(
        "limits",
        "Print how far each input may go by itself, and which inputs matter most.",
        _limits,
        "report.text.limits:limits_text",
        "report.json:limits_dict",
        figure="report.figures.limits:effects_figure",
        draws="what matters most",
        options=(WORKERS,),
        examples=("limits scenarios/mastic.toml --figure effects.png",),
        counts="inputs",
    ),
    Command(
        "suction",
        "Print NPSH available and required, and what is left in the vessel.",
        _suction,
        "report.text.suction:suction_text",
        "report.json:suction_dict",
        examples=('suction scenarios/primer.toml --set "suction.altitude=1500 m"',),
    ),
    Command(
        "prime",
        "Cycles until material fills a suction hose and a lower full of air.",
        _prime,
        "report.text.prime:priming_text",
        "report.json:priming_dict",
        figure="report.figures.prime:priming_figure",
        draws="it over the cycles",
        options=(
            option(
                "--against",
                default="0 bar",
                metavar="PRESSURE",
                help="gauge pressure at the outlet meanwhile; none by default, as with an open prime valve",
            ),
        ),
        examples=("prime scenarios/primer.toml --figure priming.png",),
        compiled=False,
    ),
    Command(
        "wear",
        "Print what worn seats and packings do, each by itself.",
        _wear,
        "report.text.wear:wear_text",
        "report.json:report_dict",
        options=(option("--gap", metavar="LENGTH", help='gap that is tried, "30 um" by default'),),
        examples=('wear scenarios/primer.toml --gap "50 um"',),
        counts="states of wear",
    ),
    Command(
        "resistance",
        "Print the resistance of a check in creeping flow over its lift.",
        _resistance,
        "report.text.resistance:resistance_text",
        "report.json:resistance_dict",
        figure="report.figures.resistance:resistance_figure",
        draws="it with its limits",
        options=(
            option("--ball-over-seat", type=float, metavar="R/r", help="ball over seat radius"),
            option("--cage-over-seat", type=float, metavar="R_c/r", help="cage over seat radius"),
            option("--lift-over-seat", type=float, metavar="z/r", help="lift over seat radius"),
            option("--solve", action="store_true", help="solve anew by finite elements (extra fem)"),
        ),
        examples=("resistance --ball-over-seat 1.4 --cage-over-seat 1.8 --lift-over-seat 0.2",),
        compiled=False,
        file="?",
        variant=_resistance_variant,
    ),
    Command(
        "sweep",
        "Run every combination of values; all arrangements of the shims if none is given.",
        _sweep,
        "report.text.sweep:sweep_text",
        "report.json:sweep_dict",
        dataset=lambda _, data: data,
        writes="all results",
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
        ),
        examples=(
            'sweep scenarios/primer.toml --over \'drive.cycle_rate=["20 /min", "40 /min"]\' --out rates.nc',
        ),
        counts="cases",
        failures=_sweep_failures,
    ),
)
"""In the order of ``balltravel --help``."""
