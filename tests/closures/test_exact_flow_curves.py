"""A liquid's tables (M9): the pipe's profile by quadrature, what lies below their first rate and above their
last one, and how a stress is looked up."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from balltravel.closures.flow_curves import _rising, by_stress, in_pipe, tabulated
from balltravel.core.rheology import Rheology, local_exponent, viscosity
from balltravel.material.flow_laws import Carreau, HerschelBulkley, PowerLaw
from balltravel.material.pipe_flow import drop

from ..helpers.boxes import boxed

FLOOR = 1e-2


def apparent(law, W):
    """Viscosity of the Newtonian liquid that loses as much at 8 U/d = W, by the law's own flow in a pipe."""
    r, length = 0.01, 1.0
    flow = 0.25 * W * math.pi * r**3
    return drop(law, r, length, flow) * math.pi * r**4 / (8.0 * length * flow)


@pytest.mark.parametrize(
    "law", [PowerLaw(6.0, 0.4), Carreau(60.0, 0.1, 0.5, 0.45), HerschelBulkley(15.0, 6.0, 0.5)], ids=str
)
@pytest.mark.parametrize("W", [3.0 * FLOOR, 0.1, 10.0, 1e4, 5e5])
def test_a_pipes_viscosity_is_the_laws_own_from_next_to_the_floor_on(law, W):
    """1e-5, blunted as a whole at 8 U/d = floor: asked at sqrt(W^2 - floor^2) it is that of W."""
    curve = boxed(in_pipe(law.viscosity, FLOOR, law.yield_stress))
    assert viscosity(curve, math.sqrt(W * W - FLOOR * FLOOR)) == pytest.approx(apparent(law, W), rel=1e-5)
    assert curve.yield_stress == law.yield_stress


def test_a_pipe_passes_what_the_profile_integrates_to():
    """8 U/d at a wall rate: (4/tau^3) times the integral of tau^2 rate d tau, by adaptive quadrature of the
    law's own slope; the part below the profile's first rate is that of a Newtonian liquid, tau^3 rate/12."""
    law, rate = Carreau(60.0, 0.1, 0.5, 0.45), 20.0
    wall = float(law.stress(rate))

    def integrand(x):
        s = math.exp(x)
        return float(law.stress(s)) ** 2 * s * float(law.slope(s)) * s

    through = 4.0 / wall**3 * quad(integrand, math.log(1e-9), math.log(rate), epsrel=1e-12, limit=300)[0]
    curve = boxed(in_pipe(law.viscosity, 1e-6))
    assert viscosity(curve, through) == pytest.approx(wall / through, rel=1e-6)


def test_beyond_the_last_flow_a_pipe_goes_on_with_its_least_viscosity():
    law = Carreau(60.0, 0.1, 0.5, 0.45)
    curve = boxed(in_pipe(law.viscosity, FLOOR))
    last = math.exp(curve.first + 480 * curve.step)
    assert last == pytest.approx(float(law.stress(1e7)) / viscosity(curve, last), rel=1e-6)
    assert viscosity(curve, 1e3 * last) == viscosity(curve, 1.01 * last)


@pytest.mark.parametrize("law", [PowerLaw(6.0, 0.4), Carreau(60.0, 0.1, 0.5, 0.45)], ids=str)
def test_a_stress_finds_the_viscosity_of_its_rate_up_to_the_last_one_and_stays_beyond(law):
    """1 % from a hundred floors on (a first guess); the table has no yield stress of its own."""
    liquid = tabulated(law.viscosity, FLOOR)
    asked = boxed(by_stress(liquid))
    for rate in np.geomspace(100.0 * FLOOR, 0.99e7, 60):
        stress = float(law.stress(rate))
        assert viscosity(asked, stress) == pytest.approx(stress / rate, rel=0.01)
    last = float(law.stress(1e7))
    assert viscosity(asked, 1e4 * last) == pytest.approx(last / 1e7, rel=1e-6)
    assert asked.yield_stress == 0.0


def test_at_no_stress_a_liquid_is_asked_at_rest():
    """Its first stresses, e^6 times below that of the floor, have the viscosity of rest."""
    liquid = tabulated(PowerLaw(6.0, 0.4).viscosity, FLOOR)
    at_rest = viscosity(boxed(liquid), 0.0)
    assert viscosity(boxed(by_stress(liquid)), 0.0) == pytest.approx(at_rest, rel=1e-4)
    assert at_rest == pytest.approx(6.0 * FLOOR**-0.6, rel=1e-9)
    first = by_stress(liquid).first
    assert math.exp(first) == pytest.approx(at_rest * FLOOR * math.exp(-6.0), rel=1e-3)


def test_a_newtonian_liquid_is_asked_by_its_stress_as_it_is():
    liquid = Rheology(3.7)
    assert by_stress(liquid) is liquid
    assert local_exponent(boxed(liquid), 5.0) == 1.0


def test_of_a_stress_that_hardly_rises_the_points_that_are_a_step_apart_are_kept():
    """Steps of 1e-9 in its logarithm, the first point in each; one that falls back is left out."""
    x = 1e-9 * np.array([0.2, 0.7, 1.2, 1.1, 1.9, 4.0, 4.1, 5.0001])
    kept, y = _rising(x, np.arange(8.0))
    assert y.tolist() == [0.0, 2.0, 5.0, 7.0]
    assert kept.tolist() == x[[0, 2, 5, 7]].tolist()
