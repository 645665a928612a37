"""Outlet hose, tip, packings and motor as they reach the core (M1b, M8), by hand from the scenario."""

import math

import pytest
from scipy.optimize import brentq

from balltravel.core.parameters import AIR, HYDRAULIC, NO_HOSE, Motor, Narrow
from balltravel.core.rheology import Rheology
from balltravel.scenario.model import with_value
from balltravel.setup.drive import cycle_rate_of, motor_parameters, valve_conductance
from balltravel.setup.flow_curves import flow_curves
from balltravel.setup.outlet import (
    near_end,
    outlet_parameters,
    outlet_pressure_of,
    outlet_resistance_of,
    packing,
    tip_flow,
    working_pressure,
)
from balltravel.units import to_si

from ..helpers.lowers import scenario

ATMOSPHERE, DENSITY, BORE, ROD, STROKE = 101325.0, 1250.0, 0.048, 0.034, 0.09
PISTON, ROD_AREA = math.pi * BORE**2 / 4.0, math.pi * ROD**2 / 4.0
SWEPT = PISTON * STROKE
HOSE, WIDTH, TIP, COEFFICIENT = 15.0, 9.5e-3, 0.8e-3, 0.8
SPRAY = {
    "form": "tip", "gauge_pressure": None, "hose_length": HOSE, "hose_diameter": WIDTH, "tip_diameter": TIP,
    "tip_length": 1e-3, "tip_discharge_coefficient": COEFFICIENT, "hose_compliance": 4e-12,
}  # fmt: skip
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip
MU = 2.0


def spraying(viscosity=MU, drive=None, **outlet):
    return scenario(material={"viscosity": viscosity}, drive=drive or {}, outlet={**SPRAY, **outlet})


def loss_of(flow):
    """Of hose and tip [Pa], laminar in the hose: Hagen and Poiseuille, Sampson and the jet."""
    hose = 128.0 * MU * HOSE / (math.pi * WIDTH**4) * flow
    r = 0.5 * TIP
    creeping = MU / r**3 * (3.0 + 8.0 * 1e-3 / (math.pi * r)) * flow
    return hose + creeping + 0.5 * DENSITY * (flow / (COEFFICIENT * math.pi * r * r)) ** 2


def test_a_hose_has_the_inertance_and_friction_of_its_length_and_half_of_it_at_either_end():
    s = spraying()
    found, area = outlet_parameters(s, 0.5), math.pi * WIDTH**2 / 4.0
    line = found.line
    assert (found.hose, line.minor, line.pressure, line.diameter) == (1, 0.0, 0.0, WIDTH)
    assert line.inertance == pytest.approx(DENSITY * HOSE / area, rel=1e-12)
    assert line.laminar == pytest.approx(128.0 * HOSE / (math.pi * WIDTH**4), rel=1e-12)
    assert line.relative_roughness == pytest.approx(s.outlet.hose_roughness / WIDTH, rel=1e-12)
    assert line.rheology == Rheology(MU)
    assert found.store == pytest.approx((0.5 * area * HOSE, 0.0, 2e-12), rel=1e-12)
    assert near_end(s) == pytest.approx((0.5 * area * HOSE, 2e-12), rel=1e-12)


def test_without_a_tip_there_is_no_hose():
    assert outlet_parameters(scenario(), 0.5) is NO_HOSE
    assert near_end(scenario()) == (0.0, 0.0)


def test_hose_and_tip_take_the_pressure_of_the_mean_flow():
    for rate in (0.1, 0.5, 2.0):
        s = spraying()
        assert working_pressure(s, rate) == pytest.approx(loss_of(SWEPT * rate), rel=1e-6)
        assert outlet_pressure_of(s, rate) == pytest.approx(ATMOSPHERE + loss_of(SWEPT * rate), rel=1e-6)
    assert working_pressure(scenario(), 0.5) == 1e7


@pytest.mark.parametrize("pressure", [1e5, 1e7])
def test_a_pressure_passes_the_flow_that_loses_it(pressure):
    """And at a tip whose pressure is given that flow over what is swept is the cycle rate."""
    s = spraying(drive={"cycle_rate": None}, form="tip at pressure", gauge_pressure=pressure)
    flow = brentq(lambda Q: loss_of(Q) - pressure, 0.0, 1.0, xtol=1e-18)
    assert tip_flow(s, pressure) == pytest.approx(flow, rel=1e-6)
    assert tip_flow(s, 0.0) == 0.0
    assert cycle_rate_of(s) == pytest.approx(flow / SWEPT, rel=1e-6)
    assert working_pressure(s, 0.5) == pressure


def test_an_outlet_without_a_number_loses_a_thousandth_of_its_pressure_at_the_mean_flow():
    assert outlet_resistance_of(scenario(), 0.5) == pytest.approx(
        1e-3 * (1e7 + ATMOSPHERE) / (SWEPT * 0.5), rel=1e-12
    )
    given = scenario(outlet={"gauge_pressure": 1e7, "resistance": 3e8})
    assert outlet_resistance_of(given, 0.5) == 3e8
    closed = scenario(drive=MOTOR, outlet={"form": "closed", "gauge_pressure": None})
    assert outlet_resistance_of(closed, 0.5) == math.inf


