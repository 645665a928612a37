"""The inertia of the liquid that a ball moves and that moves past it (M6b)."""

from typing import NamedTuple

from balltravel.core.jit import kernel
from balltravel.core.lift import TablePlace
from balltravel.core.parameters import COUPLING, MASS_OPEN, MASS_SHUT, Check, lift_rows

FADE = 0.05
"""Lift in seat radii at which half the flow is taken to follow the piston: below, the seat holds it (M6b)."""


class Inertia(NamedTuple):
    """Added mass [kg] with its first and second derivative by lift, and the force per dQ/dt of the piston's
    flow [kg/m2] with its slope."""

    mass: float
    mass_z: float
    mass_zz: float
    coupling: float
    coupling_z: float


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
def openness(check: Check, z: float) -> tuple[float, float, float]:
    """How far the flow past a ball follows the piston: 0 on its seat, 1 well above; with two derivatives by
    lift."""
    reach = FADE * check.seat_radius
    s = z / reach
    base = 1.0 + s * s
    return s * s / base, 2.0 * s / (reach * base**2), (2.0 - 6.0 * s * s) / (reach**2 * base**3)


@kernel
def inertia_at(check: Check, place: TablePlace, z: float) -> Inertia:
    """The liquid's inertia at a lift: with the flow that the seat holds near it, with the piston's above."""
    shut, shut_z, shut_zz = bent(check, place, MASS_SHUT)
    wide, wide_z, wide_zz = bent(check, place, MASS_OPEN)
    coupled, coupled_z, _ = bent(check, place, COUPLING)
    o, o_z, o_zz = openness(check, z)
    more, more_z, more_zz = wide - shut, wide_z - shut_z, wide_zz - shut_zz
    far, pull = check.added_mass, check.coupling_mass
    return Inertia(
        far * (shut + more * o),
        far * (shut_z + more_z * o + more * o_z),
        far * (shut_zz + more_zz * o + 2.0 * more_z * o_z + more * o_zz),
        pull * coupled * o,
        pull * (coupled_z * o + coupled * o_z),
    )
