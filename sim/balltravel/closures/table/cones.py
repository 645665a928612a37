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
from balltravel.closures.film import ConeSeat, Ends, film, film_of
from balltravel.closures.resistance import Matrix, scalar, series
from balltravel.closures.table.tabulated import edge_matrix, ratio_axis, widening

Array = NDArray[np.float64]

MIDDLE = (45.0, 0.75)
"""Half angle [degrees] and R/R_c where the arms of the cross meet."""

LEAST_ANGLE, LARGEST_ANGLE = 30.0, 55.0
"""Half angles that the table has [degrees]."""

FADE = 8.0
"""Degrees beyond the half angles of the table over which what it changes fades out (our choice)."""

SMOOTH = 1e-9

Law = Callable[[CheckGeometry, Array], Matrix]
"""Resistance of a cone as it is put together, at lifts [m]."""


class Grid(NamedTuple):
    """Nodes, and ln(solve/reference) of Rqq, alpha, S on them: (half angle, ratio, bore, mouth, lift, 3);
    half angles in degrees."""

    angles: tuple[float, ...]
    ratios: Array
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


def narrower_bore(bore: float, cage: float) -> float:
    """What the opening of a cone's bore costs beyond that of the circle of contact, which the table of edges
    has; all in radii of that circle."""
    return widening(cage / bore) / bore**3 - widening(cage)


def reference(geometry: CheckGeometry, lift: Array) -> Matrix:
    """What the table is held against at lifts [m]: film, edge and cage as they are put together, but without
    the kinks of a film that is cut off, which no grid of solves follows. Band and offset do not count."""
    r, ball, cage = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    alone = geometry._replace(land_width=0.0)
    narrow, ends = film_of(alone, lift * math.sin(geometry.half_angle), level=True)
    opening = np.full(lift.shape, narrower_bore(geometry.seat_radius / r, cage / r))
    return _in_cage(narrow, Ends(ends.bore / r, ends.mouth / r), ball / r, ball / cage, opening)


def _in_cage(narrow: Matrix, ends: Ends, ball: float, ratio: float, opening: Array) -> Matrix:
    """A film with an edge as far from the ball as both its ends together, the cage, and what the bore's
    opening costs; in radii of the circle of contact."""
    gap = np.sqrt(2.0 / (ends.bore**-2.0 + ends.mouth**-2.0))
    return series(narrow, series(edge_matrix(ball, ratio, gap), scalar(opening)))


def _known_excess(angle: float, ratio: float, solved: Sequence[tuple[tuple[float, ...], Array]]) -> Array:
    """ln of solves (solves, 3), by place, of one half angle and ratio over the reference."""
    bores, mouths, lifts = np.array([(place[1], place[2], place[4]) for place, _ in solved]).T
    half_angle = math.radians(angle)
    ball = 1.0 / math.cos(half_angle)
    cage = ball / ratio
    wide = 1.0 + mouths * (cage - 1.0)
    seats = ConeSeat(bores[:, None], wide[:, None], ball, half_angle)
    narrow, ends = film(seats, lifts * math.sin(half_angle), level=True)
    Rqq, Rqw, S = np.array([numbers for _, numbers in solved]).T
    opening = np.array([narrower_bore(bore, cage) for bore in bores])
    return _excess(Matrix(Rqq, Rqw, S), _in_cage(narrow, ends, ball, ratio, opening))


def _excess(matrix: Matrix, form: Matrix) -> Array:
    """ln of Rqq, alpha and S (lift, 3) over those of another."""
    Rqq, Rqw, S = (a / b for a, b in zip(matrix, form, strict=True))
    return np.log([Rqq, Rqw / Rqq, S]).T


