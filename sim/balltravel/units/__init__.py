"""Text with a unit to SI and back: the only place where a number that is not SI lives.

Number and unit are split by a pattern, the names in the unit are looked up in our own list (units.txt,
without prefixes), and only then pint converts, in exact fractions. So "12,5 mm" or "40 rpm" is refused,
never guessed.
"""

import difflib
import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context
from fractions import Fraction
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from balltravel.units.shop import gallons_named, plain_order, plain_unit, unclear
from balltravel.units.systems import US, in_use, unit_in_use


class UnitError(ValueError):
    """A text that is no quantity of the wanted dimension: what was given, what is allowed, an example."""

    def __init__(self, given: str, allowed: str, example: str) -> None:
        self.given, self.allowed, self.example = given, allowed, example
        super().__init__(f"{given}; allowed: {allowed}; example: {example}")


@dataclass(frozen=True)
class Dimension:
    """SI unit, the units told to people, an example, and the unit shown from which SI magnitude on."""

    si: str
    accepted: tuple[str, ...]
    example: str
    shown: tuple[tuple[str, float], ...]
    bare: bool = False


_PRESSURE = ("bar", "mbar", "Pa", "kPa", "MPa", "psi", "inHg")
_LENGTH = ("mm", "um", "cm", "m", "in", "ft", "mil")

DIMENSIONS: dict[str, Dimension] = {
    "viscosity": Dimension(
        "Pa.s", ("mPa.s", "cP", "Pa.s", "P", "cSt", "mm2/s"), "3500 mPa.s", (("mPa.s", 0), ("Pa.s", 1))
    ),
    "density": Dimension("kg/m3", ("kg/m3", "kg/l", "g/cc", "SG", "lb/gal"), "1.25 kg/l", (("kg/m3", 0),)),
    "pressure": Dimension("Pa", _PRESSURE, "1.5 bar", (("bar", 1e5), ("kPa", 1e3), ("Pa", 0), ("MPa", 1e8))),
    "length": Dimension("m", _LENGTH, "29.4 mm", (("mm", 1e-3), ("um", 0), ("m", 1))),
    "volume": Dimension(
        "m3",
        ("cc", "ml", "l", "mm3", "m3", "in3", "US gal", "US qt", "US fl oz", "imp gal"),
        "30 cc",
        (("cc", 0), ("l", 1e-2)),
    ),
    "frequency": Dimension("1/s", ("/min", "cycles/min", "cpm", "1/s"), "30 /min", (("/min", 0),)),
    "shear rate": Dimension("1/s", ("1/s",), "10 1/s", (("1/s", 0),)),
    "stress": Dimension("Pa", ("Pa", "kPa"), "20 Pa", (("Pa", 0),)),
    "time": Dimension(
        "s", ("ms", "s", "min", "h"), "30 ms", (("ms", 0), ("s", 1), ("min", 300), ("h", 7200))
    ),
    "mass": Dimension("kg", ("g", "kg", "lb"), "104 g", (("g", 0), ("kg", 1))),
    "velocity": Dimension(
        "m/s", ("m/s", "mm/s", "m/min", "in/s", "ft/s"), "0.5 m/s", (("m/s", 0.1), ("mm/s", 0))
    ),
    "force": Dimension("N", ("N", "mN", "kN", "lbf"), "2 N", (("N", 0), ("kN", 1e4))),
    "stiffness": Dimension("N/m", ("N/m", "N/mm", "lbf/in"), "0.5 N/mm", (("N/m", 0), ("N/mm", 1e4))),
    "compliance": Dimension("m3/Pa", ("cc/bar", "m3/Pa", "in3/psi"), "10 cc/bar", (("cc/bar", 0),)),
    "sonic conductance": Dimension(
        "m3/s/Pa", ("l/s/bar", "l/min/bar", "m3/s/Pa"), "8 l/s/bar", (("l/s/bar", 0),)
    ),
    "resistance": Dimension("Pa.s/m3", ("Pa.s/m3", "bar.min/l"), "1e9 Pa.s/m3", (("Pa.s/m3", 0),)),
    "flow": Dimension(
        "m3/s",
        ("l/min", "cc/min", "cc/s", "cc/h", "m3/s", "US gpm", "imp gpm"),
        "9.5 l/min",
        (("l/min", 1e-5), ("cc/min", 0)),
    ),
    "activation energy": Dimension("J/mol", ("kJ/mol", "J/mol"), "40 kJ/mol", (("kJ/mol", 0),)),
    "thermal expansion": Dimension("1/K", ("1/K", "%/K"), "0.0007 1/K", (("1/K", 0),)),
    "flexing": Dimension("1/Pa", ("%/bar", "1/Pa", "%/psi"), "0.5 %/bar", (("%/bar", 0),)),
    "energy": Dimension("J", ("mJ", "J"), "5 mJ", (("mJ", 0), ("J", 1))),
    "angle": Dimension("rad", ("deg", "rad"), "45 deg", (("deg", 0),)),
    "temperature": Dimension("K", ("degC", "degF", "K", "C", "F"), "20 degC", (("degC", 0),)),
    "fraction": Dimension("", ("%", "a bare number"), "95 %", (("%", 0),), bare=True),
    "number": Dimension("", ("a bare number",), "0.7", (("", 0),), bare=True),
}

