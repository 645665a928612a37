"""Seat and stop (M7): rebound and the film of a flat stop."""

import math

from balltravel.core.jit import kernel
from balltravel.core.parameters import Check

SEATED, FREE, ON_STOP = 0, 1, 2

DRY_RESTITUTION = 0.97
"""Restitution of a hard ball on metal without liquid; from memory."""

STOKES_DECAY = 35.0
"""Decay of the restitution with 1/St: e/e_dry = exp(-35/St)."""

STOKES_THRESHOLD = 10.0
"""No rebound below this Stokes number."""


@kernel
def rebound_speed(check: Check, viscosity: float, speed: float) -> float:
    """Speed after a landing at ``speed`` > 0 [m/s] (M7a).

    St = (m_b + m_a) |w| / (6 pi mu R^2), the Stokes number with the added mass in it, as in Legendre, Daniel
    and Guiraud (2005) for drops; nothing below 10 (Joseph et al. 2001, whose St has the ball's mass alone).
    Both are for plane walls, not for seats.
    """
    R = check.ball_radius
    stokes = (check.ball_mass + check.added_mass) * speed / (6.0 * math.pi * viscosity * R * R)
    if stokes < STOKES_THRESHOLD:
        return 0.0
    return DRY_RESTITUTION * math.exp(-STOKES_DECAY / stokes) * speed


@kernel
def film(check: Check, z: float) -> tuple[float, float]:
    """Drag of the film between ball and flat stop over viscosity [m], and its slope with lift [-] (M7b).

    Lubrication of a sphere against a disc of radius a: 6 pi R^2 (1/h - 1/h_a) - 3 pi R a^2/h_a^2 with
    h_a = h + a^2/(2R), from p = 3 mu R w (1/h(r)^2 - 1/h_a^2). The gap h is not less than the roughness.
    A stop of pins (radius 0) has no film.
    """
    a = check.pad_radius
    if a <= 0.0:
        return 0.0, 0.0
    R = check.ball_radius
    clear = check.travel - z
    h = math.sqrt(clear * clear + check.roughness * check.roughness)
    edge = h + a * a / (2.0 * R)
    value = 6.0 * math.pi * R * R * (1.0 / h - 1.0 / edge) - 3.0 * math.pi * R * a * a / edge**2
    slope = 6.0 * math.pi * R * R * (1.0 / edge**2 - 1.0 / h**2) + 6.0 * math.pi * R * a * a / edge**3
    return value, -slope * clear / h


@kernel
def film_rate(check: Check, z: float) -> tuple[float, float]:
    """Shear rate in the film of a flat stop over the ball's speed [1/m], and its slope by lift [1/m2] (M7b):
    a/h^2, the flow that a ball of speed w pushes through a gap h at the distance a, over h; the film reaches
    sqrt(2 R h) from the axis, and not beyond the pad. An order of magnitude."""
    clear = check.travel - z
    h = math.sqrt(clear * clear + check.roughness * check.roughness)
    reach = math.sqrt(2.0 * check.ball_radius * h)
    h_z = -clear / h
    if reach > check.pad_radius:
        rate = check.pad_radius / (h * h)
        return rate, -2.0 * rate * h_z / h
    rate = reach / (h * h)
    return rate, -1.5 * rate * h_z / h


@kernel
def spring(check: Check, z: float) -> float:
    """Force of the spring towards the seat [N]."""
    return check.spring_preload + check.spring_rate * z
