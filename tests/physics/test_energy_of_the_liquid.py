"""The liquid's inertia around a ball as an energy: positive, and none is gained or lost on a closed path."""

import math

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table
from balltravel.closures.table.beyond_creeping import mass_at
from balltravel.closures.table.tabulated import gap_of_lift
from balltravel.closures.tube import added_mass_coefficient
from balltravel.core.lift import place_of
from balltravel.core.liquid import FADE, bent, inertia_at
from balltravel.core.parameters import MASS, Check

from ..helpers.boxes import boxed

steady = settings(deadline=None, derandomize=True, max_examples=40, phases=(Phase.explicit, Phase.generate))
R_SEAT = 0.0105
INSTANTS = 4000

balls, ratios, lifts = st.floats(1.12, 1.8), st.floats(0.5, 0.949), st.floats(math.log(1e-3), math.log(3.0))


class Path:
    """A closed path over one period: the lift swings between two, up at other speeds than down (else the way
    back would undo whatever the way up did), the flow by two harmonics. Lengths in seat radii; arrays over
    the middles of equal steps of time."""

    def __init__(self, low, high, flow, second, phase):
        self.step = 2.0 * math.pi / INSTANTS
        t = self.step * (np.arange(INSTANTS) + 0.5)
        self.z, self.w, self.w_t = swing(low, high, t)
        self.Q = flow * np.cos(t + phase) + second * np.sin(2.0 * t)
        self.Q_t = -flow * np.sin(t + phase) + 2.0 * second * np.cos(2.0 * t)


def swing(low, high, t):
    """Lift, speed, acceleration."""
    half, angle = 0.5 * (high - low), t + 0.5 * np.cos(t)
    a_t, a_tt = 1.0 - 0.5 * np.sin(t), -0.5 * np.cos(t)
    speed = half * np.sin(angle) * a_t
    return low + half * (1.0 - np.cos(angle)), speed, half * (np.cos(angle) * a_t**2 + np.sin(angle) * a_tt)


def matrix(ball, ratio, lift):
    return np.stack(mass_at(ball, ratio, gap_of_lift(ball, lift)))


paths = st.builds(
    Path,
    st.floats(0.002, 0.3),
    st.floats(0.4, 2.5),
    st.floats(-3.0, 3.0),
    st.floats(-2.0, 2.0),
    st.floats(0.0, 6.0),
)


@steady
@given(balls, ratios, paths)
def test_over_a_closed_path_the_liquid_takes_up_no_energy(ball, ratio, path):
    """T = 1/2 (Mqq Q^2 + 2 Mqw Q w + Mww w^2): pressures d/dt(dT/dQ) times Q and the ball's force
    d/dt(dT/dw) - dT/dz times w. 1e-6 of what goes in and out; slopes by differences."""
    h = 1e-5 * path.z
    qq, qw, ww = matrix(ball, ratio, path.z)
    qq_z, qw_z, ww_z = (matrix(ball, ratio, path.z + h) - matrix(ball, ratio, path.z - h)) / (2.0 * h)
    Q, w = path.Q, path.w
    drop = qq * path.Q_t + qw * path.w_t + (qq_z * Q + qw_z * w) * w
    of_lift = 0.5 * qq_z * Q * Q + qw_z * Q * w + 0.5 * ww_z * w * w
    push = qw * path.Q_t + ww * path.w_t + (qw_z * Q + ww_z * w) * w - of_lift
    power = drop * Q + push * w
    assert abs(power.sum()) < 1e-6 * np.abs(power).sum()


@steady
@given(balls, ratios, lifts)
def test_the_energy_of_the_liquid_is_positive(ball, ratio, log_lift):
    """Whatever flows and moves. Mqq is what the flow has over uniform flow in the bore up to the seat plane.
    A ball that hangs into the bore takes the place of some of that: so the bore beside it is counted here."""
    lift = np.array([math.exp(log_lift)])
    qq, qw, ww = matrix(ball, ratio, lift)[:, 0]
    hangs = max(ball - math.sqrt(ball * ball - 1.0) - lift[0], 0.0)
    assert qq > 0.0
    assert ww > 0.0
    assert (qq + hangs / math.pi) * ww - qw * qw > 0.0
    # The ball that takes the seat's area of liquid along, as on its seat.
    assert ww + 2.0 * math.pi * qw + math.pi**2 * (qq + hangs / math.pi) > 0.0