@cache
def grid() -> Grid:
    """The table. Where a place between the arms of the cross was not solved, the changes along both arms add
    up."""
    axes = tuple(sorted(set(axis)) for axis in zip(*solves(), strict=True))
    angles, bores, mouths, ratios, lifts = axes
    excess = np.full((*map(len, (angles, ratios, bores, mouths, lifts)), 3), np.nan)
    for (i, angle), (j, ratio) in product(enumerate(angles), enumerate(ratios)):
        solved = [(p, numbers) for p, numbers in solves().items() if p[0] == angle and p[3] == ratio]
        nodes = [[axis.index(at) for axis, at in zip(axes, place, strict=True)] for place, _ in solved]
        _, bore, mouth, _, lift = np.array(nodes).T
        excess[i, j, bore, mouth, lift] = _known_excess(angle, ratio, solved)
    i, j = angles.index(MIDDLE[0]), ratios.index(MIDDLE[1])
    summed = excess[:, j, None] + excess[None, i] - excess[i, j]
    filled = np.where(np.isnan(excess), summed, excess)
    return Grid(tuple(angles), np.array(ratios), np.array(bores), np.array(mouths), np.array(lifts), filled)


def polynomial(nodes: Sequence[float], at: float) -> Array:
    """Weights of values at nodes in the polynomial through them."""
    return np.array(
        [math.prod((at - b) / (a - b) for j, b in enumerate(nodes) if j != i) for i, a in enumerate(nodes)]
    )


def _mouth_axis(mouth: Array | float) -> Array:
    """Shares of the way to the cage, as they are interpolated over: those of the table are evenly apart."""
    return np.log(np.asarray(mouth) + 0.1)


@lru_cache(maxsize=64)
def column(degrees: float, bore: float, mouth: float, ratio: float) -> Cubic:
    """ln of what the solves have over the reference (lift, 3) over ln lift; beyond the nodes the table's
    end."""
    g = grid()

    def within(value: float, nodes: Sequence[float] | Array) -> float:
        return min(max(value, float(min(nodes))), float(max(nodes)))

    of_angle = polynomial(g.angles, within(degrees, g.angles))
    by_ratio = spline(ratio_axis(g.ratios), np.einsum("i,ijkmnc->jkmnc", of_angle, g.excess))
    here = by_ratio(ratio_axis(within(ratio, g.ratios)))
    # Bores crowd at the circle of contact.
    by_mouth = spline(np.log(1.0 - g.bores[::-1]), here[::-1])(math.log(1.0 - within(bore, g.bores)))
    values = spline(_mouth_axis(g.mouths), by_mouth)(_mouth_axis(within(mouth, g.mouths)))
    return spline(np.log(g.lifts), values)


def has_cone(half_angle: float) -> bool:
    """Whether the table has a half angle [rad]."""
    return LEAST_ANGLE <= math.degrees(half_angle) <= LARGEST_ANGLE


def _faded(degrees: float, angles: Sequence[float]) -> float:
    """1 between the table's half angles, and smoothly to 0 over FADE degrees beyond."""
    beyond = max(min(angles) - degrees, degrees - max(angles), 0.0)
    share = max(1.0 - beyond / FADE, 0.0)
    return share * share * (3.0 - 2.0 * share)


def as_solved(law: Law, geometry: CheckGeometry, lift: Array, matrix: Matrix) -> Matrix:
    """The resistance of a cone as put together at lifts [m], with what the solves have over it. They are of a
    smooth ball: it stands where a rough one, or one on a worn seat, is as far away. A lapped band, a ball off
    its axis and an opening ball are taken to change nothing of that.

    Below the table's first lift the change fades in proportion to the lift, for the film is exact in the
    limit.
    """
    r, ball, cage = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    mouth = (geometry.mouth_radius - r) / (cage - r)
    degrees, bore = math.degrees(geometry.half_angle), geometry.seat_radius / r
    touching = math.hypot(geometry.roughness, geometry.leak_gap) / math.sin(geometry.half_angle)
    smooth = np.hypot(lift, touching) / r
    first, last = (float(c) for c in grid().lifts[[0, -1]])
    known = column(degrees, bore, mouth, ball / cage)(np.log(np.clip(smooth, first, last)))
    plain = law(geometry._replace(land_width=0.0, offset=0.0), lift)
    change = known + _excess(reference(geometry, lift), plain)
    fading = _faded(degrees, grid().angles) * np.minimum(smooth / first, 1.0)
    factor = np.exp(fading[:, None] * change)
    return Matrix(
        matrix.Rqq * factor[:, 0], matrix.Rqw * factor[:, 0] * factor[:, 1], matrix.S * factor[:, 2]
    )
