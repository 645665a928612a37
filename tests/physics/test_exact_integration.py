"""Steps, located events and cycles: each rule of the integrator by hand, short runs against another
integrator."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from balltravel.core import integrate as core
from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.contents import pressure
from balltravel.core.events import FLOW, GAP, HIGH, LOW, Event, guards
from balltravel.core.model import SIZE, STATES, Moment, derivatives, moment, rates
from balltravel.core.parameters import Chamber, Control, Drive
from balltravel.core.recording import COLUMNS, record
from balltravel.core.rosenbrock import ADVANCE, COUPLE, GAMMA, NODES, STAGES, TIME_WEIGHTS
from balltravel.core.status import Status
from balltravel.core.workspace import GUARDS, MOST_EVENTS, MOST_ROWS, make_contact

from .boxes import Work, boxed
from .lowers_by_hand import steady_drive

PERIOD, STROKE = 1.0, 0.09
INLET_Z, INLET_W, PISTON_Z, PISTON_W = 4, 5, 6, 7


@pytest.fixture(scope="module")
def lower(make_lower):
    """A lower at modest pressures, the piston on its way up at 0.2 m/s from the start."""
    p = make_lower(moving_drive(), 2.0, outlet_pressure=1.3e5, outlet_resistance=1e9)
    return p._replace(piston=p.piston._replace(travel=0.004))


def moving_drive(speed=0.2, times=(0.0, 0.0025, 0.01)):
    """Two short segments in which the piston moves evenly; the period is that of a whole cycle."""
    drive = steady_drive(PERIOD, STROKE)
    start, position, velocity, none = (np.zeros_like(drive.start) for _ in range(4))
    start[:3], velocity[:2] = times, speed
    position[:2] = 0.01, 0.01 + speed * (times[1] - times[0])
    return Drive(2, PERIOD, STROKE, 0.0, start, position, velocity, none)


def control(p, rtol=1e-6, cycles=3, rows=40_000, tolerance=1e-6):
    scale, end = np.empty(SIZE), np.zeros(SIZE)
    scale[:] = 1e-8, 1e-4, 1e-8, 1e-8, 1e-4, 0.1, 1e-4, 0.1, 1e-4, 1e-4, 1e-4, 1e-4, 0.1
    end[INLET_Z], end[PISTON_Z] = p.inlet.travel, p.piston.travel
    return Control(rtol, scale, end, cycles, rows, tolerance)


def contact_of(modes=(FREE, FREE), armed=(1, 1), hold=(0.0, 0.0), sides=1.0):
    contact = boxed(make_contact())
    contact.mode[:], contact.armed[:], contact.hold[:], contact.side[:] = modes, armed, hold, sides
    return contact


def surplus_of(p, chamber, position, wanted):
    """The contents that belong to a pressure, by Newton's method."""
    y = 0.0
    for _ in range(60):
        got, slope, _ = pressure(boxed(p.material), p.reference_pressure, boxed(chamber), position, y)
        y += max((wanted - got) / slope, -0.5 * (chamber.volume + chamber.area * position + y))
    return y


def started(
    p, t=0.001, balls=(0.002, 0.05, 0.002, -0.03), pressures=(9.5e4, 9.4e4, 9.9e4), modes=(FREE, FREE)
):
    """A workspace in the first segment at ``t`` with rates, derivatives and guards; its contact."""
    work, contact = Work(), contact_of(modes)
    x = 0.01 + 0.2 * t
    chambers = ((0, p.port, 0.0), (2, p.lower, x), (3, p.upper, x))
    for (k, chamber, at), wanted in zip(chambers, pressures, strict=True):
        work.y[k] = surplus_of(p, chamber, at, wanted)
    work.y[1], work.y[4:8] = 1e-4, balls
    moment(boxed(p), 0, t, work.y, work.now)
    rates(boxed(p), work.now, work.y, *modes, work.rates)
    derivatives(boxed(p), work.now, *modes, work.jacobian, work.by_time)
    guards(boxed(p), work.now, work.y, contact, work.guard)
    contact.side[:] = np.where(work.guard >= 0.0, 1.0, -1.0)
    contact.side[:4] = 1.0
    guards(boxed(p), work.now, work.y, contact, work.guard)
    return work, contact


def rates_at(p, t, y, modes=(FREE, FREE)):
    now, out = boxed(Moment()), np.empty(SIZE)
    moment(boxed(p), 0, t, y, now)
    rates(boxed(p), now, y, *modes, out)
    return out


