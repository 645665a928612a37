"""Segments, cycles and runs: each rule by hand, short runs against another integrator."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from balltravel.core import cycles, march
from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.contents import pressure
from balltravel.core.events import FLOW, GAP, HIGH, LOW, TRIP, Event, guards
from balltravel.core.integrate import look
from balltravel.core.march import CHATTER
from balltravel.core.model import (
    DELIVERED,
    DRAWN,
    LINE_VOLUME,
    PASSED,
    POSITION,
    SIZE,
    STATES,
    WHOLE,
    moment,
)
from balltravel.core.parameters import MOST_SEGMENTS, Chamber
from balltravel.core.recording import COLUMNS, record
from balltravel.core.status import Status
from balltravel.core.stroke import motion
from balltravel.core.workspace import GUARDS, MOST_EVENTS, MOST_ROWS

from ..helpers.boxes import Work, boxed
from ..helpers.mid_stroke import (
    INLET_W,
    PERIOD,
    PISTON_W,
    STROKE,
    contact_of,
    control,
    moving_drive,
    moving_lower,
    rates_at,
    started,
    surplus_of,
)
from ..helpers.steps import run_cycle, run_segment


@pytest.fixture(scope="module")
def lower(make_lower):
    return moving_lower(make_lower)


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
        stop = march.end_of_hold(t, end, contact, work.box)
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
    record(boxed(lower), expected, 0.001, work.now, work.y, FREE, ON_STOP)
    work.box.march.t, work.box.march.seen = 0.001, 0
    work.now.v = 77.0
    work.number[:] = 3, 1
    march.keep_row(boxed(lower), contact, work.box)
    assert (work.rows[3] == expected).all()
    assert list(work.number) == [4, 1]
    work.number[0] = MOST_ROWS - 1
    march.keep_row(boxed(lower), contact, work.box)
    march.keep_row(boxed(lower), contact, work.box)
    assert work.number[0] == MOST_ROWS + 1
    assert (work.rows[MOST_ROWS - 1] == expected).all()
    assert not work.rows[4 : MOST_ROWS - 1 : 1000].any()


def test_contacts_are_answered_before_flows_are_looked_at(lower):
    """Both balls past contact, nothing else: landings alone; the inlet's flow has turned with its ball's
    speed."""
    work, contact = started(lower, balls=(0.0, -0.05, 0.004, 0.02))
    work.guard_trial[:] = contact.side
    work.guard_trial[[LOW, HIGH + 1]] = -1e-12
    march.respond(boxed(lower), 0, 0.001, contact, work.box)
    assert list(contact.mode) == [SEATED, ON_STOP]
    kinds = [tuple(row[:3]) for row in work.events[: int(work.number[1])]]
    assert kinds[:2] == [(Event.SEATED, 0, 0.001), (Event.STOPPED, 1, 0.001)]
    assert (work.y[INLET_W], work.y[PISTON_W]) == (0.0, 0.0)
    out = np.empty(GUARDS)
    moment(boxed(lower), 0, 0.001, work.y, True, work.now)
    guards(boxed(lower), work.now, work.y, contact, out)
    assert (contact.side * out >= 0.0)[FLOW:].all()


def test_a_monitor_past_zero_is_marked_and_one_at_zero_is_not(lower):
    """From sides as they are one is turned: only its event is listed, once."""
    for guard in range(FLOW, TRIP):
        work, contact = started(lower)
        contact.side[guard] = -contact.side[guard]
        before = contact.side.copy()
        work.guard_trial[:] = before
        march.respond(boxed(lower), 0, 0.001, contact, work.box)
        assert work.number[1] == 1
        assert contact.side[guard] == -before[guard]
    work, contact = started(lower, balls=(lower.inlet.landing_gap, 0.0, 0.002, 0.0))
    contact.side[GAP] = -1.0
    work.guard_trial[:] = contact.side
    march.respond(boxed(lower), 0, 0.001, contact, work.box)
    assert work.number[1] == 0


def run_one(p, c, work, contact, h=1e-5, segment=0):
    return run_segment(p, c, segment, h, contact, work)


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
    p = still(lower)._replace(
        drive=moving_drive(0.0, (0.0, 0.0301, 0.04))._replace(position=np.zeros(MOST_SEGMENTS))
    )
    work, contact = Work(), contact_of((SEATED, SEATED))
    assert cycles.initialise(boxed(p), contact, work.box)
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
    swept = lower.lower.area * gained[POSITION]
    assert gained[POSITION] == pytest.approx(0.2 * 0.0025, rel=1e-9)
    assert gained[0] == pytest.approx(gained[LINE_VOLUME] - gained[DRAWN], abs=1e-17)
    assert gained[2] == pytest.approx(gained[DRAWN] - gained[PASSED] - swept, abs=1e-17)


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
    for bounces, status in ((CHATTER, Status.TOO_MANY_EVENTS), (CHATTER - 1, Status.TOO_MANY_STEPS)):
        work, contact = prepared(lower)
        work.number[1] = CHATTER + 7
        work.events[: CHATTER + 7, 0] = Event.FLOW_TURNED
        work.events[:bounces:2, 0] = Event.BOUNCED_ON_SEAT
        work.events[1:bounces:2, 0] = Event.BOUNCED_ON_STOP
        assert run_one(lower, control(lower, rows=3), work, contact) == -status
    work, contact = prepared(lower)
    work.number[1] = MOST_EVENTS - 1
    assert run_one(lower, control(lower), work, contact) > 0.0
    work, contact = prepared(lower)
    assert run_one(lower, control(lower, rtol=1e-300), work, contact) == -Status.STEP_TOO_SMALL


@pytest.mark.parametrize(("state", "chamber"), [(0, "port"), (2, "lower"), (3, "upper")])
def test_what_is_drawn_to_less_than_nothing_ends_there(lower, state, chamber):
    """The contents are the surplus and the volume; a thousandth more than all may not leave, all but a
    thousandth may."""
    of = getattr(lower, chamber)
    volume = of.volume + of.area * motion(boxed(lower.drive), 0, 0.0)[0]
    for share, ends in ((-1.001, True), (-0.999, False)):
        work, contact = prepared(lower)
        work.y[state] = share * volume
        look(boxed(lower), 0, 0.0, work.y, work.box)
        assert march.drawn_empty(boxed(lower), work.box) == ends
        if ends:
            assert run_one(lower, control(lower), work, contact) == -Status.DRAWN_EMPTY


def test_a_cycle_starts_its_volumes_anew_and_ends_with_a_row_at_its_last_segments_end(lower):
    p = lower._replace(drive=moving_drive(times=(0.0, 0.0004, 0.0006)))
    work, contact = prepared(p)
    work.y[WHOLE:], work.number[:], contact.hold[:] = 5.0, (77, 88), (3.0, 4.0)
    y = work.y.copy()
    assert run_cycle(p, control(p), 1e-5, contact, work) > 0.0
    kept = int(work.number[0])
    assert work.number[1] < 10
    assert (work.rows[0, 3 + WHOLE : 3 + SIZE] == 0.0).all()
    assert (work.rows[0, 3 : 3 + WHOLE] == y[:WHOLE]).all()
    assert work.rows[kept - 1, 0] == work.clock[2] == 0.0006
    assert list(work.clock[:2]) == [0.0, 0.0004]
    assert (work.rows[kept - 1, 3 : 3 + SIZE] == work.y).all()
    assert work.rows[kept - 1, 1] == pytest.approx(0.01 + 0.2 * 0.0006, rel=1e-12)
    assert work.y[POSITION] == pytest.approx(0.2 * 0.0006, rel=1e-9)
    assert 0.0004 in work.rows[:kept, 0]
    p, work, contact = still(lower), Work(), contact_of((SEATED, SEATED), hold=(3.0, 4.0))
    cycles.initialise(boxed(p), contact, work.box)
    assert run_cycle(p, control(p), 1e-5, contact, work) > 0.0
    assert list(contact.hold) == [3.0 - 0.004, 4.0 - 0.004]


def test_a_cycle_that_fails_ends_at_once(lower):
    work, contact = prepared(lower)
    contact.hold[:] = 3.0
    got = run_cycle(lower, control(lower, rows=3), 1e-5, contact, work)
    assert got == -Status.TOO_MANY_STEPS
    assert work.number[0] == 3
    assert list(contact.hold) == [3.0, 3.0]


@pytest.mark.parametrize("target", [5e4, 101325.0, 1e7])
@pytest.mark.parametrize("chamber", [Chamber(1e-4, 2e-3, 0.0), Chamber(3e-4, 0.0, 1e-10)])
def test_a_chamber_is_filled_to_the_pressure_wanted(lower, target, chamber):
    y = cycles.surplus_at(boxed(lower), boxed(chamber), target)
    got, _, _ = pressure(boxed(lower.material), lower.reference_pressure, boxed(chamber), 0.0, y)
    assert got == pytest.approx(target, rel=1e-9)


def test_a_run_starts_at_rest_at_the_pressures_of_suction_and_outlet(lower):
    work, contact = Work(), contact_of((SEATED, SEATED), sides=9.0)
    work.y[:] = 5.0
    assert cycles.initialise(boxed(lower), contact, work.box)
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
    assert not cycles.initialise(boxed(p._replace(suction=suction)), contact_of(), Work().box)
    assert not cycles.initialise(boxed(p._replace(outlet_pressure=math.nan)), contact_of(), Work().box)
    soft = p.port._replace(compliance=math.nan)
    assert not cycles.initialise(boxed(p._replace(port=soft)), contact_of(), Work().box)


def test_the_change_of_a_cycle_is_the_largest_of_its_states(lower):
    """Contents over the swept volume, lifts over a hundredth of the seat's radius, the rest over their
    scales; the sums do not count."""
    c = control(lower)
    swept = lower.lower.area * STROKE
    sizes = [swept, 1e-4, swept, swept, 0.01 * 0.0105, 0.1, 0.01 * 0.008, 0.1]
    before = np.linspace(-1.0, 1.0, SIZE)
    assert march.change(boxed(lower), boxed(c), before, before) == 0.0
    for k in range(SIZE):
        after = before.copy()
        after[k] += -0.25 if k % 2 else 0.25
        expected = 0.25 / sizes[k] if k < STATES else 0.0
        assert march.change(boxed(lower), boxed(c), before, after) == pytest.approx(expected, rel=1e-12)
    assert march.change(boxed(lower), boxed(c), before, before + 0.25) == pytest.approx(
        0.25 / min(sizes), rel=1e-12
    )


def still(p):
    """The piston at rest and one pressure everywhere: nothing moves."""
    drive = moving_drive(0.0, (0.0, 0.002, 0.004))._replace(position=np.zeros(MOST_SEGMENTS))
    return p._replace(drive=drive, outlet_pressure=p.suction.pressure)


def test_a_lower_at_rest_repeats_itself_in_the_second_cycle(lower):
    p, work, contact = still(lower), Work(), contact_of((SEATED, SEATED))
    status, count, drift = cycles.run(boxed(p), boxed(control(p, cycles=9)), contact, work.box)
    assert (status, count) == (Status.OK, 2)
    assert drift <= 1e-9
    assert work.rows[1, 0] >= 1e-5 * PERIOD
    first = cycles.run(boxed(p), boxed(control(p, cycles=1)), contact_of((SEATED, SEATED)), work.box)
    assert first == (Status.NOT_PERIODIC, 1, math.inf)
    assert work.rows[1, 0] == pytest.approx(1e-5 * PERIOD, rel=1e-12)


def test_a_run_that_cannot_start_or_go_on_says_so(lower):
    p = lower._replace(outlet_pressure=math.nan)
    got = cycles.run(boxed(p), boxed(control(p)), contact_of((SEATED, SEATED)), Work().box)
    assert got == (Status.NOT_FINITE, 0, math.inf)
    c = control(lower, rows=3)
    got = cycles.run(boxed(lower), boxed(c), contact_of((SEATED, SEATED)), Work().box)
    assert got == (Status.TOO_MANY_STEPS, 1, math.inf)


def test_a_run_ends_with_the_first_cycle_that_changes_delivery_and_states_little_enough(lower):
    """Cycles of 4 ms that pump: changes of delivery over swept, and of states, cycle by cycle; with the
    tolerance just at those of the fourth the run ends there, a little below it goes on."""
    p = still(lower)._replace(outlet_pressure=1.2e5, drive=moving_drive(0.0, (0.0, 0.002, 0.004)))
    swept = p.lower.area * STROKE
    loose = control(p, rtol=1e-3, cycles=9, tolerance=0.0)
    work, contact = Work(), contact_of((SEATED, SEATED))
    cycles.initialise(boxed(p), contact, work.box)
    h, delivered, needed = 1e-5 * PERIOD, math.inf, []
    for _ in range(6):
        before = work.y.copy()
        h = run_cycle(p, loose, h, contact, work)
        drift = abs(work.y[DELIVERED] - delivered) / swept
        delivered = work.y[DELIVERED]
        needed.append(max(drift, march.change(boxed(p), boxed(loose), before, work.y) / 1000.0))
    best = int(np.argmin(needed[:5]))
    for tolerance, status in ((1.001 * needed[best], Status.OK), (0.999 * needed[best], Status.NOT_PERIODIC)):
        c = control(p, rtol=1e-3, cycles=best + 1, tolerance=tolerance)
        got = cycles.run(boxed(p), boxed(c), contact_of((SEATED, SEATED)), Work().box)
        assert got[:2] == (status, best + 1)
