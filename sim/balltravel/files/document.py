"""TOML text, settings and grids to a Scenario in SI: units are read here and every fault gets its place."""

import difflib
import tomllib
from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from pydantic import ValidationError

from balltravel.files.lines import TextLimitError, key_lines, line_of
from balltravel.files.missing import missing_faults
from balltravel.files.ranges import ValuesRead, read_values
from balltravel.files.shop import viscosity_as_reading
from balltravel.files.spaced import EXAMPLE, MOST_VALUES, is_spaced
from balltravel.files.swept import DENSITY, SWEEP, array_of, sweep_values
from balltravel.files.toml_text import read_toml
from balltravel.files.values import (
    CompanionReader,
    Entry,
    fixed_defaults,
)
from balltravel.scenario.model import (
    FIELDS,
    TABLES,
    Material,
    Scenario,
    ScenarioError,
    build,
    example_of,
    material_faults,
    not_swept,
    quantity_of,
    unknown_key,
)
from balltravel.scenario.ranges import impossible, names_written
from balltravel.scenario.rules.all import Fault, broken_rules, following_faults
from balltravel.scenario.tables import replaced_by
from balltravel.scenario.trade_names import our_key
from balltravel.units import AS_BOUGHT, DIGITS, UnitError, cut, kind_of, shown, to_si, to_text
from balltravel.units.display import system_checked

SETTING_OPTION = "--set"
GRID_OPTION = "--over"
WEEK = "week"
UNITS = "units"
MOST_FAULTS = 40
_AFTER_FILE = 10**9
_LONGEST_SETTING = 4000


@dataclass(frozen=True)
class Document:
    """Everything that was written: scenario entries, sweep entries, tables present, faults so far, the table
    of further materials as it stands, the line of each key, and the units to show results in, if any are
    named."""

    entries: dict[str, Entry]
    sweep: dict[str, Entry]
    tables: dict[str, int]
    faults: list[Fault]
    name: str
    last_line: int
    week: list[Entry]
    lines: dict[tuple[str, ...], int]
    units: list[str]


def read_entries(text: str, name: str, settings: Sequence[str] = (), grid: Sequence[str] = ()) -> Document:
    """All entries of a text, settings and grid among them; raises ScenarioError for what is no TOML.

    ``settings`` and ``grid``: ``"table.key=value"`` and ``"table.key=[values]"``, stronger than the file.
    """
    document = _read_document(text, name)
    for entries, options, option in (
        (document.entries, settings, SETTING_OPTION),
        (document.sweep, grid, GRID_OPTION),
    ):
        for fault in _override(entries, options, option):
            add_fault(document, fault)
    viscosity_as_reading(document.entries, _AFTER_FILE)
    drop_replaced(
        document.entries, {key for key, entry in document.entries.items() if entry.line >= _AFTER_FILE}
    )
    return document


class Validated(NamedTuple):
    """What entries say: the scenario (None with faults), swept values [SI], and every fault."""

    scenario: Scenario | None
    sweep: dict[str, list[Any]]
    faults: list[Fault]


def validate(document: Document, read_companion: CompanionReader | None = None) -> Validated:
    """The scenario of all entries, or all their faults, placed."""
    read = read_values(document.entries.values(), read_companion)
    document.faults.extend(read.faults)
    density = None if DENSITY in document.sweep else read.values.get(DENSITY)
    sweep, faults = sweep_values(document.sweep, density)
    document.faults.extend(faults)
    wrong = {fault.key for fault in document.faults}
    missing = [*missing_faults(document.entries, document.tables, wrong)]
    if document.faults or missing:
        others = without_misspelt([*missing, *_broken_among(document, read)], document.faults)
        placed = (_at_its_place(fault, document) for fault in others)
        return Validated(None, sweep, [*document.faults, *placed])
    try:
        scenario = build(read.tables())
        faults = impossible(scenario, {*read.ranges})
        return Validated(None if faults else scenario, sweep, [_at_its_place(f, document) for f in faults])
    except ScenarioError as error:
        return Validated(None, sweep, [_at_its_place(fault, document) for fault in error.faults])


def without_misspelt(faults: Iterable[Fault], told: Sequence[Fault]) -> list[Fault]:
    """The faults without those of keys that are missing because they are misspelt, which is reported."""
    meant = {our_key(fault.meant) for fault in told}
    return [fault for fault in faults if fault.given != "missing" or fault.key not in meant]


def _broken_among(document: Document, read: ValuesRead) -> list[Fault]:
    """What is wrong between those values that can be read, where others cannot: all errors are reported."""
    values, given = read.values, {key for key in document.entries if key != "title"} - read.apart
    # A faulty value says nothing of what hangs on it: its default does not stand for it.
    defaults = {key: value for key, value in fixed_defaults().items() if key not in given}
    following = _following_defaults({**defaults, **values}, given - set(values))
    broken = [
        fault
        for fault in broken_rules({**defaults, **following, **values}, given)
        if fault.given != "missing" or fault.key.split(".")[0] in tables_read(document)
    ]
    broken += following_faults(following, given)
    return broken + _of_material(values, [*document.faults, *broken])


