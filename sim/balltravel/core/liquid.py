"""The inertia of the liquid that a ball moves and that moves past it (M6b)."""

import math
from typing import NamedTuple

from balltravel.core.inertia import STILL, Stream
from balltravel.core.jit import kernel
from balltravel.core.lift import TablePlace
from balltravel.core.parameters import COUPLING, MASS, STREAM, Check, lift_rows

FADE = 0.01
"""Lift in seat radii at which half the push of the piston's flow is left; at 0 its seat holds it (M6b)."""


class Inertia(NamedTuple):
    """Mass that the liquid adds to a ball [kg], the force per dQ/dt of the piston's flow [kg/m2], both with
    slopes by lift; and first and second derivative by lift of the ball's own added mass [kg] and of the
    inertia of a stream through the seat, over the square of its speed there [kg]."""

    mass: float
    mass_z: float
    coupling: float
    coupling_z: float
    own_z: float
    own_zz: float
    stream_z: float
    stream_zz: float


@kernel
def bent(check: Check, place: TablePlace, column: int) -> tuple[float, float, float]:
    """Value and two derivatives with lift of one tabulated function; the axis ln(1 + z/origin) has the second
    derivative -u_z^2."""
    c = lift_rows(check.table)[place.row, column]
    t, u_z = place.t, place.u_z
    slope = (3.0 * c[0] * t + 2.0 * c[1]) * t + c[2]
    bend = 6.0 * c[0] * t + 2.0 * c[1]
    return ((c[0] * t + c[1]) * t + c[2]) * t + c[3], slope * u_z, (bend - slope) * u_z * u_z


@kernel
def openness(check: Check, z: float) -> tuple[float, float]:
    """How far the flow past a ball follows the piston: 0 on its seat, 1 well above; with its slope."""
    reach = FADE * check.seat_radius
    s = z / reach
    base = 1.0 + s * s
    return s * s / base, 2.0 * s / (reach * base**2)


@kernel
def inertia_at(check: Check, place: TablePlace, z: float) -> Inertia:
    """The liquid's inertia at a lift. Near the seat, which holds the flow, the flow goes with the ball, and
    above with the piston; what couples it to the ball is the ball's mass, and the piston's push."""
    own, own_z, own_zz = bent(check, place, MASS)
    _, stream_z, stream_zz = bent(check, place, STREAM)
    coupled, coupled_z, _ = bent(check, place, COUPLING)
    o, o_z = openness(check, z)
    far, pull = check.added_mass, check.coupling_mass
    with_piston, with_piston_z = coupled * o, coupled_z * o + coupled * o_z
    held = math.pi * check.seat_radius * check.seat_radius * pull
    return Inertia(
        far * own - held * (coupled - with_piston),
        far * own_z - held * (coupled_z - with_piston_z),
        pull * with_piston,
        pull * with_piston_z,
        far * own_z,
        far * own_zz,
        far * stream_z,
        far * stream_zz,
    )


@kernel
def squeezed(check: Check, i: Inertia, w: float) -> Stream:
    """What a stream takes of the pressure as its passage narrows: it gathers momentum at the cost of what
    drives it, and pushes the ball by as much (M6b)."""
    rate = i.stream_z * w
    if rate <= 0.0:
        return STILL
    area = math.pi * check.seat_radius * check.seat_radius
    per = 1.0 / (area * area)
    return Stream(rate * per, i.stream_zz * w * per, i.stream_z * per)


@kernel
def released(i: Inertia, w: float, past: float) -> float:
    """How much a stream that is faster than the ball by ``past`` [m/s] holds it back as its passage widens,
    over ``past`` [kg/s]; 0 for one that runs back, which would only drive the ball (M6b)."""
    return min(i.stream_z * w, 0.0) if past > 0.0 else 0.0
