"""Commands about what a run rests on: the material, the resistance of a check. Heavy imports stand inside."""

import argparse
from typing import Any

from balltravel.cli.command import Command, Job, option
from balltravel.cli.given import RefusedError


def _share(text: str) -> float:
    """``0.3`` or ``30 %``."""
    from balltravel.units import to_si

    try:
        return float(text)
    except ValueError:
        return to_si(text, "fraction")


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
    care=False,
)


KIND_OF_MATERIAL = Command(
    "material --kind",
    "",
    _kind,
    "report.text.material:kind_text",
    "report.json:kind_dict",
    compiled=False,
    care=False,
)


def _resistance(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.check_resistance import resistance_report

    for name in ("solve", "offset", "spin"):
        if getattr(job.arguments, name):
            raise RefusedError(f"--{name}: allowed with the three ratios, for a sharp edge in a plain bore")
    return (resistance_report(job.scenario),)


def _ratios(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.check_resistance import RatioError, ratios_report

    given = job.arguments
    ratios = (given.ball_over_seat, given.cage_over_seat, given.lift_over_seat)
    try:
        return (ratios_report(*ratios, given.solve, given.offset or 0.0, given.spin or "held"),)
    except RatioError as error:
        raise RefusedError(str(error)) from None
    except (ImportError, OSError) as error:  # OSError: gmsh without a library of the system
        raise RefusedError(_without_fem("--solve", error, "gmsh, scikit-fem, ngsolve")) from None


def _without_fem(where: str, error: Exception, packages: str) -> str:
    """What is missing for a solve by finite elements, and how to install it."""
    return f'{where}: {error}; needed: the extra fem ({packages}); example: pip install -e ".[fem]"'


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
    care=False,
    compiled=False,
)


MATERIAL = Command(
    "material",
    "Print the material as interpreted, or invented kinds of material.",
    _material,
    "report.text.material:material_text",
    "report.json:report_dict",
    care=False,
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
)

RESISTANCE = Command(
    "resistance",
    "Print how much pressure each check takes, and its resistance in slow flow, over its lift.",
    _resistance,
    "report.text.resistance:resistance_text",
    "report.json:resistance_dict",
    figure="report.figures.resistance:resistance_figure",
    care=False,
    draws="it with its limits",
    options=(
        option("--ball-over-seat", type=float, metavar="R/r", help="ball over seat radius"),
        option("--cage-over-seat", type=float, metavar="R_c/r", help="cage over seat radius"),
        option("--lift-over-seat", type=float, metavar="z/r", help="lift over seat radius"),
        option(
            "--offset", type=_share, metavar="SHARE", help="ball off its axis, over the gap to the cage: 0.3"
        ),
        option("--spin", choices=("held", "free"), help="with --offset: may the ball turn? (free: --solve)"),
        option("--solve", action="store_true", help="solve anew by finite elements (extra fem)"),
    ),
    examples=("resistance --ball-over-seat 1.4 --cage-over-seat 1.8 --lift-over-seat 0.2",),
    file="?",
    variant=_resistance_variant,
)


def _check_table(job: Job) -> tuple[Any, ...]:
    from balltravel.estimate.own_table import own_table
    from balltravel.files.check_table import profile_text
    from balltravel.scenario.model import ScenarioError

    path = job.arguments.profile
    try:
        profile = None if path is None else profile_text(path)
        own = own_table(job.scenario, job.arguments.of, profile, job.progress)
        return own, job.arguments.out
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None
    except (ImportError, OSError) as error:  # OSError: gmsh without a library of the system
        raise RefusedError(_without_fem("check-table", error, "gmsh, scikit-fem")) from None
    except KeyboardInterrupt:
        kept = "the lifts solved so far are kept, and the same command goes on"
        raise KeyboardInterrupt(f"interrupted: nothing was written; {kept}") from None


CHECK_TABLE = Command(
    "check-table",
    "Solve the flow in one check by finite elements, for a table that a scenario names.",
    _check_table,
    "report.text.resistance:check_table_text",
    "report.text.resistance:check_table_dict",
    dataset=lambda own, _: own.dataset(),
    writes="the table",
    options=(
        option("--of", choices=("inlet", "piston"), default="inlet", help="which check (inlet)"),
        option(
            "--profile",
            metavar="FILE.csv",
            help="seat and cage as drawn, columns r and z, instead of the sizes in the scenario",
        ),
    ),
    examples=(
        "check-table scenarios/primer_conical_seat.toml --out foot_valve.nc",
        "check-table mine.toml --profile foot_valve.csv --out foot_valve.nc",
    ),
    counts="lifts",
    compiled=False,
    care=False,
    reads_with=("inlet_check.table=none", "piston_check.table=none"),
)

LAWS = (MATERIAL, RESISTANCE, CHECK_TABLE)
