"""The settling ball: what must hold whatever the numbers of its table are."""

import math
from dataclasses import dataclass

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from balltravel.closures import settling
from balltravel.closures.drag import cage_fall_speed
from balltravel.closures.flow_curves import tabulated
from balltravel.closures.settling import (
    drag,
    held,
    largest_yield_stress,
    power_law_drag,
    rate_factor,
    settling_rate,
    settling_speed,
    wall_factor,
)
from balltravel.core.rheology import Rheology, local_exponent

G = 9.80665
ratios = st.floats(0.0, 0.95)


def liquid_of(viscosity, exponent=1.0, onset=1.0, least=0.0, yield_stress=0.0, floor=1e-4):
    """A Carreau liquid with a yield stress and a least viscosity."""

    def curve(rate):
        thin = (viscosity - least) * (1.0 + (rate / onset) ** 2) ** (0.5 * (exponent - 1.0))
        return least + thin + yield_stress / rate

    return tabulated(curve, floor, yield_stress)


thinning = st.builds(
    liquid_of,
    viscosity=st.floats(1.0, 1e3),
    exponent=st.floats(0.2, 1.0),
    onset=st.floats(1e-3, 1e2),
    least=st.floats(0.0, 0.9),
    yield_stress=st.just(0.0),
    floor=st.just(1e-4),
)
pasty = st.builds(
    liquid_of,
    viscosity=st.floats(1.0, 1e3),
    exponent=st.floats(0.3, 1.0),
    onset=st.floats(1e-3, 1e2),
    least=st.floats(0.0, 0.9),
    yield_stress=st.floats(0.1, 300.0),
    floor=st.floats(1e-3, 1e-2),
)
liquids = st.one_of(thinning, pasty)


@dataclass(frozen=True)
class PowerLaw:
    """A Rheology that is a power law at the rates of the tests, stress m rate^n."""

    m: float
    n: float

    @property
    def rheology(self):
        return tabulated(lambda rate: self.m * rate ** (self.n - 1.0), 1e-12)


@given(st.floats(0.1, 1e4), ratios, st.floats(1.05, 8.0))
def test_exponent_one_without_yield_stress_is_a_newtonian_liquid(mu, ratio, heavy):
    """1e-12, by the general law too, of which a Newtonian liquid is a case."""
    speed = settling_speed(Rheology(mu), 0.025, heavy * 1000.0, 1000.0, G, ratio)
    expected = cage_fall_speed(0.025, heavy * 1000.0, 1000.0, mu, G, wall_factor(ratio), ratio)
    assert speed == pytest.approx(expected, rel=1e-12)
    stokes = 3.0 * math.pi * mu * 0.025 * 0.01 * wall_factor(ratio)
    assert drag(Rheology(mu), 0.01, 0.025, ratio) == pytest.approx(stokes, rel=1e-12)
    plain = liquid_of(mu)  # takes the way of any liquid
    assert drag(plain, 0.01, 0.025, ratio) == pytest.approx(stokes, rel=1e-12)


@given(st.floats(0.05, 1.0), ratios, st.floats(-6.0, 1.0))
def test_a_power_law_liquid_has_its_own_drag(n, ratio, power):
    """1e-5, of the liquid's table: drag 3 pi m w^n d^(2-n) X."""
    d, w = 0.025, 10.0**power
    expected = 3.0 * math.pi * 7.0 * w**n * d ** (2.0 - n) * power_law_drag(n, ratio)
    assert drag(PowerLaw(7.0, n).rheology, w, d, ratio) == pytest.approx(expected, rel=1e-5)


@given(st.floats(0.3, 0.99), ratios, st.floats(1.1, 8.0))
def test_a_ball_falls_at_the_speed_at_which_a_power_law_drag_is_its_weight(n, ratio, heavy):
    d = 0.025
    weight = (heavy - 1.0) * 1000.0 * math.pi / 6.0 * d**3 * G
    w = (weight / (3.0 * math.pi * 50.0 * d ** (2.0 - n) * power_law_drag(n, ratio))) ** (1.0 / n)
    # So thick that inertia does not count: 1e6 times the consistency, and as much less speed to the n.
    thick = 1e6 * 50.0
    w *= 1e-6 ** (1.0 / n)
    found = settling_speed(PowerLaw(thick, n).rheology, d, heavy * 1000.0, 1000.0, G, ratio)
    assert found == pytest.approx(w, rel=1e-5)


@given(liquids, ratios, st.floats(-5.0, 0.0))
def test_the_rate_is_that_of_the_exponent_there(liquid, ratio, power):
    rate = settling_rate(liquid, 10.0**power, 0.025, ratio)
    n = min(max(local_exponent(liquid, rate), 0.0), 1.0)
    assert rate == pytest.approx(rate_factor(n, ratio) * 10.0**power / 0.025, rel=1e-9)


@given(liquids, ratios, st.floats(-7.0, 1.0), st.floats(1.01, 10.0))
def test_the_drag_rises_with_the_speed(liquid, ratio, power, more):
    """Well above the rate at which a yield stress is blunted: within it the exponent falls from 1 to nearly
    0, and the one-rate rule with it."""
    w = max(10.0**power, 30.0 * math.sqrt(liquid.square) * 0.025 if liquid.yield_stress > 0.0 else 0.0)
    # A ball in a plastic paste has nearly the same drag at every speed.
    assert drag(liquid, more * w, 0.025, ratio) > 0.997 * drag(liquid, w, 0.025, ratio)


