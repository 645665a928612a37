"""Keys of the suction site: altitude, feed, vessel, fittings, line; and a material's solvent."""

import math

import numpy as np
import pytest

from balltravel import ScenarioError
from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.estimate.suction_losses import suction_losses, vapour_in_line
from balltravel.scenario.model import defaults_taken, flat, from_result, with_value, with_values
from balltravel.setup.parameters import core_parameters
from balltravel.site.vessels import Vessel

DRUM = (
    "suction.vessel=cylinder",
    "suction.vessel_diameter=570 mm",
    "suction.vessel_depth=850 mm",
    "suction.vessel_level=500 mm",
    "suction.inlet_above_bottom=900 mm",
    "suction.pickup_above_bottom=30 mm",
)
RAM = ("suction.feed=ram plate", "suction.ram_force=8 kN", "suction.ram_plate_diameter=560 mm")
ANDRADE = ("material.temperature_law=Andrade", "material.activation_energy=40 kJ/mol")


@pytest.fixture
def refused(story):
    def read(*settings):
        with pytest.raises(ScenarioError) as caught:
            story("primer", *settings)
        return {fault.key: str(fault) for fault in caught.value.faults}

    return read


def test_a_file_without_the_new_keys_is_what_it_was(story):
    s = story("primer")
    assert (s.suction.feed, s.suction.line, s.suction.vessel) == ("open", "hose", "given lift")
    p = core_parameters(s)
    assert p.suction.pressure == 101325.0 - 1350.0 * 9.80665 * 0.3
    assert (p.suction.fittings, p.port.compliance) == (0.0, 1e-10)
    assert p.suction.minor == pytest.approx(1.5 * 1350.0 / (2.0 * (math.pi * 0.038**2 / 4.0) ** 2), rel=1e-14)


@pytest.mark.parametrize(
    "settings",
    [
        ("suction.altitude=1500 m",),
        ("suction.altitude=11000 m",),
        ("suction.tank_gauge_pressure=2 bar",),
        RAM,
        DRUM,
        ("suction.line=rigid", "suction.port_compliance=0.5 cc/bar"),
        ("suction.hose_flexing=0.5 %/bar",),
        ("material.solvent=toluene",),
        ('suction.fittings=["sharp entry", "elbow 45"]',),
    ],
)
def test_a_scenario_with_them_is_read_back_from_a_result(story, settings):
    scenario = story("primer", *settings)
    assert flat(from_result(scenario.model_dump_json())) == flat(scenario)


def test_height_takes_barometric_pressure_away_and_is_not_given_twice(story, refused):
    assert story("primer", "suction.altitude=1000 m").suction.barometric_pressure == pytest.approx(
        89876, abs=1
    )
    twice = refused("suction.altitude=1000 m", "suction.barometric_pressure=1 bar")
    assert "barometric_pressure or altitude" in twice["suction.barometric_pressure"]
    assert "-500 m to 11000 m" in refused("suction.altitude=12000 m")["suction.altitude"]
    # A setting of either takes the file's other away.
    high = with_values(story("primer"), {"suction.barometric_pressure": None, "suction.altitude": 2000.0})
    assert high.suction.barometric_pressure < 8e4


def test_a_ram_plate_presses_with_its_force_over_its_area(story, refused):
    gauge = 8000.0 / (math.pi * 0.56**2 / 4.0)
    ram = story("primer", *RAM)
    assert ram.suction.tank_gauge_pressure == pytest.approx(gauge, rel=1e-15)
    more = core_parameters(ram).suction.pressure - core_parameters(story("primer")).suction.pressure
    assert more == pytest.approx(gauge, rel=1e-12)
    assert set(refused("suction.feed=ram plate")) == {"suction.ram_force", "suction.ram_plate_diameter"}
    assert "suction.tank_gauge_pressure" in refused(*RAM, "suction.tank_gauge_pressure=1 bar")
    assert 'only with suction.feed = "ram plate"' in refused(RAM[1])["suction.ram_force"]