def test_a_step_is_that_of_the_tabulated_method(lower):
    """Six stages with whole matrices in numpy; the error is the last increment's norm. 1e-9: cancellation in
    pressures of stiff chambers."""
    work, contact = started(lower)
    t, h, c = 0.001, 2e-4, control(lower)
    whole = np.eye(SIZE) / (GAMMA * h)
    whole[:, :STATES] -= work.jacobian
    increments = np.zeros((STAGES, SIZE))
    for k in range(STAGES):
        state = work.y + ADVANCE[k, :k] @ increments[:k]
        rhs = rates_at(lower, t + NODES[k] * h, state) + COUPLE[k, :k] @ increments[:k] / h
        increments[k] = np.linalg.solve(whole, rhs + h * TIME_WEIGHTS[k] * work.by_time)
    after = state + increments[-1]
    size = np.maximum(np.abs(work.y), np.abs(after))
    for k in (INLET_Z, PISTON_Z):
        size[k] = min(size[k], max(c.end[k] - work.y[k], c.end[k] - after[k]))
    expected = math.sqrt(np.mean((increments[-1] / (1e-6 * (c.scale + size))) ** 2))
    work.increments[:] = 7.0
    error = core.attempt(boxed(lower), boxed(c), 0, t, h, contact, work.box)
    assert error == pytest.approx(expected, rel=1e-4)
    assert work.trial == pytest.approx(after, rel=1e-9, abs=1e-15)


def test_a_step_that_cannot_be_taken_has_an_error_without_end(lower):
    """A singular matrix, and a sum that is no number."""
    work, contact = started(lower)
    h = 0.5
    work.jacobian[:] = 0.0
    work.jacobian[np.arange(8), np.arange(8)] = 1.0 / (GAMMA * h)
    assert core.attempt(boxed(lower), boxed(control(lower)), 0, 0.001, h, contact, work.box) == math.inf
    work, contact = started(lower)
    work.rates[SIZE - 1] = math.nan
    assert core.attempt(boxed(lower), boxed(control(lower)), 0, 0.001, 1e-4, contact, work.box) == math.inf


def test_guards_of_a_trial_are_those_of_its_state_at_its_time(lower):
    work, contact = started(lower)
    work.trial[:] = work.y
    work.trial[INLET_Z] = 0.003
    work.y[:] = math.nan
    core.trial_guards(boxed(lower), 0, 0.002, contact, work.box)
    now, out = boxed(Moment()), np.full(GUARDS, math.nan)
    moment(boxed(lower), 0, 0.002, work.trial, now)
    guards(boxed(lower), now, work.trial, contact, out)
    assert (work.guard_trial == out).all()


def hermite(z0, w0, z1, w1, s):
    """The cubic with these values and slopes at 0 and 1."""
    return np.polyval([2 * z0 + w0 - 2 * z1 + w1, -3 * z0 - 2 * w0 + 3 * z1 - w1, w0, z0], s)


@pytest.mark.parametrize("k", [0, 1])
@pytest.mark.parametrize("upwards", [False, True])
@pytest.mark.parametrize(
    ("ends", "share"),
    [
        ((1e-4, -4e-3, 3e-3, 4e-3), 0.25),
        ((1e-3, -5e-3, 1e-3, 5e-3), 0.5),
        ((3e-3, -4e-3, 1e-4, 4e-3), 0.75),
        ((1e-3, -2e-3, 1e-3, 2e-3), 1.0),
    ],
)
def test_a_ball_that_passes_seat_or_stop_and_comes_back_is_seen_at_the_first_quarter(
    lower, k, upwards, ends, share
):
    """By the cubic through both ends, here in its usual powers; at the stop the same upside down."""
    z0, w0, z1, w1 = ends
    seen = [s for s in (0.25, 0.5, 0.75) if hermite(z0, w0, z1, w1, s) < 0.0]
    assert share == (seen[0] if seen else 1.0)
    travel = (lower.inlet.travel, lower.piston.travel)[k]
    if upwards:
        z0, w0, z1, w1 = travel - z0, -w0, travel - z1, -w1
    work, h = Work(), 0.02
    work.y[4:8] = work.trial[4:8] = 0.002, 0.0, 0.002, 0.0
    work.y[[4 + 2 * k, 5 + 2 * k]], work.trial[[4 + 2 * k, 5 + 2 * k]] = (z0, w0 / h), (z1, w1 / h)
    modes = [FREE, FREE]
    assert core.dips(boxed(lower), h, contact_of(modes), work.box) == share
    modes[1 - k] = SEATED
    assert core.dips(boxed(lower), h, contact_of(modes), work.box) == share
    modes[k] = ON_STOP
    assert core.dips(boxed(lower), h, contact_of(modes), work.box) == 1.0


