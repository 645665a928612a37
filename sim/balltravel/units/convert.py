"""Units to SI in exact fractions: names from our own list (units.txt, without prefixes), sizes by pint."""

import re
from fractions import Fraction
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from balltravel.units.shop import gallons_named

_FACTOR = re.compile(r"([A-Za-z_]+)(?:\^?(-?[1-9]))?")
_SPELLINGS = str.maketrans({"µ": "u", "μ": "u", "·": ".", "⋅": ".", "*": ".", "²": "2", "³": "3"})
OFFSET = frozenset(("degC", "degF"))
_PHRASES = {"°C": "degC", "°F": "degF", "°": "deg", "%": "percent", '"': "in", "″": "in", "”": "in"}


@cache
def _definitions() -> tuple[str, ...]:
    text = files(__package__).joinpath("units.txt").read_text(encoding="utf-8")
    return tuple(line for line in text.splitlines() if line.strip() and not line.startswith("#"))


@cache
def names() -> frozenset[str]:
    """Every name that units.txt defines."""
    pieces = (line.split("=") for line in _definitions())
    return frozenset(name.strip() for line in pieces for name in (line[0], *line[2:]))


@cache
def registry() -> Any:
    """Pint's, of units.txt alone."""
    import pint  # half a second: only when a quantity is read or shown

    ours: pint.UnitRegistry[Any] = pint.UnitRegistry(None, non_int_type=Fraction)
    for line in _definitions():
        ours.define(line)
    return ours


def factors(unit: str) -> dict[str, int]:
    """Names and exponents of a unit such as ``lb/gal``, ``1/s`` or ``mm2/s``; raises ValueError."""
    text = gallons_named(unit.translate(_SPELLINGS))
    for phrase, name in _PHRASES.items():
        text = text.replace(phrase, name)
    text = re.sub(r"\s*([./])\s*|\s+", lambda sign: sign.group(1) or ".", text)
    text = re.sub(r"^1(?=/)", "", text)
    powers: dict[str, int] = {}
    for sign, factor in re.findall(r"([./])([^./]*)", text if text.startswith("/") else f".{text}"):
        match = _FACTOR.fullmatch(factor)
        if not match or match[1] not in names():
            raise ValueError(f'unknown unit "{unit}"')
        power = int(match[2] or 1)
        powers[match[1]] = powers.get(match[1], 0) + (-power if sign == "/" else power)
    return powers


@lru_cache(maxsize=512)
def linear(unit: str, si: str) -> tuple[Fraction, Fraction]:
    """Exact factor and offset from the unit to SI; raises ValueError if the dimension is another one."""
    source, target = (factors(text) if text else {} for text in (unit, si))
    if not OFFSET.isdisjoint(source):
        return _with_offset(unit, source, target)
    factor, kind = _product(source)
    wanted, wanted_kind = _product(target)
    if kind != wanted_kind:
        raise ValueError(f'"{unit}" is a unit of another kind')
    return factor / wanted, Fraction(0)


def _with_offset(unit: str, source: dict[str, int], target: dict[str, int]) -> tuple[Fraction, Fraction]:
    ours = registry()
    try:
        at_zero, at_one = (
            ours.Quantity(Fraction(n), ours.UnitsContainer(source)).to(ours.UnitsContainer(target)).magnitude
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
    ours = registry()
    unit = ours.UnitsContainer({name: 1})
    dimensions = ours.get_dimensionality(unit)
    return Fraction(ours.get_root_units(unit)[0]), {key: int(power) for key, power in dimensions.items()}
