"""Laws of chance of one value, against values worked out by hand and laws that hold for any of them."""

import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from balltravel.units.spread import MOST, SURE, Spread
from balltravel.units.typical import BORED, Typical

ROUND_OFF = 1e-12
"""Relative; each value takes a few operations."""

sizes = st.floats(1e-6, 1e6)
shares = st.floats(0.0, 1.0)


def test_an_even_law_has_a_quarter_of_its_way_at_a_quarter_of_chance():
    assert Spread("even", (2.0, 10.0)).at(0.25) == pytest.approx(4.0, rel=ROUND_OFF)


def test_an_even_law_of_the_logarithm_has_the_geometric_mean_in_its_middle():
    law = Spread("even", (2.0, 18.0), logarithmic=True)
    assert law.likely == pytest.approx(6.0, rel=ROUND_OFF)
    assert law.at(0.25) == pytest.approx(2.0 * math.sqrt(3.0), rel=ROUND_OFF)


def test_a_triangle_passes_its_likely_value_where_the_area_before_it_ends():
    """The area of a triangle of height 2/8 left of the likely value 4 over a base of 2: a quarter."""
    law = Spread("triangle", (2.0, 4.0, 10.0))
    assert law.at(0.25) == pytest.approx(4.0, rel=ROUND_OFF)
    assert law.at(0.0625) == pytest.approx(3.0, rel=ROUND_OFF), "half of the base: a quarter of that area"
    assert law.likely == 4.0


def test_a_triangle_is_that_of_scipy():
    law, theirs = Spread("triangle", (2.0, 4.0, 10.0)), scipy.stats.triang(0.25, 2.0, 8.0)
    at = np.linspace(0.01, 0.99, 23)
    assert law.at(at) == pytest.approx(theirs.ppf(at), rel=1e-9)


def test_of_a_normal_law_95_of_100_lie_within_its_reach():
    """But for what lies in the tails beyond three standard deviations, which are cut: 0.27 of 100."""
    law = Spread("normal", (5.0, 1.0))
    inside = scipy.stats.truncnorm(-MOST, MOST, loc=5.0, scale=1.0 / SURE)
    assert law.at([0.025, 0.5, 0.975]) == pytest.approx(inside.ppf([0.025, 0.5, 0.975]), rel=1e-9)
    share = inside.cdf(6.0) - inside.cdf(4.0)
    assert share == pytest.approx(0.95, abs=0.003)


def test_a_factor_reaches_as_far_up_as_down():
    law = Spread("normal", (5.0, 1.5), logarithmic=True)
    low, high = law.at([0.1, 0.9])
    assert low * high == pytest.approx(25.0, rel=1e-9)
    assert law.likely == 5.0


def test_the_ends_of_a_normal_law_are_its_cut_tails():
    law = Spread("normal", (5.0, 1.5), logarithmic=True)
    assert law.at([0.0, 1.0]) == pytest.approx(law.ends, rel=1e-9)
    assert law.ends == pytest.approx((5.0 / 1.5 ** (3.0 / SURE), 5.0 * 1.5 ** (3.0 / SURE)), rel=ROUND_OFF)


def test_names_have_as_much_of_the_way_as_they_weigh():
    law = Spread("choices", choices=("edge", "cone"), weights=(3.0, 1.0))
    assert law.at([0.0, 0.74, 0.76, 1.0]).tolist() == ["edge", "edge", "cone", "cone"]
    assert law.likely == "edge"


def test_a_distribution_of_scipy_is_asked_for_its_values():
    law = Spread("scipy", name="lognorm", shape=(("s", 0.3), ("scale", 5.0)))
    assert law.likely == pytest.approx(5.0, rel=ROUND_OFF)
    assert law.at(0.975) == pytest.approx(5.0 * math.exp(0.3 * SURE), rel=1e-9)


@pytest.mark.parametrize("name", ["no_such", "poisson", "rv_continuous", "__class__"])
def test_what_is_no_continuous_distribution_is_never_called(name):
    with pytest.raises(ValueError, match="no continuous distribution"):
        Spread("scipy", name=name).at(0.5)


def test_values_beyond_the_limits_are_drawn_at_them():
    law = Spread("normal", (0.9, 0.2)).within(0.3, 1.0)
    assert law.at([0.001, 0.5, 0.999]).tolist() == pytest.approx([law.at(0.001), 0.9, 1.0])
    assert law.limits == (0.3, 1.0)
    assert Spread("even", (0.4, 0.9)).within(0.3, 1.0).limits == (), "it does not reach them"


@given(sizes, sizes, sizes, shares, st.booleans())
def test_a_triangle_lies_within_its_ends(a, b, c, share, logarithmic):
    low, likely, high = sorted((a, b, c))
    value = Spread("triangle", (low, likely, high), logarithmic=logarithmic).at(share)
    assert low <= value <= high


@given(sizes, sizes, shares, st.booleans())
def test_an_even_law_lies_within_its_ends_and_so_does_its_likely_value(a, b, share, logarithmic):
    low, high = sorted((a, b))
    law = Spread("even", (low, high), logarithmic=logarithmic)
    for value in (law.at(share), law.likely):
        assert low <= value <= high


@given(sizes, st.floats(1.0, 10.0), st.lists(shares, min_size=2, max_size=9))
def test_more_chance_is_never_a_smaller_value(middle, factor, places):
    places = np.sort(places)
    laws = [
        Spread("normal", (middle, factor), logarithmic=True),
        Spread("normal", (middle, factor)),
        Spread("even", (middle, middle * factor)),
        Spread("triangle", (middle / factor, middle, middle * factor), logarithmic=True),
    ]
    for law in laws:
        values = law.at(places)
        assert np.all(np.diff(values) >= -1e-9 * np.abs(values[:-1]))


@given(sizes)
def test_a_range_of_no_width_is_exact(value):
    assert Spread("even", (value, value)).is_exact
    assert Spread("triangle", (value, value, value)).is_exact
    assert Spread("normal", (value, 0.0)).is_exact
    assert Spread("normal", (value, 1.0), logarithmic=True).is_exact
    assert not Spread("even", (value, 2.0 * value)).is_exact


@given(sizes, st.floats(1.01, 10.0))
def test_a_typical_factor_is_about_the_value(value, factor):
    law = Typical("a test", factor=factor).about(value)
    assert law.likely == value
    assert law.ends[0] < value < law.ends[1]


def test_a_factor_of_nothing_is_nothing():
    assert Typical("a test", factor=2.0).about(0.0).is_exact


@pytest.mark.parametrize(
    ("size", "tolerance"),
    [(5e-3, 5e-5), (6e-3, 5e-5), (6.1e-3, 1e-4), (30e-3, 1e-4), (31e-3, 1.5e-4), (0.2, 2e-4), (5.0, 3e-4)],
)
def test_a_bored_size_has_the_tolerance_of_its_step(size, tolerance):
    assert BORED.about(size).numbers == (size, tolerance)
