"""A ball off its axis from the shipped solves in space: what they have over the rule, interpolated (M5k).

Interpolated are the logarithms of the factors by which Rqq, Rqw and S change off the axis; of the first two
over those of the rule, so that little is left. The rows are solved one by one: in use is the largest whole
grid among them. Lengths in seat radii. Set-up code, not a kernel.
"""

import csv
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


class Gains(NamedTuple):
    """Nodes, and logarithms of the factors of Rqq and Rqw over the rule's and of S, (ball, ratio, lift, lean,
    3), of a ball held from turning and of one free to turn."""

    ball: Array
    ratio: Array
    lift: Array
    lean: Array
    held: Array
    free: Array


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


def factors(ball: float, ratio: float, lift: float, offset: float, spin: Spin) -> Array | None:
    """Factors by which Rqq, Rqw and S of the ball on its axis change; None outside the solves."""
    return factors_of(gains(), ball, ratio, lift, offset, spin)


def factors_of(
    known: Gains, ball: float, ratio: float, lift: float, offset: float, spin: Spin
) -> Array | None:
    """The same by given nodes."""
    place = ball, ratio, lift, offset / reach(ball, ratio, lift)
    axes = known.ball, known.ratio, known.lift, known.lean
    if not all(nodes[0] <= x <= nodes[-1] for nodes, x in zip(axes, place, strict=True)):
        return None
    excess = known.free if spin == "free" else known.held
    scales: tuple[Callable[[Array], Array], ...] = (ball_axis, ratio_axis, np.log, np.square)
    for scale, nodes, x in zip(scales, axes, place, strict=True):
        excess = _along(scale(nodes), excess, float(scale(np.array(x))))
    return np.asarray(np.exp(excess) * rule(ball, ratio, lift, offset))


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
    """Of the largest whole grid of balls, ratios and lifts, each with all leans, among rows."""
    by_place = {tuple(row[name] for name in ("ball", "ratio", "lift", "lean")): row for row in rows}
    balls, ratios, lifts, leans = (sorted({place[i] for place in by_place}) for i in range(4))
    whole = {
        place for place in product(balls, ratios, lifts) if all((*place, lean) in by_place for lean in leans)
    }
    grids = (
        (b, r, tuple(z for z in lifts if whole.issuperset(product(b, r, (z,)))))
        for b, r in product(_some(balls), _some(ratios))
    )
    axes = max(grids, key=lambda grid: len(grid[0]) * len(grid[1]) * len(grid[2]))
    both = {spin: np.empty((*(len(axis) for axis in axes), len(leans), 3)) for spin in ("held", "free")}
    for (spin, excess), place in product(both.items(), np.ndindex(*(len(axis) for axis in axes))):
        line = tuple(axis[i] for axis, i in zip(axes, place, strict=True))
        excess[place] = [_excess(by_place, line, lean, spin) for lean in leans]
    ball, ratio, lift = (np.array(axis) for axis in axes)
    return Gains(ball, ratio, lift, np.array(leans), both["held"], both["free"])


def _some(axis: list[float]) -> list[tuple[float, ...]]:
    """All choices of nodes of an axis."""
    return list(chain.from_iterable(combinations(axis, n) for n in range(1, len(axis) + 1)))


def _excess(
    by_place: dict[tuple[float, ...], dict[str, float]], line: tuple[float, ...], lean: float, spin: str
) -> Array:
    """Of a row over the ball on its axis and over the rule."""
    row, centred = by_place[(*line, lean)], by_place[(*line, 0.0)]
    factor = matrix(row, "free" if spin == "free" else "held") / matrix(centred)
    return np.asarray(np.log(factor / rule(*(row[name] for name in ("ball", "ratio", "lift", "offset")))))