@pytest.mark.parametrize("k", [0, 1])
@pytest.mark.parametrize(
    ("ends", "share"),
    [((0.0, -4e-3, 3e-3, 4e-3), 0.25), ((0.0, -2e-3, 0.0, 2e-3), 0.5), ((3e-3, -4e-3, 0.0, 4e-3), 0.75)],
)
def test_a_dip_of_a_ten_thousandth_of_a_millimetre_is_told_from_none(lower, k, ends, share):
    """The same cubic shifted so that at its lowest quarter it is a little above 0 or a little below."""
    z0, w0, z1, w1 = ends
    lowest = hermite(z0, w0, z1, w1, share)
    assert lowest == min(hermite(z0, w0, z1, w1, s) for s in (0.25, 0.5, 0.75))
    travel = (lower.inlet.travel, lower.piston.travel)[k]
    for left, expected in ((1e-7, 1.0), (-1e-7, share)):
        work = Work()
        work.y[4:8] = work.trial[4:8] = 0.002, 0.0, 0.002, 0.0
        work.y[[4 + 2 * k, 5 + 2 * k]] = z0 - lowest + left, 2.0 * w0
        work.trial[[4 + 2 * k, 5 + 2 * k]] = z1 - lowest + left, 2.0 * w1
        assert core.dips(boxed(lower), 0.5, contact_of(), work.box) == expected
        work.y[4 + 2 * k], work.trial[4 + 2 * k] = travel - work.y[4 + 2 * k], travel - work.trial[4 + 2 * k]
        work.y[5 + 2 * k], work.trial[5 + 2 * k] = -work.y[5 + 2 * k], -work.trial[5 + 2 * k]
        assert core.dips(boxed(lower), 0.5, contact_of(), work.box) == expected


@pytest.mark.parametrize("k", [0, 1])
def test_a_hair_past_contact_is_no_dip(lower, k):
    """A billionth of the travel; twice it is one. A ball that stays where it is."""
    travel = (lower.inlet.travel, lower.piston.travel)[k]
    for z, share in ((-0.5e-9 * travel, 1.0), (-2e-9 * travel, 0.25), ((1 + 0.5e-9) * travel, 1.0),
                     ((1 + 2e-9) * travel, 0.25), (travel, 1.0), (0.0, 1.0)):  # fmt: skip
        work = Work()
        work.y[4:8] = work.trial[4:8] = 0.002, 0.0, 0.002, 0.0
        work.y[4 + 2 * k] = work.trial[4 + 2 * k] = z
        assert core.dips(boxed(lower), 0.1, contact_of(), work.box) == share


def searching(low, trial, tolerance=0.0):
    """A workspace in whose search two guards have these values at both ends; the others are far from zero."""
    work = Work()
    work.guard_low[:], work.guard_trial[:], work.tolerance[:] = 1.0, 1.0, tolerance
    work.guard_low[[2, 6]], work.guard_trial[[2, 6]] = low, trial
    return work


def test_the_next_trial_is_the_nearest_secant_root_aimed_a_little_beyond():
    sides = contact_of()
    sides.side[6] = -1.0
    # Roots at 3/4 and 1/4 of the way from 2 to 4; the second guard falls through zero from below.
    work = searching((3.0, -1.0), (-1.0, 3.0))
    assert core.next_trial(2.0, 4.0, 0, sides, work.box) == pytest.approx(2.5, rel=1e-15)
    assert core.next_trial(2.0, 4.0, 1, sides, work.box) == pytest.approx(2.5, rel=1e-15)
    assert core.next_trial(2.0, 4.0, 3, sides, work.box) == pytest.approx(2.5, rel=1e-15)
    for middle in (2, 5):
        assert core.next_trial(2.0, 4.0, middle, sides, work.box) == 3.0
    # Half a tolerance of 0.4 over a fall of 4 is 1/20 of the way.
    work = searching((3.0, -1.0), (-1.0, 3.0), 0.4)
    assert core.next_trial(2.0, 4.0, 0, sides, work.box) == pytest.approx(2.6, rel=1e-15)


def test_the_next_trial_stays_within_the_step():
    sides = contact_of()
    assert core.next_trial(2.0, 4.0, 0, sides, searching((1.0, 1.0), (0.0, 0.0)).box) == 4.0
    assert core.next_trial(2.0, 4.0, 0, sides, searching((1.0, 1.0), (-1e-9, 1.0), 9.0).box) == 4.0
    assert core.next_trial(2.0, 4.0, 0, sides, searching((-0.5, 1.0), (-1.0, 1.0)).box) == 2.0
    assert core.next_trial(2.0, 4.0, 0, sides, searching((-1.0, 1.0), (-1.0, 1.0)).box) == 3.0


def test_near_enough_means_every_guard_within_its_tolerance():
    work = searching((1.0, 1.0), (-0.2, 0.3), 0.2)
    assert core.near_enough(contact_of(), work.box)
    sides = contact_of()
    sides.side[6] = -1.0
    assert not core.near_enough(sides, work.box)
    work.guard_trial[:] = -0.1
    assert core.near_enough(contact_of(), work.box)
    for k in range(GUARDS):
        work.guard_trial[:] = -0.1
        work.guard_trial[k] = -0.2001
        assert not core.near_enough(contact_of(), work.box)


