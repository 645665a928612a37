"""Churchill (1977): friction in a round pipe at every Reynolds number; the library ``fluids`` as referee."""

import math
from itertools import pairwise

import numpy as np
import pytest

from balltravel.core.friction import friction_ratio


def test_the_friction_agrees_with_the_tabulated_formula(table, agree):
    """1e-8 at laminar rows; elsewhere the columns' ten digits."""
    rows = table("friction_factors.csv")
    assert len(rows) == 17
    for row in rows:
        factor = 64 / row["Re"] * friction_ratio(row["Re"], row["eD"])[0]
        agree(factor, row["Churchill_1977"], rel=1e-8)


def test_the_friction_agrees_with_an_independent_library(agree):
    """1e-11: one formula written twice, sixteenth powers in between."""
    fluids = pytest.importorskip("fluids")
    for reynolds in np.geomspace(1.0, 1e8, 300):
        for roughness in (0.0, 1e-5, 1e-3, 0.05):
            expected = fluids.friction.Churchill_1977(reynolds, roughness)
            factor = 64 / reynolds * friction_ratio(reynolds, roughness)[0]
            agree(factor, expected, rel=1e-11)


def test_turbulent_friction_agrees_with_colebrook(table, agree):
    """3.5 %: what Churchill's formula differs by from Colebrook's at Re 3000 and above."""
    rows = [row for row in table("friction_factors.csv") if not math.isnan(row["Colebrook"])]
    assert len(rows) == 10
    for row in rows:
        factor = 64 / row["Re"] * friction_ratio(row["Re"], row["eD"])[0]
        agree(factor, row["Colebrook"], rel=0.035)


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 0.05])
def test_below_re_500_the_flow_is_exactly_laminar(roughness):
    """The rest is about 1e-24 at Re 500: below the last digit of a double."""
    assert friction_ratio(0.0, roughness) == (1.0, 0.0)
    for reynolds in (5e-324, 1e-300, 1e-9, 1.0, 7.0, 500.0):
        ratio, slope = friction_ratio(reynolds, roughness)
        assert ratio == 1.0
        assert 0.0 <= slope < 1e-24


def test_the_derivative_agrees_with_a_central_difference():
    """2e-7 of the derivative and 1e-10/Re: the difference's truncation and the ratio's round-off."""
    for reynolds in np.geomspace(600.0, 1e7, 60):
        for roughness in (0.0, 1e-4, 0.05):
            step = 1e-5 * reynolds
            above, below = (friction_ratio(reynolds + side * step, roughness)[0] for side in (1, -1))
            slope = friction_ratio(reynolds, roughness)[1]
            assert slope == pytest.approx((above - below) / (2 * step), rel=2e-7, abs=1e-10 / reynolds)


def test_more_flow_or_a_rougher_wall_never_lowers_the_ratio():
    reynolds = np.geomspace(1.0, 1e8, 400)
    for roughness in (0.0, 1e-4, 0.05):
        ratios = [friction_ratio(re, roughness)[0] for re in reynolds]
        assert all(later >= earlier for earlier, later in pairwise(ratios))
    assert friction_ratio(1e5, 0.01)[0] > friction_ratio(1e5, 0.001)[0] > friction_ratio(1e5, 0.0)[0]
