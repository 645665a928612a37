"""The command ``balltravel``: parse, call, print, exit code. Heavy imports are inside the commands."""

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from balltravel import __version__
from balltravel.cli_output import (
    BAD_INPUT,
    DONE,
    INTERRUPTED,
    SOME_FAILED,
    draw,
    print_json,
    print_text,
    progress_bar,
    say,
    tell_of_compilation,
    with_provenance,
    write,
)

if TYPE_CHECKING:
    from balltravel.check_resistance import Resistance
    from balltravel.files import ScenarioFile
    from balltravel.scenario import Scenario

_CODES = """\
results go to the standard output, everything else to the standard error output.
exit codes: 0 done; 1 done, but the result could not be written; 2 bad input, nothing was run;
3 some cases failed (their number is printed); 130 interrupted."""

_EXAMPLES = """\
examples:
  balltravel check scenarios/primer.toml
  balltravel material scenarios/mastic_by_readings.toml --figure flow.png
  balltravel material --kind "roof elastomer"
  balltravel simulate scenarios/primer.toml --set "material.viscosity=3500 cP" --figure cycle.png
  balltravel recommend scenarios/primer.toml --figure travel.png
  balltravel recommend scenarios/week_of_a_coater.toml --week --figure week.png
  balltravel suction scenarios/primer.toml --set "suction.altitude=1500 m"
  balltravel limits scenarios/mastic.toml --figure effects.png
  balltravel resistance --ball-over-seat 1.4 --cage-over-seat 1.8 --lift-over-seat 0.2
  balltravel wear scenarios/primer.toml --gap "50 um"
  balltravel prime scenarios/primer.toml --figure priming.png
  balltravel sweep scenarios/primer.toml --over 'drive.cycle_rate=["20 /min", "40 /min"]' --out rates.nc
"""


class _RefusedError(Exception):
    """Bad input that is no fault of the scenario file; the message says what and what is allowed."""


def _parser() -> argparse.ArgumentParser:
    raw = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(
        prog="balltravel",
        description="How the two ball checks of a pump lower behave, and which ball travel to set.",
        epilog=f"{_EXAMPLES}\n{_CODES}",
        formatter_class=raw,
    )
    parser.add_argument("--version", action="version", version=f"balltravel {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(
        name: str, run: Callable[[argparse.Namespace], int], about: str, file: str | None = None
    ) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=about, description=about, epilog=_CODES, formatter_class=raw)
        sub.set_defaults(run=run)
        sub.add_argument(
            "file", metavar="FILE", nargs=file, help="scenario file (TOML), see docs/scenario.md"
        )
        sub.add_argument(
            "--set", action="append", default=[], dest="settings", metavar="KEY=VALUE",
            help='replace a value of the file, e.g. "material.viscosity=3500 cP"; repeatable',
        )  # fmt: skip
        sub.add_argument("--json", action="store_true", help="print the result as JSON, in SI units")
        return sub

    command("check", _check, "Read a scenario and print what was understood and what follows; runs nothing.")
    stuff = command(
        "material", _material, "Print what was understood of the material, or invented kinds of it.", file="?"
    )
    stuff.add_argument("--figure", metavar="FILE.png", help="draw its viscosity (png, pdf or svg)")
    stuff.add_argument("--kinds", action="store_true", help="list kinds of material with common ranges")
    stuff.add_argument("--kind", metavar="NAME", help="print the invented example of a kind, to paste")
    one = command("simulate", _simulate, "Simulate one cycle and print what it says.")
    one.add_argument("--out", metavar="FILE.nc", help="write the cycle as netCDF")
    one.add_argument("--figure", metavar="FILE.png", help="draw the cycle (png, pdf or svg)")
    best = command("recommend", _recommend, "Try all arrangements of the shims and recommend one.")
    best.add_argument("--figure", metavar="FILE.png", help="draw the losses against travel (png, pdf or svg)")
    best.add_argument("--week", action="store_true", help="one arrangement for all materials of [week]")
    command("suction", _suction, "Print the net positive suction head there is and needed, and the vessel.")
    dry = command("prime", _prime, "Cycles until material fills a suction hose and a lower full of air.")
    dry.add_argument(
        "--against", default="0 bar", metavar="PRESSURE",
        help="gauge pressure at the outlet meanwhile; none by default, as with an open prime valve",
    )  # fmt: skip
    dry.add_argument("--figure", metavar="FILE.png", help="draw it over the cycles (png, pdf or svg)")
    what = command(
        "limits", _limits, "Print how far each input may go by itself, and which inputs matter most."
    )
    what.add_argument("--figure", metavar="FILE.png", help="draw what matters most (png, pdf or svg)")
    what.add_argument("--workers", type=_count, metavar="N", help="threads; all cores by default")
    inside = command(
        "resistance", _resistance, "Print the resistance of a check in creeping flow over its lift.", file="?"
    )
    _add_ratios(inside)
    worn = command("wear", _wear, "Print what worn seats and packings do, each alone.")
    worn.add_argument("--gap", metavar="LENGTH", help='gap that is tried, "30 um" by default')
    many = command("sweep", _sweep, "Run every combination of values; all arrangements of the shims if none.")
    many.add_argument(
        "--over", action="append", default=[], dest="grid", metavar="KEY=[VALUES]",
        help="values to run over, stronger than the file's [sweep]; repeatable",
    )  # fmt: skip
    many.add_argument("--out", metavar="FILE.nc", help="write all results as netCDF")
    many.add_argument("--workers", type=_count, metavar="N", help="threads; all cores by default")
    return parser


