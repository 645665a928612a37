"""A trend is told where readings carry one: by hand, by an independent library, and not of noise."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import linregress

from balltravel.bench.history.trends import TWO_SD, trend


def test_a_line_by_hand():
    """x = 0, 1, 2, 3 and y = 1, 3, 5, 6: slope 17/10, mean 3.75, residuals -0.2, 0.1, 0.4, -0.3, so
    s^2 = 0.3/2, slope error sqrt(0.15/5), error of the level at the middle sqrt(0.15/4)."""
    line = trend([0, 1, 2, 3], [1, 3, 5, 6])
    assert (line.slope, line.level, line.middle) == pytest.approx((1.7, 3.75, 1.5))
    assert line.slope_error == pytest.approx(math.sqrt(0.03))
    assert line.level_error == pytest.approx(math.sqrt(0.0375))
    assert line.counts_for_two == pytest.approx(4.526, abs=1e-3)  # Student's t of 95.45 in 100, 2 of freedom
    assert line.carried
    middle, reach = line.at(3.0)
    assert middle == pytest.approx(6.3)
    assert reach == pytest.approx(line.counts_for_two * math.sqrt(0.0375 + 0.03 * 1.5**2))


def test_a_line_is_that_of_scipy():
    rng = np.random.default_rng(3)
    for count in (3, 4, 7, 30):
        x, y = np.sort(rng.uniform(0, 1e5, count)), rng.normal(size=count)
        line, other = trend(x, y), linregress(x, y)
        assert line.slope == pytest.approx(other.slope)
        assert line.slope_error == pytest.approx(other.stderr)
        assert line.at(0.0)[0] == pytest.approx(other.intercept)
        assert line.at(0.0)[1] == pytest.approx(line.counts_for_two * other.intercept_stderr)
        assert line.carried is bool(other.pvalue < 1.0 - TWO_SD)


@pytest.mark.parametrize("count", [3, 5, 12])
def test_noise_carries_no_trend_in_95_of_100(count):
    """4000 histories: 4.55 in 100 by chance, whose own scatter is 0.33."""
    rng = np.random.default_rng(count)
    places = np.sort(rng.uniform(0, 1, (4000, count)))
    carried = sum(trend(x, y).carried for x, y in zip(places, rng.normal(size=(4000, count)), strict=True))
    assert 100.0 * carried / 4000 == pytest.approx(4.55, abs=1.3)


def test_a_slope_far_above_the_noise_is_found_with_its_error():
    """500 histories of slope 3 and noise 0.1: within so many errors in 95.45 of 100 (scatter 0.93)."""
    rng, x = np.random.default_rng(8), np.linspace(0, 1, 6)
    lines = [trend(x, 3.0 * x + rng.normal(scale=0.1, size=6)) for _ in range(500)]
    assert all(line.carried for line in lines)
    inside = sum(abs(line.slope - 3.0) < line.counts_for_two * line.slope_error for line in lines)
    assert 100 * inside / 500 == pytest.approx(95.45, abs=3.7)


@pytest.mark.parametrize(("x", "y"), [([], []), ([1, 2], [1, 2]), ([1, 1, 1], [1, 2, 3])])
def test_there_is_no_line_through_fewer_than_three_places(x, y):
    assert trend(x, y) is None


def test_readings_on_a_level_carry_no_trend_and_on_a_line_they_do():
    assert not trend([0, 1, 2, 3], [5, 5, 5, 5]).carried
    exact = trend([0, 1, 2, 3], [100, 99, 98, 97])
    assert exact.carried
    assert exact.due == pytest.approx((10.0, 10.0, 10.0))


def test_delivery_that_rises_is_never_due():
    assert trend([0, 1, 2, 3], [1, 2, 3, 4]).due is None


def test_the_band_of_when_it_is_due_is_where_a_fall_of_a_tenth_is_no_longer_excluded():
    """Against the definition, by root finding: 0.9 y(begin) - y(x) over its error is the limit."""
    x, y = np.array([1.0, 2.0, 4.0, 5.0, 7.0]), np.array([101.0, 98.7, 95.9, 93.8, 90.1])
    line = trend(x, y)

    def in_errors(place):
        lever = 0.9 * (line.begin - line.middle) - (place - line.middle)
        error = math.hypot(0.1 * line.level_error, lever * line.slope_error)
        return (-0.1 * line.level + line.slope * lever) / error

    at, least, most = line.due
    assert 0.9 * line.at(line.begin)[0] == pytest.approx(line.at(at)[0])
    limit = line.counts_for_two
    assert least == pytest.approx(brentq(lambda place: in_errors(place) + limit, line.middle, at))
    assert most == pytest.approx(brentq(lambda place: in_errors(place) - limit, at, 100.0))


def test_the_band_of_when_it_is_due_holds_the_truth_in_95_of_100():
    rng, x = np.random.default_rng(21), np.linspace(0, 1, 6)
    lines = [trend(x, 100.0 - 15.0 * x + rng.normal(scale=1.0, size=6)) for _ in range(1000)]
    carried = [line for line in lines if line.carried]
    assert len(carried) > 990
    inside = sum(line.due[1] < 10.0 / 15.0 < line.due[2] for line in carried)
    assert 100.0 * inside / len(carried) == pytest.approx(95.45, abs=2.7)
