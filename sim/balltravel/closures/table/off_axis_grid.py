"""The shipped solves in space of a ball off its axis, and what lies between them (M5k).

The rows are solved one by one: in use is a cross of them, all ratios of a ball and all balls of a ratio.
Lengths in seat radii; ``lean``: the ball's offset over that at which it touches edge or cage. Set-up code,
not a kernel.
"""

import csv
import math
from collections import Counter
from collections.abc import Callable, Iterable
from functools import cache
from importlib import resources
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.cubic import spline
from balltravel.closures.off_axis import offset_at
from balltravel.closures.table.tabulated import ball_axis, ratio_axis

Array = NDArray[np.float64]
Spin = Literal["held", "free"]
Row = dict[str, float]

SAME = 1e-3
"""Lifts that are no farther apart count as the same: the rows have theirs to four digits."""

MOST_NODES = 4
"""Of one polynomial; a spline goes through more."""


class Line(NamedTuple):
    """Of a ball and a ratio: lifts over that at which a ball aside meets edge and cage, and at (lift, lean,
    ...) what is interpolated."""

    share: Array
    values: Array


class Grid(NamedTuple):
    """Nodes of ball, ratio and lean; the line of each ball in the ratio of ``middle``, and of each ratio with
    its ball."""

    ball: Array
    ratio: Array
    lean: Array
    lines: dict[tuple[float, float], Line]
    middle: tuple[float, float]

    @property
    def shares(self) -> tuple[float, float]:
        """From and up to which lift over the meeting all ratios have solves."""
        return _ends(self.lines[self.middle[0], ratio] for ratio in self.ratio)

    @property
    def shares_of_balls(self) -> tuple[float, float]:
        """The same of all balls."""
        return _ends(self.lines[ball, self.middle[1]] for ball in self.ball)

    def has(self, ball: float, ratio: float, share: float, lean: float) -> bool:
        """Whether a place lies among the solves."""
        ends = [(self.ball[0], ball, self.ball[-1]), (self.ratio[0], ratio, self.ratio[-1])]
        for low, high in (self.shares, *([self.shares_of_balls] if ball != self.middle[0] else [])):
            ends.append((low * (1.0 - SAME), share, high * (1.0 + SAME)))
        return all(first <= x <= last for first, x, last in (*ends, (0.0, lean, self.lean[-1])))

    def at(self, ball: float, ratio: float, share: Array, lean: Array) -> Array:
        """What is interpolated, (n, ...), at lifts over the meeting and leans (n): along each line at that
        share of its lift, for there is a peak where edge and cage are both met; in the square of the lean;
        then across the ratios, and what across the balls is more than at the middle's is added. Outside
        balls, ratios and lifts what is at the nearest of them; the leans go on up to 1."""
        leans = _weights(np.square(self.lean), np.square(np.minimum(lean, 1.0)))

        def along(line: tuple[float, float], ends: tuple[float, float]) -> Array:
            there = _along(self.lines[line], np.clip(share, *ends))
            return np.asarray(np.einsum("nl,nl...->n...", leans, there))

        (own, common), across = self.middle, _across(self.ratio, self.middle[0], ratio)
        values = sum(w * along((own, node), self.shares) for w, node in zip(across, self.ratio, strict=True))
        if ball == own or self.ball.size == 1:
            return np.asarray(values)
        others, ends = np.clip([ball], self.ball[0], self.ball[-1]), self.shares_of_balls
        of_balls = _weights(ball_axis(self.ball), ball_axis(others))[0]
        more = sum(w * along((node, common), ends) for w, node in zip(of_balls, self.ball, strict=True))
        return np.asarray(values + more - along(self.middle, ends))


def _ends(lines: Iterable[Line]) -> tuple[float, float]:
    first, last = zip(*((line.share[0], line.share[-1]) for line in lines), strict=True)
    return max(first), min(last)


def _across(ratios: Array, ball: float, ratio: float) -> Array:
    """What the values at ratios count at another, of a ball: the polynomial through those of cages that the
    ball aside comes to; in wider ones, which it does not reach over its edge, through theirs and the value
    where that begins, for there is a bend."""
    bend = ball / (ball + 1.0)
    at, wide = min(max(ratio, float(ratios[0])), float(ratios[-1])), ratios < bend

    def through(nodes: Array, place: float) -> Array:
        return np.asarray(_weights(ratio_axis(nodes), ratio_axis(np.array([place])))[0])

    if wide.all():
        return through(ratios, at)
    weights = np.zeros(ratios.size)
    weights[~wide] = through(ratios[~wide], max(at, bend))
    if at < bend:
        of_all = through(np.append(ratios[wide], bend), at)
        weights *= of_all[-1]
        weights[wide] = of_all[:-1]
    return weights


