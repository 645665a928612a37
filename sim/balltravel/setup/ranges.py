"""Where the closures of a scenario were looked at: every use of one, with its place, for the core to hold a
cycle against."""

import math
from typing import NamedTuple

import numpy as np

from balltravel.closures.ball_over_seat import OVER_SEAT
from balltravel.closures.families import family_for
from balltravel.closures.table.beyond_creeping import EXPONENTS
from balltravel.closures.table.edge_and_cage import BORE_SHEAR
from balltravel.closures.tube import IN_CAGE
from balltravel.core.contents import COMPRESSION, GAS_EXPANSION
from balltravel.core.excursions import Ranges
from balltravel.core.friction import HOSE_REYNOLDS, HOSE_ROUGHNESS
from balltravel.core.ranges import Range
from balltravel.material.model import is_newtonian
from balltravel.scenario.model import Scenario
from balltravel.setup.flow_curves import density_of
from balltravel.setup.outlet import has_tip
from balltravel.setup.parameters import cage_radius

EVERYWHERE = (-math.inf, math.inf)


class Use(NamedTuple):
    """A closure used at a place; ``present``: whether the scenario has that use."""

    place: str
    range: Range
    present: bool = True


def uses_of(s: Scenario) -> tuple[Use, ...]:
    """Every use of a closure, in the core's order (``core.excursions``)."""
    tip = has_tip(s.outlet)
    thins = not is_newtonian(s.material)
    uses = []
    for place, check in (("inlet check", s.inlet_check), ("piston check", s.piston_check)):
        family = family_for(s.closures.resistance, check.table)
        of_check = (OVER_SEAT, IN_CAGE, family.lifts, family.reynolds)
        uses += [Use(place, limits) for limits in of_check] + [Use(place, EXPONENTS, thins)]
    return (
        *uses,
        Use("inlet check", GAS_EXPANSION),
        Use("suction line", HOSE_REYNOLDS),
        Use("suction line", HOSE_ROUGHNESS),
        Use("outlet hose", HOSE_REYNOLDS, tip),
        Use("outlet hose", HOSE_ROUGHNESS, tip),
        Use("chambers", COMPRESSION),
    )


def _ends(use: Use) -> tuple[float, ...]:
    """Ends of a range as two intervals."""
    intervals = use.range.inside if use.present else (EVERYWHERE,)
    assert len(intervals) <= 2
    return (*intervals[0], *intervals[-1])


def ranges_parameters(s: Scenario) -> Ranges:
    """What the core needs to hold a cycle of a scenario against all ranges."""
    checks = (s.inlet_check, s.piston_check)
    seats = np.array([check.seat_diameter for check in checks])
    return Ranges(
        inside=np.array([_ends(use) for use in uses_of(s)]),
        seat_diameter=seats,
        cage_radius=np.array([cage_radius(check) for check in checks]),
        bore_rate=BORE_SHEAR / (0.5 * seats) ** 3,
        gas_fraction=s.material.free_gas_fraction,
        hose_density=density_of(s.material, s.suction.temperature),
    )
