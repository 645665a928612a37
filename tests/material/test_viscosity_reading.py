"""A reading as it is written in a scenario: what it tells in SI, and in which words it is refused."""

import math
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.material.viscosity_reading import EXAMPLES, ViscosityReading, checked, reading_of
from balltravel.units import UnitError

DENSITY = 1250.0


def refused(**raw):
    """The refusal of a reading."""
    with pytest.raises(UnitError) as caught:
        reading_of(raw, DENSITY)
    assert caught.value.given
    assert caught.value.allowed
    assert caught.value.example
    return caught.value


def test_a_viscosity_is_read_with_its_rate_temperature_state_and_age():
    raw = {"viscosity": "12 Pa.s", "shear_rate": "10 1/s", "temperature": "35 degC", "uncertainty": "3 %",
           "state": "rested", "age": "30 min"}  # fmt: skip
    found = reading_of(raw, None)
    assert found[:4] == pytest.approx((12.0, 10.0, 308.15, 0.03), rel=1e-12)
    assert (found.state, found.age) == ("rested", 1800.0)


def test_what_is_not_said_is_not_known_and_a_viscosity_counts_within_five_per_cent():
    assert reading_of({"viscosity": "12 Pa.s"}, None) == ViscosityReading(
        12.0, None, None, 0.05, "viscosity", "worked", None
    )


def test_a_stress_over_its_rate_is_the_viscosity():
    assert reading_of({"stress": "300 Pa", "shear_rate": "100 1/s"}, None).viscosity == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("cup", "seconds", "mm2"),
    [
        ("ISO 4 mm", 60.0, 1.37 * 60 - 200 / 60),
        ("Ford 4", 50.0, 3.85 * (50 - 4.49)),
        ("Zahn 2", 40.0, 3.5 * (40 - 14)),
        ("DIN 4 mm", 50.0, 4.57 * 50 - 452 / 50),
    ],
)
def test_a_cups_seconds_are_the_standards_viscosity_times_the_density(cup, seconds, mm2):
    found = reading_of({"cup": cup, "time": f"{seconds} s"}, DENSITY)
    assert found.viscosity == pytest.approx(mm2 * 1e-6 * DENSITY, rel=1e-12)


@pytest.mark.parametrize(("units", "poise"), [(70, 4.0), (85, 10.0), (95, 14.0)])
def test_krebs_units_tell_the_oils_of_the_standard(units, poise):
    assert reading_of({"krebs": units}, None).viscosity == pytest.approx(0.1 * poise, rel=1e-12)


def test_saybolt_seconds_are_nearly_a_fifth_of_a_mm2_per_s():
    """D2161 above 75 mm2/s: SUS = 4.632 mm2/s at 100 degF."""
    found = reading_of({"saybolt_universal": "463.2 s", "temperature": "100 degF"}, 900.0)
    assert found.viscosity == pytest.approx(100e-6 * 900.0, rel=1e-3)


@pytest.mark.parametrize(
    "raw",
    [
        {"cup": "ISO 4 mm", "time": "60 s", "temperature": "60 degC"},
        {"viscosity": "100 cSt", "temperature": "60 degC"},
    ],
)
def test_a_kinematic_reading_is_taken_times_the_density_at_its_own_temperature(raw):
    """40 K above the stated temperature at 1e-3 1/K the density is lower by 1.04."""
    cold = reading_of(
        {key: value for key, value in raw.items() if key != "temperature"}, DENSITY, 293.15, 1e-3
    )
    warm = reading_of(raw, DENSITY, 293.15, 1e-3)
    assert cold.viscosity / warm.viscosity == pytest.approx(1.04, rel=1e-12)


def test_a_dynamic_reading_does_not_ask_for_the_density():
    raw = {"viscosity": "2 Pa.s", "temperature": "60 degC"}
    assert reading_of(raw, DENSITY, 293.15, 1e-3).viscosity == 2.0


