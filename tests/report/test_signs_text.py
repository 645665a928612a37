"""Values of signs in the units in use."""

import math

import pytest

from balltravel.report.text.bench.signs import sign_text
from balltravel.units.display import shown_in


@pytest.mark.parametrize(
    ("units", "vacuum", "tip"),
    [("metric", "-0.221 bar", "113 bar"), ("both", "-0.221 bar", "113 bar"),
     ("us", "-6.53 inHg", "1640 psi")],
)  # fmt: skip
def test_pressures_at_inlet_and_tip_stand_in_the_units_of_the_bench(units, vacuum, tip):
    """22.1 kPa are 6.526 inches of mercury at 3386.389 Pa, 113 bar are 1638.9 psi at 6894.757 Pa."""
    with shown_in(units):
        assert sign_text("vacuum_at_inlet", -22100.0) == vacuum
        assert sign_text("tip_pressure", 113e5) == tip


def test_what_was_not_seen_is_said():
    assert sign_text("seconds_per_stroke_up", math.inf) == "none"
    assert sign_text("give_up", math.nan) == "-"
