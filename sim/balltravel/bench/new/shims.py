"""The shims and the travel without any of them below the cage, by what was answered."""

import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Any

from balltravel.bench.new.answers import likely
from balltravel.bench.new.blanks import BY_NAME
from balltravel.bench.new.known import OURS, Known
from balltravel.bench.new.lines import Line, Lines
from balltravel.scenario.arguments import refused
from balltravel.units import from_si

SHIMS, BELOW, TRAVEL = (BY_NAME[name].letter for name in ("shims", "below", "travel"))
NO_SHIM_TRAVELS = (0.02, 0.07, 0.15)
METRIC_STEPS, INCH_STEPS = ("0.25 mm", "0.5 mm", "1 mm", "2 mm"), ("1/64 in", "1/32 in", "1/16 in")
LEAST_LEFT = 0.05
"""What a travel over the present one keeps without shims, at least: none at all is no check."""

LADDER_STEP = 0.034
"""First step of the ladder of shims over the ball, where the set is not known (our choice)."""


def shim_lines(known: Known, ball: float) -> Lines:
    """The set of shims, those below, and the travel without any of them below."""
    thicknesses = known.raw.get("shims")
    lines: Lines = {}
    if thicknesses is None:
        thicknesses = _ladder(known, ball)
        said = (
            f"{SHIMS}: not known: a ladder of travels to choose among (our choice). The answer is a travel; "
            "set it with the shims that you have."
        )
        lines["shims.thicknesses"] = Line(thicknesses, said)
    stack, travel = list(likely("shims.thicknesses", thicknesses)), known.raw.get("travel")
    below = known.raw.get("below") if known.raw.get("shims") else _most_below(stack, known)
    answered = known.raw.get("shims") is not None and below is not None
    said = "not known which of them lie below now; every arrangement is tried anyway."
    said = f"{BELOW}: " + ("numbers, from 1, of those below the cage now. Answered." if answered else said)
    lines["shims.below"] = Line(below or [], said, answered)
    return lines | {"inlet_check.base_travel": _base_travel(known, ball, stack, below, travel)}


def _ladder(known: Known, ball: float) -> list[str]:
    """Three shims, each twice the one before, of a size that suits the ball."""
    unit, steps = ("in", INCH_STEPS) if known.inches else ("mm", METRIC_STEPS)
    first = min(map(_length, steps), key=lambda step: abs(math.log(step / (LADDER_STEP * ball))))
    return [f"{from_si(multiple * first, 'length', unit):.6g} {unit}" for multiple in (1, 2, 4)]


def _length(text: str) -> float:
    return float(likely("inlet_check.base_travel", text))


def _most_below(stack: list[float], known: Known) -> list[int]:
    """Of a set that is not known those that leave a fifth of the present travel, so that shorter ones are
    tried too; none where the travel is not known either."""
    travel = known.likely("travel")
    if travel is None or known.raw.get("shims") is not None:
        return []
    numbers = range(1, len(stack) + 1)
    ways = [list(way) for count in range(len(stack) + 1) for way in combinations(numbers, count)]
    shorter = [way for way in ways if _under(stack, way) <= 0.8 * travel]
    return max(shorter, key=lambda way: _under(stack, way))


def _under(stack: Sequence[float], below: Sequence[int]) -> float:
    """Thickness [m] of the shims below; a number without a shim is told of by a rule."""
    return math.fsum(stack[number - 1] for number in below if 0 < number <= len(stack))


def _base_travel(known: Known, ball: float, stack: list[float], below: list[int] | None, travel: Any) -> Line:
    """The present travel less the shims below; a range where either is not known."""
    if travel is None:
        said = f"{TRAVEL}: not known: with no shim below the cage 0.02 to 0.15 of the ball {OURS}."
        return Line(known.span("inlet_check.base_travel", *(share * ball for share in NO_SHIM_TRAVELS)), said)
    if below is None:
        now, total = known.likely("travel") or 0.0, math.fsum(stack)
        said = f"{TRAVEL}: with no shim below; which lie below was not known, so from all of them to none."
        return Line({"low": known.exact(max(now - total, LEAST_LEFT * now)), "high": known.exact(now)}, said)
    under, least = _under(stack, below), _length(travel["low"] if isinstance(travel, Mapping) else travel)
    if least < under:
        given, allowed = (
            f"a travel of {known.exact(least)}",
            f"at least the shims below together: {known.exact(under)}",
        )
        raise refused("", given, allowed, known.exact(1.5 * under))
    said = f"{TRAVEL}: the travel with no shim below the cage"
    if isinstance(travel, Mapping):
        ends = {name: known.exact(_length(text) - under) for name, text in travel.items()}
        return Line(ends, f"{said}: what was measured, less the shims below.", True)
    if not under:
        return Line(travel, f"{said}. Answered.", True)
    return Line(
        known.exact(_length(travel) - under), f"{said}: {travel} measured, less the shims below.", True
    )