def _along(line: Line, share: Array) -> Array:
    """Of a line at shares of its lift where both are met, (n, lean, ...): below and above that by the solves
    there alone."""
    values = np.empty((share.size, *line.values.shape[1:]))
    for below in (True, False):
        side = line.share <= 1.0 if below else line.share >= 1.0
        nodes = np.log(line.share[side])
        here = share <= 1.0 if below else share > 1.0
        at = np.log(share[here])
        if nodes.size > MOST_NODES:
            values[here] = spline(nodes, line.values[side])(at)
        else:
            values[here] = np.tensordot(_weights(nodes, at), line.values[side], 1)
    return values


def _weights(nodes: Array, at: Array) -> Array:
    """Of the values at nodes, at places (n): the polynomial through all, (n, nodes)."""
    by_node = [
        np.prod([(at - b) / (a - b) for b in nodes if b != a] or [np.ones(at.shape)], axis=0) for a in nodes
    ]
    return np.stack(by_node, axis=-1)


@cache
def solves() -> tuple[Row, ...]:
    """The shipped rows, by their columns."""
    text = resources.files(__package__).joinpath("ball_off_axis.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return tuple({name: float(value) for name, value in row.items()} for row in csv.DictReader(lines))


def matrix(row: Row, spin: Spin = "held") -> Array:
    """Rqq, Rqw and S of a row."""
    Rqq, Rqw, Rww = (entry(row, pair, spin) for pair in ("qq", "qw", "ww"))
    return np.array([Rqq, Rqw, Rww - Rqw**2 / Rqq])


def entry(row: Row, pair: str, spin: Spin) -> float:
    """A number of a row's matrix by its two motions (``"qv"``), of a ball held from turning or free to."""
    a, b = pair[0], pair[1]
    turning = row[f"R{a}s"] * row[f"R{b}s"] / row["Rss"] if spin == "free" else 0.0
    return row[f"R{pair}"] - turning


def reach(ball: float, ratio: float, lift: ArrayLike) -> Array:
    """Offsets at which the ball touches edge or cage, whichever it meets first, at lifts."""
    cage = ball / ratio
    check = CheckGeometry(1.0, 0.0, ball, cage, 0.0, 0.7, 0.0, offset=cage - ball)
    return offset_at(check, np.asarray(lift, np.float64))


def meeting(ball: float, ratio: float) -> float:
    """Lift up to which a ball aside meets the edge first, and from which on the cage, or nothing that is
    nearer than over the edge."""
    clearance = min(ball / ratio - ball, 1.0)
    return math.sqrt(ball**2 - (1.0 - clearance) ** 2) - math.sqrt(ball**2 - 1.0)


def grid_of(rows: tuple[Row, ...], values: Callable[[Row, Row], Array], leans: tuple[float, ...]) -> Grid:
    """Of the ball of most lines and of the ratio of most, where a line has lifts on both sides of the
    meeting, each with all the leans of the rows. ``values``: of a row and of that on the axis, what is
    interpolated, over those ``leans`` that it is taken from."""
    by_place = {tuple(row[name] for name in ("ball", "ratio", "lift", "lean")): row for row in rows}
    every = sorted({place[3] for place in by_place})
    lifts: dict[tuple[float, float], list[float]] = {}
    for ball, ratio, lift in sorted({place[:3] for place in by_place}):
        if all((ball, ratio, lift, lean) in by_place for lean in every):
            lifts.setdefault((ball, ratio), []).append(lift)
    shares = {line: _shares(here, meeting(*line)) for line, here in lifts.items()}
    fit = [line for line, here in shares.items() if here[0] < 1.0 < here[-1]]
    own = Counter(ball for ball, _ in fit).most_common(1)[0][0]
    common = Counter(ratio for ball, ratio in fit if (own, ratio) in fit).most_common(1)[0][0]
    lines = {}
    for line in fit:
        if own == line[0] or common == line[1]:
            of_line = [
                [values(by_place[(*line, lift, lean)], by_place[(*line, lift, 0.0)]) for lean in leans]
                for lift in lifts[line]
            ]
            lines[line] = Line(shares[line], np.array(of_line))
    balls = np.array([ball for ball, ratio in lines if ratio == common])
    ratios = np.array([ratio for ball, ratio in lines if ball == own])
    return Grid(balls, ratios, np.array(leans), lines, (own, common))


def _shares(lifts: list[float], both: float) -> Array:
    """Lifts over that of the meeting, exactly 1 there."""
    shares = np.array(lifts) / both
    return np.where(abs(shares - 1.0) < SAME, 1.0, shares)
