"""Each warning comes when it should and not otherwise."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from balltravel.core.status import Status
from balltravel.estimate.cautions import ball_top, seat_gap, warnings_for
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import with_value
from balltravel.study.travel.dives import dive_caution
from balltravel.sweeps.cases import run_case

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def primer_metrics():
    return run_case(read_scenario(SCENARIOS / "primer.toml")).metrics


def said(scenario, metrics=None):
    return " | ".join(warnings_for(scenario, metrics))


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("inlet_check.ball_density=1350 kg/m3", "inlet check: the ball is no denser than the material"),
        ("piston_check.ball_density=1300 kg/m3", "piston check: the ball is no denser than the material"),
        ("inlet_check.ball_density=1400 kg/m3", "inlet check: the ball nearly floats"),
        ("inlet_check.cage_diameter=33 mm", "inlet check: in such a close cage"),
        ("material.largest_particle=2 mm", "the ball guide clearance is less than three times"),
        (
            "material.largest_particle=1.305 mm",
            "piston check: the gap at full travel is less than three times",
        ),
        (
            "inlet_check.cage_diameter=36.7 mm",
            "inlet check: in such a close cage (ball over bore 0.80)",
        ),
        ("inlet_check.cage_length=29.5 mm", "inlet check: at full travel the ball protrudes from its cage"),
    ],
)
def test_a_scenario_beyond_what_is_known_is_warned_of(story, setting, words):
    assert words in said(story("primer", setting))
    assert words not in said(story("primer"))


def test_the_piston_balls_landing_is_compared_with_the_target(story):
    scenario = story("primer")
    metrics = run_case(scenario).metrics
    assert metrics.piston.landing_speed > scenario.target.landing_speed
    assert f"piston check: its ball lands at {metrics.piston.landing_speed:.2f} m/s" in said(
        scenario, metrics
    )
    gentle = story("primer", "target.landing_speed=5 m/s")
    assert "its ball lands" not in said(gentle, metrics)


@pytest.mark.parametrize("vapour", ["0 Pa", "2000 Pa"])
def test_a_line_that_draws_empty_is_told_whatever_the_vapour_pressure(story, vapour):
    thirsty = story(
        "mastic",
        "suction.hose_length=20 m",
        "suction.hose_diameter=19 mm",
        f"material.vapour_pressure={vapour}",
    )
    assert "the suction line itself cavitates" in said(thirsty, run_case(thirsty).metrics)
    fed = story("primer")
    assert "itself cavitates" not in said(fed, run_case(fed).metrics)


def test_gap_and_top_of_the_ball_are_those_of_the_circle(story):
    """The ball's centre over the edge by Pythagoras; the gap is the distance to the edge less the radius."""
    check = story("primer").inlet_check
    radius, edge = 0.5 * check.ball_diameter, 0.5 * check.seat_diameter
    centre = math.sqrt(radius**2 - edge**2) + 0.004
    assert seat_gap(check, 0.004) == pytest.approx(math.hypot(centre, edge) - radius, rel=1e-12)
    assert ball_top(check, 0.004) == pytest.approx(centre + radius, rel=1e-12)
    assert seat_gap(check, 0.0) == 0.0


def test_just_short_of_a_limit_nothing_is_said(story):
    """A ball 7 % denser than the material, a ball of 0.79 cage diameters."""
    assert "nearly floats" not in said(story("primer", "inlet_check.ball_density=1450 kg/m3"))
    assert "close a cage" not in said(story("primer", "inlet_check.cage_diameter=37.3 mm"))


def test_how_a_run_ended_comes_first(story):
    scenario = story("primer")
    assert warnings_for(scenario, None, Status.NOT_PERIODIC)[0] == Status.NOT_PERIODIC.advice
    assert Status.OK.advice not in warnings_for(scenario, None)


def test_without_a_run_a_default_port_compliance_is_warned_of_in_heavy_material_alone(story, primer_metrics):
    given = story("mastic")
    default = with_value(given, "suction.port_compliance", None)
    assert "port_compliance is the default" in said(default)
    assert "port_compliance" not in said(default, primer_metrics)
    assert "port_compliance" not in said(given)
    assert "port_compliance" not in said(with_value(default, "material.viscosity", 0.99))


def test_a_fill_above_what_is_swept_is_explained_where_the_feed_packs_gas(story):
    """10 % of gas: at 5 bar over the atmosphere's it takes 2 % of the chamber, and the liquid the rest."""
    fed = ("suction.feed=pressure", "suction.tank_gauge_pressure=5 bar")
    gassy = story("primer", "material.free_gas_fraction=10 %", *fed)
    metrics = run_case(gassy).metrics
    assert metrics.fill_fraction > 1.05
    assert "above 100 %: volumes are counted at barometric pressure" in said(gassy, metrics)
    plain = story("primer", *fed)
    assert "above 100 %" not in said(plain, run_case(plain).metrics)
    # Nor is anything blamed on gas that does not come of it: a column that runs on by itself.
    budget = replace(metrics.loss_budget, compression_and_gas=0.0)
    assert "above 100 %" not in said(gassy, replace(metrics, loss_budget=budget))


@pytest.mark.parametrize(
    ("flag", "words"), [("never_seats", "does not seat"), ("never_lifts", "never lifts")]
)
@pytest.mark.parametrize("check", ["inlet", "piston"])
def test_a_ball_that_never_comes_home_or_never_lifts_is_named(story, primer_metrics, flag, words, check):
    flagged = replace(getattr(primer_metrics, check), flags=(flag,))
    assert f"{check} check: the ball {words}" in said(
        story("primer"), replace(primer_metrics, **{check: flagged})
    )
    assert words not in said(story("primer"), primer_metrics)


@pytest.mark.parametrize(("share", "told"), [(0.0099, False), (0.0101, True)])
def test_a_void_of_more_than_a_hundredth_of_swept_is_told(story, primer_metrics, share, told):
    """Of a material that a motor would dive through: at 15 Pa s it takes in less than the metrics say."""
    swept = primer_metrics.loss_budget.swept
    starved = story("primer", "material.viscosity=15 Pa.s")
    found = dive_caution(starved, replace(primer_metrics, void_volume=share * swept))
    assert bool(found) is told
    assert all("of swept at top dead centre" in sentence for sentence in found)


@pytest.mark.parametrize(("above", "told"), [(0.049, True), (0.051, False)])
def test_a_port_within_a_twentieth_of_the_atmosphere_of_vapour_pressure_is_told(
    story, primer_metrics, above, told
):
    scenario = story("primer")
    lowest = scenario.material.vapour_pressure + above * scenario.suction.barometric_pressure
    assert (
        "itself cavitates" in said(scenario, replace(primer_metrics, lowest_port_pressure=lowest))
    ) == told


@pytest.mark.parametrize(("share", "told"), [(0.019, False), (0.021, True)])
def test_a_leak_of_more_than_a_fiftieth_of_swept_is_told(story, primer_metrics, share, told):
    budget = replace(primer_metrics.loss_budget, leak=share * primer_metrics.loss_budget.swept)
    assert (
        "worn seats or packings leak" in said(story("primer"), replace(primer_metrics, loss_budget=budget))
    ) == told


@pytest.mark.parametrize(("outlet", "told"), [("3.01 bar", False), ("2.9 bar", True)])
def test_a_feed_above_the_outlet_is_told(story, outlet, told):
    """The lift of 0.3 m takes 0.04 bar of the feed's 3 bar."""
    fed = story("primer", "suction.tank_gauge_pressure=3 bar", f"outlet.gauge_pressure={outlet}")
    assert ("holds both checks open" in said(fed)) == told
