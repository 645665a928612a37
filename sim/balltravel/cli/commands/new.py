"""The command new: a scenario by questions, the worksheet. Heavy imports stand inside."""

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from balltravel.cli.command import Command, Job, option
from balltravel.cli.given import NotWrittenError, RefusedError
from balltravel.units.systems import METRIC, US

if TYPE_CHECKING:
    from balltravel.bench.new.dialogue import Dialogue
    from balltravel.bench.new.make import Base, Made
    from balltravel.files.draft import Draft

NAME = "my_lower.toml"
"""The scenario that is made if nobody names one."""


def _new(job: Job) -> tuple[Any, ...]:
    from balltravel.files.draft import drop_draft
    from balltravel.files.read_write import FileError

    path = job.arguments.file or NAME
    dialogue = _dialogue(job, path)
    try:
        made = dialogue.hold()
        if made is None:
            raise NotWrittenError(f"stopped: {_goes_on(path, dialogue.draft)}")
        _write(made, path)
        drop_draft(path)
    except FileError as error:
        raise NotWrittenError(str(error)) from None
    except KeyboardInterrupt:
        raise KeyboardInterrupt(f"interrupted: {_goes_on(path, dialogue.draft)}") from None
    return path, made


def _goes_on(path: str, draft: "Draft") -> str:
    from balltravel.files.draft import draft_path

    if not draft.typed:
        return "nothing was answered, nothing is kept"
    return f"{len(draft.typed)} answers are kept in {draft_path(path)}; the same command goes on"


def _dialogue(job: Job, path: str) -> "Dialogue":
    """What is asked and where it is kept; raises RefusedError before anything is asked."""
    from balltravel.bench.new.dialogue import Dialogue
    from balltravel.cli.terminal import Terminal
    from balltravel.files.draft import Draft, load_draft
    from balltravel.files.read_write import FileError, check_target
    from balltravel.scenario.model import ScenarioError

    given = job.arguments
    try:
        draft = load_draft(path)
        if draft is None and os.path.lexists(path):
            another = f"a new name, or --from {path} to start from it"
            raise RefusedError(f"{path}: it exists already; allowed: {another}; example: {NAME}")
        check_target(path)
        if draft is not None and given.begin:
            raise RefusedError(f"--from: {path} was begun already; allowed: without --from, to go on")
        draft = draft or Draft(base=_started_from(given.begin))
        base = _base(draft, path)
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None
    except FileError as error:
        raise RefusedError(str(error)) from None
    return Dialogue(draft, path, base, _system(given), given.answers is None, Terminal())


def _started_from(name: str | None) -> tuple[str, str] | None:
    """Name and text of the lower that one starts from."""
    from balltravel.files.read_write import read_scenario_file

    return None if name is None else (name, read_scenario_file(name).text)


def _base(draft: "Draft", path: str) -> "Base | None":
    from balltravel.bench.new.make import read_base

    return None if draft.base is None else read_base(draft.base[1], draft.base[0], path)


def _system(given: argparse.Namespace) -> str | None:
    """The units of the blanks: as they are asked for, or as the sheet was printed in."""
    from balltravel.bench.new.blanks import SHEETS
    from balltravel.bench.new.sheet import system_of_sheet
    from balltravel.files.read_write import scenario_bytes
    from balltravel.scenario.model import ScenarioError

    if given.units in SHEETS or not given.answers:
        return given.units if given.units in SHEETS else None
    try:
        return system_of_sheet(scenario_bytes(Path(given.answers)))
    except (ScenarioError, ValueError):
        allowed = "a worksheet as --worksheet writes it"
        raise RefusedError(
            f"--answers {given.answers}: no worksheet; allowed: {allowed}; example: sheet.pdf"
        ) from None


def _write(made: "Made", path: str) -> None:
    """Write the scenario; one of another text that came there meanwhile stays. Raises FileError."""
    from balltravel.files.draft import write_text
    from balltravel.files.read_write import FileError, scenario_bytes

    if os.path.lexists(path) and scenario_bytes(Path(path)) != made.text.encode():
        raise FileError(
            f"{path}: a file of that name came there meanwhile; move it, the same command goes on"
        )
    write_text(made.text, path)


def _worksheet(job: Job) -> tuple[Any, ...]:
    from balltravel.files.read_write import write_whole

    path, system = job.arguments.worksheet, US if job.arguments.units == US else METRIC
    ending = os.path.splitext(path)[1].lower()
    if ending not in (".pdf", ".html"):
        raise RefusedError(f"--worksheet {path}: allowed: a name ending in .pdf or .html; example: sheet.pdf")
    from balltravel.report.figures.plain import plain_settings

    with plain_settings():
        from balltravel.report.figures.worksheet.page import worksheet_html, worksheet_pdf

        data = worksheet_pdf(system) if ending == ".pdf" else worksheet_html(system).encode()
    try:
        write_whole(data, path)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise NotWrittenError(f"{path}: cannot be written: {reason}") from None
    return path, system


def _new_variant(arguments: argparse.Namespace) -> Command | None:
    if arguments.settings:
        raise RefusedError("--set: allowed with a scenario that is there; here its values are asked")
    if not arguments.worksheet:
        return None
    others = {"FILE": arguments.file, "--from": arguments.begin, "--answers": arguments.answers}
    if given := [name for name, value in others.items() if value is not None]:
        raise RefusedError(
            f"--worksheet with {' and '.join(given)}; allowed: --worksheet alone, or with --units"
        )
    return WORKSHEET


WORKSHEET = Command(
    "new --worksheet",
    "",
    _worksheet,
    "report.text.bench.new:worksheet_text",
    "report.json:worksheet_dict",
    compiled=False,
    reads=False,
)

NEW = Command(
    "new",
    "Make a scenario of your lower by fourteen short questions, or print a sheet to write the answers on.",
    _new,
    "report.text.bench.new:new_text",
    "report.json:new_dict",
    options=(
        option("--from", dest="begin", metavar="LOWER", help="start from another scenario"),
        option("--worksheet", metavar="SHEET", help="write a page to print instead (.pdf or .html)"),
        option(
            "--answers", nargs="?", const="", metavar="SHEET",
            help="type in the blanks of a sheet, letter by letter, without explanations",
        ),
    ),
    examples=("new my_lower.toml", "new --worksheet sheet.pdf --units us"),
    compiled=False,
    file="?",
    reads=False,
    variant=_new_variant,
)  # fmt: skip
