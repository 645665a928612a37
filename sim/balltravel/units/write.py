"""SI values as people write them, in the system of units in use."""

import math
import re
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Context
from fractions import Fraction

from balltravel.units.convert import linear
from balltravel.units.dimensions import DIMENSIONS
from balltravel.units.systems import US, in_use, unit_in_use


def from_si(value: float, dimension: str, unit: str) -> float:
    """The number in that unit, for a table's column: ``from_si(0.0294, "length", "mm")`` is 29.4."""
    if not math.isfinite(value):
        return value
    factor, offset = linear(unit, DIMENSIONS[dimension].si)
    number = float((Fraction(value) - offset) / factor)
    # A double near 273.15 K is not exact: what is left of it in degC is no temperature.
    return round(number, 13) + 0.0 if offset else number


DIGITS, AS_BOUGHT = 3, 0
"""Of a number that is shown, unless it takes more to try something; ``AS_BOUGHT``: as many, or one more where
that is all of it, for a bore of 31.75 mm stays what it was bought as."""


def to_text(value: float, dimension: str, digits: int = AS_BOUGHT) -> str:
    """SI value as people write it, in a unit that keeps the number readable; ``to_si`` reads it back."""
    return to_texts((value,), dimension, digits)[0]


def in_centistokes(viscosity: float, density: float, digits: int = AS_BOUGHT) -> str:
    """A viscosity [Pa s] at a density [kg/m3] as a kinematic one: ``4000 cSt``."""
    factor, _ = linear("cSt", "m2/s")
    return f"{in_figures(float(Fraction(viscosity) / Fraction(density) / factor), digits)} cSt"


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
