"""A check only takes work, wherever its ball stands, whatever its seat and however its stream is squeezed:
dp Q - F w is never below nothing but for the lift force, which stands at a right angle to what moves."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions
from balltravel.closures.lift_table import closure_table, table_origin
from balltravel.core.check import Law, law_at
from balltravel.core.inertia import Stream
from balltravel.core.lift import place_of
from balltravel.core.parameters import LIFT_FORCE, Check

from ..helpers.boxes import PLAIN, boxed, liquid, thin
from ..helpers.own_tables import CONE_TABLE, table_in

BALL, CLEARANCE, TRAVEL, DENSITY, STATES = 14.7e-3, 4.2e-3, 9e-3, 1200.0, 40 if PLAIN else 400
EDGE = CheckGeometry(10.5e-3, 8e-3, BALL, BALL + CLEARANCE, 40e-3, 0.7, 2e-6, family="tabulated")
CONE = EDGE._replace(seat_radius=9e-3, half_angle=math.radians(45.0), mouth_radius=13e-3)
STEEP = EDGE._replace(seat_radius=13e-3, half_angle=math.radians(20.0), mouth_radius=16e-3)
FLAT = EDGE._replace(seat_radius=4e-3, half_angle=math.radians(70.0), mouth_radius=7e-3)
CHECKS = {
    "edge": EDGE,
    "worn edge": EDGE._replace(leak_gap=1e-4),
    "edge that the ball hardly covers": EDGE._replace(seat_radius=14e-3),
    "edge of half the ball": EDGE._replace(seat_radius=7.35e-3),
    "cone": CONE,
    "steep cone": STEEP,
    "flat cone": FLAT,
    "cone by its own table": CONE._replace(table=table_in(CONE_TABLE)),
}
LIQUIDS = {
    "Newtonian": 0.5,
    "thinning": thin(8.0, 0.4, 0.5, 0.0, 0.02),
    "yielding": thin(8.0, 0.6, 2.0, 30.0, 0.05),
    "thickening": thin(0.01, 1.6, 10.0, 0.0, 0.02),
}


def check_of(geometry):
    """Without its lift force."""
    origin = table_origin(geometry)
    table, step = closure_table(TRAVEL, origin, lambda z: tuple(lift_functions(geometry, z)))
    table = np.array(table)
    table[:, LIFT_FORCE] = 0.0
    return boxed(
        Check(
            geometry.contact_radius, BALL, TRAVEL, 0.1, 0.02, 3.0, 0.9, 0.0, 0.0, geometry.leak_gap, 0.0,
            2e-6, 1e-4, origin, step, table, 1.0,
        )
    )  # fmt: skip


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("name", CHECKS)
def test_a_check_only_takes_work_and_passes_more_at_more_pressure(name, share):
    """At lifts from the seat to the stop, ball speeds to 3 m/s and drops to 100 bar, both ways; a
    stream takes nothing, or up to what a ball of 3 m/s that squeezes it makes of it near its seat (M6b)."""
    check, out = check_of(CHECKS[name]._replace(offset=share * CLEARANCE)), boxed(Law())
    rng = np.random.default_rng(7)
    for rheology in LIQUIDS.values():
        material = liquid(rheology, DENSITY)
        for _ in range(STATES):
            z = TRAVEL * rng.choice([0.0, 1.0, rng.uniform(), 10.0 ** rng.uniform(-5.0, 0.0)])
            w = rng.choice([-1.0, 0.0, 1.0]) * 10.0 ** rng.uniform(-6.0, 0.5)
            dp = rng.choice([-1.0, 1.0]) * 10.0 ** rng.uniform(-1.0, 7.0)
            taken = rng.choice([0.0, 1.0]) * 10.0 ** rng.uniform(5.0, 9.0)
            law_at(check, material, place_of(check, z), z, w, dp, Stream(taken, 0.0, 0.0), True, out)
            work = dp * out.flow - out.force * w
            assert work >= -1e-9 * (abs(dp * out.flow) + abs(out.force * w))
            assert out.flow_dp >= 0.0
