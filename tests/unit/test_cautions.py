"""Each warning comes when it should and not otherwise."""

import math

import pytest

from balltravel.cautions import ball_top, seat_gap, warnings_for
from balltravel.sweeps import run_case


def said(scenario, metrics=None):
    return " | ".join(warnings_for(scenario, metrics))


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("inlet_check.ball_density=1350 kg/m3", "inlet check: the ball is no denser than the material"),
        ("piston_check.ball_density=1300 kg/m3", "piston check: the ball is no denser than the material"),
        ("inlet_check.ball_density=1400 kg/m3", "inlet check: the ball nearly floats"),
        ("inlet_check.cage_diameter=33 mm", "inlet check: in so close a cage"),
        ("material.largest_particle=2 mm", "the cage's clearance is less than three times"),
        (
            "material.largest_particle=1.305 mm",
            "piston check: the gap at full travel is less than three times",
        ),
        ("inlet_check.cage_length=29.5 mm", "inlet check: at full travel the ball stands out of its cage"),
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
    assert "the line itself draws empty" in said(thirsty, run_case(thirsty).metrics)
    fed = story("primer")
    assert "draws empty" not in said(fed, run_case(fed).metrics)


def test_gap_and_top_of_the_ball_are_those_of_the_circle(story):
    """The ball's centre over the edge by Pythagoras; the gap is the distance to the edge less the radius."""
    check = story("primer").inlet_check
    radius, edge = 0.5 * check.ball_diameter, 0.5 * check.seat_diameter
    centre = math.sqrt(radius**2 - edge**2) + 0.004
    assert seat_gap(check, 0.004) == pytest.approx(math.hypot(centre, edge) - radius, rel=1e-12)
    assert ball_top(check, 0.004) == pytest.approx(centre + radius, rel=1e-12)
    assert seat_gap(check, 0.0) == 0.0
