"""Text with a unit to SI. Number and unit are split by a pattern, so "12,5 mm" or "40 rpm" is refused, never
guessed."""

import difflib
import json
import re
from fractions import Fraction
from typing import Any

from balltravel.units.convert import OFFSET, factors, linear
from balltravel.units.dimensions import DIMENSIONS, Dimension
from balltravel.units.shop import plain_order, plain_unit, unclear


class UnitError(ValueError):
    """A text that is no quantity of the wanted dimension: what was given, what is allowed, an example."""

    def __init__(self, given: str, allowed: str, example: str) -> None:
        self.given, self.allowed, self.example = given, allowed, example
        super().__init__(f"{given}; allowed: {allowed}; example: {example}")


_LONGEST = 100
_DECIMAL = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_RATIO = r"[+-]?(?:[0-9]+(?:\s+|-))?[0-9]+/[0-9]+"
_QUANTITY = re.compile(rf"\s*({_RATIO}(?![0-9.])|{_DECIMAL})\s*(.*?)\s*", re.DOTALL)


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
    if not unit or OFFSET.isdisjoint(factors(unit)):
        return size
    return float(number * linear(unit, DIMENSIONS[dimension].si)[0])


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
        return linear(unit, rule.si)
    except ValueError as error:
        reason = str(error)
    if dimension == "viscosity" and "another kind" in reason:
        return _kinematic(text, unit, density), Fraction(0)
    raise _refusal(f'"{text}": {reason}{_hint(unit, rule)}', dimension)


def _kinematic(text: str, unit: str, density: float | None) -> Fraction:
    try:
        factor, _ = linear(unit, "m2/s")
    except ValueError as error:
        raise _refusal(f'"{text}": {error}', "viscosity") from None
    if density is None:
        raise _refusal(f'"{text}" is a kinematic viscosity and the density is not known', "viscosity")
    return factor * Fraction(density)


def _hint(unit: str, rule: Dimension) -> str:
    folded = {name.lower(): name for name in rule.accepted}
    near = difflib.get_close_matches(unit.lower(), folded, n=1)
    return f' (did you mean "{folded[near[0]]}"?)' if near and folded[near[0]] != unit else ""
