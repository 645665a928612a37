"""The law of a check with inertia, lift force and shear thinning (M5, M9a): the equations it stands for, its
derivatives, and its energy."""

import math
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table
from balltravel.core.check import Law, law, law_at
from balltravel.core.inertia import FLATTER, STILL, TURBULENT
from balltravel.core.lift import cubic, gap_of, place_of, shape
from balltravel.core.parameters import (
    BACKWARD,
    FORWARD,
    FUNCTIONS,
    LIFT_FORCE,
    OFFSET,
    Check,
)
from balltravel.core.rheology import Rheology
from balltravel.core.thinning import JET_SHARE

from ..helpers.boxes import boxed, liquid, thin
from ..helpers.in_series import mean, parts_of

steady = settings(deadline=None, derandomize=True, max_examples=50, phases=(Phase.explicit, Phase.generate))
DENSITY, R_SEAT = 1200.0, 0.0105

# Newtonian, thinning from slow rates on, thinning late, and with a yield stress.
LIQUIDS = (
    {},
    {"exponent": 0.4, "onset": 0.5, "blunt": 0.02},
    {"exponent": 0.7, "onset": 200.0, "blunt": 0.02},
    {"exponent": 0.6, "onset": 2.0, "yield_stress": 30.0, "blunt": 0.05},
)


def check_of(ball, ratio, travel, leak):
    size = CheckGeometry(
        R_SEAT, 0.8 * R_SEAT, ball * R_SEAT, ball / ratio * R_SEAT, 4.0 * R_SEAT, 0.7, 2e-6, leak,
        family="tabulated",
    )  # fmt: skip
    origin = TABLE_ORIGIN * R_SEAT
    table, step = closure_table(travel * R_SEAT, origin, lambda z: tuple(lift_functions(size, z)))
    return boxed(
        Check(
            R_SEAT, ball * R_SEAT, travel * R_SEAT, 0.1, 0.02, 3.0, 0.9, 0.0, 0.0, leak, 0.0, 2e-6, 1e-4,
            origin, step, table, 1.0,
        )
    )  # fmt: skip


class State(NamedTuple):
    """Viscosity factor, lift over travel, ball speed [m/s], pressure drop [Pa]."""

    viscosity: float
    share: float
    w: float
    dp: float


def signed(low, high):
    size = st.floats(low, high).map(lambda x: 10.0**x)
    return st.one_of(st.just(0.0), size, size.map(lambda x: -x))


sizes = st.tuples(
    st.floats(1.12, 1.8),
    st.floats(0.5, 0.95),
    st.floats(0.05, 1.2),
    st.sampled_from(LIQUIDS),
    st.sampled_from((0.0, 3e-5)),
)
states = st.builds(
    State,
    st.floats(-3.0, 2.0).map(lambda x: 10.0**x),
    st.floats(0.0, 1.0),
    signed(-4.0, 0.5),
    signed(0.0, 6.0),
)


def thick(rheology, factor):
    """The flow curve at another viscosity and yield stress."""
    if not rheology:
        return Rheology(factor)
    tau = factor * rheology.get("yield_stress", 0.0)
    return thin(**{**rheology, "viscosity": factor, "yield_stress": tau})


def root_of(rises):
    """Where a rising function is 0."""
    high = 1e-6
    while not rises(-high) < 0.0 < rises(high):
        high *= 8.0
    return float(brentq(rises, -high, high, xtol=1e-300, rtol=8.9e-16, maxiter=1000))


def at(check, material, z, w, dp):
    out = boxed(Law())
    law(check, material, z, w, dp, out)
    return out


@pytest.fixture(scope="module")
def checks():
    return {}


