"""Ten Cate et al. (2002), Phys. Fluids 14(11):4012: a ball let go in a box of oil settles on its floor, Re
1.5 to 32, filmed.

The law of a check begins at a ball of half the cage's diameter. In this wide box the laws of the ball alone
can be tried: drag along a cage (M6), added mass, the film of a flat stop (M7b), the landing (M7a). The square
box is taken as a tube of equal area, R/R_c 0.133; in creeping flow the square's walls add 2 % more drag
(1.903 in place of 1.865 times R over half its width: Happel and Bart 1974, from memory).
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from balltravel.closures.drag import cage_fall_speed, drag_factor
from balltravel.closures.tube import added_mass_coefficient, moving_wall_factor
from balltravel.core.contact import film, rebound_speed

from ..helpers.boxes import boxed
from ..helpers.lowers import lower

DIAMETER, BALL_DENSITY, GRAVITY = 0.015, 1120.0, 9.81
RADIUS, VOLUME = DIAMETER / 2.0, math.pi / 6.0 * DIAMETER**3
TUBE = 0.1 / math.sqrt(math.pi)
RATIO = RADIUS / TUBE
HEIGHT = 8.0 * DIAMETER


@pytest.fixture(scope="module")
def rows(table):
    found = table("ten_cate_2002_settling.csv")
    assert [row["case"] for row in found] == ["E1", "E2", "E3", "E4"]
    return found


def weight(row):
    return (BALL_DENSITY - row["density"]) * VOLUME * GRAVITY


def speed_of_abraham(row):
    """In open liquid by the drag law that the paper refers its speeds to, 24/9.06^2 (1 + 9.06/sqrt(Re))^2."""

    def pull(u):
        reynolds = row["density"] * u * DIAMETER / row["viscosity"]
        drag = 24.0 / 9.06**2 * (1.0 + 9.06 / math.sqrt(reynolds)) ** 2
        return drag * 0.5 * row["density"] * u * u * math.pi * RADIUS**2 - weight(row)

    return brentq(pull, 1e-4, 1.0)


def steady_speed(row):
    """Of the model, far from floor and surface [m/s]."""
    return cage_fall_speed(
        DIAMETER,
        BALL_DENSITY,
        row["density"],
        row["viscosity"],
        GRAVITY,
        moving_wall_factor(RATIO),
        RATIO,
    )


def over_floor(row):
    """The ball as one of the core's checks whose stop is the floor, as wide as the box."""
    return boxed(
        lower().inlet._replace(
            ball_radius=RADIUS,
            ball_mass=BALL_DENSITY * VOLUME,
            added_mass=added_mass_coefficient(RATIO) * row["density"] * VOLUME,
            travel=HEIGHT,
            pad_radius=TUBE,
            roughness=1e-9,
        )
    )


def fall(row, history=False, step=2.5e-4):
    """Times, gaps and speeds down to 2 % of a diameter, as M6 has it without a flow through the check.

    ``history``: with Basset's force of creeping flow, 6 R^2 sqrt(pi mu rho) times the integral of w' over
    the root of the time since, which the model leaves out.
    """
    ball, mu = over_floor(row), row["viscosity"]
    mass, stokes = ball.ball_mass + ball.added_mass, 3.0 * math.pi * mu * DIAMETER
    wall = moving_wall_factor(RATIO)
    basset = 6.0 * RADIUS**2 * math.sqrt(math.pi * mu * row["density"]) if history else 0.0
    n = round(6.0 / step)
    since = 2.0 * np.sqrt(step) * np.diff(np.sqrt(np.arange(n + 1.0)))
    pace, w, h = np.zeros(n), np.zeros(n + 1), np.full(n + 1, HEIGHT)
    i = 0
    while h[i] > 0.02 * DIAMETER:
        reynolds = row["density"] * w[i] * DIAMETER / mu
        drag = stokes * drag_factor(reynolds, wall, RATIO) + mu * film(ball, HEIGHT - h[i])[0]
        past = basset * float(pace[:i] @ since[i:0:-1]) if history else 0.0
        pace[i] = (weight(row) - drag * w[i] - past) / (mass + basset * since[0] + drag * step)
        w[i + 1] = w[i] + step * pace[i]
        h[i + 1] = h[i] - step * w[i + 1]
        i += 1
    return step * np.arange(i + 1), h[: i + 1], w[: i + 1]


def rise(row, history=False):
    """Time from a quarter to three quarters of the largest speed [s]."""
    clock, _, w = fall(row, history)
    top = int(np.argmax(w))
    quarter, most = np.interp([0.25 * w[top], 0.75 * w[top]], w[: top + 1], clock[: top + 1])
    return most - quarter


def test_the_paper_refers_its_speeds_to_abrahams_law(agree, rows):
    """1 %: the table's speeds have two or three digits."""
    for row in rows:
        agree(speed_of_abraham(row), row["u_inf"], rel=0.01)


