"""The first value outward from the present one at which a verdict changes, on a grid of numbers that people
write."""

import contextlib
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import count
from typing import NamedTuple

from scipy.optimize import brentq

DIGITS = 4
"""Significant digits of the values that are tried, so that what is reported is what was run, where a scale
says nothing else."""

GROWTH = 1.3
"""By how much each linear step is longer than the last, where a scale says nothing else (our choice)."""

NEARBY = (0.03, 0.1)
"""Where one looks again on both sides of a change, in steps of the scan (our choice)."""

MOST_TRIES = 30
"""Values at most that the root finder may try."""

MOST_REPAIRS = 5
"""How often a change is sought nearer to the present value, where one look there says otherwise."""


class Verdict(NamedTuple):
    """What a value gave: the names of the targets that are missed, and by how much the continuous ones are
    exceeded or missed (positive: met), by name."""

    misses: tuple[str, ...]
    margins: Mapping[str, float] = {}

    @property
    def meets(self) -> bool:
        """Whether all targets hold."""
        return not self.misses


@dataclass(frozen=True)
class Scale:
    """How one walks along an input, in its unit: by a ratio, or by a first step of which each next is longer
    by ``growth``; how far from the present value (a factor, or a difference); the finest digit tried, and how
    many significant ones at most."""

    step: float
    reach: float
    geometric: bool = True
    quantum: float = 0.0
    growth: float = GROWTH
    digits: int = DIGITS

    def times(self, factor: float) -> "Scale":
        """The same walk in a unit of which a factor makes one of this."""
        if self.geometric:
            return self
        quantum = self.quantum and 10.0 ** math.floor(math.log10(self.quantum * factor))
        return replace(self, step=factor * self.step, reach=factor * self.reach, quantum=quantum)

    def rounded(self, x: float) -> float:
        """The number nearest to x with so many significant digits and none finer than the quantum."""
        if x == 0.0 or not math.isfinite(x):
            return x
        short = float(f"{x:.{self.digits}g}")
        if self.quantum and self.unit_at(x) == self.quantum:
            short = round(x, -round(math.log10(self.quantum)))
        return short + 0.0

    def unit_at(self, x: float) -> float:
        """The last digit of numbers on the grid there."""
        return max(10.0 ** (math.floor(math.log10(abs(x))) - self.digits + 1) if x else 0.0, self.quantum)

    def along(self, x: float) -> float:
        """A coordinate in which the steps of the scan are about one."""
        return math.log(x) / math.log(self.step) if self.geometric else x / self.step

    def at(self, u: float) -> float:
        """The number on the grid at such a coordinate."""
        return self.rounded(self.step**u if self.geometric else u * self.step)

    def middle(self, a: float, b: float) -> float:
        """A number on the grid between two; one of them if there is none."""
        return self.rounded(0.5 * (a + b))

    def end(self, start: float, way: int) -> float:
        """The farthest value that is searched."""
        return self.rounded(start * self.reach**way if self.geometric else start + way * self.reach)

    def nearer_end(self, start: float, way: int, limit: float) -> float:
        """The same, or a limit where that is nearer."""
        return min(limit, self.end(start, 1)) if way > 0 else max(limit, self.end(start, -1))

    def outward(self, start: float, way: int, end: float) -> Iterator[float]:
        """Values from the present one (left out) to the end (last), upward (way 1) or downward (-1)."""
        for k in count(1):
            if self.geometric:
                x = self.rounded(start * self.step ** (way * k))
            else:
                x = self.rounded(start + way * self.step * self._steps(k))
            if way * (x - end) >= 0.0:
                break
            yield x
        if way * (end - start) > 0.0:
            yield end

    def _steps(self, k: int) -> float:
        """How many first steps k steps are long."""
        return k if self.growth == 1.0 else (self.growth**k - 1.0) / (self.growth - 1.0)


@dataclass
class Crossing:
    """Where the verdict changes: the last value of the present verdict and the first of the other one, both
    None where it does not up to ``last``; ``refused``: beyond ``last`` the scenario's rules end;
    ``scatters``: near the change the verdict changes more than once; ``tried``: every value that was run;
    ``unfinished``: the search was given no more runs, so that ``last`` is not the end of the range, or the
    change is not narrowed down to neighbours."""

    inner: float | None
    outer: float | None
    last: float
    refused: bool
    scatters: bool = False
    tried: dict[float, Verdict] = field(default_factory=dict)
    unfinished: bool = False

    @property
    def good(self) -> float | None:
        """The side of the change that meets the targets."""
        if self.inner is None or self.outer is None:
            return None
        return self.inner if self.tried[self.inner].meets else self.outer

    @property
    def bad(self) -> float | None:
        """The side that does not."""
        return self.outer if self.good == self.inner else self.inner


Judge = Callable[[float], Verdict]


@dataclass(frozen=True)
class _Ground:
    """What is searched: runs values, each once, and knows which the rules take and whether to stop."""

    judge: Judge
    allowed: Callable[[float], bool]
    scale: Scale
    start: float
    spent: Callable[[], bool]
    tried: dict[float, Verdict] = field(default_factory=dict)

    def at(self, x: float) -> Verdict:
        """The verdict of a value."""
        if x not in self.tried:
            self.tried[x] = self.judge(x)
        return self.tried[x]

    def as_now(self, x: float) -> bool:
        """Whether a value has the verdict of the start."""
        return self.at(x).meets == self.at(self.start).meets