def test_a_packings_gap_is_a_slit_around_it_with_losses_at_its_ends():
    """12 mu L/(w h^3), 1.5 velocity heads, and 6 Q/(w h^2) of the wall times 0.75."""
    d, h, L = 0.048, 5e-5, 0.012
    w = math.pi * d
    found = packing(d, h, L, DENSITY)
    expected = 12.0 * L / (w * h**3), 1.5 * DENSITY / (2.0 * (w * h) ** 2), 0.75 * 6.0 / (w * h**2)
    assert tuple(found) == pytest.approx(expected, rel=1e-12)
    assert packing(d, 0.0, L, DENSITY) == Narrow()


def test_a_motor_has_the_area_force_and_friction_of_its_numbers():
    s = scenario(drive=MOTOR)
    found, area, supply = motor_parameters(s), 2.5 * math.pi / 8.0 * BORE**2, ATMOSPHERE + 6e6
    assert found.kind == HYDRAULIC
    assert (found.area, found.supply) == pytest.approx((area, supply), rel=1e-12)
    assert found.friction == pytest.approx(0.05 * area * 6e6, rel=1e-12)
    assert found.free_speed == pytest.approx(STROKE / (0.5 - 0.04 - 0.03), rel=1e-12)
    assert (found.mass, found.ramp_time, found.dwell_time, found.limit) == (7.0, 0.03, 0.04, 10.0)
    assert (found.conductance, found.exhaust, found.dead_volume) == (0.0, 0.0, 0.0)
    assert motor_parameters(scenario()) == Motor()


def test_an_air_motor_breathes_through_valves_that_let_it_have_its_free_speed():
    """C (p_s psi(p/p_s)) = C p psi(p_a/p) = free flow p/p: written with the ellipse b = 0.3 of M1b."""
    s = scenario(drive={**MOTOR, "motor": "air", "supply_gauge_pressure": 6e5, "area_ratio": 25.0})
    found, area = motor_parameters(s), 25.0 * math.pi / 8.0 * BORE**2
    supply = ATMOSPHERE + 6e5

    def psi(ratio):
        return 1.0 if ratio <= 0.3 else math.sqrt(1.0 - ((ratio - 0.3) / 0.7) ** 2)

    p = brentq(lambda p: supply * psi(p / supply) - p * psi(ATMOSPHERE / p), 1.02 * ATMOSPHERE, 0.98 * supply)
    flow = area * found.free_speed
    assert found.kind == AIR
    assert found.conductance == pytest.approx(flow / psi(ATMOSPHERE / p), rel=1e-6)
    assert found.conductance == valve_conductance(flow, supply, ATMOSPHERE)
    assert found.exhaust == found.conductance
    # Litres of free air of 1 bar, from 1 bar: a litre a second and bar is 1e-3 m3/s of what it comes from.
    given = with_value(s, "drive.exhaust_conductance", to_si("8 l/s/bar", "sonic conductance"))
    assert motor_parameters(given) == found._replace(exhaust=pytest.approx(8e-3, rel=1e-12))
    assert found.dead_volume == pytest.approx(0.05 * area * STROKE, rel=1e-12)


def test_a_motors_rate_is_that_of_its_steady_forces_as_the_mean_of_both_strokes():
    """sqrt(1 - load/whole) of the free rate; up it pushes annulus and friction, down rod and friction."""
    s = scenario(drive=MOTOR, outlet={"gauge_pressure": 2e6})
    whole = 2.5 * PISTON / 2.0 * 6e6
    loads = (2e6 * (PISTON - ROD_AREA) + 0.05 * whole, 2e6 * ROD_AREA + 0.05 * whole)
    assert cycle_rate_of(s) == pytest.approx(
        sum(math.sqrt(1.0 - load / whole) for load in loads) / 2.0, rel=1e-9
    )
    stalled = scenario(drive=MOTOR, outlet={"gauge_pressure": 6e7})
    assert cycle_rate_of(stalled) == pytest.approx(0.02, rel=1e-9)


def test_a_motor_at_a_tip_makes_the_rate_whose_pressure_it_can_push():
    s = spraying(drive=MOTOR)
    whole, rate = 2.5 * PISTON / 2.0 * 6e6, cycle_rate_of(s)
    outlet = loss_of(SWEPT * rate)
    loads = (outlet * (PISTON - ROD_AREA) + 0.05 * whole, outlet * ROD_AREA + 0.05 * whole)
    made = sum(math.sqrt(max(1.0 - load / whole, 0.02**2)) for load in loads) / 2.0
    assert rate == pytest.approx(made, rel=1e-5)


def test_a_rate_that_is_given_is_taken():
    assert cycle_rate_of(scenario()) == 0.5


def test_a_newtonian_material_is_the_same_at_every_rate_and_in_the_hose():
    assert flow_curves(scenario().material, 0.5) == (Rheology(5.0),) * 3
