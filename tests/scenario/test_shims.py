"""Arrangements of a set of shims."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.scenario.shims import arrangements, distinct_travels


def test_three_different_shims_give_the_eight_travels_of_the_subsets():
    found = arrangements((1e-3, 2e-3, 4e-3), 2e-3)
    assert [round(one.travel * 1e3, 9) for one in found] == [2, 3, 4, 5, 6, 7, 8, 9]
    assert [one.below for one in found] == [(), (1,), (2,), (1, 2), (3,), (1, 3), (2, 3), (1, 2, 3)]


def test_equal_shims_give_one_arrangement():
    found = arrangements((1e-3, 1e-3, 1e-3), 0.0)
    assert [one.below for one in found] == [(), (1,), (1, 2), (1, 2, 3)]


def test_one_and_one_is_another_arrangement_than_two_and_comes_after_it():
    found = arrangements((1e-3, 1e-3, 2e-3), 2e-3)
    equal = [one.below for one in found if one.travel == pytest.approx(4e-3)]
    assert equal == [(3,), (1, 2)]


def test_equal_travels_tie_in_spite_of_their_last_bits():
    # 0.1 + 0.2 is not 0.3 in binary; the single shim must still come first.
    found = arrangements((1e-4, 2e-4, 3e-4), 0.0)
    assert [one.below for one in found if one.travel == pytest.approx(3e-4)] == [(3,), (1, 2)]


def test_a_set_without_shims_has_one_arrangement():
    (only,) = arrangements((), 3e-3)
    assert (only.below, only.above, only.travel) == ((), (), 3e-3)


@given(st.lists(st.sampled_from([5e-4, 1e-3, 2e-3, 4e-3]), max_size=7), st.floats(0.0, 0.01))
def test_every_shim_is_always_fitted_and_the_count_is_that_of_the_multisets(thicknesses, base):
    found = arrangements(thicknesses, base)
    numbers = set(range(1, len(thicknesses) + 1))
    for one in found:
        assert set(one.below) | set(one.above) == numbers
        assert not set(one.below) & set(one.above)
        assert one.travel == pytest.approx(base + sum(thicknesses[n - 1] for n in one.below), rel=1e-12)
    assert len(found) == math.prod(thicknesses.count(size) + 1 for size in set(thicknesses))
    travels = [round(one.travel, 12) for one in found]
    assert travels == sorted(travels)


def test_travels_tie_within_a_picometre_and_not_beyond():
    """Two thin shims against one: 0.4 pm thicker they tie, and the one shim comes first; 4 pm thicker it
    comes last."""
    for more, first in ((0.4e-12, (3,)), (4e-12, (1, 2))):
        found = arrangements((1e-3, 2e-3, 3e-3 + more), 0.0)
        assert next(one.below for one in found if one.travel > 2.9e-3) == first


def test_an_arrangement_cannot_be_changed():
    with pytest.raises(AttributeError):
        arrangements((), 1e-3)[0].travel = 0.0


def test_of_equal_travels_the_one_with_the_fewest_shims_below_stands_for_all():
    found = distinct_travels(arrangements((1e-4, 2e-4, 3e-4), 0.0))
    assert [round(one.travel * 1e3, 9) for one in found] == [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
    assert [one.below for one in found] == [(), (1,), (2,), (3,), (1, 3), (2, 3), (1, 2, 3)]


def test_twelve_shims_have_no_more_travels_than_sums():
    thicknesses = [1e-4 * n for n in range(1, 13)]
    assert len(arrangements(thicknesses, 0.0)) == 2**12
    assert len(distinct_travels(arrangements(thicknesses, 0.0))) == 79