_LONGEST = 100
_DECIMAL = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_RATIO = r"[+-]?(?:[0-9]+(?:\s+|-))?[0-9]+/[0-9]+"
_QUANTITY = re.compile(rf"\s*({_RATIO}(?![0-9.])|{_DECIMAL})\s*(.*?)\s*", re.DOTALL)
_FACTOR = re.compile(r"([A-Za-z_]+)(?:\^?(-?[1-9]))?")
_SPELLINGS = str.maketrans({"µ": "u", "μ": "u", "·": ".", "⋅": ".", "*": ".", "²": "2", "³": "3"})
_OFFSET = frozenset(("degC", "degF"))
_PHRASES = {"°C": "degC", "°F": "degF", "°": "deg", "%": "percent", '"': "in", "″": "in", "”": "in"}


@cache
def _definitions() -> tuple[str, ...]:
    text = files(__package__).joinpath("units.txt").read_text(encoding="utf-8")
    return tuple(line for line in text.splitlines() if line.strip() and not line.startswith("#"))


@cache
def _names() -> frozenset[str]:
    """Every name that units.txt defines."""
    pieces = (line.split("=") for line in _definitions())
    return frozenset(name.strip() for line in pieces for name in (line[0], *line[2:]))


@cache
def _registry() -> Any:
    import pint  # half a second: only when a quantity is read or shown

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None, non_int_type=Fraction)
    for line in _definitions():
        registry.define(line)
    return registry


def _factors(unit: str) -> dict[str, int]:
    """Names and exponents of a unit such as ``lb/gal``, ``1/s`` or ``mm2/s``; raises ValueError."""
    text = gallons_named(unit.translate(_SPELLINGS))
    for phrase, name in _PHRASES.items():
        text = text.replace(phrase, name)
    text = re.sub(r"\s*([./])\s*|\s+", lambda sign: sign.group(1) or ".", text)
    text = re.sub(r"^1(?=/)", "", text)
    powers: dict[str, int] = {}
    for sign, factor in re.findall(r"([./])([^./]*)", text if text.startswith("/") else f".{text}"):
        match = _FACTOR.fullmatch(factor)
        if not match or match[1] not in _names():
            raise ValueError(f'unknown unit "{unit}"')
        power = int(match[2] or 1)
        powers[match[1]] = powers.get(match[1], 0) + (-power if sign == "/" else power)
    return powers


@lru_cache(maxsize=512)
def _linear(unit: str, si: str) -> tuple[Fraction, Fraction]:
    """Exact factor and offset from the unit to SI; raises ValueError if the dimension is another one."""
    source, target = (_factors(text) if text else {} for text in (unit, si))
    if not _OFFSET.isdisjoint(source):
        return _with_offset(unit, source, target)
    factor, kind = _product(source)
    wanted, wanted_kind = _product(target)
    if kind != wanted_kind:
        raise ValueError(f'"{unit}" is a unit of another kind')
    return factor / wanted, Fraction(0)


