"""What a run does with the cycle's length, with errors near one and with changes of mode, by hand."""

import numpy as np
import pytest

from balltravel.core import integrate as core
from balltravel.core.contact import FREE, SEATED
from balltravel.core.events import FLOW, OUTFLOW, PRESSURE, Event
from balltravel.core.status import Status

from .boxes import Work, boxed
from .mid_stroke import contact_of, control, moving_drive, moving_lower, started


@pytest.fixture(scope="module")
def lower(make_lower):
    return moving_lower(make_lower)


def at_rest(p, period, times):
    """The piston at rest, one pressure everywhere, a cycle of a given length."""
    drive = moving_drive(0.0, times)._replace(position=np.zeros(12), period=period)
    return p._replace(drive=drive, outlet_pressure=p.suction.pressure)


@pytest.mark.parametrize("period", [0.5, 2.0])
def test_steps_are_shares_of_the_cycle_however_long_it_is(lower, period):
    """The first 1e-5 of it, the longest 5e-3."""
    p = at_rest(lower, period, (0.0, 0.031 * period, 0.04 * period))
    work, contact = Work(), contact_of((SEATED, SEATED))
    got = core.run(boxed(p), boxed(control(p, rtol=1e6, cycles=1)), contact, work.box)
    assert got[0] == Status.NOT_PERIODIC
    rows = work.rows[: int(work.number[0]), 0]
    assert rows[1] == pytest.approx(1e-5 * period, rel=1e-12)
    assert np.diff(rows[:-1]).max() == pytest.approx(5e-3 * period, rel=1e-12)


def test_a_cycle_without_events_lists_none(lower):
    p = at_rest(lower, 1.0, (0.0, 0.002, 0.004))
    work, contact = Work(), contact_of((SEATED, SEATED))
    assert core.initialise(boxed(p), contact, work.box)
    work.number[1] = 7
    assert core.run_cycle(boxed(p), boxed(control(p)), 1e-5, contact, work.box) > 0.0
    assert work.number[1] == 0


def test_the_row_at_the_period_is_of_the_last_segment(lower):
    """Two segments at 0.2 and -0.3 m/s: the piston is where the second has brought it."""
    drive = moving_drive(0.2, (0.0, 0.0004, 0.0006))
    speed, position = drive.speed.copy(), drive.position.copy()
    speed[1], position[1] = -0.3, 0.01 + 0.2 * 0.0004
    p = lower._replace(drive=drive._replace(speed=speed, position=position, period=0.0006))
    work, contact = started(p, t=0.0)
    assert core.run_cycle(boxed(p), boxed(control(p)), 1e-6, contact, work.box) > 0.0
    last = work.rows[int(work.number[0]) - 1]
    assert last[1] == pytest.approx(0.01 + 0.2 * 0.0004 - 0.3 * 0.0002, rel=1e-12)
    assert last[2] == -0.3


def test_an_error_between_one_and_two_is_too_large(lower):
    """The tolerance is set so that the same step errs by 1.5 or by 0.9."""
    h = 2e-5
    work, contact = started(lower)
    error = core.attempt(boxed(lower), boxed(control(lower, rtol=1.0)), 0, 0.001, h, contact, work.box)
    for asked, taken in ((1.5, False), (0.9, True)):
        work, contact = started(lower)
        c = control(lower, rtol=error / asked)
        step, _, _ = core.accepted_step(boxed(lower), boxed(c), 0, 0.001, 0.004, h, contact, work.box)
        assert (step == h) == taken


@pytest.mark.parametrize("guard", [FLOW, OUTFLOW, PRESSURE])
def test_a_monitor_that_the_piston_drives_is_met_where_a_fine_run_meets_it(lower, guard):
    """The piston moves: a guard taken at another instant than the state's is another number. The instant at
    which a flow turns or the chamber's pressure passes the atmosphere is that of a run at a thousandth of
    the tolerance."""
    p = lower._replace(outlet_pressure=1.02e5)
    found = []
    for rtol, h in ((1e-6, 2e-4), (1e-9, 2e-6)):
        work, contact = started(
            p, t=0.0, balls=(0.002, 0.0, 0.002, 0.0), pressures=(9.5e4, 1.015e5, 1.0195e5)
        )
        core.run_segment(boxed(p), boxed(control(p, rtol=rtol)), 0, h, contact, work.box)
        events = work.events[: int(work.number[1])]
        kind = {FLOW: Event.FLOW_TURNED, OUTFLOW: Event.OUTFLOW_TURNED, PRESSURE: Event.PRESSURE_CROSSED}
        found.append(events[events[:, 0] == kind[guard], 2])
    assert found[0].size == found[1].size > 0
    assert found[0] == pytest.approx(found[1], abs=2e-8)


@pytest.mark.parametrize("ball", ["inlet", "piston"])
def test_the_step_after_a_landing_of_either_ball_is_short(lower, ball):
    balls = {"inlet": (1e-6, -0.02, 0.002, 0.0), "piston": (0.002, 0.0, 1e-6, -0.02)}[ball]
    work, contact = started(lower, t=0.0, balls=balls)
    core.run_segment(boxed(lower), boxed(control(lower)), 0, 1e-5, contact, work.box)
    events = work.events[: int(work.number[1])]
    (landed,) = events[(events[:, 0] == Event.SEATED) & (events[:, 1] == (0, 1)[ball == "piston"]), 2][:1]
    rows = work.rows[: int(work.number[0]), 0]
    after = rows[rows > landed][0]
    assert after - landed == pytest.approx(1e-5 * lower.drive.period, rel=1e-9)


@pytest.mark.parametrize("modes", [(FREE, FREE), (FREE, SEATED), (SEATED, FREE)])
def test_the_step_after_a_mere_change_of_sign_is_not_shortened(lower, modes):
    """The outflow turns; no ball lands or leaves."""
    p = lower._replace(outlet_pressure=1.02e5)
    work, contact = started(p, t=0.0, pressures=(9.5e4, 9.4e4, 1.0195e5), modes=modes)
    core.run_segment(boxed(p), boxed(control(p, rtol=1e-3)), 0, 1e-5, contact, work.box)
    events = work.events[: int(work.number[1])]
    turned = events[events[:, 0] == Event.OUTFLOW_TURNED, 2][0]
    assert not ((events[:, 0] < Event.FLOW_TURNED) & (events[:, 2] <= turned)).any()
    rows = work.rows[: int(work.number[0]), 0]
    assert rows[rows > turned][0] - turned > 2e-5
