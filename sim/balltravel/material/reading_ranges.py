"""A range of what an instrument showed, ``{ low = "95 KU", high = "105 KU" }``, as one reading whose
uncertainty is that of the range and of the instrument together."""

import math
from collections.abc import Mapping
from typing import Any

from balltravel.material.reading_text import table_of
from balltravel.material.viscosity_reading import UNCERTAINTIES, reading_of
from balltravel.units import UnitError, to_si

_MEASURED = {
    "krebs": "",
    "time": "time",
    "saybolt_universal": "time",
    "saybolt_furol": "time",
    "viscosity": "viscosity",
}
_FORMS = ({"low", "high"}, {"low", "likely", "high"}, {"exactly"})
EXAMPLE = '{ low = "95 KU", high = "105 KU" }'
_ANY_DENSITY = 1000.0  # kg/m3: it goes out of a ratio of two viscosities


def table_of_range(raw: Mapping[str, Any]) -> dict[str, Any]:
    """The inline table of the likely reading (the middle where none is told), with its uncertainty: the
    standard deviation of ln viscosity over the range, even or a triangle, beside that of the instrument.
    Raises UnitError."""
    texts = raw.keys() in _FORMS and all(isinstance(text, str) for text in raw.values())
    tables: dict[str, Any] = {name: table_of(text) for name, text in raw.items()} if texts else {}
    if not _alike(list(tables.values())):
        given = f"{' and '.join(map(str, raw))[:60]} given of a reading"
        allowed = "low and high, with or without likely, or exactly: of one instrument, another number each"
        raise UnitError(given, allowed, EXAMPLE)
    if "exactly" in tables:
        return {**tables["exactly"], "uncertainty": UNCERTAINTIES[0]}
    key = _measured(tables["low"])
    numbers = {name: _number(key, table[key]) for name, table in tables.items()}
    low, high = numbers["low"], numbers["high"]
    if not low <= numbers.get("likely", low) <= high:
        given = ", ".join(f"{raw[name]} as {name}" for name in raw)[:100]
        raise UnitError(given, "low <= likely <= high", EXAMPLE)
    likely = {**tables["low"], key: _written(key, numbers.get("likely", 0.5 * (low + high)))}
    instrument = reading_of(likely, _ANY_DENSITY).relative_uncertainty
    return {**likely, "uncertainty": min(math.hypot(instrument, _deviation(tables)), UNCERTAINTIES[1])}


def _measured(table: Mapping[str, Any]) -> str:
    """The key of the number that an instrument showed."""
    return next((key for key in _MEASURED if key in table), "")


def _alike(tables: list[Any]) -> bool:
    """Whether all are readings of one instrument, which differ in its number alone."""
    if not tables or not all(map(_measured, tables)):
        return False
    rests = [{**table, _measured(table): None} for table in tables]
    return all(rest == rests[0] for rest in rests)


def _number(key: str, value: Any) -> float:
    return to_si(value, _MEASURED[key], _ANY_DENSITY) if _MEASURED[key] else float(value)


def _written(key: str, number: float) -> Any:
    """A number of an instrument as a table has it."""
    return f"{number!r} {({'time': 's', 'viscosity': 'Pa.s'}).get(_MEASURED[key], '')}".strip()


def _deviation(tables: Mapping[str, Any]) -> float:
    """Standard deviation of ln viscosity of an even law between low and high, or of a triangle."""
    a, b, c = (
        math.log(reading_of(tables.get(name, tables["low"]), _ANY_DENSITY).viscosity)
        for name in ("low", "likely", "high")
    )
    if "likely" not in tables:
        return (c - a) / math.sqrt(12.0)
    return math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18.0)
