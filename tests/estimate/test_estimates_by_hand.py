"""Shear rates, losses and falls without a run, by textbook formulas from the scenario's numbers."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from balltravel.closures.families import closures_at
from balltravel.closures.table.edge_and_cage import cage_rates, edge_rates
from balltravel.closures.tube import tube_resistance
from balltravel.estimate.preview import bench_fall, preview, wall_factor
from balltravel.estimate.shear_rates import places, unread
from balltravel.estimate.suction_losses import (
    available_pressure,
    bore_viscosity,
    feed_excess,
    outlet_load,
    seat_reynolds,
    suction_losses,
    viscosity_in_lower,
    yield_in_hose,
    yield_in_lower,
    yield_share,
)
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.setup.parameters import geometry_of

from ..helpers.lowers import scenario

GRAVITY, ATMOSPHERE, DENSITY, MU = 9.80665, 101325.0, 1250.0, 5.0
FLOW = math.pi / 4.0 * 0.048**2 * 0.09 / 0.93
PASTE = {"flow": "Herschel-Bulkley", "viscosity": 8.0, "thinning_exponent": 0.5, "yield_stress": 20.0}
ANDRADE = {"temperature_law": "Andrade", "activation_energy": 4e4, "stated_temperature": 293.15}


def paste(rate):
    return 20.0 / rate + 8.0 * rate**-0.5


def test_a_bore_loses_by_the_viscosity_at_some_four_fifths_of_its_walls_shear_rate():
    """Q/r^3, where the wall has 4/pi of it; 1e-3: the core's table and the blunted yield stress."""
    s = scenario(material=PASTE)
    for flow, r in ((1e-5, 0.008), (1e-4, 0.0105)):
        assert bore_viscosity(s, flow, r) == pytest.approx(paste(flow / r**3), rel=1e-3)
    assert bore_viscosity(scenario(), 1e-4, 0.01) == MU


def test_the_share_of_the_yield_stress_is_that_in_the_bores_stress():
    rate = FLOW / 0.0105**3
    assert yield_share(scenario(material=PASTE)) == pytest.approx(20.0 / (20.0 + 8.0 * rate**0.5), rel=1e-3)
    assert yield_share(scenario()) == 0.0


def test_yield_stress_and_viscosity_are_those_of_the_law():
    s = scenario(material=PASTE)
    assert yield_in_lower(s) == 20.0
    assert viscosity_in_lower(s, 4.0) == pytest.approx(5.0 + 4.0, rel=1e-12)
    assert viscosity_in_lower(s) == pytest.approx(2.0 + 8.0 / math.sqrt(10.0), rel=1e-12)
    assert yield_in_hose(s) == pytest.approx(4.0 * 1.5 / 0.038 * 20.0, rel=1e-12)


def test_what_there_is_to_spend_is_the_port_at_rest_less_the_vapour():
    assert available_pressure(scenario()) == pytest.approx(
        ATMOSPHERE - DENSITY * GRAVITY * 0.3 - 2300.0, rel=1e-12
    )


def test_a_solvents_vapour_is_that_of_the_warmer_of_hose_and_lower():
    """Water at 20 and 40 degC: 2339.3 and 7384.9 Pa (steam tables), 1e-3; without a solvent the number
    given."""
    for lower, hose, vapour in ((293.15, 313.15, 7384.9), (313.15, 293.15, 7384.9), (293.15, None, 2339.3)):
        solvent = {"solvent": "water", "vapour_pressure": None, **ANDRADE, "temperature": lower}
        s = scenario(material=solvent, suction={"temperature": hose})
        assert ATMOSPHERE - DENSITY * GRAVITY * 0.3 - available_pressure(s) == pytest.approx(vapour, rel=1e-3)
    s = scenario(material=ANDRADE, suction={"temperature": 313.15})
    assert ATMOSPHERE - DENSITY * GRAVITY * 0.3 - available_pressure(s) == pytest.approx(2300.0, rel=1e-9)


def test_the_reynolds_number_is_that_of_the_bore_of_the_seat():
    for s, mu in ((scenario(), MU), (scenario(material=PASTE), None)):
        for check in (s.inlet_check, s.piston_check):
            d = check.seat_diameter
            there = mu or paste(8.0 * FLOW / d**3)
            assert seat_reynolds(s, check) == pytest.approx(
                4.0 * DENSITY * FLOW / (math.pi * there * d), rel=1e-3
            )


