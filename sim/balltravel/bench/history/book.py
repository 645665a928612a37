"""The file of a pump's history: read entry by entry, and only ever added to.

An entry is a table of TOML with a line behind it that says that it is whole. What a kill or a full disk cuts
lacks that line: it is set aside, said, and left where it is.
"""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from balltravel.bench.history.entries import KEYS, TABLES, Entry, entry_of, out_of_order
from balltravel.bench.observed import Observations
from balltravel.bench.read_observed import parse_observations
from balltravel.files.appended import append, appended_bytes
from balltravel.files.lines import TextLimitError, key_lines, line_of
from balltravel.files.read_write import read_text
from balltravel.scenario.arguments import path_given, refused
from balltravel.scenario.model import Scenario, ScenarioError
from balltravel.scenario.rules.all import Fault

ENDING = ".log.toml"
HEADER, END = "[[entry]]", "# end of entry"
CUT = "# cut: the entry above is not whole and is set aside"
_HEADER = re.compile(r"\s*\[\[\s*entry\s*\]\]")
_ERROR_LINE = re.compile(r"\(at line (\d+), column \d+\)")

_FIRST = """\
# History of the pump of {name}. Only ever added to; docs/log.md has every key.
# The line "{end}" behind an entry says that it is whole.

"""


@dataclass(frozen=True)
class Book:
    """A file of history: its entries in their order, and in a sentence each what was set aside."""

    path: str
    entries: tuple[Entry, ...]
    aside: tuple[str, ...] = ()


def book_path(path: str | Path) -> Path:
    """Where the history of a scenario lies: ``primer.log.toml`` beside ``primer.toml``."""
    path = path_given(path, '"primer.toml"')
    return path.with_name(path.name.removesuffix(".toml") + ENDING)


def read_book(path: Path, scenario: Scenario, today: date | None = None) -> Book:
    """The entries of a file of history; none where there is no file. Raises ScenarioError with every fault
    and its line."""
    return _parsed(appended_bytes(path), str(path), scenario, today or date.today())


def add_entry(
    path: Path,
    scenario: Scenario,
    raw: Mapping[str, Any],
    observed: str | Path | None = None,
    *,
    of: str = "",
    option: bool = False,
    today: date | None = None,
) -> tuple[Entry, Book]:
    """Add an entry; it, and the file's history before it.

    ``raw``: its keys as the file has them (docs/log.md), without a date of the day that was observed, else of
    today; ``observed``: a file of observations, whose text is copied; ``of``: the scenario's file, for the
    file's first line; ``option``: whether faults name options of a command line. Raises ScenarioError,
    FileError.
    """
    today = today or date.today()
    seen, text = (None, "") if observed is None else _to_copy(observed, scenario, today)
    days = [seen_on.day for seen_on in seen.seen if seen_on.day] if seen else []
    raw = {"date": max(days, default=today), **raw, **({"seen": text} if seen else {})}
    faults: list[Fault] = []
    entry = entry_of(raw, lambda key: (f"--{key.replace('_', '-')}" if option else key, 0), scenario, today,
                     faults)  # fmt: skip
    if entry is None:
        raise ScenarioError([replace(fault, key="") for fault in faults])
    entry = replace(entry, observed=seen)
    if late := _seen_later(entry, ("--date" if option else "date", 0)):
        raise ScenarioError(late)
    block = _block({**raw, "date": entry.day}, text)
    _look_at_copy(block, entry, scenario, today, observed or "entry")
    books: list[Book] = []

    def made(data: bytes) -> bytes:
        book = _parsed(data, str(path), scenario, today)
        faults = out_of_order([*book.entries, entry], lambda _: ("", 0))
        if faults:
            raise ScenarioError([replace(fault, where="--" * option + fault.key, key="") for fault in faults])
        books.append(book)
        return (_joint(data, of or path.name) + block).encode()

    append(path, made)
    return entry, books[-1]


