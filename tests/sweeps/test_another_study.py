"""A folder of another study is refused with what differs, each key by its name."""

import pytest

from balltravel import ScenarioError, with_values
from balltravel.sweeps.folder.resumable import run_plan_into
from balltravel.sweeps.plan import Plan

from ..helpers.lowers import scenario
from ..helpers.plans import stand_in

LOWER = scenario()
KEY, OTHER = "material.viscosity", "drive.cycle_rate"
VALUES = [0.4, 0.5, 0.6]


@pytest.fixture
def refusal(tmp_path):
    """What is said to a plan in a folder that was made of another one."""

    def said(there, here):
        run_plan_into(there, tmp_path / "of", compute=stand_in, workers=1, tell=lambda _: None).close()
        with pytest.raises(ScenarioError) as refused:
            run_plan_into(here, tmp_path / "of", compute=stand_in, workers=1)
        return str(refused.value).partition("another study: ")[2].partition("; allowed")[0]

    return said


@pytest.mark.parametrize(
    ("grid", "words"),
    [
        ({KEY: [0.4, 0.5, 0.7]}, f"{KEY} 3 values from 0.4 to 0.6 there, 3 values from 0.4 to 0.7 now"),
        ({KEY: [0.4, 0.55, 0.6]}, f"{KEY} other values, of the same number and ends"),
        (
            {OTHER: VALUES},
            f"{KEY} 3 values from 0.4 to 0.6 there, not swept now; "
            f"{OTHER} not swept there, 3 values from 0.4 to 0.6 now",
        ),
        (
            {KEY: VALUES, "closures.ball_position": "touching"},
            "closures.ball_position not swept there, at touching now",
        ),
        (
            {KEY: VALUES[:2]},
            f"{KEY} 3 values from 0.4 to 0.6 there, 2 values from 0.4 to 0.5 now; "
            "number of cases 3 there, 2 now",
        ),
    ],
)
def test_keys_that_have_other_values_are_named(grid, words, refusal):
    assert refusal(Plan(LOWER, {KEY: VALUES}), Plan(LOWER, grid)) == words


def test_the_same_values_in_another_order_of_keys_are_another_study(refusal):
    grid = {OTHER: VALUES, KEY: VALUES}
    turned = Plan(LOWER, dict(reversed(grid.items())))
    assert refusal(Plan(LOWER, grid), turned) == "the order of the keys swept over"


def test_another_scenario_is_not_said_to_have_other_values(refusal):
    other = Plan(with_values(LOWER, {"lower.bore": 0.05}), {KEY: VALUES})
    assert refusal(Plan(LOWER, {KEY: VALUES}), other) == "lower.bore 0.048 there, 0.05 now"