def _with_offset(unit: str, source: dict[str, int], target: dict[str, int]) -> tuple[Fraction, Fraction]:
    registry = _registry()
    try:
        at_zero, at_one = (
            registry.Quantity(Fraction(n), registry.UnitsContainer(source))
            .to(registry.UnitsContainer(target))
            .magnitude
            for n in (0, 1)
        )
    except Exception:  # pint throws many kinds, also from other modules
        raise ValueError(f'"{unit}" is a unit of another kind') from None
    return Fraction(at_one) - Fraction(at_zero), Fraction(at_zero)


def _product(powers: dict[str, int]) -> tuple[Fraction, dict[str, int]]:
    """Factor to base units and powers of the base dimensions.

    Multiplied here: pint takes a millisecond for each new product, and a file may have thousands of them.
    """
    factor, kind = Fraction(1), dict[str, int]()
    for name, power in powers.items():
        size, dimensions = _in_base_units(name)
        factor *= size**power
        for dimension, own in dimensions.items():
            kind[dimension] = kind.get(dimension, 0) + own * power
    return factor, {dimension: power for dimension, power in kind.items() if power}


@cache
def _in_base_units(name: str) -> tuple[Fraction, dict[str, int]]:
    registry = _registry()
    unit = registry.UnitsContainer({name: 1})
    dimensions = registry.get_dimensionality(unit)
    return Fraction(registry.get_root_units(unit)[0]), {key: int(power) for key, power in dimensions.items()}


def to_si(value: object, dimension: str, density: float | None = None) -> float:
    """SI value of a quantity.

    ``value``: text such as ``"3500 cP"``, ``"1 1/2 in"`` or ``"30 /min"``; a bare number only for a fraction
    or a number. ``dimension``: a key of DIMENSIONS. ``density`` [kg/m3] turns a kinematic viscosity into a
    dynamic one. Raises UnitError.
    """
    rule = DIMENSIONS[dimension]
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        value = _digits(value, dimension)
        if not rule.bare:
            raise _refusal(f"a bare number {value} given", dimension)
    if not isinstance(value, str):
        raise _refusal(kind_of(value), dimension)
    number, unit = _split(value, dimension)
    factor, offset = _to_si_factor(value, unit, dimension, density)
    exact = number * factor + offset
    try:
        result = float(exact)
    except OverflowError:
        raise _refusal(f'"{value}" is too large', dimension) from None
    if exact and not result:
        raise _refusal(f'"{value}" is too small', dimension)
    return result


def is_kinematic(value: object) -> bool:
    """Whether a text is a viscosity in units of a kinematic one: another density makes another viscosity."""
    if not isinstance(value, str):
        return False
    try:
        return to_si(value, "viscosity", 1.0) != to_si(value, "viscosity", 2.0)
    except UnitError:
        return False


def amount_to_si(value: object, dimension: str, density: float | None = None) -> float:
    """SI size of a difference of two quantities; as to_si, but 2 degC are 2 K. Raises UnitError."""
    size = to_si(value, dimension, density)
    number, unit = _split(value, dimension) if isinstance(value, str) else (Fraction(0), "")
    if not unit or _OFFSET.isdisjoint(_factors(unit)):
        return size
    return float(number * _linear(unit, DIMENSIONS[dimension].si)[0])


def _refusal(given: str, dimension: str, allowed: str = "") -> UnitError:
    rule = DIMENSIONS[dimension]
    accepted = ", ".join(rule.accepted)
    quantity = accepted if rule.bare else f"a number and a unit: {accepted}"
    example = rule.example if rule.bare and "%" not in rule.example else f'"{rule.example}"'
    return UnitError(given, allowed or quantity, example)


def _digits(value: float, dimension: str) -> str:
    if isinstance(value, int) and value.bit_length() > 1024:
        raise _refusal("a number that is too large", dimension)
    return f"{value}"


def kind_of(value: object) -> str:
    """What was given, in words, when it is not even of the right type."""
    names = {str: "a text", int: "a number", float: "a number", bool: "true or false"}
    names |= {list: "an array", tuple: "an array", dict: "a table", type(None): "None"}
    return names.get(type(value), f"a {type(value).__name__}") + " given"