def _of_material(values: dict[str, Any], faults: list[Fault]) -> list[Fault]:
    """What a material without other faults contradicts, reported together with those of other tables."""
    if any(fault.key.startswith(("material", "[material")) for fault in faults):
        return []
    material = {key.split(".")[1]: value for key, value in values.items() if key.startswith("material.")}
    try:
        return material_faults(Material(**material), values.get("suction.temperature"))
    except ValidationError:  # a required key is missing
        return []


def tables_read(document: Document) -> set[str]:
    """Tables that are there and are tables; of another not every key is reported as missing."""
    wrong = {fault.key for fault in document.faults}
    return {table for table in TABLES if table in document.tables and table not in wrong} | {
        entry.key.split(".")[0] for entry in document.entries.values()
    }


def add_fault(document: Document, fault: Fault) -> None:
    """Take a fault; beyond the limit raises ScenarioError at once: to look for near keys takes time."""
    document.faults.append(fault)
    if len(document.faults) > MOST_FAULTS:
        raise ScenarioError(first_of(document.faults))


def first_of(faults: Sequence[Fault]) -> list[Fault]:
    """The faults by line, those beyond the limit left out and said to be."""
    ordered = sorted(faults, key=lambda fault: fault.line)
    if len(ordered) <= MOST_FAULTS:
        return ordered
    rest = ordered[MOST_FAULTS]
    more = Fault(
        "",
        "more faults follow",
        f"{MOST_FAULTS} in a report; further ones are omitted",
        "",
        rest.where,
        rest.line,
    )
    return [*ordered[:MOST_FAULTS], more]


def _read_document(text: str, name: str) -> Document:
    try:
        lines = key_lines(text)
    except TextLimitError as error:
        where = f"{name}:{error.line}"
        raise ScenarioError([Fault("", error.given, error.allowed, "", where, error.line)]) from None
    last = text.count("\n") + (not text.endswith("\n"))
    document = Document({}, {}, {}, [], name, max(last, 1), [], lines, [])
    for key, raw in read_toml(text, name).items():
        line = line_of(lines, key)
        entry = Entry(key, raw, f"{name}:{line}", line)
        if key == SWEEP:
            _take_sweep(document, entry, lines)
        elif key == WEEK:
            document.week.append(entry)
        elif key in TABLES:
            _take_table(document, entry, lines)
        elif key == "title":
            document.entries[key] = entry
        elif key == UNITS:
            _take_units(document, entry)
        else:
            add_fault(document, _unknown_top(entry))
    return document


def _unknown_top(entry: Entry) -> Fault:
    if not isinstance(entry.raw, (dict, list)):
        return located(unknown_key(entry.key), entry)
    near = difflib.get_close_matches(entry.key, [*TABLES, SWEEP, WEEK], n=1)
    hint = f" (did you mean [{near[0]}]?)" if near else ""
    key = f"[{entry.key[:80]}]"
    return entry.fault(f"unknown table{hint}", f"the tables {', '.join(TABLES)}, {SWEEP}, {WEEK}", key=key)


def _take_table(document: Document, table: Entry, lines: dict[tuple[str, ...], int]) -> None:
    document.tables[table.key] = table.line
    if not isinstance(table.raw, dict):
        document.faults.append(table.fault(kind_of(table.raw), "a table", f"[{table.key}]"))
        return
    for name, raw in table.raw.items():
        line = line_of(lines, table.key, name)
        entry = named(f"{table.key}.{name}", raw, f"{document.name}:{line}", line)
        first = document.entries.get(entry.key)
        if first:
            given = f"given although {first.written_as or first.key} is"
            add_fault(document, entry.fault(given, "one of both", example_of(entry.key)))
        elif entry.key in FIELDS:
            document.entries[entry.key] = entry
        else:
            add_fault(document, located(unknown_key(entry.key), entry))


def _take_units(document: Document, entry: Entry) -> None:
    try:
        document.units.append(system_checked(entry.raw))
    except UnitError as error:
        document.faults.append(entry.fault(error.given, error.allowed, f"{UNITS} = {error.example}"))


def _take_sweep(document: Document, table: Entry, lines: dict[tuple[str, ...], int]) -> None:
    if not isinstance(table.raw, dict):
        document.faults.append(table.fault(kind_of(table.raw), "a table", f"[{SWEEP}]"))
        return
    for path, raw in flattened(table.raw):
        line = line_of(lines, SWEEP, *path)
        entry = named(".".join(path), raw, f"{document.name}:{line}", line)
        if entry.key in document.sweep:
            add_fault(document, entry.fault("swept twice", "each key once", f'"{entry.key}" = [...]'))
            continue
        fault = not_swept(entry.key)
        if fault:
            add_fault(document, located(fault, entry))
        else:
            document.sweep[entry.key] = entry


