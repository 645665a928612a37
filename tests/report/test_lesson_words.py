"""An answer claims what holds in the lower: where a rule does not hold, it says so."""

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from balltravel import read_scenario
from balltravel.core.events import Event
from balltravel.report.pages.lesson.curve import LETTER, LINE, WIDE, curve_of
from balltravel.report.pages.lesson.page import back_scale
from balltravel.report.pages.lesson.steps import piston_speed_at_seating, steps_in_words
from balltravel.report.pages.lesson.text import lesson_text
from balltravel.report.pages.lesson.words import (
    compared_with_best,
    limit_in_words,
    limit_of,
    material_of,
    run_in_words,
)
from balltravel.study.lesson.lesson import lesson_of
from balltravel.units import from_si
from balltravel.units.display import shown_in

from ..conftest import SCENARIOS

TRAVELS = ['shims.thicknesses=["1 mm", "4 mm"]', "shims.below=[]"]


@pytest.fixture(scope="module")
def taught():
    return lesson_of(read_scenario(SCENARIOS / "mastic.toml", TRAVELS))


def altered(taught, step, change):
    """The lesson with other trials in one of its steps; ``change``: of a trial and its number."""
    place = taught.steps[step]
    materials = list(taught.materials)
    trials = tuple(change(trial, number) for number, trial in enumerate(materials[place].trials))
    best = next(t for t in trials if t.shims_below == materials[place].best.shims_below)
    materials[place] = replace(materials[place], trials=trials, best=best)
    return replace(taught, materials=tuple(materials))


def answer(taught, step):
    return steps_in_words(taught)[step].answer


def with_metrics(trial, **values):
    return replace(trial, metrics=replace(trial.metrics, **values))


def test_in_this_lower_every_rule_holds(taught):
    beginnings = ["Hardly at all", "At 7 mm", "It ", "No:", "Yes:", "None:"]
    for number, (step, words) in enumerate(zip(steps_in_words(taught), beginnings, strict=True)):
        assert step.answer.startswith(words) or "In this lower" in step.answer, (number, step.answer)


def test_numbers_of_the_answers_are_those_of_the_runs(taught):
    for step in steps_in_words(taught):
        m = taught.materials[step.place]
        known = []
        for trial in m.trials:
            budget = trial.metrics.loss_budget
            known += [trial.delivery, trial.heavier, trial.metrics.fill_fraction]
            known += [budget.inlet_backflow / budget.swept, trial.metrics.void_volume / budget.swept]
        told = [float(number) / 100 for number in re.findall(r"([\d.]+) % (?!more|better)", step.answer)]
        for share in told:
            assert min(abs(share - value) for value in known if value is not None) <= 0.000501, step.answer


def test_where_travel_matters_in_thin_material_it_says_so(taught):
    uneven = altered(taught, 0, lambda t, k: with_metrics(t, volumetric_efficiency=0.9 + 0.02 * k))
    assert answer(uneven, 0).startswith("It matters even here")
    assert "delivers 96.0 % of swept, 2 mm (0.079 in) 90.0 %" in answer(uneven, 0)


def test_where_a_longer_travel_costs_nothing_it_says_so(taught):
    def same(trial, _):
        return with_metrics(trial, loss_budget=replace(trial.metrics.loss_budget, inlet_backflow=0.0))

    assert answer(altered(taught, 1, same), 1).startswith("In this lower next to nothing")


def test_where_the_shortest_is_best_or_as_good_it_says_so(taught):
    place = taught.steps[2]
    short = taught.materials[place].trials[0]
    materials = list(taught.materials)
    materials[place] = replace(materials[place], best=short)
    assert "still the best" in answer(replace(taught, materials=tuple(materials)), 2)
    alike = altered(
        taught, 2, lambda t, _: replace(with_metrics(t, volumetric_efficiency=0.95), heavier=0.95)
    )
    if alike.materials[place].best.shims_below != short.shims_below:
        assert "loses nothing" in answer(alike, 2)


def test_where_the_longest_is_best_or_loses_nothing_it_says_so(taught):
    place = taught.steps[3]
    materials = list(taught.materials)
    materials[place] = replace(materials[place], best=materials[place].trials[-1])
    assert answer(replace(taught, materials=tuple(materials)), 3).startswith("Of these shims, yes")
    materials[place] = replace(materials[place], best=materials[place].trials[1])
    alike = altered(
        replace(taught, materials=tuple(materials)),
        3,
        lambda t, _: with_metrics(t, volumetric_efficiency=0.9),
    )
    assert answer(alike, 3).startswith("Not in this lower")


def test_where_heavier_material_lands_no_harder_it_says_so(taught):
    def soft(trial, _):
        return with_metrics(trial, inlet=replace(trial.metrics.inlet, landing_speed=0.001))

    assert answer(taught, 4).startswith("Yes")
    assert answer(altered(taught, 4, soft), 4).startswith("In this lower it does not")


def test_the_piston_moves_down_faster_when_the_ball_seats_in_heavier_material(taught):
    speeds = []
    for step in (0, 4):
        m = taught.materials[taught.steps[step]]
        cycle = m.cycles[m.best.shims_below]
        motion = cycle.motion
        lag = cycle.metrics.inlet.closing_lag
        at = (motion.top_dead_centre + lag) % motion.period
        assert any(motion.event_kind[np.isclose(motion.event_time, at)] == Event.SEATED)
        speed = piston_speed_at_seating(cycle)
        assert speed == pytest.approx(-np.interp(at, motion.time, motion.piston_speed), abs=1e-3)
        speeds.append(speed)
    assert speeds[1] > speeds[0]
    assert f"{speeds[1]:.3f} m/s" in answer(taught, 4)


