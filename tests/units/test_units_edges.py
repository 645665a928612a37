"""Units at their bounds: from which size on another unit is shown, how long a text may be, what a refusal
says."""

import math
from fractions import Fraction

import pytest

from balltravel.report.tables import bench, both
from balltravel.units import (
    DIMENSIONS,
    Dimension,
    UnitError,
    from_si,
    kind_of,
    number_apart,
    to_si,
    to_text,
    to_texts,
    told_apart,
)
from balltravel.units.display import shown_in

# Dimension, SI value, text: just below and at each change of unit.
SHOWN = [
    ("viscosity", 0.0, "0 mPa.s"), ("viscosity", 0.999, "999 mPa.s"), ("viscosity", 1.0, "1 Pa.s"),
    ("viscosity", 1e-9, "1e-06 mPa.s"), ("density", 0.0, "0 kg/m3"), ("density", 1250.0, "1250 kg/m3"),
    ("density", 0.5, "0.5 kg/m3"), ("pressure", 0.0, "0 bar"), ("pressure", 0.5, "0.5 Pa"),
    ("pressure", 99990.0, "99.99 kPa"), ("pressure", 1e5, "1 bar"), ("pressure", 9.999e7, "999.9 bar"),
    ("pressure", 1e8, "100 MPa"), ("pressure", -2e5, "-2 bar"), ("length", 0.0, "0 mm"),
    ("length", 9.99e-4, "999 um"), ("length", 1e-3, "1 mm"), ("length", 0.9999, "999.9 mm"),
    ("length", 1.0, "1 m"), ("length", -0.5, "-500 mm"), ("volume", 0.0, "0 cc"),
    ("volume", 9.99e-3, "9990 cc"), ("volume", 1e-2, "10 l"), ("volume", 2e-7, "0.2 cc"),
    ("frequency", 0.5, "30 /min"), ("frequency", 0.0, "0 /min"), ("time", 0.0, "0 ms"),
    ("activation energy", 4e4, "40 kJ/mol"), ("thermal expansion", 7e-4, "0.0007 1/K"),
    ("time", 300.0, "5 min"), ("time", 7200.0, "2 h"), ("time", 7199.5, "120 min"), ("time", 299.0, "299 s"),
    ("time", 0.9, "900 ms"), ("time", 1.0, "1 s"), ("mass", 0.0, "0 g"), ("mass", 0.9, "900 g"),
    ("mass", 1.0, "1 kg"), ("velocity", 0.0, "0 m/s"), ("velocity", 0.099, "99 mm/s"),
    ("velocity", 0.1, "0.1 m/s"), ("force", 0.0, "0 N"), ("force", 9990.0, "9990 N"),
    ("force", 1e4, "10 kN"), ("force", 0.5, "0.5 N"), ("stiffness", 0.0, "0 N/m"),
    ("stiffness", 9990.0, "9990 N/m"), ("stiffness", 1e4, "10 N/mm"), ("stiffness", 0.5, "0.5 N/m"),
    ("compliance", 1e-10, "10 cc/bar"), ("compliance", 0.0, "0 cc/bar"), ("flexing", 5e-8, "0.5 %/bar"),
    ("sonic conductance", 8e-8, "8 l/s/bar"), ("sonic conductance", 0.0, "0 l/s/bar"),
    ("resistance", 1e9, "1000000000 Pa.s/m3"), ("resistance", 0.0, "0 Pa.s/m3"),
    ("resistance", 0.5, "0.5 Pa.s/m3"), ("flow", 0.0, "0 l/min"), ("flow", 0.9e-5, "540 cc/min"),
    ("stress", 0.0, "0 Pa"), ("stress", 15.0, "15 Pa"), ("shear rate", 0.5, "0.5 1/s"),
    ("flow", 1e-5, "0.6 l/min"), ("energy", 0.0, "0 mJ"), ("energy", 0.9, "900 mJ"), ("energy", 1.0, "1 J"),
    ("angle", 0.0, "0 deg"), ("angle", math.pi / 4, "45 deg"), ("angle", 0.001, "0.0573 deg"),
    ("temperature", 273.15, "0 degC"),
    ("temperature", 0.0, "-273 degC"), ("temperature", 300.0, "26.85 degC"),
    ("temperature", 0.5, "-273 degC"), ("fraction", 0.0, "0 %"), ("fraction", 0.0012, "0.12 %"),
    ("fraction", 2.0, "200 %"), ("number", 0.0, "0"), ("number", 0.7, "0.7"), ("number", 12345.6, "12300"),
]  # fmt: skip