def test_a_tanks_pressure_alone_goes_on_working_and_an_open_tank_has_none(story, refused):
    assert story("primer", "suction.tank_gauge_pressure=2 bar").suction.feed == "pressure"
    fault = refused("suction.feed=open", "suction.tank_gauge_pressure=2 bar")
    assert 'feed = "pressure"' in fault["suction.tank_gauge_pressure"]
    with pytest.raises(ScenarioError, match="missing"):
        with_values(story("primer"), {"suction.feed": "pressure", "suction.tank_gauge_pressure": None})


def test_a_vessels_level_sets_the_lift(story, refused):
    drum = story("primer", *DRUM)
    assert drum.suction.lift == pytest.approx(0.4, rel=1e-14)
    fuller = with_value(drum, "suction.vessel_level", 0.8)
    assert fuller.suction.lift == pytest.approx(0.1, rel=1e-14)
    rise = core_parameters(fuller).suction.pressure - core_parameters(drum).suction.pressure
    assert rise == pytest.approx(1350.0 * 9.80665 * 0.3, rel=1e-12)
    below = story("primer", *DRUM, "suction.inlet_above_bottom=-1 m")
    assert below.suction.lift == -1.5
    assert "leave the key out" in refused(*DRUM, "suction.lift=0.3 m")["suction.lift"]
    assert len(refused("suction.vessel=cone")) == 5
    assert "depth" in refused(*DRUM, "suction.vessel_level=900 mm")["suction.vessel_level"]
    assert "draws air" in refused(*DRUM, "suction.vessel_level=20 mm")["suction.vessel_level"]
    high = refused(*DRUM, "suction.inlet_above_bottom=9 m")
    assert "less than the pressure on the tank carries" in high["suction.lift"]


def test_a_vessel_holds_what_integration_says():
    levels = np.linspace(0.0, 0.6, 20001)
    for cone in (False, True):
        vessel = Vessel(cone, 0.57, 0.85)
        areas = [vessel.surface(level) for level in levels]
        assert vessel.volume(0.6) == pytest.approx(np.trapezoid(areas, levels), rel=1e-8)
        assert vessel.surface(0.85) == pytest.approx(math.pi / 4.0 * 0.57**2, rel=1e-14)
    assert Vessel(True, 0.57, 0.85).volume(0.85) == pytest.approx(
        Vessel(False, 0.57, 0.85).volume(0.85) / 3.0
    )


def test_fittings_take_the_place_of_the_default_loss_coefficient_and_a_given_one_adds(story, refused):
    bare = with_value(story("primer"), "suction.loss_coefficient", None)
    assert bare.suction.loss_coefficient == 1.5
    named = with_value(bare, "suction.fittings", ("sharp entry", "elbow 90 screwed"))
    assert named.suction.loss_coefficient == 0.0
    area = math.pi * 0.038**2 / 4.0
    dynamic = 1350.0 / (2.0 * area**2)
    p = core_parameters(named).suction
    assert p.minor == pytest.approx((0.5 + 0.4 * (1.0 + 25.4 / 38.0)) * dynamic, rel=1e-12)
    assert p.fittings == pytest.approx((160.0 + 800.0) / (2.0 * 0.038 * area), rel=1e-12)
    more = core_parameters(with_value(named, "suction.loss_coefficient", 2.0)).suction
    assert more.minor - p.minor == pytest.approx(2.0 * dynamic, rel=1e-12)
    assert 'did you mean "elbow 45"' in refused('suction.fittings=["elbow 54"]')["suction.fittings"]
    assert "an array" in refused("suction.fittings=sharp entry")["suction.fittings"]
    with pytest.raises(ScenarioError, match='"bend" given'):
        with_value(bare, "suction.fittings", ("bend",))


@pytest.mark.parametrize(
    "law", [(), ("material.flow=power law", "material.viscosity=20 Pa.s", "material.thinning_exponent=0.5")]
)
def test_the_lines_slope_is_that_of_its_loss_with_fittings_too(story, law):
    """1e-5: a liquid that thins is a table of its own."""
    s = story("primer", *law, 'suction.fittings=["globe valve", "elbow 90 mitred", "projecting entry"]')
    p = core_parameters(s)
    line, material = as_record(p.suction), as_record(p.material)
    for flow in (1e-5, 2e-4, -3e-4, 2e-3):
        step = 1e-4 * abs(flow)
        above, below = (line_loss(line, material, flow + side * step)[0] for side in (1, -1))
        assert line_loss(line, material, flow)[1] == pytest.approx((above - below) / (2.0 * step), rel=1e-5)


