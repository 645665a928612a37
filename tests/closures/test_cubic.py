"""The cubic spline that needs no library, against scipy's, which does."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from balltravel.closures.cubic import spline

SHAPES = [(4,), (5,), (30,), (481,), (12, 3), (6, 7, 20, 3)]


def knots_and_values(shape):
    """Knots from close together to far apart, so that rows of the system are exchanged."""
    rng = np.random.default_rng(len(shape) + shape[0])
    return np.cumsum(rng.uniform(1e-3, 3.0, shape[0])), rng.normal(size=shape)


@pytest.mark.parametrize("shape", SHAPES)
def test_its_coefficients_are_those_of_scipy(shape):
    """1e-12 of the largest: to the last bit where the machine fuses no multiplication with an addition."""
    x, y = knots_and_values(shape)
    for own, theirs in zip(spline(x, y).powers, CubicSpline(x, y).c, strict=True):
        np.testing.assert_allclose(own, theirs, rtol=0.0, atol=1e-12 * np.abs(theirs).max())


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("places", [(), (1,), (60,), (20, 3)])
def test_its_values_are_those_of_scipy_at_knots_between_and_beyond_them(shape, places):
    """1e-12 of the largest."""
    x, y = knots_and_values(shape)
    at = np.random.default_rng(1).uniform(x[0] - 1.0, x[-1] + 1.0, places)
    at.ravel()[: x.size] = x[: at.size]
    own, theirs = spline(x, y)(at), CubicSpline(x, y)(at)
    assert own.shape == theirs.shape == places + shape[1:]
    np.testing.assert_allclose(own, theirs, rtol=0.0, atol=1e-12 * np.abs(theirs).max())


def test_a_cubic_is_met_by_itself():
    """Rounding."""
    x = np.array([-2.0, -1.5, 0.0, 1.0, 4.0, 4.5])
    cubic = np.polynomial.Polynomial([1.0, -2.0, 0.5, 0.25])
    at = np.linspace(-3.0, 6.0, 40)
    np.testing.assert_allclose(spline(x, cubic(x))(at), cubic(at), rtol=0.0, atol=1e-12)
