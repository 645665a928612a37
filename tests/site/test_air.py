"""Air past a shut ball against published laws and limits."""

import math

import pytest
from fluids.atmosphere import ATMOSPHERE_1976

from balltravel.core.model import line_loss
from balltravel.core.parameters import pieces
from balltravel.core.records import as_record
from balltravel.setup.parameters import core_parameters
from balltravel.site.air import SeatLeak, air_viscosity, seat_leak
from balltravel.study.site.priming_setup import setup_of

R_T = 287.05 * 293.15


@pytest.mark.parametrize("kelvin", [223.15, 293.15, 373.15])
def test_the_viscosity_of_air_is_that_of_the_standard_atmosphere(kelvin):
    assert air_viscosity(kelvin) == pytest.approx(ATMOSPHERE_1976.viscosity(kelvin), rel=1e-3)


def test_a_slow_leak_is_poiseuilles_with_the_density_of_each_place():
    """Mass flow goes with (p_1^2 - p_2^2)/2."""
    leak = seat_leak(1e-7, 0.01, 3.1e10, 0.7, 293.15)
    wanted = 0.01**3 / (3.1e10 * 1.813e-5) * (1.01e5**2 - 1e5**2) / 2.0
    assert leak.flow(1.01e5, 1e5) == pytest.approx(wanted, rel=2e-3)
    assert leak.flow(1e5, 1.01e5) == -leak.flow(1.01e5, 1e5)
    assert leak.flow(1e5, 1e5) == 0.0


def test_a_jet_is_bernoullis_where_it_is_slow_and_the_speed_of_sounds_where_it_is_fast():
    """Volume flow C_d A sqrt(2 dp/rho); choked mass flow C_d A p sqrt(k/(R T)) (2/(k + 1))^3 (de Saint-Venant
    and Wantzel), which the isothermal jet exceeds by 24 %, as its docstring says."""
    area = 0.7 * 2.0 * math.pi * 0.01 * 1e-4
    leak = SeatLeak(1.0, area * math.sqrt(R_T))  # no viscosity
    slow = 1e5 * area * math.sqrt(2.0 * 100.0 / (1e5 / R_T))
    assert leak.flow(100100.0, 1e5) == pytest.approx(slow, rel=1e-3)
    choked = area * 5e5 * math.sqrt(1.4 / R_T) * (2.0 / 2.4) ** 3 * R_T
    assert leak.flow(5e5, 1e5) == pytest.approx(1.24 * choked, rel=5e-3)
    assert leak.flow(5e5, 2e5) == leak.flow(5e5, 1e5)


def test_a_wider_gap_leaks_more_and_none_leaks_nothing():
    flows = [seat_leak(gap, 0.01, 3.1 * (0.01 / max(gap, 1e-9)) ** 2, 0.7, 293.15).flow(1e5, 5e4)
             for gap in (0.0, 1e-6, 1e-5, 1e-4)]  # fmt: skip
    assert flows[0] == 0.0
    assert (
        SeatLeak().flow(1e5, 5e4)
        == SeatLeak(0.0, 1.0).flow(1e5, 5e4)
        == SeatLeak(1.0, 0.0).flow(1e5, 5e4)
        == 0.0
    )
    assert flows[1] < flows[2] < flows[3]


def test_a_worn_sharp_edge_has_the_resistance_of_its_gap_and_a_ball_its_weight(story):
    """Rqq = 3.1/g^2 with g^2 = e^2 + roughness^2 over r^2; cracking 4 rho_b g R^3/(3 r^2) and the spring."""
    s = story(
        "primer", "inlet_check.leak_gap=20 um", "closures.resistance=closed form",
        "inlet_check.spring_preload=1 N",
    )  # fmt: skip
    inlet = setup_of(s).inlet
    r, R = 0.0105, 0.0147
    creeping = (20e-6**2 + 2e-6**2) * r / (3.1 * 1.813e-5)
    # Cage and bores in series take a thousandth.
    assert inlet.leak.creeping == pytest.approx(creeping, rel=5e-3)
    assert inlet.leak.jet == pytest.approx(0.7 * 2.0 * math.pi * r * 20e-6 * math.sqrt(R_T), rel=1e-6)
    weight = 4.0 * 7800.0 * 9.80665 * R**3 / (3.0 * r**2)
    assert inlet.cracking == pytest.approx(weight + 1.0 / (math.pi * r**2), rel=1e-9)
    assert setup_of(s).piston.leak == SeatLeak()


def test_the_hose_loses_by_the_length_that_is_filled_and_its_ends_at_once(story):
    """Poiseuille over the filled length, 1.5 velocity heads at any length (Re far below 500)."""
    s = setup_of(story("primer"))
    speed = 0.1
    head = 1.5 * 0.5 * 1350.0 * speed**2
    for filled in (0.0, 0.7, 1.5):
        wanted = 32.0 * 5.0 * filled * speed / 0.038**2 + head
        assert s.loss(filled, speed) == pytest.approx(wanted, rel=1e-9)
    assert s.loss(0.7, -speed) == -s.loss(0.7, speed)


def test_a_motor_primes_at_its_rate_without_load(story):
    """Its piston makes the stroke in half a cycle of that rate."""
    s = story(
        "primer", "drive.profile=motor", "drive.motor=hydraulic", "drive.area_ratio=40",
        "drive.supply_gauge_pressure=6 bar", "drive.free_cycle_rate=40 /min", "drive.ramp_time=30 ms",
        "drive.dwell_time=40 ms",
    )  # fmt: skip
    drive = setup_of(s).drive
    assert drive.period == pytest.approx(1.5, rel=1e-12)
    assert pieces(drive.position)[: drive.segments].max() == pytest.approx(0.09, rel=1e-12)


def test_a_full_hose_loses_what_the_suction_line_of_a_cycle_does(story):
    """M4a to M4d: nothing is counted twice or forgotten."""
    s = story(
        "mastic", 'suction.fittings=["elbow 90 screwed", "sharp entry"]', 'suction.strainer="holes"',
        "suction.strainer_holes=50", "suction.strainer_hole_diameter=4 mm", "suction.strainer_thickness=2 mm",
    )  # fmt: skip
    p, setup = core_parameters(s), setup_of(s)
    flow = 0.2 * setup.hose_area
    whole = line_loss(as_record(p.suction), as_record(p.material), flow)[0]
    assert setup.loss(1.5, 0.2) == pytest.approx(whole, rel=1e-12)