def flattened(table: dict[str, Any]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """``"a.b" = x`` and ``a.b = x`` mean the same in [sweep] and [week]."""
    for name, raw in table.items():
        if isinstance(raw, dict) and raw and name not in FIELDS:  # a range stays whole
            yield from (((name, inner), value) for inner, value in raw.items())
        else:
            yield (name,), raw


def named(key: str, raw: Any, where: str, line: int) -> Entry:
    """The entry of a key as it was written, by our name of it."""
    ours = our_key(key)
    return Entry(ours, raw, where, line, key if ours != key else "")


def located(fault: Fault, entry: Entry) -> Fault:
    return replace(fault, where=entry.where, line=entry.line)


def _override(entries: dict[str, Entry], settings: Iterable[str], option: str) -> Iterator[Fault]:
    """Put the settings into the entries; yields the faults of those that cannot be read."""
    for order, setting in enumerate(settings):
        key, equals, value = setting.partition("=")
        key = key.strip().strip('"')
        entry = named(key, _setting_value(value), f"{option} {setting[:200]}", _AFTER_FILE + order)
        if not equals:
            yield entry.fault("no = sign", "table.key=value", "material.viscosity=3500 cP", cut(key))
        elif len(setting) > _LONGEST_SETTING:
            yield entry.fault(f"{len(setting)} characters", f"at most {_LONGEST_SETTING}", key=cut(key))
        elif option == GRID_OPTION and (fault := not_swept(entry.key) or _no_array(entry, value)):
            yield located(fault, entry)
        elif entry.key not in FIELDS and key != "title":
            yield located(unknown_key(key), entry)
        else:
            entries[entry.key] = entry


def _no_array(entry: Entry, text: str) -> Fault | None:
    """The fault of a text after --over that is no array, with what is wrong about it."""
    if isinstance(entry.raw, list) or is_spaced(entry.raw):
        return None
    text, example = text.strip(), f"'{entry.key}={array_of(entry.key)}'"
    opened, closed = text.count("["), text.count("]")
    wrong = "no array"
    if opened != closed:
        wrong = f"an array without its {'closing bracket ]' if opened > closed else 'opening bracket ['}"
    elif text.startswith("["):
        wrong = "an array with something else than numbers and texts in double quotes, with commas between"
    allowed = f"an array of 1 to {MOST_VALUES} values in brackets, or {EXAMPLE}; the whole in single quotes"
    return entry.fault(f"{cut(text)} given, {wrong}", allowed, example)


def drop_replaced(entries: dict[str, Entry], set_: set[str]) -> None:
    """Keys of the file that one of ``set_`` replaces go: the ramps of a constant speed when
    ``--set drive.profile=harmonic``, the readings when a viscosity is set."""
    written = {key: names_written(entries[key].raw) for key in set_}
    most = max(map(len, written.values()), default=0)
    # Of several choices each is looked at: what belongs to one of them stays.
    ways = [{key: names[min(k, len(names) - 1)] for key, names in written.items()} for k in range(most)]
    for key in set[str].intersection(*map(replaced_by, ways)) if ways else ():
        entries.pop(key, None)


def _setting_value(text: str) -> Any:
    """A TOML value, or else the plain text itself."""
    text = text.strip()
    line = f"value = {text}"
    if len(line) > _LONGEST_SETTING or "\n" in text or "\r" in text:
        return text
    try:
        key_lines(line)
        return tomllib.loads(line)["value"]
    except (ValueError, RecursionError):
        return text


def _following_defaults(values: dict[str, Any], faulty: Set[str]) -> dict[str, Any]:
    """Defaults that follow from other keys of their table, in the order of its fields; none of a table with a
    faulty key, which they might follow from."""
    following: dict[str, Any] = {}
    blind = {key.split(".")[0] for key in faulty}
    for key, field in FIELDS.items():
        table, _, _ = key.partition(".")
        make: Any = field.default_factory
        if make is None or key in values or table in blind:
            continue
        known = {**following, **values}
        following[key] = make(
            {name.partition(".")[2]: known[name] for name in known if name.startswith(f"{table}.")}
        )
    return following


def _at_its_place(fault: Fault, document: Document) -> Fault:
    """The fault at its key, else at its table, else at the end of the file."""
    if fault.key in document.entries:
        entry = document.entries[fault.key]
        return located(replace(fault, given=_as_written(fault.given, entry)), entry)
    line = document.tables.get(fault.key.split(".")[0], 1 if fault.key == "title" else document.last_line)
    return replace(fault, where=f"{document.name}:{line}", line=line)


def _as_written(given: str, entry: Entry) -> str:
    """What a fault says was given, with the value as it was written before the one that was made of it."""
    quantity = quantity_of(FIELDS[entry.key]) if entry.key in FIELDS else None
    if quantity is None or not isinstance(entry.raw, str):
        return given
    try:
        value = to_si(entry.raw, quantity.dimension)
    except UnitError:  # a kinematic viscosity
        return given
    for digits in (DIGITS + 1, AS_BOUGHT):  # held against another size, or not
        converted = to_text(value, quantity.dimension, digits)
        if given.startswith(f"{converted} "):
            break
    else:
        return given
    if entry.raw == converted:
        return given
    return f"{shown(entry.raw)} ({converted}){given.removeprefix(converted)}"
