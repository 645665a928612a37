"""A reading as one says it is the table that means the same, and a range of readings is one reading."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.material.cups import CUPS
from balltravel.material.instruments import NARROW, coaxial_shear_rate
from balltravel.material.reading_ranges import table_of_range
from balltravel.material.reading_text import is_reading, table_of
from balltravel.material.viscosity_reading import checked, reading_of
from balltravel.units import UnitError

DENSITY = 1200.0

SAID = [
    ("100 KU", {"krebs": 100}),
    ("KU 100", {"krebs": 100}),
    ("100 ku at 25 C", {"krebs": 100, "temperature": "25 degC"}),
    ("100 KU @ 77 F", {"krebs": 100, "temperature": "77 degF"}),
    ("ISO 4 mm, 60 s", {"cup": "ISO 4 mm", "time": "60 s"}),
    ("ISO 2431 4 mm, 60 s at 23 degC", {"cup": "ISO 4 mm", "time": "60 s", "temperature": "23 degC"}),
    ("Zahn 3, 25 s", {"cup": "Zahn 3", "time": "25 s"}),
    ("25 s Zahn 3", {"cup": "Zahn 3", "time": "25 s"}),
    ("Zahn 3 25 sec", {"cup": "Zahn 3", "time": "25 s"}),
    ("#4 Ford cup, 35 seconds", {"cup": "Ford 4", "time": "35 s"}),
    ("No. 4 Ford 35 s", {"cup": "Ford 4", "time": "35 s"}),
    ("150 SUS at 100 F", {"saybolt_universal": "150 s", "temperature": "100 degF"}),
    ("12 Pa.s at 10 1/s", {"viscosity": "12 Pa.s", "shear_rate": "10 1/s"}),
    ("3500 cps at 10 1/s and 25 C, rested",
     {"viscosity": "3.5 Pa.s", "shear_rate": "10 1/s", "temperature": "25 degC", "state": "rested"}),
    ("300 Pa at 100 1/s", {"stress": "300 Pa", "shear_rate": "100 1/s"}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "table"), SAID, ids=[text for text, _ in SAID])
def test_a_text_is_the_table_that_means_the_same(text, table):
    assert reading_of(text, DENSITY) == reading_of(table, DENSITY)


@pytest.mark.parametrize("name", CUPS)
def test_every_cup_is_known_by_its_name_in_a_text(name):
    seconds = math.prod(CUPS[name].seconds) ** 0.5
    table = {"cup": name, "time": f"{seconds:.1f} s"}
    assert reading_of(f"{name}, {seconds:.1f} s", DENSITY) == reading_of(table, DENSITY)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("100 KU, 5 mm", '"5 mm" is no part of a reading'),
        ("100 KU, 90 KU", "two parts that are a krebs"),
        ("60 KU", "Krebs units 60"),
        ("ISO 4 mm", "a cup without time"),
        ("Zahn 9, 30 s", "unknown cup"),
        ("Zahn 3, 25,5 s", '"25" is no part'),
        ("3500 cP at 6 rpm", "a speed of rotation given"),
        ("150 SUS", "without temperature"),
        ("60 s", "no instrument given"),
        ("", "no instrument given"),
        ("1.2.3 KU", "is no part of a reading"),
        ("x" * 101, "a text of 101 characters"),
    ],
)
def test_what_is_no_reading_says_why(text, words):
    with pytest.raises(UnitError) as caught:
        reading_of(text, DENSITY)
    assert words in caught.value.given
    assert caught.value.allowed
    assert caught.value.example


@pytest.mark.parametrize("plain", ["5 Pa.s", "3500 cP", "100 cSt", "5,5 Pa.s", "5 mpa.s", "", 5, None, {}])
def test_a_plain_viscosity_is_no_reading(plain):
    assert not is_reading(plain)


@given(st.text("0123456789KUISOmshZanFord,.@#at rpm1/CFSPax ", max_size=24))
def test_any_text_is_a_reading_or_refused(text):
    try:
        assert checked(reading_of(text, DENSITY)).viscosity > 0.0
    except UnitError as error:
        assert all((error.given, error.allowed, error.example))  # noqa: PT017


def test_the_rate_of_coaxial_cylinders_is_that_of_the_exact_profile():
    """Of a Newtonian liquid the angular speed over the radius is a + b/r^2: the rate at the inner one by
    differences of that."""
    inner, outer, speed = 0.0175, 0.019, 20 * math.tau / 60
    a, b = inner / 2, outer / 2
    turn = lambda r: speed * (1 / r**2 - 1 / b**2) / (1 / a**2 - 1 / b**2)  # noqa: E731
    step = 1e-7
    rate = -a * (turn(a + step) - turn(a - step)) / (2 * step)
    assert coaxial_shear_rate(speed, inner, outer) == pytest.approx(rate, rel=1e-6)
    table = {"viscosity": "12 Pa.s", "rpm": 20, "inner_diameter": "17.5 mm", "outer_diameter": "19 mm"}
    assert reading_of(table, None).shear_rate == pytest.approx(rate, rel=1e-6)


def test_a_thinning_liquid_is_off_by_no_more_than_what_is_said_in_the_widest_gap():
    """Rate of a power law at the inner cylinder, 2 w/n/(1 - k^(2/n)); the viscosity by the Newtonian rate is
    off by the ratio of both rates to the power n."""
    k, n = NARROW[0], 0.5
    exact = 2.0 / n / (1.0 - k ** (2.0 / n))
    assert (exact / coaxial_shear_rate(1.0, 1e-2 * k, 1e-2)) ** n == pytest.approx(1.05, abs=0.005)


def test_a_range_of_krebs_units_widens_that_of_the_instrument():
    """95 and 105 KU are 1.4 and 1.8 Pa.s: an even law of the logarithm has ln(1.8/1.4)/sqrt(12)."""
    told = reading_of(table_of_range({"low": "95 KU", "high": "105 KU"}), None)
    assert told.viscosity == pytest.approx(1.6)
    spread = math.hypot(0.25 / math.sqrt(3.0), math.log(1.8 / 1.4) / math.sqrt(12.0))
    assert told.relative_uncertainty == pytest.approx(spread, rel=1e-12)


def test_a_triangle_of_cup_seconds_has_its_own_deviation():
    raw = {"low": "Zahn 3, 20 s", "likely": "Zahn 3, 25 s", "high": "Zahn 3, 35 s"}
    told, alone = reading_of(table_of_range(raw), DENSITY), reading_of("Zahn 3, 25 s", DENSITY)
    ends = [math.log(11.7 * (t - 7.5)) for t in (20, 25, 35)]
    mean = sum(ends) / 3
    variance = sum((end - mean) ** 2 for end in ends) / 12  # of a triangle, by its corners
    assert told.viscosity == alone.viscosity
    assert told.relative_uncertainty == pytest.approx(
        math.hypot(alone.relative_uncertainty, math.sqrt(variance)), rel=1e-9
    )


def test_a_reading_that_counts_as_exact_has_no_scatter():
    assert reading_of(table_of_range({"exactly": "95 KU"}), None).relative_uncertainty == 1e-4


@pytest.mark.parametrize(
    "raw",
    [
        {"low": "95 KU"},
        {"likely": "95 KU", "within": "10 %"},
        {"low": "95 KU", "high": "2 Pa.s"},
        {"low": "95 KU", "high": 105},
        {"low": "105 KU", "high": "95 KU"},
        {"low": "95 KU at 20 C", "high": "105 KU at 30 C"},
        {"low": "Zahn 2, 25 s", "high": "Zahn 3, 35 s"},
    ],
)
def test_a_range_of_other_than_one_instrument_is_refused(raw):
    with pytest.raises(UnitError) as caught:
        table_of_range(raw)
    assert "low" in caught.value.allowed


def test_a_table_of_a_text_has_plain_texts():
    assert table_of("Zahn 3, 25 s at 25 C") == {"cup": "Zahn 3", "time": "25 s", "temperature": "25 C"}