@pytest.mark.parametrize(("dimension", "value", "text"), SHOWN)
def test_each_size_has_its_unit(dimension, value, text):
    assert to_text(value, dimension) == text


def test_every_dimension_is_shown_above():
    assert {row[0] for row in SHOWN} == set(DIMENSIONS)


def test_as_many_digits_are_shown_as_asked_for():
    """Three unless told; more than ten where asked."""
    assert to_text(1.23456789012e-2, "length") == "12.3 mm"
    assert to_text(1.23456789012e-2, "length", 6) == "12.3457 mm"
    assert to_text(1.23456789012e-2, "length", 12) == "12.3456789012 mm"
    assert to_text(1.5e9, "pressure") == "1500 MPa"


def test_what_is_no_number_is_shown_as_it_is():
    assert (to_text(math.inf, "length"), to_text(-math.inf, "pressure")) == ("inf", "-inf")
    assert math.isnan(from_si(math.nan, "length", "mm"))
    assert from_si(math.inf, "length", "mm") == math.inf


def test_what_is_too_large_for_its_shown_unit_is_shown_in_si():
    """1e308 m3 are 1e311 l."""
    assert to_text(1e308, "volume") == "1e+308 m3"


def test_si_values_are_turned_into_a_columns_unit_exactly():
    assert from_si(0.0294, "length", "mm") == 29.4
    assert from_si(0.0254, "length", "in") == 1.0
    assert from_si(293.15, "temperature", "degC") == pytest.approx(20.0, rel=1e-14)
    assert from_si(0.5, "frequency", "/min") == 30.0
    assert from_si(273.15, "temperature", "degF") == pytest.approx(32.0, rel=1e-14)


@pytest.mark.parametrize(("text", "dimension", "value"), [
    ("2 lb/gal", "density", 2 * 0.45359237 / (231 * 0.0254**3)),
    ("3 1/s", "frequency", 3.0),
    ("2 in^3", "volume", 2 * 0.0254**3),
    ("2 m^-1.m^2", "length", 2.0),
    ("2 m2/m", "length", 2.0),
    ("2 m.m/m", "length", 2.0),
    ("2 N.s/m2", "viscosity", 2.0),
    ("2 kg/m/s", "viscosity", 2.0),
    ("4 mm*mm*mm", "volume", 4e-9),
    ("1 bar.min/l", "resistance", 1e5 * 60 / 1e-3),
    ("+5 mm", "length", 5e-3),
    ("-5 mm", "length", -5e-3),
    (".5 mm", "length", 5e-4),
    ("5. mm", "length", 5e-3),
    ("5e-1 mm", "length", 5e-4),
    ("5E2 mm", "length", 0.5),
    ("-2 3/4 in", "length", -2.75 * 0.0254),
    ("3/4 in", "length", 0.75 * 0.0254),
    ("1e-330 m", "length", None),
    ("0 m", "length", 0.0),
    ("0 degC", "temperature", 273.15),
    ("-40 degC", "temperature", 233.15),
    (7, "number", 7.0),
    (-0.5, "fraction", -0.5),
    ("12 %", "fraction", 0.12),
])  # fmt: skip
def test_numbers_and_products_of_units_are_read_exactly(text, dimension, value):
    if value is None:
        with pytest.raises(UnitError, match="too small"):
            to_si(text, dimension)
    else:
        assert to_si(text, dimension) == pytest.approx(value, rel=1e-15)


