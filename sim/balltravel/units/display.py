"""Numbers in the units in use, for columns, axes and sentences that would have one metric unit."""

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import ROUND_HALF_UP, Decimal

from balltravel.units import (
    DIGITS,
    UnitError,
    from_si,
    in_digits,
    inches_as_fraction,
    kind_of,
    told_apart,
)
from balltravel.units.convert import linear
from balltravel.units.systems import BOTH, IN_US, METRIC, NOT_METRIC, SYSTEMS, US, in_use, unit_in_use


@contextmanager
def shown_in(units: str) -> Iterator[None]:
    """What is computed, printed and drawn within it shows its numbers in these units: ``"us"``, ``"metric"``,
    or ``"both"``, metric with the US unit in brackets here and there, as without it. Numbers of results stay
    SI. Raises UnitError for another name."""
    token = in_use.set(system_checked(units))
    try:
        yield
    finally:
        in_use.reset(token)


def system_checked(units: object) -> str:
    """The name of a system of units; raises UnitError for another."""
    if not isinstance(units, str) or units not in SYSTEMS:
        given = f'"{units[:80]}" given' if isinstance(units, str) else kind_of(units)
        raise UnitError(given, " or ".join(f'"{name}"' for name in SYSTEMS), f'"{US}"')
    return units


def in_unit(value: float, dimension: str, metric: str) -> float:
    """An SI number in the unit that stands for a metric one: ``in_unit(0.0254, "length", "mm")`` is 25.4, or
    1 where inches are in use."""
    return from_si(value, dimension, unit_in_use(metric, dimension) if metric else "")


def scale(dimension: str, metric: str) -> float:
    """By what one multiplies SI numbers, whole arrays too; not of temperatures."""
    return in_unit(1.0, dimension, metric)


def per_metric(metric: str, dimension: str = "") -> float:
    """How many of the unit in use make one metric one, of differences: 1.8 where 1 degC becomes degF."""
    own = unit_in_use(metric, dimension)
    return 1.0 if own == metric else float(linear(metric, own)[0])


def difference(kelvin: float) -> str:
    """A difference of temperatures [K] in words: ``5 K`` or ``9 degF``."""
    return f"{kelvin * per_metric('degC'):.3g} {'K' if unit_in_use('degC') == 'degC' else 'degF'}"


def from_metric(value: float, metric: str) -> float:
    """A number of a metric unit in the unit in use that stands for it."""
    factor, offset = linear(metric, unit_in_use(metric))
    return value * float(factor) + float(offset)


def decimals_in_use(metric: str, decimals: int, dimension: str = "") -> int:
    """How many decimals show about as much as so many of the metric unit: 3 of inches for 2 of mm."""
    return max(0, decimals - int(math.log10(per_metric(metric, dimension))))


def fixed(value: float, dimension: str, metric: str, decimals: int) -> str:
    """A number in the unit in use, to so many decimals of the metric one; inches as a fraction where they are
    one."""
    number = in_unit(value, dimension, metric)
    fraction = inches_as_fraction(number) if unit_in_use(metric, dimension) == "in" else ""
    return fraction or _half_up(number, decimals_in_use(metric, decimals, dimension))


def _half_up(number: float, decimals: int) -> str:
    """To so many decimals, halves rounded up in size as ``in_digits`` has them, so that a size looks alike in
    a table and in a sentence."""
    if not math.isfinite(number):
        return f"{number}"
    exact = Decimal(f"{number:.12g}")
    return f"{float(exact.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)):.{decimals}f}"


def against(value: float, limit: float, dimension: str, metric: str, decimals: int) -> tuple[str, str]:
    """A number with as many decimals as it takes to see on which side of its limit it lies, and the limit
    with its unit: ``0.505`` and ``0.5 m/s``."""
    unit = unit_in_use(metric, dimension)
    size, end = (in_unit(number, dimension, metric) for number in (value, limit))
    shown = f"{end:g}"
    if unit != metric:  # in another unit than it was given in, and so rounded, but on its side of the number
        rounded = (in_digits(end, digits) for digits in range(DIGITS, 16))
        shown = f"{next((near for near in rounded if (size > near) == (size > end)), end):.15g}"
    return told_apart(size, float(shown), decimals_in_use(metric, decimals, dimension)), f"{shown} {unit}"


_NUMBER = r"-?\d+(?:\.\d+)?"
_METRIC = "|".join(re.escape(unit) for unit in sorted(IN_US, key=len, reverse=True))
_PHRASE = re.compile(rf"(?<![\w.])({_NUMBER})(?:( to | or )({_NUMBER}))? ({_METRIC})(?![\w/^.]*\w)")
_US_ONLY = re.compile(
    rf"\d (?:{'|'.join(re.escape(unit) for unit in sorted(NOT_METRIC, key=len, reverse=True))})(?![\w/^])"
)


def prose(text: str, digits: int = 3) -> str:
    """A sentence of the program itself, whose sizes stand in it in metric units, with those of the units in
    use, to so many digits: ``below 5 degC nobody coats`` becomes ``below 41 degF nobody coats``."""
    return _PHRASE.sub(lambda phrase: _converted(phrase, digits), text) if in_use.get() == US else text


def _converted(phrase: re.Match[str], digits: int) -> str:
    first, between, second, metric = phrase.groups()
    try:
        sizes = [
            f"{in_digits(from_metric(float(size), metric), digits):.10g}" for size in (first, second) if size
        ]
    except ValueError:  # a kinematic viscosity, which needs a density
        return phrase[0]
    return f"{(between or '').join(sizes)} {unit_in_use(metric)}"


_US_WRITTEN = re.compile(
    r"\d\s*(?:in|inch|inches|ft|feet|thou|mils?|psi|inHg|lb/gal|ppg|lbs?|lbf|(?:deg|°)?F|US (?:gal|gpm)"
    r"|\"(?='))(?![\w/^])"
)
_METRIC_WRITTEN = re.compile(rf"\d\s*(?:{_METRIC}|C)(?![\w/^])")
_ASKS_FOR = re.compile(r"""^units\s*=\s*["'](\w+)["']""", re.MULTILINE)


def written_in_us(text: str) -> bool:
    """Whether what somebody wrote, a file or a value, asks for US units or has more sizes in them than in
    metric ones."""
    plain = re.sub("#.*", "", text)
    asks = _ASKS_FOR.search(plain)
    if asks and asks[1] in (US, METRIC):
        return asks[1] == US
    return len(_US_WRITTEN.findall(plain)) > len(_METRIC_WRITTEN.findall(plain))


@contextmanager
def as_written(text: str) -> Iterator[None]:
    """What is said of a text within it has sizes in the units in which that is written, unless others are
    asked for."""
    with shown_in(US if in_use.get() == BOTH and written_in_us(text) else in_use.get()):
        yield


def is_foreign(text: str) -> bool:
    """Whether a text that somebody wrote has a size in units of the other system than the one in use."""
    if in_use.get() == US:
        return bool(_PHRASE.search(text))
    return in_use.get() == METRIC and bool(_US_ONLY.search(text))
