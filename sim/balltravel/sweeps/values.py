"""The values of a swept key: whatever Python has them in, to SI, each looked at once by itself."""

import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from numbers import Real
from typing import Any, get_origin

import numpy as np
from numpy.typing import NDArray

from balltravel.files.swept import MOST_CASES
from balltravel.files.values import Entry, value_of
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.arguments import Number, plain, refused
from balltravel.scenario.model import FIELDS, ScenarioError, quantity_of
from balltravel.scenario.rules.all import Fault
from balltravel.units import DIMENSIONS, UnitError, kind_of, shown
from balltravel.units.keys import names_of, number_error, value_error

Values = NDArray[np.float64] | tuple[Any, ...]
"""SI values of a key: an array where all are numbers, else a tuple."""

MOST_LISTED = 20
"""Faults that are listed; how many more there are is said."""

COUNT = Number("count", 1, MOST_CASES, "20")

DELIMITER = "+"
NO_SHIM = "none"
READINGS = "material.readings"


@dataclass(frozen=True)
class Spaced:
    """So many values from ``low`` to ``high``, both included, in SI or as text with units; in even steps, or
    each the same multiple of the one before."""

    low: float | str
    high: float | str
    count: int
    even: bool = True

    def between(self, low: float, high: float) -> NDArray[np.float64]:
        """The values, by their ends in SI."""
        space = np.linspace if self.even else np.geomspace
        return np.asarray(space(low, high, self.count), np.float64)


def linear(low: float | str, high: float | str, count: int) -> Spaced:
    """Values for a key of a sweep, ``count`` (1 or more) in even steps from ``low`` to ``high``, which are
    numbers [SI] or text with units (``"20 /min"``). Raises ScenarioError."""
    return _spaced(low, high, count, even=True)


def logarithmic(low: float | str, high: float | str, count: int) -> Spaced:
    """As ``linear``, each value the same multiple of the one before; both ends above zero, or both below."""
    return _spaced(low, high, count, even=False)


def _spaced(low: float | str, high: float | str, count: int, even: bool) -> Spaced:
    ends = {}
    for name, value in (("low", low), ("high", high)):
        ends[name] = plain(value)
        text, number = isinstance(ends[name], str), isinstance(ends[name], Real)
        if not text and (not number or isinstance(ends[name], bool) or not math.isfinite(ends[name])):
            raise refused(
                name, f"{shown(ends[name])} given", "a number in SI, or text with a unit", '"2 Pa.s"'
            )
    return Spaced(ends["low"], ends["high"], COUNT.checked(count), even)


class Read:
    """What was read of a key: the sound ``values``, which of the ``count`` that were given they are, and
    the faults of the others, each told once; ``unlisted``: how many more there are."""

    def __init__(self, key: str, given: object, density: float | None) -> None:
        self.values: Values = ()
        self.count, self.unlisted = 0, 0
        self.sound = np.zeros(0, bool)
        self.faults: dict[Fault, None] = {}
        try:
            items = _spaced_out(key, given, density) if isinstance(given, Spaced) else _items(key, given)
        except ScenarioError as error:
            self.faults = dict.fromkeys(error.faults)
            return
        self.count = len(items)
        if isinstance(items, np.ndarray):
            self._take_numbers(key, items)
        else:
            self._take_each(key, items, density)

    def _take_numbers(self, key: str, numbers: NDArray[np.float64]) -> None:
        """Plain numbers of a quantity, a million of them at once."""
        quantity = quantity_of(FIELDS[key])
        assert quantity is not None
        within = (numbers >= quantity.low) & (numbers <= quantity.high)
        beyond = np.unique(numbers[~within]).tolist()
        for number in beyond[:MOST_LISTED]:
            error = number_error(quantity, number)
            if error:
                self.faults[Fault(key, error.given, error.allowed, error.example)] = None
        self.unlisted = len(beyond[MOST_LISTED:])
        self.sound, self.values = within, numbers[within]

    def _take_each(self, key: str, items: Sequence[Any], density: float | None) -> None:
        values: list[Any] = []
        self.sound = np.zeros(len(items), bool)
        for place, item in enumerate(items):
            try:
                values.append(_value(key, item, density))
                self.sound[place] = True
            except ScenarioError as error:
                self.faults.update(dict.fromkeys(error.faults))
        numeric = _is_number_key(key) and all(isinstance(value, float) for value in values)
        self.values = np.array(values, np.float64) if numeric else tuple(values)


