"""Invented scenarios of different trades, each to its advice: suction, drive, outlet, feed and ball."""

import math
import re

import fluids
import pytest

from balltravel import recommend
from balltravel.cycle.dataset import cycle_metrics, simulate
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import with_choices
from balltravel.setup.runs import mean_over
from balltravel.study.limits.find import limits_of
from balltravel.study.search.inputs import INPUTS
from balltravel.study.search.walk import Base
from balltravel.study.site.suction_head import suction_report
from balltravel.study.travel.trials import missed
from balltravel.sweeps.cases import run_case

TRADES = (
    "stain_by_air",
    "roof_elastomer_from_a_drum",
    "floor_adhesive_at_altitude",
    "zinc_primer_light_ball",
    "putty_needs_a_ram_plate",
)


def limits(path, key):
    """The limits of one input in the arrangement that the file has."""
    base = Base(lambda settings: read_scenario(path, settings))
    return limits_of(base, next(one for one in INPUTS if one.key == key))


def metrics_of(path, *settings):
    return run_case(read_scenario(path, settings)).metrics


@pytest.mark.parametrize("trade", TRADES)
def test_each_trade_ends_in_advice(run, scenarios, trade):
    code, out, _ = run("recommend", scenarios / f"{trade}.toml", "--exactly")
    assert code == 0
    assert "Reasons:" in out
    assert "Invented" in (scenarios / f"{trade}.toml").read_text()
    helpless = trade in ("zinc_primer_light_ball", "putty_needs_a_ram_plate")
    assert (re.search(r"^Recommended(, with reservations)?: ", out, re.MULTILINE) is None) is helpless
    # A motor's cycle rate and a tip's pressure are results, and told.
    assert ("Operating point:" in out and "cycles/min and" in out) is (
        trade in ("stain_by_air", "roof_elastomer_from_a_drum")
    )
    assert ("balltravel limits" in out) is helpless


@pytest.mark.parametrize(
    ("key", "ends"),
    [
        ("drive.cycle_rate", 1),
        ("inlet_check.ball_density", 2),
        ("inlet_check.base_travel", 2),
    ],
)
def test_nothing_at_the_lower_helps_the_putty(scenarios, key, ends):
    found = limits(scenarios / "putty_needs_a_ram_plate.toml", key)
    assert len(found) == ends
    assert all(one.holds is None and not one.meets_now for one in found)


def test_a_feed_helps_the_putty_and_so_does_a_plate_that_presses_as_much(scenarios):
    path = scenarios / "putty_needs_a_ram_plate.toml"
    (feed,) = limits(path, "suction.tank_gauge_pressure")
    assert feed.holds is not None
    assert feed.beyond is not None
    enough, short = feed.holds.value, feed.beyond.value
    assert 1e5 < short < enough < 5e5
    area = 3.141592653589793 / 4.0 * 0.28**2
    for pressure, meets in ((1.001 * enough, True), (0.98 * short, False)):
        plate = ('suction.feed="ram plate"', "suction.ram_plate_diameter=280 mm",
                 f"suction.ram_force={pressure * area:.6g} N")  # fmt: skip
        scenario = read_scenario(path, plate)
        assert (missed(scenario, run_case(scenario).metrics) == []) is meets


def test_the_light_ball_is_told_of_and_the_ball_or_spring_that_would_do_is_found(scenarios):
    path = scenarios / "zinc_primer_light_ball.toml"
    found = recommend(read_scenario(path), draws=0)
    assert any("no denser than the material" in warning for warning in found.warnings)
    light, heavy = limits(path, "inlet_check.ball_density")
    assert light.holds is None
    assert heavy.holds is not None
    assert heavy.holds.value > read_scenario(path).material.density
    for one in (heavy, *limits(path, "inlet_check.spring_preload")):
        assert one.holds is not None
        assert one.beyond is not None
        scenario = read_scenario(path, one.holds.settings)
        assert missed(scenario, run_case(scenario).metrics) == []
        scenario = read_scenario(path, one.beyond.settings)
        assert [miss.target for miss in missed(scenario, run_case(scenario).metrics)] == ["delivery"]


def test_at_altitude_less_comes_in_than_at_the_sea(scenarios):
    path = scenarios / "floor_adhesive_at_altitude.toml"
    fills = [metrics_of(path, f"suction.altitude={height} m").fill_fraction for height in (0, 1300, 2600)]
    assert fills == sorted(fills, reverse=True)
    assert fills[0] - fills[-1] > 0.02
    high = suction_report(read_scenario(path))
    low = suction_report(read_scenario(path, ["suction.altitude=0 m"]))
    # The standard atmosphere at 2600 m, by an independent library; heads are of the material.
    missing = 101325.0 - fluids.ATMOSPHERE_1976(2600.0).P
    assert low.heads.surface - high.heads.surface == pytest.approx(missing / (1150.0 * 9.80665), rel=1e-6)


