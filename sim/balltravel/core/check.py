"""The flow through a ball check and its force on the ball (M5), in mixed form: regular down to lift 0."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from balltravel.core.parameters import Check
from balltravel.jit import kernel


class Shape(NamedTuple):
    """Closures at a lift and their derivatives with lift [1/m]: conductance G, alpha, S, and G^2 K_p; S is
    that of the ball's way: a film squeezed out pushes back, one torn open does not pull (M5i)."""

    G: float
    G_z: float
    alpha: float
    alpha_z: float
    S: float
    S_z: float
    K: float
    K_z: float


@dataclass
class Law:
    """Flow [m3/s] and upward force on the ball [N] with their derivatives by pressure drop, lift and speed;
    filled by :func:`law`, as a record."""

    flow: float = 0.0
    flow_dp: float = 0.0
    flow_z: float = 0.0
    flow_w: float = 0.0
    force: float = 0.0
    force_dp: float = 0.0
    force_z: float = 0.0
    force_w: float = 0.0


@kernel
def cubic(check: Check, row: int, column: int, t: float) -> tuple[float, float]:
    """Value and slope of one tabulated function in an interval of the spline."""
    c = check.table[row, column]
    return ((c[0] * t + c[1]) * t + c[2]) * t + c[3], (3.0 * c[0] * t + 2.0 * c[1]) * t + c[2]


@kernel
def squared_gap(check: Check, z: float) -> tuple[float, float]:
    """Square of the gap between ball and seat edge over the seat radius, worn seat included, and its slope.

    gap = L - R, L^2 = r_s^2 + (z_0 + z)^2 and z_0^2 = R^2 - r_s^2 (M5a); written so that it is exactly 0
    at lift 0.
    """
    R, r = check.ball_radius, check.seat_radius
    z0 = math.sqrt(R * R - r * r)
    L = math.sqrt(r * r + (z0 + z) ** 2)
    gap = z * (2.0 * z0 + z) / (L + R) / r
    leak = check.leak_gap / r
    return gap * gap + leak * leak, 2.0 * gap * (z0 + z) / (L * r)


@kernel
def shape(check: Check, z: float, w: float) -> Shape:
    """The closures at lift ``z`` [m], for a ball that opens (``w`` > 0) or closes. Slightly below 0 and above
    the travel they go on smoothly, so that a trial step across a landing keeps its order."""
    stretched = max(z, -0.5 * check.table_origin) / check.table_origin
    u = math.log1p(stretched)
    row = min(max(int(u / check.table_step), 0), check.table.shape[0] - 1)
    t = u - row * check.table_step
    u_z = 1.0 / (check.table_origin * (1.0 + stretched))
    g, g_u = cubic(check, row, 0, t)
    alpha, alpha_u = cubic(check, row, 1, t)
    S, S_u = cubic(check, row, 4 if w > 0.0 else 2, t)
    k, k_u = cubic(check, row, 3, t)
    gap2, gap2_z = squared_gap(check, z)
    return Shape(
        g * gap2,
        g_u * u_z * gap2 + g * gap2_z,
        alpha,
        alpha_u * u_z,
        S,
        S_u * u_z,
        g * g * k * gap2,
        (2.0 * g * g_u * k + g * g * k_u) * u_z * gap2 + g * g * k * gap2_z,
    )


@kernel
def law(check: Check, viscosity: float, density: float, z: float, w: float, dp: float, out: Law) -> None:
    """Flow and force into ``out``, at lift [m], ball speed [m/s] and pressure drop [Pa] (M5b to M5d).

    With D = dp - mu S w/(alpha r), q = G X the flow past a freely carried ball and
    mu/r^3 X + rho/(2 A^2) G^2 K_p X|X| = D:

        Q = G X + (alpha + S G/alpha) r^2 w
        F = alpha r^2 D + (S G/alpha) r^2 rho/(2 A^2) G^2 K_p X|X|
    """
    r = check.seat_radius
    s = shape(check, z, w)
    area = math.pi * r * r
    head = density / (2.0 * area * area)
    ratio = s.S / s.alpha
    ratio_z = (s.S_z - ratio * s.alpha_z) / s.alpha
    drive = dp - viscosity * ratio * w / r
    drive_z = -viscosity * ratio_z * w / r
    drive_w = -viscosity * ratio / r
    viscous = viscosity / r**3
    B = head * s.K
    root = math.sqrt(viscous * viscous + 4.0 * B * abs(drive))
    X = 2.0 * drive / (viscous + root)
    square = X * abs(X)
    X_z = (drive_z - head * s.K_z * square) / root
    X_w = drive_w / root
    carried = s.alpha + ratio * s.G
    carried_z = s.alpha_z + ratio_z * s.G + ratio * s.G_z
    turning = ratio * s.G * r * r
    turning_z = (ratio_z * s.G + ratio * s.G_z) * r * r
    loss = B * square
    loss_z = head * s.K_z * square + 2.0 * B * abs(X) * X_z
    loss_X = 2.0 * B * abs(X)
    push = s.alpha * r * r
    out.flow = s.G * X + carried * r * r * w
    out.flow_dp = s.G / root
    out.flow_z = s.G_z * X + s.G * X_z + carried_z * r * r * w
    out.flow_w = s.G * X_w + carried * r * r
    out.force = push * drive + turning * loss
    out.force_dp = push + turning * loss_X / root
    out.force_z = s.alpha_z * r * r * drive + push * drive_z + turning_z * loss + turning * loss_z
    out.force_w = push * drive_w + turning * loss_X * X_w
