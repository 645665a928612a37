"""The film of a ball on a cone, against its closed-form limits (Reynolds' equation integrated by hand)."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from balltravel.closures.film import REACH, ConeSeat, film

ANGLE = math.radians(40.0)
PLAIN = ConeSeat(1.0, 1.3, 1.4, ANGLE)
LAPPED = ConeSeat(1.0, 1.3, 1.4, ANGLE, 0.1)


def test_the_ball_sits_where_it_touches_the_cone():
    assert PLAIN.contact == pytest.approx(1.4 * math.cos(ANGLE), rel=1e-12)
    assert PLAIN.sunk == 1.4
    # Half a band of 0.1 and the distance to the cone are the legs of a triangle over the radius.
    assert LAPPED.sunk == pytest.approx(math.sqrt(1.4**2 - 0.05**2), rel=1e-12)


def test_without_a_band_the_gap_is_a_parabola(agree):
    """h = g + s^2/(2R): 12/(2 pi r) times 3 pi/8 sqrt(2R) g^(-5/2), and for the squeezing 2 pi r sin^2 times
    12 times pi/8 (2R)^(3/2) g^(-3/2), with the shear 2 pi r cos^2 times pi sqrt(2R) g^(-1/2) beside it."""
    R, r, g = 1.4, PLAIN.contact, 1e-7
    found, _ = film(PLAIN, np.array([g]))
    Rqq = 6.0 / (math.pi * r) * 3.0 * math.pi / 8.0 * math.sqrt(2.0 * R) * g**-2.5
    squeeze = 2.0 * math.pi * r * math.sin(ANGLE) ** 2 * 12.0 * math.pi / 8.0 * (2.0 * R) ** 1.5 * g**-1.5
    shear = 2.0 * math.pi**2 * r * math.cos(ANGLE) ** 2 * math.sqrt(2.0 * R) * g**-0.5
    agree(found.Rqq[0], Rqq * r**3, 3e-4)
    agree(found.Rqw[0], math.pi * r**2 * Rqq * r, 3e-4)
    # The rings' radius is that of the contact but for a share of the film's length, sqrt(2Rg).
    agree(found.S[0], (squeeze + shear) / r, 2e-3)


def test_a_lapped_band_is_an_even_gap_but_for_its_slope():
    """Over a band of width b, 6 b/(pi r g^3) for the flow, and pi r sin^2 b^3 2/g^3 for the squeezing."""
    b, r, g = 0.1, LAPPED.contact, 1e-6
    found, _ = film(LAPPED, np.array([g]))
    even = 6.0 * b / (math.pi * r * g**3)
    assert found.Rqq[0] == pytest.approx(even * r**3, rel=0.01)
    assert found.S[0] == pytest.approx(2.0 * math.pi * r * math.sin(ANGLE) ** 2 * b**3 / g**3 / r, rel=0.03)


def test_the_ends_are_where_the_cone_ends():
    """From the ball's surface straight to the cone, at the bore's edge and at the mouth."""
    lift = 0.01
    _, ends = film(PLAIN, np.array([lift * math.sin(ANGLE)]))
    centre = (1.4 - math.cos(ANGLE)) / math.sin(ANGLE) + lift
    height = 0.3 / math.tan(ANGLE)
    for got, (x, y) in ((ends.bore[0], (1.0, 0.0)), (ends.mouth[0], (1.3, height))):
        # Along the normal of the cone, which for an end beside the foot is not the shortest way to the ball.
        along = x * math.sin(ANGLE) + (y - centre) * math.cos(ANGLE)
        across = x * math.cos(ANGLE) - (y - centre) * math.sin(ANGLE)
        assert got == pytest.approx(across - math.sqrt(1.4**2 - along**2), rel=1e-9)


def test_a_ball_high_above_its_cone_has_no_film():
    """The foot is beyond the mouth: nothing is left, and the ends are REACH radii beside the foot."""
    found, ends = film(PLAIN, np.array([5.0]))
    assert (found.Rqq[0], found.Rqw[0], found.S[0]) == (0.0, 0.0, 0.0)
    side = 1.4 * (1.0 - math.sqrt(1.0 - REACH**2))
    assert (ends.bore[0], ends.mouth[0]) == pytest.approx((5.0 + side, 5.0 + side), rel=1e-9)


def test_finer_pieces_change_little(monkeypatch):
    gaps = np.geomspace(1e-5, 0.3, 12)
    coarse = [film(seat, gaps)[0] for seat in (PLAIN, LAPPED)]
    monkeypatch.setattr("balltravel.closures.film.NODES", 8000)
    for seat, before in zip((PLAIN, LAPPED), coarse, strict=True):
        for was, now in zip(before, film(seat, gaps)[0], strict=True):
            assert was == pytest.approx(now, rel=0.01)


@given(
    st.floats(0.35, 1.2), st.floats(1.05, 1.6), st.floats(0.1, 0.9), st.floats(0.0, 0.9), st.floats(-6.0, 0.3)
)
def test_the_film_is_definite_and_weakens_as_the_gap_opens(angle, contact, share, band, power):
    ball = contact / math.cos(angle)
    mouth = contact + (contact - 1.0) * 2.0 * share
    land = band * min(contact - 1.0, mouth - contact, 0.2 * ball)
    seat = ConeSeat(1.0, mouth, ball, angle, land)
    found, _ = film(seat, 10.0**power * np.array([1.0, 1.2]))
    assert (found.Rqq >= 0.0).all()
    assert (found.S >= 0.0).all()
    assert found.Rqq[1] <= found.Rqq[0]
    assert found.S[1] <= found.S[0]


@pytest.mark.parametrize("seat", [PLAIN, LAPPED])
@pytest.mark.parametrize("gap", [2e-4, 5e-3, 0.08])
def test_the_integrals_are_those_of_the_geometry(agree, seat, gap):
    """By adaptive quadrature, ring and gap from the points of cone and circle."""
    R, sine, cosine = seat.ball, math.sin(ANGLE), math.cos(ANGLE)
    lift = gap / sine
    seated = (seat.sunk - cosine) / sine  # height of the seated ball's centre over the bore's edge
    centre = seated + lift

    def at(s):
        """Radius of the ring and gap along the cone's normal, s along the cone from the bore's edge."""
        x, y = 1.0 + s * sine, s * cosine
        along = x * sine + (y - centre) * cosine
        ball = math.sqrt(R * R - along**2)
        wall = x * cosine - (y - centre) * sine
        before = x * sine + (y - seated) * cosine
        return x, wall - ball + max(math.sqrt(max(R * R - before**2, 0.0)) - seat.sunk, 0.0)

    ends = [0.0, (seat.mouth - 1.0) / sine]
    foot = (centre * cosine) - 1.0 * sine
    rim = [foot - lift * cosine + side * 0.5 * seat.land for side in (-1.0, 1.0)]
    pieces = sorted(s for s in (*ends, foot, *rim) if ends[0] <= s <= ends[1])

    def over(function):
        return sum(
            quad(function, a, b, epsabs=0.0, epsrel=1e-9, limit=400)[0] for a, b in pairwise(pieces) if b > a
        )

    def weight(s):
        x, h = at(s)
        return 6.0 / (math.pi * x * h**3)

    Rqq = over(weight)
    alpha = over(lambda s: weight(s) * math.pi * at(s)[0] ** 2) / Rqq
    squeeze = over(lambda s: weight(s) * (math.pi * at(s)[0] ** 2 - alpha) ** 2)
    shear = over(lambda s: 2.0 * math.pi * at(s)[0] * cosine**2 / at(s)[1])
    found, _ = film(seat, np.array([gap]))
    r, close = seat.contact, 2e-4 if seat is PLAIN else 6e-3
    agree(found.Rqq[0] / r**3, Rqq, close)
    agree(found.Rqw[0] / found.Rqq[0] * r**2, alpha, close)
    agree(found.S[0] * r, squeeze + shear, 2.0 * close)
