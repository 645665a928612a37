"""A creep that nobody saw says only that it was slower, held against numbers of a normal law."""

import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from balltravel.bench.causes import SHARES
from balltravel.bench.fit import Model, rows_of
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.one_sided import chi_square_of, log_likelihood, taken
from balltravel.bench.runs import Answers

COVARIANCE = np.array([[1.0, 0.6, 0.2], [0.6, 2.0, 0.3], [0.2, 0.3, 0.5]])
PRECISION = np.linalg.inv(COVARIANCE)
NONE, LAST = np.zeros(3, bool), np.array([False, False, True])
UP = "seconds_per_stroke_up"


def test_without_bounds_it_is_the_normal_law():
    off = np.array([[0.3, -1.2, 0.7], [0.0, 0.1, -2.0]])
    np.testing.assert_allclose(taken(off, PRECISION, NONE), off)
    constant = 1.5 * math.log(2.0 * math.pi)
    law = multivariate_normal(np.zeros(3), COVARIANCE)
    np.testing.assert_allclose(log_likelihood(off, COVARIANCE, NONE), law.logpdf(off) + constant)


def test_a_bound_that_is_kept_adds_nothing_however_far_below_it_all_lies():
    two = multivariate_normal(np.zeros(2), COVARIANCE[:2, :2])
    for below in (3.0, 8.0):
        off = np.array([0.3, -1.2, below])
        seen = off[:2] @ np.linalg.solve(COVARIANCE[:2, :2], off[:2])
        assert chi_square_of(off, PRECISION, LAST) == pytest.approx(seen)
        likely = log_likelihood(off, COVARIANCE, LAST) - math.log(2.0 * math.pi)
        assert likely == pytest.approx(two.logpdf(off[:2]), abs=1e-3)


def test_a_bound_that_is_passed_counts_as_a_reading_and_its_chance_is_that_of_less():
    off = np.array([0.3, -1.2, -1.5])
    assert chi_square_of(off, PRECISION, LAST) == pytest.approx(off @ PRECISION @ off)
    alone = log_likelihood(off[2:], COVARIANCE[2:, 2:], np.array([True]))
    assert alone == pytest.approx(norm.logcdf(-1.5 / math.sqrt(0.5)))


def test_two_bounds_are_taken_where_the_quadratic_form_is_least():
    from scipy.optimize import minimize

    off, bounds = np.array([1.5, -0.4, 0.1]), np.array([False, True, True])
    best = minimize(
        lambda x: np.array([1.5, *x]) @ PRECISION @ np.array([1.5, *x]), [-0.5, 0.0],
        bounds=[(None, -0.4), (None, 0.1)],
    )  # fmt: skip
    np.testing.assert_allclose(taken(off, PRECISION, bounds)[1:], best.x, atol=1e-4)


def _no_creep(speeds, sound):
    """No creep in five minutes; a leak creeps at these speeds, a sound lower at that one [m/s]."""
    observed = Observations(
        (Condition({}, {"cycle_rate": Reading(0.4)}),), (), 1e7, {UP: Reading(300.0, none=True)}
    )
    work = Answers({"cycle_rate": 0.4}, {"piston": {"cycle_rate": np.full(3, 0.4)}}, {})
    stall = Answers({UP: sound}, {"piston": {UP: np.array(speeds)}}, {})
    return Model(rows_of(observed, 0.12), {"seen 1": work, "stall": stall})


def test_in_a_diagnosis_a_creep_that_nobody_saw_excludes_only_what_creeps_faster():
    assert len(SHARES) == 3
    visible = 1e-3 / 300.0
    slow = _no_creep(np.array([0.05, 0.1, 0.2]) * visible, 0.0).fits(["piston"])
    assert slow["piston"].evidence == pytest.approx(slow[""].evidence, abs=0.01)
    assert slow["piston"].chi_square == pytest.approx(0.0, abs=1e-9)
    assert slow["piston"].largest_effect == 0.0
    fast = _no_creep(np.array([20.0, 50.0, 100.0]) * visible, 0.0).fits(["piston"])
    assert fast["piston"].evidence < fast[""].evidence - 0.5
    assert fast["piston"].largest_effect > 10.0
