"""A ball off its axis from the shipped solves in space: what they have over the rule, interpolated (M5k).

Interpolated are the logarithms of the factors by which Rqq, Rqw and S change off the axis; of the first two
over those of the rule, so that little is left. The rows are solved one by one: in use is the largest whole
grid among them. Lengths in seat radii. Set-up code, not a kernel.
"""

import csv
import math
from collections.abc import Callable
from functools import cache
from importlib import resources
from itertools import chain, combinations, product
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.cubic import spline
from balltravel.closures.off_axis import offset_at
from balltravel.closures.table.by_table import TABULATED
from balltravel.closures.table.tabulated import ball_axis, ratio_axis

Array = NDArray[np.float64]
Spin = Literal["held", "free"]

SMOOTH = 1e-9
"""Roughness of a check that is given by ratios alone."""

SAME = 1e-3
"""Lifts that are no farther apart count as the same: the rows have theirs to four digits."""


class Line(NamedTuple):
    """Of a ball and a ratio: lifts, and at (lift, lean, spin, 3) logarithms of the factors of Rqq and Rqw
    over the rule's and of S, spin held and free."""

    lift: Array
    excess: Array


class Gains(NamedTuple):
    """Nodes of ball, ratio and lean, and the line of each ball and ratio."""

    ball: Array
    ratio: Array
    lean: Array
    lines: dict[tuple[float, float], Line]


