"""The command log: a history beside a lower's file. Heavy imports stand inside."""

import argparse
from pathlib import Path
from typing import Any

from balltravel.cli.command import Command, Job, option
from balltravel.cli.commands.many import WORKERS
from balltravel.cli.given import NotWrittenError, RefusedError

_LISTS = ("replaced", "cleaned", "turned")
_SHIMS = ("shims_below", "shims_above")
_TEXTS = ("did", "material", "cycles", "litres", "note")
_ADDING = (*_LISTS, *_SHIMS, *_TEXTS, "date", "observed")


def _place(arguments: argparse.Namespace) -> Path:
    from balltravel.bench.history.book import book_path

    return Path(arguments.log) if arguments.log else book_path(arguments.file)


def _show(job: Job) -> tuple[Any, ...]:
    from balltravel.bench.history.history import history_of
    from balltravel.cli.output import say
    from balltravel.scenario.model import ScenarioError

    try:
        made = history_of(job.scenario, _place(job.arguments), job.arguments.workers, job.progress)
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None
    for sentence in made.aside:
        say(sentence)
    return job.scenario, made


def _add(job: Job) -> tuple[Any, ...]:
    from balltravel.bench.history.book import add_entry
    from balltravel.files.read_write import FileError
    from balltravel.scenario.model import ScenarioError

    arguments, place = job.arguments, _place(job.arguments)
    try:
        entry, before = add_entry(
            place, job.scenario, _keys(arguments), arguments.observed, of=arguments.file, option=True
        )
    except ScenarioError as error:
        raise RefusedError(*map(str, error.faults)) from None
    except FileError as error:
        raise NotWrittenError(str(error)) from None
    return entry, str(place), len(before.entries) + 1, before.aside


def _keys(arguments: argparse.Namespace) -> dict[str, Any]:
    """The keys of an entry by what was typed."""
    given = {key: getattr(arguments, key) for key in _ADDING if getattr(arguments, key) is not None}
    given.pop("observed", None)
    lists = {key: _names(given[key]) for key in _LISTS if key in given}
    return given | lists | {key: _numbers(key, given[key]) for key in _SHIMS if key in given}


def _names(typed: list[str]) -> list[str]:
    return [" ".join(name.split()) for text in typed for name in text.split(",")]


def _numbers(key: str, text: str) -> list[Any]:
    """Numbers of shims: ``1+2``, or ``none``."""
    if text.strip() == "none":
        return []
    parts = [part.strip() for part in text.replace(",", "+").split("+")]
    if not all(part.isascii() and part.isdigit() and len(part) < 4 for part in parts):
        flag = f"--{key.replace('_', '-')}"
        raise RefusedError(f'{flag}: "{text}" given; allowed: numbers of shims, or none; example: 1+2')
    return [int(part) for part in parts]


def _variant(arguments: argparse.Namespace) -> Command | None:
    adding = [f"--{key.replace('_', '-')}" for key in _ADDING if getattr(arguments, key) is not None]
    if not adding:
        return None
    if arguments.show or arguments.figure:
        raise RefusedError(f"--show, --figure with {adding[0]}; allowed: add first, then show")
    return LOG_ADD


LOG_ADD = Command(
    "log",
    "",
    _add,
    "report.text.bench.log:added_text",
    "report.json:added_dict",
    compiled=False,
    care=False,
    variant=_variant,
)

LOG = Command(
    "log",
    "Keep the history of a pump: what was done, replaced and measured, and where delivery and leaks go.",
    _show,
    "report.text.bench.log:history_text",
    "report.json:report_dict",
    figure="report.figures.history:history_figure",
    draws="delivery and leaks over cycles, litres or days",
    options=(
        option("--did", metavar="TEXT", help='what was done: "opened, foot valve cleaned"'),
        option("--replaced", action="append", metavar="PARTS", help='new: "foot valve ball, throat packing"'),
        option("--cleaned", action="append", metavar="PARTS", help='cleaned: "foot valve"'),
        option("--turned", action="append", metavar="SEATS", help='turned over: "foot valve seat"'),
        option("--shims-below", metavar="1+2", help="shims below the cage as set, or none"),
        option("--shims-above", metavar="3", help="shims above it"),
        option("--material", metavar="TEXT", help="what is pumped from now on"),
        option("--cycles", metavar="N", help="by the counter, or +N since the last entry that has them"),
        option("--litres", metavar="N", help='the same in litres, or with a unit: "+55 US gal"'),
        option("--observed", metavar="SEEN", help="what was seen, a TOML file (docs/diagnose.md): copied in"),
        option("--date", metavar="DAY", help="2026-05-12; by default that of the observations, or today"),
        option("--note", metavar="TEXT", help="anything else"),
        option("--show", action="store_true", help="show the history, as without any option"),
        option("--log", metavar="LOG", help="the history, if it is not FILE with .log.toml at its end"),
        WORKERS,
    ),
    examples=(
        'log mine.toml --did "opened" --replaced "throat packing" --cycles 120000',
        "log mine.toml --observed today.toml --cycles +8000",
        "log mine.toml --figure history.png",
    ),
    counts="runs",
    care=False,
    variant=_variant,
)