def search(
    judge: Judge,
    allowed: Callable[[float], bool],
    scale: Scale,
    start: float,
    way: int,
    limit: float,
    spent: Callable[[], bool] = lambda: False,
) -> Crossing:
    """Walk outward from ``start`` until the verdict is another one, and close in on the first change.

    judge: runs a value; allowed: whether the scenario's rules take it, which costs nothing; way: 1 up, -1
    down; limit: the end of the range that the input's own limits leave; spent: whether no further value may
    be run. A change of verdict and back within one step of the scan is not seen.
    """
    ground = _Ground(judge, allowed, scale, start, spent)
    ground.at(start)
    end = scale.nearer_end(start, way, limit)
    inner, refused = start, False
    for value in scale.outward(start, way, end):
        if spent():
            return Crossing(None, None, inner, False, False, ground.tried, unfinished=True)
        outer = value
        if not allowed(value):
            refused = True
            outer = edge(allowed, scale, inner, value)
            if outer == inner:
                break
        if not ground.as_now(outer):
            inner, outer = _bracketed(ground, inner, outer)
            inner, outer, scatters = _checked_nearby(ground, inner, outer)
            wide = scale.middle(inner, outer) not in (inner, outer)
            return Crossing(inner, outer, outer, False, scatters, ground.tried, unfinished=wide)
        inner = outer
        if refused:
            break
    return Crossing(None, None, inner, refused, False, ground.tried)


def edge(allowed: Callable[[float], bool], scale: Scale, inside: float, outside: float) -> float:
    """The last value of the grid that the rules take."""
    while (middle := scale.middle(inside, outside)) not in (inside, outside):
        inside, outside = (middle, outside) if allowed(middle) else (inside, middle)
    return inside


class _UncleanError(Exception):
    """A bracket in which something else than one margin decides."""


def _bracketed(ground: _Ground, inner: float, outer: float) -> tuple[float, float]:
    """Neighbours on the grid between which the verdict changes: by a root finder on the margin where one
    target alone is missed beyond and its margin decides; else, and for what is left, by bisection."""
    name = _deciding(ground.at(inner), ground.at(outer))
    if name:
        inner, outer = _by_root(ground, inner, outer, name)
    while not ground.spent() and (middle := ground.scale.middle(inner, outer)) not in (inner, outer):
        same = ground.at(middle).meets == ground.at(inner).meets
        inner, outer = (middle, outer) if same else (inner, middle)
    return inner, outer


def _deciding(first: Verdict, second: Verdict) -> str:
    """The target whose margin decides between two verdicts; empty if none does alone."""
    good, bad = (first, second) if first.meets else (second, first)
    (name, *rest) = bad.misses
    known = all(math.isfinite(each.margins.get(name, math.nan)) for each in (good, bad))
    return name if known and not rest else ""


def _by_root(ground: _Ground, inner: float, outer: float, name: str) -> tuple[float, float]:
    """The bracket after a root finder has tried values in it."""
    scale, tried = ground.scale, ground.tried

    def margin(u: float) -> float:
        x = scale.at(u)
        if x not in tried and ground.spent():
            raise _UncleanError
        verdict = ground.at(x)
        value = verdict.margins.get(name, math.nan)
        if not math.isfinite(value) or verdict.meets != (value >= 0.0):
            raise _UncleanError
        return value

    a, b = scale.along(inner), scale.along(outer)
    size = max(abs(inner), abs(outer))
    xtol = scale.unit_at(size) / (size * math.log(scale.step) if scale.geometric else scale.step)
    with contextlib.suppress(_UncleanError, ValueError):  # ValueError: a rounded end lies on the other side
        brentq(margin, a, b, xtol=0.5 * xtol, maxiter=MOST_TRIES, disp=False)
        # It comes near from one side: the neighbours of both ends close the bracket from the other.
        for end in (0, 1):
            near = _first_change(tried, inner, outer)
            way = math.copysign(1.0, near[1 - end] - near[end])
            x = scale.rounded(near[end] + way * scale.unit_at(near[end]))
            if min(near) < x < max(near):
                margin(scale.along(x))
    return _first_change(tried, inner, outer)


def _first_change(tried: Mapping[float, Verdict], inner: float, outer: float) -> tuple[float, float]:
    """The first pair of tried values, from inner to outer, with different verdicts."""
    way = 1.0 if outer > inner else -1.0
    between = sorted((x for x in tried if way * inner <= way * x <= way * outer), key=lambda x: way * x)
    for x in between:
        if tried[x].meets != tried[inner].meets:
            return inner, x
        inner = x
    return inner, outer


def _checked_nearby(ground: _Ground, inner: float, outer: float) -> tuple[float, float, bool]:
    """The change and whether it is one of several: a few values on both sides are run, and where one on the
    near side has the other verdict the change is sought before it."""
    way, scale, start, tried = 1.0 if outer > inner else -1.0, ground.scale, ground.start, ground.tried
    scatters = False
    for _ in range(MOST_REPAIRS):
        wrong = None
        for part in NEARBY:
            x = _steps_away(scale, inner, -way * part)
            if way * (x - start) <= 0.0 or x == inner or ground.spent():
                continue
            if not ground.as_now(x):
                wrong = x
        if wrong is None:
            break
        scatters = True
        nearer = [x for x in tried if way * x < way * wrong and way * x >= way * start]
        before = max((x for x in nearer if ground.as_now(x)), key=lambda x: way * x)
        inner, outer = _bracketed(ground, before, wrong)
    for part in NEARBY:
        x = _steps_away(scale, outer, way * part)
        known = x in tried or (not ground.spent() and ground.allowed(x))
        if known and ground.as_now(x):
            scatters = True
    return inner, outer, scatters


def _steps_away(scale: Scale, x: float, part: float) -> float:
    """A value so many steps of the scan away."""
    if scale.geometric:
        return scale.rounded(x * scale.step**part)
    return scale.rounded(x + part * scale.step)