def shown(raw: Any) -> str:
    """What was given, as TOML and Python have it, cut to a readable length."""
    if not isinstance(raw, (str, int, float, list, tuple)) or isinstance(raw, bool):
        return kind_of(raw).removesuffix(" given")
    try:
        return cut(json.dumps(raw, ensure_ascii=False, default=str))
    except ValueError:  # Python does not write integers of more than 4300 digits
        return "a number of thousands of digits"


def cut(text: str) -> str:
    """The text, or its first 77 characters."""
    return text if len(text) <= 80 else f"{text[:77]}..."


def _split(text: str, dimension: str) -> tuple[Fraction, str]:
    """The number, exactly, and the unit's text."""
    if len(text) > _LONGEST:
        raise _refusal(f"a text of {len(text)} characters", dimension)
    if "," in text:
        raise _refusal(f'"{text}" has a comma', dimension, "a point as decimal mark and no commas")
    match = _QUANTITY.fullmatch(plain_order(text, dimension))
    if not match:
        raise _refusal(f'"{text}" does not begin with a plain number', dimension)
    mantissa, _, exponent = match[1].lower().partition("e")
    if exponent and abs(int(exponent)) > 330:
        raise _refusal(f'"{text}" is too large or too small', dimension)
    try:
        size, *rest = [Fraction(part) for part in re.split(r"\s+|-", mantissa.lstrip("+-"))]
    except ZeroDivisionError:
        raise _refusal(f'"{text}" divides by zero', dimension) from None
    size = sum(rest, size)
    if exponent:
        size *= Fraction(10) ** int(exponent)
    return -size if mantissa.startswith("-") else size, plain_unit(match[2], dimension)


def _to_si_factor(text: str, unit: str, dimension: str, density: float | None) -> tuple[Fraction, Fraction]:
    rule = DIMENSIONS[dimension]
    if not unit and not rule.bare:
        raise _refusal(f'"{text}" has no unit', dimension)
    if unit and rule.bare and unit not in rule.accepted:
        raise _refusal(f'"{text}" has the unit "{unit}"', dimension)
    if dimension == "shear rate" and "min" in unit:
        raise _refusal(f'"{text}": a speed of rotation is no shear rate', dimension)
    doubt = unclear(unit, dimension)
    if doubt:
        raise _refusal(f'"{text}": "{unit}" is unclear: {doubt.why}', dimension, doubt.allowed)
    try:
        return _linear(unit, rule.si)
    except ValueError as error:
        reason = str(error)
    if dimension == "viscosity" and "another kind" in reason:
        return _kinematic(text, unit, density), Fraction(0)
    raise _refusal(f'"{text}": {reason}{_hint(unit, rule)}', dimension)


def _kinematic(text: str, unit: str, density: float | None) -> Fraction:
    try:
        factor, _ = _linear(unit, "m2/s")
    except ValueError as error:
        raise _refusal(f'"{text}": {error}', "viscosity") from None
    if density is None:
        raise _refusal(f'"{text}" is a kinematic viscosity and the density is not known', "viscosity")
    return factor * Fraction(density)


def _hint(unit: str, rule: Dimension) -> str:
    folded = {name.lower(): name for name in rule.accepted}
    near = difflib.get_close_matches(unit.lower(), folded, n=1)
    return f' (did you mean "{folded[near[0]]}"?)' if near and folded[near[0]] != unit else ""


def from_si(value: float, dimension: str, unit: str) -> float:
    """The number in that unit, for a table's column: ``from_si(0.0294, "length", "mm")`` is 29.4."""
    if not math.isfinite(value):
        return value
    factor, offset = _linear(unit, DIMENSIONS[dimension].si)
    number = float((Fraction(value) - offset) / factor)
    # A double near 273.15 K is not exact: what is left of it in degC is no temperature.
    return round(number, 13) + 0.0 if offset else number


DIGITS, AS_BOUGHT = 3, 0
"""Of a number that is shown, unless it takes more to try something; ``AS_BOUGHT``: as many, or one more where
that is all of it, for a bore of 31.75 mm stays what it was bought as."""


def to_text(value: float, dimension: str, digits: int = AS_BOUGHT) -> str:
    """SI value as people write it, in a unit that keeps the number readable; ``to_si`` reads it back."""
    return to_texts((value,), dimension, digits)[0]


