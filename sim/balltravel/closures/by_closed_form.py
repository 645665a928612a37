"""A check by closed forms alone: the gap at an edge and the ball in its tube, in series (M5e)."""

import math

from balltravel.closures.ball_over_seat import (
    LIFTS,
    SEAT_REYNOLDS,
    Array,
    CheckGeometry,
    beside_ball,
    edge,
)
from balltravel.closures.family import Family
from balltravel.closures.lift_table import creeping_functions, on_seat, with_bores
from balltravel.closures.off_axis import Gain, slip_on_axis_of
from balltravel.closures.resistance import Matrix, series
from balltravel.closures.tube import added_mass_coefficient


def edge_and_cage(geometry: CheckGeometry, gap: Array, gain: Gain) -> Matrix:
    """An edge at gaps over its radius with the ball in its cage; ``gain``: of a ball off its axis."""
    return series(edge(gap, gain.seat), beside_ball(geometry, gain.cage))


@slip_on_axis_of(cones=False)
def seat_and_cage(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """The seat and the ball in its cage; see Family."""
    return on_seat(geometry, lift, opening, edge_and_cage)


@slip_on_axis_of(cones=False)
def whole(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """With the bores: the loss of the cage is that of its whole length, beyond which the tube's counts."""
    return with_bores(geometry, seat_and_cage(geometry, lift, opening), lift, geometry.cage_length)


def lift_functions(geometry: CheckGeometry, lift: Array) -> Array:
    """All functions of lift where no more than the creeping ones and a jet's loss is known."""
    return creeping_functions(geometry, lift, whole)


def inertance(geometry: CheckGeometry, _lift: float) -> float:
    """Inertance over density of the passage [1/m]: the bores and what the liquid must go around (M4)."""
    R, Rc = geometry.ball_radius, geometry.cage_radius
    seat, cage = math.pi * geometry.seat_radius**2, math.pi * Rc**2
    around = 4.0 / 3.0 * math.pi * R**3 * (1.0 + added_mass_coefficient(R / Rc)) / cage
    return geometry.seat_length / seat + (geometry.cage_length + around) / cage


CLOSED_FORM = Family(
    name="closed form",
    seat_and_cage=seat_and_cage,
    whole=whole,
    lift_functions=lift_functions,
    inertance=inertance,
    lifts=LIFTS,
    reynolds=SEAT_REYNOLDS,
    solved=lambda _geometry, _lift: False,
    flows=("Newtonian",),
    measured_force=False,
)
