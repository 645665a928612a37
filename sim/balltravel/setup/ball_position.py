"""Where in its cage a ball is taken to be: as stated, or where it drifts while its stroke passes it (M5k)."""

import math

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.table.drift import offset_in_stroke
from balltravel.closures.table.edge_and_cage import BORE_SHEAR
from balltravel.core.records import as_record
from balltravel.core.rheology import viscosity
from balltravel.scenario import model as described
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.setup.flow_curves import density_of, rheology_of


def share_stated(closures: described.Closures) -> float:
    """Offset of a ball over its guide clearance where it is stated; of one that drifts 0."""
    stated = {"centred": 0.0, "touching": 1.0, "offset": closures.ball_offset}
    return stated.get(closures.ball_position) or 0.0


def share_drifted(
    s: described.Scenario, check: described.Check, touching: CheckGeometry, travel: float, rate: float
) -> float:
    """Mean offset of a ball over its guide clearance while a whole stroke passes it at its stop, the lower
    out of plumb by the scenario's tilt; ``rate``: cycle rate [1/s]; ``touching``: the check, its ball as far
    aside as it gets."""
    if not touching.offset:
        return 0.0
    swept = 0.25 * math.pi * s.lower.bore**2 * s.lower.stroke
    time = 0.5 / rate
    shear = BORE_SHEAR * swept / time / touching.seat_radius**3
    thick = float(viscosity(as_record(rheology_of(s.material, rate)), shear))
    volume = 4.0 / 3.0 * math.pi * touching.ball_radius**3
    weight = abs(check.ball_density - density_of(s.material)) * volume * STANDARD_GRAVITY
    push = weight * math.sin(s.closures.tilt) * time / thick
    return offset_in_stroke(touching, travel, swept, push) / touching.offset
