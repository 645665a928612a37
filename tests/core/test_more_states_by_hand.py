"""Rates of motor, outlet hose and gas (M1b, M2b, M8) from their parts, and the slope of a strainer's loss."""

import math

import numpy as np
import pytest

from balltravel.core.lift import place_of
from balltravel.core.liquid import bent
from balltravel.core.model import (
    ABOVE,
    ACCELERATION,
    AIR_ABOVE,
    AIR_BELOW,
    BELOW,
    FORCE_ON_OUTLET,
    FREED_LOWER,
    FREED_PORT,
    GAS_LOWER,
    GAS_PORT,
    INLET,
    OUT_FLOW,
    OUTLET,
    PACKING,
    PARTS,
    PISTON,
    SIZE,
    SPEED,
    STORE,
    TIP,
    Ball,
    Moment,
    V,
    X,
    assemble_more,
    check_at,
    line_loss,
)
from balltravel.core.parameters import MASS, STREAM

from ..helpers.boxes import boxed
from ..helpers.lowers import lower

MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip
SPRAY = {
    "form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 9.5e-3,
    "tip_diameter": 0.8e-3, "tip_length": 1e-3, "tip_discharge_coefficient": 0.8,
}  # fmt: skip
GAS = {"dissolved_gas_fraction": 0.03}
PART = np.arange(1.0, PARTS + 1.0)


def assembled(p, inlet=1e-5, piston=1e-5, packing=1e-6):
    """The rates of made-up parts; what is not written stays without a number."""
    n = Moment()
    n.inlet.law.flow, n.piston.law.flow, n.packing = inlet, piston, packing
    n.port_gas.share, n.lower_gas.share = 0.25, 0.5
    out = np.full(SIZE, np.nan)
    assemble_more(boxed(p), boxed(n), PART, out)
    return {name: out[name] for name in np.flatnonzero(np.isfinite(out))}


def test_a_motor_moves_the_piston_and_its_air():
    expected = {X: PART[SPEED], V: PART[ACCELERATION], AIR_BELOW: PART[BELOW], AIR_ABOVE: PART[ABOVE]}
    assert assembled(lower(drive=MOTOR)) == expected
    assert assembled(lower()) == {}


def test_an_outlet_hose_is_pushed_and_stores_what_the_tip_does_not_pass():
    p = lower(outlet=SPRAY)
    pushed = PART[FORCE_ON_OUTLET] / p.outlet.line.inertance
    assert assembled(p) == {OUT_FLOW: pytest.approx(pushed), STORE: PART[OUTLET] - PART[TIP]}


@pytest.mark.parametrize(("inlet", "share"), [(1e-5, 0.25), (0.0, 0.25), (-1e-5, 0.5)])
@pytest.mark.parametrize("piston", [1e-5, 0.0, -1e-5])
@pytest.mark.parametrize("packing", [1e-6, 0.0, -1e-6])
def test_gas_goes_with_what_flows_from_where_it_comes(inlet, share, piston, packing):
    """Past the piston, through its check or its packing, upward alone: above it gas is in solution again. A
    leak past the packing counts downward."""
    found = assembled(lower(material=GAS), inlet, piston, packing)
    carried = share * PART[INLET]
    above = (0.5 * PART[PISTON] if piston > 0.0 else 0.0) - (0.5 * PART[PACKING] if packing < 0.0 else 0.0)
    assert found == {
        GAS_PORT: pytest.approx(PART[FREED_PORT] - carried),
        GAS_LOWER: pytest.approx(PART[FREED_LOWER] + carried - above),
    }


@pytest.mark.parametrize("flow", [1e-6, -2e-5, 3e-4])
def test_a_strainer_of_a_liquid_that_thins_has_the_slope_of_its_loss(flow):
    """Against a central difference, 1e-5: the flow curve is a table."""
    holes = {"strainer": "holes", "strainer_holes": 20, "strainer_hole_diameter": 1.2e-3,
             "strainer_thickness": 8e-4}  # fmt: skip
    thins = {"flow": "power law", "viscosity": 20.0, "thinning_exponent": 0.5}
    p = lower(material=thins, suction=holes)
    line, material = boxed(p.suction), boxed(p.material)
    step = 1e-4 * abs(flow)
    above, below = (line_loss(line, material, flow + side * step)[0] for side in (1, -1))
    assert line_loss(line, material, flow)[1] == pytest.approx((above - below) / (2.0 * step), rel=1e-5)
    bare = boxed(p.suction._replace(strainer=0.0))
    alone = line_loss(line, material, flow)[0] - line_loss(bare, material, flow)[0]
    rate = p.suction.strainer_rate * abs(flow)
    n = 0.5  # the wall of a hole is sheared 3 n + 1 over 4 n times as fast, ((3n+1)/4n)^n of the law
    apparent = 20.0 * ((3.0 * n + 1.0) / (4.0 * n)) ** n * rate ** (n - 1.0)
    assert alone == pytest.approx(apparent * p.suction.strainer * flow, rel=2e-3)


@pytest.mark.parametrize(("w", "drop"), [(0.7, 100.0), (0.7, 1e5), (-0.4, 100.0), (-0.4, -100.0)])
def test_a_ball_whose_liquid_grows_lighter_keeps_its_energy(w, drop):
    """Of T = m w^2/2 + N U^2/2 with a stream at U through the seat the ball takes up what is neither in the
    lift force nor in what a squeezed stream takes, (N' - m') w^2/2, and N' w (U - w) as it opens into a
    faster stream (M6b): m, N by central differences over the lift, 1e-5."""
    p = lower(inlet_check={"spring_preload": 3.0, "spring_rate": 200.0})
    check, material, z = boxed(p.inlet), boxed(p.material), 4e-4
    found = boxed(Ball())
    check_at(check, material, z, w, drop, p.inlet.net_weight, 0.0, True, found)
    U = found.law.flow / (math.pi * p.inlet.seat_radius**2)
    step = 1e-8

    def growth(column):
        above, below = (bent(check, place_of(check, z + side * step), column)[0] for side in (1, -1))
        return p.inlet.added_mass * (above - below) / (2.0 * step)

    own, stream = growth(MASS), growth(STREAM)
    taken = 0.5 * (stream - own) * w * w + min(stream * w, 0.0) * max(U - w, 0.0)
    others = found.law.force - p.inlet.net_weight - (3.0 + 200.0 * z)
    assert found.force - others == pytest.approx(taken, rel=1e-5)
    assert min(abs(own), abs(stream)) * w * w > 1e-3
