"""Values as they are written, one key's at a time, to SI."""

import shlex
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal, get_args, get_origin

from balltravel.closures.own.profile import begins_as_profile
from balltravel.closures.own.record import CheckTable
from balltravel.material.reading_ranges import table_of_range
from balltravel.material.reading_text import tells_readings
from balltravel.material.viscosity_reading import EXAMPLES, ViscosityReading, reading_of
from balltravel.scenario.model import (
    FIELDS,
    MOST_FITTINGS,
    MOST_SHIMS,
    ScenarioError,
    example_of,
    quantity_of,
)
from balltravel.scenario.rules.all import Fault
from balltravel.scenario.stroke_trace import EXAMPLE as TRACE_EXAMPLE
from balltravel.scenario.stroke_trace import read_trace
from balltravel.scenario.tables import FILES, NEEDED, printable_title
from balltravel.units import UnitError, cut, shown, to_si
from balltravel.units.keys import Names, choice_error, names_of

MOST_READINGS = 200
SHIM_NUMBERS = "an array of shim numbers, counted from 1"
_LARGEST_NUMBER = 10**6

CompanionReader = Callable[[str], bytes]
"""Reads a file that a scenario names; raises OSError or ValueError where there is none."""

NO_TABLE = "none"
"""Written for a check that has no table of its own."""


@dataclass(frozen=True)
class Entry:
    """A value as it was written, and where."""

    key: str
    raw: Any
    where: str
    line: int
    written_as: str = ""
    """The key by which it was written, where that is another."""

    def fault(self, given: str, allowed: str, example: str = "", key: str = "") -> Fault:
        """A fault at this place."""
        return Fault(key or self.written_as or self.key, given, allowed, example, self.where, self.line)


def value_of(entry: Entry, density: float | None) -> Any:
    """SI value of one entry; raises ScenarioError."""
    if entry.key == "title":
        return _title(entry)
    field = FIELDS[entry.key]
    quantity = quantity_of(field)
    if get_origin(field.annotation) is Literal:
        return _choice(entry, get_args(field.annotation))
    names = names_of(field)
    if names:
        return _named(entry, names, get_origin(field.annotation) is tuple)
    if quantity is None:
        return _numbers(entry)
    many = get_origin(field.annotation) is tuple
    if many and (not isinstance(entry.raw, list) or len(entry.raw) > MOST_SHIMS):
        allowed = f"an array of at most {MOST_SHIMS} lengths"
        raise ScenarioError([entry.fault(f"{shown(entry.raw)} given", allowed, quantity.written())])
    try:
        numbers = [to_si(raw, quantity.dimension, density) for raw in (entry.raw if many else [entry.raw])]
    except UnitError as error:
        raise ScenarioError([entry.fault(error.given, error.allowed, quantity.written())]) from None
    objection = quantity.objection(tuple(numbers))
    if objection:
        given = f"{shown(entry.raw)} given"
        raise ScenarioError([entry.fault(given, objection[1], quantity.written())])
    return tuple(numbers) if many else numbers[0]


def _title(entry: Entry) -> str:
    try:
        return printable_title(entry.raw)
    except UnitError as error:
        raise ScenarioError([entry.fault(error.given, error.allowed, error.example)]) from None


def _choice(entry: Entry, choices: tuple[str, ...]) -> str:
    if isinstance(entry.raw, str) and entry.raw in choices:
        return entry.raw
    error = choice_error(entry.raw, choices)
    raise ScenarioError([entry.fault(error.given, error.allowed, error.example)])


def _named(entry: Entry, names: Names, many: bool) -> str | tuple[str, ...]:
    """A name out of a list, or an array of them."""
    if not many:
        return _choice(entry, names.allowed)
    if not isinstance(entry.raw, list) or len(entry.raw) > MOST_FITTINGS:
        allowed = f"an array of at most {MOST_FITTINGS} names"
        raise ScenarioError([entry.fault(f"{shown(entry.raw)} given", allowed, example_of(entry.key))])
    return tuple(_choice(replace(entry, raw=raw), names.allowed) for raw in entry.raw)


