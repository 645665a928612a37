"""Evenly spaced values of a sweep as one writes them: ``linear(20 /min, 60 /min, 5)``, ``log(...)``."""

import re
from dataclasses import replace
from typing import get_origin

import numpy as np

from balltravel.files.values import Entry, value_of
from balltravel.scenario.model import FIELDS, ScenarioError, quantity_of
from balltravel.units import shown

SPACED = re.compile(r"\s*(linear|log)\s*\((.*)\)\s*")
MOST_VALUES = 10_000
EXAMPLE = "log(0.5 Pa.s, 20 Pa.s, 7)"


def is_spaced(raw: object) -> bool:
    """Whether a value is written so, be it sound or not."""
    return isinstance(raw, str) and SPACED.fullmatch(raw) is not None


def spaced_values(entry: Entry, density: float | None) -> list[float]:
    """The values [SI], both ends among them; raises ScenarioError."""
    match = SPACED.fullmatch(entry.raw)
    assert match is not None
    parts = [part.strip() for part in match[2].split(",")]
    count = int(parts[2]) if len(parts) == 3 and re.fullmatch("[0-9]{1,9}", parts[2]) else 0
    if not 2 <= count <= MOST_VALUES:
        allowed = f"lowest value, highest value, number of values (2 to {MOST_VALUES})"
        raise _refused(entry, f"{shown(entry.raw)} given", allowed)
    if quantity_of(FIELDS[entry.key]) is None or get_origin(FIELDS[entry.key].annotation) is tuple:
        raise _refused(entry, f"{shown(entry.raw)} given", "an array: this key has no range of numbers", "")
    low, high = (value_of(replace(entry, raw=_written(part)), density) for part in parts[:2])
    if match[1] == "log" and not low * high > 0.0:
        raise _refused(entry, f"{shown(entry.raw)} given", "both ends above zero, or linear(...)")
    space = np.linspace if match[1] == "linear" else np.geomspace
    return [float(value) for value in space(low, high, count)]


def _written(text: str) -> float | str:
    """An end of the range: a number in SI, or text with a unit."""
    try:
        return float(text)
    except ValueError:
        return text


def _refused(entry: Entry, given: str, allowed: str, example: str = EXAMPLE) -> ScenarioError:
    return ScenarioError([entry.fault(given, allowed, example)])
