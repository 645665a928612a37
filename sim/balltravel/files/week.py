"""A whole scenario file: its scenario, its sweep, and the further materials of its week.

A further material is the file's values with some replaced, as ``--set`` replaces them, and is validated like
the file itself.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from balltravel.files.document import (
    MOST_FAULTS,
    WEEK,
    Document,
    Validated,
    add_fault,
    drop_replaced,
    first_of,
    flattened,
    located,
    named,
    read_entries,
    validate,
    without_misspelt,
)
from balltravel.files.lines import line_of
from balltravel.files.shop import viscosity_as_reading
from balltravel.files.values import CompanionReader, Entry
from balltravel.scenario.model import FIELDS, Scenario, ScenarioError, unknown_key
from balltravel.scenario.rules.all import Fault
from balltravel.units import kind_of, shown
from balltravel.units.display import as_written

OWN_NAME = "own_name"
FLUSH = "flush"
MOST_MATERIALS = 12
"""Materials of a week, the file's own one included (our choice)."""

LONGEST_NAME = 40
DIFFERS = ("material", "drive", "suction", "outlet", "target")
"""Tables whose keys may differ between materials: the lower and its shims are the same all week."""

NAME_TEXT = f"text of 1 to {LONGEST_NAME} characters, all printable, no blank at its ends"
NEW_MATERIAL = '[week."flush solvent"]'
NEW_KEY = '"material.viscosity" = "1.2 mPa.s"'


@dataclass(frozen=True)
class WeekMaterial:
    """One material of a week: its name, the lower with it, and whether it only flushes (its fill and its
    delivery are not asked for then, its landing is)."""

    name: str
    scenario: Scenario
    flush: bool = False


class Parsed(NamedTuple):
    """What a file says: its scenario, swept values by dotted key [SI], all materials of its week, the file's
    own one first, and the units to show results in; empty where it names none."""

    scenario: Scenario
    sweep: dict[str, list[Any]]
    week: tuple[WeekMaterial, ...]
    units: str = ""


def parse_scenario(
    text: str,
    name: str,
    settings: Sequence[str] = (),
    grid: Sequence[str] = (),
    read_companion: CompanionReader | None = None,
) -> Parsed:
    """Scenario, sweep values [SI] and week from the text of a file called ``name``; ``read_companion`` reads
    the text of a file that it names, and raises OSError or ValueError where there is none.

    ``settings`` and ``grid``: ``"table.key=value"`` and ``"table.key=[values]"``, stronger than the file;
    a material of the week starts from the values so set. Raises ScenarioError with every fault, sorted by
    line; faults of settings and grid come after. They say what is allowed in the units in which the file is
    written.
    """
    with as_written("\n".join((text, *settings, *grid))):
        return _parsed(read_entries(text, name, settings, grid), read_companion)


def _parsed(document: Document, read_companion: CompanionReader | None) -> Parsed:
    """The same of all entries."""
    own_name, further = _own_name(document), list(_materials(document))
    validated = validate(document, read_companion)
    variants, faults = [(own_name, False, validated)], list(validated.faults)
    for material in further:
        if len(faults) > MOST_FAULTS:
            break
        variant = _with_material(document, material, validated.faults, read_companion)
        variants.append((material.name, material.flush, variant))
        faults += variant.faults
    if faults:
        raise ScenarioError(first_of(faults))
    scenario = validated.scenario
    assert scenario is not None
    week = [
        WeekMaterial(name or scenario.title, variant.scenario, flush)
        for name, flush, variant in variants
        if variant.scenario is not None
    ]
    return Parsed(scenario, validated.sweep, tuple(week), *document.units)


@dataclass(frozen=True)
class _FurtherMaterial:
    """A further material as it was written: its table's place, its keys, its own faults."""

    name: str
    table: Entry
    entries: dict[str, Entry]
    flush: bool


def _week(document: Document) -> dict[str, Any]:
    return document.week[0].raw if document.week and isinstance(document.week[0].raw, dict) else {}


def _entry(document: Document, key: str, raw: Any, *path: str) -> Entry:
    """A key of the week at its line, else at the first of the week: [week] itself need not be written."""
    first = min((line for known, line in document.lines.items() if known[:1] == (WEEK,)), default=1)
    line = line_of({(WEEK,): first, **document.lines}, WEEK, *path)
    return named(key, raw, f"{document.name}:{line}", line)


