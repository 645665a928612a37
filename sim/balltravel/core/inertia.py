"""The loss coefficient of a check with inertia (M5h), in each direction of the flow past the ball."""

import math
from typing import NamedTuple

from balltravel.core.jit import kernel
from balltravel.core.lift import TablePlace, cubic
from balltravel.core.parameters import BACKWARD, FORWARD, Check

TURBULENT = 1000.0
"""Reynolds number of the seat bore at which the loss lies halfway between that of the laminar solves and the
published turbulent one (M5h; our choice)."""

FLATTER = 2.5
"""Velocity heads of the bore by which a large loss is smaller, over eta_j/eta_e - 1 (M9a): the profiles of a
liquid that thins are flatter. Chosen by own solves."""


class Loss(NamedTuple):
    """Loss coefficients times gap^2 in one direction, laminar and turbulent, and the Reynolds number of
    onset, with slopes by lift [1/m]; the laminar one also by the jet's viscosity over that at the edge."""

    laminar: float
    laminar_z: float
    laminar_J: float
    turbulent: float
    turbulent_z: float
    onset: float
    onset_z: float


class Coefficient(NamedTuple):
    """What takes k Y|Y| of the pressure at a Reynolds number: with slopes by lift, by that number and by the
    jet's viscosity over that at the edge."""

    k: float
    k_z: float
    k_R: float
    k_J: float


class Stream(NamedTuple):
    """What the stream that a ball squeezes takes of the pressure, over the flow past the ball [Pa s/m3]
    (M6b), 0 or more; with its slopes by lift and by the ball's speed."""

    R: float
    R_z: float
    R_w: float


STILL = Stream(0.0, 0.0, 0.0)
"""Of a ball that does not move, and of the steady law."""


@kernel
def loss_at(check: Check, place: TablePlace, gap: float, gap_z: float, J: float, forward: bool) -> Loss:
    """Loss coefficients for a flow in the open direction of the check, or back; ``J``: the jet's viscosity
    over that at the edge."""
    first = FORWARD if forward else BACKWARD
    laminar, laminar_z = cubic(check, place, first)
    turbulent, turbulent_z = cubic(check, place, first + 1)
    onset, onset_z = cubic(check, place, first + 2)
    if laminar <= 0.0:  # below the seat, for a trial step
        return Loss(laminar, laminar_z, 0.0, turbulent, turbulent_z, onset, onset_z)
    square, square_z = gap * gap, 2.0 * gap * gap_z
    less, level = FLATTER * max(J - 1.0, 0.0), square + laminar
    whole = level + less * square
    share, per = level / whole, laminar / (whole * whole)
    laminar_z = share * laminar_z + per * less * (square * (square_z + laminar_z) - level * square_z)
    by_J = -per * level * FLATTER * square if J >= 1.0 else 0.0
    return Loss(laminar * share, laminar_z, by_J, turbulent, turbulent_z, onset, onset_z)


@kernel
def coefficient_at(loss: Loss, head: float, R: float) -> Coefficient:
    """Of laminar flow, and of a jet far above; ``head``: rho/(2 A_s^2)."""
    late = R * R / (R * R + TURBULENT * TURBULENT)
    late_R = 2.0 * R * TURBULENT * TURBULENT / (R * R + TURBULENT * TURBULENT) ** 2
    on, on_R, on_0 = 1.0, 0.0, 0.0
    if loss.onset > 0.0:
        far = math.sqrt(R * R + loss.onset * loss.onset)
        on, on_R, on_0 = R / far, loss.onset * loss.onset / far**3, -R * loss.onset / far**3
    more = loss.turbulent - loss.laminar
    level = loss.laminar + more * late
    level_z = loss.laminar_z + (loss.turbulent_z - loss.laminar_z) * late
    k_z = head * (level_z * on + level * on_0 * loss.onset_z)
    k_J = head * loss.laminar_J * (1.0 - late) * on
    return Coefficient(head * level * on, k_z, head * (more * late_R * on + level * on_R), k_J)
