"""Laws of flow: limits, inverses and refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.material.flow_laws import (
    LAWS,
    Carreau,
    Casson,
    Cross,
    HerschelBulkley,
    Newtonian,
    PowerLaw,
    ThinningPaste,
    fitted_law,
    points_needed,
)


def powers(low, high):
    return st.floats(low, high).map(lambda x: 10.0**x)


viscosities, rates, exponents = powers(-3.0, 4.0), powers(-3.0, 4.0), st.floats(0.1, 1.5)
yields = st.one_of(st.just(0.0), powers(-2.0, 3.0))
part = st.one_of(st.just(0.0), powers(-6.0, 0.0))


def bounded(kind):
    return st.builds(
        lambda at_rest, part, onset, exponent: kind(at_rest, part * at_rest, onset, exponent),
        viscosities,
        part,
        rates,
        st.floats(0.05, 1.0),
    )


laws = st.one_of(
    st.builds(Newtonian, viscosities),
    st.builds(PowerLaw, viscosities, exponents),
    st.builds(HerschelBulkley, yields, viscosities, exponents),
    st.builds(Casson, yields, viscosities),
    bounded(Carreau),
    bounded(Cross),
    st.builds(ThinningPaste, viscosities, rates, st.floats(0.05, 1.0), yields),
)
ONE_EACH = [
    Newtonian(2.0),
    PowerLaw(5.0, 0.5),
    HerschelBulkley(20.0, 5.0, 0.5),
    Casson(20.0, 0.5),
    Carreau(20.0, 0.1, 2.0, 0.4),
    Cross(20.0, 0.1, 2.0, 0.3),
    ThinningPaste(20.0, 2.0, 0.4, 20.0),
]
SPREAD = np.geomspace(1e-3, 1e4, 29)


@given(viscosities, rates)
def test_herschel_bulkley_of_exponent_one_without_yield_stress_is_newtonian(mu, rate):
    """1e-12: rounding."""
    law, plain = HerschelBulkley(0.0, mu, 1.0), Newtonian(mu)
    assert law.yield_stress == plain.yield_stress == 0.0
    assert float(law.stress(rate)) == pytest.approx(float(plain.stress(rate)), rel=1e-12)
    assert float(law.viscosity(rate)) == pytest.approx(mu, rel=1e-12)
    assert float(law.rate_of(mu * rate)) == pytest.approx(rate, rel=1e-12)


@pytest.mark.parametrize(
    "law",
    [
        PowerLaw(3.0, 1.0),
        HerschelBulkley(0.0, 3.0, 1.0),
        Casson(0.0, 3.0),
        Carreau(3.0, 0.01, 1.0, 1.0),
        Carreau(3.0, 3.0, 1.0, 0.4),
        Carreau(3.0, 0.0, 1e12, 0.4),
        Carreau(300.0, 3.0, 1e-12, 0.05),
        Cross(3.0, 3.0, 1.0, 0.4),
        Cross(3.0, 0.0, 1e12, 0.05),
        Cross(5.0, 1.0, 1.0, 1.0),
        Cross(6.0, 0.0, 1.0, 1.0),
        ThinningPaste(3.0, 1.0, 1.0, 0.0),
        ThinningPaste(3.0, 1e12, 0.4, 0.0),
    ],
    ids=repr,
)
def test_every_law_is_newtonian_in_its_limits(law):
    """1e-6: a thinned liquid a million million above its onset is near its least viscosity, not at it."""
    np.testing.assert_allclose(law.viscosity(SPREAD), 3.0, rtol=1e-6)
    np.testing.assert_allclose(law.slope(SPREAD), 3.0, rtol=1e-6)
    np.testing.assert_allclose(law.rate_of(3.0 * SPREAD), SPREAD, rtol=1e-6)


def test_a_casson_material_without_yield_stress_tends_to_newton_smoothly():
    """Off by 2 root(tau_y/(eta rate)) and the yield stress."""
    for held in (1e-4, 1e-8, 1e-12):
        expected = 1.0 + 2.0 * np.sqrt(held) + held
        assert float(Casson(held, 1.0).viscosity(1.0)) == pytest.approx(expected, rel=1e-14)


def test_values_by_hand():
    assert float(PowerLaw(5.0, 0.5).stress(4.0)) == 10.0
    assert float(HerschelBulkley(20.0, 5.0, 0.5).stress(4.0)) == 30.0
    assert float(Casson(4.0, 1.0).stress(9.0)) == 25.0  # (2 + 3)^2
    assert float(ThinningPaste(8.0, 1.0, 0.5, 30.0).viscosity(15.0**0.5)) == pytest.approx(
        4.0 + 30.0 / 15.0**0.5
    )
    assert float(Cross(20.0, 2.0, 3.0, 0.3).viscosity(3.0)) == 11.0  # half-way at the onset
    assert float(Carreau(17.0, 1.0, 2.0, 0.0).viscosity(2.0 * 15.0**0.5)) == pytest.approx(5.0)  # 1 + 16/4


@given(laws, rates)
def test_the_rate_of_the_stress_at_a_rate_is_that_rate(law, rate):
    """1e-13 of the rate, more by what rounding of the stress does where it hardly rises with the rate."""
    stress, slope = float(law.stress(rate)), float(law.slope(rate))
    lost = 8.0 * np.finfo(float).eps * stress / (slope * rate)
    if lost < 1e-3:
        assert float(law.rate_of(stress)) == pytest.approx(rate, rel=1e-13 + lost)


@given(laws, st.lists(rates, min_size=2, max_size=5, unique=True))
def test_arrays_of_any_shape_are_numbers_one_by_one(law, several):
    """Vector loops of numpy may round a power otherwise than single numbers do: 1e-14."""
    grid = np.array([several, several[::-1]])
    for function in (law.stress, law.viscosity, law.slope):
        assert function(grid).shape == grid.shape
        np.testing.assert_allclose(function(grid)[0], [float(function(rate)) for rate in several], rtol=1e-14)
    stresses = law.stress(grid)
    found = law.rate_of(stresses)
    assert found.shape == grid.shape
    np.testing.assert_allclose(found[0], [float(law.rate_of(s)) for s in stresses[0]], rtol=1e-13)


@given(laws, rates)
def test_the_slope_is_that_of_the_stress(law, rate):
    """1e-6 of the larger of slope and viscosity: truncation of a central difference of step 1e-5."""
    step = 1e-5 * rate
    difference = float(law.stress(rate + step) - law.stress(rate - step)) / (2.0 * step)
    assert float(law.slope(rate)) == pytest.approx(
        difference, abs=1e-6 * float(law.viscosity(rate)), rel=1e-6
    )


@given(laws, rates, st.floats(1.001, 100.0))
def test_more_rate_takes_more_stress(law, rate, more):
    assert law.stress(more * rate) >= law.stress(rate)
    assert law.slope(rate) > 0.0
    assert law.stress(rate) >= law.yield_stress


@pytest.mark.parametrize("law", ONE_EACH, ids=repr)
def test_stress_up_to_the_yield_stress_moves_nothing(law):
    held = law.yield_stress * np.array([0.0, 0.5, 1.0])
    assert np.array_equal(law.rate_of(held), np.zeros(3))
    assert float(law.rate_of(1.001 * law.yield_stress + 1e-6)) > 0.0
    assert isinstance(law, HerschelBulkley | Casson | ThinningPaste) == (law.yield_stress > 0.0)


@pytest.mark.parametrize("law", ONE_EACH, ids=repr)
def test_every_law_goes_by_its_name_and_its_parameters(law):
    assert LAWS[law.NAME] is type(law)
    assert type(law)(*law.parameters) == law


FITTED = ["Newtonian", "power law", "Herschel-Bulkley", "Casson", "Carreau", "Cross"]


def test_names_are_as_people_say_them():
    assert list(LAWS) == [*FITTED, "shear-thinning"]


def test_a_law_that_is_fitted_asks_a_reading_for_each_parameter():
    assert [points_needed(name) for name in FITTED] == [1, 2, 3, 2, 4, 4]
    assert [fitted_law(law.NAME) for law in ONE_EACH[:-1]] == [type(law) for law in ONE_EACH[:-1]]


@pytest.mark.parametrize("name", ["Bingham", "shear-thinning"])
def test_a_law_that_is_not_fitted_is_refused_with_those_that_are(name):
    with pytest.raises(ValueError, match=rf"got '{name}', allowed Newtonian, .*Cross, for example"):
        fitted_law(name)


@given(viscosities, rates, st.floats(0.05, 1.0), yields, rates)
def test_a_thinning_paste_is_a_carreau_liquid_above_its_yield_stress(at_rest, onset, exponent, held, rate):
    """1e-12: rounding."""
    paste, liquid = ThinningPaste(at_rest, onset, exponent, held), Carreau(at_rest, 0.0, onset, exponent)
    assert float(paste.stress(rate)) == pytest.approx(held + float(liquid.stress(rate)), rel=1e-12)
    assert float(paste.viscosity(rate)) == pytest.approx(float(paste.stress(rate)) / rate, rel=1e-12)


def test_a_material_is_named_by_its_viscosity_at_10_per_second_or_at_rest():
    assert HerschelBulkley(20.0, 5.0, 1.0).nominal_viscosity == 7.0  # (20 + 5 * 10)/10
    assert ThinningPaste(60.0, 0.5, 0.6, 20.0).nominal_viscosity == 60.0
    assert Casson(20.0, 0.5).label(str) == "Casson"
    assert ThinningPaste(60.0, 0.5, 0.6, 20.0).label(str) == "n 0.6 from 0.5 1/s on"


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: Newtonian(0.0),
            r"Newtonian: constant \[Pa s\]: got 0\.0, allowed 1e-12 to 1e\+12, for example 1$",
        ),
        (lambda: PowerLaw(-1.0, 0.5), r"power law: consistency \[Pa s\^n\]: got -1\.0, allowed 1e-12"),
        (
            lambda: PowerLaw(1.0, 0.04),
            r"power law: exponent \[1\]: got 0\.04, allowed 0\.05 to 2, for example 0\.5",
        ),
        (lambda: PowerLaw(1.0, 2.1), r"exponent \[1\]: got 2\.1, allowed 0\.05 to 2"),
        (lambda: HerschelBulkley(-1e-9, 1.0, 0.5), r"yield stress \[Pa\]: got -1e-09, allowed 0 to"),
        (lambda: HerschelBulkley(float("inf"), 1.0, 0.5), r"yield stress \[Pa\]: got inf, allowed 0 to"),
        (lambda: Casson(1.0, float("nan")), r"Casson: plastic \[Pa s\]: got nan, allowed"),
        (
            lambda: Carreau(1.0, 2.0, 1.0, 0.5),
            r"Carreau: least \[Pa s\]: got 2\.0, allowed 0 to the viscosity at rest, 1,",
        ),
        (lambda: Carreau(1.0, 0.0, 0.0, 0.5), r"Carreau: onset \[1/s\]: got 0\.0, allowed"),
        (lambda: Carreau(1.0, 0.1, 1.0, 1.01), r"Carreau: exponent \[1\]: got 1\.01, allowed 0 to 1"),
        (
            lambda: Cross(1.0, 0.0, 1.0, 0.0),
            r"Cross: least \[Pa s\]: got 0\.0, allowed above 0 at an exponent below 0\.05",
        ),
    ],
)
def test_a_parameter_out_of_range_is_refused(make, message):
    with pytest.raises(ValueError, match=message):
        make()


@pytest.mark.parametrize("rate", [0.0, -1.0, np.nan, np.inf, [1.0, 0.0]])
def test_a_rate_that_is_not_above_zero_is_refused(rate):
    for function in (ONE_EACH[0].stress, ONE_EACH[0].viscosity, ONE_EACH[0].slope):
        with pytest.raises(ValueError, match=r"shear rate \[1/s\]: got .*, allowed above 0, for example 10"):
            function(rate)


def test_a_stress_below_zero_is_refused():
    with pytest.raises(ValueError, match=r"stress \[Pa\]: got -1\.0, allowed 0 and above, for example 100"):
        ONE_EACH[1].rate_of([1.0, -1.0])