def _is_many(key: str) -> bool:
    """Whether one value of the key is an array: shims, fittings."""
    return get_origin(FIELDS[key].annotation) is tuple


def _is_number_key(key: str) -> bool:
    return quantity_of(FIELDS[key]) is not None and not _is_many(key)


def _spaced_out(key: str, given: Spaced, density: float | None) -> NDArray[np.float64]:
    """The values of a spacing; raises ScenarioError."""
    ends = Read(key, (given.low, given.high), density)
    if ends.faults:
        raise ScenarioError(list(ends.faults))
    if not isinstance(ends.values, np.ndarray):
        raise refused(key, "a range of values given", "a list of its values", f'{{"{key}": [...]}}')
    low, high = ends.values.tolist()
    if not given.even and not low * high > 0.0:
        allowed = "both ends above zero, or linear(low, high, count)"
        raise refused(
            key, f"a logarithmic range from {low:g} to {high:g}", allowed, '("0.1 Pa.s", "10 Pa.s")'
        )
    return given.between(low, high)


def _items(key: str, given: object) -> NDArray[np.float64] | Sequence[Any]:
    """The values one by one: an array if all are plain numbers of a quantity; raises ScenarioError."""
    values = _turned(key, given)
    if isinstance(values, np.ndarray):
        return values
    numeric = (int, float, np.integer, np.floating)
    if _is_number_key(key) and all(isinstance(v, numeric) and not isinstance(v, bool) for v in values):
        try:
            return np.array(values, np.float64)
        except OverflowError:
            pass
    return values


def _turned(key: str, given: object) -> NDArray[np.float64] | Sequence[Any]:
    """What numpy, xarray and pandas have as an array, and lists; a single value as a list of it."""
    if isinstance(given, range):
        given = np.arange(given.start, given.stop, given.step)
    if hasattr(given, "__array__") and not isinstance(given, np.generic):
        array = np.atleast_1d(np.asarray(given))
        foreign = _foreign_units(key, given)
        if array.ndim > 1:
            raise _no_values(key, f"an array of {array.ndim} dimensions given")
        if foreign and array.dtype.kind in "iuf":
            given = [f"{number:.17g} {foreign}" for number in array.astype(np.float64)]
        elif array.dtype.kind in "iuf" and _is_number_key(key) and array.size:
            return array.astype(np.float64)
        else:
            given = array.tolist()
    single = given is None or isinstance(given, str | bool | Real | np.generic)
    if single or (_is_many(key) and isinstance(given, tuple) and not _holds_arrays(given)):
        given = [given]
    if not isinstance(given, list | tuple):
        raise _no_values(key, kind_of(given))
    if not 1 <= len(given) <= MOST_CASES:
        raise _no_values(key, "no value given" if not given else f"{len(given)} values given")
    return given


def _holds_arrays(given: tuple[Any, ...]) -> bool:
    return any(isinstance(item, list | tuple | np.ndarray) for item in given)


def _foreign_units(key: str, given: object) -> str:
    """Units that an array says it has (``attrs["units"]``, as in a Dataset) and that are not SI's."""
    quantity, units = quantity_of(FIELDS[key]), getattr(given, "attrs", {}).get("units")
    if quantity is None or not isinstance(units, str):
        return ""
    si = DIMENSIONS[quantity.dimension].si
    return "" if units in (si, cf_units(si)) else units