FALLING = (2e-6, -0.02, 0.002, -0.01)


def guard_after(p, c, contact, work, length, guard):
    """A guard at the end of one step of a length."""
    core.attempt(boxed(p), boxed(c), 0, 0.001, length, contact, work.box)
    core.trial_guards(boxed(p), 0, 0.001 + length, contact, work.box)
    return work.guard_trial[guard]


def test_a_step_is_shortened_to_the_first_event_in_it(lower):
    """The landing of the inlet ball: the length at which one step puts it on its seat, by Brent's method;
    1e-10 of the travel over its speed. The state left is the one at this length."""
    c = control(lower)
    work, contact = started(lower, balls=FALLING)
    whole = 4e-4
    exact = brentq(lambda h: guard_after(lower, c, contact, work, h, LOW), 1e-9, whole, xtol=1e-16)
    guard_after(lower, c, contact, work, whole, LOW)
    got = core.locate(boxed(lower), boxed(c), 0, 0.001, whole, contact, work.box)
    assert 0.0 <= got - exact <= 1.1 * 1e-10 * lower.inlet.travel / 0.005
    assert -1e-10 * lower.inlet.travel <= work.guard_trial[LOW] <= 0.0
    left, seen = work.trial.copy(), work.guard_trial.copy()
    guard_after(lower, c, contact, work, got, LOW)
    assert (left == work.trial).all()
    assert (seen == work.guard_trial).all()


def test_an_event_that_is_met_already_is_not_looked_for(lower):
    """A step that ends within every guard's tolerance stays as it is."""
    c = control(lower)
    work, contact = started(lower, balls=FALLING)
    exact = brentq(lambda h: guard_after(lower, c, contact, work, h, LOW), 1e-9, 4e-4, xtol=1e-16)
    whole = exact + 0.3e-10 * lower.inlet.travel / 0.02
    assert guard_after(lower, c, contact, work, whole, LOW) < 0.0
    assert core.locate(boxed(lower), boxed(c), 0, 0.001, whole, contact, work.box) == whole


def step_from(p, c, h, end, **how):
    work, contact = started(p, **how)
    return core.accepted_step(boxed(p), boxed(c), 0, 0.001, end, h, contact, work.box), work, contact


def test_a_step_that_meets_the_tolerance_is_taken_and_the_next_is_longer(lower):
    work, contact = started(lower)
    h, c = 2e-6, control(lower)
    error = core.attempt(boxed(lower), boxed(c), 0, 0.001, h, contact, work.box)
    assert error < 1.0
    (step, longer, event), _, _ = step_from(lower, c, h, 0.004)
    assert (step, event) == (h, 0.0)
    assert longer == pytest.approx(h * min(5.0, 0.9 * error**-0.25), rel=1e-12)


def test_a_step_ends_at_the_segments_end_and_keeps_the_length_in_use(lower):
    """Also when a billionth of the step is missing, and however short it is."""
    c = control(lower)
    for h, end in ((2e-6, 0.001 + 1e-6), (2e-6, 0.001 + 2e-6 * (1.0 + 5e-10)), (1e-4, 0.001 + 1e-14)):
        (step, longer, event), _, _ = step_from(lower, c, h, end)
        assert (step, event) == (end - 0.001, 0.0)
        assert longer >= h
    (step, _, _), _, _ = step_from(lower, c, 2e-6, 0.001 + 2e-6 * (1.0 + 5e-9))
    assert step == 2e-6


def test_a_step_with_too_large_an_error_is_taken_again_shorter(lower):
    c = control(lower, rtol=1e-7)
    work, contact = started(lower)
    error = core.attempt(boxed(lower), boxed(c), 0, 0.001, 1e-3, contact, work.box)
    assert error > 1.0
    (step, _, event), work, contact = step_from(lower, c, 1e-3, 0.004)
    assert event == 0.0
    shorter = 1e-3
    while error > 1.0:
        shorter *= max(0.2, 0.9 * error**-0.25)
        error = core.attempt(boxed(lower), boxed(c), 0, 0.001, shorter, contact, work.box)
    assert step == pytest.approx(shorter, rel=1e-12)


