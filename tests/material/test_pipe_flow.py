"""Laminar pipe flow of any law: what must hold whatever the law; numbers are in tests/published."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from balltravel.material.flow_laws import (
    Carreau,
    Casson,
    Cross,
    FlowLaw,
    HerschelBulkley,
    Newtonian,
    PowerLaw,
    ThinningPaste,
)
from balltravel.material.pipe_flow import drop, flow, reduced_flow, starting_drop, wall_rate

PIPE = (0.0125, 3.0)


def powers(low, high):
    return st.floats(low, high).map(lambda x: 10.0**x)


viscosities, onsets, drops = powers(-2.0, 3.0), powers(-2.0, 3.0), powers(1.0, 6.0)
exponents, yields = st.floats(0.2, 1.5), st.one_of(st.just(0.0), powers(-2.0, 3.0))


def bounded(kind):
    return st.builds(
        lambda at_rest, part, onset, exponent: kind(at_rest, part * at_rest, onset, exponent),
        viscosities,
        st.floats(0.0, 1.0),
        onsets,
        st.floats(0.1, 1.0),
    )


def pastes(held):
    return st.builds(ThinningPaste, viscosities, onsets, st.floats(0.1, 1.0), held)


laws = st.one_of(
    st.builds(Newtonian, viscosities),
    st.builds(PowerLaw, viscosities, exponents),
    st.builds(HerschelBulkley, yields, viscosities, exponents),
    st.builds(Casson, yields, viscosities),
    bounded(Carreau),
    bounded(Cross),
    pastes(yields),
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


@given(viscosities, drops)
def test_herschel_bulkley_of_exponent_one_without_yield_stress_flows_as_hagen_and_poiseuille_say(
    mu, pressure
):
    """1e-12: rounding."""
    expected = math.pi * PIPE[0] ** 4 * pressure / (8.0 * mu * PIPE[1])
    for law in (Newtonian(mu), HerschelBulkley(0.0, mu, 1.0), PowerLaw(mu, 1.0), Casson(0.0, mu)):
        assert flow(law, *PIPE, pressure) == pytest.approx(expected, rel=1e-12)
        assert drop(law, *PIPE, expected) == pytest.approx(pressure, rel=1e-12)


@given(viscosities, onsets, drops)
def test_laws_by_quadrature_flow_as_hagen_and_poiseuille_say_in_their_limits(mu, onset, pressure):
    """1e-12: the quadrature to rounding."""
    expected = math.pi * PIPE[0] ** 4 * pressure / (8.0 * mu * PIPE[1])
    for law in (Carreau(mu, 0.0, onset, 1.0), Carreau(mu, mu, onset, 0.3), Cross(mu, mu, onset, 0.3)):
        assert flow(law, *PIPE, pressure) == pytest.approx(expected, rel=1e-12)


@given(viscosities, st.floats(0.1, 1.5), powers(-2.0, 4.0))
def test_the_quadrature_agrees_with_the_closed_form_of_a_power_law(consistency, exponent, rate):
    """1e-12: rounding of 400 terms, and what lies below exp(-40) of the rate."""
    law = PowerLaw(consistency, exponent)
    general = reduced_flow.dispatch(FlowLaw)
    assert general(law, rate) == pytest.approx(reduced_flow(law, rate), rel=1e-12)


@given(
    st.one_of(
        st.builds(HerschelBulkley, powers(-2.0, 3.0), viscosities, exponents),
        st.builds(Casson, powers(-2.0, 3.0), viscosities),
        bounded(Carreau),
        bounded(Cross),
        pastes(powers(-2.0, 3.0)),
    ),
    powers(-2.0, 3.0),
)
def test_the_flow_is_the_integral_over_the_stress(law, excess):
    """Rabinowitsch and Mooney's integral as it stands, over the stress, by another quadrature; 1e-8: what is
    asked of it."""
    wall = law.yield_stress + excess
    parts = [law.yield_stress + excess * share for share in (0.0, 1e-4, 1e-2, 0.1, 1.0)]

    def integrand(stress):
        return stress**2 * float(law.rate_of(stress))

    small = 1e-10 * integrand(wall) * excess
    whole = sum(quad(integrand, *ends, epsabs=small, epsrel=1e-10)[0] for ends in pairwise(parts))
    radius, length = PIPE
    found = flow(law, radius, length, 2.0 * length * wall / radius)
    assert found == pytest.approx(math.pi * radius**3 / wall**3 * whole, rel=1e-8)


@given(laws, drops)
def test_the_drop_of_the_flow_at_a_drop_is_that_drop(law, pressure):
    """1e-12: roots to rounding; a drop is less sensitive than its flow."""
    through = flow(law, *PIPE, pressure)
    assume(through > 1e-200)
    assert drop(law, *PIPE, through) == pytest.approx(pressure, rel=1e-12)


@given(laws, drops, st.floats(1.0001, 10.0))
def test_more_drop_gives_more_flow(law, pressure, more):
    less = flow(law, *PIPE, pressure)
    assert less >= 0.0
    assert flow(law, *PIPE, more * pressure) > less or more * pressure <= starting_drop(law, *PIPE)


@given(laws, drops, st.floats(1.01, 3.0))
def test_a_wider_or_shorter_pipe_passes_more(law, pressure, by):
    radius, length = PIPE
    through = flow(law, radius, length, pressure)
    assume(through > 0.0)
    assert flow(law, by * radius, length, pressure) > through
    assert flow(law, radius, length / by, pressure) > through


@pytest.mark.parametrize("law", ONE_EACH, ids=repr)
def test_the_yield_stress_decides_where_flow_starts(law):
    start = starting_drop(law, *PIPE)
    assert start == pytest.approx(2.0 * 3.0 / 0.0125 * law.yield_stress, rel=1e-15)
    assert drop(law, *PIPE, 0.0) == start
    assert (
        flow(law, *PIPE, 0.0) == flow(law, *PIPE, 0.999 * start) == wall_rate(law, *PIPE, 0.5 * start) == 0.0
    )
    assert flow(law, *PIPE, 1.001 * start + 1e-3) > 0.0
    assert drop(law, *PIPE, 1e-14) > start


def test_casson_near_its_yield_stress_loses_no_digits():
    """Q -> pi R^3 (56/21) (1 - s)^3 tau_w/(4 eta) as s -> 1; at 1 - s = 5e-7 the next term is 2e-6 of it."""
    radius, length = PIPE
    wall = 20.0 * (1.0 + 1e-6)
    s = math.sqrt(20.0 / wall)
    leading = math.pi * radius**3 * 56.0 / 21.0 * (1.0 - s) ** 3 * wall / (4.0 * 0.5)
    assert flow(Casson(20.0, 0.5), radius, length, 2.0 * length * wall / radius) == pytest.approx(
        leading, rel=4e-6
    )


@pytest.mark.parametrize("law", ONE_EACH, ids=repr)
def test_the_rate_at_the_wall_bears_the_stress_there(law):
    """1e-12: rounding."""
    rate = wall_rate(law, *PIPE, 5e4)
    assert float(law.stress(rate)) == pytest.approx(0.5 * 5e4 * PIPE[0] / PIPE[1], rel=1e-12)


def test_the_inverse_holds_over_many_decades_of_flow():
    """1e-10: near the yield stress the flow keeps few digits of what the drop is above it."""
    for law in ONE_EACH:
        for through in np.geomspace(1e-9, 1.0, 10):
            assert flow(law, *PIPE, drop(law, *PIPE, through)) == pytest.approx(through, rel=1e-10)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda law: flow(law, 0.0, 3.0, 1.0),
            r"pipe radius \[m\]: got 0\.0, allowed above 0, for example 0\.0125",
        ),
        (lambda law: flow(law, 0.01, -3.0, 1.0), r"pipe length \[m\]: got -3\.0, allowed above 0"),
        (lambda law: flow(law, 0.01, 3.0, -1.0), r"pressure drop \[Pa\]: got -1\.0, allowed 0 and above"),
        (lambda law: drop(law, 0.01, 3.0, -1.0), r"flow \[m3/s\]: got -1\.0, allowed 0 and above"),
        (lambda law: drop(law, 0.01, 3.0, math.nan), r"flow \[m3/s\]: got nan, allowed 0 and above"),
        (lambda law: starting_drop(law, math.inf, 3.0), r"pipe radius \[m\]: got inf, allowed above 0"),
        (lambda law: wall_rate(law, 0.01, 0.0, 1.0), r"pipe length \[m\]: got 0\.0, allowed above 0"),
    ],
)
def test_numbers_out_of_range_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call(ONE_EACH[2])