REFUSED = [
    ({}, "no instrument given", "exactly one of viscosity, stress, cup"),
    ({"time": "60 s"}, "no instrument given", "exactly one"),
    ({"krebs": 90, "viscosity": "1 Pa.s"}, "krebs and viscosity given", "exactly one"),
    ({"viscosity": 5}, "a bare number 5", "mPa.s"),
    ({"viscosity": "5"}, "has no unit", "mPa.s"),
    ({"viscosity": "5 m"}, "another kind", "mPa.s"),
    ({"viscosity": "5,5 Pa.s"}, "comma", "a point"),
    ({"viscosity": "0 Pa.s"}, '"0 Pa.s" given', "0.001 mPa.s to 10000000 Pa.s"),
    ({"viscosity": "-1 Pa.s"}, '"-1 Pa.s" given', "0.001 mPa.s to"),
    ({"viscosity": "1e300 Pa.s"}, "1e300", "10000000 Pa.s"),
    ({"viscosity": "nan Pa.s"}, "plain number", "mPa.s"),
    ({"viscosity": math.inf}, "a bare number inf", "mPa.s"),
    ({"viscosity": []}, "an array given", "mPa.s"),
    ({"viscosity": {}}, "a table given", "mPa.s"),
    ({"viscosity": "5 Pa.s", "shear_rate": 10}, "a bare number 10", "1/s"),
    ({"viscosity": "5 Pa.s", "shear_rate": "0 1/s"}, '"0 1/s" given', "0.0001 1/s to"),
    ({"viscosity": "5 Pa.s", "shear_rate": "10 rpm"}, "rpm", "1/s"),
    ({"viscosity": "5 Pa.s", "rpm": 20}, "a speed of rotation", "a speed alone is none"),
    ({"viscosity": "5 Pa.s", "spindle": 4, "shear_rate": "10 1/s"}, "a spindle", "shear_rate"),
    ({"krebs": 90, "rpm": 200}, "rpm with krebs", "rpm only with viscosity"),
    ({"viscosity": "5 Pa.s", "inner_diameter": "17 mm"}, "cylinders without a speed", "outer_diameter"),
    ({"viscosity": "5 Pa.s", "rpm": 20, "shear_rate": "1 1/s"}, "with shear_rate", "a speed alone"),
    ({"viscosity": "5 Pa.s", "rpm": 20, "inner_diameter": "10 mm", "outer_diameter": "20 mm"},
     "inner over outer diameter 0.5", "0.9 to 0.9999"),
    ({"viscosity": "5 Pa.s", "rpm": 20, "inner_diameter": "20 mm", "outer_diameter": "17 mm"},
     "inner over outer diameter 1.17", "0.9 to 0.9999"),
    ({"stress": "300 Pa"}, "a stress without shear_rate", "both"),
    ({"stress": "300 Pa", "shear_rate": "1 Pa"}, "another kind", "1/s"),
    ({"stress": 300, "shear_rate": "1 1/s"}, "a bare number 300", "Pa, kPa"),
    ({"cup": "ISO 4 mm"}, "a cup without time", "the time"),
    ({"cup": 4, "time": "60 s"}, "cup: a number given", "the name of a cup"),
    ({"cup": "ISO 4 mmm", "time": "60 s"}, 'did you mean "ISO 4 mm"', "Ford 4"),
    ({"cup": "ISO 4 mm", "time": 60}, "a bare number 60", "ms, s, min, h"),
    ({"cup": "ISO 4 mm", "time": "60 s", "shear_rate": "1 1/s"}, "shear_rate with cup", "or stress"),
    ({"krebs": 90, "time": "60 s"}, "time with krebs", "only with cup"),
    ({"krebs": 69}, "Krebs units 69", "70 to 105"),
    ({"krebs": 106}, "Krebs units 106", "70 to 105"),
    ({"krebs": "95 Ku"}, 'the unit "Ku"', "a bare number"),
    ({"krebs": math.nan}, "nan", "a bare number"),
    ({"saybolt_universal": "150 s"}, "without temperature", "temperature of the bath"),
    ({"saybolt_universal": "1 s", "temperature": "100 degF"}, "1 s", "31"),
    ({"saybolt_furol": "150 s", "temperature": "20 degC"}, "293.15 K", "122 degF"),
    ({"krebs": 90, "temperature": 20}, "a bare number 20", "degC, degF, K"),
    ({"krebs": 90, "temperature": "300 degC"}, '"300 degC" given', "-50 degC to 200 degC"),
    ({"krebs": 90, "uncertainty": 0}, "uncertainty: 0", "0.01 % to 100 %"),
    ({"krebs": 90, "uncertainty": "5 Pa"}, "Pa", "%"),
    ({"krebs": 90, "uncertanty": 0.1}, 'did you mean "uncertainty"', "state"),
    ({"krebs": 90, "state": "still"}, 'state: "still"', '"worked" or "rested"'),
    ({"krebs": 90, "state": 1 << 15_000}, "state", '"worked" or "rested"'),
    ({"krebs": 90, "state": ["rested"]}, "an array", '"worked" or "rested"'),
    ({"krebs": 90, "age": 30}, "a bare number 30", "min"),
    ({"krebs": 90, "age": "-1 s"}, '"-1 s" given', "0 ms to 278 h"),
]  # fmt: skip


