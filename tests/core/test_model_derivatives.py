"""The rates' analytic derivatives by state and time against differences; what the balances keep exactly."""

import itertools
import math

import numpy as np
import pytest

from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.cycles import surplus_at
from balltravel.core.lift import cubic, place_of, shape
from balltravel.core.model import (
    DELIVERED,
    DRAWN,
    INLET_LIFT,
    INLET_SPEED,
    LINE_FLOW,
    LINE_VOLUME,
    LOWER,
    PASSED,
    PISTON_LIFT,
    PISTON_SPEED,
    PORT,
    POSITION,
    SIZE,
    STATES,
    UPPER,
    Moment,
    moment,
    rates,
)
from balltravel.core.parameters import FORWARD, Drive
from balltravel.core.records import as_record
from balltravel.core.slopes import derivatives
from balltravel.core.stroke import motion
from balltravel.scenario.model import Drive as DescribedDrive
from balltravel.setup.drive import drive_parameters

MODES = list(itertools.product((SEATED, FREE, ON_STOP), repeat=2))
STROKE = 0.09
SCRATCH = as_record(Moment())


def drive_of(profile) -> Drive:
    ramp, dwell = (0.0, 0.0) if profile == "harmonic" else (0.06, 0.04)
    described = DescribedDrive(profile=profile, cycle_rate=0.5, ramp_time=ramp, dwell_time=dwell)
    return drive_parameters(described, STROKE)


@pytest.fixture(scope="module")
def lowers(make_lower):
    """Lowers of both drives over viscosity, with springs, pad and worn seat on every second one."""
    found = []
    for profile, viscosity in itertools.product(("constant speed", "harmonic"), (0.01, 1.0, 100.0)):
        p = make_lower(drive_of(profile), viscosity)
        for extra in (False, True):
            if extra:
                more = {"spring_preload": 2.0, "spring_rate": 500.0, "pad_radius": 0.006, "leak_gap": 2e-5}
                p = p._replace(inlet=p.inlet._replace(**more), piston=p.piston._replace(**more))
            found.append(p)
    return found


def pressure_in(rng):
    """From just above the vapour pressure to 200 bar [Pa]."""
    return 2000.0 + 10.0 ** rng.uniform(1.0, 7.3)


def state_of(p, rng, modes, x):
    """A state such as may be met with the piston at x, corners included."""
    y = np.zeros(SIZE)
    record = as_record(p)
    for i, chamber in ((PORT, p.port), (LOWER, p.lower), (UPPER, p.upper)):
        here = as_record(chamber._replace(volume=chamber.volume + chamber.area * x))
        y[i] = surplus_at(record, here, pressure_in(rng))
    y[LINE_FLOW] = rng.normal() * 3e-4
    for k, (check, mode) in enumerate(zip((p.inlet, p.piston), modes, strict=True)):
        share = rng.choice([0.0, 1.0, rng.uniform(), 10.0 ** rng.uniform(-6.0, 0.0)])
        y[INLET_LIFT + 2 * k] = {SEATED: 0.0, FREE: share * check.travel, ON_STOP: check.travel}[mode]
        y[INLET_SPEED + 2 * k] = rng.normal() * 0.3 if mode == FREE else 0.0
    return y


def rates_at(p, segment, t, y, modes):
    out = np.zeros(SIZE)
    moment(p, segment, t, y, True, SCRATCH)
    rates(p, SCRATCH, y, *modes, out)
    return out


def derivatives_at(p, segment, t, y, modes):
    now, jacobian, by_time = as_record(Moment()), np.full((SIZE, STATES), np.nan), np.full(SIZE, np.nan)
    moment(p, segment, t, y, True, now)
    derivatives(p, now, *modes, jacobian, by_time)
    return jacobian, by_time, now


def along_state(p, segment, t, y, modes, j):
    """Rates as a function of a change of one state."""
    unit = np.eye(SIZE)[j]
    return lambda s: rates_at(p, segment, t, y + s * unit, modes)


