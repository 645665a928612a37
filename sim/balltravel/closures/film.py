"""The film between a ball and a conical seat, with a band lapped to the ball or without: lubrication theory.

Reynolds' equation in the narrow gap: through each ring of radius r passes Q less the pi r^2 w that the ball
carries, so that the film's matrix is three integrals of one weight and is positive by construction.
"""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.resistance import TINY, Matrix

Array = NDArray[np.float64]

NODES = 400
REACH = 0.5
"""Half of the film at most, over the ball's radius: beyond, ball and cone are no narrow gap any more."""

FEW_NODES, LEVEL_REACH, LEVEL = 24, 0.8, 3.0
"""The same of a film whose ends level off towards the reach, and the power by which they do: smooth in all
sizes and so easier to interpolate over, no nearer to the truth."""


class ConeSeat(NamedTuple):
    """A cone from a bore to a mouth [radii, m] under a ball [radius, m]; ``half_angle`` [rad] between axis
    and cone; ``land``: width [m] of a band lapped to the ball, 0 without one. Bore and mouth may be columns,
    (n, 1), of as many cones as there are gaps.
    """

    bore: float | Array
    mouth: float | Array
    ball: float
    half_angle: float
    land: float = 0.0

    @property
    def contact(self) -> float:
        """Radius of the circle of contact [m], the middle of a lapped band: R cos(half angle)."""
        return self.ball * math.cos(self.half_angle)

    @property
    def sunk(self) -> float:
        """Distance from the ball's centre to the cone when it is seated [m]: R, or less by lapping."""
        return math.sqrt(self.ball**2 - 0.25 * self.land**2)


class Ends(NamedTuple):
    """Gaps where the film begins, at the bore, and where it ends, at the mouth [m]."""

    bore: Array
    mouth: Array


def film(seat: ConeSeat, gap: Array, level: bool = False) -> tuple[Matrix, Ends]:
    """Resistance of the film, lengths in contact radii, and the gaps at its ends [m], for smallest gaps
    [m] > 0 along the normal of the cone; ``level``: with ends that level off.

    Slopes are taken as small and the film as narrow: exact as the gap goes to 0 (gap^-2.5, with a land
    gap^-3), part of a series further off (docs/closures.md has its error against finite elements).
    """
    sine, cosine = math.sin(seat.half_angle), math.cos(seat.half_angle)
    gap = np.asarray(gap, dtype=float)[:, None]
    # Offsets along the cone from the foot of the ball's centre; the foot climbs with the lift.
    climbed = gap / sine * cosine
    foot = climbed - seat.bore * sine + cosine * (seat.sunk - seat.bore * cosine) / sine
    length = (seat.mouth - seat.bore) / sine
    ending, nodes = (_levelled, _few_nodes) if level else (_cut, _nodes)
    start, end = ending(-foot, seat.ball), ending(length - foot, seat.ball)
    offset, step = nodes(start, end, np.maximum(np.sqrt(2.0 * seat.ball * gap), 0.5 * seat.land))
    width = _width(seat, gap, offset, offset + climbed)
    radius = seat.bore + (foot + offset) * sine
    weight, area = 6.0 / (math.pi * radius * width**3) * step, math.pi * radius**2
    Rqq = weight.sum(axis=1)
    # A film of no length, under a ball above its cone, has no weight.
    alpha = (weight * area).sum(axis=1) / np.maximum(Rqq, TINY)
    squeezed = (weight * (area - alpha[:, None]) ** 2).sum(axis=1)
    sheared = (2.0 * math.pi * radius * cosine**2 / width * step).sum(axis=1)
    ends = (_width(seat, gap, at, at + climbed)[:, 0] for at in (start, end))
    r = seat.contact
    return Matrix(Rqq * r**3, alpha * Rqq * r, (squeezed + sheared) / r), Ends(*ends)


def _cut(end: Array, ball: float) -> Array:
    """An end of the cone [m from the foot] that is within the reach of a ball [radius, m]."""
    return np.clip(end, -REACH * ball, REACH * ball)


def _levelled(end: Array, ball: float) -> Array:
    """The same, without a kink."""
    return np.asarray(end / (1.0 + np.abs(end / (LEVEL_REACH * ball)) ** LEVEL) ** (1.0 / LEVEL))


def film_of(geometry: CheckGeometry, nearest: Array, level: bool = False) -> tuple[Matrix, Ends]:
    """The film of a check whose ball is so near its cone [m]; roughness and a worn seat's gap come to it;
    ``level``: see ``film``."""
    seat = ConeSeat(
        geometry.seat_radius,
        geometry.mouth_radius,
        geometry.ball_radius,
        geometry.half_angle,
        geometry.land_width,
    )
    gap = np.hypot(nearest, math.hypot(geometry.leak_gap, geometry.roughness))
    return _known_film(seat, np.ascontiguousarray(gap, np.float64).tobytes(), level)


@lru_cache(maxsize=16)
def _known_film(seat: ConeSeat, gaps: bytes, level: bool) -> tuple[Matrix, Ends]:
    """The film at gaps [m] by their bytes: a check asks for the same one up to thirty times, which is most
    of what its table costs."""
    matrix, ends = film(seat, np.frombuffer(gaps), level)
    for array in (*matrix, *ends):
        array.setflags(write=False)
    return matrix, ends


def _width(seat: ConeSeat, gap: Array, from_foot: Array, from_seated: Array) -> Array:
    """Gap along the cone's normal [m] at offsets from the foot, now and where it is with the ball seated."""
    R = seat.ball
    above = seat.sunk + gap - np.sqrt(R * R - from_foot**2)
    if not seat.land:
        return np.asarray(above)
    lapped = np.sqrt(np.maximum(R * R - from_seated**2, 0.0)) - seat.sunk
    return np.asarray(above + np.maximum(lapped, 0.0))


def _nodes(start: Array, end: Array, scale: Array) -> tuple[Array, Array]:
    """Middles and lengths of NODES pieces, which crowd around the foot and hold a lapped band."""
    low, high = np.arcsinh(start / scale), np.arcsinh(end / scale)
    edges = scale * np.sinh(low + (high - low) * np.linspace(0.0, 1.0, NODES + 1))
    return 0.5 * (edges[:, 1:] + edges[:, :-1]), np.diff(edges, axis=1)


def _few_nodes(start: Array, end: Array, scale: Array) -> tuple[Array, Array]:
    """Places and weights of FEW_NODES, evenly apart in the inverse hyperbolic sine: where no band ends and
    nothing is cut off the middles do better so."""
    low, high = np.arcsinh(start / scale), np.arcsinh(end / scale)
    step = (high - low) / FEW_NODES
    offset = scale * np.sinh(low + step * (np.arange(FEW_NODES) + 0.5))
    return offset, np.hypot(scale, offset) * step
