"""The shear rates that a lower makes, and where readings do not reach them."""

import math

import pytest

from balltravel import with_values
from balltravel.closures.settling import settling_speed
from balltravel.estimate.cautions import warnings_for
from balltravel.estimate.shear_rates import full_flow, in_check, places, read_rates, unread
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.setup.flow_curves import rheology_of


def by_name(scenario):
    return {one.name: one for one in places(scenario)}


def read_from(story, *rates, kind="power law"):
    """The primer as a power law of 20 Pa s at 1 1/s and exponent 0.6, read at these rates."""
    readings = tuple(ViscosityReading(20.0 * rate**-0.4, rate, None, 0.03, "viscosity") for rate in rates)
    changes = {"material.viscosity": None, "material.flow": kind, "material.readings": readings}
    return with_values(story("primer"), changes)


def told(scenario):
    return [one for one in warnings_for(scenario, None) if one.startswith("the readings reach")]


def test_full_flow_is_bore_area_times_piston_speed(story):
    """30 strokes a minute of 90 mm with ramps of 30 ms and 40 ms of standstill: 0.93 s of full speed."""
    speed = 0.09 / (1.0 - 0.04 - 0.03)
    assert full_flow(story("primer")) == pytest.approx(math.pi / 4.0 * 0.048**2 * speed, rel=1e-9)


def test_hose_and_seat_bore_by_hand(story):
    scenario = story("primer")
    flow, found = full_flow(scenario), by_name(scenario)
    mean = flow / (math.pi / 4.0 * 0.038**2)
    assert found["suction hose"].fastest == pytest.approx(8.0 * mean / 0.038, rel=1e-12)
    # The representative rate, pi/4 of the wall's in Newtonian flow.
    bore = flow / (math.pi / 4.0 * 0.021**2)
    expected = 0.25 * math.pi * 8.0 * bore / 0.021
    assert found["inlet check: seat bore"].fastest == pytest.approx(expected, rel=1e-12)
    assert found["piston check: seat bore"].fastest == pytest.approx(expected * (21.0 / 16.0) ** 3, rel=1e-12)


def test_the_edge_by_hand(story):
    """Gap by Pythagoras; the rate by the fit of docs/closures.md, 0.4095 (1 + 2.656 gap) (R/r)^-0.4955."""
    scenario = story("primer", "inlet_check.surface_roughness=0.01 um")
    flow, found = full_flow(scenario), by_name(scenario)
    r, R = 0.0105, 0.0147
    for name, lift in (("edge, lift 5 mm", 5e-3), ("edge, lift 0.5 mm", 5e-4)):
        gap = (math.hypot(r, math.sqrt(R**2 - r**2) + lift) - R) / r
        rate = 0.4095 * (1.0 + 2.656 * gap) * (R / r) ** -0.4955 * flow / (r**3 * gap**2)
        assert found[f"inlet check: {name}"].fastest == pytest.approx(rate, rel=1e-4)


def test_beside_the_ball_is_about_the_rate_at_the_walls_of_the_slot(story):
    """A slot of width c around the ball sees 6 Q/(2 pi R_mean c^2) at its walls where it is narrowest; what
    counts is about half of it."""
    check = story("primer").inlet_check
    found = in_check(story("primer"), check, 5e-3, 2e-4)["beside the ball"]
    R, Rc = 0.5 * check.ball_diameter, 0.5 * check.cage_diameter
    walls = 6.0 * 2e-4 / (math.pi * (R + Rc) * (Rc - R) ** 2)
    assert 0.5 * walls < found < 0.7 * walls


def test_slow_flow_is_a_tenth_of_full_speed_and_all_rates_go_with_the_cycle_rate(story):
    one, two = (
        by_name(story("primer", f"drive.cycle_rate={rate} /min", "drive.profile=harmonic"))
        for rate in (20, 40)
    )
    assert set(one) == set(two)
    for name, place in one.items():
        if "settles" in name:
            assert two[name].fastest == pytest.approx(place.fastest, rel=1e-12)
        else:
            assert place.slowest == pytest.approx(0.1 * place.fastest, rel=1e-12)
            assert two[name].fastest == pytest.approx(2.0 * place.fastest, rel=1e-12)


def test_a_settling_newtonian_ball_shears_by_a_few_times_its_speed_over_its_size(story):
    scenario = story("primer")
    check = scenario.inlet_check
    ratio = check.ball_diameter / check.cage_diameter
    rheology = rheology_of(scenario.material, 0.5)
    fall = settling_speed(rheology, check.ball_diameter, 7800.0, 1350.0, 9.80665, ratio)
    found = by_name(scenario)["inlet check: ball that settles"]
    assert found.slowest == found.fastest
    assert 2.0 < found.fastest / (fall / check.ball_diameter) < 40.0


def test_a_ball_that_the_yield_stress_holds_has_no_rate_of_its_own(story):
    held = story("elastomer_thinning", "material.yield_stress=200 Pa")
    assert not any("settles" in name for name in by_name(held))
    assert any("settles" in name for name in by_name(story("elastomer_thinning")))


def test_readings_that_end_at_ten_are_warned_of_and_wide_ones_are_not(story):
    short = read_from(story, 0.1, 1.0, 10.0)
    (said,) = told(short)
    assert "from 0.1 to 10 1/s" in said
    assert "inlet check: seat bore 15 to 150" in said
    assert len(said) < 600
    wide = read_from(story, 0.1, 10.0, 1e3, 1e5)
    assert read_rates(wide) == (0.1, 1e5)
    assert unread(wide) == ()
    assert told(wide) == []


def test_every_place_that_is_not_reached_is_named_and_no_other(story):
    scenario = read_from(story, 0.1, 1.0, 100.0)
    (said,) = told(scenario)
    for one in places(scenario):
        assert (one.name in said) == (one.slowest < 0.1 or one.fastest > 100.0)


def test_a_newtonian_material_and_one_without_readings_are_not_warned_of(story):
    assert told(read_from(story, 1.0, 1.0, kind="Newtonian")) == []
    assert told(story("elastomer_thinning")) == []
    assert read_rates(story("elastomer_thinning")) is None


def test_a_temperature_far_from_the_readings_is_warned_of(story):
    near = story("mastic_by_readings")
    far = story("mastic_by_readings", "suction.temperature=-10 degC")
    words = "-10 degC in tank and hose is far from the temperatures of the readings"
    assert any(words in one for one in warnings_for(far, None))
    assert not any("far from the temperatures" in one for one in warnings_for(near, None))