def test_passage_and_gap_are_what_a_check_takes_and_never_less_than_nothing():
    """Poiseuille's loss of both bores and the ball's in its tube."""
    long = {"seat_length": 0.15, "cage_length": 0.15, "base_travel": 0.02}
    s = scenario(inlet_check=long, closures={"resistance": "closed form"})
    found = suction_losses(s)
    bores = 8.0 / math.pi * MU * FLOW * (0.15 / 0.0105**4 + 0.15 / 0.0189**4)
    ball = MU * FLOW * tube_resistance(0.0147 / 0.0189).Rqq / 0.0189**3
    assert found.passage == pytest.approx(bores + ball, rel=1e-9)
    assert found.gap >= 0.0
    wide = suction_losses(scenario(inlet_check=long))
    assert wide.gap >= 0.0
    assert wide.total == pytest.approx(wide.hose + wide.passage + wide.gap)


def test_a_loss_is_compared_with_what_there_is():
    found = suction_losses(scenario())
    assert not found.unfilled_by(found.available)
    assert found.unfilled_by(found.available * (1.0 + 1e-12), 0.0)
    assert not found.unfilled_by()


def test_the_outlets_load_is_what_is_set_or_what_the_tip_takes():
    assert outlet_load(scenario()) == 1e7
    assert feed_excess(scenario()) == pytest.approx(-DENSITY * GRAVITY * 0.3 - 1e7, rel=1e-12)


def test_a_wall_factor_is_that_of_the_published_series():
    """Haberman and Sayre 1958 (from memory, to lam^5): Bohlin's first terms of a small ball, 1e-3 at lam =
    0.1."""
    small = scenario(inlet_check={"ball_diameter": 0.01, "seat_diameter": 0.007, "cage_diameter": 0.1})
    lam = 0.1
    series = 1.0 / (1.0 - 2.10443 * lam + 2.08877 * lam**3 - 0.94813 * lam**5)
    assert wall_factor(small.inlet_check) == pytest.approx(series, rel=1e-3)


def test_a_preview_has_the_numbers_of_its_lower():
    s = scenario(shims={"thicknesses": (0.001, 0.002), "below": (1,)})
    found = preview(s)
    assert found.swept_volume == pytest.approx(math.pi / 4.0 * 0.048**2 * 0.09, rel=1e-12)
    assert found.piston_speed == pytest.approx(0.09 / 0.93, rel=1e-9)
    assert (found.inlet.travel, found.piston.travel) == (pytest.approx(0.006), 0.005)
    for side, check in ((found.inlet, s.inlet_check), (found.piston, s.piston_check)):
        assert side.seat_flow == pytest.approx(FLOW, rel=1e-9)
        assert side.seat_viscosity == MU
        assert side.seat_reynolds == seat_reynolds(s, check)
        assert side.wall_factor == wall_factor(check)
        assert [(fall.viscosity, fall.density) for fall in side.bench] == [(10.0, 970.0), (100.0, 970.0)]
        assert side.bench[0] == bench_fall(check, side.travel, 10.0, 970.0)
    thick = preview(scenario(material=PASTE)).inlet.seat_viscosity
    assert thick == pytest.approx(paste(FLOW / 0.0105**3), rel=1e-3)
    travels = [(a.shims_below, a.shims_above, round(a.ball_travel, 9)) for a in found.arrangements]
    assert travels == [((), (1, 2), 0.005), ((1,), (2,), 0.006), ((2,), (1,), 0.007), ((1, 2), (), 0.008)]


def test_a_slow_fall_is_that_of_stokes_with_the_wall_of_its_cage():
    """d^2 g (rho_b - rho)/(18 mu K1) of open ends, which a closed bore slows further: in 500 Pa s no
    inertia."""
    small = {"ball_diameter": 0.01, "seat_diameter": 0.007, "cage_diameter": 0.2}
    s = scenario(material={"viscosity": 500.0}, inlet_check=small)
    stokes = 0.01**2 * GRAVITY * (7800.0 - DENSITY) / (18.0 * 500.0)
    lam = 0.05
    assert preview(s).inlet.fall_speed == pytest.approx(stokes * (1.0 - 2.10443 * lam), rel=2e-3)
    light = scenario(inlet_check={"ball_density": 1000.0})
    assert preview(light).inlet.fall_speed < 0.0


