"""How a shop writes a quantity: against the factors of a printed table and conversions by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.units import DIMENSIONS, UnitError, amount_to_si, from_si, to_si

INCH = 0.0254

# Thompson and Taylor (2008), NIST Special Publication 811, Appendix B.8, six decimals as printed there (from
# a copy of the table); SG and cpm by their definition.
PRINTED = [
    ("1 mil", "length", 2.54e-5),
    ("1 foot", "length", 3.048e-1),
    ("1 inch", "length", 2.54e-2),
    ("1 US fl oz", "volume", 2.957353e-5),
    ("1 imp fl oz", "volume", 2.841306e-5),
    ("1 imp gal", "volume", 4.54609e-3),
    ("1 US gal", "volume", 3.785412e-3),
    ("4 US qt", "volume", 3.785412e-3),
    ("4 imp qt", "volume", 4.54609e-3),
    ("1 US gpm", "flow", 6.309020e-5),
    ("1 lb/gal", "density", 1.198264e2),
    ("1 lb/imp gal", "density", 9.977637e1),
    ("1 cps", "viscosity", 1e-3),
    ("60 cpm", "frequency", 1.0),
    ("1.35 SG", "density", 1350.0),
]


@pytest.mark.parametrize(("text", "dimension", "printed"), PRINTED)
def test_units_of_the_shop_have_the_printed_factor(text, dimension, printed):
    assert to_si(text, dimension) == pytest.approx(printed, rel=5e-7)


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        ('1/4"', "length", 0.25 * INCH),
        ('3/16"', "length", 3 / 16 * INCH),
        ('1 1/4"', "length", 1.25 * INCH),
        ('1-1/4"', "length", 1.25 * INCH),
        ("1-1/4 in", "length", 1.25 * INCH),
        ('-1-1/4"', "length", -1.25 * INCH),
        ("1/4″", "length", 0.25 * INCH),
        ("2.5 inches", "length", 2.5 * INCH),
        ("6 feet", "length", 6 * 12 * INCH),
        ("40 thou", "length", 0.040 * INCH),
        ("40 mils", "length", 0.040 * INCH),
        ("70 F", "temperature", 294.2611111111111),
        ("70F", "temperature", 294.2611111111111),
        ("70 deg F", "temperature", 294.2611111111111),
        ("25 C", "temperature", 298.15),
        ("25 deg C", "temperature", 298.15),
        ("SG 1.35", "density", 1350.0),
        ("sg = 1.35", "density", 1350.0),
        ("s.g. 1.35", "density", 1350.0),
        ("1.35 sp gr", "density", 1350.0),
        ("11 lbs/gal", "density", 11 * 0.45359237 / (231 * INCH**3)),
        ("30:1", "number", 30.0),
        ("3:2", "number", 1.5),
        ("12.5 : 1", "number", 12.5),
        ("2 US gallons/min", "flow", 2 * 231 * INCH**3 / 60),
        ("30 to 1", "number", 30.0),
        ("5 sec", "time", 5.0),
        ("1⅞ in", "length", 1.875 * INCH),
        ("½″", "length", 0.5 * INCH),
        ("1 7/8''", "length", 1.875 * INCH),
        ("1.5 IN", "length", 1.5 * INCH),
        ("48 Millimeters", "length", 0.048),
        ("5'", "length", 60 * INCH),
        ("5 ft 6 1/2 in", "length", 66.5 * INCH),
        ("5' 6\"", "length", 66 * INCH),
        ("5' 1/2\"", "length", 60.5 * INCH),
        ("5 ft 3/8 in", "length", 60.375 * INCH),
        ("5'-6.25\"", "length", 66.25 * INCH),
        ("5’ 6½”", "length", 66.5 * INCH),
        ("5′ 6″", "length", 66 * INCH),
        ("3500 centipoise", "viscosity", 3.5),
        ("3500 CPS", "viscosity", 3.5),
        ("3500 mPas", "viscosity", 3.5),
        ("35 Poise", "viscosity", 3.5),
        ("1800 PSI", "pressure", 1800 * 4.4482216152605 / INCH**2),
        ("120 Bar", "pressure", 1.2e7),
        ("30 cycles per minute", "frequency", 0.5),
        ("30 CPM", "frequency", 0.5),
        ("0.5 Hz", "frequency", 0.5),
        ("11 ppg", "density", 11 * 0.45359237 / (231 * INCH**3)),
        ("11 lb/gallon", "density", 11 * 0.45359237 / (231 * INCH**3)),
        ("70 f", "temperature", 294.2611111111111),
    ],
)
def test_what_a_shop_writes_is_read(text, dimension, expected):
    assert to_si(text, dimension) == pytest.approx(expected, rel=1e-12)


def test_a_difference_of_temperatures_has_no_offset():
    assert amount_to_si("9 F", "temperature") == pytest.approx(5.0, rel=1e-12)
    assert amount_to_si("5 C", "temperature") == pytest.approx(5.0, rel=1e-12)


@pytest.mark.parametrize("text", ["5 gal", "5 qt", "5 fl oz", "5 oz"])
def test_a_volume_that_may_be_two_says_how_to_write_it(text):
    with pytest.raises(UnitError) as caught:
        to_si(text, "volume")
    written = caught.value.allowed.split('"')[1::2]
    assert written
    assert all(to_si(example, "volume") > 0.0 for example in written)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("100 C", "viscosity"),
        ("100 F", "viscosity"),
        ("60 s", "viscosity"),
        ("100 KU", "viscosity"),
        ("1800 psig", "pressure"),
        ("1800 lbs", "pressure"),
        ("5 mPa", "pressure"),
        ("5 mPa", "stress"),
        ("20 to 30 mm", "length"),
        ("20-30 mm", "length"),
        ("30 spm", "frequency"),
        ("5 m", "time"),
        ("70 degrees", "temperature"),
        ("3 oz", "mass"),
        ("3 gpm", "flow"),
    ],
)
def test_what_may_mean_two_things_stays_an_error_that_says_what_to_write(text, dimension):
    with pytest.raises(UnitError) as caught:
        to_si(text, dimension, 1000.0)
    assert "is unclear" in caught.value.given
    assert '"' in caught.value.allowed


@pytest.mark.parametrize("text", ["3500 MPas", "3500 mpa.s", "48 M", "48 MM2"])
def test_letters_whose_case_tells_milli_from_mega_are_not_guessed(text):
    with pytest.raises(UnitError):
        to_si(text, "viscosity" if "P" in text.upper() else "length")


UNITS = [
    (dimension, unit)
    for dimension, rule in DIMENSIONS.items()
    for unit in rule.accepted
    if "bare" not in unit
]
UNITS += [("length", unit) for unit in ('"', "inch", "inches", "feet", "foot", "thou", "mils")]
UNITS += [("volume", unit) for unit in ("imp qt", "imp fl oz", "US gallons")]
KINEMATIC = ("cSt", "mm2/s")


@given(st.sampled_from([pair for pair in UNITS if pair[1] not in KINEMATIC]), st.floats(1e-3, 1e6))
def test_a_value_in_any_unit_reads_back(pair, number):
    dimension, unit = pair
    value = to_si(f"{number!r} {unit}", dimension)
    # An offset unit loses the digits of a value far below its offset.
    slack = 1e-12 if dimension == "temperature" else 0.0
    si = DIMENSIONS[dimension].si
    assert to_si(f"{value!r} {si}".strip(), dimension) == pytest.approx(value, rel=1e-15, abs=slack)
    if not (dimension == "temperature" and len(unit) == 1):  # C and F are read, degC and degF are ours
        assert from_si(value, dimension, unit) == pytest.approx(number, rel=1e-14, abs=300 * slack)


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.sampled_from(" -"))
def test_a_mixed_number_is_its_whole_and_its_fraction(whole, part, of, between):
    text = f'{whole}{between}{part}/{of}"' if whole else f'{part}/{of}"'
    assert to_si(text, "length") == pytest.approx((whole + part / of) * INCH, rel=1e-15)


@given(st.sampled_from(sorted(DIMENSIONS)), st.text('0123456789:/-." SGKUCFUSimpgalflozqtmrn', max_size=16))
def test_no_text_of_a_shop_raises_anything_but_a_unit_error(dimension, text):
    try:
        assert math.isfinite(to_si(text, dimension, 1000.0))
    except UnitError as error:
        assert all((error.given, error.allowed, error.example))  # noqa: PT017
