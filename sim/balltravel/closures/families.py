"""The families of closures by name, and what is asked of a check whatever its family.

A further one is a file like ``by_closed_form`` and its name here: what a scenario may choose, the rules, the
set-up and the ranges follow from its record.
"""

from balltravel.closures.ball_over_seat import Array, CheckGeometry, loss_coefficient, rough_gap
from balltravel.closures.by_closed_form import CLOSED_FORM
from balltravel.closures.family import Family
from balltravel.closures.own.by_own_table import OWN_TABLE
from balltravel.closures.own.record import CheckTable
from balltravel.closures.resistance import Matrix
from balltravel.closures.table.by_table import TABULATED

FAMILIES: dict[str, Family] = {family.name: family for family in (TABULATED, CLOSED_FORM)}
"""Those that a scenario chooses from; a check with a table of its own has that, whatever is chosen."""


def family_for(name: str, table: CheckTable | None) -> Family:
    """The family of a check: that of its own table, if it has one, else the one of this name."""
    return OWN_TABLE if table else FAMILIES[name]


def family_of(geometry: CheckGeometry) -> Family:
    """The family that a check is computed by."""
    return family_for(geometry.family, geometry.table)


def seat_and_cage(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """Resistance of the seat and the ball in its cage at lifts [m], lengths in the contact radius; see
    Family."""
    return family_of(geometry).seat_and_cage(geometry, lift, opening)


def resistance_of(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """The same of the whole check, its bores included."""
    return family_of(geometry).whole(geometry, lift, opening)


def lift_functions(geometry: CheckGeometry, lift: Array) -> Array:
    """All functions of lift (FUNCTIONS, lifts), in the order of the core's parameters."""
    return family_of(geometry).lift_functions(geometry, lift)


def closures_at(geometry: CheckGeometry, lift: Array) -> tuple[Array, Array, Array, Array]:
    """G/gap^2, alpha, S and K_p gap^2 at the given lifts [m]; gap and lengths in contact radii."""
    total, gap = resistance_of(geometry, lift), rough_gap(geometry, lift)
    return 1.0 / (total.Rqq * gap**2), total.Rqw / total.Rqq, total.S, loss_coefficient(geometry, lift)