def test_a_step_that_cannot_meet_the_tolerance_is_none(lower):
    """Not above 1e-14 of the cycle: from 1e-10, by fifths, the last one tried is above it."""
    (step, left, event), _, _ = step_from(lower, control(lower, rtol=1e-300), 1e-10, 0.004)
    assert (step, event) == (0.0, 0.0)
    assert 0.2e-14 * PERIOD * 0.99 <= left <= 1e-14 * PERIOD
    work, contact = started(lower)
    work.rates[SIZE - 1] = math.nan
    step, left, _ = core.accepted_step(
        boxed(lower), boxed(control(lower)), 0, 0.001, 0.004, 1e-10, contact, work.box
    )
    assert step == 0.0
    assert left == pytest.approx(1e-10 * 0.2**6, rel=1e-9)
    assert step_from(lower, control(lower), 1e-14, 0.004)[0] == (0.0, 1e-14, 0.0)


def test_a_step_onto_an_event_ends_there_and_says_so(lower):
    c = control(lower, rtol=1e-2)
    (step, _, event), work, _ = step_from(lower, c, 4e-4, 0.004, balls=FALLING)
    assert event == 1.0
    assert 0.0 < step < 4e-4
    assert abs(work.trial[INLET_Z]) <= 1e-10 * lower.inlet.travel


def test_a_dip_within_a_step_is_looked_at_with_a_quarter_of_it(lower):
    """A light ball 3 um up at 5 cm/s downwards, and a tolerance that takes any step: within 1 ms the cubic
    goes below the seat and comes back. The step is taken again, a quarter as long, which finds the
    landing."""
    p = lower._replace(inlet=lower.inlet._replace(ball_mass=1e-3))
    c, balls, pressures = control(p, rtol=1e3), (3e-6, -0.05, 0.002, 0.0), (9.45e4, 9.4e4, 9.9e4)
    work, contact = started(p, balls=balls, pressures=pressures)
    core.attempt(boxed(p), boxed(c), 0, 0.001, 1e-3, contact, work.box)
    cubic = work.y[4], 1e-3 * work.y[5], work.trial[4], 1e-3 * work.trial[5]
    assert cubic[2] > 0.0
    assert hermite(*cubic, 0.25) < 0.0
    (step, _, event), again, contact = step_from(p, c, 1e-3, 0.004, balls=balls, pressures=pressures)
    assert step <= 0.25e-3
    if event == 0.0:
        core.attempt(boxed(p), boxed(c), 0, 0.001, 0.25e-3, contact, work.box)
        assert step == 0.25e-3
        assert (again.trial == work.trial).all()


def test_a_hold_ends_with_a_release_or_an_armed_ball():
    work = Work()

    def ended(t, net, k=0, mode=SEATED, armed=0, hold=0.5, end=0.9):
        """Both balls rest; the other one is armed. The next time to stop at, the ball's mode and whether
        armed."""
        forces = [0.0, 0.0]
        forces[k] = net
        work.now.inlet.force, work.now.piston.force = forces
        modes, arms, holds = [SEATED, SEATED], [1, 1], [0.1, 0.1]
        modes[k], arms[k], holds[k] = mode, armed, hold
        contact = contact_of(modes, arms, holds)
        stop = core.end_of_hold(t, end, contact, work.box)
        assert (contact.mode[1 - k], contact.armed[1 - k]) == (SEATED, 1)
        return stop, contact.mode[k], contact.armed[k]

    for k in (0, 1):
        assert ended(0.3, 1.0, k) == (0.5, SEATED, 0)
        assert ended(0.3, 1.0, k, end=0.4) == (0.4, SEATED, 0)
        assert ended(0.5, 1.0, k) == (0.9, FREE, 0)
        assert ended(0.5, -1.0, k) == (0.9, SEATED, 1)
        assert ended(0.5, 0.0, k) == (0.9, SEATED, 1)
        assert ended(0.5, -1.0, k, ON_STOP) == (0.9, FREE, 0)
        assert ended(0.5, 1.0, k, ON_STOP) == (0.9, ON_STOP, 1)
        assert ended(0.6, 1.0, k, armed=1) == (0.9, SEATED, 1)
        assert ended(0.6, 1.0, k, FREE) == (0.9, FREE, 0)


def test_a_kept_row_is_the_recorded_instant_and_rows_beyond_the_last_are_only_counted(lower):
    work, contact = started(lower, modes=(FREE, FREE))
    contact.mode[:] = FREE, ON_STOP
    expected = np.empty(len(COLUMNS))
    record(expected, 0.001, 0.01 + 0.2 * 0.001, work.now, work.y, FREE, ON_STOP)
    work.now.v = 77.0
    work.number[:] = 3, 1
    core.keep_row(boxed(lower), 0, 0.001, contact, work.box)
    assert (work.rows[3] == expected).all()
    assert list(work.number) == [4, 1]
    work.number[0] = MOST_ROWS - 1
    core.keep_row(boxed(lower), 0, 0.001, contact, work.box)
    core.keep_row(boxed(lower), 0, 0.001, contact, work.box)
    assert work.number[0] == MOST_ROWS + 1
    assert (work.rows[MOST_ROWS - 1] == expected).all()
    assert not work.rows[4 : MOST_ROWS - 1 : 1000].any()


