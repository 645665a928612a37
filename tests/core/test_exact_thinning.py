"""The two viscosities of a check (M9a) on numbers chosen by hand: the balance's root by another search,
slopes by differences, first guess, bounds and last step written out."""

import math
from functools import cache

import numpy as np
import pytest
from scipy.optimize import brentq

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table
from balltravel.core.check import terms_at
from balltravel.core.inertia import STILL, Stream, loss_at
from balltravel.core.lift import cubic, place_of
from balltravel.core.parameters import BACKWARD, FORWARD, Check
from balltravel.core.rheology import Rheology
from balltravel.core.thinning import (
    CAGE_BALL,
    EDGE_BALL,
    Balance,
    Head,
    Mean,
    balance,
    between,
    cage_at,
    flow_of,
    guess_of,
    last,
    rates_at,
    series_at,
    viscosities,
)

from ..helpers.boxes import boxed, liquid, thin

SEAT, BALL, TRAVEL, DENSITY = 0.0105, 1.4, 0.9, 1200.0
THINNING = thin(8.0, 0.4, 0.5, 0.0, 0.01)
YIELDING = thin(8.0, 0.6, 2.0, 60.0, 0.02)
LIQUIDS = {"thinning": THINNING, "yielding": YIELDING}
STATES = [  # lift over travel, ball speed [m/s], pressure drop [Pa]
    (0.02, -0.004, -300.0), (0.3, -0.05, 4e3), (0.3, 0.05, -4e3), (0.8, 0.0, 2e5), (0.8, -0.6, -50.0),
    (0.95, -1.5, 20.0), (0.05, 0.3, 5e5),
]  # fmt: skip


@cache
def make_table():
    size = CheckGeometry(
        SEAT, 0.8 * SEAT, BALL * SEAT, 1.9 * SEAT, 6.0 * SEAT, 0.7, 2e-6, family="tabulated"
    )  # fmt: skip
    return closure_table(TRAVEL * SEAT, TABLE_ORIGIN * SEAT, lambda z: tuple(lift_functions(size, z)))


def check_by(table):
    return boxed(
        Check(
            SEAT, BALL * SEAT, TRAVEL * SEAT, 0.1, 0.02, 3.0, 0.9, 0.0, 0.0, 0.0, 0.0, 2e-6, 1e-4,
            TABLE_ORIGIN * SEAT, make_table()[1], table, 1.0,
        )
    )  # fmt: skip


CHECK = check_by(make_table()[0])


def flat_check(laminar):
    """A check whose laminar loss over gap^2 is the same at every lift and in both directions."""
    table = np.array(np.asarray(make_table()[0]))
    table[:, [FORWARD, BACKWARD]] = (0.0, 0.0, 0.0, laminar)
    return check_by(table)


def parts(z, w, stream=STILL):
    """Place, cage, series and rates at a lift and a ball speed."""
    place = place_of(CHECK, z)
    t, cage = terms_at(CHECK, place, z, w, stream), cage_at(CHECK, place)
    s = series_at(CHECK, place, cage, t.gap, t.gap_z, t.alpha, t.alpha_z, t.e, t.e_z, w, stream)
    return place, cage, s, rates_at(CHECK, place)


def squeezed(z, w):
    """Something that a stream takes at every speed, without a corner at 0."""
    R = 2e8 * w * w * SEAT / (z + 1e-5)
    return Stream(R, -R / (z + 1e-5), 4e8 * w * SEAT / (z + 1e-5))


def both(material, z, w, dp, slopes=True, stream=STILL):
    place, cage, s, _ = parts(z, w, stream)
    return viscosities(CHECK, material, place, cage, s, dp, slopes)