def solves() -> list[dict[str, float]]:
    """The shipped rows, by their columns."""
    text = resources.files(__package__).joinpath("ball_off_axis.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return [{name: float(value) for name, value in row.items()} for row in csv.DictReader(lines)]


def matrix(row: dict[str, float], spin: Spin = "held") -> Array:
    """Rqq, Rqw and S of a row."""
    Rqq, Rqw, Rww = (
        row[f"R{a}{b}"] - (row[f"R{a}s"] * row[f"R{b}s"] / row["Rss"] if spin == "free" else 0.0)
        for a, b in ("qq", "qw", "ww")
    )
    return np.array([Rqq, Rqw, Rww - Rqw**2 / Rqq])


def rule(ball: float, ratio: float, lift: float, offset: float) -> Array:
    """Factors by which the rule changes Rqq, Rqw and S off the axis."""
    cage, at = ball / ratio, np.array([lift])
    sizes = (1.0, 0.0, ball, cage, 0.0, 0.7, SMOOTH)
    on, off = (
        TABULATED.seat_and_cage(CheckGeometry(*sizes, offset=e, family=TABULATED.name), at, False)
        for e in (0.0, offset)
    )
    return np.array([off.Rqq[0] / on.Rqq[0], off.Rqw[0] / on.Rqw[0], 1.0])


def reach(ball: float, ratio: float, lift: float) -> float:
    """Offset at which the ball touches edge or cage, whichever it meets first."""
    cage = ball / ratio
    check = CheckGeometry(1.0, 0.0, ball, cage, 0.0, 0.7, 0.0, offset=cage - ball)
    return float(offset_at(check, np.array([lift]))[0])


def meeting(ball: float, ratio: float) -> float:
    """Lift up to which a ball aside meets the edge first, and from which on the cage, or nothing that is
    nearer than over the edge."""
    clearance = min(ball / ratio - ball, 1.0)
    return math.sqrt(ball**2 - (1.0 - clearance) ** 2) - math.sqrt(ball**2 - 1.0)


def factors(ball: float, ratio: float, lift: float, offset: float, spin: Spin) -> Array | None:
    """Factors by which Rqq, Rqw and S of the ball on its axis change; None outside the solves."""
    return factors_of(gains(), ball, ratio, lift, offset, spin)


def factors_of(
    known: Gains, ball: float, ratio: float, lift: float, offset: float, spin: Spin
) -> Array | None:
    """The same by given nodes: along each line at that share of the lift where edge and cage are met both,
    for there the factors have a peak; then across the lines."""
    place = ball, ratio, offset / reach(ball, ratio, lift)
    axes = known.ball, known.ratio, known.lean
    if not all(nodes[0] <= x <= nodes[-1] for nodes, x in zip(axes, place, strict=True)):
        return None
    share = lift / meeting(ball, ratio)
    lines = [_at(known.lines[line], share, meeting(*line)) for line in product(known.ball, known.ratio)]
    at_lines = [line for line in lines if line is not None]
    if len(at_lines) < len(lines):
        return None
    excess = np.reshape(at_lines, (known.ball.size, known.ratio.size, known.lean.size, 2, 3))
    scales: tuple[Callable[[Array], Array], ...] = (ball_axis, ratio_axis, np.square)
    for scale, nodes, x in zip(scales, axes, place, strict=True):
        excess = _along(scale(nodes), excess, float(scale(np.array(x))))
    return np.asarray(np.exp(excess[1 if spin == "free" else 0]) * rule(ball, ratio, lift, offset))


def _at(line: Line, share: float, both: float) -> Array | None:
    """Of a line at a share of its lift where both are met: below and above that by the solves there alone."""
    shares = line.lift / both
    side = shares <= 1.0 + SAME if share <= 1.0 else shares >= 1.0 - SAME
    nodes = shares[side]
    if not (nodes.size and nodes[0] * (1.0 - SAME) <= share <= nodes[-1] * (1.0 + SAME)):
        return None
    return _along(np.log(nodes), line.excess[side], math.log(share))


def _along(nodes: Array, values: Array, at: float) -> Array:
    """Between values along the first axis: the polynomial through up to four nodes, a spline through more."""
    if nodes.size > 4:
        return spline(nodes, values)(at)
    weights = [np.prod([(at - b) / (a - b) for b in nodes if b != a]) for a in nodes]
    return np.tensordot(weights, values, 1)


@cache
def gains() -> Gains:
    """Of the shipped rows."""
    return gains_of(solves())


def gains_of(rows: list[dict[str, float]]) -> Gains:
    """Of the largest whole grid of balls and ratios whose lines have lifts on both sides, each all leans."""
    by_place = {tuple(row[name] for name in ("ball", "ratio", "lift", "lean")): row for row in rows}
    leans = sorted({place[3] for place in by_place})
    lifts: dict[tuple[float, float], list[float]] = {}
    for ball, ratio, lift in sorted({place[:3] for place in by_place}):
        if all((ball, ratio, lift, lean) in by_place for lean in leans):
            lifts.setdefault((ball, ratio), []).append(lift)
    fit = {line for line, here in lifts.items() if here[0] < meeting(*line) * (1.0 - SAME) < here[-1]}
    choices = (_some(sorted({line[i] for line in fit})) for i in range(2))
    whole = (grid for grid in product(*choices) if fit.issuperset(product(*grid)))
    balls, ratios = max(whole, key=lambda grid: len(grid[0]) * len(grid[1]))
    lines = {
        line: Line(
            np.array(lifts[line]),
            np.array([[_excess(by_place, (*line, lift), lean) for lean in leans] for lift in lifts[line]]),
        )
        for line in product(balls, ratios)
    }
    return Gains(np.array(balls), np.array(ratios), np.array(leans), lines)


def _some(axis: list[float]) -> list[tuple[float, ...]]:
    """All choices of nodes of an axis."""
    return list(chain.from_iterable(combinations(axis, n) for n in range(1, len(axis) + 1)))


def _excess(
    by_place: dict[tuple[float, ...], dict[str, float]], line: tuple[float, float, float], lean: float
) -> Array:
    """Of a row over the ball on its axis and over the rule, held and free."""
    row, centred = by_place[(*line, lean)], matrix(by_place[(*line, 0.0)])
    by_rule = rule(*(row[name] for name in ("ball", "ratio", "lift", "offset")))
    return np.log([matrix(row, "held") / centred / by_rule, matrix(row, "free") / centred / by_rule])