@steady
@given(sizes, states)
def test_flow_and_force_solve_the_equations_of_the_full_law(size, state):
    """The viscosities at the flow of the series with its loss at the jet's Reynolds number, which is sought
    here by bisection; then the law at those. 1e-7 of the sum of the terms' sizes."""
    check, rheology = check_of(*size[:3], size[4]), thick(size[3], state.viscosity)
    # Nearer to the seat the flow past the ball is a difference of two far larger numbers.
    z = max(state.share, 1e-2) * check.travel
    got = at(check, liquid(rheology, DENSITY), z, state.w, state.dp)
    s, r, place = shape(check, z, state.w), R_SEAT, place_of(check, z)
    column = {c: cubic(check, place, c)[0] for c in range(FUNCTIONS)}
    gap, _ = gap_of(check, z)
    W, turn = state.w / r, state.w / check.ball_radius
    edge, cage = parts_of(column, gap, s)
    kappa = s.alpha - column[OFFSET] * gap
    head = DENSITY / (2.0 * (math.pi * r * r) ** 2)
    curve = boxed(rheology)

    def viscous(Q, etas):
        return sum(eta * part.R * (Q - part.alpha * W) for eta, part in zip(etas, (edge, cage), strict=True))

    def etas_at(Q):
        return [mean(curve, part, Q - part.alpha * W, turn) for part in (edge, cage)]

    def level(Q, column_of):
        return column[(FORWARD if kappa * W <= Q else BACKWARD) + column_of]

    def jet_at(Q):
        return mean(curve, edge._replace(share=JET_SHARE), Q - edge.alpha * W, turn)

    def lost(Q, K):
        q = r**3 * (Q - kappa * W)
        return head * K / gap**2 * q * abs(q)

    def plateau(Q, eta, jet):
        heads = level(Q, 0) / gap**2
        return level(Q, 0) * (1.0 + heads) / (1.0 + heads + FLATTER * (jet / eta - 1.0))

    def coefficient(Q, eta, jet):
        reynolds = 2.0 * DENSITY * r * r * abs(Q - kappa * W) / (math.pi * jet)
        late = reynolds**2 / (reynolds**2 + TURBULENT**2)
        first = plateau(Q, eta, jet)
        mixed = first + (level(Q, 1) - first) * late
        return mixed * reynolds / math.hypot(reynolds, level(Q, 2))

    def missing(Q):
        etas = etas_at(Q)
        return viscous(Q, etas) + lost(Q, coefficient(Q, etas[0], jet_at(Q))) - state.dp

    Q0 = root_of(missing)
    etas, jet = etas_at(Q0), jet_at(Q0)
    assert np.array([got.eta, got.cage]) == pytest.approx(np.array(etas), rel=1e-6)
    Q1 = root_of(lambda Q: viscous(Q, etas) + lost(Q, plateau(Q, etas[0], jet)) - state.dp)
    K = coefficient(Q1, etas[0], jet)
    Q = got.flow / r**3
    both = list(zip(etas, (edge, cage), strict=True))
    drops = [eta * part.R * (Q - part.alpha * W) for eta, part in both]
    loss = lost(Q, K)
    sizes_of = [abs(eta * part.R) * (abs(Q) + part.alpha * abs(W)) for eta, part in both]
    size_of = sum(sizes_of) + abs(loss) + abs(state.dp) + 1e-30
    assert sum(drops) + loss == pytest.approx(state.dp, abs=1e-7 * size_of)
    lifted = head * math.pi * r * r * column[LIFT_FORCE] / gap * (r**3 * (Q - kappa * W)) ** 2
    film = sum(eta * part.S for eta, part in both) * r * state.w
    pushed = sum(part.alpha * drop for part, drop in zip((edge, cage), drops, strict=True))
    force = r * r * (pushed + kappa * loss) - film + lifted
    size_of = r * r * (s.alpha + cage.alpha) * size_of + abs(film) + abs(lifted)
    assert got.force == pytest.approx(force, abs=1e-7 * size_of)
    # dp Q - F w of the resistive part: a sum of squares and a cube.
    gained = state.dp * got.flow - (got.force - lifted) * state.w
    assert gained >= -1e-9 * (abs(state.dp * got.flow) + size_of * abs(state.w))


@steady
@given(sizes, states)
def test_the_derivatives_of_the_full_law_agree_with_differences(size, state):
    """1e-4 of the largest term: over knots of the splines and over where the flow turns."""
    check = check_of(*size[:3], size[4])
    material = liquid(thick(size[3], state.viscosity), DENSITY)
    z = state.share * check.travel
    got = at(check, material, z, state.w, state.dp)
    for x, h, name in (
        (state.dp, 1e-4 * max(abs(state.dp), 1.0), "dp"),
        (z, 1e-5 * (z + 0.05 * check.table_origin), "z"),
        (state.w, 1e-4 * max(abs(state.w), 1e-4), "w"),
    ):

        def both(v, name=name):
            there = {"z": z, "w": state.w, "dp": state.dp, name: v}
            out = at(check, material, there["z"], there["w"], there["dp"])
            return np.array([out.flow, out.force])

        low, middle, high = both(x - h), both(x), both(x + h)
        seen = (high - low) / (2.0 * h)
        bend = np.abs(high - 2.0 * middle + low) / h
        # The two viscosities are met within 1e-10.
        noise = (3e-10 if size[3] else 1e-12) * (np.abs(middle) + 1e-12) / h
        mine = np.array([getattr(got, "flow_" + name), getattr(got, "force_" + name)])
        assert np.all(np.abs(mine - seen) <= 2e-4 * np.abs(seen) + 2.0 * bend + noise + 1e-13)


@steady
@given(sizes, states)
def test_a_shut_ball_at_rest_has_the_same_law_by_its_short_way(size, state):
    """Asked without derivatives nothing is computed that is nothing: no digit differs."""
    check = check_of(*size[:3], 0.0)
    material = liquid(thick(size[3], state.viscosity), DENSITY)
    long, short = at(check, material, 0.0, 0.0, state.dp), boxed(Law())
    law_at(check, material, place_of(check, 0.0), 0.0, 0.0, state.dp, STILL, False, short)
    assert (short.flow, short.force) == (long.flow, long.force)
