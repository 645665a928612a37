"""The balances (M3, M4, M6) from parts that are known, and all their derivatives by differences at chosen
states."""

import math
from itertools import pairwise

import numpy as np
import pytest

from balltravel.core import model, slopes
from balltravel.core.check import Law, law, terms_at
from balltravel.core.contact import FREE, ON_STOP, SEATED, film
from balltravel.core.contents import pressure
from balltravel.core.friction import friction_ratio
from balltravel.core.inertia import STILL
from balltravel.core.lift import place_of
from balltravel.core.liquid import openness
from balltravel.core.model import SIZE, STATES, WHOLE, Ball, Moment
from balltravel.core.parameters import MOST_SEGMENTS, STREAM, Chamber, Drive

from ..helpers.boxes import boxed, liquid, with_viscosity

GRAVITY, STROKE, OMEGA = 9.80665, 0.09, 25.0
T = 0.03
PRIMES = np.array([float(n) for n in range(2, 70) if all(n % k for k in range(2, n))])
"""The first 19 primes, one a part: each sum tells its parts."""


def crank():
    start = np.zeros(MOST_SEGMENTS)
    start[:3] = 0.0, math.pi / OMEGA, 2.0 * math.pi / OMEGA
    none = np.zeros(MOST_SEGMENTS)
    return Drive(2, 2.0 * math.pi / OMEGA, STROKE, OMEGA, start, none, none, none)


@pytest.fixture(scope="module")
def lower(make_lower):
    """A fast crank, pressures within some bar of each other, springs, pads and worn seats."""
    p = make_lower(crank(), 0.5, outlet_pressure=1.6e5, outlet_resistance=3e8)
    more = {
        "spring_preload": 2.0,
        "spring_rate": 900.0,
        "pad_radius": 0.006,
        "leak_gap": 1e-4,
        "roughness": 2e-5,
    }
    return p._replace(
        inlet=p.inlet._replace(**more),
        piston=p.piston._replace(**more),
        lower=Chamber(p.lower.volume, p.lower.area, 1e-11),
    )


def state(p, pressures=(9e4, 7e4, 1.3e5)):
    """Three pressures, line flow, both balls under way; the surplus by Newton's method on the contents
    law."""
    y = np.zeros(SIZE)
    x = 0.5 * STROKE * (1.0 - math.cos(OMEGA * T))
    for k, chamber, at, wanted in zip(
        (0, 2, 3), (p.port, p.lower, p.upper), (0.0, x, x), pressures, strict=True
    ):
        for _ in range(60):
            got, slope, _ = pressure(boxed(p.material), p.reference_pressure, boxed(chamber), at, y[k])
            y[k] += max((wanted - got) / slope, -0.5 * (chamber.volume + y[k]))
    y[1], y[4:8] = 4e-4, (0.0031, 0.12, 0.0024, -0.15)
    y[WHOLE:] = 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0
    return y


def moment_at(p, t, y):
    now = boxed(Moment())
    model.moment(boxed(p), 0, t, y, True, now)
    return now


def rates_at(p, t, y, modes=(FREE, FREE)):
    out = np.full(SIZE, np.nan)
    model.rates(boxed(p), moment_at(p, t, y), y, *modes, out)
    return out


def difference(function, x, h):
    """Central differences, twice extrapolated: error of order h^6."""
    rows = [(function(x + s) - function(x - s)) / (2.0 * s) for s in (h, h / 2.0, h / 4.0)]
    first = [(4.0 * b - a) / 3.0 for a, b in pairwise(rows)]
    return (16.0 * first[1] - first[0]) / 15.0


def test_states_and_parts_have_a_place_each():
    """The states in the order of the recorded columns; the parts all apart; time after the last state."""
    always = "PORT LINE_FLOW LOWER UPPER INLET_LIFT INLET_SPEED PISTON_LIFT PISTON_SPEED"
    more = "X V AIR_BELOW AIR_ABOVE OUT_FLOW STORE GAS_PORT GAS_LOWER"
    volumes = "DRAWN PASSED DELIVERED LINE_VOLUME POSITION PACKING_VOLUME ROD_VOLUME SPRAYED"
    names = f"{always} {more} {volumes}".split()
    assert [getattr(model, n) for n in names] == list(range(SIZE))
    assert (STATES, WHOLE, SIZE, model.TIME, model.PARTS) == (8, 16, 24, 16, 19)
    flows = "INLET PISTON OUTLET LINE PACKING ROD TIP"
    forces = "FORCE_ON_LINE FORCE_ON_OUTLET FORCE_ON_INLET FORCE_ON_PISTON"
    changes = "SPEED INLET_W PISTON_W ACCELERATION BELOW ABOVE FREED_PORT FREED_LOWER"
    names = f"{flows} {forces} {changes}".split()
    assert sorted(getattr(model, n) for n in names) == list(range(model.PARTS))


