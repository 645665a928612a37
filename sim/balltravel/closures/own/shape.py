"""The shape of a check that is solved by itself: from its sizes, or from the wall of a drawing."""

import hashlib
import math
from collections.abc import Sequence
from typing import NamedTuple

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.own.profile import Point, Seat
from balltravel.closures.own.record import CheckTable

METHOD = "1"
"""Another one makes other digests: solves of another method are not taken for those of this."""


class Shape(NamedTuple):
    """A check as it is solved. ``contact``: radius of the circle on which the ball sits [m]; over it:
    ``ball``, ``cage``, ``bore`` of the straight passage below, and the nearest edge (``half_angle`` 0) or
    cone as in CheckTable, from ``begins`` to ``mouth``; ``seated``: the ball's centre above the bore's end;
    ``wall``: corners (r, height above the bore's end), empty where the nearest seat is the shape itself."""

    contact: float
    ball: float
    cage: float
    bore: float
    half_angle: float
    begins: float
    mouth: float
    land: float
    seated: float
    wall: tuple[Point, ...] = ()

    def digest(self, fineness: float) -> str:
        """Of everything that a solve depends on: equal shapes of another size have the same; ``fineness``: of
        the elements."""
        numbers = [fineness, *self[1:-1], *(number for point in self.wall for number in point)]
        text = " ".join([METHOD, *(f"{number:.8g}" for number in numbers)])
        return hashlib.sha256(text.encode()).hexdigest()


def shape_of_sizes(geometry: CheckGeometry) -> Shape:
    """An edge or a cone in a plain cage."""
    r = geometry.contact_radius
    ball, cage, bore, land = (
        size / r
        for size in (
            geometry.ball_radius, geometry.cage_radius, geometry.seat_radius, geometry.land_width,
        )
    )  # fmt: skip
    if not geometry.half_angle:
        return Shape(r, ball, cage, 1.0, 0.0, 1.0, 1.0, 0.0, math.sqrt(ball * ball - 1.0))
    sine, cosine = math.sin(geometry.half_angle), math.cos(geometry.half_angle)
    sunk = math.sqrt(ball * ball - 0.25 * land * land)
    seated = (sunk - bore * cosine) / sine
    return Shape(r, ball, cage, bore, geometry.half_angle, bore, geometry.mouth_radius / r, land, seated)


def table_of_shape(shape: Shape, fineness: float, rows: tuple[tuple[float, ...], ...]) -> CheckTable:
    """The table of a shape's solves."""
    sizes = (shape.contact, shape.ball, shape.cage, shape.half_angle, shape.begins, shape.mouth, shape.land)
    return CheckTable(shape.digest(fineness), *sizes, rows)


def shape_of_wall(wall: Sequence[Point], seat: Seat, ball: float) -> Shape:
    """Of a wall [m] in which a ball [radius, m] sits."""
    r, foot = seat.contact, wall[0][1]
    corners = tuple((radius / r, (height - foot) / r) for radius, height in wall)
    return Shape(
        r, ball / r, wall[-1][0] / r, wall[0][0] / r, seat.half_angle, seat.bore / r, seat.mouth / r, 0.0,
        (seat.centre - foot) / r, corners,
    )  # fmt: skip
