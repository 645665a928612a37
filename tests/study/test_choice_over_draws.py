"""The rule of choice on tables that can be worked out by hand."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from balltravel.study.verdict.choice import WORSE, Reach, all_equal, chosen, in_the_worst, regret_95


def reach(delivered, **met):
    return Reach(np.array(delivered, float), {name: np.array(rows, bool) for name, rows in met.items()})


def test_regret_is_what_the_best_of_each_draw_delivers_more():
    assert np.allclose(reach([[0.8, 0.9], [0.7, 0.5]]).regret, [[0.1, 0.0], [0.0, 0.2]])


def test_a_miss_is_avoidable_where_another_arrangement_meets_every_target():
    tried = reach([[0.9, 0.9], [0.9, 0.9]], fill=[[1, 0], [0, 0]], landing=[[1, 1], [1, 1]])
    assert tried.avoidable.tolist() == [[False, True], [False, False]]


def test_a_run_that_failed_delivers_nothing_and_meets_nothing():
    tried = reach([[np.nan, 0.9]], fill=[[1, 1]])
    assert tried.regret[0, 0] == 0.9
    assert tried.meets.tolist() == [[False, True]]


def test_what_is_best_on_average_is_passed_over_where_it_falls_off_a_cliff():
    # the short one is better by 1 % in 96 of 100 draws, and worse by 30 % in four that 95 of 100 do not see
    short = np.where(np.arange(100) < 96, 0.91, 0.60)
    tried = reach(np.column_stack([short, np.full(100, 0.90)]))
    assert np.allclose(regret_95(tried), [0.0, 0.01])
    assert np.allclose(in_the_worst(tried, WORSE), [4 * 0.30 / 50, 0.01])
    assert np.allclose(in_the_worst(tried, 0.2), [4 * 0.30 / 20, 0.01])
    assert chosen(tried) == 1


def test_a_target_missed_in_six_of_100_draws_outweighs_nine_thousandths_of_delivery():
    met = np.column_stack([np.arange(100) < 94, np.full(100, True)])
    delivered = np.column_stack([np.full(100, 0.95), np.full(100, 0.941)])
    assert chosen(reach(delivered, fill=met)) == 1  # six misses of 8 % in fifty draws: 0.96 %
    met[94] = [True, True]
    assert chosen(reach(delivered, fill=met)) == 0  # five: 0.8 %


def test_where_all_are_equal_the_shortest_is_named():
    tried = reach([[0.990, 0.993, 0.994]] * 64)
    assert all_equal(tried)
    assert chosen(tried) == 0


def test_one_draw_of_32_in_which_the_shortest_falls_off_a_cliff_is_no_tie():
    short = np.where(np.arange(32) < 31, 0.97, 0.30)
    tried = reach(np.column_stack([short, np.full(32, 0.969)]))
    assert np.all(regret_95(tried) < 0.005)
    assert not all_equal(tried)
    assert chosen(tried) == 1


def test_half_a_percent_is_no_tie_where_another_arrangement_falls_off_a_cliff():
    tried = reach([[0.50, 0.964, 0.970]] * 64)
    assert not all_equal(tried)
    assert chosen(tried) == 2


def test_nothing_is_named_where_nothing_pumps():
    assert chosen(reach([[0.0, 0.004], [np.nan, 0.0]])) is None


def test_two_that_differ_in_a_target_are_not_equal():
    tried = reach([[0.99, 0.99]] * 32, landing=[[1, 0]] * 32)
    assert not all_equal(tried)


shares = arrays(float, (16, 4), elements=st.floats(0.0, 1.0))


@given(shares, st.permutations(range(4)))
def test_the_order_of_the_draws_and_of_arrangements_that_differ_changes_nothing(delivered, order):
    tried, other = reach(delivered), reach(delivered[::-1][:, order])
    assert np.array_equal(regret_95(tried)[order], regret_95(other))
    mine, theirs = chosen(tried), chosen(other)
    cost = in_the_worst(tried, WORSE)
    assert np.array_equal(cost[order], in_the_worst(other, WORSE))
    if mine is not None and cost.min() > 0.001 and len(np.unique(cost)) == 4:
        assert order[theirs] == mine


@given(shares)
def test_holds_is_asked_of_delivery_and_of_targets_together(delivered):
    tried = reach(delivered, fill=delivered > 0.5)
    assert not np.any(tried.holds & tried.avoidable)
    assert np.all(tried.regret[tried.holds] <= 0.01)
    assert np.all(tried.regret.min(axis=1) == 0.0)


def test_in_a_draw_in_which_nothing_pumps_nothing_holds_and_nothing_is_best():
    tried = reach([[0.9, 0.9], [np.nan, np.nan], [0.0, 0.0]], feed=[[1, 1], [0, 0], [0, 0]])
    assert tried.holds.tolist() == [[True, True], [False, False], [False, False]]
    assert tried.best.tolist() == [[True, True], [False, False], [False, False]]
    assert not tried.avoidable.any()
