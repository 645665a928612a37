"""The chart of best travel over viscosity: its axes and where each material and travel is in it."""

import math
from collections.abc import Sequence
from typing import Any

from balltravel.report.tables import bench_unit, column, number, viscosity_stated
from balltravel.study.lesson.lesson import Lesson

WIDE, HIGH, RIGHT, TOP, BOTTOM = 520.0, 460.0, 44.0, 52.0, 92.0
"""Of the drawing and its margins, in units of the drawing; the left one is as wide as its words."""

LETTER, LINE = 17.0, 28.0
"""A digit's width and a line's height in words at the axes, in units of the drawing."""

GAP = 12.0
"""Between two words at an axis, at least, and between words and axis."""

Tick = tuple[float, str]


def curve_of(lesson: Lesson) -> dict[str, Any]:
    """What the template draws: ticks, places of materials (``x``) and travels (``y``), names of the axes, and
    where the limit begins that no travel moves (None where there is none)."""
    values = [column(material.viscosity, "viscosity") for material in lesson.materials]
    travels = [column(arrangement.travel, "length") for arrangement in lesson.travels]
    words = [number(travel, 3, bench_unit("length")) for travel in travels]
    left = GAP + LETTER * max(map(len, words))
    low, high = math.log(values[0] / 1.2), math.log(values[-1] * 1.2)

    def across(value: float) -> float:
        return round(left + (WIDE - left - RIGHT) * (math.log(value) - low) / (high - low), 1)

    def up(travel: float) -> float:
        return round(HIGH - BOTTOM - (HIGH - BOTTOM - TOP) * travel / (1.08 * travels[-1]), 1)

    stated = f" {viscosity_stated(lesson.scenario.material)}".rstrip()
    limited = [i for i, material in enumerate(lesson.materials) if material.limit]
    return {
        "wide": WIDE, "high": HIGH, "left": left, "right": WIDE - RIGHT, "top": TOP, "bottom": HIGH - BOTTOM,
        "x": [across(value) for value in values],
        "y": [up(travel) for travel in travels],
        "x_ticks": _beside(
            [(across(value), number(value, 3)) for value in _decades(math.exp(low), math.exp(high))]
        ),
        "y_ticks": _stacked(list(zip(map(up, travels), words, strict=True))),
        "x_name": f"viscosity{stated}, {bench_unit('viscosity')}",
        "y_name": f"best travel, {bench_unit('length')}",
        "limit": across(math.sqrt(values[limited[0]] * values[max(limited[0] - 1, 0)])) if limited else None,
    }  # fmt: skip


def _decades(low: float, high: float) -> list[float]:
    """1, 2 and 5 of each decade between, what is marked first ahead of the rest: powers of ten."""
    exponents = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    ticks = [digit * 10.0**exponent for digit in (1.0, 2.0, 5.0) for exponent in exponents]
    return [tick for tick in ticks if low <= tick <= high]


def _beside(ticks: Sequence[Tick]) -> list[Tick]:
    """Those below an axis whose words leave a gap to all before them and end on the drawing."""
    kept: list[Tick] = []
    for place, words in ticks:
        free = all(
            abs(place - other) >= 0.5 * LETTER * (len(words) + len(beside)) + GAP for other, beside in kept
        )
        if free and place + 0.5 * LETTER * len(words) <= WIDE:
            kept.append((place, words))
    return sorted(kept)


def _stacked(ticks: Sequence[Tick]) -> list[Tick]:
    """Those at an upright axis, given from the lowest to the highest, of which no line of words meets
    another; both ends first."""
    kept: list[Tick] = []
    for place, words in (ticks[0], ticks[-1], *ticks[1:-1]):
        if all(abs(place - other) >= LINE for other, _ in kept):
            kept.append((place, words))
    return sorted(kept, reverse=True)
