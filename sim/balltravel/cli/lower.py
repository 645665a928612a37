"""The commands about a lower and its shims: call, print, exit code. Heavy imports are inside."""

import argparse
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from balltravel.cli.input import RefusedError, ended, failed_of, read_file, refuse_targets, trial_failed
from balltravel.cli.output import (
    DONE,
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
    from balltravel.estimate.check_resistance import Resistance
    from balltravel.files.read_write import ScenarioFile


def check_command(arguments: argparse.Namespace) -> int:
    """Run the command ``check``; its exit code."""
    given = read_file(arguments)
    from balltravel.estimate.preview import preview

    found = preview(given.scenario)
    if arguments.json:
        from balltravel.report.json import check_dict

        return print_json(check_dict(given.scenario, found))
    from balltravel.report.text.scenario import check_text

    return print_text(check_text(given.scenario, found))


def material_command(arguments: argparse.Namespace) -> int:
    """Run the command ``material``; its exit code."""
    if [bool(arguments.file), arguments.kinds, arguments.kind is not None].count(True) != 1:
        raise RefusedError("allowed: a scenario file, or --kinds, or --kind NAME: one of them")
    if not arguments.file:
        return _kinds(arguments)
    given = read_file(arguments)
    refuse_targets(arguments)
    from balltravel.estimate.material_report import material_report
    from balltravel.material.model import material_model

    found, code = material_report(given.scenario), DONE
    if arguments.figure:
        from balltravel.report.figures.curves import material_figure

        known = material_model(given.scenario.material)
        code = draw(lambda: material_figure(found, known), arguments.figure)
    if arguments.json:
        return max(code, print_json(found.as_dict()))
    from balltravel.report.text.material import material_text

    return max(code, print_text(material_text(found)))


def _kinds(arguments: argparse.Namespace) -> int:
    if arguments.settings or arguments.figure:
        raise RefusedError("--set, --figure: allowed with a scenario file")
    from balltravel.material.kinds import KINDS, as_toml, kind_named
    from balltravel.report.json import kind_dict
    from balltravel.units import UnitError

    if arguments.kinds and arguments.json:
        return print_json({name: kind_dict(kind) for name, kind in KINDS.items()})
    if arguments.kinds:
        from balltravel.report.text.material import kinds_text

        return print_text(kinds_text())
    try:
        kind = kind_named(arguments.kind)
    except UnitError as error:
        raise RefusedError(f"--kind: {error}") from None
    return print_json(kind_dict(kind)) if arguments.json else print_text(as_toml(kind).rstrip())


def simulate_command(arguments: argparse.Namespace) -> int:
    """Run the command ``simulate``; its exit code."""
    given = read_file(arguments)
    refuse_targets(arguments)
    from balltravel.core.status import Status
    from balltravel.cycle.metrics import cycle_metrics
    from balltravel.cycle.simulate import simulate
    from balltravel.study.travel.dives import dive_caution
    from balltravel.study.travel.recommend import warnings_for

    tell_of_compilation()
    data = with_provenance(simulate(given.scenario), given)
    failed = failed_of([data.attrs["status_code"]])
    metrics = None if failed else cycle_metrics(data)
    warnings = warnings_for(given.scenario, metrics, Status(data.attrs["status_code"]))
    warnings = (*warnings, *dive_caution(given.scenario, metrics))
    code = write(data, arguments.out)
    if arguments.figure and failed:
        say(f"{arguments.figure}: not drawn, for the run failed")
    elif arguments.figure:
        from balltravel.report.figures.cycle_and_travel import cycle_figure

        code = max(code, draw(lambda: cycle_figure(data), arguments.figure))
    if arguments.json:
        from balltravel.report.json import simulation_dict

        printed = print_json(simulation_dict(data, metrics, warnings))
    else:
        from balltravel.report.text.scenario import simulation_text

        printed = print_text(simulation_text(data, metrics, warnings))
    return ended(failed, 1, max(code, printed))


def recommend_command(arguments: argparse.Namespace) -> int:
    """Run the command ``recommend``; its exit code."""
    given = read_file(arguments)
    refuse_targets(arguments)
    if arguments.week:
        return _recommend_week(arguments, given)
    from balltravel.study.travel.recommend import recommend

    tell_of_compilation()
    with progress_bar("arrangements") as progress:
        found = recommend(given.scenario, progress=progress)
    failed = sum(trial_failed(trial.status) for trial in found.arrangements)
    code = DONE
    if arguments.figure:
        from balltravel.report.figures.cycle_and_travel import travel_figure

        code = draw(lambda: travel_figure(found, given.scenario), arguments.figure)
    if arguments.json:
        from balltravel.report.json import recommendation_dict

        printed = print_json(recommendation_dict(given.scenario, found))
    else:
        from balltravel.report.text.travel import recommendation_text

        printed = print_text(recommendation_text(given.scenario, found))
    return ended(failed, len(found.arrangements), max(code, printed))


def _recommend_week(arguments: argparse.Namespace, given: "ScenarioFile") -> int:
    if len(given.week) < 2:
        raise RefusedError(
            f"--week: {arguments.file} has no table [week]; allowed: a file with further materials; "
            'example: [week."flush solvent"]'
        )
    from balltravel.study.week.recommend import recommend_week

    tell_of_compilation()
    with progress_bar("runs") as progress:
        found = recommend_week(given.week, progress=progress)
    trials = [trial for one in found.materials for trial in one.arrangements]
    failed = sum(trial_failed(trial.status) for trial in trials)
    code = DONE
    if arguments.figure:
        from balltravel.report.figures.week import week_figure

        code = draw(lambda: week_figure(given.week, found), arguments.figure)
    if arguments.json:
        from balltravel.report.json import week_dict

        printed = print_json(week_dict(given.week, found))
    else:
        from balltravel.report.text.week import week_text

        printed = print_text(week_text(given.week, found))
    return ended(failed, len(trials), max(code, printed))


def resistance_command(arguments: argparse.Namespace) -> int:
    """Run the command ``resistance``; its exit code."""
    ratios = (arguments.ball_over_seat, arguments.cage_over_seat, arguments.lift_over_seat)
    given = [one is not None for one in ratios]
    if any(given) == bool(arguments.file) or (any(given) and not all(given)):
        options = "--ball-over-seat, --cage-over-seat and --lift-over-seat"
        raise RefusedError(f"allowed: a scenario file, or {options}, all three")
    if not arguments.file and arguments.settings:
        raise RefusedError("--set: allowed with a scenario file")
    if not arguments.file:
        return _resistance_of_ratios(arguments, ratios)
    given_file = read_file(arguments)
    refuse_targets(arguments)
    from balltravel.estimate.check_resistance import of_check

    s = given_file.scenario
    checks = ((s.inlet_check, s.inlet_travel), (s.piston_check, s.piston_check.travel))
    found = dict(zip(("inlet", "piston"), (of_check(s, *one) for one in checks), strict=True))
    if arguments.solve:
        raise RefusedError("--solve: allowed with the three ratios, for a sharp edge in a plain bore")
    return _show_resistance(arguments, found)


def _resistance_of_ratios(arguments: argparse.Namespace, ratios: Sequence[float]) -> int:
    from balltravel.estimate.check_resistance import RatioError, curve_of_ratios, of_ratios

    refuse_targets(arguments)
    try:
        found = {"table": of_ratios(*ratios)}
    except RatioError as error:
        raise RefusedError(str(error)) from None
    if arguments.solve:
        from balltravel.estimate.check_resistance import solved_anew

        try:
            found["solved"] = solved_anew(*ratios)
        except (ImportError, OSError) as error:  # OSError: gmsh without a library of the system
            raise RefusedError(f"--solve: {error}; needed: gmsh and scikit-fem (the extra fem)") from None
    ball, cage, _ = ratios
    return _show_resistance(arguments, found, {"table over lift": curve_of_ratios(ball, cage)})


def _show_resistance(
    arguments: argparse.Namespace,
    found: Mapping[str, "Resistance"],
    drawn: "Mapping[str, Resistance] | None" = None,
) -> int:
    code = DONE
    if arguments.figure:
        from balltravel.report.figures.curves import resistance_figure

        code = draw(lambda: resistance_figure({**(drawn or {}), **found}), arguments.figure)
    if arguments.json:
        dicts = {name: one.as_dict() for name, one in found.items()}
        return max(code, print_json(dicts if len(dicts) > 1 else next(iter(dicts.values()))))
    from balltravel.report.text.scenario import resistance_text

    return max(code, print_text(resistance_text(found)))


def sweep_command(arguments: argparse.Namespace) -> int:
    """Run the command ``sweep``; its exit code."""
    given = read_file(arguments, arguments.grid)
    refuse_targets(arguments)
    from balltravel.scenario.model import ScenarioError
    from balltravel.sweeps.cases import shim_grid, sweep

    grid: Mapping[str, Sequence[Any]] = given.sweep or shim_grid(given.scenario)
    tell_of_compilation()
    try:
        with progress_bar("cases") as progress:
            data = sweep(given.scenario, grid, workers=arguments.workers, progress=progress)
    except ScenarioError as error:
        raise RefusedError("\n".join(f"in the sweep: {line}" for line in str(error).splitlines())) from None
    data = with_provenance(data, given)
    codes = data["status"].values.ravel().tolist()
    code = write(data, arguments.out)
    if arguments.json:
        from balltravel.report.json import sweep_dict

        printed = print_json(sweep_dict(data))
    else:
        from balltravel.report.text.scenario import sweep_text

        printed = print_text(sweep_text(data))
    return ended(failed_of(codes), len(codes), max(code, printed))
