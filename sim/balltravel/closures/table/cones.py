"""What solves over a cone have over the film and the edge that it is put together with (docs/closures.md).

Logarithms of Rqq, alpha and S over half angle, R/R_c, bore, mouth and ln lift; lengths in radii of the circle
of contact. The places form a cross of half angles and ratios, and near the seat nothing lies between its
arms. Set-up code, not a kernel.
"""

import csv
import math
from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from importlib import resources
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.cubic import Cubic, spline
from balltravel.closures.resistance import Matrix

Array = NDArray[np.float64]

MIDDLE = (45.0, 0.75)
"""Half angle [degrees] and R/R_c where the arms of the cross meet."""

LEAST_ANGLE, LARGEST_ANGLE = 30.0, 55.0
"""Half angles that the table has [degrees]."""

FADE = 8.0
"""Degrees beyond the half angles of the table over which what it changes fades out (our choice)."""

SMOOTH = 1e-9

Law = Callable[[CheckGeometry, Array], Matrix]
"""Resistance of a cone as it is put together, at lifts."""


class Grid(NamedTuple):
    """Nodes, and ln(solve/put together) of Rqq, alpha, S on them: (half angle, ratio, bore, mouth, lift, 3);
    half angles in degrees."""

    angles: tuple[float, ...]
    ratios: tuple[float, ...]
    bores: Array
    mouths: Array
    lifts: Array
    excess: Array


def cone_of(degrees: float, bore: float, mouth: float, ratio: float) -> CheckGeometry:
    """A smooth cone of the table, its circle of contact the length; ``mouth``: share of the way from there to
    the cage."""
    angle = math.radians(degrees)
    ball = 1.0 / math.cos(angle)
    wide = 1.0 + mouth * (ball / ratio - 1.0)
    return CheckGeometry(
        seat_radius=bore,
        seat_length=0.0,
        ball_radius=ball,
        cage_radius=ball / ratio,
        cage_length=0.0,
        discharge_coefficient=0.7,
        roughness=SMOOTH,
        half_angle=angle,
        mouth_radius=wide,
        family="tabulated",
    )


@cache
def solves() -> dict[tuple[float, ...], Array]:
    """The shipped solves: Rqq, Rqw, S by half angle [degrees], bore, mouth, ratio and lift."""
    text = resources.files(__package__).joinpath("ball_over_cone.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))
    numbers = ([float(x) for x in row] for row in rows[1:])
    return {tuple(row[:5]): np.array(row[5:8]) for row in numbers}


@cache
def grid(law: Law) -> Grid:
    """The table against a law. Where a place between the arms of the cross was not solved, the changes along
    both arms add up."""
    known = solves()
    angles, bores, mouths, ratios, lifts = (sorted(set(axis)) for axis in zip(*known, strict=True))
    excess = np.full((len(angles), len(ratios), len(bores), len(mouths), len(lifts), 3), np.nan)
    nodes = map(enumerate, (angles, ratios, bores, mouths))
    for (i, angle), (j, ratio), (k, bore), (m, mouth) in product(*nodes):
        here = [n for n, lift in enumerate(lifts) if (angle, bore, mouth, ratio, lift) in known]
        if not here:
            continue
        at = [lifts[n] for n in here]
        Rqq, Rqw, S = np.array([known[angle, bore, mouth, ratio, lift] for lift in at]).T
        form = law(cone_of(angle, bore, mouth, ratio), np.array(at))
        excess[i, j, k, m, here] = np.log([Rqq / form.Rqq, Rqw / Rqq * form.Rqq / form.Rqw, S / form.S]).T
    i, j = angles.index(MIDDLE[0]), ratios.index(MIDDLE[1])
    summed = excess[:, j, None] + excess[None, i] - excess[i, j]
    filled = np.where(np.isnan(excess), summed, excess)
    return Grid(tuple(angles), tuple(ratios), np.array(bores), np.array(mouths), np.array(lifts), filled)


def polynomial(nodes: Sequence[float], at: float) -> Array:
    """Weights of values at nodes in the polynomial through them."""
    return np.array(
        [math.prod((at - b) / (a - b) for j, b in enumerate(nodes) if j != i) for i, a in enumerate(nodes)]
    )


@lru_cache(maxsize=64)
def column(law: Law, degrees: float, bore: float, mouth: float, ratio: float) -> Cubic:
    """ln of what the solves have over the law (lift, 3) over ln lift; beyond the nodes the table's end."""
    g = grid(law)

    def within(value: float, nodes: Sequence[float] | Array) -> float:
        return min(max(value, float(min(nodes))), float(max(nodes)))

    of_angle = polynomial(g.angles, within(degrees, g.angles))
    of_ratio = polynomial([-math.log(1.0 - r) for r in g.ratios], -math.log(1.0 - within(ratio, g.ratios)))
    here = np.einsum("i,j,ijkmnc->kmnc", of_angle, of_ratio, g.excess)
    # The logarithms of what is left between contact and bore, and of the mouth's share, crowd at the contact.
    by_mouth = spline(np.log(1.0 - g.bores[::-1]), here[::-1])(math.log(1.0 - within(bore, g.bores)))
    values = spline(np.log(g.mouths), by_mouth)(math.log(within(mouth, g.mouths)))
    return spline(np.log(g.lifts), _faded(degrees, g.angles) * values)


def has_cone(half_angle: float) -> bool:
    """Whether the table has a half angle [rad]."""
    return LEAST_ANGLE <= math.degrees(half_angle) <= LARGEST_ANGLE


def _faded(degrees: float, angles: Sequence[float]) -> float:
    """1 between the table's half angles, and smoothly to 0 over FADE degrees beyond."""
    beyond = max(min(angles) - degrees, degrees - max(angles), 0.0)
    share = max(1.0 - beyond / FADE, 0.0)
    return share * share * (3.0 - 2.0 * share)


def as_solved(law: Law, geometry: CheckGeometry, smooth: Array, matrix: Matrix) -> Matrix:
    """The resistance of a cone as put together, with what the solves have over it; ``smooth``: lifts over the
    circle of contact at which a smooth ball is as far away. A lapped band is taken to change nothing of that.

    Below the table's first lift it fades in proportion to the lift, for the film is exact in the limit.
    """
    r, ball, cage = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    mouth = (geometry.mouth_radius - r) / (cage - r)
    degrees, bore = math.degrees(geometry.half_angle), geometry.seat_radius / r
    first, last = (float(c) for c in grid(law).lifts[[0, -1]])
    known = column(law, degrees, bore, mouth, ball / cage)(np.log(np.clip(smooth, first, last)))
    factor = np.exp(known * np.minimum(smooth / first, 1.0)[:, None])
    return Matrix(
        matrix.Rqq * factor[:, 0], matrix.Rqw * factor[:, 0] * factor[:, 1], matrix.S * factor[:, 2]
    )