@given(liquids, ratios, st.floats(1.05, 8.0), st.floats(1.05, 3.0))
def test_a_heavier_ball_falls_faster(liquid, ratio, heavy, more):
    slow = settling_speed(liquid, 0.025, heavy * 1000.0, 1000.0, G, ratio)
    fast = settling_speed(liquid, 0.025, more * heavy * 1000.0, 1000.0, G, ratio)
    assert fast > slow or fast == slow == 0.0


@given(liquids, st.floats(0.3, 0.9), st.floats(0.01, 0.05), st.floats(1.05, 8.0))
def test_a_ball_in_a_closer_cage_falls_slower(liquid, ratio, closer, heavy):
    """From 0.3 on; where the cage is little closer, within the table's error of half a per cent (in the drag:
    of its root of n in the speed)."""
    wide = settling_speed(liquid, 0.025, heavy * 1000.0, 1000.0, G, ratio)
    close = settling_speed(liquid, 0.025, heavy * 1000.0, 1000.0, G, ratio + closer)
    slack = 1.0 if closer > 0.04 and ratio > 0.5 else 1.0 + 0.005 / 0.2
    assert close < slack * wide or close == wide == 0.0


@given(liquids, ratios, st.floats(1.05, 8.0))
def test_a_light_ball_rises_as_a_heavy_one_falls(liquid, ratio, heavy):
    """In a liquid of the same density: a ball as much lighter as the other is heavier."""
    excess = 100.0 * heavy
    down = settling_speed(liquid, 0.025, 1000.0 + excess, 1000.0, G, ratio)
    up = settling_speed(liquid, 0.025, 1000.0 - excess, 1000.0, G, ratio)
    assert up == pytest.approx(-down, rel=1e-9)


@given(st.floats(0.3, 3.0), ratios)
def test_a_yield_stress_above_the_largest_holds_a_ball_and_one_below_does_not(share, ratio):
    assume(abs(share - 1.0) > 1e-9)
    d, excess = 0.025, 6800.0
    weight = excess * math.pi / 6.0 * d**3 * G
    stress = share * largest_yield_stress(weight, d, ratio)
    paste = liquid_of(20.0, 0.5, 1.0, yield_stress=stress, floor=1e-6)
    speed = settling_speed(paste, d, 7800.0, 1000.0, G, ratio)
    assert held(paste, weight, d, ratio) == (share > 1.0)
    assert (speed == 0.0) == (share > 1.0)


def test_in_open_liquid_the_yield_number_decides():
    """2 pi R^2 tau_y/F = 0.143."""
    weight, d = 0.5, 0.025
    stress = largest_yield_stress(weight, d)
    assert 2.0 * math.pi * (0.5 * d) ** 2 * stress / weight == pytest.approx(0.143, rel=2e-6)
    paste = liquid_of(20.0, yield_stress=stress * (1 + 1e-9))
    assert held(paste, weight, d)
    assert held(paste, -weight, d)
    assert not held(paste._replace(yield_stress=stress * (1 - 1e-8)), weight, d)
    assert held(Rheology(20.0), 0.0, d)


def test_a_close_cage_holds_a_ball_at_a_lower_yield_stress():
    assert largest_yield_stress(1.0, 0.025, 0.8) < 0.8 * largest_yield_stress(1.0, 0.025)


def test_a_ball_as_dense_as_the_liquid_stays():
    for liquid in (Rheology(1.0), liquid_of(1.0, 0.5), liquid_of(1.0, yield_stress=1.0)):
        assert settling_speed(liquid, 0.025, 1000.0, 1000.0, G, 0.7) == 0.0
    assert drag(liquid_of(1.0, 0.5), 0.0, 0.025, 0.7) == 0.0


def test_just_above_the_yield_stress_that_holds_it_a_ball_creeps():
    """The drag of a vanishing speed is the force at which the ball is held: no jump between both."""
    d, weight = 0.025, 0.5
    for ratio in (0.0, 0.5, 0.8):
        paste = liquid_of(1.0, yield_stress=largest_yield_stress(weight, d, ratio), floor=1e-9)
        assert drag(paste, 1e-8, d, ratio) == pytest.approx(weight, rel=1e-3)


def test_near_exponent_one_the_rate_is_finite_and_smooth():
    for ratio in (0.0, 0.3, 0.7, 0.95):
        k = rate_factor(1.0, ratio)
        assert 0.0 < k < math.inf
        assert rate_factor(1.0 - 1e-9, ratio) == pytest.approx(k, rel=1e-8)


@pytest.mark.parametrize("ratio", [-0.01, 0.951, math.nan])
def test_a_ratio_outside_the_range_is_refused(ratio):
    with pytest.raises(ValueError, match=r"allowed 0 to 0\.95, for example"):
        wall_factor(ratio)
    with pytest.raises(ValueError, match=r"allowed 0 to 0\.95, for example"):
        power_law_drag(0.5, ratio)
    with pytest.raises(ValueError, match=r"allowed 0 to 0\.95, for example"):
        settling_speed(Rheology(1.0), 0.02, 7800.0, 1000.0, G, ratio)


@pytest.mark.parametrize("n", [-0.01, 1.01, math.nan])
def test_an_exponent_outside_the_range_is_refused(n):
    with pytest.raises(ValueError, match="allowed 0 to 1, for example"):
        rate_factor(n, 0.5)


def test_the_range_is_told():
    assert settling.SETTLING.inside == ((0.1, 1.0),)