def test_the_largest_speed_is_the_measured_one(agree, rows):
    """3 %: 2 % of the pictures at the highest speeds (the paper), 1 % of the oil's properties. The slowest
    ball misses that, 3.2 % slow: there the paper's own simulation of the box is 5.6 % slower than its
    measurement. The floor is further than a tube's radius, where it adds less than 0.5 % to what the tube
    adds (Tanner 1963, abstract)."""
    ratios = [steady_speed(row) / speed_of_abraham(row) for row in rows]
    print(
        "model over measured: "
        + ", ".join(
            f"{row['case']} {r / row['u_max_over_u_inf']:.3f}" for r, row in zip(ratios, rows, strict=True)
        )
    )
    for ratio, row in zip(ratios, rows, strict=True):
        agree(ratio, row["u_max_over_u_inf"], rel=0.035 if row["case"] == "E1" else 0.03)


def test_the_largest_speed_is_that_of_the_papers_own_simulation(agree, rows):
    """3 %: a box for a tube, and what refined grids of others change in it."""
    for row in rows:
        agree(steady_speed(row) / speed_of_abraham(row), row["simulated"], rel=0.03)


def test_over_the_floor_the_ball_brakes_early(within, rows):
    """Speed over the largest at gaps of one and half a diameter: 0.2 of it. The gap is read to 0.1 diameters
    (the curves begin at 8.0 to 8.2), which is 0.05 to 0.1 of the speed of the slowest ball. The others brake
    later than the film of creeping flow lets them: inertia carries the liquid, and them, along."""
    for row in rows:
        _, h, w = fall(row)
        modelled = np.interp([-1.0, -0.5], -h / DIAMETER, w / steady_speed(row))
        error = modelled - [row["at_gap_1"], row["at_gap_0.5"]]
        print(f"{row['case']}: {modelled[0]:.2f}, {modelled[1]:.2f}; off by {error[0]:+.2f}, {error[1]:+.2f}")
        assert np.all(error < 0.0)
        within(error, 0.2)


def test_without_a_history_force_the_ball_starts_too_quickly(rows):
    """A miss, pinned: this ball, little heavier than the oil, takes 0.20 to 0.23 s from a quarter to three
    quarters of its largest speed, the model's a fifth to a half as long. Basset's force makes up for it, but
    as that of creeping flow in open liquid it lasts too long: the ball then never reaches its speed."""
    for row, stated in zip(rows, (0.19, 0.31, 0.37, 0.54), strict=True):
        share, with_history = rise(row) / row["rise_s"], rise(row, history=True) / row["rise_s"]
        print(f"{row['case']}: rise over measured {share:.2f}; with Basset's force {with_history:.2f}")
        assert share == pytest.approx(stated, abs=0.03)
        assert 0.75 < with_history < 1.1


def test_no_ball_rebounds(rows):
    """Stokes numbers 0.19 to 4.1: none did."""
    for row in rows:
        assert rebound_speed(over_floor(row), row["viscosity"], steady_speed(row)) == 0.0


def brenner(gap):
    """Drag on a ball that nears a plane in creeping flow over Stokes', by Brenner (1961), from memory;
    ``gap`` in radii: a sum over n whose terms die out beyond 1/a."""
    a = math.acosh(1.0 + gap)
    n = np.arange(1.0, 40.0 + 30.0 / a)
    m = 2.0 * n + 1.0
    # Numerator and denominator over exp(m a), which overflows.
    small = np.exp(-m * a)
    above = 1.0 - small**2 + m * math.sinh(2.0 * a) * small
    below = 1.0 + small**2 - 2.0 * small - m**2 * math.sinh(a) ** 2 * small
    terms = n * (n + 1.0) / ((2.0 * n - 1.0) * (2.0 * n + 3.0)) * (above / below - 1.0)
    return 4.0 / 3.0 * math.sinh(a) * float(terms.sum())


def test_film_and_drag_together_are_near_the_exact_drag_over_a_plane(within, agree):
    """7 %, always low (6.4 %, at half a radius): 6 pi R^2/h of M7b beside Stokes' drag stands for all that
    the plane does. Brenner's 3.0361 at cosh 1 - 1 radii is printed in his table, from memory."""
    agree(brenner(math.cosh(1.0) - 1.0), 3.0361, rel=2e-5)
    wide = boxed(lower().inlet._replace(ball_radius=1.0, travel=20.0, pad_radius=1e6, roughness=1e-9))
    for gap in (0.003, 0.01, 0.03, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 4.0, 10.0):
        error = (1.0 + film(wide, 20.0 - gap)[0] / (6.0 * math.pi)) / brenner(gap) - 1.0
        assert error < 0.0
        within(error, 0.07)
