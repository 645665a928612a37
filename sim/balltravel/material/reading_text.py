"""A reading as one says it, ``100 KU at 25 C`` or ``Zahn 3, 25 s``, to the inline table that means the same.

The parts stand in any order with a comma, ``at`` or ``and`` between, and each says by its unit what it is.
"""

import re
from collections.abc import Mapping
from typing import Any

from balltravel.material.cups import FAMILIES, cup_named
from balltravel.material.readings import ReadingError
from balltravel.units import UnitError, to_si

TEXTS = ('"100 KU at 25 degC"', '"ISO 4 mm, 60 s"', '"12 Pa.s at 10 1/s"')
_NUMBER = r"([0-9]+\.?[0-9]*|\.[0-9]+)"
_SECONDS = r"[0-9.]+\s*(?:seconds|sec|s)\b"
_BETWEEN = re.compile(r"\s*[,;@]\s*|\s+(?:at|and|with)\s+")
_NUMBERED = {
    "krebs": re.compile(rf"{_NUMBER}\s*KU|KU\s*{_NUMBER}", re.IGNORECASE),
    "saybolt_universal": re.compile(rf"{_NUMBER}\s*(?:SSU|SUS)"),
    "saybolt_furol": re.compile(rf"{_NUMBER}\s*(?:SSF|SFS)"),
    "rpm": re.compile(rf"{_NUMBER}\s*rpm", re.IGNORECASE),
}
_BY_UNIT = {
    "viscosity": "viscosity",
    "time": "time",
    "temperature": "temperature",
    "shear_rate": "shear rate",
    "stress": "stress",
}
_CUP = re.compile("|".join(family.name for family in FAMILIES) + r"|ASTM|\bcup\b", re.IGNORECASE)
_TOLD = re.compile(r"\b(?:KU|SSU|SUS|SSF|SFS|rpm)\b|[0-9]\s*KU\b|\s(?:at|and|with)\s|@", re.IGNORECASE)


def is_reading(text: Any) -> bool:
    """Whether a text tells of an instrument, a cup, or under which conditions a viscosity was read."""
    return isinstance(text, str) and bool(_TOLD.search(text) or _CUP.search(text))


def table_of(text: str) -> dict[str, Any]:
    """The inline table of a text, its values as texts with units; raises ReadingError."""
    if len(text) > 100:
        raise _refusal(f"a text of {len(text)} characters")
    # Seconds need no comma beside their cup: "Zahn 3 25 s", "25 s Zahn 3".
    spaced = re.sub(
        rf"\s+(?={_SECONDS})|(?<=\d)(\s*(?:seconds|sec|s))\s+(?!at\b|and\b|with\b)(?=[A-Za-z#])",
        r"\1, ",
        text.strip(),
    )
    table: dict[str, Any] = {}
    for part in filter(None, _BETWEEN.split(spaced)):
        key, value = _part(part, text)
        if key in table:
            raise _refusal(f'"{text}" has two parts that are a {key.replace("_", " ")}')
        table[key] = value
    return table


def _part(part: str, text: str) -> tuple[str, Any]:
    """What a part of a text is, and its value."""
    for key, pattern in _NUMBERED.items():
        found = pattern.fullmatch(part)
        if found:
            number = next(filter(None, found.groups()))
            return key, f"{number} s" if key.startswith("saybolt") else number
    if _CUP.search(part):
        return "cup", cup_named(_plain_cup(part)).name
    if part.lower() in ("worked", "rested"):
        return "state", part.lower()
    for key, dimension in _BY_UNIT.items():
        try:
            to_si(part, dimension, 1000.0)  # any density: it only shows what kind of unit this is
        except UnitError:
            continue
        return key, part
    raise _refusal(f'"{text[:80]}": "{part[:40]}" is no part of a reading')


def _plain_cup(name: str) -> str:
    """A cup's name without the words around it: ``#4 Ford cup`` is ``Ford 4``."""
    name = re.sub(r"\b(?:cup|no\.?|number|nr\.?)(?=\W|$)|#", " ", name, flags=re.IGNORECASE)
    turned = re.fullmatch(r"\s*([0-9.]+)\s+([A-Za-z]+)\s*", name)
    return f"{turned[2]} {turned[1]}" if turned else name.strip()


def _refusal(given: str) -> ReadingError:
    allowed = "Krebs units, a cup and its seconds, or a viscosity; then its temperature and shear rate"
    return ReadingError(given, allowed, ", ".join(TEXTS[:2]))


_ENDS = ("low", "likely", "high", "exactly")


def tells_readings(raw: object) -> bool:
    """Whether a viscosity is written as a reading, or as a range of readings of an instrument."""
    if isinstance(raw, Mapping):
        return any(is_reading(raw.get(name)) for name in _ENDS)
    return is_reading(raw)