def readings_of(entry: Entry, values: dict[str, Any]) -> tuple[ViscosityReading, ...]:
    """All readings of a material, by its other values; raises ScenarioError with a fault for each that cannot
    be."""
    defaults = fixed_defaults()
    density, expansion, lower, stated = (
        values.get(key, defaults.get(key))
        for key in (
            "material.density",
            "material.thermal_expansion",
            "material.temperature",
            "material.stated_temperature",
        )
    )
    raw = entry.raw
    if not isinstance(raw, list) or not 1 <= len(raw) <= MOST_READINGS:
        allowed = f"an array of 1 to {MOST_READINGS} readings"
        raise ScenarioError([entry.fault(f"{shown(raw)} given", allowed, f"[{EXAMPLES[0]}]")])
    readings, faults = [], []
    for number, item in enumerate(raw, 1):
        try:
            item = table_of_range(item) if isinstance(item, dict) and tells_readings(item) else item
            readings.append(reading_of(item, density, stated or lower, expansion or 0.0))
        except UnitError as error:
            faults.append(_of_reading(entry, number, error))
    if faults:
        raise ScenarioError(faults)
    return tuple(readings)


def _of_reading(entry: Entry, number: int, error: UnitError) -> Fault:
    """The fault of a reading; of one that was written as a viscosity at that key."""
    if not entry.written_as:
        return entry.fault(f"reading {number}: {error.given}", error.allowed, error.example)
    example = f"readings = [{error.example}]" if error.example.startswith("{") else error.example
    return entry.fault(error.given, error.allowed, example)


def trace_of(entry: Entry, read_companion: CompanionReader | None) -> tuple[tuple[float, float], ...]:
    """A measured stroke from the file that is named; raises ScenarioError."""
    allowed = "the name of a CSV file beside the scenario"
    if not isinstance(entry.raw, str) or read_companion is None:
        raise ScenarioError([entry.fault(f"{shown(entry.raw)} given", allowed, TRACE_EXAMPLE)])
    try:
        return read_trace(read_companion(entry.raw).decode("utf-8-sig"))
    except UnitError as error:
        raise ScenarioError(
            [entry.fault(f"{cut(entry.raw)}: {error.given}", error.allowed, error.example)]
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no text in UTF-8"
        raise ScenarioError([entry.fault(f"{shown(entry.raw)}: {reason}", allowed, TRACE_EXAMPLE)]) from None


def table_of(entry: Entry, read_companion: CompanionReader | None) -> CheckTable | None:
    """A check's own table from the file that is named; raises ScenarioError."""
    from balltravel.files.check_table import table_from

    if entry.raw == NO_TABLE:
        return None
    allowed, example = f"the name of a file that {MAKER} made, or none", FILES[entry.key]
    if not isinstance(entry.raw, str) or read_companion is None:
        raise ScenarioError([entry.fault(f"{shown(entry.raw)} given", allowed, example)])
    data = b""
    try:
        data = read_companion(entry.raw)
        return table_from(data)
    except (OSError, ValueError) as error:
        if begins_as_profile(data.decode("utf-8-sig", "replace")):
            raise ScenarioError([_is_drawing(entry)]) from None
        reason = getattr(error, "strerror", None) or next(iter(str(error).splitlines()), "unreadable")
        raise ScenarioError([entry.fault(f"{shown(entry.raw)}: {reason}", allowed, example)]) from None


MAKER = "balltravel check-table"


def _is_drawing(entry: Entry) -> Fault:
    """The fault of a drawing in the place of the table that is made from it."""
    piston = "--of piston " * entry.key.startswith("piston")
    made = f"{entry.raw.rpartition('.')[0] or entry.raw}.nc"
    return entry.fault(
        f"{shown(entry.raw)}: a drawing of the walls, not yet solved",
        f"the table that {MAKER} makes from it",
        f"{MAKER} FILE {piston}--profile {shlex.quote(entry.raw)} --out {shlex.quote(made)}",
    )


def _numbers(entry: Entry) -> tuple[int, ...]:
    raw = entry.raw
    few = isinstance(raw, list) and len(raw) <= MOST_SHIMS
    if few and all(type(number) is int and abs(number) < _LARGEST_NUMBER for number in raw):
        return tuple(raw)
    raise ScenarioError([entry.fault(f"{shown(raw)} given", SHIM_NUMBERS, "[1, 2]")])


def fixed_defaults() -> dict[str, Any]:
    """Defaults that hold whatever else is given; those of conditional keys are left out."""
    return {
        key: field.default
        for key, field in FIELDS.items()
        if not field.is_required() and field.default_factory is None and key not in NEEDED
    }
