"""What knowing saves, against a linear model with known values, and the best policies in pieces."""

import math
import tracemalloc

import numpy as np
import pytest
from scipy.stats import norm, qmc

from balltravel.study.verdict.knowing import saving
from balltravel.study.verdict.thresholds import pieces, threshold

FIRST, SECOND = 0.02, 0.005


def normals(seed, count=128):
    return norm.ppf(np.clip(qmc.Sobol(4, rng=seed).random(count), 1e-9, 1 - 1e-9))


def two_arrangements(x, shift=0.0):
    """The first is worse by a normal number: what is lost by either."""
    worse = shift + FIRST * x[:, 0] + SECOND * x[:, 1]
    return np.column_stack([np.maximum(worse, 0.0), np.maximum(-worse, 0.0)])


@pytest.mark.parametrize("seed", range(5))
def test_knowing_the_first_input_saves_what_the_integral_says(seed):
    # E max(0, a x) = a / sqrt(2 pi) for a standard normal x: by sign of x the choice is right
    x = normals(seed)
    found = saving(two_arrangements(x), x[:, 0])
    assert found.saved == pytest.approx(FIRST / math.sqrt(2.0 * math.pi), rel=0.05)
    assert found.is_clear


@pytest.mark.parametrize("seed", range(5))
def test_knowing_the_second_input_saves_less_and_by_its_own_integral(seed):
    x = normals(seed, 4096)
    found = saving(two_arrangements(x), x[:, 1])
    assert found.saved == pytest.approx(SECOND / math.sqrt(2.0 * math.pi), rel=0.1)


@pytest.mark.parametrize("seed", range(40))
def test_an_input_that_plays_no_part_is_never_told(seed):
    x = normals(seed)
    loss = two_arrangements(x)
    assert not saving(loss, x[:, 2], seed).is_clear
    assert not saving(loss, x[:, 3], seed).is_clear


def test_where_one_arrangement_is_best_whatever_is_known_nothing_is_saved():
    x = normals(1)
    assert saving(two_arrangements(x, shift=1.0), x[:, 0]).saved == 0.0


def test_an_input_with_one_value_saves_nothing():
    x = normals(1)
    assert saving(two_arrangements(x), np.full(128, 3.0)).saved == 0.0


def test_of_a_choice_of_names_each_has_its_own_mean():
    names = np.array(["edge", "cone"] * 64, object)
    loss = np.where((names == "cone")[:, None], [[0.04, 0.0]], [[0.0, 0.02]])
    found = saving(loss, names)
    assert found.saved == pytest.approx(0.01)  # the better one alone loses 0.02 in half of the draws
    assert found.is_clear


def test_the_same_numbers_in_another_unit_save_the_same():
    x = normals(2)
    loss = two_arrangements(x)
    assert saving(loss, x[:, 0]) == saving(loss, np.exp(3.0 * x[:, 0]))


@pytest.mark.parametrize("seed", range(10))
def test_the_threshold_lies_where_the_mean_difference_changes_its_sign(seed):
    x = normals(seed)
    found = threshold(two_arrangements(x, shift=0.01), x[:, 0], logarithmic=False)
    assert found is not None
    assert (found.below, found.above) == (0, 1)
    assert found.low <= found.at <= found.high
    assert found.low - 0.25 <= -0.5 <= found.high + 0.25


def test_the_band_of_a_threshold_covers_the_true_one_in_most_samples():
    covered = 0
    for seed in range(60):
        x = np.random.default_rng(seed).normal(size=(128, 2))
        found = threshold(two_arrangements(x), x[:, 0], logarithmic=False, seed=seed)
        covered += found is not None and found.low <= 0.0 <= found.high
    assert covered >= 48  # 90 of 100 are meant; 48 of 60 is three deviations below


def test_a_threshold_of_a_logarithm_is_found_in_that():
    x = normals(3)
    loss = two_arrangements(x)
    plain, turned = threshold(loss, x[:, 0], False), threshold(loss, np.exp(x[:, 0]), True)
    assert turned.at == pytest.approx(math.exp(plain.at))


def test_no_threshold_where_one_arrangement_is_best_on_both_sides():
    x = normals(1)
    assert threshold(two_arrangements(x, shift=1.0), x[:, 0], False) is None
    assert threshold(two_arrangements(x), np.ones(128), False) is None


def test_a_policy_in_pieces_equals_the_best_of_all_by_trying_them():
    rng = np.random.default_rng(5)
    x, loss = rng.permutation(24).astype(float), rng.random((24, 3))
    order = np.argsort(x)
    best = min(
        loss[order[:j]].sum(axis=0).min()
        + loss[order[j:k]].sum(axis=0).min()
        + loss[order[k:]].sum(axis=0).min()
        for j in range(2, 23)
        for k in range(j + 2, 23)
    )
    assert pieces(loss, x, 3, 0.0).loss * 24 == pytest.approx(best)


def test_a_piece_more_is_cut_only_where_it_saves_enough():
    x = np.arange(100.0)
    loss = np.column_stack([np.where(x < 50, 0.0, 0.02), np.where(x < 50, 0.02, 0.0)])
    assert pieces(loss, x, 3, 0.005).places == (0, 1)
    assert pieces(loss, x, 3, 0.005).cuts == (49.5,)
    assert pieces(loss, x, 3, 0.02).cuts == ()


def test_a_threshold_and_pieces_of_4096_arrangements_take_little_memory():
    rng = np.random.default_rng(3)
    loss, x = rng.random((128, 4096)), rng.random(128)
    tracemalloc.start()
    threshold(loss, x, logarithmic=False)
    pieces(loss, x, 3, 0.001)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 5e8