@pytest.mark.parametrize("travel", [0.005, 1e-4])
def test_the_bench_time_is_the_integral_of_the_balls_drag_over_its_travel(travel):
    """mu r/W' times the integral of S from a hundredth of the seat radius (or half a shorter travel) on,
    by another
    rule: 1e-5."""
    check = scenario().inlet_check
    geometry = geometry_of(check)
    low = min(0.01 * 0.0105, 0.5 * travel)
    drag, _ = quad(lambda z: float(closures_at(geometry, np.array([z]))[2][0]), low, travel, epsrel=1e-8)
    weight = (7800.0 - 970.0) * GRAVITY * math.pi / 6.0 * 0.0294**3
    found = bench_fall(check, travel, 10.0, 970.0)
    assert found.time == pytest.approx(10.0 * 0.0105 * drag / weight, rel=1e-5)
    assert bench_fall(check, travel, 10.0, 7800.0).time is None


def test_each_place_has_the_shear_rate_of_its_law_and_a_tenth_of_it():
    holes = {"strainer": "holes", "strainer_holes": 200, "strainer_hole_diameter": 1.2e-3}
    s = scenario(suction={**holes, "strainer_thickness": 8e-4})
    found = {place.name: place for place in places(s)}
    r, R, Rc = 0.0105, 0.0147, 0.0189

    def edge(travel):
        gap = math.hypot(math.hypot(r, math.sqrt(R * R - r * r) + travel) - R, 2e-6) / r
        return edge_rates(R / r, Rc / r, np.array([gap]))[0][0] * FLOW / (r**3 * gap**2)

    expected = {
        "suction hose": 32.0 * FLOW / (math.pi * 0.038**3),
        "strainer's holes": 32.0 * FLOW / (200 * math.pi * 1.2e-3**3),
        "inlet check: seat bore": FLOW / r**3,
        "inlet check: edge, lift 5 mm": edge(0.005),
        "inlet check: edge, lift 0.5 mm": edge(0.0005),
        "inlet check: beside the ball": cage_rates(R / Rc)[0] * FLOW / Rc**3,
        "piston check: seat bore": FLOW / 0.008**3,
    }
    for name, rate in expected.items():
        assert found[name].fastest == pytest.approx(rate, rel=1e-9), name
        assert found[name].slowest == pytest.approx(0.1 * rate, rel=1e-9), name
    fall = found["inlet check: ball that settles"]
    assert fall.slowest == fall.fastest > 0.0
    plain = [place.name for place in places(scenario())]
    assert "strainer's holes" not in plain
    odd = scenario(inlet_check={"base_travel": 0.0012345, "ball_density": DENSITY})
    names = [place.name for place in places(odd)]
    assert {"inlet check: edge, lift 1.23 mm", "inlet check: edge, lift 0.123 mm"} <= set(names)
    assert "inlet check: ball that settles" not in names


def test_readings_reach_a_place_up_to_their_ends():
    """Readings at just the ends of all places leave none unread; a hair less leaves the place there."""
    rates = [rate for place in places(scenario()) for rate in (place.slowest, place.fastest)]

    def read(low, high):
        ends = [(low, 5.0), (math.sqrt(low * high), 4.0), (high, 3.0)]
        told = tuple(ViscosityReading(mu, rate, None, 0.05, "", "worked", None) for rate, mu in ends)
        return scenario(material={"viscosity": None, "flow": "power law", "readings": told})

    wide = read(1e-4, 1e7)
    assert unread(wide) == ()
    reached = [place for place in places(wide) if "settles" not in place.name]
    low, high = min(p.slowest for p in reached), max(p.fastest for p in reached)
    names = {place.name for place in unread(read(low * 1.01, high * 0.99)) if "settles" not in place.name}
    assert names == {p.name for p in reached if p.slowest == low or p.fastest == high}
    assert unread(scenario()) == ()
    assert min(rates) > 0.0
