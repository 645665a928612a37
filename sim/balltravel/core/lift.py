"""What a check's table says at a lift: functions of lift, gap, and the closures of creeping flow (M5)."""

import math
from typing import NamedTuple

from balltravel.core.jit import kernel
from balltravel.core.parameters import (
    ALPHA,
    CONDUCTANCE,
    LIFT_INTERVALS,
    OPENING_SLIP,
    SLIP,
    Check,
    lift_rows,
)


class Shape(NamedTuple):
    """Closures of a creeping liquid at a lift and their derivatives with lift [1/m]: gap in seat radii,
    conductance G, alpha, S; S is that of the ball's way: a film squeezed out pushes back, one torn open does
    not pull (M5i)."""

    gap: float
    gap_z: float
    G: float
    G_z: float
    alpha: float
    alpha_z: float
    S: float
    S_z: float


class TablePlace(NamedTuple):
    """Where a lift lies in the table: row, distance from its start, and slope of the table's axis [1/m]."""

    row: int
    t: float
    u_z: float


@kernel
def place_of(check: Check, z: float) -> TablePlace:
    """Slightly below 0 and above the travel the table goes on smoothly, so that a trial step across a landing
    keeps its order."""
    stretched = max(z, -0.5 * check.table_origin) / check.table_origin
    u = math.log1p(stretched)
    row = min(max(int(u / check.table_step), 0), LIFT_INTERVALS - 1)
    return TablePlace(row, u - row * check.table_step, 1.0 / (check.table_origin * (1.0 + stretched)))


@kernel
def cubic(check: Check, place: TablePlace, column: int) -> tuple[float, float]:
    """Value and slope with lift [1/m] of one tabulated function."""
    c = lift_rows(check.table)[place.row, column]
    t = place.t
    return ((c[0] * t + c[1]) * t + c[2]) * t + c[3], ((3.0 * c[0] * t + 2.0 * c[1]) * t + c[2]) * place.u_z


@kernel
def gap_of(check: Check, z: float) -> tuple[float, float]:
    """Gap between ball and seat edge over the seat radius, a worn seat's in it, and its slope [1/m].

    gap = L - R, L^2 = r_s^2 + (z_0 + z)^2 and z_0^2 = R^2 - r_s^2 (M5a); written so that it is exactly 0
    at lift 0. Of the sign of the lift below a sound seat.
    """
    R, r = check.ball_radius, check.seat_radius
    z0 = math.sqrt(R * R - r * r)
    L = math.sqrt(r * r + (z0 + z) ** 2)
    gap = z * (2.0 * z0 + z) / (L + R) / r
    gap_z = (z0 + z) / (L * r)
    if check.leak_gap == 0.0:
        return gap, gap_z
    leak = check.leak_gap / r
    whole = math.sqrt(gap * gap + leak * leak)
    return whole, gap * gap_z / whole


@kernel
def shape_at(check: Check, place: TablePlace, z: float, w: float) -> Shape:
    """The creeping closures at a place of the table."""
    gap, gap_z = gap_of(check, z)
    g, g_z = cubic(check, place, CONDUCTANCE)
    alpha, alpha_z = cubic(check, place, ALPHA)
    S, S_z = cubic(check, place, OPENING_SLIP if w > 0.0 else SLIP)
    return Shape(gap, gap_z, g * gap * gap, (g_z * gap + 2.0 * g * gap_z) * gap, alpha, alpha_z, S, S_z)


@kernel
def shape(check: Check, z: float, w: float) -> Shape:
    """The creeping closures at lift ``z`` [m], for a ball that opens (``w`` > 0) or closes."""
    return shape_at(check, place_of(check, z), z, w)
