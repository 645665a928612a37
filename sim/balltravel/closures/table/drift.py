"""How a ball off its axis drifts aside, by the solves in space (M5k).

The ball is free to drift and to turn, in creeping flow: its speed aside is what flow and its own fall give it
through the matrix of the solves, and what a force aside gives it. Lengths in seat radii. Set-up code, not a
kernel.
"""

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.off_axis import offset_at
from balltravel.closures.table.off_axis_grid import Grid, Row, entry, grid_of, meeting, solves
from balltravel.closures.table.tabulated import edge_matrix, gap_of_lift

Array = NDArray[np.float64]

START = 0.01
"""Offset with which a ball gets to its stop, over that at which it touches there: our choice, flights of
shipped scenarios have 0.001 to 0.01 (docs/closures.md)."""

FADES = 0.5
"""Power of the lift by which drift in flow over Rqq falls below the solves (one, at half of the lowest)."""

STEPS = 100
"""Of a stroke; twice as many change a mean offset by less than a hundredth of what touches."""


class Drift(NamedTuple):
    """Of a check at lifts (n): ``most``: offset at which its ball touches; with columns for the square of the
    lean at its nodes, what passes: away from the axis per offset and unit of flow, and per offset and unit
    of speed up, both of the ball that is free to turn, and its speed aside by a unit force."""

    most: Array
    lean_squared: Array
    by_flow: Array
    by_speed: Array
    by_force: Array

    def speed(self, i: int, offset: float, flow: float, speed: float, force: float) -> float:
        """Speed aside at the lift of number i, with an offset of no more than ``most``; viscosity 1."""
        lean = (offset / self.most[i]) ** 2 if self.most[i] > 0.0 else 0.0
        nodes = self.lean_squared
        one, two, three = nodes
        weights = (
            (lean - two) * (lean - three) / ((one - two) * (one - three)),
            (lean - one) * (lean - three) / ((two - one) * (two - three)),
            (lean - one) * (lean - two) / ((three - one) * (three - two)),
        )
        along = offset * (self.by_flow[i] * flow + self.by_speed[i] * speed) + self.by_force[i] * force
        return float(sum(w * v for w, v in zip(weights, along, strict=True)))


def drift_at(geometry: CheckGeometry, lift: Array) -> Drift:
    """Of a check at lifts [m] > 0, its ball as far off as its offset and the seat let it. Outside the solves
    as at the nearest of them, over the Rqq of the ball on its axis; a cone as the edge on its circle of
    contact, for no solves of one are known."""
    r = geometry.contact_radius
    ball, ratio, at = geometry.ball_radius / r, geometry.ball_radius / geometry.cage_radius, lift / r
    known, share = _known(), at / meeting(ball, ratio)
    on_axis = edge_matrix(ball, ratio, gap_of_lift(ball, at)).Rqq
    nodes = [known.at(ball, ratio, share, np.full(at.shape, lean)) for lean in known.lean]
    by_flow, by_speed, yields = np.moveaxis(np.array(nodes), (0, 2), (2, 0))
    by_flow = by_flow * (on_axis * np.minimum(share / known.shares[0], 1.0) ** FADES)[:, None]
    return Drift(offset_at(geometry, lift) / r, np.square(known.lean), by_flow, -by_speed, np.exp(yields))


def offset_in_stroke(geometry: CheckGeometry, travel: float, volume: float, push: float) -> float:
    """Mean offset [m] of a ball at its stop while a volume [m3] passes it; ``push``: force aside times the
    time that it takes, over the viscosity [m2]."""
    r = geometry.contact_radius
    drift = drift_at(geometry, np.array([travel]))
    most = float(drift.most[0])
    offset, offsets = START * most, []
    for _ in range(STEPS):
        offset += drift.speed(0, offset, volume / r**3, 0.0, push / r**2) / STEPS
        offset = min(max(offset, 0.0), most)
        offsets.append(offset)
    return math.fsum(offsets) / STEPS * r


@cache
def _known() -> Grid:
    """Of the shipped rows off the axis."""
    rows = solves()
    return grid_of(rows, _values, tuple(sorted({row["lean"] for row in rows} - {0.0})))


def _values(row: Row, on_axis: Row) -> Array:
    """Of a row: away from the axis per flow, over Rqq on the axis, and per speed up, both per offset; and the
    logarithm of the speed by a unit force."""
    by_flow, by_speed, resists = (entry(row, pair, "free") for pair in ("qv", "wv", "vv"))
    per_offset = 1.0 / (resists * row["offset"])
    return np.array([by_flow * per_offset / on_axis["Rqq"], by_speed * per_offset, -math.log(resists)])