def to_texts(values: Sequence[float], dimension: str, digits: int = AS_BOUGHT) -> list[str]:
    """SI values of one sentence, all in the unit that suits the largest of them, of the system in use."""
    unit = _readable_unit(max(map(abs, values)), dimension)
    return [_in_unit(value, dimension, unit, digits) for value in values]


def _readable_unit(size: float, dimension: str) -> str:
    if in_use.get() == US and dimension == "length":
        return _suiting(size, _LENGTHS_IN_US)
    return unit_in_use(_suiting(size, DIMENSIONS[dimension].shown), dimension)


_LENGTHS_IN_US = (("in", 2.54e-4), ("thou", 0), ("ft", 1))
"""As Dimension.shown: thousandths where there are less than ten."""


def _suiting(size: float, shown: tuple[tuple[str, float], ...]) -> str:
    fitting = [pair for pair in shown if size >= pair[1] and (size or pair == shown[0])]
    return max(fitting, key=lambda pair: pair[1])[0] if fitting else shown[0][0]


def _in_unit(value: float, dimension: str, unit: str, digits: int) -> str:
    if not math.isfinite(value):
        return f"{value}"
    try:
        number = from_si(value, dimension, unit)
    except OverflowError:  # 1e308 m3 in litres
        number, unit = value, DIMENSIONS[dimension].si
    return f"{in_figures(number, digits, unit)} {unit}".strip()


def in_figures(value: float, digits: int = AS_BOUGHT, unit: str = "") -> str:
    """A finite number as people read it, by ``in_digits``; inches that are whole 64ths as a fraction:
    ``3/16``, ``1 1/4``."""
    fraction = inches_as_fraction(value) if unit == "in" else ""
    if fraction:
        return fraction
    rounded = in_digits(value, digits, unit)
    return f"{(rounded if math.isfinite(rounded) else value) + 0.0:.{max(digits, 10)}g}"


def number_apart(text: str) -> tuple[str, str]:
    """Number and unit of a quantity as ``to_text`` writes it: ``1 1/4`` and ``in``."""
    number = re.match(r"-?(?:\d+ )?\d+/\d+|\S+", text)
    return (number[0], text[number.end() :].strip()) if number else (text, "")


def inches_as_fraction(value: float) -> str:
    """Inches that are no whole number of them but one of 64ths; empty where they are not."""
    parts = round(64.0 * value) if abs(value) < _LONGEST_IN_64THS else 0
    if parts % 64 == 0 or not math.isclose(parts, 64.0 * value, rel_tol=_SAME):
        return ""
    whole, rest = divmod(abs(parts), 64)
    return f"{'-' * (parts < 0)}{f'{whole} ' * (whole > 0)}{Fraction(rest, 64)}"


def in_digits(value: float, digits: int = AS_BOUGHT, unit: str = "") -> float:
    """A finite number with so many digits, halves rounded up in size whatever the last bits are. Of inches
    none is finer than a thousandth, as calipers have them, but of such as are less than a hundredth or where
    more digits are asked for."""
    may_be_whole, digits = digits == AS_BOUGHT, digits or DIGITS
    if unit == "in" and digits <= DIGITS and 0.01 <= abs(value) < 1e3:
        digits = min(digits, max(1, 4 + math.floor(math.log10(abs(value)))))
        may_be_whole = may_be_whole and abs(value) >= 1.0
    plain = f"{value:.{max(digits + 1, _CERTAIN)}g}"
    more, rounded = (
        float(Context(prec=count, rounding=ROUND_HALF_UP).create_decimal(plain))
        for count in (digits + 1, digits)
    )
    return more if may_be_whole and math.isclose(more, value, rel_tol=_SAME) else rounded


_CERTAIN = 12
"""Digits of a number that round-off leaves alone."""


_SAME = 1e-9
"""Share by which two sizes differ at most that are one, but for round-off."""
_LONGEST_IN_64THS = 1e3
"""[in]"""


def told_apart(value: float, limit: float, decimals: int) -> str:
    """A number with as many decimals as it takes to see on which side of a limit it lies; at most nine."""
    for more in range(decimals, 10):
        text = f"{round(value, more) + 0.0:.{more}f}"
        if (float(text) > limit) == (value > limit) and (float(text) < limit) == (value < limit):
            break
    return text