def test_contacts_are_answered_before_flows_are_looked_at(lower):
    """Both balls past contact, nothing else: landings alone; the inlet's flow has turned with its ball's
    speed."""
    work, contact = started(lower, balls=(0.0, -0.05, 0.004, 0.02))
    work.guard_trial[:] = contact.side
    work.guard_trial[[LOW, HIGH + 1]] = -1e-12
    core.respond(boxed(lower), 0, 0.001, contact, work.box)
    assert list(contact.mode) == [SEATED, ON_STOP]
    kinds = [tuple(row[:3]) for row in work.events[: int(work.number[1])]]
    assert kinds[:2] == [(Event.SEATED, 0, 0.001), (Event.STOPPED, 1, 0.001)]
    assert (work.y[INLET_W], work.y[PISTON_W]) == (0.0, 0.0)
    out = np.empty(GUARDS)
    moment(boxed(lower), 0, 0.001, work.y, work.now)
    guards(boxed(lower), work.now, work.y, contact, out)
    assert (contact.side * out >= 0.0)[FLOW:].all()


def test_a_monitor_past_zero_is_marked_and_one_at_zero_is_not(lower):
    """From sides as they are one is turned: only its event is listed, once."""
    for guard in range(FLOW, GUARDS):
        work, contact = started(lower)
        contact.side[guard] = -contact.side[guard]
        before = contact.side.copy()
        work.guard_trial[:] = before
        core.respond(boxed(lower), 0, 0.001, contact, work.box)
        assert work.number[1] == 1
        assert contact.side[guard] == -before[guard]
    work, contact = started(lower, balls=(lower.inlet.landing_gap, 0.0, 0.002, 0.0))
    contact.side[GAP] = -1.0
    work.guard_trial[:] = contact.side
    core.respond(boxed(lower), 0, 0.001, contact, work.box)
    assert work.number[1] == 0


def run_one(p, c, work, contact, h=1e-5, segment=0):
    return core.run_segment(boxed(p), boxed(c), segment, h, contact, work.box)


def prepared(p, **how):
    """A workspace at the start of the first segment."""
    return started(p, t=0.0, **how)


def test_a_segment_ends_where_another_integrator_ends(lower):
    """Free balls, no event: LSODA at 1e-10, the core at 1e-6; 1e-4 of the states' scales."""
    c = control(lower)
    work, contact = prepared(lower)
    y = work.y.copy()
    h = run_one(lower, c, work, contact)
    assert h > 0.0
    assert work.number[1] == 0
    other = solve_ivp(
        lambda t, s: rates_at(lower, t, s), (0.0, 0.0025), y, method="LSODA", rtol=1e-9, atol=1e-14
    )
    assert np.abs(work.y - other.y[:, -1]) == pytest.approx(np.zeros(SIZE), abs=1e-4)
    assert (np.abs(work.y - other.y[:, -1]) <= 1e-4 * (c.scale + np.abs(work.y))).all()
    rows = work.rows[: int(work.number[0])]
    assert (rows[0, 0], rows[1, 0]) == (0.0, 1e-5)
    assert rows[-1, 0] < 0.0025
    assert (np.diff(rows[:, 0]) > 0.0).all()
    assert rows[0, 3 : 3 + SIZE] == pytest.approx(y, rel=1e-15)


def test_no_step_is_longer_than_its_share_of_the_cycle(lower):
    """5e-3 of the cycle, here with a tolerance that takes any step and a segment of 40 ms."""
    p = still(lower)._replace(drive=moving_drive(0.0, (0.0, 0.0301, 0.04))._replace(position=np.zeros(12)))
    work, contact = Work(), contact_of((SEATED, SEATED))
    assert core.initialise(boxed(p), contact, work.box)
    assert run_one(p, control(p, rtol=1e6), work, contact, 1.0) > 0.0
    assert work.rows[: int(work.number[0]), 0] == pytest.approx(0.005 * np.arange(7), abs=1e-15)


def test_a_landing_in_a_segment_has_two_rows_and_a_short_step_after_it(lower):
    """Before and after the jump of mode at the same instant; then 1e-5 of the cycle. Nothing is lost:
    contents change by flows and stroke, integrated alike, to 1e-13 of the stroke's volume."""
    c = control(lower)
    work, contact = prepared(lower, balls=(1e-6, -0.02, 0.002, -0.01))
    y = work.y.copy()
    assert run_one(lower, c, work, contact) > 0.0
    listed = work.events[: int(work.number[1])]
    assert listed[0, 0] == Event.SEATED
    rows = work.rows[: int(work.number[0])]
    (first,) = np.flatnonzero(np.diff(rows[:, 0]) == 0.0)[:1]
    assert rows[first, 0] == listed[0, 2]
    assert (rows[first, -2], rows[first + 1, -2]) == (FREE, SEATED)
    assert rows[first + 2, 0] - rows[first + 1, 0] == pytest.approx(1e-5 * PERIOD, rel=1e-9)
    gained = work.y - y
    swept = lower.lower.area * gained[12]
    assert gained[12] == pytest.approx(0.2 * 0.0025, rel=1e-9)
    assert gained[0] == pytest.approx(gained[11] - gained[8], abs=1e-17)
    assert gained[2] == pytest.approx(gained[8] - gained[9] - swept, abs=1e-17)


