"""How a shop writes a quantity: spellings that mean one thing where a certain dimension is asked for, and
those that might mean two, for which it is said what to write instead."""

import re
import unicodedata
from typing import NamedTuple

GALLONS = re.compile(r"\b(US|imp|imperial|UK)\.?\s+(gal(?:lons?)?|qt|quarts?|fl\.?\s*oz|gpm)\b\.?")
_SIZES = {"g": "gal", "q": "qt", "f": "floz"}
_GRAVITY = r"(?:SG|sg|S\.G\.|s\.g\.|sp\.?\s?gr\.?)"
_GRAVITY_FIRST = re.compile(rf"\s*{_GRAVITY}\s*[=:]?\s*(\S.*?)\s*")
_RATIO = re.compile(r"\s*([0-9.]+)\s*(?::|\bto\b)\s*([0-9]+)\s*")
_DEGREES = re.compile(r"(?:°|deg(?:rees?)?)?\s*([CFcf])")
_PER_GALLON = re.compile(r"/\s*gal(?:lon)?\b")
_FEET_AND_INCHES = re.compile(
    r"\s*([0-9]{1,4})\s*(?:ft\.?|feet|foot|['’′])\s*-?\s*"
    r"(?:([0-9]{1,2})((?:[ -][0-9]+/[0-9]+|\.[0-9]+)?)|([0-9]+/[0-9]+))\s*"
    r"(?:in\.?|inch|inches|\"|''|″|”)\s*"
)
_VULGAR = re.compile("[\u00bc-\u00be\u2150-\u215e]")
_LENGTHS = {
    "um": ("micron", "microns"),
    "mm": ("millimeter", "millimeters", "millimetre", "millimetres"),
    "cm": ("centimeter", "centimeters", "centimetre", "centimetres"),
    "m": ("meter", "meters", "metre", "metres"),
    "in": ("in", "in.", "inch", "inches", "''"),
    "ft": ("ft", "ft.", "foot", "feet", "'", "’", "′"),
    "mil": ("thou", "mil", "mils"),
}
_SPELLINGS: dict[str, dict[str, tuple[str, ...]]] = {
    "length": _LENGTHS,
    "viscosity": {
        "cP": ("cp", "cps", "centipoise", "centipoises"),
        "P": ("poise", "poises"),
        "cSt": ("cst", "centistoke", "centistokes"),
    },
    "pressure": {"psi": ("psi",), "bar": ("bar", "bars")},
    "density": {"lb/gal": ("ppg", "lb/gallon", "lbs/gallon", "lb per gal", "lbs per gal")},
    "frequency": {
        "/min": (
            "/minute", "a minute", "per minute", "per min", "cpm", "cycles/minute", "cycles a minute",
            "cycles per minute", "cycles per min",
        ),
        "1/s": ("hz", "per second", "a second"),
    },
    "time": {"s": ("sec", "secs", "second", "seconds"), "min": ("minute", "minutes"), "h": ("hour", "hours")},
    "mass": {"lb": ("lb", "lbs", "pound", "pounds")},
    "volume": {"l": ("liter", "liters", "litre", "litres")},
}  # fmt: skip
"""Per dimension: a unit of our list, and its other spellings, whatever their letters' case."""

_OURS = {
    dimension: {other: unit for unit, others in units.items() for other in others}
    for dimension, units in _SPELLINGS.items()
}
_EXACTLY = {"viscosity": {"mPas": "mPa.s", "Pas": "Pa.s", "mPa-s": "mPa.s", "Pa-s": "Pa.s"}}
"""The same, where the case tells milli from mega."""


class Unclear(NamedTuple):
    """Why a unit is not taken, and what to write, with an example."""

    why: str
    allowed: str


