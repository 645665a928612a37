"""The command ``balltravel``: parse, run, exit code."""

import argparse
import shutil
import sys
import textwrap
from collections.abc import Sequence
from typing import Any, NoReturn

from balltravel import __version__
from balltravel.cli.command import Command, all_options
from balltravel.cli.commands import COMMANDS
from balltravel.cli.given import NotWrittenError
from balltravel.cli.output import (
    BAD_INPUT,
    INTERRUPTED,
    NOT_WRITTEN,
    SoFar,
    flush_output,
    hold_closed_streams,
    say,
    say_errors,
)
from balltravel.cli.run import RefusedError, run
from balltravel.units.printable import WIDTH, printable
from balltravel.units.systems import SYSTEMS

_CODES = """\
results go to the standard output, everything else to the standard error output.
exit codes: 0 done; 1 done, but the result could not be written; 2 bad input, nothing was run;
3 some cases failed (their number is printed); 130 interrupted."""


def _page(prog: str) -> argparse.RawDescriptionHelpFormatter:
    """Help no wider than the page, nor than the terminal."""
    return argparse.RawDescriptionHelpFormatter(
        prog, width=min(WIDTH, shutil.get_terminal_size().columns - 2)
    )


class _Parser(argparse.ArgumentParser):
    """Its errors quote the command line, which may hold anything; its help may find no reader."""

    def print_help(self, file: Any = None) -> None:
        if file is not None:
            super().print_help(file)
        elif code := flush_output(self.format_help()):
            raise SystemExit(code)

    def error(self, message: str) -> NoReturn:
        says_what_is_allowed = message.startswith("argument ")
        told = printable(message) + ("" if says_what_is_allowed else f"; {self.prog} --help explains")
        super().error(textwrap.fill(told, WIDTH - len(self.prog) - len(": error: ")))


def _parser() -> argparse.ArgumentParser:
    examples = "\n".join(f"  balltravel {example}" for command in COMMANDS for example in command.examples)
    parser = _Parser(
        prog="balltravel",
        description="How the two ball checks of a pump lower behave, and which ball travel to set.",
        epilog=f"examples:\n{examples}\n\n{_CODES}",
        formatter_class=_page,
    )
    parser.add_argument("--version", action="version", version=f"balltravel {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for command in COMMANDS:
        _add(commands, command)
    return parser


def _add(commands: "argparse._SubParsersAction[_Parser]", command: Command) -> None:
    sub = commands.add_parser(
        command.name,
        help=command.about,
        description=command.about,
        epilog=_CODES,
        formatter_class=_page,
    )
    sub.set_defaults(row=command)
    sub.add_argument(
        "file", metavar="FILE", nargs=command.file, help="scenario file (TOML), see docs/scenario.md"
    )
    sub.add_argument(
        "--set", action="append", default=[], dest="settings", metavar="KEY=VALUE",
        help='replace a value of the file, e.g. "material.viscosity=3500 cP"; repeatable',
    )  # fmt: skip
    sub.add_argument(
        "--units", choices=SYSTEMS,
        help="units of text, figures and words in JSON: US, metric, or metric with the US one here and there",
    )  # fmt: skip
    sub.add_argument("--json", action="store_true", help="print the result as JSON, in SI units")
    for flag, settings in all_options(command):
        sub.add_argument(flag, **settings)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command line (that of the process by default); returns the exit code. An empty one asks for help.

    Usage errors and ``--help`` end in SystemExit, as argparse does.
    """
    hold_closed_streams()
    so_far = SoFar()
    try:
        arguments = _parser().parse_args((sys.argv[1:] if argv is None else argv) or ["--help"])
        return run(arguments.row, arguments, so_far)
    except KeyboardInterrupt as stop:
        say(str(stop) or so_far.interrupted())
        return INTERRUPTED
    except RefusedError as refused:
        say_errors(refused.lines)
        return BAD_INPUT
    except NotWrittenError as failed:
        say_errors([str(failed)])
        return NOT_WRITTEN
    except SystemExit as end:  # of argparse, which leaves its text in the buffer
        raise SystemExit(end.code or flush_output()) from None