def test_the_drum_fills_the_lower_from_rim_to_pickup_and_says_for_how_long(scenarios):
    path = scenarios / "roof_elastomer_from_a_drum.toml"
    levels = [0.8, 0.4, 0.05]
    runs = [simulate(read_scenario(path, [f"suction.vessel_level={level} m"])) for level in levels]
    assert all(cycle_metrics(run).fill_fraction > 0.9 for run in runs)
    # The column that has gone is missing in the chamber while it fills: rho g times 0.75 m.
    full, *_, empty = (pressure_on_the_way_up(run) for run in runs)
    assert full - empty == pytest.approx(1300.0 * 9.80665 * 0.75, rel=0.02)
    vessel = suction_report(read_scenario(path)).vessel
    assert vessel is not None
    usable = 3.141592653589793 / 4.0 * 0.57**2 * (0.8 - 0.04)
    assert vessel.usable_volume == pytest.approx(usable, rel=1e-9)
    # A stroke sweeps 339 cc; the lower takes in 95 to 100 % of that.
    assert usable / 339.3e-6 < vessel.cycles_left < usable / (0.95 * 339.3e-6)


def pressure_on_the_way_up(data):
    """Mean pressure in the lower chamber over the middle of the upstroke [Pa]."""
    time, top = data.time.values, float(data.top_dead_centre)
    middle = (time > 0.3 * top) & (time < 0.9 * top)
    return mean_over(time[middle], data.lower_pressure.values[middle])


def test_the_stain_finds_its_rate_and_the_tips_flow_is_what_is_delivered(scenarios):
    data = simulate(read_scenario(scenarios / "stain_by_air.toml"))
    metrics = cycle_metrics(data)
    assert data.attrs["status"] == "ok"
    assert float(data.sprayed_volume[-1]) == pytest.approx(metrics.delivered_volume, rel=2e-3)
    # About half of the motor's pressure at stall is left at the gun, and it dips at changeover.
    assert 0.5 < (metrics.spray_pressure - 101325.0) / (20.0 * 4e5) < 1.0
    assert 0.0 < metrics.pressure_dip < 1.0
    more = metrics_of(scenarios / "stain_by_air.toml", "drive.supply_gauge_pressure=5 bar")
    assert more.cycle_rate > metrics.cycle_rate
    assert more.spray_pressure > metrics.spray_pressure


def test_a_narrow_exhaust_slows_the_stain_pump(scenarios):
    """No exhaust lets more air out than a choked one, C p: a stroke takes at least A S/C."""
    rates = [
        metrics_of(scenarios / "stain_by_air.toml", f"drive.exhaust_conductance={given} l/s/bar").cycle_rate
        for given in (0.2, 0.5, 2, 20)
    ]
    assert rates == sorted(rates)
    assert rates[0] < 0.7 * rates[-1]
    piston = 20.0 * math.pi / 8.0 * 0.026**2
    assert 0.5 / rates[0] > piston * 0.075 / 0.2e-3


def test_the_exhausts_default_is_told_and_its_number_is_for_air_motors_alone(run, scenarios):
    def check(name, *settings):
        given = [word for setting in settings for word in ("--set", setting)]
        code, out, err = run("check", scenarios / f"{name}.toml", *given)
        return code, " ".join((out + err).split())

    code, out = check("stain_by_air")
    assert code == 0
    assert "exhaust_conductance" in out.partition("Defaults taken:")[2]
    supply, exhaust = re.search(r"its supply ([\d.]+) l/s/bar .*?, exhaust ([\d.]+) l/s/bar", out).groups()
    assert supply == exhaust
    code, out = check("stain_by_air", "drive.exhaust_conductance=50 l/min/bar")
    assert code == 0
    assert "exhaust 0.833 l/s/bar" in out
    assert "exhaust_conductance" not in out.partition("Defaults taken:")[2]
    for name, setting in (("stain_by_air", "drive.motor=hydraulic"), ("primer", "drive.ramp_time=30 ms")):
        code, out = check(name, setting, "drive.exhaust_conductance=8 l/s/bar")
        assert code == 2
        assert "drive.exhaust_conductance: given although" in out
        assert "drive.exhaust_conductance" not in check(name, setting)[1]


def test_an_exhaust_goes_with_the_motor_that_a_setting_replaces(scenarios):
    given = read_scenario(scenarios / "stain_by_air.toml", ["drive.exhaust_conductance=8 l/s/bar"])
    crank = with_choices(given, {"drive.profile": "harmonic", "drive.cycle_rate": 0.5})
    assert crank.drive.exhaust_conductance is None


def test_worn_packings_of_the_stain_pump_show_at_stall(run_json, scenarios):
    found = run_json("wear", scenarios / "stain_by_air.toml")
    by_name = {one["name"]: one for one in found["states"]}
    assert set(by_name) == {"sound", "inlet seat", "piston seat", "piston packing", "rod packing"}
    sound = by_name["sound"]["metrics"]["volumetric_efficiency"]
    for name, one in by_name.items():
        if name != "sound":
            assert one["metrics"]["volumetric_efficiency"] < sound


def test_wear_refuses_a_gap_that_is_none(run, scenarios):
    for gap in ("wide", "5 mm", "-1 um"):
        code, out, err = run("wear", scenarios / "primer.toml", f"--gap={gap}")
        assert code == 2
        assert out == ""
        assert "--gap" in err
        assert "allowed" in err