def test_the_largest_numbers_are_read_and_larger_ones_refused():
    """100 characters; exponents to 330; whole numbers to 1024 bits."""
    assert to_si("1." + "0" * 95 + " mm", "length") == 1e-3
    with pytest.raises(UnitError, match="a text of 101 characters"):
        to_si("1." + "0" * 96 + " mm", "length")
    assert to_si("0e330 m", "length") == 0.0
    assert to_si("1e308 m", "length") == 1e308
    with pytest.raises(UnitError, match='"1e330 m" is too large;'):
        to_si("1e330 m", "length")
    for exponent in ("331", "-331"):
        with pytest.raises(UnitError, match="too large or too small"):
            to_si(f"1e{exponent} m", "length")
    assert to_si(10**99, "number") == 1e99
    with pytest.raises(UnitError, match="a text of 309 characters"):
        to_si(2**1024 - 1, "number")
    with pytest.raises(UnitError, match="a number that is too large"):
        to_si(2**1024, "number")


def refusal(value, dimension, **how):
    with pytest.raises(UnitError) as caught:
        to_si(value, dimension, **how)
    return caught.value


def test_a_refusal_tells_what_was_given_what_is_allowed_and_an_example():
    error = refusal("5 s", "length")
    assert error.given == '"5 s": "s" is a unit of another kind'
    assert error.allowed == "a number and a unit: mm, um, cm, m, in, ft, mil"
    assert error.example == '"29.4 mm"'
    assert str(error) == f"{error.given}; allowed: {error.allowed}; example: {error.example}"
    assert refusal("1,5 mm", "length").allowed == "a point as decimal mark and no commas"
    error = refusal("5 mm", "fraction")
    assert (error.given, error.allowed, error.example) == (
        '"5 mm" has the unit "mm"',
        "%, a bare number",
        '"95 %"',
    )
    assert refusal("5 mm", "number").example == "0.7"
    assert refusal(5, "length").given == "a bare number 5 given"
    assert refusal(True, "fraction").given == "true or false given"


@pytest.mark.parametrize(
    ("unit", "hint"),
    [
        ("MM", 'did you mean "mm"?'),
        ("Mm", 'did you mean "mm"?'),
        ("mmm", 'did you mean "mm"?'),
        ("xyz", ""),
        ("q", ""),
    ],
)
def test_a_near_miss_is_answered_with_the_unit_meant(unit, hint):
    given = refusal(f"5 {unit}", "length").given
    assert hint in given
    assert ("did you mean" in given) == bool(hint)


def test_a_unit_of_another_kind_that_is_spelt_right_is_not_suggested():
    """cSt is accepted for a viscosity, but the density must be known."""
    error = refusal("5 cSt", "viscosity")
    assert "kinematic" in error.given
    assert "did you mean" not in error.given
    assert to_si("5 cSt", "viscosity", density=1000.0) == pytest.approx(5e-3, rel=1e-15)
    assert "another kind" in refusal("5 kg", "viscosity", density=1000.0).given
    assert "unknown unit" in refusal("5 reyn", "viscosity", density=1000.0).given


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (True, "true or false given"),
        ([], "an array given"),
        ((), "an array given"),
        ({}, "a table given"),
        (None, "None given"),
        (Fraction(1), "a Fraction given"),
    ],
)
def test_what_is_no_text_is_named_in_words(value, words):
    assert kind_of(value) == words


def test_a_dimension_cannot_be_changed_and_needs_a_unit_unless_told():
    rule = Dimension("m", ("mm",), "1 mm", (("mm", 0),))
    assert not rule.bare
    assert [name for name, each in DIMENSIONS.items() if each.bare] == ["fraction", "number"]
    with pytest.raises(AttributeError):
        rule.si = "s"


def test_values_of_one_sentence_share_the_unit_of_the_largest():
    assert to_texts((98_100.0, 5.13e5), "pressure", 3) == ["0.981 bar", "5.13 bar"]
    assert to_texts((98_100.0, 51_300.0), "pressure", 3) == ["98.1 kPa", "51.3 kPa"]
    assert to_texts((-5.13e5, 0.0), "pressure", 3) == ["-5.13 bar", "0 bar"]


