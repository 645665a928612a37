"""A ball that falls or rises by itself: in open liquid, and in its cage filled with still liquid."""

import math

# Beyond it the boundary layer turns turbulent and the drag drops fivefold.
DRAG_REYNOLDS_MAX = 3.38e5

# Fitted to own solves of a ball in its cage: by what power of the open area's share inertia weighs more, and
# how sharply creeping flow gives way to it (at ratio 0, and times ratio/(1 - ratio)).
CROWDING = 2.8
SHARPNESS = (2.3, 0.36)


def sphere_drag_coefficient(reynolds: float) -> float:
    """Drag coefficient of a smooth sphere in open liquid, drag/(rho w^2/2 pi d^2/4) [-].

    ``reynolds``: rho |w| d/mu, > 0 and at most DRAG_REYNOLDS_MAX; beyond, the last branch goes on and the
    caller must say so. Within 1.5 % of own finite-element solves at Re 0.1 to 200; 7 % root mean
    square, 21 % at most, against Roos and Willmarth (1971) at Re 5 to 1.2e5. Steps of up to 0.8 % where
    branches meet (Re 20).
    Source: Clift, Grace and Weber (1978), table 5.2; below Re 0.01 Oseen's 24/Re (1 + 3 Re/16).
    """
    if reynolds < 0.01:
        return 24.0 / reynolds * (1.0 + 0.1875 * reynolds)
    w = math.log10(reynolds)
    if reynolds <= 20.0:
        return 24.0 / reynolds * (1.0 + 0.1315 * math.pow(reynolds, 0.82 - 0.05 * w))
    if reynolds <= 260.0:
        return 24.0 / reynolds * (1.0 + 0.1935 * math.pow(reynolds, 0.6305))
    if reynolds <= 1500.0:
        exponent = 1.6435 - 1.1242 * w + 0.1558 * (w * w)
    elif reynolds <= 1.2e4:
        exponent = -2.4571 + 2.5558 * w - 0.9295 * (w * w) + 0.1049 * (w * w * w)
    elif reynolds <= 4.4e4:
        exponent = -1.9181 + 0.6370 * w - 0.0636 * (w * w)
    else:
        exponent = -4.3390 + 1.5809 * w - 0.1546 * (w * w)
    return math.pow(10.0, exponent)


def drag_factor(reynolds: float, wall_factor: float, ratio: float) -> float:
    """Drag over Stokes' 3 pi mu d w [-], of a ball moving along a cage of still liquid.

    ``1 + ((K1 - 1)^m + E^m)^(1/m)``: what the wall adds in creeping flow, K1 being ``wall_factor``, and what
    inertia adds, E, that of open liquid times ``(1 - ratio^2)^-2.8`` for the liquid that has to pass the
    ball. ``ratio``: ball over cage diameter, 0 (open liquid, exactly that of the drag coefficient) to < 1.
    A form of our own with three fitted numbers: within 1.5 % of own finite-element solves at R/R_c 0.5 to
    0.95 and Re to 100 (0.5 and 0.8: to 300), 4 % at 0.1 to 0.3 and Re to 100.
    """
    if reynolds <= 0.0:
        return wall_factor
    blocked = math.pow(1.0 - ratio * ratio, -CROWDING)
    inertia = blocked * (sphere_drag_coefficient(reynolds) * reynolds / 24.0 - 1.0)
    larger, smaller = max(wall_factor - 1.0, inertia), min(wall_factor - 1.0, inertia)
    if smaller <= 0.0:
        return 1.0 + larger
    m = SHARPNESS[0] + SHARPNESS[1] * ratio / (1.0 - ratio)
    return 1.0 + larger * math.pow(1.0 + math.pow(smaller / larger, m), 1.0 / m)


def _fall_reynolds(target: float, wall_factor: float, ratio: float) -> float:
    """Re with Re drag_factor(Re) = target, by bisection of ln Re.

    The drag factor lies between K1 and K1 + B Re/4 (B: what the cage makes of inertia; Oseen's correction,
    too high already, is 3 Re/16): that brackets Re. Bisection, since the branches of the drag coefficient
    meet with small steps.
    """
    blocked = math.pow(1.0 - ratio * ratio, -CROWDING)
    high = math.log(target / wall_factor)
    low = math.log(2.0 * target / (wall_factor + math.sqrt(wall_factor * wall_factor + blocked * target)))
    while high - low > 4e-15 * max(1.0, abs(high)):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        reynolds = math.exp(middle)
        if reynolds * drag_factor(reynolds, wall_factor, ratio) < target:
            low = middle
        else:
            high = middle
    return math.exp(0.5 * (low + high))


def cage_fall_speed(
    diameter: float,
    ball_density: float,
    density: float,
    viscosity: float,
    gravity: float,
    wall_factor: float,
    ratio: float,
) -> float:
    """Steady speed of a ball let go on the axis of its cage in still liquid [m/s], positive downwards.

    ``diameter`` [m], densities [kg/m3], ``viscosity`` [Pa s], ``gravity`` [m/s2], all > 0; ``wall_factor``:
    K1 >= 1 of a sphere moving in a tube, at ``ratio``, ball over cage diameter (0 to < 1). A ball lighter
    than the liquid rises (negative). Creeping flow: ``W'/(3 pi mu d K1)``; in open liquid
    K1 is 1 and the ratio 0. The accuracy is that of
    drag_factor.
    """
    excess = ball_density - density
    if excess == 0.0:
        return 0.0
    cube, square = diameter * (diameter * diameter), viscosity * viscosity
    target = abs(excess) * density * gravity * cube / (18.0 * square)
    speed = _fall_reynolds(target, wall_factor, ratio) * viscosity / (density * diameter)
    return math.copysign(speed, excess)
