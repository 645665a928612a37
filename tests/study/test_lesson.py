"""What a lesson shows: it begins where any travel does and ends where no travel fills the chamber."""

import numpy as np
import pytest

from balltravel import ScenarioError, lesson
from balltravel.scenario.shims import arrangements
from balltravel.study.lesson.lesson import MOST_SHOWN, _shown, _spread, lesson_of
from balltravel.study.lesson.materials import Look, key_of, reach_of, steps_of, values_between
from balltravel.study.travel.recommend import recommend


def look(delivered, filled=None):
    """A look at viscosities 1, 2, 4, ..."""
    rows = np.array(delivered, float)
    return Look(2.0 ** np.arange(len(rows)), rows, np.array(delivered if filled is None else filled, float))


KNOWN = look(
    [[0.990, 0.990], [0.990, 0.987], [0.985, 0.970], [0.984, 0.960], [0.95, 0.96], [0.91, 0.95], [0.5, 0.7]]
)
"""Alike at 1 and 2, the shorter best up to 8, neither full at 64."""


def test_it_reaches_from_where_any_travel_does_to_where_none_fills_the_chamber():
    assert reach_of(KNOWN, 0.9) == (2.0, 8.0, 64.0)


def test_where_no_material_is_too_heavy_it_ends_with_the_heaviest_tried():
    assert reach_of(KNOWN, 0.4).heavy == 64.0


def test_where_even_thin_material_does_not_fill_it_all_that_was_tried_is_shown():
    assert reach_of(KNOWN, 0.999) == (1.0, 8.0, 64.0)


def test_too_few_viscosities_that_run_are_refused():
    few = look([[0.9, 0.9]] * 5)
    with pytest.raises(ScenarioError, match="only 5 viscosities could be run"):
        reach_of(few, 0.9)


def test_the_viscosities_rise_hold_their_ends_and_the_material_itself():
    values = values_between(reach_of(KNOWN, 0.9), 23.456)
    assert values == sorted(set(values))
    assert (values[0], values[-1]) == (2.0, 64.0)
    assert 23.456 in values
    assert sum(value >= 8.0 for value in values) > sum(value < 8.0 for value in values)


def test_a_material_beyond_the_ends_is_shown_too():
    assert values_between(reach_of(KNOWN, 0.9), 0.25)[0] == 0.25


def test_the_steps_between_the_ends_have_different_best_travels_and_the_own_material_if_it_may_be():
    values = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0]
    best = [2, 2, 2, 3, 3, 3, 4, 5, 6, 6]
    fills = [True] * 8 + [False] * 2
    steps = steps_of(
        values, best, fills, reach_of(KNOWN, 0.9)._replace(thin=1.0, turning=3.0, heavy=10.0), 6.0
    )
    assert steps == (0, 2, 5, 6, 7, 9)


def test_steps_differ_even_where_the_best_travel_never_changes():
    values = [float(i) for i in range(1, 13)]
    reach = reach_of(KNOWN, 0.9)._replace(thin=1.0, turning=1.0, heavy=12.0)
    steps = steps_of(values, [5] * 12, [True] * 12, reach, 4.0)
    assert len(set(steps)) == 6
    assert list(steps) == sorted(steps)


def test_of_many_travels_the_best_ones_and_both_ends_are_shown():
    many = arrangements([1e-3, 2e-3, 4e-3, 8e-3, 16e-3], 1e-3)
    spread = _spread(many, 7)
    assert (len(spread), spread[0], spread[-1]) == (7, many[0], many[-1])
    shown = _shown(many, [])
    assert len(shown) == MOST_SHOWN
    assert {many[0], many[-1]} <= set(shown)


def test_the_key_is_the_viscosity_of_a_plain_liquid_and_a_factor_of_any_other(story):
    assert key_of(story("primer")) == "material.viscosity"
    assert key_of(story("elastomer_thinning")) == "material.viscosity_factor"


SIX = 'shims.thicknesses=["1 mm", "2 mm", "4 mm", "8 mm", "16 mm", "32 mm"]'


@pytest.mark.parametrize(
    ("settings", "given"),
    [
        (("shims.thicknesses=[]", "shims.below=[]"), "1 ball travel of these shims"),
        ((SIX, "inlet_check.cage_length=120 mm"), "64 ball travels"),
    ],
)  # fmt: skip
def test_a_lower_without_a_choice_or_with_too_many_is_refused_before_a_run(story, settings, given):
    with pytest.raises(ScenarioError, match=given):
        lesson_of(story("primer", *settings), lambda *_: pytest.fail("it ran"))


def test_bad_arguments_are_refused(story):
    with pytest.raises(ScenarioError, match="invented"):
        lesson(story("primer"), invented="yes")
    with pytest.raises(ScenarioError, match="scenario"):
        lesson("primer.toml")


def test_every_material_of_a_thinning_lower_has_the_best_travel_that_recommend_names(story):
    told = []
    taught = lesson_of(story("elastomer_thinning", 'shims.thicknesses=["2 mm"]', "shims.below=[]"),
                       lambda done, whole: told.append((done, whole)))  # fmt: skip
    assert told[-1][0] == told[-1][1]
    assert len(taught.steps) == 6
    for place in taught.steps:
        material = taught.materials[place]
        answer = recommend(material.scenario)
        assert material.best.choice == (answer.recommended or answer.best_available)
    assert taught.materials[taught.own].scenario == taught.scenario
