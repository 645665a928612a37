"""The law of a check with inertia, lift force and shear thinning (M5, M9a): the equations it stands for, its
derivatives, and its energy."""

import math
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.lift_functions import lift_functions
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table
from balltravel.core.check import TURBULENT, Law, law
from balltravel.core.lift import cubic, gap_of, place_of, shape
from balltravel.core.parameters import (
    BACKWARD,
    FORWARD,
    LIFT_FORCE,
    OFFSET,
    SHEAR_OF_BALL,
    SHEAR_OF_FLOW,
    Check,
)
from balltravel.core.rheology import Rheology, flow_curve

from .boxes import boxed, liquid

steady = settings(deadline=None, derandomize=True, max_examples=50, phases=(Phase.explicit, Phase.generate))
DENSITY, R_SEAT = 1200.0, 0.0105

# Newtonian, thinning from slow rates on, thinning late, and with a yield stress.
LIQUIDS = (
    Rheology(1.0),
    Rheology(1.0, exponent=0.4, onset=0.5),
    Rheology(1.0, exponent=0.7, onset=200.0),
    Rheology(1.0, exponent=0.6, onset=2.0, yield_stress=30.0, blunt=0.05),
)


def check_of(ball, ratio, travel, rheology, leak):
    size = CheckGeometry(
        R_SEAT, 0.8 * R_SEAT, ball * R_SEAT, ball / ratio * R_SEAT, 4.0 * R_SEAT, 0.7, 2e-6, leak,
        tabulated=True,
    )  # fmt: skip
    origin = TABLE_ORIGIN * R_SEAT
    table, step = closure_table(
        travel * R_SEAT, origin, lambda z: tuple(lift_functions(size, z, rheology, 3e-4))
    )
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
    """The same flow curve at another viscosity and yield stress."""
    return rheology._replace(
        viscosity=factor * rheology.viscosity, yield_stress=factor * rheology.yield_stress
    )


def material_of(rheology, factor):
    return liquid(**{**thick(rheology, factor)._asdict(), "density": DENSITY})


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
    """1e-9 of the sum of the terms' sizes."""
    check, rheology = check_of(*size), size[3]
    z = max(state.share, 1e-6) * check.travel
    got = at(check, material_of(rheology, state.viscosity), z, state.w, state.dp)
    s, r, place = shape(check, z, state.w), R_SEAT, place_of(check, z)
    column = {c: cubic(check, place, c)[0] for c in range(17)}
    gap, _ = gap_of(check, z)
    y = got.flow - s.alpha * r * r * state.w
    q = y + column[OFFSET] * gap * r * r * state.w
    # The shear rate is that of the flow past a ball at rest at the same drop, found by the law itself.
    still = at(check, material_of(rheology, state.viscosity), z, 0.0, state.dp)
    eta = float(got.eta)
    lone = at(check, liquid(eta, DENSITY), z, 0.0, state.dp).flow
    if state.w == 0.0:
        assert lone == pytest.approx(float(still.flow), rel=1e-9, abs=1e-300)
    rate = math.hypot(column[SHEAR_OF_FLOW] / s.G * lone / r**3, column[SHEAR_OF_BALL] * state.w / r)
    curve, _ = flow_curve(boxed(thick(rheology, state.viscosity)), rate, 293.15)
    assert eta == pytest.approx(curve, rel=1e-9)
    first = FORWARD if q >= 0.0 else BACKWARD
    head = DENSITY / (2.0 * (math.pi * r * r) ** 2)
    a = eta / (s.G * r**3)
    # The flow there would be with the laminar plateau at the same drive: a q + k q|q| as large as found.
    drive = state.dp + a * column[OFFSET] * gap * r * r * state.w
    k1 = head * column[first] / gap**2
    there = 2.0 * abs(drive) / (a + math.sqrt(a * a + 4.0 * k1 * abs(drive)))
    reynolds = 2.0 * DENSITY * there / (math.pi * r * eta)
    late = reynolds**2 / (reynolds**2 + TURBULENT**2)
    level = column[first] + (column[first + 1] - column[first]) * late
    k = head * level / gap**2 * reynolds / math.hypot(reynolds, column[first + 2])
    loss = k * q * abs(q)
    size_of = a * (abs(got.flow) + s.alpha * r * r * abs(state.w)) + abs(loss) + 1e-30
    assert state.dp == pytest.approx(a * y + loss, abs=1e-8 * size_of)
    kappa = s.alpha - column[OFFSET] * gap
    lifted = 0.5 * DENSITY / (math.pi * r * r) * column[LIFT_FORCE] / gap * q * q
    film = eta * s.S * r * state.w
    force = s.alpha * r * r * (state.dp - loss) + kappa * r * r * loss - film + lifted
    size_of = s.alpha * r * r * (abs(state.dp) + abs(loss)) + abs(film) + abs(lifted) + 1e-30
    assert got.force == pytest.approx(force, abs=1e-8 * size_of)
    # dp Q - F w of the resistive part: a sum of squares and a cube.
    gained = state.dp * got.flow - (got.force - lifted) * state.w
    assert gained >= -1e-9 * (abs(state.dp * got.flow) + size_of * abs(state.w))


@steady
@given(sizes, states)
def test_the_derivatives_of_the_full_law_agree_with_differences(size, state):
    """1e-4 of the largest term: over knots of the splines and over where the flow turns."""
    check, rheology = check_of(*size), size[3]
    material = material_of(rheology, state.viscosity)
    z = state.share * check.travel
    got = at(check, material, z, state.w, state.dp)
    for x, h, name in (
        (state.dp, 1e-4 * max(abs(state.dp), 1.0), "dp"),
        (z, 1e-4 * (z + 0.05 * check.table_origin), "z"),
        (state.w, 1e-4 * max(abs(state.w), 1e-4), "w"),
    ):

        def both(v, name=name):
            there = {"z": z, "w": state.w, "dp": state.dp, name: v}
            out = at(check, material, there["z"], there["w"], there["dp"])
            return np.array([out.flow, out.force])

        low, middle, high = both(x - h), both(x), both(x + h)
        seen = (high - low) / (2.0 * h)
        bend = np.abs(high - 2.0 * middle + low) / h
        noise = 1e-12 * (np.abs(middle) + 1e-12) / h
        mine = np.array([got["flow_" + name], got["force_" + name]])
        assert np.all(np.abs(mine - seen) <= 2e-4 * np.abs(seen) + 2.0 * bend + noise + 1e-13)