@pytest.mark.parametrize(("raw", "given", "allowed"), REFUSED, ids=[one[1] for one in REFUSED])
def test_what_cannot_be_read_is_refused_in_words(raw, given, allowed):
    error = refused(**raw)
    assert given in error.given
    assert allowed in error.allowed


def test_a_cup_outside_its_seconds_names_one_that_fits():
    """137 times 1.6 is 219 mm2/s, which takes the 5 mm cup 219/3.28 s and a little more."""
    error = refused(cup="ISO 4 mm", time="160 s")
    assert "ISO 5 mm, about 67 s" in error.example


@pytest.mark.parametrize("kind", [{"cup": "ISO 4 mm", "time": "60 s"}, {"viscosity": "5 cSt"}])
def test_what_is_kinematic_needs_a_density(kind):
    with pytest.raises(UnitError, match="density"):
        reading_of(kind, None)


@pytest.mark.parametrize("raw", [3, None, [], True, math.nan])
def test_what_is_no_table_is_refused(raw):
    with pytest.raises(UnitError, match="an inline table"):
        reading_of(raw, DENSITY)


def test_every_example_can_be_read():
    for text in EXAMPLES:
        assert reading_of(tomllib.loads(f"x = {text}")["x"], DENSITY).viscosity > 0.0


def test_an_example_in_braces_can_be_read():
    shown = {refused(**raw).example for raw, _, _ in REFUSED}
    tables = [text for text in shown if text.startswith("{")]
    assert len(tables) > 3
    for text in tables:
        assert reading_of(tomllib.loads(f"x = {text}")["x"], DENSITY).viscosity > 0.0


GOOD = ViscosityReading(5.0, 10.0, 300.0, 0.05, "by hand", "worked", 60.0)


@pytest.mark.parametrize(
    "wrong",
    [
        {"viscosity": 0.0}, {"viscosity": -1.0}, {"viscosity": math.nan}, {"viscosity": math.inf},
        {"shear_rate": 0.0}, {"temperature": 20.0}, {"relative_uncertainty": 0.0}, {"age": -1.0},
        {"state": "still"},
    ],
    ids=str,
)  # fmt: skip
def test_a_reading_made_by_code_is_looked_at_as_well(wrong):
    assert checked(GOOD) == GOOD
    with pytest.raises(UnitError):
        checked(GOOD._replace(**wrong))


KEYS = ("viscosity", "stress", "cup", "krebs", "saybolt_universal", "saybolt_furol", "temperature",
        "uncertainty", "state", "age", "shear_rate", "time", "rpm", "x")  # fmt: skip
TEXTS = ("5 Pa.s", "60 s", "ISO 4 mm", "Zahn 2", "100 degF", "20 degC", "10 1/s", "300 Pa", "5 %", "rested",
         "30 min", "1e-300 Pa.s", "1e300 s", "nan", "inf Pa", "5,5 s", "50 cSt", "")  # fmt: skip
VALUES = st.one_of(
    st.sampled_from(TEXTS), st.text(max_size=8), st.integers(), st.integers(0, 2**15_000), st.floats(),
    st.booleans(), st.dates(), st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)  # fmt: skip


@given(st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=4) | VALUES, st.none() | st.just(DENSITY))
def test_any_table_is_a_reading_or_refused_with_all_that_is_told_of_a_fault(raw, density):
    try:
        found = reading_of(raw, density, 293.15, 1e-3)
    except UnitError as error:
        assert all((error.given, error.allowed, error.example))  # noqa: PT017
    else:
        assert checked(found) == found
