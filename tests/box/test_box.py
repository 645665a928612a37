"""Any scenario that is allowed ends with a status, finite numbers, and no silent difference."""

import pytest
from box.trial import try_out

SEED, PORTIONS, PORTION = 1, 20, 500
IN_THE_SUITE = 2
"""Portions that always run; the others are a soak, whose result docs/robustness.md tells."""


@pytest.mark.parametrize(
    "portion",
    [pytest.param(n, marks=() if n < IN_THE_SUITE else pytest.mark.soak) for n in range(PORTIONS)],
)
def test_beginnings_of_a_cycle_have_finite_numbers(portion):
    """The first 300 rows of each: start, pull-off, the first stroke. A thousand in the suite, ten thousand in
    the soak; whole cycles are another soak (soak.py), whose result the validation page tells."""
    for number in range(portion * PORTION, (portion + 1) * PORTION):
        outcome = try_out(SEED, number, cycles=1, most_steps=300)
        assert outcome.finite, f"seed {SEED}, number {number}"
        assert outcome.status not in ("NOT_FINITE", "STEP_TOO_SMALL"), f"seed {SEED}, number {number}"


@pytest.mark.parametrize("number", range(0, 600, 100))
def test_a_case_that_says_ok_is_what_a_tighter_run_says(number):
    outcome = try_out(SEED, number, cycles=2, twice=True)
    assert outcome.finite
    assert not outcome.is_silent_difference, outcome


@pytest.mark.parametrize("number", [32, 159, 213])
def test_a_port_or_chamber_drawn_to_less_than_nothing_is_no_result(number):
    """By a ball that moves."""
    outcome = try_out(SEED, number, cycles=3, most_steps=1500)
    assert outcome.status == "DRAWN_EMPTY"
    assert outcome.finite