@pytest.mark.parametrize("name", LIQUIDS)
@pytest.mark.parametrize(("share", "w", "dp"), STATES)
def test_both_viscosities_are_those_at_the_root_of_the_balance(name, share, w, dp):
    """By Brent's method between bounds, 1e-9: beside a fast ball too, past which next to nothing flows."""
    material, z = liquid(LIQUIDS[name], DENSITY), share * TRAVEL * SEAT
    place, cage, s, r = parts(z, w)

    def missing(U):
        return balance(CHECK, material, place, cage, s, r, dp, U).missing

    high = 1e-6
    while not missing(-high) < 0.0 < missing(high):
        high *= 4.0
    U = brentq(missing, -high, high, xtol=1e-300, rtol=8.9e-16, maxiter=500)
    exact = balance(CHECK, material, place, cage, s, r, dp, U)
    for slopes in (False, True):
        found = both(material, z, w, dp, slopes)
        etas = (exact.edge.eta, exact.cage.eta, exact.jet.eta)
        assert (found.edge, found.cage, found.jet) == pytest.approx(etas, rel=1e-9)
    assert flow_of(CHECK, material, place, cage, s, r, dp).missing == pytest.approx(U, rel=1e-9)


@pytest.mark.parametrize("stream_of", [lambda *_: STILL, squeezed], ids=["steady", "squeezed"])
@pytest.mark.parametrize("name", LIQUIDS)
@pytest.mark.parametrize(("share", "w", "dp"), STATES)
def test_the_slopes_of_both_viscosities_agree_with_differences(difference, stream_of, name, share, w, dp):
    """By drop, lift and ball speed; 1e-5 of the slope and 1e-8 of the viscosity over the step."""
    material, z = liquid(LIQUIDS[name], DENSITY), share * TRAVEL * SEAT

    def at(**moved):
        there = {"z": z, "w": w, "dp": dp} | moved
        stream = stream_of(there["z"], there["w"])
        found = both(material, there["z"], there["w"], there["dp"], False, stream)
        return np.array([found.edge, found.cage, found.jet])

    found = both(material, z, w, dp, stream=stream_of(z, w))
    steps = {"dp": 1e-3 * abs(dp), "z": 2e-4 * (z + 1e-5), "w": 1e-3 * max(abs(w), 1e-3)}
    for by, h in steps.items():
        seen = difference(lambda x, by=by: at(**{by: x}), {"z": z, "w": w, "dp": dp}[by], h)
        own = np.array([getattr(found, f"{name}_{by}") for name in ("edge", "cage", "jet")])
        assert (np.abs(own - seen) <= 1e-5 * np.abs(seen) + 1e-8 * at() / h).all()


def test_without_slopes_none_are_told():
    found = both(liquid(THINNING, DENSITY), 0.3 * TRAVEL * SEAT, -0.05, 4e3, False)
    slopes = [getattr(found, f"{of}_{by}") for of in ("edge", "cage", "jet") for by in ("dp", "z", "w")]
    assert slopes == [0.0] * 9


@pytest.mark.parametrize("dp", [-2e4, -0.5, 0.5, 2e4])
def test_the_first_guess_is_the_harmonic_mean_of_a_viscous_flow_and_a_jet(dp):
    """Of a Newtonian liquid: g |dp|/eta, and (sqrt(|dp|/k)/r^3 + |past W|)/gap with the loss of that way."""
    eta, z, w = 3.0, 0.3 * TRAVEL * SEAT, -0.05
    place, _, s, r = parts(z, w)
    material = liquid(Rheology(eta), DENSITY)
    k = 0.5 * DENSITY * cubic(CHECK, place, FORWARD if dp > 0.0 else BACKWARD)[0] / (math.pi * SEAT**2) ** 2
    viscous = s.g * abs(dp) / eta
    jet = (math.sqrt(abs(dp) / k) / SEAT**3 + abs(s.past * w / SEAT)) / s.gap
    expected = math.copysign(1.0 / (1.0 / viscous + 1.0 / jet), dp)
    assert guess_of(CHECK, material, place, s, r, dp) == pytest.approx(expected, rel=1e-9)


def test_a_guess_is_asked_of_the_viscosity_at_the_stress_that_the_drop_makes():
    """Of a thinning liquid without inertia: the rate at which eta rate is that stress, from its curve."""
    z, dp = 0.3 * TRAVEL * SEAT, 4e3
    place, _, s, r = parts(z, 0.0)
    stress = r.edge * s.g * dp
    rate = brentq(lambda x: 8.0 * (1.0 + (x / 0.5) ** 2) ** -0.3 * x - stress, 1e-6, 1e7)
    found = guess_of(CHECK, liquid(THINNING, 1e-12), place, s, r, dp)
    assert found == pytest.approx(s.g * dp / (stress / rate), rel=1e-3)


