"""The integrator where a share of the cycle, a time or a comparison decides; a cycle of two seconds."""

import math

import numba
import numpy as np
import pytest

from balltravel.core import cycles, march
from balltravel.core import integrate as core
from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.events import LOW, Event
from balltravel.core.parameters import MOST_SEGMENTS
from balltravel.core.status import Status

from ..helpers.boxes import Work, boxed
from ..helpers.mid_stroke import INLET_Z, contact_of, control, moving_drive, moving_lower, started
from ..helpers.steps import accepted_step, run_cycle, run_segment

PLAIN = pytest.mark.skipif(
    not numba.config.DISABLE_JIT, reason="a compiled kernel cannot be given another one"
)


@pytest.fixture(scope="module")
def lower(make_lower):
    return moving_lower(make_lower)


def slow(p, **drive):
    """With a cycle of two seconds."""
    return p._replace(drive=p.drive._replace(period=2.0, **drive))


def still(p, end=0.004):
    drive = moving_drive(0.0, (0.0, 0.5 * end, end))._replace(position=np.zeros(MOST_SEGMENTS), period=2.0)
    return p._replace(drive=drive, outlet_pressure=p.suction.pressure)


def test_a_guard_that_has_not_fallen_is_not_aimed_at():
    """One rises from 0.2 to 0.4; the other's root is at 3/4 of the way."""
    work = Work()
    work.guard_low[:], work.guard_high[:], work.tolerance[:] = 1.0, 1.0, 0.0
    work.guard_low[[2, 6]], work.guard_high[[2, 6]] = (3.0, 0.2), (-1.0, 0.4)
    m = work.box.march
    m.low, m.high, m.weight_low, m.weight_high = 2.0, 4.0, 1.0, 1.0
    assert core.next_trial(m, contact_of(), work.box) == pytest.approx(3.5, rel=1e-15)


def test_an_error_a_little_above_the_tolerance_is_too_large(lower):
    """A tolerance 1.5 times too tight for the step."""
    work, contact = started(lower)
    h, c = 1e-5, control(lower)
    error = core.attempt(boxed(lower), boxed(c), 0, 0.001, h, contact, work.box)
    c = control(lower, rtol=1e-6 * error / 1.5)
    assert core.attempt(boxed(lower), boxed(c), 0, 0.001, h, contact, work.box) == pytest.approx(1.5)
    step, _, event = accepted_step(lower, c, 0, 0.001, 0.004, h, contact, work)
    assert event == 0.0
    assert step == pytest.approx(h * 0.9 * 1.5**-0.25, rel=1e-6)


def test_the_smallest_step_is_a_share_of_the_cycle(lower):
    p, c = slow(lower), control(lower)
    work, contact = started(p)
    got = accepted_step(p, c, 0, 0.001, 0.004, 1.5e-14, contact, work)
    assert got == (0.0, 1.5e-14, 0.0)
    work.rates[-1] = math.nan
    step, left, _ = accepted_step(p, c, 0, 0.001, 0.004, 1e-10, contact, work)
    assert step == 0.0
    assert left == pytest.approx(1e-10 * 0.2**6, rel=1e-9, abs=0.0)


def test_the_largest_step_is_a_share_of_the_cycle(lower):
    p = still(lower, 0.1)
    work, contact = Work(), contact_of((SEATED, SEATED))
    assert cycles.initialise(boxed(p), contact, work.box)
    assert run_segment(p, control(p, rtol=1e6), 0, 1.0, contact, work) > 0.0
    assert work.rows[: int(work.number[0]), 0] == pytest.approx(0.01 * np.arange(5), abs=1e-15)


def test_the_first_step_of_a_run_is_a_share_of_the_cycle(lower):
    p, work = still(lower), Work()
    cycles.run(boxed(p), boxed(control(p, cycles=1)), contact_of((SEATED, SEATED)), work.box)
    assert work.rows[1, 0] == pytest.approx(2e-5, rel=1e-12)
    assert work.number[1] == 0


def test_without_cycles_nothing_is_run(lower):
    got = cycles.run(boxed(lower), boxed(control(lower, cycles=0)), contact_of((SEATED, SEATED)), Work().box)
    assert got == (Status.NOT_PERIODIC, 0, math.inf)