def cf_units(si: str) -> str:
    """An SI unit in the spelling of the CF conventions: ``Pa.s/m3`` is ``Pa s m-3``."""
    above, *below = si.split("/")
    factors = [factor for factor in above.split(".") if factor not in ("", "1")]
    factors += [re.sub(r"(\d*)$", lambda power: f"-{power[1] or 1}", factor, count=1) for factor in below]
    return " ".join(factors) or "1"


def _no_values(key: str, given: str) -> ScenarioError:
    quantity, names = quantity_of(FIELDS[key]), names_of(FIELDS[key])
    example = quantity.in_si() if quantity else f'"{names.allowed[0]}"' if names else "(1, 2)"
    allowed = f"one value, or a list or array of 1 to {MOST_CASES} values"
    return refused(key, given, allowed, f'{{"{key}": [{example}]}}')


def _value(key: str, raw: Any, density: float | None) -> Any:
    """One value in SI, None where the key is left out; raises ScenarioError."""
    if are_readings(key, raw):
        return raw
    item = plain(raw)
    if key == "shims.below" and isinstance(item, str):
        item = arrangement_in(item)
    if _is_text(key, item):
        return value_of(Entry(key, list(item) if isinstance(item, tuple) else item, "", 0), density)
    try:
        error = value_error(FIELDS[key], item)
    except OverflowError:
        error = UnitError("a number that is too large", "a number within the key's limits", "1.0")
    if error:
        raise refused(key, error.given, error.allowed, error.example)
    if _is_many(key):
        return item if item is None else tuple(item)
    return float(item) if _is_number_key(key) and item is not None else item


def are_readings(key: str, value: Any) -> bool:
    """Whether a value is the readings of a material as a scenario holds them, drawn anew; nobody writes them
    so."""
    drawn = key == READINGS and isinstance(value, tuple) and bool(value)
    return drawn and all(isinstance(reading, ViscosityReading) for reading in value)


def _is_text(key: str, item: Any) -> bool:
    """Whether a value is written as in a file: a quantity with its unit, or an array of such."""
    if quantity_of(FIELDS[key]) is None:
        return False
    return isinstance(item, str) or (
        isinstance(item, list | tuple) and any(isinstance(part, str) for part in item)
    )


def arrangement_in(text: str) -> Any:
    """The shims of a label, ``1+2`` or ``none``; the text itself if it is none."""
    parts = [] if text == NO_SHIM else text.split(DELIMITER)
    return (
        tuple(int(part) for part in parts)
        if all(part.isascii() and part.isdigit() for part in parts)
        else text
    )


def label_of(value: Any, numeric: bool) -> Any:
    """Coordinate of a value: numbers as they are, arrangements as ``1+2``, others as text; nan where a
    quantity is left out."""
    if isinstance(value, int | float) or (numeric and value is None):
        return math.nan if value is None else float(value)
    if are_readings(READINGS, value):
        return json.dumps(value)
    if isinstance(value, tuple):
        return DELIMITER.join(map(str, value)) or NO_SHIM
    return str(value)


def value_in(key: str, label: Any) -> Any:
    """The value [SI] of a key that a coordinate stands for: what ``label_of`` made a label of."""
    if isinstance(label, float):
        return None if math.isnan(label) else label
    if not _is_many(key):
        return None if label == str(None) else label
    if key == READINGS:
        return tuple(ViscosityReading(*reading) for reading in json.loads(label))
    kind = int if key == "shims.below" else float if quantity_of(FIELDS[key]) else str
    return tuple(map(kind, [] if label == NO_SHIM else label.split(DELIMITER)))


def taken(values: Values, places: NDArray[np.intp]) -> list[Any]:
    """Values at these places, as Python's own."""
    if isinstance(values, np.ndarray):
        return values[places].tolist()  # type: ignore[no-any-return]
    return [values[place] for place in places.tolist()]
