"""How far own solves of a check lie from the shipped ones, as it is printed."""

import pytest

from balltravel.report.text.resistance import _percent


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.6608, "+66.1"),
        (2.6049, "+260"),
        (52.1312, "+5210"),
        (-0.0019, "-0.19"),
        (-0.00001, "+0.00"),
        (0.0, "+0.00"),
    ],
)
def test_a_share_is_shown_in_percent_with_three_digits_and_two_decimals_at_most(share, words):
    assert _percent(share) == words