def along_time(p, segment, y, modes):
    """Rates as a function of time."""
    return lambda s: rates_at(p, segment, s, y, modes)


def cases(lowers, count, seed):
    """Random states of every pair of modes."""
    rng = np.random.default_rng(seed)
    for k in range(count):
        p, modes = lowers[k % len(lowers)], MODES[(k // len(lowers)) % len(MODES)]
        segment = int(rng.integers(p.drive.segments))
        start, end = p.drive.start[segment], p.drive.start[segment + 1]
        t = start + rng.uniform(0.2, 0.8) * (end - start)
        record = as_record(p)
        x, _, _, _ = motion(record.drive, segment, t)
        yield p, record, segment, t, state_of(p, rng, modes, x), modes


def bend_of(check, material, z):
    """Pressure drop at which inertia in the gap equals viscosity [Pa]: the law bends over a share of it."""
    s = shape(as_record(check), z, 0.0)
    area = math.pi * check.seat_radius**2
    k = cubic(as_record(check), place_of(as_record(check), z), FORWARD)[0]
    head = material.density / (2.0 * area**2) * k * (s.G / s.gap) ** 2 if s.gap > 0.0 else 0.0
    viscous = material.rheology.viscosity / check.seat_radius**3
    return viscous**2 / (4.0 * head) if head > 0.0 else 1e9


def steps_for(p, y, now):
    """Steps for differences in each state: small against what bends the rates."""
    h = np.zeros(STATES)
    bends = [
        0.02 * (abs(dp) + 0.02 * bend_of(c, p.material, z))
        for dp, c, z in (
            (now.port - now.lower, p.inlet, y[INLET_LIFT]),
            (now.lower - now.upper, p.piston, y[PISTON_LIFT]),
        )
    ]
    vapour = p.material.vapour_pressure
    h[PORT] = min(0.02 * (now.port - vapour), bends[0]) / now.port_y
    h[LOWER] = min(0.02 * (now.lower - vapour), *bends) / now.lower_y
    h[UPPER] = min(0.02 * (now.upper - vapour), bends[1]) / now.upper_y
    h[LINE_FLOW] = 0.02 * abs(y[LINE_FLOW])
    for k, check in enumerate((p.inlet, p.piston)):
        z, w = INLET_LIFT + 2 * k, INLET_SPEED + 2 * k
        s = shape(as_record(check), y[z], 0.0)
        film = p.material.rheology.viscosity * s.S / s.alpha / check.seat_radius
        h[w] = bends[k] / film
        clear = math.hypot(check.travel - y[z], check.roughness) if check.pad_radius > 0.0 else check.travel
        h[z] = min(1e-3 * (y[z] + 0.05 * check.table_origin), 0.02 * clear)
        # Across lift 0 the loss q|q| has a jump in its third derivative by lift: shorter steps there.
        h[z] *= 0.1 if y[z] == 0.0 else 1.0
        h[z] = min(h[z], 0.1 * bends[k] / max(film * abs(y[w]) / (y[z] + 0.01 * check.table_origin), 1e-300))
    return h


def rates_size(p, y, now):
    """Size of the terms that each rate is a sum of: what rounding is measured by."""
    flows = [abs(n.law.flow) + abs(n.law.flow_w * w) + abs(n.law.flow_dp * dp) for n, w, dp in (
        (now.inlet, y[INLET_SPEED], abs(now.port) + abs(now.lower)),
        (now.piston, y[PISTON_SPEED], abs(now.lower) + abs(now.upper)),
    )]  # fmt: skip
    forces = [abs(n.force_dp * dp) + abs(n.force_w * w) + abs(n.force) for n, w, dp in (
        (now.inlet, y[INLET_SPEED], abs(now.port) + abs(now.lower)),
        (now.piston, y[PISTON_SPEED], abs(now.lower) + abs(now.upper)),
    )]  # fmt: skip
    line = p.suction.pressure + now.port + abs(now.line_force)
    outlet = (now.upper + p.outlet_pressure) / p.outlet_resistance
    swept = p.lower.area * abs(now.v)
    size = np.zeros(SIZE)
    size[PORT], size[LINE_FLOW] = abs(y[LINE_FLOW]) + flows[0], line / p.suction.inertance
    size[LOWER], size[UPPER] = sum(flows) + swept, flows[1] + outlet + swept
    size[INLET_LIFT], size[PISTON_LIFT] = abs(y[INLET_SPEED]), abs(y[PISTON_SPEED])
    for k, check in enumerate((p.inlet, p.piston)):
        size[INLET_SPEED + 2 * k] = forces[k] / (check.ball_mass + check.added_mass)
    size[DRAWN], size[PASSED], size[DELIVERED] = flows[0], flows[1], outlet
    size[LINE_VOLUME], size[POSITION] = abs(y[LINE_FLOW]), abs(now.v)
    return size


def test_the_jacobian_agrees_with_differences_at_random_states(lowers, difference):
    """3e-6 of each entry (knots of the splines), beside rounding: 1e-14 of the terms over the step."""
    for p, record, segment, t, y, modes in cases(lowers, 324, seed=1):
        jacobian, _, now = derivatives_at(record, segment, t, y, modes)
        size = rates_size(p, y, now)
        moved = [True] * 4 + [modes[0] == FREE] * 2 + [modes[1] == FREE] * 2
        for j, h in enumerate(steps_for(p, y, now)):
            if not moved[j]:
                assert not jacobian[:, j].any()
                continue
            seen = difference(along_state(record, segment, t, y, modes, j), 0.0, h)
            noise = 1e-14 * size / h * (1.0 + 1e-2 * abs(y[j]) / h) + 1e-300
            error = np.abs(jacobian[:, j] - seen)
            assert (error <= 3e-6 * np.abs(seen) + noise).all(), (j, modes, jacobian[:, j], seen, noise)


def test_the_derivative_by_time_agrees_with_differences(lowers, difference):
    """1e-6, beside rounding: two chambers' volumes, the piston's speed and acceleration move."""
    for p, record, segment, t, y, modes in cases(lowers, 324, seed=2):
        _, by_time, now = derivatives_at(record, segment, t, y, modes)
        size = rates_size(p, y, now)
        bends = 0.02 * min(
            abs(now.port - now.lower) + 0.02 * bend_of(p.inlet, p.material, y[INLET_LIFT]),
            abs(now.lower - now.upper) + 0.02 * bend_of(p.piston, p.material, y[PISTON_LIFT]),
        )
        moving = max(abs(now.lower_t), abs(now.upper_t), 1e-9)
        h = min(1e-4, bends / moving)
        seen = difference(along_time(record, segment, y, modes), t, h)
        noise = 1e-14 * size / h * (1.0 + 1e-2 * t / h)
        noise += 1e-9 * (size + p.lower.area * abs(now.v))
        assert (np.abs(by_time - seen) <= 1e-6 * np.abs(seen) + noise).all(), (modes, by_time, seen)


def test_the_balances_close_exactly_in_rates_and_derivatives(lowers):
    """A chamber gains what flows in less what flows out and what the piston makes of it; 4e-16 of them."""
    for p, record, segment, t, y, modes in cases(lowers, 108, seed=3):
        jacobian, by_time, _ = derivatives_at(record, segment, t, y, modes)
        columns = np.column_stack((rates_at(record, segment, t, y, modes), jacobian, by_time))
        swept = p.lower.area * columns[POSITION], p.upper.area * columns[POSITION]
        for gain, terms in (
            (PORT, (columns[LINE_VOLUME], -columns[DRAWN])),
            (LOWER, (columns[DRAWN], -columns[PASSED], -swept[0])),
            (UPPER, (columns[PASSED], -columns[DELIVERED], -swept[1])),
        ):
            limit = 4e-16 * sum(np.abs(x) for x in terms)
            assert (np.abs(columns[gain] - sum(terms)) <= limit).all()


def test_a_resting_ball_has_neither_speed_nor_acceleration(lowers):
    for _, record, segment, t, y, modes in cases(lowers, 108, seed=4):
        out = rates_at(record, segment, t, y, modes)
        if modes[0] != FREE:
            assert out[INLET_LIFT] == out[INLET_SPEED] == 0.0
        if modes[1] != FREE:
            assert out[PISTON_LIFT] == out[PISTON_SPEED] == 0.0


def at_rest(p, lifts, pressure=97800.0):
    """Everything at one pressure and still; the piston at bottom dead centre."""
    y, record = np.zeros(SIZE), as_record(p)
    for i, chamber in ((PORT, p.port), (LOWER, p.lower), (UPPER, p.upper)):
        y[i] = surplus_at(record, as_record(chamber), pressure)
    y[INLET_LIFT], y[PISTON_LIFT] = lifts
    return y


@pytest.mark.parametrize("profile", ["constant speed", "harmonic"])
def test_balls_let_go_fall_by_weight_spring_and_the_liquids_acceleration(make_lower, profile):
    """At rest and without flow: with the piston's acceleration a the piston ball weighs W (1 + a/g), and the
    liquid, which follows the piston at A_c a, lifts the inlet ball and presses the piston ball down by
    c A_c a,
    in the share in which the check is open (M6). 1e-6: pressures equal to 1e-11 of themselves, of which the
    balls' weight is a hundredth."""
    p = make_lower(drive_of(profile), 1.0)
    p = p._replace(inlet=p.inlet._replace(spring_preload=0.3, spring_rate=50.0))
    out = rates_at(as_record(p), 0, 0.0, at_rest(p, (0.003, 0.002)), (FREE, FREE))
    a = 0.5 * STROKE * math.pi**2 if profile == "harmonic" else 0.0
    push = p.lower.area * a
    opened = [s / (1.0 + s) for s in ((0.003 / (0.01 * 0.0105)) ** 2, (0.002 / (0.01 * 0.008)) ** 2)]
    inlet = -p.inlet.net_weight - 0.3 - 50.0 * 0.003 + p.inlet.coupling_mass * push * opened[0]
    piston = -p.piston.net_weight * (1.0 + a / p.gravity) - p.piston.coupling_mass * push * opened[1]
    masses = [
        check.ball_mass + check.added_mass - (1.0 - o) * math.pi * check.seat_radius**2 * check.coupling_mass
        for check, o in zip((p.inlet, p.piston), opened, strict=True)
    ]
    assert out[INLET_SPEED] * masses[0] == pytest.approx(inlet, rel=1e-6)
    assert out[PISTON_SPEED] * masses[1] == pytest.approx(piston, rel=1e-6)


def test_the_line_starts_at_what_drives_it_over_its_inertance(make_lower):
    """I dQ/dt = p_tank - p_port at rest, then less 128 mu L Q/(pi d^4) and K rho/2 U^2 (M4); laminar."""
    p = make_lower(drive_of("harmonic"), 1.0)
    y = at_rest(p, (0.0, 0.0), 50000.0)
    for Q in (0.0, 3e-4, -2e-4):
        y[LINE_FLOW] = Q
        out = rates_at(as_record(p), 0, 0.0, y, (SEATED, SEATED))
        speed = Q / (math.pi * 0.019**2)
        loss = 128.0 * 1.0 * 1.5 * Q / (math.pi * 0.038**4) + 1.5 * 600.0 * speed * abs(speed)
        assert out[LINE_FLOW] * 1200.0 * 1.5 / (math.pi * 0.019**2) == pytest.approx(47800.0 - loss, rel=1e-9)
