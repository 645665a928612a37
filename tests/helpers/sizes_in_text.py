"""Every number that a printout shows, with its unit: behind it in a sentence, above it in a table."""

import math
import re
from typing import NamedTuple

from balltravel.units import DIMENSIONS, UnitError, to_si
from balltravel.units.systems import IN_US, NOT_METRIC

NEUTRAL = ("cc", "ms", "s", "min", "h", "/min", "1/s", "%", "deg", "KU", "cc/min", "K")
OF_A_LAW = ("Pa s^n", "dyn s^n/cm2")
"""A consistency's."""
UNITS = sorted({*IN_US, *NOT_METRIC, *NEUTRAL, *OF_A_LAW}, key=len, reverse=True)
_UNIT = "|".join(map(re.escape, UNITS))
_NUMBER = r"[+-]?(?:(?:\d+ )?\d+/\d+(?= in\b)|\d+(?:\.\d+)?(?:e[+-]?\d+)?)"
"""Inches as fractions too."""
_SIZE = re.compile(rf"(?<![\w.])({_NUMBER})(?: (?:to|\+/?-) ({_NUMBER}))?(?: ({_UNIT})(?![\w/^]))?(?!\w)")
_ENDS = re.compile(rf"({_NUMBER}) ({_UNIT}) \(({_NUMBER}) to ({_NUMBER})\)")
"""Ends in brackets, whose unit is that of the number before them."""
METRIC = re.compile(
    rf"(?<![\w/.])(?:{'|'.join(map(re.escape, sorted(IN_US, key=len, reverse=True)))})(?![\w/^])"
)


class Size(NamedTuple):
    """A number as it is printed, its unit (empty for none), and whether it stands in a table, where zeros at
    the end are kept."""

    number: str
    unit: str
    in_table: bool


def sizes_in(text: str) -> list[Size]:
    """All numbers of a printout, those of its tables after those of its sentences."""
    lines, cells, words = text.split("\n"), list[Size](), list[str]()
    i = 0
    while i < len(lines):
        rule = next((k for k in range(i, len(lines)) if re.fullmatch(r"-{5,}", lines[k].strip())), None)
        head = i if rule is None else max([k + 1 for k in range(i, rule) if not lines[k].strip()], default=i)
        words += lines[i : len(lines) if rule is None else head]
        if rule is None:
            break
        i = next((k for k in range(rule, len(lines)) if not lines[k].strip()), len(lines))
        cells += _cells(lines[head:rule], lines[rule + 1 : i])
    return [*_in_words(" ".join(" ".join(words).split()), False), *cells]


def _in_words(text: str, in_table: bool) -> list[Size]:
    return [
        Size(number, unit or "", in_table)
        for first, second, unit in _SIZE.findall(_ENDS.sub(r"\1 \2 (\3 to \4 \2)", text))
        for number in (first, second)
        if number
    ]


def _cells(head: list[str], rows: list[str]) -> list[Size]:
    """Of rows, whose units, above the line or first below it, end where their cells end."""
    units = [row for row in rows[:1] if all(word in UNITS or word.isalpha() for word in row.split())]
    above = [*head, *units]
    ends = {word.end(): word[0] for line in above for word in re.finditer(r"\S+", line) if word[0] in UNITS}
    return [
        Size(size.number, size.unit or ends.get(cell.end(), ""), True)
        for row in _whole(rows[len(units) :])
        for cell in re.finditer(r"\S+(?: \S+)*", row)
        for size in (_fraction(cell[0]) or _in_words(cell[0], True))
    ]


def _fraction(cell: str) -> list[Size]:
    """A cell that is a fraction of an inch alone."""
    return [Size(cell, "", True)] if re.fullmatch(r"-?(?:\d+ )?\d+/\d+", cell) else []


def _whole(rows: list[str]) -> list[str]:
    """Rows, what is left of a last cell on a line of its own put behind it."""
    whole: list[str] = []
    for row in rows:
        if whole and row.startswith(" " * 20) and not re.search(r"\S  +\S", row):
            whole[-1] += f" {row.strip()}"
        else:
            whole.append(row)
    return whole


def half_a_digit(size: Size) -> float:
    """How far a printed number may be from the one that it stands for. Fractions are exact. Decimals of a
    table are all shown; elsewhere zeros at the end are left out or fill up a whole number, but two digits at
    least were meant, unless the number is so small that its decimals were fixed (0.07 m/s)."""
    if "/" in size.number:
        return 1e-9
    decimals = len(size.number.partition("e")[0].partition(".")[2])
    zeros = 0 if "." in size.number else len(size.number) - len(size.number.rstrip("0"))
    half, number = 0.5 * 10.0 ** (zeros - decimals), abs(float(size.number))
    if (size.in_table and decimals) or not number or size.number.lstrip("+-").startswith("0.0"):
        return 0.5 * 10.0**-decimals
    return min(half, 0.05 * 10.0 ** math.floor(math.log10(number)))


def in_si(size: Size, dimension: str) -> tuple[float, float]:
    """The SI value that a scenario would read, and how far off its last digit may be."""
    unit = size.unit.replace(" s^n", "")
    here = to_si(f"{size.number} {unit}", dimension)
    none, half = (to_si(f"{number!r} {unit}", dimension) for number in (0.0, half_a_digit(size)))
    return here, abs(half - none)


def are_the_same(one: Size, other: Size) -> bool:
    """Whether both, read as a scenario reads them, are one value within their digits."""
    if one.unit == other.unit:
        return one.number == other.number
    if (one.unit, other.unit) == ("K", "degF"):  # a difference of temperatures
        return abs(1.8 * float(one.number) - float(other.number)) <= 1.8 * half_a_digit(one) + half_a_digit(
            other
        )
    for dimension in DIMENSIONS:
        try:
            (first, near), (second, too) = (in_si(size, dimension) for size in (one, other))
        except UnitError:
            continue
        if abs(first - second) <= 1.001 * (near + too):
            return True
    return False