def _own_name(document: Document) -> str:
    """The name of the file's own material; empty where none is given."""
    raw = _week(document).get(OWN_NAME)
    if raw is None:
        return ""
    if not _is_name(raw):
        entry = _entry(document, f"{WEEK}.{OWN_NAME}", raw, OWN_NAME)
        add_fault(document, entry.fault(f"{shown(raw)} given", NAME_TEXT, f'{OWN_NAME} = "wall paint"'))
        return ""
    return str(raw)


def _is_name(raw: Any) -> bool:
    return isinstance(raw, str) and 1 <= len(raw) <= LONGEST_NAME and raw.isprintable() and raw == raw.strip()


def _materials(document: Document) -> Iterator[_FurtherMaterial]:
    """The further materials; what is wrong with a table or a key goes to the faults."""
    if not document.week:
        return
    table = _entry(document, f"[{WEEK}]", document.week[0].raw)
    tables = {name: raw for name, raw in _week(document).items() if name != OWN_NAME}
    if not tables:
        given = "no further material" if isinstance(table.raw, dict) else kind_of(table.raw)
        add_fault(document, table.fault(given, "a table for each further material", NEW_MATERIAL))
        return
    if len(tables) >= MOST_MATERIALS:
        given, allowed = f"{len(tables)} further materials", f"at most {MOST_MATERIALS - 1}"
        add_fault(document, table.fault(given, allowed, "a file for each crew"))
        return
    for name, raw in tables.items():
        place = _entry(document, f"[{WEEK}.{shown(name)}]", raw, name)
        if not _is_name(name):
            add_fault(document, place.fault(f"{shown(name)} as a name", NAME_TEXT, NEW_MATERIAL))
        elif name == _week(document).get(OWN_NAME):
            add_fault(document, place.fault("the name of the file's own material", "another", NEW_MATERIAL))
        elif not isinstance(raw, dict):
            allowed = f"a table of keys, or {OWN_NAME}"
            add_fault(document, place.fault(kind_of(raw), allowed, NEW_MATERIAL))
        else:
            yield _further_material(document, name, place, raw)


def _further_material(document: Document, name: str, place: Entry, table: dict[str, Any]) -> _FurtherMaterial:
    """The keys of one further material."""
    entries: dict[str, Entry] = {}
    flush = table.get(FLUSH, False)
    for path, raw in flattened({key: value for key, value in table.items() if key != FLUSH}):
        entry = _entry(document, ".".join(path), raw, name, *path)
        if entry.key in entries:
            fault = entry.fault("given twice", "each key once", NEW_KEY)
        elif entry.key not in FIELDS:
            fault = located(unknown_key(entry.key), entry)
        elif entry.key.split(".")[0] not in DIFFERS:
            allowed = f"keys of {', '.join(DIFFERS)}, for the lower is the same all week"
            fault = entry.fault("cannot differ between materials", allowed, NEW_KEY)
        else:
            entries[entry.key] = entry
            continue
        add_fault(document, _within_material(fault, name))
    if not isinstance(flush, bool):
        entry = _entry(document, FLUSH, flush, name, FLUSH)
        add_fault(
            document,
            _within_material(entry.fault(f"{shown(flush)} given", "true or false", "flush = true"), name),
        )
    if not set(table) - {FLUSH}:
        allowed = "the keys in which it differs from the file's own material"
        add_fault(document, place.fault("no keys", allowed, NEW_KEY))
    viscosity_as_reading(entries)
    return _FurtherMaterial(name, place, entries, flush is True)


def _within_material(fault: Fault, name: str) -> Fault:
    """The fault with the material that has it in its key."""
    return replace(fault, key=f'{WEEK}."{name}"."{fault.key}"')


def _with_material(
    document: Document,
    material: _FurtherMaterial,
    known: Sequence[Fault],
    read_companion: CompanionReader | None,
) -> Validated:
    """The file's entries with those of a further material in their place; faults but those that are known of
    the file, at the material's own key or else at its table."""
    entries = {**document.entries, **material.entries}
    drop_replaced(entries, set(material.entries))
    variant = validate(replace(document, entries=entries, sweep={}, faults=[]), read_companion)
    known_faults = {(fault.key, fault.given, fault.allowed) for fault in known}
    faults = [
        _within_material(located(fault, material.entries.get(fault.key, material.table)), material.name)
        for fault in without_misspelt(variant.faults, known)
        if (fault.key, fault.given, fault.allowed) not in known_faults
    ]
    return Validated(variant.scenario, {}, faults)