def plain_order(text: str, dimension: str) -> str:
    """The text with one number first: of ``SG 1.35``, of a ratio such as ``30:1`` the quotient, of feet and
    inches the inches."""
    gravity = _GRAVITY_FIRST.fullmatch(text) if dimension == "density" else None
    if gravity:
        return f"{gravity[1]} SG"
    if dimension == "length":
        text = _VULGAR.sub(_fraction, text)
        both = _FEET_AND_INCHES.fullmatch(text)
        if not both:
            return text
        whole, rest = 12 * int(both[1]) + int(both[2] or 0), both[3] or (f" {both[4]}" if both[4] else "")
        return f"{whole}{rest} in"
    ratio = _RATIO.fullmatch(text) if dimension == "number" else None
    if ratio:
        return ratio[1] if ratio[2] == "1" else f"{ratio[1]}/{ratio[2]}"
    return text


def plain_unit(unit: str, dimension: str) -> str:
    """The unit by a name of our list, if it means one where this dimension is asked for: C and F of a
    temperature, SG of a density, psi in any letters of a pressure."""
    if dimension == "temperature":
        degrees = _DEGREES.fullmatch(unit)
        return f"deg{degrees[1].upper()}" if degrees else unit
    if dimension == "density":
        unit = "SG" if re.fullmatch(_GRAVITY, unit) else unit
    plain = " ".join(unit.split())
    exact = _EXACTLY.get(dimension, {}).get(plain, unit)
    return _OURS.get(dimension, {}).get(plain.lower(), exact)


def _fraction(sign: re.Match[str]) -> str:
    """A fraction that is one letter, as ``⅞``, with a slash."""
    return f" {unicodedata.normalize('NFKC', sign[0]).replace(chr(0x2044), '/')}"


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
_RANGE = 'one value; a range is a table, { low = "20 mm", high = "30 mm" }, each end with its unit'
_TEMPERATURE = Unclear(
    "a temperature?", 'cP for a viscosity, "100 cP"; a reading with its own, "100 KU at 25 C"'
)
_PRESSURE = Unclear("a weight, or a weight on which area?", 'psi or bar: "1800 psi"')
_MILLI = Unclear("milli- or megapascals?", 'MPa for a pump\'s pressure: "5 MPa"; Pa or bar for a small one')
_ABSOLUTE = Unclear("the key says whether it is gauge or absolute", 'the plain unit: "1800 psi" or "20 bar"')
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
    "viscosity": {
        **dict.fromkeys(
            ("KU", "ku", "SSU", "SUS", "SSF", "SFS"), Unclear("a reading of an instrument", _READING)
        ),
        **dict.fromkeys(("C", "F", "degC", "degF", "°C", "°F"), _TEMPERATURE),
        **dict.fromkeys(("s", "sec", "seconds"), Unclear("of which cup?", 'the cup too: "Zahn 3, 25 s"')),
    },
    "pressure": {
        **dict.fromkeys(("lb", "lbs", "#", "lb/in2", "lbs/in2", "kg/cm2"), _PRESSURE),
        "mPa": _MILLI,
        **dict.fromkeys(("psig", "psia", "barg", "bara", "bar(g)", "bar(a)"), _ABSOLUTE),
    },
    "stress": {"mPa": Unclear("milli- or megapascals?", 'Pa: "20 Pa"')},
    "volume": {
        **dict.fromkeys(_MEASURES, Unclear("US or imperial?", _VOLUMES)),
        "oz": Unclear("an ounce may be weight or volume", _VOLUMES),
    },
    "flow": dict.fromkeys(_MEASURES, Unclear("US or imperial?", _FLOWS)),
}

_COUNTED = ("frequency", "volume", "flow")
"""Where a part of a unit, as gal in gal/min, may be unclear by itself."""


def unclear(unit: str, dimension: str) -> Unclear | None:
    """What to write instead of a unit that might mean two things where this dimension is asked for."""
    if unit.startswith(("to ", "- ", "-")) and any(letter.isdigit() for letter in unit):
        return Unclear("a range?", _RANGE)
    listed = _WHERE_UNCLEAR.get(dimension, {})
    parts = re.split("[/.]", unit) if dimension in _COUNTED else [unit]
    return next((listed[name] for part in parts if (name := " ".join(part.split())) in listed), None)
