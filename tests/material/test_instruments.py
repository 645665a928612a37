"""Saybolt seconds, Krebs units, rotational viscometers: round trips, order, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.material.instruments import (
    FUROL_TEMPERATURES,
    furol_reading,
    furol_seconds,
    krebs_reading,
    krebs_units,
    universal_reading,
    universal_seconds,
)
from balltravel.material.readings import ReadingError

viscosities = st.floats(math.log(1.82e-6), math.log(0.999e-2)).map(math.exp)
thick = st.floats(math.log(50.1e-6), math.log(0.999e-2)).map(math.exp)
temperatures = st.floats(256.0, 449.0)
F100 = 310.92777777777775


def refusal(call, *args):
    with pytest.raises(ReadingError) as caught:
        call(*args)
    return caught.value


@given(viscosities, temperatures)
def test_universal_seconds_go_there_and_back(nu, temperature):
    seconds = universal_seconds(nu, temperature)
    assert universal_reading(seconds, temperature).kinematic_viscosity == pytest.approx(nu, rel=1e-8)


@given(thick, st.sampled_from(FUROL_TEMPERATURES))
def test_furol_seconds_go_there_and_back(nu, temperature):
    seconds = furol_seconds(nu, temperature)
    assert furol_reading(seconds, temperature).kinematic_viscosity == pytest.approx(nu, rel=1e-8)


@given(viscosities, temperatures)
def test_a_thicker_oil_takes_more_universal_seconds(nu, temperature):
    assert universal_seconds(1.0001 * nu, temperature) > universal_seconds(nu, temperature)


@given(thick, st.sampled_from(FUROL_TEMPERATURES))
def test_a_thicker_oil_takes_more_furol_seconds(nu, temperature):
    assert furol_seconds(1.0001 * nu, temperature) > furol_seconds(nu, temperature)


def test_the_ends_of_the_range_can_be_read():
    for nu in (1.81e-6, 1e-2):
        seconds = universal_seconds(nu, F100)
        assert universal_reading(seconds, F100).kinematic_viscosity == pytest.approx(nu, rel=1e-8)


def test_the_uncertainty_grows_where_the_seconds_hardly_tell_the_viscosity():
    """2 cSt: 32.60 s, 2.02 cSt: 32.67 s; far up the seconds are proportional to it."""
    assert universal_reading(4632.4, F100).relative_uncertainty == pytest.approx(0.01, rel=1e-3)
    thin = universal_reading(universal_seconds(2e-6, F100), F100).relative_uncertainty
    slope = math.log(universal_seconds(2.02e-6, F100) / universal_seconds(1.98e-6, F100)) / math.log(
        2.02 / 1.98
    )
    assert thin == pytest.approx(0.01 / slope, rel=1e-3)
    assert thin > 0.03


def test_the_shear_rate_of_a_saybolt_tube_is_by_its_bore():
    """60 ml through 1.765 mm in 463.5 s: 4 Q/(pi r^3)."""
    by_hand = 4 * (60e-6 / 463.5) / (math.pi * (0.5 * 1.765e-3) ** 3)
    assert universal_reading(463.5, F100).shear_rate == pytest.approx(by_hand, rel=1e-12)


def test_seconds_below_those_of_the_thinnest_oil_are_refused():
    error = refusal(universal_reading, 30.0, F100)
    assert error.given == "Saybolt Universal seconds 30 s"
    assert error.allowed.startswith("31.95 to ")
    assert error.example == "463 s"


@pytest.mark.parametrize("nu", [1.7e-6, 0.0, -1.0, math.nan, 0.011])
def test_a_viscosity_outside_the_instrument_is_refused(nu):
    assert refusal(universal_seconds, nu, F100).allowed == "1.81 to 1e+04 mm2/s"


@pytest.mark.parametrize("temperature", [250.0, 455.0, math.nan])
def test_universal_seconds_at_another_temperature_are_refused(temperature):
    assert refusal(universal_reading, 100.0, temperature).allowed == "255.4 to 449.8 K"


def test_furol_seconds_are_refused_but_at_their_two_temperatures():
    error = refusal(furol_reading, 100.0, 340.0)
    assert "323.15 K (122 degF) or 372.04 K (210 degF)" in error.allowed
    assert refusal(furol_seconds, 40e-6, 323.15).allowed == "50 to 1e+04 mm2/s"


@given(st.floats(70.0, 105.0))
def test_krebs_units_go_there_and_back(units):
    assert krebs_units(krebs_reading(units).viscosity) == pytest.approx(units, rel=1e-12)


def test_krebs_units_tell_their_band_and_shear_rate():
    reading = krebs_reading(95.0)
    assert reading.relative_uncertainty == pytest.approx(0.25 / math.sqrt(3), rel=1e-12)
    assert 50.0 < reading.shear_rate < 100.0
    assert reading.source == "95 KU (ASTM D562)"


@pytest.mark.parametrize("units", [69.0, 106.0, 0.0, math.nan])
def test_krebs_units_beyond_the_estimate_are_refused(units):
    error = refusal(krebs_reading, units)
    assert (error.allowed, error.example) == ("70 to 105 KU", "85 KU")


def test_a_viscosity_beyond_the_krebs_estimate_is_refused():
    assert refusal(krebs_units, 2.0).allowed == "0.4 to 1.8 Pa.s"
