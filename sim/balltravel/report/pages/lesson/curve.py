"""The chart of best travel over viscosity: its axes and where each material and travel is in it."""

import math
from collections.abc import Sequence
from typing import Any

from balltravel.report.tables import bench_unit, column, number
from balltravel.study.lesson.lesson import Lesson

WIDE, HIGH, LEFT, RIGHT, TOP, BOTTOM = 520.0, 460.0, 78.0, 26.0, 20.0, 92.0
"""Of the drawing and its margins, in units of the drawing."""

MOST_TICKS = 7


def curve_of(lesson: Lesson) -> dict[str, Any]:
    """What the template draws: ticks, places of materials (``x``) and travels (``y``), names of the axes, and
    where the limit begins that no travel moves (None where there is none)."""
    values = [column(material.viscosity, "viscosity") for material in lesson.materials]
    travels = [column(arrangement.travel, "length") for arrangement in lesson.travels]
    low, high = math.log(values[0] / 1.2), math.log(values[-1] * 1.2)

    def across(value: float) -> float:
        return round(LEFT + (WIDE - LEFT - RIGHT) * (math.log(value) - low) / (high - low), 1)

    def up(travel: float) -> float:
        return round(HIGH - BOTTOM - (HIGH - BOTTOM - TOP) * travel / (1.08 * travels[-1]), 1)

    limited = [i for i, material in enumerate(lesson.materials) if material.limit]
    return {
        "wide": WIDE, "high": HIGH, "left": LEFT, "right": WIDE - RIGHT, "top": TOP, "bottom": HIGH - BOTTOM,
        "x": [across(value) for value in values],
        "y": [up(travel) for travel in travels],
        "x_ticks": [(across(value), number(value, 3)) for value in _decades(math.exp(low), math.exp(high))],
        "y_ticks": [(up(travel), number(travel, 3, bench_unit("length"))) for travel in _thinned(travels)],
        "x_name": f"viscosity, {bench_unit('viscosity')}", "y_name": f"best travel, {bench_unit('length')}",
        "limit": across(math.sqrt(values[limited[0]] * values[max(limited[0] - 1, 0)])) if limited else None,
    }  # fmt: skip


def _decades(low: float, high: float) -> list[float]:
    """1, 2 and 5 of each decade between; of many, powers of ten alone."""
    exponents = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    for digits in ((1.0, 2.0, 5.0), (1.0,)):
        ticks = [digit * 10.0**exponent for exponent in exponents for digit in digits]
        ticks = [tick for tick in ticks if low <= tick <= high]
        if len(ticks) <= MOST_TICKS:
            break
    return ticks


def _thinned(travels: Sequence[float]) -> list[float]:
    """At most so many, both ends among them."""
    if len(travels) <= MOST_TICKS + 2:
        return list(travels)
    return [travels[round(i * (len(travels) - 1) / (MOST_TICKS - 1))] for i in range(MOST_TICKS)]
