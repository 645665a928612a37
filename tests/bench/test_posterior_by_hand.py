"""What readings leave of unknowns, where that is known: linear signs, and simple ones that are not."""

import numpy as np
import pytest

from balltravel.bench.calibrate.posterior import SHOWS, Read, linear_at, posterior_of

SLOPES = np.array([[2.0, 0.5, 0.0], [-1.0, 1.5, 0.3], [0.7, 0.2, 1.1], [0.0, 1.0, -0.8]])
SDS = np.array([0.2, 0.3, 0.1, 0.5])
READ = np.array([1.0, -0.4, 0.8, 2.0])


def fit(signs, values, sds, count, at_most=None):
    first = linear_at(np.zeros(count), np.ones(count, bool), signs)
    read = Read(values, sds, np.zeros(len(values), bool) if at_most is None else at_most)
    return posterior_of(read, signs, np.zeros(count), first)


def linear(points):
    return points @ SLOPES.T


def test_of_linear_signs_the_posterior_is_that_of_the_textbook():
    """Normal prior, normal errors: (1 + A'WA)^-1, and chi-square that of y about 0 with AA' + errors."""
    p = fit(linear, READ, SDS, 3)
    weights = np.diag(SDS**-2.0)
    covariance = np.linalg.inv(np.eye(3) + SLOPES.T @ weights @ SLOPES)
    np.testing.assert_allclose(p.covariance, covariance, rtol=1e-9)
    np.testing.assert_allclose(p.best, covariance @ SLOPES.T @ weights @ READ, rtol=1e-6, atol=1e-9)
    expected = READ @ np.linalg.solve(SLOPES @ SLOPES.T + np.diag(SDS**2), READ)
    assert p.chi_square == pytest.approx(expected, rel=1e-6)


def test_chi_square_has_as_many_degrees_of_freedom_as_readings():
    rng = np.random.default_rng(5)
    every = []
    for _ in range(400):
        values = rng.normal(size=3) @ SLOPES.T + SDS * rng.normal(size=4)
        every.append(fit(linear, values, SDS, 3).chi_square)
    # The mean of 400 chi-squares of 4 scatters by sqrt(8/400) = 0.14.
    assert np.mean(every) == pytest.approx(4.0, abs=0.45)
    assert np.mean(np.array(every) > 13.28) < 0.035  # 1 of 100


def test_unknowns_that_hardly_show_are_a_further_error_and_stay_unlearnt():
    """Five that move each reading by a little less than SHOWS, all one way: no smaller than what was left."""
    small = 0.9 * SHOWS * SDS[:, None] * np.ones((4, 5))
    slopes = np.hstack([SLOPES, small])
    p = fit(lambda points: points @ slopes.T, READ, SDS, 8)
    whole = np.linalg.inv(np.eye(8) + slopes.T @ np.diag(SDS**-2.0) @ slopes)
    assert p.fitted.tolist() == [True] * 3 + [False] * 5
    np.testing.assert_allclose(p.covariance[:3, :3], whole[:3, :3], rtol=1e-9)
    np.testing.assert_allclose(p.widths[3:], 1.0)


def test_a_curved_sign_is_followed_to_where_it_fits():
    """exp(z) read as exp(1.5) with one in a hundred: Gauss-Newton from 0 overshoots, and comes back."""
    p = fit(lambda points: np.exp(points), np.array([np.exp(1.5)]), np.array([0.01]), 1)
    assert p.best[0] == pytest.approx(1.5, abs=0.01)
    assert p.widths[0] == pytest.approx(0.01 / np.exp(1.5), rel=0.2)


def test_where_a_run_fails_on_one_side_the_slope_is_that_of_the_other():
    def signs(points):
        return np.where(points[:, :1] > 0.1, np.nan, points @ np.array([[3.0], [1.0]]))

    at = linear_at(np.zeros(2), np.ones(2, bool), signs)
    np.testing.assert_allclose(at.slopes, [[3.0, 1.0]])


def test_a_bound_says_nothing_of_what_lies_below_it_and_pulls_down_what_lies_above():
    """One unknown read as 0 and, as three times itself, as at most 1: kept, the fit is that without it; where
    the first reading says 1 the bound is passed, and the fit is that of two plain readings."""

    def twice(points):
        return points @ np.array([[1.0, 3.0]])

    sds, second = np.array([0.5, 0.2]), np.array([False, True])
    kept = fit(twice, np.array([0.2, 1.0]), sds, 1, second)
    assert kept.best[0] == pytest.approx(0.2 * 4.0 / (1.0 + 4.0), abs=1e-6)
    assert kept.widths[0] == pytest.approx(1.0 / np.sqrt(1.0 + 4.0))
    passed = fit(twice, np.array([1.0, 1.0]), sds, 1, second)
    plain = fit(twice, np.array([1.0, 1.0]), sds, 1)
    assert passed.best[0] == pytest.approx(plain.best[0], abs=1e-3)
    assert passed.chi_square == pytest.approx(plain.chi_square, rel=1e-3)
    # A bound narrows one side alone, so that the covariance is that of the other reading.
    assert passed.widths[0] == pytest.approx(kept.widths[0])
