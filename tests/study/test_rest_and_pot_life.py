"""The first stroke after a break, and how long a mixed material can be pumped."""

import math

import pytest

from balltravel import recommend, with_values
from balltravel.report.text.recommend import recommendation_text
from balltravel.study.travel.rest_and_pot_life import first_stroke, pot_life
from balltravel.study.travel.trials import missed
from balltravel.sweeps.cases import run_case

MINUTE = 60.0


def test_a_material_that_says_nothing_of_rest_and_age_has_neither(story):
    assert first_stroke(story("primer")) is None
    assert pot_life(story("primer")) is None


def test_the_first_cycle_in_rested_material_is_that_of_a_material_as_much_thicker(story):
    """From standstill, one cycle: the same numbers as a scenario of that viscosity."""
    rested = first_stroke(story("primer", "material.rested_ratio=3"))
    thick = run_case(story("primer", "material.viscosity=15 Pa.s"), max_cycles=1)
    assert rested.ratio == 3.0
    assert rested.metrics.fill_fraction == pytest.approx(thick.metrics.fill_fraction, rel=1e-9)
    assert rested.metrics.fill_fraction < 0.85 * run_case(story("primer")).metrics.fill_fraction


def test_the_targets_hold_up_to_the_pot_life_and_not_beyond(story):
    scenario = story("primer", "material.doubling_time=30 min")
    found = pot_life(scenario)
    assert found.growth == pytest.approx(2.0 ** (found.age / (30.0 * MINUTE)), rel=1e-12)
    for age, holds in ((found.age, True), (found.age + 1.0, False)):
        aged = with_values(scenario, {"material.age": age})
        assert (not missed(aged, run_case(aged).metrics)) == holds
    assert "fill" in found.missed


def test_the_pot_life_ends_where_the_viscosity_does_it_whatever_the_doubling_time(story):
    """Twice as slow a growth, twice the time; within what it is sought to."""
    one, two = (pot_life(story("primer", f"material.doubling_time={t} min")) for t in (20, 40))
    assert two.age / one.age == pytest.approx(2.0, abs=0.1)
    assert two.growth == pytest.approx(one.growth, rel=1e-3)


def test_a_material_too_old_already_says_what_is_missed(story):
    found = pot_life(story("primer", "material.doubling_time=30 min", "material.age=3 h"))
    assert found.age is None
    assert found.growth == pytest.approx(64.0)
    assert found.missed


def test_a_stain_outlives_a_hundredfold_growth_of_a_slow_target(story):
    easy = story(
        "stain", "material.doubling_time=30 min", "target.fill_fraction=10 %", "target.landing_speed=50 m/s"
    )
    assert math.isinf(pot_life(easy).age)


def test_the_recommendation_tells_both(story):
    scenario = story("primer", "material.rested_ratio=3", "material.doubling_time=30 min")
    said = recommendation_text(scenario, recommend(scenario, draws=0))
    assert (
        "First cycle after a break, from standstill, at 3 times the worked viscosity: fill"
        in said.replace("\n    ", " ")
    )
    assert "The targets hold up to an age of" in said


def test_no_age_is_looked_at_that_nobody_may_give(story):
    """Eleven days at the latest."""
    slow = story("primer", "material.viscosity=0.5 Pa.s", "material.doubling_time=270 h")
    found = pot_life(slow)
    assert math.isinf(found.age)
    assert found.growth == pytest.approx(2.0 ** (1e6 / (270 * 3600.0)))


def test_a_target_missed_far_beyond_eight_times_is_found(story):
    """A thinner primer ends later: both at about the same viscosity."""
    thin, thick = (
        pot_life(story("primer", f"material.viscosity={mu} Pa.s", "material.doubling_time=30 min"))
        for mu in (0.5, 1)
    )
    assert thin.growth > 8.0
    assert 0.5 * thin.growth == pytest.approx(1.0 * thick.growth, rel=0.02)


def test_a_landing_missed_in_between_ends_the_pot_life(story):
    """At 0.42 m/s it is missed between 3.8 and 6 times as thick, and met again at 7 times."""
    settings = ("material.viscosity=1 Pa.s", "material.doubling_time=30 min", "target.landing_speed=0.42 m/s")
    found = pot_life(story("primer", *settings))
    assert "landing" in found.missed
    assert 3.0 < found.growth < 4.5


def test_a_rest_beyond_what_a_viscosity_may_be_is_told_as_it_was_run(story):
    found = first_stroke(story("primer", "material.viscosity_factor=5", "material.rested_ratio=60"))
    assert found.ratio == 20.0


def test_an_age_within_its_last_digit_of_the_limit_is_the_limit(story):
    """Fill falls below its target between 34477 s and the nearest number of four digits, 34480 s."""
    edge = story(
        "primer", "material.doubling_time=10 h", "material.age=34477 s", "target.landing_speed=5 m/s",
        'shims.thicknesses=["3 mm"]', "shims.below=[1]",
    )  # fmt: skip
    life = pot_life(edge)
    assert life.age == 34477.0
    assert "fill" in life.missed
