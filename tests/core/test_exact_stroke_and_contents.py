"""Motion of the piston and contents of a chamber (M1, M2) on numbers worked out by hand."""

import math

import numpy as np
import pytest

from balltravel.core.contents import by_gas, pressure, void
from balltravel.core.parameters import MOST_SEGMENTS, Chamber, Drive, Material, pieces
from balltravel.core.rheology import Rheology, viscosity
from balltravel.core.stroke import motion

from ..helpers.boxes import boxed

P_REF, P_VAP, BETA = 101325.0, 2000.0, 1.5e9


def drive(omega):
    start, position, speed, acceleration = (np.zeros(MOST_SEGMENTS) for _ in range(4))
    start[:4] = 0.0, 0.25, 1.0, 2.0
    position[:3] = 0.5, 3.0, 7.0
    speed[:3] = 2.0, -4.0, 0.0
    acceleration[:3] = 6.0, 0.0, -5.0
    return boxed(Drive(3, 2.0, 0.09, omega, start, position, speed, acceleration))


def test_a_segment_is_a_motion_of_constant_acceleration_from_its_start():
    """x = x_0 + v_0 s + a s^2/2 with s from the segment's start, v its slope, a constant, no jerk."""
    assert motion(drive(0.0), 0, 0.5) == (0.5 + 1.0 + 0.75, 2.0 + 3.0, 6.0, 0.0)
    assert motion(drive(0.0), 1, 0.75) == (3.0 - 2.0, -4.0, 0.0, 0.0)
    assert motion(drive(0.0), 2, 1.5) == (7.0 - 0.625, -2.5, -5.0, 0.0)


def test_a_segment_of_constant_jerk_is_a_cubic():
    """x_0 + v_0 s + a s^2/2 + j s^3/6 and its derivatives, a quarter of a second after the start."""
    jerk = np.zeros(MOST_SEGMENTS)
    jerk[1] = 12.0
    plain = drive(0.0)
    parts = (pieces(part) for part in (plain.start, plain.position, plain.speed, plain.acceleration))
    bent = boxed(Drive(3, 2.0, 0.09, 0.0, *(np.array(part) for part in parts), jerk))
    s = 0.25
    assert motion(bent, 1, 0.5) == (3.0 - 4.0 * s + 2.0 * s**3, -4.0 + 6.0 * s * s, 12.0 * s, 12.0)


@pytest.mark.parametrize("surplus", [-2e-6, 1e-7])
def test_gas_that_comes_out_raises_the_pressure_by_the_slope_told_of_it(surplus):
    """Against a central difference over the gas: 1e-6."""
    m = boxed(Material(Rheology(1.0), Rheology(1.0), 1200.0, BETA, 0.005, P_VAP))
    room = boxed(Chamber(33e-6, 2e-3, 1e-11))
    step = 1e-11
    high, low = (pressure(m, P_REF, room, 0.01, surplus, 2e-8 + side * step)[0] for side in (1, -1))
    at, by_contents, by_volume = pressure(m, P_REF, room, 0.01, surplus, 2e-8)
    found = by_gas(m, P_REF, at, by_contents, by_volume)
    assert found == pytest.approx((high - low) / (2.0 * step), rel=1e-6)


def test_a_crank_moves_as_the_projection_of_a_circle():
    """At a sixth of a turn: cos 1/2, sin sqrt(3)/2; radius 45 mm; whatever the segment says."""
    omega = 4.0
    for segment in (0, 1):
        x, v, a, jerk = motion(drive(omega), segment, math.pi / 3.0 / omega)
        assert x == pytest.approx(0.0225, rel=1e-12)
        assert v == pytest.approx(0.045 * 4.0 * math.sqrt(0.75), rel=1e-12)
        assert a == pytest.approx(0.045 * 16.0 * 0.5, rel=1e-12)
        assert jerk == pytest.approx(-0.045 * 64.0 * math.sqrt(0.75), rel=1e-12)


def test_a_newtonian_viscosity_is_the_same_everywhere():
    assert viscosity(boxed(Rheology(3.5)), 100.0) == 3.5