@pytest.mark.parametrize("Q", [0.0, 2e-4, -3e-4, 0.03])
@pytest.mark.parametrize("viscosity", [0.5, 2e-3])
def test_the_line_loses_friction_and_the_square_of_its_flow(lower, Q, viscosity):
    """128 mu L Q/(pi d^4) times friction over laminar at Re = 4 rho Q/(pi d mu), and K Q|Q|; slope: 1e-6."""
    thick = with_viscosity(lower, viscosity)
    s, material = thick.suction, thick.material

    def loss(q):
        ratio, _ = friction_ratio(4.0 * 1200.0 * abs(q) / (math.pi * 0.038 * viscosity), 4e-5)
        return 128.0 * viscosity * 1.5 * q / (math.pi * 0.038**4) * ratio + s.minor * q * abs(q)

    got, slope = model.line_loss(boxed(s), boxed(material), Q)
    assert got == pytest.approx(loss(Q), rel=1e-11, abs=1e-300)
    h = 1e-3 * abs(Q) + 1e-12
    assert slope == pytest.approx(difference(loss, Q, h), rel=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0, 3.0, 40.0])
def test_a_check_is_half_open_a_hundredth_of_the_seat_radius_up(lower, share):
    """s/(1 + s), s = (z/(0.01 r))^2."""
    reach = 0.01 * lower.inlet.seat_radius

    def opened(z):
        return 1.0 - 1.0 / (1.0 + (z / reach) ** 2)

    got, slope = openness(boxed(lower.inlet), share * reach)
    assert got == pytest.approx(opened(share * reach), abs=1e-14)
    assert slope == pytest.approx(difference(opened, share * reach, 0.02 * reach), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(("z", "w", "dp"), [(0.0049, 0.1, 4e3), (0.0003, -0.2, -9e2)])
def test_a_ball_is_pushed_by_flow_liquid_weight_spring_and_film(lower, z, w, dp):
    """The sum by hand; the slopes of the sum by differences, near the stop and just above the seat."""
    check, weight, surge = lower.inlet, 1.3, 9.0

    def force(lift, speed):
        out = boxed(Law())
        law(boxed(check), liquid(0.5, 1200.0), lift, speed, dp, out)
        opened = 1.0 - 1.0 / (1.0 + (lift / (0.01 * check.seat_radius)) ** 2)
        drag, _ = film(boxed(check), lift)
        return (
            out.force
            - weight
            - 2.0
            - 900.0 * lift
            - 0.5 * drag * speed
            + surge * check.coupling_mass * opened
        )

    ball = boxed(Ball())
    model.check_at(boxed(check), boxed(lower.material), z, w, dp, weight, surge, True, ball)
    assert ball.force == pytest.approx(force(z, w), rel=1e-11)
    opened = 1.0 - 1.0 / (1.0 + (z / (0.01 * check.seat_radius)) ** 2)
    assert ball.coupling == pytest.approx(check.coupling_mass * opened, rel=1e-12)
    held = math.pi * check.seat_radius**2 * check.coupling_mass * (1.0 - opened)
    assert ball.mass == pytest.approx(check.ball_mass + check.added_mass - held, rel=1e-12)
    h = 0.02 * min(z, check.travel - z)
    assert ball.force_z == pytest.approx(difference(lambda s: force(s, w), z, h), rel=1e-5)
    assert ball.force_w == pytest.approx(difference(lambda s: force(z, s), w, 1e-3), rel=1e-5)


SHARE = -0.3
"""Inertia of the stream through a seat over the added mass, times ln(1 + z/origin): it falls with lift."""


def with_stream(check):
    table, rows = check.table.copy(), np.arange(len(check.table))
    table[:, STREAM] = 0.0
    table[:, STREAM, 2], table[:, STREAM, 3] = SHARE, SHARE * rows * check.table_step
    return check._replace(table=table)


def ball_of(lower, check, dp, z, w):
    ball = boxed(Ball())
    model.check_at(boxed(check), boxed(lower.material), z, w, dp, 1.3, 9.0, True, ball)
    return ball


def narrows(check, z, w):
    """N' w."""
    return SHARE * check.added_mass / (check.table_origin + z) * w


def slopes_agree(lower, check, at, flows):
    """Slopes of the force, and of the flow where ``flows``, by differences."""
    got = ball_of(lower, check, *at)
    for name, x, h in (("dp", 0, 50.0), ("z", 1, 0.01 * at[1]), ("w", 2, 1e-3)):

        def moved(value, x=x):
            ball = ball_of(lower, check, *at[:x], value, *at[x + 1 :])
            return np.array([ball.force, ball.law.flow if flows else 0.0])

        mine = getattr(got, "force_" + name), getattr(got.law, "flow_" + name) if flows else 0.0
        assert np.array(mine) == pytest.approx(difference(moved, at[x], h), rel=1e-5)


@pytest.mark.parametrize(("z", "dp"), [(0.0041, 4e3), (0.0003, 9e2), (0.0003, -9e3)])
def test_a_ball_that_opens_is_held_back_by_the_stream_that_leaves_it_behind(lower, z, dp):
    """N' w (U - w) where the flow over the seat's area U is faster than the ball, and N' w^2/2; only the
    latter where the stream runs back."""
    still, w = lower.inlet, 0.1
    check = with_stream(still)
    with_it, without = ball_of(lower, check, dp, z, w), ball_of(lower, still, dp, z, w)
    past = without.law.flow / (math.pi * still.seat_radius**2) - w
    assert (past > 0.0) == (dp > 0.0)
    more = narrows(check, z, w) * (max(past, 0.0) + 0.5 * w)
    assert with_it.force - without.force == pytest.approx(more, rel=1e-6)
    assert with_it.law.flow == without.law.flow
    slopes_agree(lower, check, (dp, z, w), False)


@pytest.mark.parametrize(("z", "dp"), [(0.0041, 4e3), (0.0003, -9e2), (0.002, -9e3)])
def test_a_ball_that_closes_squeezes_the_stream_and_is_pushed_by_as_much(lower, z, dp):
    """With R = N' w/A^2 and q = Q - kappa r^2 w: the flow of the steady law at a drop that is less by R q,
    and kappa r^2 R q more force, besides N' w^2/2."""
    still, w = lower.inlet, -0.2
    check, area = with_stream(still), math.pi * still.seat_radius**2
    terms = terms_at(boxed(still), place_of(boxed(still), z), z, w, STILL)
    displaced = (terms.alpha - terms.e * terms.gap) * still.seat_radius**2
    with_it = ball_of(lower, check, dp, z, w)
    taken = narrows(check, z, w) / area**2 * (with_it.law.flow - displaced * w)
    assert abs(taken) > 0.01 * abs(dp)
    steady = ball_of(lower, still, dp - taken, z, w)
    assert with_it.law.flow == pytest.approx(steady.law.flow, rel=1e-9)
    more = displaced * taken + 0.5 * narrows(check, z, w) * w
    assert with_it.force - steady.force == pytest.approx(more, rel=1e-9)
    slopes_agree(lower, check, (dp, z, w), True)


def test_a_moment_has_pressures_flows_and_forces_of_its_state(lower):
    y = state(lower)
    n, p = moment_at(lower, T, y), lower
    sine, cosine = math.sin(OMEGA * T), math.cos(OMEGA * T)
    v, a = 0.5 * STROKE * OMEGA * sine, 0.5 * STROKE * OMEGA**2 * cosine
    assert (n.v, n.a) == pytest.approx((v, a), rel=1e-12)
    assert n.jerk == pytest.approx(-0.5 * STROKE * OMEGA**3 * sine, rel=1e-12)
    assert (n.port, n.lower, n.upper) == pytest.approx((9e4, 7e4, 1.3e5), rel=1e-9)
    assert n.outflow == pytest.approx((1.3e5 - 1.6e5) / 3e8, rel=1e-8)
    loss, _ = model.line_loss(boxed(p.suction), boxed(p.material), 4e-4)
    assert n.line_force == pytest.approx(97800.0 - 9e4 - loss, rel=1e-6)
    ball = boxed(Ball())
    pull = p.lower.area * a
    args = (p.inlet.net_weight, pull, True, ball)
    model.check_at(boxed(p.inlet), boxed(p.material), 0.0031, 0.12, n.port - n.lower, *args)
    assert (n.inlet.force, n.inlet.law.flow) == (ball.force, ball.law.flow)
    args = (p.piston.net_weight * (1.0 + a / GRAVITY), -pull, True, ball)
    model.check_at(boxed(p.piston), boxed(p.material), 0.0024, -0.15, n.lower - n.upper, *args)
    assert (n.piston.force, n.piston.law.flow) == pytest.approx((ball.force, ball.law.flow), rel=1e-12)


@pytest.mark.parametrize("modes", [(FREE, FREE), (SEATED, FREE), (FREE, ON_STOP), (ON_STOP, SEATED)])
def test_the_balances_are_sums_of_their_parts(lower, modes):
    """M3, M4, M6 written out once more; a ball at rest has neither speed nor acceleration."""
    part, out = PRIMES.copy(), np.full(SIZE, np.nan)
    inlet, piston, outlet, line, packing, rod, tip, on_line, _, on_inlet, on_piston = part[:11]
    speed, inlet_w, piston_w = part[11:14]
    p, n = lower, boxed(Moment())
    n.inlet.mass = p.inlet.ball_mass + p.inlet.added_mass
    n.piston.mass = p.piston.ball_mass + p.piston.added_mass
    model.assemble(boxed(p), n, *modes, part, out)
    free = [mode == FREE for mode in modes]
    expected = [
        line - inlet,
        on_line / p.suction.inertance,
        inlet - piston + packing - p.lower.area * speed,
        piston - outlet - packing - rod - p.upper.area * speed,
        free[0] * inlet_w,
        free[0] * on_inlet / (p.inlet.ball_mass + p.inlet.added_mass),
        free[1] * piston_w,
        free[1] * on_piston / (p.piston.ball_mass + p.piston.added_mass),
        *(WHOLE - STATES) * [0.0],
        inlet, piston, outlet, line, speed, packing, rod, tip,
    ]  # fmt: skip
    assert out == pytest.approx(expected, rel=1e-15)


def test_the_rates_are_the_balances_of_the_moment(lower):
    y = state(lower)
    n, out = moment_at(lower, T, y), np.full(SIZE, np.nan)
    part = np.array([n.inlet.law.flow, n.piston.law.flow, n.outflow, 4e-4, 0.0, 0.0, 0.0, n.line_force, 0.0,
                     n.inlet.force, n.piston.force, n.v, 0.12, -0.15, n.a, *4 * [0.0]])  # fmt: skip
    model.assemble(boxed(lower), n, FREE, FREE, part, out)
    assert (rates_at(lower, T, y) == out).all()


def derivatives_at(p, y, modes):
    jacobian, by_time = np.full((SIZE, STATES), np.nan), np.full(SIZE, np.nan)
    slopes.derivatives(boxed(p), moment_at(p, T, y), *modes, jacobian, by_time)
    return jacobian, by_time


@pytest.mark.parametrize("pressures", [(9e4, 7e4, 1.3e5), (8e4, 1.4e5, 1.35e5)])
@pytest.mark.parametrize("modes", [(FREE, FREE), (SEATED, FREE), (FREE, ON_STOP)])
def test_the_derivatives_agree_with_differences(lower, modes, pressures):
    """1e-5 of each entry, and of the column's largest flow or force 1e-9 for rounding."""
    y = state(lower, pressures)
    jacobian, by_time = derivatives_at(lower, y, modes)
    now = moment_at(lower, T, y)
    steps = [300.0 / now.port_y, 1e-6, 300.0 / now.lower_y, 300.0 / now.upper_y, 3e-6, 1e-4, 3e-6, 1e-4]
    for j, h in enumerate(steps):
        ball = (j - 4) // 2
        if ball >= 0 and modes[ball] != FREE:
            assert not jacobian[:, j].any()
            continue
        unit = np.eye(SIZE)[j]
        seen = difference(lambda s, unit=unit: rates_at(lower, T, y + s * unit, modes), 0.0, h)
        noise = 1e-12 * np.abs(rates_at(lower, T, y, modes)) / h
        assert (np.abs(jacobian[:, j] - seen) <= 1e-5 * np.abs(seen) + noise).all(), j
    seen = difference(lambda t: rates_at(lower, t, y, modes), T, 1e-6)
    assert by_time == pytest.approx(seen, rel=1e-5, abs=1e-12)
