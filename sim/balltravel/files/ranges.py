"""All values of a document with their ranges, to SI: what is one value, and what is not known exactly."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from balltravel.files.shop import READINGS, VISCOSITY, density_of, names_material
from balltravel.files.values import CompanionReader, Entry, readings_of, table_of, trace_of, value_of
from balltravel.material.reading_text import tells_readings
from balltravel.scenario.model import ScenarioError
from balltravel.scenario.ranges import belongs_elsewhere, exact, is_range, range_of, with_density
from balltravel.scenario.rules.all import Fault
from balltravel.scenario.rules.ranges import EXAMPLE
from balltravel.scenario.tables import FILES, TYPICAL
from balltravel.units import is_kinematic, shown
from balltravel.units.spread import Spread

TRACE = "drive.trace"


@dataclass
class ValuesRead:
    """SI values of all entries that have no fault, the likely one where there is a range; the ranges; the
    faults; and the keys that were written but that the scenario does not hold itself: unknown ones with a
    default, and those of another than the likely choice."""

    values: dict[str, Any] = field(default_factory=dict)
    ranges: dict[str, Spread] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    apart: set[str] = field(default_factory=set)

    def tables(self) -> dict[str, Any]:
        """As ``build`` takes them."""
        tables: dict[str, Any] = {"ranges": self.ranges} if self.ranges else {}
        for key, value in self.values.items():
            table, _, name = key.rpartition(".")
            (tables.setdefault(table, {}) if table else tables)[name] = value
        return tables


def read_values(entries: Iterable[Entry], read_companion: CompanionReader | None) -> ValuesRead:
    """Density first, for kinematic viscosities, and readings last, for its temperature."""
    read = ValuesRead()
    order = {"material.density": -1, READINGS: 1}
    for entry in sorted(entries, key=lambda entry: order.get(entry.key, 0)):
        try:
            _take(entry, read, read_companion)
        except ScenarioError as error:
            read.faults += [replace(fault, where=entry.where, line=entry.line) for fault in error.faults]
    for key in [key for key in read.values if belongs_elsewhere(key, read.values, read.ranges)]:
        value = read.values.pop(key)
        read.ranges.setdefault(key, exact(value))
        read.apart.add(key)
    return read


def _take(entry: Entry, read: ValuesRead, read_companion: CompanionReader | None) -> None:
    """Read one entry; raises ScenarioError."""
    density = read.values.get("material.density")
    if entry.key == VISCOSITY and tells_readings(entry.raw):
        given, example = (
            f"{shown(entry.raw)} given although readings are",
            'readings = ["100 KU", "Zahn 5, 40 s"]',
        )
        raise ScenarioError([entry.fault(given, "one of both: several readings stand in readings", example)])
    if names_material(entry):
        made_of = density_of(entry)
        read.values[entry.key], read.ranges[entry.key] = made_of.likely, made_of
    elif is_range(entry.key, entry.raw) and entry.key != "title":
        law = range_of(entry.key, entry.raw, density)
        if law is None:
            read.apart.add(entry.key)
        else:
            read.values[entry.key], read.ranges[entry.key] = law.likely, law
    elif isinstance(entry.raw, str) and entry.raw.startswith("{"):
        given, allowed = f"{shown(entry.raw)} given", "a table on one line, its texts in quotes"
        raise ScenarioError([entry.fault(given, allowed, EXAMPLE)])
    elif entry.key == READINGS:
        read.values[entry.key] = readings_of(entry, read.values)
    elif entry.key == TRACE:
        read.values[entry.key] = trace_of(entry, read_companion)
    elif entry.key in FILES:
        read.values[entry.key] = table_of(entry, read_companion)
    else:
        read.values[entry.key] = value_of(entry, density)
        if is_kinematic(entry.raw):
            typical = TYPICAL[entry.key].about(read.values[entry.key])
            read.ranges[entry.key] = with_density(typical, entry.raw)