INF = math.inf


@pytest.mark.parametrize(
    ("low", "high", "U", "expected"),
    [
        (-INF, INF, 0.0, 1e-6), (2.0, INF, 2.0, 22.0), (-2.0, INF, -2.0, 18.0), (-INF, 3.0, 3.0, -27.0),
        (-INF, 0.0, 0.0, -1e-6), (-INF, -3.0, -3.0, -33.0), (1.0, 4.0, 1.0, 2.0), (-4.0, -1.0, -1.0, -2.0),
        (-1.0, 3.0, 3.0, 0.2), (-3.0, 1.0, 1.0, -0.2), (0.0, 5.0, 0.0, 0.05), (-5.0, 0.0, 0.0, -0.05),
    ],
)  # fmt: skip
def test_the_next_flow_to_try_lies_between_the_bounds(low, high, U, expected):
    """Ten times as far without one; the geometric mean on one side of 0; near 0 where they are on both."""
    assert between(low, high, U) == pytest.approx(expected, rel=1e-12)


def test_the_last_step_goes_along_the_slopes():
    """Viscosities, flow past the edge and flow through the cage; the rest stays."""
    s = parts(0.3 * TRAVEL * SEAT, -0.05)[2]
    edge, cage, jet = (
        Mean(2.0, 0.1, 0.2, 0.3, 0.4),
        Mean(3.0, 0.5, 0.6, 0.7, 0.8),
        Mean(4.0, 0.9, 1.0, 1.1, 1.2),
    )
    head = Head(0.12, 0.13, 0.14, 0.15, 0.16, 0.17)
    b = Balance(0.0, 5.0, edge, cage, jet, 11.0, head)
    found, inner = last(s, b, 7.0, 0.01), s.gap**2 * 0.01
    assert found.missing == 7.01
    assert found.edge == (pytest.approx(2.001, rel=1e-15), 0.1, 0.2, 0.3, 0.4)
    assert found.cage == (pytest.approx(3.0 + 0.5 * inner, rel=1e-15), 0.5, 0.6, 0.7, 0.8)
    assert found.through_cage == pytest.approx(11.0 + inner, rel=1e-15)
    assert found.jet == (pytest.approx(4.009, rel=1e-15), 0.9, 1.0, 1.1, 1.2)
    assert (found.missing_U, found.head) == (5.0, head)


def test_a_ball_that_moves_shears_the_liquid_at_both_places():
    """Next to no flow: the viscosities at the ball's own rates, EDGE_BALL and CAGE_BALL times w/R."""
    z, w = 0.8 * TRAVEL * SEAT, -1e-3
    place, cage, s, r = parts(z, w)
    material = liquid(THINNING, DENSITY)
    still = balance(CHECK, material, place, cage, s, r, 0.0, 0.0)
    turn = abs(w) / (BALL * SEAT)
    curve = [8.0 * (1.0 + (c * turn / 0.5) ** 2 + (0.01 / 0.5) ** 2) ** -0.3 for c in (EDGE_BALL, CAGE_BALL)]
    assert still.edge.eta == pytest.approx(curve[0], rel=1e-6)
    assert still.cage.eta <= curve[1] * (1.0 + 1e-6)


@pytest.mark.parametrize("jet", [0.43, 0.8, 0.999])
@pytest.mark.parametrize("forward", [True, False])
def test_a_liquid_that_thickens_keeps_the_plateau_of_the_loss(jet, forward):
    """The rule of flatter profiles is of liquids that thin: with less at the jet than at the edge it would
    make the plateau many times larger, and beyond that negative. Plateaus of 0.3 to 1000."""
    for plateau in (0.3, 2.0, 1000.0):
        gap = 0.5
        check = flat_check(plateau * gap**2)
        loss = loss_at(check, place_of(check, 0.5 * TRAVEL * SEAT), gap, 0.0, jet, forward)
        assert (loss.laminar, loss.laminar_J) == (pytest.approx(plateau * gap**2, rel=1e-12), 0.0)
    thinned = loss_at(check, place_of(check, 0.5 * TRAVEL * SEAT), gap, 0.0, 1.1, forward)
    assert thinned.laminar < loss.laminar
    assert thinned.laminar_J < 0.0
