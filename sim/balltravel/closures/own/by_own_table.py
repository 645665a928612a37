"""A check by its own table of solves: what they have over the shipped tables at the same lifts.

Interpolated over ln lift are the logarithms of Rqq, alpha and S over those of the nearest edge or cone of the
shipped tables. So a ball off its axis, a rough or worn seat and sizes within their tolerances follow from
there, and below the first lift and above the last the shipped law goes on with the factor of that end. The
liquid's inertia is the table's own; inertia of steady flow and shear rates are the nearest edge's.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.cubic import Cubic, spline
from balltravel.closures.family import Family
from balltravel.closures.own.record import CheckTable
from balltravel.closures.resistance import Matrix
from balltravel.closures.table.beyond_creeping import SOLVED_LIFTS, Mass
from balltravel.closures.table.by_table import TABULATED, family_by, smooth_lift

Array = NDArray[np.float64]

SMOOTH = 1e-9
"""Roughness over the circle of contact of a check that was solved."""


def nearest(table: CheckTable) -> CheckGeometry:
    """The edge or cone that is nearest to a table's check, lengths in its circle of contact, smooth."""
    return CheckGeometry(
        seat_radius=table.bore if table.half_angle else 1.0,
        seat_length=0.0,
        ball_radius=table.ball,
        cage_radius=table.cage,
        cage_length=0.0,
        discharge_coefficient=0.7,
        roughness=SMOOTH,
        half_angle=table.half_angle,
        mouth_radius=table.mouth if table.half_angle else 0.0,
        land_width=table.land,
        family=TABULATED.name,
    )


@lru_cache(maxsize=64)
def excess(table: CheckTable) -> Cubic:
    """ln of Rqq, alpha, S (lift, 3) of the solves over those of the nearest check, over ln lift."""
    lift, Rqq, Rqw, S = np.array(table.rows)[:, :4].T
    law = TABULATED.seat_and_cage(nearest(table), lift, False)
    return spline(np.log(lift), np.log([Rqq / law.Rqq, Rqw / Rqq * law.Rqq / law.Rqw, S / law.S]).T)


@lru_cache(maxsize=64)
def _mass(table: CheckTable) -> Cubic:
    """Mqq, Mqw, Mww of the solves over ln lift."""
    rows = np.array(table.rows)
    return spline(np.log(rows[:, 0]), rows[:, 4:])


def _place(table: CheckTable, geometry: CheckGeometry, lift: Array) -> Array:
    """ln of the lifts [m] over the circle of contact at which a smooth ball is as far from its seat, within
    those of the table."""
    return np.asarray(np.log(np.clip(smooth_lift(geometry, lift), table.rows[0][0], table.rows[-1][0])))


def seat_and_cage(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """The seat and the ball in its cage; see Family."""
    assert geometry.table is not None
    law = TABULATED.seat_and_cage(geometry, lift, opening)
    factor = np.exp(excess(geometry.table)(_place(geometry.table, geometry, lift)))
    return Matrix(law.Rqq * factor[:, 0], law.Rqw * factor[:, 0] * factor[:, 1], law.S * factor[:, 2])


def mass_of(geometry: CheckGeometry, lift: Array) -> Mass:
    """Inertia of the liquid at lifts [m], lengths in the circle of contact, density 1."""
    assert geometry.table is not None
    return Mass(*_mass(geometry.table)(_place(geometry.table, geometry, lift)).T)


def solved(geometry: CheckGeometry, lift: Array) -> bool:
    """Whether the table has all these lifts [m]."""
    assert geometry.table is not None
    return bool(lift.max() <= geometry.table.rows[-1][0] * geometry.contact_radius)


OWN_TABLE: Family = family_by("own table", seat_and_cage, mass_of, SOLVED_LIFTS, solved)
