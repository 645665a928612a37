"""The flow curve of the material (M9): its limits and its slope."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.core.model import line_loss
from balltravel.core.parameters import Suction
from balltravel.core.rheology import Rheology, flow_curve, is_newtonian, local_exponent, viscosity

from .boxes import boxed, liquid

ROOM = 293.15
rates = st.floats(-6.0, 6.0).map(lambda x: 10.0**x)
curves = st.builds(
    Rheology,
    st.floats(0.01, 1000.0),
    exponent=st.floats(0.3, 1.0),
    onset=st.floats(-3.0, 3.0).map(lambda x: 10.0**x),
    least=st.just(0.0),
    yield_stress=st.sampled_from((0.0, 0.5, 40.0)),
    blunt=st.floats(1e-3, 0.1),
)


@pytest.mark.parametrize("rate", [0.0, 1e-3, 7.0, 1e5])
def test_exponent_one_without_yield_stress_is_newtonian_to_the_last_digit(rate):
    assert flow_curve(boxed(Rheology(3.7)), rate, ROOM) == (3.7, 0.0)
    bent = Rheology(3.7, exponent=1.0, onset=0.01)
    assert is_newtonian(bent)
    assert viscosity(boxed(bent), rate, ROOM) == 3.7


def test_far_above_the_onset_it_is_a_power_law():
    """mu0 (rate/onset)^(n - 1): 1e-7 of it is left of the 1 under the root."""
    curve = boxed(Rheology(20.0, exponent=0.4, onset=0.1))
    for rate in (1e3, 1e5):
        assert viscosity(curve, rate, ROOM) == pytest.approx(20.0 * (rate / 0.1) ** -0.6, rel=1e-7)
    assert local_exponent(curve, 1e4, ROOM) == pytest.approx(0.4, rel=1e-6)
    assert viscosity(curve, 1e-5, ROOM) == pytest.approx(20.0, rel=1e-7)


def test_with_a_yield_stress_the_stress_is_that_of_herschel_and_bulkley():
    """tau_y + K rate^n well above onset and blunting."""
    n, onset, K = 0.5, 1e-3, 8.0
    curve = boxed(Rheology(K * onset ** (n - 1.0), exponent=n, onset=onset, yield_stress=30.0, blunt=1e-3))
    for rate in (1.0, 100.0):
        assert rate * viscosity(curve, rate, ROOM) == pytest.approx(30.0 + K * rate**n, rel=1e-5)


@given(curves, rates)
def test_the_slope_is_that_of_the_viscosity_and_the_stress_rises(curve, rate):
    boxed_curve, h = boxed(curve), 1e-5 * rate
    eta, slope = flow_curve(boxed_curve, rate, ROOM)
    high, low = (viscosity(boxed_curve, rate + s, ROOM) for s in (h, -h))
    assert slope == pytest.approx((high - low) / (2.0 * h), rel=1e-5, abs=1e-8 * eta / rate)
    assert (rate + h) * high > (rate - h) * low
    assert 0.0 < local_exponent(boxed_curve, rate, ROOM) <= 1.0 + 1e-12


@pytest.mark.parametrize(("n", "within"), [(0.3, 0.034), (0.5, 0.011), (0.8, 0.001)])
def test_the_hose_loses_what_a_power_law_loses_in_a_tube(n, within):
    """dp = 4 L/d K ((3n + 1)/(4n) 8U/d)^n in closed form; the model takes one viscosity, at 0.785 of 8U/d."""
    d, L, Q, K, onset = 0.038, 1.5, 2e-4, 6.0, 1e-4
    hose = boxed(Suction(1.0, 128.0 * L / (math.pi * d**4), 0.0, 1e5, d, 0.0))
    material = liquid(K * onset ** (n - 1.0), 1200.0, exponent=n, onset=onset)
    loss, slope = line_loss(hose, material, Q)
    wall = (3.0 * n + 1.0) / (4.0 * n) * 32.0 * Q / (math.pi * d**3)
    assert loss == pytest.approx(4.0 * L / d * K * wall**n, rel=within)
    near = [line_loss(hose, material, Q * (1.0 + s))[0] for s in (1e-5, -1e-5)]
    assert slope == pytest.approx((near[0] - near[1]) / (2e-5 * Q), rel=1e-6)
    assert np.isclose(slope * Q / loss, n, rtol=1e-5)