def test_where_a_travel_still_fills_the_chamber_it_says_so(taught):
    place = taught.steps[5]
    materials = list(taught.materials)
    materials[place] = replace(materials[place], limit="")
    assert "still fills it" in answer(replace(taught, materials=tuple(materials)), 5)


@pytest.mark.parametrize("limit", ["hose", "cage", "travel"])
def test_each_limit_is_named(taught, limit):
    material = replace(taught.materials[-1], limit=limit)
    assert limit in limit_in_words(material).lower()
    assert "no travel" in limit_in_words(material).lower()


def test_a_predicted_travel_is_compared_by_what_decides(taught):
    trial = taught.materials[taught.own].trials[0]
    best = replace(trial, shims_below=(9,), ball_travel=9e-3, unmet=(), heavier=0.95)
    best = with_metrics(best, volumetric_efficiency=0.96)
    plain = replace(trial, unmet=(), heavier=0.95)
    assert compared_with_best(best, best) == "That is the best travel."
    words = {
        "misses a target": replace(plain, unmet=("fill 80 % (target 90 %)",)),
        "6.0 % of swept less": with_metrics(plain, volumetric_efficiency=0.90),
        "too close to starving": replace(with_metrics(plain, volumetric_efficiency=0.96), heavier=0.5),
        "more than the best, but": replace(
            with_metrics(plain, volumetric_efficiency=0.99), unmet=("landing",)
        ),
        "as much as the best": with_metrics(plain, volumetric_efficiency=0.96),
    }
    for said, other in words.items():
        against = replace(best, unmet=("fill",)) if "more than" in said else best
        assert said in compared_with_best(other, against)


def test_a_run_that_failed_is_said_to_have_failed(taught):
    failed = replace(taught.materials[0].trials[0], metrics=None, status="too_many_steps")
    assert "this run failed (too many steps)" in run_in_words(failed)


def test_the_curve_has_each_material_and_travel_at_its_place(taught):
    curve = curve_of(taught)
    values = np.log([from_si(m.viscosity, "viscosity", "Pa.s") for m in taught.materials])
    assert np.allclose(np.polyval(np.polyfit(values, curve["x"], 1), values), curve["x"], atol=0.1)
    travels = np.array([1e3 * a.travel for a in taught.travels])
    assert np.allclose(np.polyval(np.polyfit(travels, curve["y"], 1), travels), curve["y"], atol=0.1)
    assert all(curve["left"] <= x <= curve["right"] for x in curve["x"])
    first = next(i for i, material in enumerate(taught.materials) if material.limit)
    assert curve["x"][first - 1] < curve["limit"] < curve["x"][first]


def test_the_bar_of_what_flowed_back_holds_the_most_that_did(taught):
    most = max(
        100 * t.metrics.loss_budget.inlet_backflow / t.metrics.loss_budget.swept
        for m in taught.materials
        for t in m.trials
    )
    assert most <= back_scale(taught) <= max(5, 2.6 * most)


def test_a_longer_travel_is_no_help_where_the_longest_ones_draw_in_the_same(taught):
    heavy = replace(taught.materials[-1], limit="travel")

    def with_fills(*fills):
        (first, *_) = (trial for trial in heavy.trials if trial.metrics is not None)
        trials = (replace(first, metrics=replace(first.metrics, fill_fraction=fill)) for fill in fills)
        return replace(heavy, trials=tuple(trials))

    assert limit_of(with_fills(0.70, 0.75)) == "travel"
    assert limit_of(with_fills(0.76, 0.98, 0.987, 0.9872)) == "target"
    assert "lets in no more" in limit_in_words(with_fills(0.987, 0.9872))


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("times", [1.0, 7.0, 1000.0])
def test_words_at_the_axes_of_the_curve_neither_meet_nor_leave_it(taught, units, times):
    materials = tuple(replace(m, viscosity=times * m.viscosity) for m in taught.materials)
    travels = tuple(
        replace(taught.travels[0], travel=0.0254 * inch) for inch in np.linspace(0.105, 0.324, 12)
    )
    with shown_in(units):
        curve = curve_of(replace(taught, materials=materials, travels=travels))
    sides = [(x - 0.5 * LETTER * len(words), x + 0.5 * LETTER * len(words)) for x, words in curve["x_ticks"]]
    assert len(sides) >= 2
    assert sides[-1][1] <= WIDE
    assert all(left[1] < right[0] for left, right in pairwise(sides))
    assert all(curve["left"] - LETTER * len(words) >= 8.0 for _, words in curve["y_ticks"])
    heights = [y for y, _ in curve["y_ticks"]]
    assert all(low - high >= LINE for low, high in pairwise(heights))
    assert {heights[0], heights[-1]} == {curve["y"][0], curve["y"][-1]}


def test_where_as_good_as_nothing_flows_back_the_answer_says_so(taught):
    def dense(trial, _):
        budget = replace(trial.metrics.loss_budget, inlet_backflow=0.0)
        return with_metrics(trial, loss_budget=budget)

    told = answer(altered(taught, 0, dense), 0)
    assert "0.0 %" not in told
    assert "next to nothing flows back" in told


def test_a_thinning_material_is_named_with_its_shear_rate(taught):
    thins = read_scenario(SCENARIOS / "roof_elastomer_from_a_drum.toml")
    assert material_of(replace(taught.materials[0], scenario=thins)).endswith(" at 10 1/s")
    assert curve_of(replace(taught, scenario=thins))["x_name"].startswith("viscosity at 10 1/s, ")
    assert "1/s" not in material_of(taught.materials[0])


def test_printed_sentences_begin_with_a_capital_and_the_size_says_what_it_is(taught):
    text = lesson_text(taught.scenario, taught, Path("a.html"), 656_000)
    assert "a page of 656 kB" in text
    assert not re.search(r"[.] [a-z]", text)
