"""The values of a file's sweep, to SI."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from balltravel.files.shop import density_of, names_material
from balltravel.files.spaced import MOST_VALUES, is_spaced, spaced_values
from balltravel.files.values import Entry, value_of
from balltravel.scenario.model import ScenarioError, example_of
from balltravel.scenario.rules.all import Fault
from balltravel.units import shown

SWEEP = "sweep"
MOST_CASES = 10_000_000
DENSITY = "material.density"


def sweep_values(
    entries: Mapping[str, Entry], density: float | None
) -> tuple[dict[str, list[Any]], list[Fault]]:
    """SI values of every swept key, and what is wrong with others; ``density`` [kg/m3]: of kinematic
    viscosities, None where it is swept too."""
    sweep, faults = dict[str, list[Any]](), list[Fault]()
    for key, entry in entries.items():
        try:
            sweep[key] = _swept(entry, density)
        except ScenarioError as error:
            faults.extend(replace(fault, key=f'{SWEEP}."{key}"') for fault in error.faults)
    cases = math.prod(len(values) for values in sweep.values())
    if cases > MOST_CASES:
        last = list(entries.values())[-1]
        given = f"the sweep has {cases} combinations"
        faults.append(last.fault(given, f"at most {MOST_CASES}", "fewer values", SWEEP))
    return sweep, faults


def _swept(entry: Entry, density: float | None) -> list[Any]:
    if is_spaced(entry.raw):
        return spaced_values(entry, density)
    if not isinstance(entry.raw, list) or not 1 <= len(entry.raw) <= MOST_VALUES:
        allowed = f"an array of 1 to {MOST_VALUES} values, linear(low, high, count) or log(...)"
        raise ScenarioError([entry.fault(f"{shown(entry.raw)} given", allowed, array_of(entry.key))])
    each = [replace(entry, raw=raw) for raw in entry.raw]
    return [value_as_set(item, density) for item in each]


def value_as_set(entry: Entry, density: float | None) -> Any:
    """SI value of one entry that stands by itself, as in a sweep; raises ScenarioError."""
    return density_of(entry).likely if names_material(entry) else value_of(entry, density)


def array_of(key: str) -> str:
    """An array of values for the key, as one writes it."""
    value = example_of(key).partition(" = ")[2]
    return f"[{value}]"
