"""Gas out of solution (M2b): Henry's equilibrium, its derivatives, and a still chamber in closed form."""

import math

import numpy as np
import pytest

from balltravel.core import cycles
from balltravel.core.contact import SEATED
from balltravel.core.gas import BLUNT, Release, excess, release
from balltravel.core.model import GAS_LOWER, GAS_PORT
from balltravel.core.parameters import MOST_SEGMENTS, Chamber, Material
from balltravel.core.rheology import Rheology
from balltravel.setup.parameters import control_for

from ..helpers.boxes import Work, boxed
from ..helpers.mid_stroke import contact_of, moving_drive, moving_lower
from ..helpers.steps import run_segment

REFERENCE, VAPOUR = 101325.0, 2000.0
DISSOLVED, TIME = 0.08, 0.4
WHOLE = REFERENCE - VAPOUR
CHAMBER = Chamber(2e-4, 1.8e-3, 0.0)
X, SURPLUS = 0.03, -2e-5
CONTENTS = 2e-4 + 1.8e-3 * X + SURPLUS


def material(time=TIME):
    one = Rheology(1.0)
    return boxed(Material(one, one, 1200.0, 1.5e9, 0.005, VAPOUR, DISSOLVED, 1.0 / time))


@pytest.mark.parametrize("share", [0.02, 0.1, 0.5, 0.9, 1.0])
def test_below_the_reference_pressure_what_is_missing_of_it_is_not_held(share):
    """Henry: the gas in solution goes as its pressure; the blunt threshold adds BLUNT^2/4 over the share."""
    got, _ = excess(material(), REFERENCE, REFERENCE - share * WHOLE)
    assert got == pytest.approx(share + BLUNT**2 / (4.0 * share), abs=BLUNT**4 / share**3)


@pytest.mark.parametrize("times", [2.0, 10.0, 1000.0])
def test_above_the_reference_pressure_all_is_held(times):
    """BLUNT^2/4 over how far above it is all that is left, to the last digits of it."""
    got, _ = excess(material(), REFERENCE, REFERENCE + times * WHOLE)
    assert got == pytest.approx(BLUNT**2 / (4.0 * times), rel=BLUNT**2)


@pytest.mark.parametrize("share", [-50.0, -0.3, -1e-3, 0.0, 1e-3, 0.3, 1.0])
def test_the_slope_of_the_excess_is_that_of_its_value(difference, share):
    """1e-8, by differences over a fiftieth of the threshold or of the distance from it."""
    at, m = REFERENCE - share * WHOLE, material()
    h = 0.02 * WHOLE * math.hypot(share, BLUNT)
    seen = difference(lambda p: excess(m, REFERENCE, p)[0], at, h)
    assert excess(m, REFERENCE, at)[1] == pytest.approx(seen, rel=1e-8)


def released(at, gas, surplus=SURPLUS):
    out = boxed(Release())
    release(material(), REFERENCE, boxed(CHAMBER), X, surplus, gas, at, out)
    return out


@pytest.mark.parametrize("at", [VAPOUR + 10.0, 3e4, 9e4, REFERENCE, 5e6])
def test_in_equilibrium_nothing_is_released_and_off_it_the_difference_over_the_time_constant(at):
    """The gas is what the pressure does not hold, times the contents; at the vapour's pressure all of it."""
    balanced = DISSOLVED * excess(material(), REFERENCE, at)[0] * CONTENTS
    assert abs(released(at, balanced).rate) <= 1e-15 * balanced / TIME
    for off in (-1e-7, 1e-6, 1e-4):
        out = released(at, balanced + off)
        assert out.rate == pytest.approx(-off / TIME, rel=1e-9)
        assert out.share == pytest.approx((balanced + off) / CONTENTS, rel=1e-12)
    assert released(VAPOUR, 0.0).rate == pytest.approx(DISSOLVED * CONTENTS / TIME, rel=BLUNT**2)


@pytest.mark.parametrize("at", [1e4, 1e5, 1.05e5, 1e6])
def test_the_derivatives_of_a_release_agree_with_differences(difference, at):
    gas, out = 3e-6, released(at, 3e-6)
    by_contents = difference(lambda y: pair(released(at, gas, y)), SURPLUS, 1e-2 * CONTENTS)
    by_gas = difference(lambda g: pair(released(at, g)), gas, 0.1 * gas)
    h = 0.02 * math.hypot(at - REFERENCE, BLUNT * WHOLE)
    by_pressure = difference(lambda p: pair(released(p, gas)), at, h)
    assert (out.share_y, out.rate_y) == pytest.approx(tuple(by_contents), rel=1e-8)
    assert (out.share_G, out.rate_G) == pytest.approx(tuple(by_gas), rel=1e-8)
    assert out.rate_p == pytest.approx(by_pressure[1], rel=1e-6)
    assert by_pressure[0] == 0.0


def pair(out):
    return np.array([out.share, out.rate])


@pytest.mark.parametrize(("pressure", "first"), [(5e4, 0.0), (2e4, 0.7), (8e4, 0.9), (6e5, 1.0)])
def test_gas_of_a_still_chamber_goes_to_its_equilibrium_exponentially(within, make_lower, pressure, first):
    """G = G_e + (G_0 - G_e) exp(-t/time), over four time constants, in port and chamber; so little gas in all
    that it does not change the pressure by 1e-7. 1e-5 at 1e-6 a step."""
    end, little = 0.004, 1e-9
    drive = moving_drive(0.0, (0.0, 0.5 * end, end))._replace(position=np.zeros(MOST_SEGMENTS))
    p = moving_lower(make_lower)
    suction = p.suction._replace(pressure=pressure)
    gas = p.material._replace(dissolved=little, release_rate=4.0 / end)
    p = p._replace(material=gas, suction=suction, outlet_pressure=pressure, drive=drive, more=1)
    work, contact = Work(), contact_of((SEATED, SEATED))
    assert cycles.initialise(boxed(p), contact, work.box)
    for k, chamber in ((GAS_PORT, p.port), (GAS_LOWER, p.lower)):
        work.y[k] = first * little * chamber.volume
    contents = {GAS_PORT: p.port.volume + work.y[0], GAS_LOWER: p.lower.volume + work.y[2]}
    for segment in (0, 1):
        assert run_segment(p, control_for(p), segment, 1e-6, contact, work) > 0.0
    held = 1.0 - (pressure - VAPOUR) / WHOLE
    for k, chamber in ((GAS_PORT, p.port), (GAS_LOWER, p.lower)):
        at_last = little * max(held, 0.0) * contents[k]
        begun = first * little * chamber.volume
        expected = at_last + (begun - at_last) * math.exp(-4.0)
        within(work.y[k] / expected - 1.0 if expected else work.y[k], 2e-5)
