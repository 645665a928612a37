"""Quantities shown at the very bounds between two units, and at the end of the numbers."""

import pytest

from balltravel.units import to_text


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (999.5, "pressure", "999.5 Pa"),
        (1000.0, "pressure", "1 kPa"),
        (99999.5, "pressure", "99.9995 kPa"),
        (1e5, "pressure", "1 bar"),
        (99999999.5, "pressure", "999.999995 bar"),
        (1e8, "pressure", "100 MPa"),
        (9999.5, "force", "9999.5 N"),
        (1e4, "force", "10 kN"),
        (9999.5, "stiffness", "9999.5 N/m"),
        (1e4, "stiffness", "10 N/mm"),
        (2.0, "volume", "2000 l"),
    ],
)
def test_a_unit_is_shown_from_its_bound_on_and_not_below(value, dimension, text):
    assert to_text(value, dimension, digits=10) == text


def test_a_number_that_rounding_would_lift_over_the_largest_is_shown_in_ten_digits():
    assert to_text(1.797612345678e308, "number") == "1.797612346e+308"
