"""Brent's method against roots that are known, and against scipy's."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from balltravel.core.roots import root


def test_a_root_is_met_within_the_tolerance_asked_for():
    for xtol in (1e-3, 1e-9, 1e-14):
        assert root(math.cos, 1.0, 2.0, xtol) == pytest.approx(0.5 * math.pi, abs=xtol + 1e-15)
    assert root(lambda x: x**3 - 8.0, 0.0, 100.0, 0.0, 1e-6) == pytest.approx(2.0, rel=1e-6)


def test_a_root_at_an_end_is_that_end():
    assert root(lambda x: x - 1.0, 1.0, 2.0) == 1.0
    assert root(lambda x: x - 2.0, 1.0, 2.0) == 2.0
    assert root(lambda x: 1.0 - x, 1.0, 2.0) == 1.0
    assert root(lambda x: 2.0 - x, 1.0, 2.0) == 2.0


def test_ends_of_one_sign_are_refused():
    with pytest.raises(ValueError, match=r"no change of sign from 1\.0 to 2\.0"):
        root(lambda x: x, 1.0, 2.0)


def test_a_tolerance_that_no_number_meets_ends():
    with pytest.raises(ArithmeticError, match=r"no root in 100 turns from 1\.0 to 2\.0"):
        root(math.cos, 1.0, 2.0, 0.0, 0.0)


def functions(rng):
    """Smooth, steep and nearly flat ones."""
    a, b, c = rng.normal(size=3) * 10.0 ** rng.uniform(-2.0, 2.0)
    yield lambda x: a + b * x + c * x**3
    yield lambda x: math.exp(0.1 * a * x) - abs(b) * 0.1
    yield lambda x: math.atan(a * x - b)
    yield lambda x: x**9 - min(abs(c), 1.0)


def test_it_asks_for_the_same_points_as_scipy_and_ends_at_the_same():
    """So that no number changes with the library; 1e-13 for a machine that fuses operations."""
    rng, met = np.random.default_rng(1), 0
    for _ in range(200):
        for function in functions(rng):
            low, high, xtol = -rng.uniform(0.0, 5.0), rng.uniform(0.0, 5.0), 10.0 ** rng.uniform(-14.0, -3.0)
            try:
                theirs, told = brentq(function, low, high, xtol=xtol, full_output=True)
            except ValueError:
                continue
            asked = []
            own = root(lambda x, f=function, seen=asked: (seen.append(x), f(x))[1], low, high, xtol)
            assert own == pytest.approx(theirs, rel=1e-13, abs=1e-13)
            assert abs(len(asked) - told.function_calls) <= 1
            met += 1
    assert met > 300