@pytest.mark.parametrize(
    ("value", "limit", "decimals", "said"),
    [
        (89.968, 90.0, 1, "89.97"),
        (72.42, 90.0, 1, "72.4"),
        (0.50004, 0.5, 2, "0.50004"),
        (0.71, 0.5, 2, "0.71"),
        (0.5, 0.5, 2, "0.50"),
        (0.5 - 1e-12, 0.5, 2, "0.500000000"),  # nine decimals at most
    ],
)
def test_a_number_has_the_decimals_that_tell_it_from_its_limit(value, limit, decimals, said):
    assert told_apart(value, limit, decimals) == said


def test_a_degree_sign_is_an_angle_and_with_a_letter_a_temperature():
    assert to_si("45°", "angle") == pytest.approx(math.pi / 4, rel=1e-15)
    assert to_si("20 °C", "temperature") == pytest.approx(293.15, rel=1e-12)


def test_texts_of_one_sentence_have_three_digits_unless_told():
    assert to_texts((1.23456e-3, 2.0e-3), "length") == ["1.23 mm", "2 mm"]
    assert to_texts((1.23456e-3,), "length", 2) == ["1.2 mm"]


@pytest.mark.parametrize("bits", [-2, -1, 0, 1, 2])
def test_a_size_is_shown_as_what_it_is_whatever_its_last_bits_are(bits):
    """1/4 and 1/8 in and their sum, and 31.75 mm, a few representable numbers up and down: four digits that
    are all of a number stay, a fifth does not."""
    sizes = ((0.00635, "6.35 mm", "1/4 in"), (0.003175, "3.175 mm", "1/8 in"), (-0.009525, "-9.525 mm",
             "-3/8 in"), (0.03175, "31.75 mm", "1 1/4 in"), (0.0047625, "4.76 mm", "3/16 in"))  # fmt: skip
    for exact, metric, us in sizes:
        value = exact
        for _ in range(abs(bits)):
            value = math.nextafter(value, math.inf if bits > 0 else -math.inf)
        assert to_text(value, "length") == bench(value, "length") == metric
        with shown_in("us"):
            assert to_text(value, "length") == bench(value, "length") == us


LENGTHS_IN_US = (
    (0.0, "0 in"), (2.54e-6, "0.1 thou"), (4e-5, "1.57 thou"), (2.5e-4, "9.84 thou"), (2.54e-4, "0.01 in"),
    (5e-4, "0.02 in"), (2.54e-2 / 64, "1/64 in"), (2.54e-2 / 128, "7.81 thou"), (0.006, "0.236 in"),
    (0.0005334, "0.021 in"), (0.02938, "1.16 in"), (0.0293878, "1.157 in"), (0.12065, "4 3/4 in"),
    (0.1, "3.94 in"), (0.9, "35.4 in"), (1.5, "4.92 ft"), (-0.3, "-11.8 in"), (0.0508, "2 in"),
)  # fmt: skip


@pytest.mark.parametrize(("value", "text"), LENGTHS_IN_US)
def test_lengths_in_us_units_read_as_a_shop_reads_them(value, text):
    """Three digits, none finer than a thousandth; four where that is all of a size; whole 64ths as fractions,
    thousandths where there are less than ten, feet from a metre on. Each reads back within its digits."""
    with shown_in("us"):
        assert to_text(value, "length") == bench(value, "length") == both(value, "length") == text
        assert to_si(text, "length") == pytest.approx(
            value, rel=5.1e-3, abs=2.54e-5 / 2 if "in" in text else 0
        )
    assert both(0.005, "length") == "5 mm (0.197 in)"
    assert both(0.0015875, "length") == "1.59 mm (1/16 in)"


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [("1 1/4 in", "1 1/4", "in"), ("3/16 in", "3/16", "in"), ("10 1/s", "10", "1/s"), ("95 %", "95", "%"),
     ("-1/2 in", "-1/2", "in"), ("2 US gal", "2", "US gal"), ("0.7", "0.7", "")],
)  # fmt: skip
def test_a_number_is_told_apart_from_its_unit_fractions_too(text, number, unit):
    assert number_apart(text) == (number, unit)
