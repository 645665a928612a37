"""Rebound from a wall in a liquid: bounces filmed by Gondret, Lance and Petit (2002), Phys. Fluids 14(2):643,
and the limits in the abstract of Joseph, Zenit, Hunt and Rosenwinkel (2001), J. Fluid Mech. 433:329.

All on planes; nobody is known to have measured it on a seat.
"""

import math

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from balltravel.closures.drag import drag_factor
from balltravel.core.contact import rebound_speed

from ..helpers.boxes import boxed
from ..helpers.lowers import lower

DRY, GRAVITY = 0.97, 9.81


@pytest.fixture(scope="module")
def bounces(table):
    rows = table("gondret_2002_rebound.csv")
    assert len(rows) == 5
    return rows


def restitution(radius, density_ratio, kinematic_viscosity, speed):
    """Of the model, in a liquid of density 1, the ball far from other walls (added mass 1/2)."""
    volume = 4.0 / 3.0 * math.pi * radius**3
    ball = lower().inlet._replace(
        ball_radius=radius, ball_mass=density_ratio * volume, added_mass=0.5 * volume
    )
    return rebound_speed(boxed(ball), kinematic_viscosity, speed) / speed


def stokes(row):
    """rho_b w d/(9 mu), the ball's mass alone, as both papers have it."""
    return row["density_ratio"] * row["speed_in"] * 2.0 * row["radius"] / (9.0 * row["kinematic_viscosity"])


def test_bounces_keep_the_measured_share_of_their_speed(within, bounces):
    """0.1 for the four bounces of one ball, St 152 to 19: its speed changes by 0.05 m/s, 0.09 of the first,
    from picture to picture. The other ball misses that: at St 27 it kept 0.43, the model's keeps 0.29."""
    for row in bounces:
        measured = row["speed_out"] / row["speed_in"]
        keeps = restitution(row["radius"], row["density_ratio"], row["kinematic_viscosity"], row["speed_in"])
        print(f"St {stokes(row):.0f}: {keeps:.2f} of the speed, measured {measured:.2f}")
        within(keeps - measured, 0.1 if row["radius"] < 0.002 else 0.15)


def apex(row):
    """Of the model: how high a ball flies in open liquid from its measured height and speed [m]."""
    d, s, nu = 2.0 * row["radius"], row["density_ratio"], row["kinematic_viscosity"]

    def rates(_, y):
        drag = 18.0 * nu / d**2 * y[1] * drag_factor(abs(y[1]) * d / nu, 1.0, 0.0)
        return [y[1], (-GRAVITY * (s - 1.0) - drag) / (s + 0.5)]

    def stands(_, y):
        return y[1]

    stands.terminal = True
    start = [row["height_out"], row["speed_out"]]
    return solve_ivp(rates, (0.0, 1.0), start, events=stands, rtol=1e-8, atol=1e-12).y[0, -1]


def test_after_a_rebound_a_ball_flies_too_high(bounces):
    """A miss, pinned: drag and added mass alone let it fly up to 1.5 times as high as measured. The liquid
    that came down with the ball still streams to the wall; the paper names the history force. Of the third
    bounce, half a millimetre, the speed over one picture is 0.1 or more too low."""
    flown = [row for row in bounces if not math.isnan(row["apex"])]
    for row, stated in zip(flown, (1.42, 1.16, 0.90, 1.50), strict=True):
        share = apex(row) / row["apex"]
        print(f"St {stokes(row):.0f}: {share:.2f} times as high as measured")
        assert share == pytest.approx(stated, abs=0.03)


def at_stokes(number, density_ratio):
    """The model's restitution at a Stokes number of the ball's mass alone."""
    return restitution(1.0, density_ratio, 2.0 / 9.0 * density_ratio, number)


@pytest.mark.parametrize("density_ratio", [1.2, 2.5, 7.8])
def test_the_threshold_is_the_measured_one(within, density_ratio):
    """Below a Stokes number of "approximately 10" no ball of 1.2 to 7.8 times the liquid's density came back.
    30 %: the model counts the added mass in, which the light ball's 10 does not."""
    least = brentq(lambda s: 0.5 - (at_stokes(s, density_ratio) > 0.0), 1.0, 100.0, xtol=1e-9)
    within(least / 10.0 - 1.0, 0.3)
    assert at_stokes(0.999 * least, density_ratio) == 0.0
    assert 0.0 < at_stokes(1.001 * least, density_ratio) < 0.04


@pytest.mark.parametrize("density_ratio", [1.2, 2.5, 7.8])
def test_above_stokes_500_a_ball_rebounds_as_if_dry(within, density_ratio):
    """0.1: measured, it "appears to" do so; the spread of such figures is about that (from memory)."""
    within(at_stokes(500.0, density_ratio) / DRY - 1.0, 0.1)
