"""How a shop writes a quantity: spellings that mean one thing where a certain dimension is asked for, and
those that might mean two, for which it is said what to write instead."""

import re
from typing import NamedTuple

GALLONS = re.compile(r"\b(US|imp|imperial|UK)\.?\s+(gal(?:lons?)?|qt|quarts?|fl\.?\s*oz|gpm)\b\.?")
_SIZES = {"g": "gal", "q": "qt", "f": "floz"}
_GRAVITY = r"(?:SG|sg|S\.G\.|s\.g\.|sp\.?\s?gr\.?)"
_GRAVITY_FIRST = re.compile(rf"\s*{_GRAVITY}\s*[=:]?\s*(\S.*?)\s*")
_RATIO = re.compile(r"\s*([0-9.]+)\s*:\s*([0-9]+)\s*")
_DEGREES = re.compile(r"(?:°|deg(?:rees?)?)?\s*([CF])")
_PER_GALLON = re.compile(r"/\s*gal\b")


class Unclear(NamedTuple):
    """Why a unit is not taken, and what to write, with an example."""

    why: str
    allowed: str


def plain_order(text: str, dimension: str) -> str:
    """The text with its number first: of ``SG 1.35``, and of a ratio such as ``30:1`` the quotient."""
    gravity = _GRAVITY_FIRST.fullmatch(text) if dimension == "density" else None
    if gravity:
        return f"{gravity[1]} SG"
    ratio = _RATIO.fullmatch(text) if dimension == "number" else None
    if ratio:
        return ratio[1] if ratio[2] == "1" else f"{ratio[1]}/{ratio[2]}"
    return text


def plain_unit(unit: str, dimension: str) -> str:
    """The unit by a name of our list: C and F where a temperature is asked for, SG where a density is."""
    if dimension == "temperature":
        degrees = _DEGREES.fullmatch(unit)
        return f"deg{degrees[1]}" if degrees else unit
    if dimension == "density":
        return "SG" if re.fullmatch(_GRAVITY, unit) else unit
    return unit


def gallons_named(unit: str) -> str:
    """The unit with US and imperial measures by a name of our list: ``US fl oz`` is ``US_floz``.

    What is counted per gallon is per US gallon, as densities are in lb/gal; the other is written lb/imp gal.
    """

    def name(found: re.Match[str]) -> str:
        size = "gpm" if found[2] == "gpm" else _SIZES[found[2][0]]
        return f"{'US' if found[1] == 'US' else 'imp'}_{size}"

    return _PER_GALLON.sub("/US_gal", GALLONS.sub(name, unit))


_MEASURES = ("gal", "gallon", "gallons", "qt", "quart", "quarts", "fl oz", "floz", "gpm")
_CYCLES = 'cycles, each an upstroke and a downstroke: "40 cpm"'
_READING = 'a reading of one instrument alone, viscosity = "100 KU", or several in readings'
_STROKE = Unclear("a stroke is half a cycle", _CYCLES)
_VOLUMES = 'US or imp before it, as in "3 US fl oz", "1 US qt", "1 imp gal"'
_FLOWS = 'US or imp before it, as in "2 US gpm", "1 imp gal/min"'
_WHERE_UNCLEAR: dict[str, dict[str, Unclear]] = {
    "frequency": {
        "rpm": Unclear("turns of a shaft are no cycles", _CYCLES),
        "spm": _STROKE,
        "strokes": _STROKE,
        "m": Unclear("m may be minutes or metres", '/min or 1/s: "30 /min"'),
    },
    "time": {"m": Unclear("m may be minutes or milliseconds", '"5 min" or "30 ms"')},
    "mass": {"oz": Unclear("an ounce may be weight or volume", 'g, kg or lb: "104 g"')},
    "temperature": dict.fromkeys(
        ("deg", "degrees", "°"), Unclear("degrees of which scale?", 'C, F or K: "70 F"')
    ),
    "viscosity": dict.fromkeys(
        ("KU", "ku", "SSU", "SUS", "SSF", "SFS"), Unclear("a reading of an instrument", _READING)
    ),
    "volume": {
        **dict.fromkeys(_MEASURES, Unclear("US or imperial?", _VOLUMES)),
        "oz": Unclear("an ounce may be weight or volume", _VOLUMES),
    },
    "flow": dict.fromkeys(_MEASURES, Unclear("US or imperial?", _FLOWS)),
}


def unclear(unit: str, dimension: str) -> Unclear | None:
    """What to write instead of a unit that might mean two things where this dimension is asked for."""
    listed = _WHERE_UNCLEAR.get(dimension, {})
    parts = (" ".join(part.split()) for part in re.split("[/.]", unit))
    return next((listed[part] for part in parts if part in listed), None)