def _add_ratios(inside: argparse.ArgumentParser) -> None:
    inside.add_argument("--ball-over-seat", type=float, metavar="R/r", help="ball over seat radius")
    inside.add_argument("--cage-over-seat", type=float, metavar="R_c/r", help="cage over seat radius")
    inside.add_argument("--lift-over-seat", type=float, metavar="z/r", help="lift over seat radius")
    inside.add_argument("--solve", action="store_true", help="solve anew by finite elements (extra fem)")
    inside.add_argument("--figure", metavar="FILE.png", help="draw it with its limits (png, pdf or svg)")


def _count(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text[:9]) <= 1024:
        raise argparse.ArgumentTypeError(f"{text[:80]!r} given; allowed: 1 to 1024; example: 4")
    return int(text)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command line (that of the process by default); returns the exit code.

    Usage errors and ``--help`` end in SystemExit, as argparse does.
    """
    arguments = _parser().parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except KeyboardInterrupt:
        say("interrupted: nothing was written")
        return INTERRUPTED
    except _RefusedError as refused:
        say(str(refused))
        return BAD_INPUT


# --- the commands


def _check(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    from balltravel.preview import preview

    found = preview(given.scenario)
    if arguments.json:
        from balltravel.json_form import check_dict

        return print_json(check_dict(given.scenario, found))
    from balltravel.text import check_text

    return print_text(check_text(given.scenario, found))


def _material(arguments: argparse.Namespace) -> int:
    if [bool(arguments.file), arguments.kinds, arguments.kind is not None].count(True) != 1:
        raise _RefusedError("allowed: a scenario file, or --kinds, or --kind NAME: one of them")
    if not arguments.file:
        return _kinds(arguments)
    given = _read(arguments)
    _refuse_targets(arguments)
    from balltravel.material_report import material_report
    from balltravel.materials import understand

    found, code = material_report(given.scenario), DONE
    if arguments.figure:
        from balltravel.curve_plots import material_figure

        known = understand(given.scenario.material)
        code = draw(lambda: material_figure(found, known), arguments.figure)
    if arguments.json:
        return max(code, print_json(found.as_dict()))
    from balltravel.material_text import material_text

    return max(code, print_text(material_text(found)))


def _kinds(arguments: argparse.Namespace) -> int:
    if arguments.settings or arguments.figure:
        raise _RefusedError("--set, --figure: allowed with a scenario file")
    from balltravel.json_form import kind_dict
    from balltravel.material_kinds import KINDS, as_toml, kind_named
    from balltravel.units import UnitError

    if arguments.kinds and arguments.json:
        return print_json({name: kind_dict(kind) for name, kind in KINDS.items()})
    if arguments.kinds:
        from balltravel.material_text import kinds_text

        return print_text(kinds_text())
    try:
        kind = kind_named(arguments.kind)
    except UnitError as error:
        raise _RefusedError(f"--kind: {error}") from None
    return print_json(kind_dict(kind)) if arguments.json else print_text(as_toml(kind).rstrip())


def _simulate(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    _refuse_targets(arguments)
    from balltravel.advice import warnings_for
    from balltravel.core.status import Status
    from balltravel.dives import dive_caution
    from balltravel.metrics import cycle_metrics
    from balltravel.simulation import simulate

    tell_of_compilation()
    data = with_provenance(simulate(given.scenario), given)
    failed = _failed([data.attrs["status_code"]])
    metrics = None if failed else cycle_metrics(data)
    warnings = warnings_for(given.scenario, metrics, Status(data.attrs["status_code"]))
    warnings = (*warnings, *dive_caution(given.scenario, metrics))
    code = write(data, arguments.out)
    if arguments.figure and failed:
        say(f"{arguments.figure}: not drawn, for the run failed")
    elif arguments.figure:
        from balltravel.plots import cycle_figure

        code = max(code, draw(lambda: cycle_figure(data), arguments.figure))
    if arguments.json:
        from balltravel.json_form import simulation_dict

        printed = print_json(simulation_dict(data, metrics, warnings))
    else:
        from balltravel.text import simulation_text

        printed = print_text(simulation_text(data, metrics, warnings))
    return _ended(failed, 1, max(code, printed))


def _recommend(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    _refuse_targets(arguments)
    if arguments.week:
        return _recommend_week(arguments, given)
    from balltravel.advice import recommend

    tell_of_compilation()
    with progress_bar("arrangements") as progress:
        found = recommend(given.scenario, progress=progress)
    failed = sum(_trial_failed(trial.status) for trial in found.arrangements)
    code = DONE
    if arguments.figure:
        from balltravel.plots import travel_figure

        code = draw(lambda: travel_figure(found, given.scenario), arguments.figure)
    if arguments.json:
        from balltravel.json_form import recommendation_dict

        printed = print_json(recommendation_dict(given.scenario, found))
    else:
        from balltravel.recommendation_text import recommendation_text

        printed = print_text(recommendation_text(given.scenario, found))
    return _ended(failed, len(found.arrangements), max(code, printed))


def _recommend_week(arguments: argparse.Namespace, given: "ScenarioFile") -> int:
    if len(given.week) < 2:
        raise _RefusedError(
            f"--week: {arguments.file} has no table [week]; allowed: a file with further materials; "
            'example: [week."flush solvent"]'
        )
    from balltravel.week import recommend_week

    tell_of_compilation()
    with progress_bar("runs") as progress:
        found = recommend_week(given.week, progress=progress)
    trials = [trial for one in found.materials for trial in one.arrangements]
    failed = sum(_trial_failed(trial.status) for trial in trials)
    code = DONE
    if arguments.figure:
        from balltravel.week_plots import week_figure

        code = draw(lambda: week_figure(given.week, found), arguments.figure)
    if arguments.json:
        from balltravel.json_form import week_dict

        printed = print_json(week_dict(given.week, found))
    else:
        from balltravel.week_text import week_text

        printed = print_text(week_text(given.week, found))
    return _ended(failed, len(trials), max(code, printed))


def _suction(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    from balltravel.suction_head import suction_report

    tell_of_compilation()
    found = suction_report(given.scenario)
    if arguments.json:
        return print_json({"title": given.scenario.title, **found.as_dict()})
    from balltravel.suction_text import suction_text

    return print_text(suction_text(given.scenario, found))


def _prime(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    _refuse_targets(arguments)
    from balltravel.priming import PrimingError, prime
    from balltravel.priming_setup import setup_of
    from balltravel.priming_text import priming_dict, priming_text
    from balltravel.scenario import ScenarioError

    try:
        setup = setup_of(given.scenario, _against(arguments.against))
    except ScenarioError as error:
        raise _RefusedError(str(error)) from None
    title, code = given.scenario.title, DONE
    try:
        found = prime(setup)
    except PrimingError as error:
        say(str(error))
        return _ended(1, 1, code)
    if arguments.figure:
        from balltravel.curve_plots import priming_figure

        code = draw(lambda: priming_figure(found, setup, title), arguments.figure)
    if arguments.json:
        return max(code, print_json(priming_dict(title, setup, found)))
    return max(code, print_text(priming_text(title, setup, found)))


def _against(text: str) -> float:
    """Gauge pressure [Pa]."""
    from balltravel.units import UnitError, to_si

    try:
        pressure = to_si(text, "pressure")
    except UnitError as error:
        raise _RefusedError(f"--against: {error}") from None
    if not 0.0 <= pressure <= 1e8:
        raise _RefusedError(f"--against: {text} given; allowed: 0 bar to 100 MPa gauge; example: 0 bar")
    return pressure


def _limits(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    _refuse_targets(arguments)
    from balltravel.files import read_again
    from balltravel.limits import what_else

    def read(settings: Sequence[str]) -> "Scenario":
        return read_again(given, arguments.file, [*arguments.settings, *settings])

    tell_of_compilation()
    with progress_bar("inputs") as progress:
        found = what_else(read, workers=arguments.workers, progress=progress)
    code = DONE
    if arguments.figure:
        from balltravel.limit_plots import effects_figure

        code = draw(lambda: effects_figure(found, given.scenario), arguments.figure)
    if arguments.json:
        from balltravel.json_form import help_dict

        return max(code, print_json(help_dict(given.scenario, found)))
    from balltravel.limits_text import limits_text

    return max(code, print_text(limits_text(given.scenario, found)))


def _resistance(arguments: argparse.Namespace) -> int:
    ratios = (arguments.ball_over_seat, arguments.cage_over_seat, arguments.lift_over_seat)
    given = [one is not None for one in ratios]
    if any(given) == bool(arguments.file) or (any(given) and not all(given)):
        options = "--ball-over-seat, --cage-over-seat and --lift-over-seat"
        raise _RefusedError(f"allowed: a scenario file, or {options}, all three")
    if not arguments.file and arguments.settings:
        raise _RefusedError("--set: allowed with a scenario file")
    if not arguments.file:
        return _resistance_of_ratios(arguments, ratios)
    given_file = _read(arguments)
    _refuse_targets(arguments)
    from balltravel.check_resistance import of_check

    s = given_file.scenario
    checks = ((s.inlet_check, s.inlet_travel), (s.piston_check, s.piston_check.travel))
    found = dict(zip(("inlet", "piston"), (of_check(s, *one) for one in checks), strict=True))
    if arguments.solve:
        raise _RefusedError("--solve: allowed with the three ratios, for a sharp edge in a plain bore")
    return _show_resistance(arguments, found)


def _resistance_of_ratios(arguments: argparse.Namespace, ratios: Sequence[float]) -> int:
    from balltravel.check_resistance import RatioError, curve_of_ratios, of_ratios

    _refuse_targets(arguments)
    try:
        found = {"table": of_ratios(*ratios)}
    except RatioError as error:
        raise _RefusedError(str(error)) from None
    if arguments.solve:
        from balltravel.check_resistance import solved_anew

        try:
            found["solved"] = solved_anew(*ratios)
        except (ImportError, OSError) as error:  # OSError: gmsh without a library of the system
            raise _RefusedError(f"--solve: {error}; needed: gmsh and scikit-fem (the extra fem)") from None
    ball, cage, _ = ratios
    return _show_resistance(arguments, found, {"table over lift": curve_of_ratios(ball, cage)})


def _show_resistance(
    arguments: argparse.Namespace,
    found: Mapping[str, "Resistance"],
    drawn: "Mapping[str, Resistance] | None" = None,
) -> int:
    code = DONE
    if arguments.figure:
        from balltravel.curve_plots import resistance_figure

        code = draw(lambda: resistance_figure({**(drawn or {}), **found}), arguments.figure)
    if arguments.json:
        dicts = {name: one.as_dict() for name, one in found.items()}
        return max(code, print_json(dicts if len(dicts) > 1 else next(iter(dicts.values()))))
    from balltravel.text import resistance_text

    return max(code, print_text(resistance_text(found)))


def _wear(arguments: argparse.Namespace) -> int:
    given = _read(arguments)
    from balltravel.scenario import ScenarioError
    from balltravel.units import UnitError, to_si
    from balltravel.wear import GAP, wear_report

    try:
        gap = GAP if arguments.gap is None else to_si(arguments.gap, "length")
    except UnitError as error:
        raise _RefusedError(f"--gap: {error}") from None
    tell_of_compilation()
    try:
        with progress_bar("states of wear") as progress:
            found = wear_report(given.scenario, gap, progress=progress)
    except ScenarioError as error:
        raise _RefusedError(f"--gap: {error}") from None
    if arguments.json:
        return print_json(found.as_dict())
    from balltravel.wear_text import wear_text

    return print_text(wear_text(given.scenario, found))


def _sweep(arguments: argparse.Namespace) -> int:
    given = _read(arguments, arguments.grid)
    _refuse_targets(arguments)
    from balltravel.scenario import ScenarioError
    from balltravel.sweeps import shim_grid, sweep

    grid: Mapping[str, Sequence[Any]] = given.sweep or shim_grid(given.scenario)
    tell_of_compilation()
    try:
        with progress_bar("cases") as progress:
            data = sweep(given.scenario, grid, workers=arguments.workers, progress=progress)
    except ScenarioError as error:
        raise _RefusedError("\n".join(f"in the sweep: {line}" for line in str(error).splitlines())) from None
    data = with_provenance(data, given)
    codes = data["status"].values.ravel().tolist()
    code = write(data, arguments.out)
    if arguments.json:
        from balltravel.json_form import sweep_dict

        printed = print_json(sweep_dict(data))
    else:
        from balltravel.text import sweep_text

        printed = print_text(sweep_text(data))
    return _ended(_failed(codes), len(codes), max(code, printed))


def _failed(codes: Sequence[Any]) -> int:
    from balltravel.core.status import Status

    return sum(Status(int(code)).failed for code in codes)


def _trial_failed(status: str) -> bool:
    from balltravel.core.status import Status

    return any(status == one.name.lower() for one in Status if one.failed)


def _ended(failed: int, cases: int, code: int) -> int:
    if not failed:
        return code
    say(f"{failed} of {cases} cases failed")
    return SOME_FAILED


# --- input and what is refused before the run


def _read(arguments: argparse.Namespace, grid: Sequence[str] = ()) -> "ScenarioFile":
    from balltravel.files import read_scenario_file
    from balltravel.scenario import ScenarioError

    try:
        return read_scenario_file(arguments.file, arguments.settings, grid)
    except ScenarioError as error:
        raise _RefusedError(str(error)) from None


def _refuse_targets(arguments: argparse.Namespace) -> None:
    """Find what cannot be written before the long run."""
    targets = {"--out": getattr(arguments, "out", None), "--figure": getattr(arguments, "figure", None)}
    faults = [fault for option, path in targets.items() if path for fault in _target_faults(option, path)]
    if targets["--out"] and not targets["--out"].lower().endswith(".nc"):
        faults.append(f"--out {targets['--out']}: allowed: a name ending in .nc (netCDF)")
    if targets["--figure"] and not targets["--figure"].lower().endswith((".png", ".pdf", ".svg")):
        faults.append(f"--figure {targets['--figure']}: allowed: a name ending in .png, .pdf or .svg")
    for option, path in targets.items():
        if path and arguments.file and os.path.realpath(path) == os.path.realpath(arguments.file):
            faults.append(f"{option} {path}: this is the scenario file, it would be overwritten")
    if faults:
        raise _RefusedError("\n".join(faults))


def _target_faults(option: str, path: str) -> Iterator[str]:
    folder = os.path.dirname(path) or "."
    if "\0" in path:
        yield f"{option}: a name with a zero byte; allowed: the name of a file; example: result.nc"
    elif os.path.isdir(path):
        yield f"{option} {path}: this is a folder; allowed: the name of a file in it"
    elif not os.path.isdir(folder):
        yield f"{option} {path}: no folder {folder}; allowed: a file in a folder that exists"
    elif not os.access(folder, os.W_OK):
        yield f"{option} {path}: the folder {folder} cannot be written to"


if __name__ == "__main__":
    sys.exit(main())
