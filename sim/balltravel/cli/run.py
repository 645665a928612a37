"""Runs a command: read, refuse, work, write, draw, print, exit code."""

import argparse
import importlib
import os
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Job
from balltravel.cli.given import RefusedError, read_file, refuse_targets
from balltravel.cli.output import (
    DONE,
    SOME_FAILED,
    SoFar,
    announce_compilation,
    draw,
    print_json,
    print_text,
    progress_bar,
    say,
    say_errors,
    with_provenance,
    write,
    write_bytes,
)
from balltravel.report.care import CARE
from balltravel.units.display import shown_in
from balltravel.units.systems import BOTH

if TYPE_CHECKING:
    from balltravel.files.read_write import ScenarioFile


class RunError(Exception):
    """The one run that a command makes failed; the message says why."""


def run(command: Command, arguments: argparse.Namespace, so_far: SoFar) -> int:
    """Run a command; its exit code. Raises RefusedError for bad input, before anything is run."""
    command = command.variant(arguments) or command
    with shown_in(arguments.units or BOTH):
        file = read_file(arguments, command.reads_with) if arguments.file and command.reads else None
    refuse_targets(arguments, command.folder)
    if command.compiled:
        announce_compilation()
    with shown_in(arguments.units or (file and file.units) or BOTH):
        return _answer(command, arguments, file, so_far)


def _answer(
    command: Command, arguments: argparse.Namespace, file: "ScenarioFile | None", so_far: SoFar
) -> int:
    """Work and give out what comes of it, in the units in use."""
    try:
        with progress_bar(command.counts) as progress:
            answer = command.work(Job(arguments, file, progress))
    except RunError as error:
        say_errors(str(error))
        return _exit_code(1, 1, DONE)
    code = DONE
    if file is not None and command.dataset is not None and arguments.out:
        code = write(with_provenance(command.dataset(*answer), file), arguments.out, so_far)
    if getattr(arguments, "figure", None):
        code = max(code, draw(lambda: _load(command.figure)(*answer), arguments.figure, so_far))
    if getattr(arguments, "card", None):
        make_card = _load(command.card)
        code = max(code, write_bytes(lambda: make_card(*answer, arguments.card), arguments.card, so_far))
    if file is not None and getattr(arguments, "report", None):
        make_page, source = _load(command.report), (file, arguments.file, arguments.settings)
        code = max(code, write_bytes(lambda: make_page(*answer, *source), arguments.report, so_far))
    if file is not None and getattr(arguments, "animate", None):
        film, ending = _load(command.animation), os.path.splitext(arguments.animate)[1]
        with progress_bar("pictures") as tell:
            code = max(
                code, write_bytes(lambda: film(file, *answer, ending, tell), arguments.animate, so_far)
            )
    if arguments.json:
        code = max(code, print_json(_json(command, answer), so_far))
    else:
        code = max(code, print_text(_text(command, answer), so_far))
    return _exit_code(*command.failures(*answer), code)


def _text(command: Command, answer: tuple[Any, ...]) -> str:
    text: str = _load(command.text)(*answer)
    return "\n".join([text, "", *CARE]) if command.care else text


def _json(command: Command, answer: tuple[Any, ...]) -> dict[str, Any]:
    values: dict[str, Any] = _load(command.json)(*answer)
    return {**values, "care": " ".join(CARE)} if command.care else values


def _load(place: str) -> Callable[..., Any]:
    """The function that is named ``module:function`` within the package."""
    module, _, function = place.partition(":")
    return getattr(importlib.import_module(f"balltravel.{module}"), function)  # type: ignore[no-any-return]


def _exit_code(failed: int, cases: int, code: int) -> int:
    """Exit code of cases of which some failed; says how many."""
    if not failed:
        return code
    say(f"{failed} of {cases} cases failed")
    return SOME_FAILED


__all__ = ["RefusedError", "RunError", "run"]