def material(phi):
    return boxed(Material(Rheology(1.0), Rheology(1.0), 1200.0, BETA, phi, P_VAP))


def volume_at(p, contents, phi, chamber):
    """Space that contents fill at a pressure, less what the wall gives way (M2): liquid and gas."""
    liquid = (1.0 - phi) * contents * (1.0 - (p - P_REF) / BETA)
    gas = phi * contents * (P_REF - P_VAP) / (p - P_VAP)
    return liquid + gas - chamber.compliance * (p - P_REF)


CHAMBER = Chamber(1e-4, 2e-3, 1e-11)
SOFT = Chamber(2e-4, -1e-3, 3e-10)


@pytest.mark.parametrize("chamber", [CHAMBER, SOFT])
@pytest.mark.parametrize("phi", [1e-4, 0.02, 0.2])
@pytest.mark.parametrize("p", [2050.0, 5e4, P_REF, 3e5, 1e7])
def test_contents_take_the_space_of_their_liquid_and_gas(chamber, phi, p):
    """The surplus that belongs to a pressure, by bisection of the volume, gives this pressure and, by central
    differences of the inverse, its slopes: 2e-7 for the differences, 1e-9 for surplus as a difference."""
    position = 0.03
    space = chamber.volume + chamber.area * position
    per_contents = volume_at(p, 1.0, phi, Chamber(0.0, 0.0, 0.0))
    contents = (space + chamber.compliance * (p - P_REF)) / per_contents
    assert volume_at(p, contents, phi, chamber) == pytest.approx(space, rel=1e-12)
    box = boxed(chamber)
    got, by_contents, by_volume = pressure(material(phi), P_REF, box, position, contents - space)
    assert got - P_VAP == pytest.approx(p - P_VAP, rel=1e-7)
    h = 1e-4 * (p - P_VAP)
    more, less = (
        (space + chamber.compliance * (q - P_REF)) / volume_at(q, 1.0, phi, Chamber(0, 0, 0))
        for q in (p + h, p - h)
    )
    assert by_contents == pytest.approx(2.0 * h / (more - less), rel=2e-6)
    # At constant contents, by the space: the surplus falls as the space grows.
    wide, tight = (volume_at(q, contents, phi, chamber) for q in (p + h, p - h))
    assert by_volume - by_contents == pytest.approx(2.0 * h / (wide - tight), rel=2e-6)


@pytest.mark.parametrize(("p", "error"), [(2000.001, 1e-6), (101325.0 + 1e7, 1e-6)])
def test_next_to_no_gas_loses_no_digits_in_the_void_nor_under_pressure(p, error):
    """1e-12 of gas: the root of M2a is taken in the form that does not cancel; as a difference of two large
    numbers it would have lost four digits here."""
    phi, chamber = 1e-12, Chamber(1e-4, 0.0, 0.0)
    contents = 1e-4 / volume_at(p, 1.0, phi, Chamber(0.0, 0.0, 0.0))
    got, _, _ = pressure(material(phi), P_REF, boxed(chamber), 0.0, contents - 1e-4)
    assert got - P_VAP == pytest.approx(p - P_VAP, rel=error)


def test_a_slow_crank_is_a_crank():
    x, v, _, _ = motion(drive(0.5), 0, math.pi)
    assert (x, v) == pytest.approx((0.045, 0.0225), rel=1e-12)


@pytest.mark.parametrize(("phi", "u"), [(0.01, 20.0), (0.2, 3000.0), (1e-3, 5e4)])
def test_a_void_is_gas_beyond_its_own_volume(phi, u):
    """N/u - phi M with N = phi M (p_ref - p_v); 0 above the reference pressure."""
    contents = 1.06e-4 / volume_at(P_VAP + u, 1.0, phi, Chamber(0.0, 0.0, 0.0))
    space = Chamber(1e-4, 2e-3, 0.0)
    expected = phi * contents * ((P_REF - P_VAP) / u - 1.0)
    got = void(material(phi), P_REF, boxed(space), 0.003, contents - 1.06e-4)
    assert got == pytest.approx(expected, rel=1e-6)
    assert void(material(phi), P_REF, boxed(space), 0.003, 1e-6) == 0.0
