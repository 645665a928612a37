"""Laws of viscosity over temperature: through their readings, falling, refusing what they cannot be."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from balltravel.material.readings import ReadingError
from balltravel.material.temperature_laws import GAS_CONSTANT, Andrade, Vogel, Walther, density_at

rooms = st.floats(260.0, 380.0)
spans = st.floats(5.0, 60.0)
viscosities = st.floats(math.log(1e-3), math.log(1e3)).map(math.exp)
WATER = [(273.16, 1.791132e-3), (313.15, 6.527287e-4), (373.0, 2.820259e-4)]
OIL = [(313.15, 46e-6), (373.15, 6.8e-6)]


def refusal(call, *args):
    with pytest.raises(ReadingError) as caught:
        call(*args)
    return caught.value


@given(rooms, spans, viscosities, st.floats(2e3, 2e5))
def test_andrade_goes_through_its_readings_whatever_their_order(T, span, viscosity, energy):
    thin = viscosity * math.exp(energy / GAS_CONSTANT * (1 / (T + span) - 1 / T))
    assume(thin > 1e-5)
    law = Andrade.from_readings([(T + span, thin), (T, viscosity)])
    assert law.viscosity(T) == pytest.approx(viscosity, rel=1e-9)
    assert law.viscosity(T + span) == pytest.approx(thin, rel=1e-9)
    assert pytest.approx(energy, rel=1e-6) == law.B * GAS_CONSTANT
    assert Andrade.from_energy(T, viscosity, energy).viscosity(T + span) == pytest.approx(thin, rel=1e-6)


@given(rooms, spans, spans, st.floats(0.0, 220.0), st.floats(100.0, 3000.0), st.floats(-12.0, -6.0))
def test_vogel_finds_the_constants_that_its_readings_came_from(T, first, second, C, B, A):
    temperatures = (T, T + first, T + first + second)
    readings = [(t, math.exp(A + B / (t - C))) for t in temperatures]
    assume(all(1.1e-5 < viscosity < 0.9e6 for _, viscosity in readings))
    law = Vogel.from_readings(readings[::-1])
    for temperature, viscosity in readings:
        assert law.viscosity(temperature) == pytest.approx(viscosity, rel=1e-9)
    between = T + 0.5 * first
    assert law.viscosity(between) == pytest.approx(math.exp(A + B / (between - C)), rel=1e-7)


@given(
    rooms, spans, st.floats(math.log(3e-6), math.log(1e-2)).map(math.exp), st.floats(0.3, 0.95), st.booleans()
)
def test_walther_goes_through_its_readings(T, span, nu, share, full):
    assume(share * nu > 2.1e-6)
    law = Walther.from_readings([(T, nu), (T + span, share * nu)], full)
    assert law.kinematic_viscosity(T) == pytest.approx(nu, rel=1e-9)
    assert law.kinematic_viscosity(T + span) == pytest.approx(share * nu, rel=1e-9)


def test_both_forms_of_walther_differ_only_in_thin_liquids():
    thick = [Walther.from_readings(OIL, full).kinematic_viscosity(280.0) for full in (True, False)]
    assert thick[0] == pytest.approx(thick[1], rel=1e-4)
    thin = [(300.0, 2.2e-6), (320.0, 2.0e-6)]
    at_400 = [Walther.from_readings(thin, full).kinematic_viscosity(400.0) for full in (True, False)]
    assert at_400[0] != pytest.approx(at_400[1], rel=1e-3)


@pytest.mark.parametrize(
    "law",
    [
        Andrade.from_readings([(298.15, 2.0), (318.15, 0.5)]),
        Andrade.from_energy(298.15, 2.0, 5e4),
        Vogel.from_readings(WATER),
        Walther.from_readings(OIL),
    ],
    ids=["andrade", "andrade of an energy", "vogel", "walther"],
)
def test_every_law_falls_and_its_ratio_is_one_at_the_reference(law):
    ratios = [law.ratio(float(T), 300.0) for T in range(265, 400, 5)]
    assert ratios == sorted(ratios, reverse=True)
    assert len(set(ratios)) == len(ratios)
    assert law.ratio(300.0, 300.0) == 1.0


def test_a_law_extrapolates_further_out_than_its_readings_span():
    law = Andrade.from_readings([(300.0, 2.0), (320.0, 0.5)])
    assert [law.extrapolates(T) for T in (279.9, 280.1, 310.0, 339.9, 340.1)] == [
        True,
        False,
        False,
        False,
        True,
    ]


def test_one_reading_with_an_energy_is_trusted_for_twenty_kelvin():
    law = Andrade.from_energy(300.0, 2.0, 5e4)
    assert [law.extrapolates(T) for T in (279.0, 281.0, 319.0, 321.0)] == [True, False, False, True]


def test_a_viscosity_that_rises_is_refused():
    error = refusal(Andrade.from_readings, [(298.15, 0.5), (318.15, 2.0)])
    assert error.given == "0.5 Pa.s at 298.15 K and 2 Pa.s at 318.15 K"
    assert error.allowed == "a viscosity that falls with the temperature"
    assert error.example == "2 readings at least 2 K apart, the warmer the thinner"


@pytest.mark.parametrize("make", [Andrade.from_readings, Walther.from_readings, Vogel.from_readings])
def test_readings_at_one_temperature_are_refused(make):
    readings = [(300.0, 1e-3), (301.0, 9e-4), (340.0, 1e-4)][: 3 if make == Vogel.from_readings else 2]
    error = refusal(make, readings)
    assert (error.given, error.allowed) == ("readings at 300 and 301 K", "temperatures at least 2 K apart")


@pytest.mark.parametrize(("make", "wanted"), [(Andrade, 2), (Walther, 2), (Vogel, 3)])
def test_too_few_readings_are_refused(make, wanted):
    error = refusal(make.from_readings, [(300.0, 1e-3)])
    assert (error.given, error.allowed) == ("1 readings", f"{wanted} readings")


@pytest.mark.parametrize(
    "reading", [(25.0, 2.0), (math.nan, 2.0), (298.0, 0.0), (298.0, -1.0), (298.0, math.inf)]
)
def test_a_reading_that_cannot_be_is_refused(reading):
    assert " of a reading " in refusal(Andrade.from_readings, [reading, (318.15, 0.5)]).given


def test_an_energy_that_no_liquid_has_is_refused():
    steep = refusal(Andrade.from_readings, [(298.0, 1e4), (301.0, 1e-3)])
    assert steep.given.startswith("activation energy of the two readings")
    error = refusal(Andrade.from_energy, 298.0, 2.0, 50.0)
    assert (error.given, error.allowed) == ("activation energy 50 J/mol", "1000 to 3e+05 J/mol")


@pytest.mark.parametrize(
    "middle",
    [0.2, 0.99, 0.5],
    ids=["far too steep in the cold", "steeper in the warm", "a straight logarithm"],
)
def test_three_readings_of_no_vogel_are_refused(middle):
    """From 1 to 0.1 Pa s in 40 K; at the middle a law of Andrade has 0.29."""
    value = math.sqrt(0.1) if middle == 0.5 else 0.1002 if middle == 0.2 else middle
    error = refusal(Vogel.from_readings, [(300.0, 1.0), (320.0, value), (340.0, 0.1)])
    assert error.given.startswith("three readings that fit no law of Vogel")
    assert "-100 to 290 K" in error.allowed
    assert "Andrade" in error.example


def test_readings_that_bend_far_less_than_andrade_are_refused():
    """Taken from C = -150 K; the refusal tells the C that it found."""
    readings = [(T, math.exp(-12.0 + 4000.0 / (T + 150.0))) for T in (300.0, 320.0, 340.0)]
    assert "(C would be -150 K)" in refusal(Vogel.from_readings, readings).given


def test_vogel_is_not_asked_where_it_goes_to_infinity():
    law = Vogel(300.0, 340.0, -10.0, 600.0, 250.0)
    assert refusal(law.viscosity, 255.0).allowed == "260 to 600 K"
    assert law.viscosity(261.0) > 1e6 * law.viscosity(300.0)


@pytest.mark.parametrize("temperature", [20.0, 199.0, 601.0, math.nan])
def test_a_temperature_outside_all_laws_is_refused(temperature):
    assert refusal(Walther.from_readings(OIL).ratio, temperature, 300.0).allowed == "200 to 600 K"


def test_walther_is_refused_where_its_equation_ends():
    law = Walther.from_readings([(300.0, 0.5e-6), (330.0, 0.3e-6)])
    assert "0.21 to 2e7 mm2/s" in refusal(law.kinematic_viscosity, 500.0).allowed
    steep = Walther.from_readings([(300.0, 1e-2), (310.0, 1e-5)])
    assert refusal(steep.kinematic_viscosity, 200.0).example == "300 K"


def test_the_simple_form_is_refused_for_thin_liquids():
    thin = [(300.0, 1.5e-6), (330.0, 1.0e-6)]
    assert refusal(Walther.from_readings, thin, False).allowed.startswith("2e-06 to ")
    assert Walther.from_readings(thin).kinematic_viscosity(300.0) == pytest.approx(1.5e-6, rel=1e-9)


def test_a_liquid_at_its_reference_has_its_density():
    assert density_at(300.0, 1250.0, 300.0, 7e-4) == 1250.0
    assert density_at(310.0, 1250.0, 300.0, 7e-4) < 1250.0 < density_at(290.0, 1250.0, 300.0, 7e-4)


@pytest.mark.parametrize("expansion", [-1e-4, 0.01, math.nan])
def test_an_expansion_that_no_liquid_has_is_refused(expansion):
    error = refusal(density_at, 310.0, 1250.0, 300.0, expansion)
    assert (error.allowed, error.example) == ("0 to 0.002 1/K", "0.0007 1/K")