def test_a_segment_says_why_it_ended_early(lower):
    work, contact = prepared(lower)
    assert run_one(lower, control(lower, rows=3), work, contact) == -Status.TOO_MANY_STEPS
    assert work.number[0] == 3
    work, contact = prepared(lower)
    work.number[0] = MOST_ROWS - 1
    assert run_one(lower, control(lower, rows=2 * MOST_ROWS), work, contact) == -Status.TOO_MANY_STEPS
    work, contact = prepared(lower)
    work.number[1] = MOST_EVENTS
    assert run_one(lower, control(lower), work, contact) == -Status.TOO_MANY_EVENTS
    work, contact = prepared(lower)
    work.number[1] = MOST_EVENTS - 1
    assert run_one(lower, control(lower), work, contact) > 0.0
    work, contact = prepared(lower)
    assert run_one(lower, control(lower, rtol=1e-300), work, contact) == -Status.STEP_TOO_SMALL


def test_a_cycle_starts_its_volumes_anew_and_ends_with_a_row_at_the_period(lower):
    p = lower._replace(drive=moving_drive(times=(0.0, 0.0004, 0.0006)))
    work, contact = prepared(p)
    work.y[STATES:], work.number[:], contact.hold[:] = 5.0, (77, 88), (3.0, 4.0)
    y = work.y.copy()
    assert core.run_cycle(boxed(p), boxed(control(p)), 1e-5, contact, work.box) > 0.0
    kept = int(work.number[0])
    assert work.number[1] < 10
    assert (work.rows[0, 3 + STATES : 3 + SIZE] == 0.0).all()
    assert (work.rows[0, 3 : 3 + STATES] == y[:STATES]).all()
    assert work.rows[kept - 1, 0] == PERIOD
    assert (work.rows[kept - 1, 3 : 3 + SIZE] == work.y).all()
    assert work.rows[kept - 1, 1] == pytest.approx(0.01 + 0.2 * PERIOD, rel=1e-12)
    assert work.y[12] == pytest.approx(0.2 * 0.0006, rel=1e-9)
    assert 0.0004 in work.rows[:kept, 0]
    p, work, contact = still(lower), Work(), contact_of((SEATED, SEATED), hold=(3.0, 4.0))
    core.initialise(boxed(p), contact, work.box)
    assert core.run_cycle(boxed(p), boxed(control(p)), 1e-5, contact, work.box) > 0.0
    assert list(contact.hold) == [3.0 - PERIOD, 4.0 - PERIOD]


def test_a_cycle_that_fails_ends_at_once(lower):
    work, contact = prepared(lower)
    contact.hold[:] = 3.0
    got = core.run_cycle(boxed(lower), boxed(control(lower, rows=3)), 1e-5, contact, work.box)
    assert got == -Status.TOO_MANY_STEPS
    assert work.number[0] == 3
    assert list(contact.hold) == [3.0, 3.0]


@pytest.mark.parametrize("target", [5e4, 101325.0, 1e7])
@pytest.mark.parametrize("chamber", [Chamber(1e-4, 2e-3, 0.0), Chamber(3e-4, 0.0, 1e-10)])
def test_a_chamber_is_filled_to_the_pressure_wanted(lower, target, chamber):
    y = core.surplus_at(boxed(lower), boxed(chamber), target)
    got, _, _ = pressure(boxed(lower.material), lower.reference_pressure, boxed(chamber), 0.0, y)
    assert got == pytest.approx(target, rel=1e-9)


