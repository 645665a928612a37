"""What a command line gives, and what is refused before a run."""

import argparse
import os
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from balltravel.units.printable import printable

if TYPE_CHECKING:
    from balltravel.files.read_write import ScenarioFile


class RefusedError(Exception):
    """Bad input; each line says of one fault what was given and what is allowed, fit for a terminal."""

    def __init__(self, *lines: str) -> None:
        self.lines = tuple(printable(line) for line in lines)
        super().__init__("\n".join(self.lines))


class NotWrittenError(Exception):
    """What was under way could not be kept; the message says why and what stays."""


def read_file(arguments: argparse.Namespace, more: Sequence[str] = ()) -> "ScenarioFile":
    """Scenario file of a command line, with further settings; raises RefusedError with every fault."""
    from balltravel.files.read_write import read_scenario_file
    from balltravel.scenario.model import ScenarioError

    try:
        return read_scenario_file(
            arguments.file, [*arguments.settings, *more], getattr(arguments, "grid", ())
        )
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None


def names_folder(path: str) -> bool:
    """Whether ``--out`` of a command that fills folders names one, and no file."""
    return _ending(path) != ".nc"


def refuse_targets(arguments: argparse.Namespace, folder: bool = False) -> None:
    """Find what cannot be written before the long run; ``folder``: ``--out`` may name one, and who fills it
    looks at it."""
    flags = ("--out", "--figure", "--card", "--report", "--animate")
    targets = {flag: getattr(arguments, flag[2:], None) for flag in flags}
    if folder and targets["--out"] and "\0" not in targets["--out"] and names_folder(targets["--out"]):
        targets["--out"] = None
    faults = [fault for option, path in targets.items() if path for fault in _target_faults(option, path)]
    if targets["--out"] and _ending(targets["--out"]) != ".nc":
        faults.append(f"--out {targets['--out']}: allowed: a name ending in .nc (netCDF)")
    if targets["--figure"] and _ending(targets["--figure"]) not in (".png", ".pdf", ".svg"):
        faults.append(f"--figure {targets['--figure']}: allowed: a name ending in .png, .pdf or .svg")
    if targets["--card"] and _ending(targets["--card"]) not in (".pdf", ".html"):
        faults.append(f"--card {targets['--card']}: allowed: a name ending in .pdf or .html")
    if targets["--report"] and _ending(targets["--report"]) != ".html":
        faults.append(f"--report {targets['--report']}: allowed: a name ending in .html")
    if targets["--animate"]:
        from balltravel.report.animate import ending_fault

        fault = ending_fault(_ending(targets["--animate"]))
        faults += [f"--animate {targets['--animate']}: {fault}; example: ball.html"] if fault else []
    for option, path in targets.items():
        if path and arguments.file and os.path.realpath(path) == os.path.realpath(arguments.file):
            faults.append(f"{option} {path}: this is the scenario file, it would be overwritten")
    if faults:
        raise RefusedError(*faults)


def _ending(path: str) -> str:
    return os.path.splitext(path)[1].lower()


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
    else:
        from balltravel.files.read_write import FileError, check_target

        try:
            check_target(path)
        except FileError as error:
            yield f"{option} {error}"


def count(text: str) -> int:
    """How many threads, for argparse."""
    from balltravel.scenario.arguments import WORKERS

    return _whole(text, WORKERS.name, WORKERS.checked)


def draws(text: str) -> int:
    """How many draws, for argparse."""
    from balltravel.scenario.arguments import draws_checked

    return _whole(text, "draws", draws_checked)


def samples(text: str) -> int:
    """How many samples of a sweep, for argparse."""
    from balltravel.study.swept.samples import samples_checked

    return _whole(text, "samples", samples_checked)


def seed(text: str) -> int:
    """Where draws begin, for argparse."""
    from balltravel.scenario.arguments import SEED

    return _whole(text, SEED.name, SEED.checked)


def _whole(text: str, name: str, checked: Callable[[object], int]) -> int:
    """A whole number that is checked, and refused in argparse's way."""
    from balltravel.scenario.model import ScenarioError

    whole = text.isascii() and text.removeprefix("-").isdigit()
    try:
        return checked(int(text[:9]) if whole else text)
    except ScenarioError as error:
        raise argparse.ArgumentTypeError(str(error).removeprefix(f"{name}: ")) from None


def quantity_given(flag: str, text: str, dimension: str, density: float | None = None) -> float:
    """SI value of an option's quantity; ``density`` [kg/m3] of what a kinematic viscosity is of; raises
    RefusedError."""
    from balltravel.scenario.arguments import refused
    from balltravel.units import UnitError, to_si

    try:
        return to_si(text, dimension, density)
    except UnitError as error:
        raise RefusedError(str(refused(flag, error.given, error.allowed, error.example))) from None
