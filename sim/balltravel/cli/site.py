"""The commands about the site, wear and what else would help. Heavy imports are inside."""

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from balltravel.cli.input import RefusedError, ended, read_file, refuse_targets
from balltravel.cli.output import (
    DONE,
    draw,
    print_json,
    print_text,
    progress_bar,
    say,
    tell_of_compilation,
)

if TYPE_CHECKING:
    from balltravel.scenario.model import Scenario


def suction_command(arguments: argparse.Namespace) -> int:
    """Run the command ``suction``; its exit code."""
    given = read_file(arguments)
    from balltravel.study.site.suction_head import suction_report

    tell_of_compilation()
    found = suction_report(given.scenario)
    if arguments.json:
        return print_json({"title": given.scenario.title, **found.as_dict()})
    from balltravel.report.text.suction import suction_text

    return print_text(suction_text(given.scenario, found))


def prime_command(arguments: argparse.Namespace) -> int:
    """Run the command ``prime``; its exit code."""
    given = read_file(arguments)
    refuse_targets(arguments)
    from balltravel.report.text.priming import priming_dict, priming_text
    from balltravel.scenario.model import ScenarioError
    from balltravel.study.site.priming import PrimingError, prime
    from balltravel.study.site.priming_setup import setup_of

    try:
        setup = setup_of(given.scenario, _against(arguments.against))
    except ScenarioError as error:
        raise RefusedError(str(error)) from None
    title, code = given.scenario.title, DONE
    try:
        found = prime(setup)
    except PrimingError as error:
        say(str(error))
        return ended(1, 1, code)
    if arguments.figure:
        from balltravel.report.figures.curves import priming_figure

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
        raise RefusedError(f"--against: {error}") from None
    if not 0.0 <= pressure <= 1e8:
        raise RefusedError(f"--against: {text} given; allowed: 0 bar to 100 MPa gauge; example: 0 bar")
    return pressure


def limits_command(arguments: argparse.Namespace) -> int:
    """Run the command ``limits``; its exit code."""
    given = read_file(arguments)
    refuse_targets(arguments)
    from balltravel.files.read_write import read_again
    from balltravel.study.limits.find import find_limits

    def read(settings: Sequence[str]) -> "Scenario":
        return read_again(given, arguments.file, [*arguments.settings, *settings])

    tell_of_compilation()
    with progress_bar("inputs") as progress:
        found = find_limits(read, workers=arguments.workers, progress=progress)
    code = DONE
    if arguments.figure:
        from balltravel.report.figures.limits import effects_figure

        code = draw(lambda: effects_figure(found, given.scenario), arguments.figure)
    if arguments.json:
        from balltravel.report.json import limits_dict

        return max(code, print_json(limits_dict(given.scenario, found)))
    from balltravel.report.text.limits import limits_text

    return max(code, print_text(limits_text(given.scenario, found)))


def wear_command(arguments: argparse.Namespace) -> int:
    """Run the command ``wear``; its exit code."""
    given = read_file(arguments)
    from balltravel.scenario.model import ScenarioError
    from balltravel.study.site.wear import GAP, wear_report
    from balltravel.units import UnitError, to_si

    try:
        gap = GAP if arguments.gap is None else to_si(arguments.gap, "length")
    except UnitError as error:
        raise RefusedError(f"--gap: {error}") from None
    tell_of_compilation()
    try:
        with progress_bar("states of wear") as progress:
            found = wear_report(given.scenario, gap, progress=progress)
    except ScenarioError as error:
        raise RefusedError(f"--gap: {error}") from None
    if arguments.json:
        return print_json(found.as_dict())
    from balltravel.report.text.wear import wear_text

    return print_text(wear_text(given.scenario, found))