def _seen_later(entry: Entry, at: tuple[str, int]) -> list[Fault]:
    """The fault of an entry of which something was seen after its day."""
    seen = entry.observed.seen if entry.observed else ()
    late = max((condition.day for condition in seen if condition.day), default=entry.day)
    if late <= entry.day:
        return []
    return [Fault("", f"{entry.day} is before {late}, when it was seen", f"{late} or later", "", *at)]


def _joint(data: bytes, name: str) -> str:
    """What stands between the file as it is and a further entry."""
    if not data.strip():
        return _FIRST.format(name=_plain(Path(name).name), end=END)
    new_line = "" if data.endswith(b"\n") else "\n"
    *_, last = pieces(data)
    return new_line + (f"{CUT}\n\n" if _holds(last.text) else "\n")


def _plain(text: str) -> str:
    """Text on one line that a TOML file may hold."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _block(raw: Mapping[str, Any], observations: str) -> str:
    """The text of an entry, as it will be read; raises ScenarioError if it would not be."""
    lines = [HEADER, *(f"{key} = {_toml(raw[key])}" for key in KEYS if raw.get(key) not in (None, "", ()))]
    return "\n".join([*lines, *(["", observations.strip("\n")] if observations else []), END, ""])


def _toml(value: Any) -> str:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        text = value.encode("utf-8", "replace").decode()
        return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
    return f"{value}"


def _to_copy(path: str | Path, scenario: Scenario, today: date) -> tuple[Observations, str]:
    """Observations, and their text with the headers that it has in an entry. Raises ScenarioError."""
    text = read_text(path)
    seen = parse_observations(text, str(path), scenario, today)
    return seen, re.sub(r"^(\s*\[{1,2})\s*(?=[\w\"'])", r"\1entry.", text, flags=re.MULTILINE)


def _look_at_copy(block: str, entry: Entry, scenario: Scenario, today: date, observed: object) -> None:
    """Raises ScenarioError where the text of an entry would not be read as what it is."""
    try:
        same = _parsed(block.encode(), "", scenario, today).entries == (replace(entry, line=1),)
    except ScenarioError:
        same = False
    if not same:
        allowed = "tables under headers of their own, no value over several lines"
        raise refused(f"{observed}", "it cannot be copied into the history", allowed, "[[seen]]")


@dataclass(frozen=True)
class Piece:
    """Lines of a file up to the end of an entry: their text, the number of the first, and whether the end is
    there."""

    text: str
    line: int
    whole: bool


def pieces(data: bytes) -> Iterator[Piece]:
    """The pieces of a file, and at its end what follows the last entry. What was cut and had another entry
    added behind it is a piece without an end."""
    text = data.decode("utf-8-sig", "surrogateescape").replace("\r\n", "\n")
    begun, lines = 1, list[str]()
    for number, line in enumerate(text.split("\n"), 1):
        mark = line.rstrip()
        if mark not in (END, CUT):
            lines.append(line)
            continue
        yield Piece("\n".join([*lines, ""]), begun, mark == END)
        begun, lines = number + 1, []
    yield Piece("\n".join(lines), begun, False)


def _holds(text: str) -> bool:
    """Whether lines are more than blanks and comments."""
    return any(line.strip() and not line.lstrip().startswith("#") for line in text.split("\n"))


def _parsed(data: bytes, name: str, scenario: Scenario, today: date) -> Book:
    entries, aside, faults = list[Entry](), list[str](), list[Fault]()
    for piece in pieces(data):
        if not piece.whole:
            aside += _cut(piece, name)
            continue
        try:
            entry = _entry(piece, name, scenario, today)
            entries += [entry] if entry else []
        except ScenarioError as error:
            faults += error.faults
    if not faults:
        faults = out_of_order(entries, lambda entry: (f"{name}:{entry.line}", entry.line))
    if faults:
        raise ScenarioError(faults)
    return Book(name, tuple(entries), tuple(aside))


def _cut(piece: Piece, name: str) -> list[str]:
    """What is said of an entry that is not whole."""
    if not _holds(piece.text):
        return []
    lines = piece.text.split("\n")
    first = piece.line + next(i for i, line in enumerate(lines) if _holds(line))
    return [f'{name}:{first}: the entry is cut short and set aside; if it is whole, write "{END}" behind it']


def _entry(piece: Piece, name: str, scenario: Scenario, today: date) -> Entry | None:
    """The entry of a piece that has its end. Raises ScenarioError."""
    heads = [i for i, line in enumerate(piece.text.split("\n")) if _HEADER.match(line)]
    if not heads and not _holds(piece.text):
        return None
    faults: list[Fault] = []
    raw, lines = _tables(piece, name)
    if len(heads) != 1 or set(raw) != {"entry"} or not isinstance(raw["entry"], list):
        at = piece.line + (heads[1] if len(heads) > 1 else 0)
        given = f'no "{END}" before this line' if len(heads) > 1 else "no entry"
        raise ScenarioError([Fault("", given, f'"{HEADER}", its keys, "{END}"', "", f"{name}:{at}", at)])
    (values,) = raw["entry"]

    def where(key: str) -> tuple[str, int]:
        line = piece.line - 1 + line_of(lines, "entry", *([key] if key else []))
        return f"{name}:{line}", line

    entry = entry_of(values, where, scenario, today, faults)
    observed = None
    if any(table in values for table in TABLES):
        observed = _observed(piece, values, name, scenario, today, faults)
    if entry is not None:
        entry = replace(entry, observed=observed, line=piece.line + heads[0])
        faults += _seen_later(entry, where("date"))
    if entry is None or faults:
        raise ScenarioError(faults)
    return entry


def _tables(piece: Piece, name: str) -> tuple[dict[str, Any], dict[tuple[str, ...], int]]:
    """A piece as TOML, and where its keys stand; raises ScenarioError."""
    allowed = "TOML in UTF-8; nothing was changed in the file"
    try:
        piece.text.encode()
        lines = key_lines(piece.text)
        return tomllib.loads(piece.text), lines
    except UnicodeEncodeError as error:
        line = piece.line + piece.text[: error.start].count("\n")
        given = "not UTF-8"
    except TextLimitError as error:
        line, given, allowed = piece.line - 1 + error.line, error.given, error.allowed
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        at = _ERROR_LINE.search(str(error))
        line = piece.line - 1 + (int(at[1]) if at else 1)
        given = f"no TOML: {_ERROR_LINE.sub('', str(error)).strip()}"
    raise ScenarioError([Fault("", given, allowed, 'note = "opened"', f"{name}:{line}", line)])


def _observed(
    piece: Piece, values: Mapping[str, Any], name: str, scenario: Scenario, today: date, faults: list[Fault]
) -> Observations | None:
    """What was seen, by the reader of observations; of its faults the lines of this file."""
    text = _text_of_observations(piece.text.split("\n"))
    if not _says(text, {table: values[table] for table in TABLES if table in values}):
        allowed = "tables [[entry.seen]], [entry.stall], ... behind the keys"
        place = f"{name}:{piece.line}"
        faults.append(
            Fault("", "what was seen stands elsewhere", allowed, "[[entry.seen]]", place, piece.line)
        )
        return None
    try:
        return parse_observations(text, name, scenario, today)
    except ScenarioError as error:
        for fault in error.faults:
            line = piece.line - 1 + max(fault.line, 1)
            faults.append(replace(fault, where=f"{name}:{line}", line=line))
    return None


def _says(text: str, tables: Mapping[str, Any]) -> bool:
    """Whether a text is TOML and has these tables."""
    try:
        return tomllib.loads(text) == tables
    except tomllib.TOMLDecodeError:
        return False


def _text_of_observations(lines: Sequence[str]) -> str:
    """The lines of an entry as a file of observations has them, each where it stands."""
    header = re.compile(r"^(\s*\[{1,2}\s*)entry\s*\.\s*")
    begun, kept = False, []
    for line in lines:
        begun = begun or header.match(line) is not None
        kept.append(header.sub(r"\1", line) if begun else "")
    return "\n".join(kept)