def test_a_run_starts_at_rest_at_the_pressures_of_suction_and_outlet(lower):
    work, contact = Work(), contact_of((SEATED, SEATED), sides=9.0)
    work.y[:] = 5.0
    assert core.initialise(boxed(lower), contact, work.box)
    others = [k for k in range(SIZE) if k not in (0, 2, 3)]
    assert not work.y[others].any()
    p = lower
    for k, chamber, at, wanted in (
        (0, p.port, 0.0, 97800.0),
        (2, p.lower, 0.0, 97800.0),
        (3, p.upper, 0.0, 1.3e5),
    ):
        assert work.y[k] == pytest.approx(surplus_of(p, chamber, at, wanted), rel=1e-7)
    x = 0.01
    expected, _, _ = pressure(boxed(p.material), p.reference_pressure, boxed(p.lower), x, work.y[2])
    assert work.now.lower == expected
    assert (contact.side[:4] == 1.0).all()
    assert (contact.side * work.guard >= 0.0).all()
    assert set(contact.side[4:]) == {-1.0, 1.0}
    suction = p.suction._replace(pressure=math.nan)
    assert not core.initialise(boxed(p._replace(suction=suction)), contact_of(), Work().box)
    assert not core.initialise(boxed(p._replace(outlet_pressure=math.nan)), contact_of(), Work().box)
    soft = p.port._replace(compliance=math.nan)
    assert not core.initialise(boxed(p._replace(port=soft)), contact_of(), Work().box)


def test_the_change_of_a_cycle_is_the_largest_of_its_states(lower):
    """Contents over the swept volume, lifts over a hundredth of the seat's radius, the rest over their
    scales; the sums do not count."""
    c = control(lower)
    swept = lower.lower.area * STROKE
    sizes = [swept, 1e-4, swept, swept, 0.01 * 0.0105, 0.1, 0.01 * 0.008, 0.1]
    before = np.linspace(-1.0, 1.0, SIZE)
    assert core.change(boxed(lower), boxed(c), before, before) == 0.0
    for k in range(SIZE):
        after = before.copy()
        after[k] += -0.25 if k % 2 else 0.25
        expected = 0.25 / sizes[k] if k < STATES else 0.0
        assert core.change(boxed(lower), boxed(c), before, after) == pytest.approx(expected, rel=1e-12)
    assert core.change(boxed(lower), boxed(c), before, before + 0.25) == pytest.approx(
        0.25 / min(sizes), rel=1e-12
    )


def still(p):
    """The piston at rest and one pressure everywhere: nothing moves."""
    drive = moving_drive(0.0, (0.0, 0.002, 0.004))._replace(position=np.zeros(12))
    return p._replace(drive=drive, outlet_pressure=p.suction.pressure)


def test_a_lower_at_rest_repeats_itself_in_the_second_cycle(lower):
    p, work, contact = still(lower), Work(), contact_of((SEATED, SEATED))
    status, cycles, drift = core.run(boxed(p), boxed(control(p, cycles=9)), contact, work.box)
    assert (status, cycles) == (Status.OK, 2)
    assert drift <= 1e-9
    assert work.rows[1, 0] >= 1e-5 * PERIOD
    first = core.run(boxed(p), boxed(control(p, cycles=1)), contact_of((SEATED, SEATED)), work.box)
    assert first == (Status.NOT_PERIODIC, 1, math.inf)
    assert work.rows[1, 0] == pytest.approx(1e-5 * PERIOD, rel=1e-12)


def test_a_run_that_cannot_start_or_go_on_says_so(lower):
    p = lower._replace(outlet_pressure=math.nan)
    got = core.run(boxed(p), boxed(control(p)), contact_of((SEATED, SEATED)), Work().box)
    assert got == (Status.NOT_FINITE, 0, math.inf)
    c = control(lower, rows=3)
    got = core.run(boxed(lower), boxed(c), contact_of((SEATED, SEATED)), Work().box)
    assert got == (Status.TOO_MANY_STEPS, 1, math.inf)


def test_a_run_ends_with_the_first_cycle_that_changes_delivery_and_states_little_enough(lower):
    """Cycles of 4 ms that pump: changes of delivery over swept, and of states, cycle by cycle; with the
    tolerance just at those of the fourth the run ends there, a little below it goes on."""
    p = still(lower)._replace(outlet_pressure=1.2e5, drive=moving_drive(0.0, (0.0, 0.002, 0.004)))
    swept = p.lower.area * STROKE
    loose = control(p, rtol=1e-3, cycles=9, tolerance=0.0)
    work, contact = Work(), contact_of((SEATED, SEATED))
    core.initialise(boxed(p), contact, work.box)
    h, delivered, needed = 1e-5 * PERIOD, math.inf, []
    for _ in range(6):
        before = work.y.copy()
        h = core.run_cycle(boxed(p), boxed(loose), h, contact, work.box)
        drift = abs(work.y[10] - delivered) / swept
        delivered = work.y[10]
        needed.append(max(drift, core.change(boxed(p), boxed(loose), before, work.y) / 1000.0))
    best = int(np.argmin(needed[:5]))
    for tolerance, status in ((1.001 * needed[best], Status.OK), (0.999 * needed[best], Status.NOT_PERIODIC)):
        c = control(p, rtol=1e-3, cycles=best + 1, tolerance=tolerance)
        got = core.run(boxed(p), boxed(c), contact_of((SEATED, SEATED)), Work().box)
        assert got[:2] == (status, best + 1)