def check_of(ball, ratio, travel):
    size = CheckGeometry(
        R_SEAT,
        0.8 * R_SEAT,
        ball * R_SEAT,
        ball / ratio * R_SEAT,
        4.0 * R_SEAT,
        0.7,
        2e-6,
        family="tabulated",
    )
    origin = TABLE_ORIGIN * R_SEAT
    table, step = closure_table(travel * R_SEAT, origin, lambda z: tuple(lift_functions(size, z)))
    return boxed(
        Check(
            R_SEAT, ball * R_SEAT, travel * R_SEAT, 0.1, 0.02, 3.0, 0.9, 0.0, 0.0, 0.0, 0.0, 2e-6, 1e-4,
            origin, step, table, 1.0,
        )
    )  # fmt: skip


def masses(check, z):
    """The ball's own added mass, alone in the cage, with two slopes."""
    found = [
        (bent(check, place, MASS)[0], inertia_at(check, place, one)) for one, place in at_places(check, z)
    ]
    return np.array([(check.added_mass * own, one.own_z, one.own_zz) for own, one in found]).T


def at_places(check, z):
    return ((one, place_of(check, one)) for one in z)


@settings(steady, max_examples=8)
@given(balls, ratios, st.floats(0.0, 0.1), st.floats(0.2, 1.2))
def test_over_a_closed_path_of_the_ball_its_added_mass_takes_up_no_energy(ball, ratio, low, travel):
    """mass dw/dt + 1/2 mass' w^2 with the core's mass', from the seat and from off it: 1e-6 of what goes in
    and out. 1e-4 of its largest at each instant."""
    check = check_of(ball, ratio, travel)
    path = Path(low * travel, travel, 0.0, 0.0, 0.0)
    z, w, w_t = (R_SEAT * x for x in (path.z, path.w, path.w_t))
    mass, mass_z, mass_zz = masses(check, z)
    power = (mass * w_t + 0.5 * mass_z * w * w) * w
    assert abs(power.sum()) < 1e-6 * np.abs(power).sum()
    # On the way it is what the kinetic energy has changed by.
    there, speed, _ = (R_SEAT * x for x in swing(low * travel, travel, path.step * np.arange(INSTANTS)))
    energy = 0.5 * masses(check, there)[0] * speed**2
    taken = path.step * np.concatenate(([0.0], np.cumsum(power)[:-1]))
    assert np.abs(taken - (energy - energy[0])).max() < 1e-4 * np.abs(energy).max()
    # mass'' is the slope of mass'; between differences that straddle no knot of the splines, most of them.
    h = 1e-6 * R_SEAT
    seen = (masses(check, z + h)[1] - masses(check, z - h)[1]) / (2.0 * h)
    off = np.abs(seen - mass_zz) / np.abs(mass_zz).max()
    assert np.quantile(off, 0.9) < 1e-5


@steady
@given(balls, ratios, st.floats(0.005, 0.1))
def test_the_ball_moves_the_liquid_that_goes_with_it(ball, ratio, lift):
    """On its seat it takes the stream along, above it is alone: rho r^3 (Mww + (1 - o) pi Mqw), and what of
    the coupling is not its mass is the piston's push, - o rho r Mqw; 1e-3: surfaces are a little rough."""
    check = check_of(ball, ratio, 1.0)
    z = R_SEAT * lift
    got = inertia_at(check, place_of(check, z), z)
    _, qw, ww = matrix(ball, ratio, np.array([lift]))[:, 0]
    o = lift**2 / (lift**2 + FADE**2)
    volume, added = 4.0 / 3.0 * math.pi * ball**3, added_mass_coefficient(ratio)
    of_mass, of_pull = check.added_mass / (volume * added), check.coupling_mass / (volume * (1.0 + added))
    pull = -qw * math.pi * (ball / ratio) ** 2 * of_pull
    assert got.coupling == pytest.approx(o * pull, rel=1e-3, abs=1e-12)
    assert got.mass == pytest.approx(ww * of_mass - (1.0 - o) * math.pi * R_SEAT**2 * pull, rel=1e-3)