def test_a_rigid_line_gives_the_least_and_a_flexing_hose_half_of_its_own(story, refused):
    bare = with_value(story("primer"), "suction.port_compliance", None)
    rigid = with_value(bare, "suction.line", "rigid")
    assert rigid.suction.port_compliance == 1e-15
    flexing = with_value(bare, "suction.hose_flexing", 5e-8)
    hose = math.pi * 0.038**2 / 4.0 * 1.5
    assert flexing.suction.port_compliance == pytest.approx(0.5 * hose * 5e-8, rel=1e-14)
    twice = refused("suction.hose_flexing=0.5 %/bar", "suction.port_compliance=10 cc/bar")
    assert "port_compliance or hose_flexing" in twice["suction.port_compliance"]
    soft = refused("suction.line=rigid", "suction.port_compliance=10 cc/bar")
    assert "at most 1 cc/bar" in soft["suction.port_compliance"]
    both = refused("suction.line=rigid", "suction.hose_flexing=0.5 %/bar")
    assert 'line = "hose"' in both["suction.hose_flexing"]
    told = defaults_taken(with_value(bare, "suction.hose_flexing", 5e-8))
    assert "suction.port_compliance" not in told


def test_a_solvent_stands_for_the_vapour_pressure_and_follows_a_swept_temperature(story, refused):
    warm = story("primer", "material.solvent=water", *ANDRADE, "material.stated_temperature=20 degC")
    assert warm.material.vapour_pressure == pytest.approx(2339.3, rel=1e-3)
    hot = with_value(warm, "material.temperature", 313.15)
    assert hot.material.vapour_pressure == pytest.approx(7384.9, rel=1e-3)
    assert core_parameters(hot).material.vapour_pressure == hot.material.vapour_pressure
    twice = refused("material.solvent=water", "material.vapour_pressure=2 kPa")
    assert "vapour_pressure or solvent" in twice["material.vapour_pressure"]
    with pytest.raises(ScenarioError, match=r"material\.vapour_pressure: missing"):
        with_value(story("primer"), "material.vapour_pressure", None)
    assert 'did you mean "water"' in refused("material.solvent=watr")["material.solvent"]
    cold = refused("material.solvent=water", "material.temperature=-5 degC")
    assert "0 degC to 374 degC with water" in cold["material.temperature"]


def test_the_vapour_pressure_in_the_hose_is_that_of_its_own_temperature(story, refused):
    warm = story("primer", "material.solvent=acetone", *ANDRADE, "suction.temperature=40 degC")
    assert vapour_in_line(warm) == pytest.approx(56581.56, rel=0.02)
    assert suction_losses(warm).available == pytest.approx(
        core_parameters(warm).suction.pressure - vapour_in_line(warm), rel=1e-14
    )
    boils = refused("material.solvent=acetone", *ANDRADE, "suction.temperature=60 degC")
    assert "vapour pressure less than" in boils["suction.temperature"]
    given = story("primer", *ANDRADE, "suction.temperature=40 degC")
    assert vapour_in_line(given) == given.material.vapour_pressure


def test_one_fault_hides_no_other_where_defaults_follow(refused):
    found = refused(
        "suction.vessel=cylinder", "material.solvent=watr", "suction.altitude=20 km", "lower.rod=50 mm"
    )
    assert {"suction.vessel_level", "material.solvent", "suction.altitude", "lower.rod"} <= set(found)


@pytest.mark.parametrize(
    ("settings", "key"),
    [
        (
            (
                *DRUM,
                "suction.vessel_depth=15 m",
                "suction.vessel_level=12 m",
                "suction.inlet_above_bottom=-45 m",
            ),
            "lift",
        ),
        ((*RAM[:2], "suction.ram_plate_diameter=20 mm"), "tank_gauge_pressure"),
        (
            ("suction.hose_flexing=80 %/bar", "suction.hose_length=100 m", "suction.hose_diameter=400 mm"),
            "port_compliance",
        ),
    ],
)
def test_what_follows_from_other_keys_is_held_to_the_same_limits(refused, settings, key):
    assert "follows from other keys" in refused(*settings)[f"suction.{key}"]
