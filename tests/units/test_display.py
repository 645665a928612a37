"""Which unit stands for which, and sentences and limits in the units in use."""

from fractions import Fraction

import pytest

from balltravel.units import DIMENSIONS, to_text, told_apart
from balltravel.units.convert import linear
from balltravel.units.display import (
    against,
    decimals_in_use,
    difference,
    fixed,
    from_metric,
    is_foreign,
    per_metric,
    prose,
    shown_in,
)
from balltravel.units.systems import IN_US, STRESS_IN_US, unit_in_use

KINEMATIC = {"cSt", "mm2/s"}


@pytest.mark.parametrize("metric", sorted(set(IN_US) - KINEMATIC))
def test_the_unit_that_stands_for_a_metric_one_is_of_the_same_kind(metric):
    assert linear(metric, IN_US[metric])[0] > 0
    assert linear("Pa", STRESS_IN_US)[0] == Fraction(10)


def test_every_unit_that_texts_choose_from_has_one_in_its_place_or_is_no_unit_of_one_system():
    kept = {
        "cc",
        "/min",
        "cycles/min",
        "1/s",
        "ms",
        "s",
        "min",
        "h",
        "cc/min",
        "deg",
        "%",
        "",
        "kJ/mol",
        "1/K",
    }
    for dimension in DIMENSIONS.values():
        for unit, _ in dimension.shown:
            assert unit in IN_US or unit in kept, unit


def test_a_sentence_of_the_program_has_its_sizes_in_the_units_in_use():
    text = "below 5 degC nobody coats; 1 to 8 bar; organic liquids lie near 1000 to 2000 MPa; draw 10 cc."
    assert prose(text) == text
    with shown_in("metric"):
        assert prose(text) == text
    with shown_in("us"):
        assert prose(text) == (
            "below 41 degF nobody coats; 14.5 to 116 psi; organic liquids lie near 145000 to 290000 psi; "
            "draw 10 cc."
        )
        assert prose('{ exactly = "5 Pa.s" }, at most 20 mm.') == '{ exactly = "5000 cP" }, at most 0.787 in.'
        assert (
            prose("in 5 minutes, 3 m2, 2 Pa.s^n, shim 2 of 3") == "in 5 minutes, 3 m2, 2 Pa.s^n, shim 2 of 3"
        )
        assert prose(prose(text)) == prose(text)


@pytest.mark.parametrize(
    ("text", "units", "foreign"),
    [
        ("5 Pa.s", "us", True),
        ("1 mm, 2 mm", "us", True),
        ("3/16 in", "us", False),
        ("8 cc", "us", False),
        ("3/16 in", "metric", True),
        ("10.4 lb/gal", "metric", True),
        ("5 Pa.s", "metric", False),
        ("3/16 in", "both", False),
        ("5 Pa.s", "both", False),
    ],
)
def test_what_was_written_in_the_other_system_is_known(text, units, foreign):
    with shown_in(units):
        assert is_foreign(text) == foreign


@pytest.mark.parametrize("speed", [0.3, 0.4999, 0.49999999, 0.500001, 0.505, 0.7])
@pytest.mark.parametrize("units", ["us", "both"])
def test_a_number_and_its_limit_stay_on_their_sides_in_any_unit(speed, units):
    with shown_in(units):
        number, limit = against(speed, 0.5, "velocity", "m/s", 2)
        unit = unit_in_use("m/s")
    assert limit.endswith(f" {unit}")
    assert (float(number) > float(limit.split()[0])) == (speed > 0.5)
    assert (float(number) < float(limit.split()[0])) == (speed < 0.5)
    if units == "both":
        assert (number, limit) == (told_apart(speed, 0.5, 2), "0.5 m/s")


def test_decimals_show_about_as_much_in_either_unit():
    with shown_in("us"):
        assert fixed(0.002, "length", "mm", 2) == "0.079"
        assert (decimals_in_use("bar", 3), decimals_in_use("m/s", 2), decimals_in_use("cc", 1)) == (2, 1, 1)
        assert (difference(5.0), per_metric("degC"), from_metric(20.0, "degC")) == ("9 degF", 1.8, 68.0)
        assert fixed(0.0047625, "length", "mm", 2) == "3/16"
    assert (fixed(0.002, "length", "mm", 2), difference(5.0)) == ("2.00", "5 K")


def test_a_travel_between_two_thousandths_is_the_same_in_a_table_and_in_a_sentence():
    travel = 0.1675 * 0.0254
    with shown_in("us"):
        assert to_text(travel, "length") == "0.168 in"
        assert fixed(travel, "length", "mm", 2) == "0.168"
