"""Steps and located events: each rule of the integrator by hand."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from balltravel.core import integrate as core
from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.events import LOW, guards
from balltravel.core.model import SIZE, STATES, Moment, moment
from balltravel.core.rosenbrock import ADVANCE, COUPLE, GAMMA, NODES, STAGES, TIME_WEIGHTS
from balltravel.core.workspace import GUARDS

from ..helpers.boxes import Work, boxed
from ..helpers.mid_stroke import (
    COUNTED,
    INLET_Z,
    PERIOD,
    PISTON_Z,
    contact_of,
    control,
    moving_lower,
    rates_at,
    started,
)
from ..helpers.steps import accepted_step, located


@pytest.fixture(scope="module")
def lower(make_lower):
    return moving_lower(make_lower)


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
    expected = math.sqrt(np.sum((increments[-1] / (1e-6 * (c.scale + size))) ** 2) / COUNTED)
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
    moment(boxed(lower), 0, 0.002, work.trial, True, now)
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


def searching(low, high, tolerance=0.0, between=(2.0, 4.0), **how):
    """A workspace in whose search two guards have these values at both ends of a bracket; the others are far
    from zero."""
    work = Work()
    work.guard_low[:], work.guard_high[:], work.tolerance[:] = 1.0, 1.0, tolerance
    work.guard_low[[2, 6]], work.guard_high[[2, 6]] = low, high
    m = work.box.march
    m.low, m.high = between
    m.weight_low, m.weight_high, m.rounds = *how.get("weights", (1.0, 1.0)), how.get("round", 0)
    return work


def aimed_at(sides, work):
    return core.next_trial(work.box.march, sides, work.box)


def test_the_next_trial_is_the_nearest_secant_root_aimed_a_little_beyond():
    sides = contact_of()
    sides.side[6] = -1.0
    # Roots at 3/4 and 1/4 of the way from 2 to 4; the second guard falls through zero from below.
    ends = (3.0, -1.0), (-1.0, 3.0)
    for turn in (0, 1, 6, 8):
        assert aimed_at(sides, searching(*ends, round=turn)) == pytest.approx(2.5, rel=1e-15)
    for turn in (7, 15):
        assert aimed_at(sides, searching(*ends, round=turn)) == 3.0
    # A quarter of a tolerance of 0.8 over a fall of 4 is 1/20 of the way.
    assert aimed_at(sides, searching(*ends, 0.8)) == pytest.approx(2.6, rel=1e-15)


def test_an_end_that_stays_weighs_less():
    """A guard that falls from 1 to -3, so that its secant's root is at 1/4; the far end at a third of its
    weight: 1/2, the near one: 1/10."""
    ends = (1.0, 1.0), (-3.0, 1.0)
    assert aimed_at(contact_of(), searching(*ends)) == pytest.approx(2.5, rel=1e-15)
    assert aimed_at(contact_of(), searching(*ends, weights=(1.0, 1.0 / 3.0))) == pytest.approx(3.0, rel=1e-15)
    assert aimed_at(contact_of(), searching(*ends, weights=(1.0 / 3.0, 1.0))) == pytest.approx(2.2, rel=1e-15)


def test_the_next_trial_stays_within_the_bracket():
    """Where the secant's root is no place within it, its middle."""
    for low, high, tolerance in (
        ((1.0, 1.0), (0.0, 0.0), 0.0),
        ((1.0, 1.0), (-1e-9, 1.0), 29.0),
        ((-0.5, 1.0), (-1.0, 1.0), 0.0),
        ((-1.0, 1.0), (-1.0, 1.0), 0.0),
    ):
        assert aimed_at(contact_of(), searching(low, high, tolerance)) == 3.0


def test_near_enough_means_every_guard_within_half_its_tolerance():
    work = searching((1.0, 1.0), (-0.2, 0.3), 0.4)
    assert core.near_enough(contact_of(), work.box)
    sides = contact_of()
    sides.side[6] = -1.0
    assert not core.near_enough(sides, work.box)
    work.guard_high[:] = -0.1
    assert core.near_enough(contact_of(), work.box)
    for k in range(GUARDS):
        work.guard_high[:] = -0.1
        work.guard_high[k] = -0.2001
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
    got = located(lower, c, 0, 0.001, whole, contact, work)[0]
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
    whole = exact + 0.1e-10 * lower.inlet.travel / 0.02
    assert guard_after(lower, c, contact, work, whole, LOW) < 0.0
    assert located(lower, c, 0, 0.001, whole, contact, work)[0] == whole


def step_from(p, c, h, end, **how):
    work, contact = started(p, **how)
    return accepted_step(p, c, 0, 0.001, end, h, contact, work), work, contact


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
    step, left, _ = accepted_step(lower, control(lower), 0, 0.001, 0.004, 1e-10, contact, work)
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
    """A light ball 3 um up at 10 cm/s downwards, and a tolerance that takes any step: within 1 ms the cubic
    goes below the seat and comes back. The step is taken again, a quarter as long, which finds the
    landing."""
    p = lower._replace(inlet=lower.inlet._replace(ball_mass=1e-3))
    c, balls, pressures = control(p, rtol=1e3), (3e-6, -0.1, 0.002, 0.0), (9.45e4, 9.4e4, 9.9e4)
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