def step_after(p, kind, balls, modes):
    """Length of the step after the first event of a kind in a segment, and of the one before it."""
    work, contact = started(p, t=0.0, balls=balls, modes=modes)
    assert run_segment(p, control(p), 0, 1e-5, contact, work) > 0.0
    listed = work.events[: int(work.number[1])]
    when = listed[listed[:, 0] == kind][0, 2]
    time = work.rows[: int(work.number[0]), 0]
    return time[time > when][0] - when


@pytest.mark.parametrize("other", [FREE, SEATED, ON_STOP])
@pytest.mark.parametrize("k", [0, 1])
def test_a_landing_is_followed_by_a_short_step_whatever_the_other_ball_does(lower, k, other):
    modes, balls = [other, other], 2 * [{FREE: 0.002, SEATED: 0.0, ON_STOP: 0.004}[other], 0.0]
    if other == ON_STOP:
        balls[0] = lower.inlet.travel
    modes[k], balls[2 * k], balls[2 * k + 1] = FREE, 1e-6, -0.02
    assert step_after(slow(lower), Event.SEATED, balls, modes) == pytest.approx(2e-5, rel=1e-6)


@pytest.mark.parametrize("other", [SEATED, ON_STOP])
@pytest.mark.parametrize("k", [0, 1])
def test_a_crossing_of_the_gap_is_not_followed_by_a_short_step(lower, k, other):
    p = slow(lower)
    gap = (p.inlet.landing_gap, p.piston.landing_gap)[k]
    modes, balls = [other, other], [0.0, 0.0, 0.0, 0.0]
    if other == ON_STOP:
        balls[0], balls[2] = p.inlet.travel, p.piston.travel
    modes[k], balls[2 * k], balls[2 * k + 1] = FREE, gap + 1e-5, -0.05
    assert step_after(p, Event.GAP_CROSSED, balls, modes) > 2.1e-5


def test_the_last_row_has_the_position_of_the_last_segment(lower):
    drive = moving_drive(times=(0.0, 0.0004, 0.0006))
    drive.position[1] = 0.0101
    p = lower._replace(drive=drive)
    work, contact = started(p, t=0.0)
    assert run_cycle(p, control(p), 1e-5, contact, work) > 0.0
    last = work.rows[int(work.number[0]) - 1]
    assert last[1] == pytest.approx(0.0101 + 0.2 * (0.0006 - 0.0004), rel=1e-12)


def test_a_run_begins_in_the_first_segment(lower):
    drive = moving_drive()
    drive.position[:2] = 0.0, 0.05
    p, work, contact = lower._replace(drive=drive), Work(), contact_of((SEATED, SEATED))
    assert cycles.initialise(boxed(p), contact, work.box)
    assert work.now.lower == pytest.approx(p.suction.pressure, rel=1e-9)


def test_a_contact_guard_at_zero_has_no_effect(lower):
    work, contact = started(lower)
    work.guard_trial[:] = contact.side
    work.guard_trial[LOW] = 0.0
    march.respond(boxed(lower), 0, 0.001, contact, work.box)
    assert contact.mode[0] == FREE
    assert work.y[INLET_Z] == 0.002


@PLAIN
def test_a_step_in_which_a_ball_has_dipped_is_taken_again_at_that_share(lower, monkeypatch):
    """A quarter of it, and then half of that; what ``dips`` finds is tested by itself."""
    work, contact = started(lower)
    shares, lengths = iter((0.25, 0.5, 1.0)), []

    def dips(_, h, *__):
        lengths.append(h)
        return next(shares)

    monkeypatch.setattr(core, "dips", dips)
    h = 1e-6
    step, _, event = accepted_step(lower, control(lower, rtol=1.0), 0, 0.001, 0.004, h, contact, work)
    assert lengths == pytest.approx([h, 0.25 * h, 0.125 * h], rel=1e-12)
    assert step == pytest.approx(0.125 * h, rel=1e-12)
    assert event == 0.0


@PLAIN
@pytest.mark.parametrize(("change", "status"), [(999.7, Status.OK), (1000.3, Status.NOT_PERIODIC)])
def test_a_cycle_repeats_when_no_state_changes_by_a_thousand_tolerances(lower, monkeypatch, change, status):
    """A piston that stands still delivers the same in every cycle; the states decide."""
    p = still(lower)
    c = control(p, cycles=3)
    monkeypatch.setattr(cycles, "change", lambda *_: change * c.periodic_tolerance)
    got, count, drift = cycles.run(boxed(p), boxed(c), contact_of((SEATED, SEATED)), Work().box)
    assert got == status
    assert drift < 1e-12
    assert count == (2 if status == Status.OK else 3)
