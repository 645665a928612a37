"""Guards, modes and the event list (M7): every rule on numbers chosen by hand."""

import math

import pytest

from balltravel.core import events
from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.events import FLOW, GAP, HIGH, LOW, OUTFLOW, PRESSURE, TRIP, Event
from balltravel.core.model import INLET_LIFT, INLET_SPEED, PISTON_LIFT, PISTON_SPEED, Moment
from balltravel.core.parameters import HYDRAULIC, Motor
from balltravel.core.workspace import GUARDS, MOST_EVENTS, make_contact

from ..helpers.boxes import Work, boxed, with_viscosity
from ..helpers.lowers_by_hand import steady_drive

PERIOD, STROKE = 2.0, 0.09


@pytest.fixture(scope="module")
def lower(make_lower):
    p = make_lower(steady_drive(PERIOD, STROKE), 5.0)
    return p._replace(piston=p.piston._replace(travel=0.004, landing_gap=3e-4))


def contact_of(modes=(FREE, FREE), armed=(1, 1), sides=1.0):
    contact = boxed(make_contact())
    contact.mode[:], contact.armed[:], contact.side[:] = modes, armed, sides
    return contact


def work_at(inlet=(0.0, 0.0), piston=(0.0, 0.0)):
    work = Work()
    work.y[[INLET_LIFT, INLET_SPEED]], work.y[[PISTON_LIFT, PISTON_SPEED]] = inlet, piston
    return work


def now(**values):
    """A moment with some of its numbers; ``forces`` and ``flows`` of both checks."""
    n = boxed(Moment())
    n.inlet.force, n.piston.force = values.pop("forces", (0.0, 0.0))
    n.inlet.law.flow, n.piston.law.flow = values.pop("flows", (0.0, 0.0))
    for name, value in values.items():
        setattr(n, name, value)
    return n


def guards_of(p, n, work, contact):
    out = work.guard
    out[:] = math.nan
    events.guards(boxed(p), n, work.y, contact, out)
    return out


def listed(work):
    """Kind, check, time and value of what was logged."""
    return [tuple(row) for row in work.events[: int(work.number[1])]]


def test_every_guard_has_its_own_place():
    places = [LOW, LOW + 1, HIGH, HIGH + 1, FLOW, FLOW + 1, OUTFLOW, PRESSURE, GAP, GAP + 1, TRIP]
    assert sorted(places) == list(range(GUARDS))
    assert events.FIRST_MONITOR == 4
    assert [e.value for e in Event] == list(range(10))
    assert (Event.SEATED, Event.RELEASED, Event.BOUNCED_ON_STOP, Event.GAP_CROSSED) == (0, 2, 5, 9)


def test_a_free_ball_is_watched_for_its_distances_from_seat_and_stop(lower):
    """Both a hair (1e-13 seat radii) beyond contact, so that a ball that lies on its seat is not past it."""
    work = work_at((0.001, 0.0), (0.0015, 0.0))
    g = guards_of(lower, now(), work, contact_of())
    assert g[LOW] - 0.001 == pytest.approx(1e-13 * 0.0105, rel=0.2, abs=0.0)
    assert (g[LOW + 1], g[HIGH], g[HIGH + 1]) == pytest.approx((0.0015, 0.004, 0.0025), rel=1e-9)
    at = guards_of(lower, now(), work_at((0.0, 0.0), (0.004, 0.0)), contact_of())
    assert at[LOW] == pytest.approx(1e-13 * 0.0105, rel=1e-9, abs=0.0)
    assert at[HIGH + 1] == pytest.approx(1e-13 * 0.008, rel=1e-9, abs=0.0)
    assert (g[GAP], g[GAP + 1]) == pytest.approx((0.001 - 1.05e-4, 0.0015 - 3e-4), rel=1e-9)


@pytest.mark.parametrize(("mode", "holds"), [(SEATED, -1.0), (ON_STOP, 1.0)])
def test_a_resting_ball_is_watched_for_the_force_that_takes_it_off(lower, mode, holds):
    """Armed: the force that holds it; not armed: the force that does not. No upper guard."""
    n = now(forces=(3.0, -7.0))
    g = guards_of(lower, n, work_at(), contact_of((mode, mode), (1, 1)))
    assert (g[LOW], g[LOW + 1]) == (3.0 * holds, -7.0 * holds)
    assert (g[HIGH], g[HIGH + 1]) == (1.0, 1.0)
    g = guards_of(lower, n, work_at(), contact_of((mode, mode), (0, 0)))
    assert (g[LOW], g[LOW + 1]) == (-3.0 * holds, 7.0 * holds)


def test_flows_and_pressure_are_watched_beyond_a_band(lower):
    """A millionth of the mean flow, 1e-4 of the atmosphere; a shut check's flow is not watched."""
    band = 1e-6 * lower.lower.area * STROKE / PERIOD
    n = now(flows=(2e-5, -3e-5), outflow=4e-5, lower=5e4)
    g = guards_of(lower, n, work_at(), contact_of((FREE, ON_STOP), (1, 1), 1.0))
    assert (g[FLOW] - 2e-5, g[FLOW + 1] + 3e-5, g[OUTFLOW] - 4e-5) == pytest.approx(
        (band, band, band), rel=1e-4
    )
    assert g[PRESSURE] == pytest.approx(5e4 - 101325.0 * (1.0 - 1e-4), rel=1e-12)
    g = guards_of(lower, n, work_at(), contact_of((SEATED, ON_STOP), (1, 1), -1.0))
    assert g[FLOW] == 1.0
    assert (g[FLOW + 1] + 3e-5, g[OUTFLOW] - 4e-5) == pytest.approx((-band, -band), rel=1e-4)
    assert g[PRESSURE] == pytest.approx(5e4 - 101325.0 * (1.0 + 1e-4), rel=1e-12)


@pytest.mark.parametrize(("up", "left"), [(1.0, STROKE - 0.07), (-1.0, 0.07)])
def test_a_driven_piston_is_watched_for_its_way_to_the_brake_and_a_held_one_for_what_holds_it(
    lower, up, left
):
    """It brakes where the way left is what half a ramp at its speed makes, a twentieth of the stroke at most;
    away from the end it needs none. Held, it is free when the balance of forces has its motor's direction:
    by what is missing, over the motor's force at its stall, in strokes. With neither there is nothing to
    watch."""
    p = lower._replace(motor=Motor(HYDRAULIC, 0.027, 7e5, 0.2, 5.0, 0.0, 0.03, 0.04))
    for speed, braking in ((0.1, 0.5 * 0.03 * 0.1), (9.0, 0.05 * STROKE), (-0.1, 0.0)):
        n = now(driven=1.0, up=up, x=0.07, v=up * speed)
        assert guards_of(p, n, work_at(), contact_of())[TRIP] == pytest.approx(left - braking, rel=1e-12)
    for balance in (3.0, -3.0):
        n = now(held=1.0, up=up, balance=balance)
        assert guards_of(p, n, work_at(), contact_of())[TRIP] == pytest.approx(
            -up * balance * 5.0 / (0.027 * (7e5 - 101325.0)) * STROKE, rel=1e-12
        )
    assert guards_of(p, now(up=up, balance=3.0), work_at(), contact_of())[TRIP] == 1.0


def test_sides_are_the_signs_of_the_monitors_and_plus_for_contacts():
    work = Work()
    work.guard[:] = -1.0
    work.guard[[FLOW + 1, PRESSURE]] = 0.0, 2.0
    side = contact_of(sides=0.0).side
    events.reset_sides(work.guard, side)
    assert list(side) == [1.0, 1.0, 1.0, 1.0, -1.0, 1.0, -1.0, 1.0, -1.0, -1.0, 1.0]


def test_a_guard_is_past_when_its_sign_is_the_other_and_not_at_zero():
    work, side = Work(), contact_of(sides=1.0).side
    side[OUTFLOW] = -1.0
    work.guard[:] = 0.0
    assert not events.triggered(work.guard, side)
    for k in range(GUARDS):
        work.guard[:] = side
        assert not events.triggered(work.guard, side)
        work.guard[k] = -1e-9 * side[k]
        assert events.triggered(work.guard, side)


def test_each_guard_is_met_within_its_own_tolerance(lower):
    """1e-10 of the travel, 1e-9 of the mean flow and of the atmosphere on the seat, 1e-11 of the stroke, 1e-6
    of the atmosphere."""
    work = Work()
    work.tolerance[:] = math.nan
    events.set_tolerances(boxed(lower), contact_of((FREE, ON_STOP)), work.tolerance)
    flow = 1e-9 * lower.lower.area * STROKE / PERIOD
    force = 1e-9 * math.pi * 0.008**2 * 101325.0
    assert list(work.tolerance) == pytest.approx(
        [5e-13, force, 5e-13, 4e-13, flow, flow, flow, 0.101325, 5e-13, 4e-13, 1e-11 * STROKE],
        rel=1e-12,
        abs=0.0,
    )


def test_a_longer_cycle_has_a_smaller_mean_flow_and_its_tolerance(lower):
    work = Work()
    p = lower._replace(drive=lower.drive._replace(period=2.0 * PERIOD))
    events.set_tolerances(boxed(p), contact_of(), work.tolerance)
    flow = 1e-9 * lower.lower.area * STROKE / (2.0 * PERIOD)
    assert list(work.tolerance[[FLOW, FLOW + 1, OUTFLOW]]) == pytest.approx(3 * [flow], rel=1e-12, abs=0.0)


def test_each_checks_flow_has_the_band_of_its_own_side(lower):
    contact, n = contact_of(), now()
    sides = contact.side
    sides[:] = 1.0
    out = guards_of(lower, n, work_at((0.001, 0.0), (0.001, 0.0)), contact).copy()
    sides[FLOW + 1] = -1.0
    other = guards_of(lower, n, work_at((0.001, 0.0), (0.001, 0.0)), contact)
    assert other[FLOW] == out[FLOW]
    band = 1e-6 * lower.lower.area * STROKE / PERIOD
    assert out[FLOW + 1] - other[FLOW + 1] == pytest.approx(2.0 * band, rel=1e-9, abs=0.0)


def test_the_event_list_takes_as_many_as_it_holds_and_counts_on():
    work = Work()
    events.log_event(work.box, Event.PULLED_OFF.value, 1, 0.25, 7.0)
    events.log_event(work.box, Event.STOPPED.value, 0, 0.5, 8.0)
    assert listed(work) == [(3.0, 1.0, 0.25, 7.0), (1.0, 0.0, 0.5, 8.0)]
    work.number[1] = MOST_EVENTS - 1
    events.log_event(work.box, 6, 1, 0.75, 9.0)
    events.log_event(work.box, 7, 1, 0.8, 10.0)
    assert work.number[1] == MOST_EVENTS + 1
    assert tuple(work.events[-1]) == (6.0, 1.0, 0.75, 9.0)
    assert work.number[0] == 0


@pytest.mark.parametrize(
    ("mode", "net", "armed"),
    [
        (SEATED, -1.0, 1),
        (SEATED, 0.0, 1),
        (SEATED, 1.0, 0),
        (ON_STOP, -1.0, 0),
        (ON_STOP, 0.0, 1),
        (ON_STOP, 1.0, 1),
    ],
)
def test_a_ball_at_rest_is_armed_if_the_force_holds_it_and_held_for_a_while(mode, net, armed):
    contact = contact_of(armed=(7, 7))
    events.rest(contact, 1, mode, net, 0.3, PERIOD)
    assert (list(contact.mode), list(contact.armed)) == ([FREE, mode], [7, armed])
    assert list(contact.hold) == pytest.approx([0.0, 0.3 + 5e-5 * PERIOD], rel=1e-12)


@pytest.mark.parametrize("k", [0, 1])
@pytest.mark.parametrize("high", [False, True])
def test_a_slow_ball_comes_to_rest_where_it_lands(lower, k, high):
    """At exactly 0 or the travel, without speed; listed with the speed it came with."""
    travel, speed = (lower.inlet.travel, lower.piston.travel)[k], 0.02 if high else -0.02
    ball = (travel + 1e-6, speed) if high else (-1e-6, speed)
    work = work_at(*((ball, (0.001, 0.5)) if k == 0 else ((0.001, 0.5), ball)))
    contact = contact_of(sides=-1.0)
    n = now(forces=(2.0, -2.0))
    events.land(boxed(lower), n, contact, work.box, k, high, 0.7)
    z, w = INLET_LIFT + 2 * k, INLET_SPEED + 2 * k
    assert (work.y[z], work.y[w]) == (travel if high else 0.0, 0.0)
    assert (work.y[INLET_LIFT + 2 * (1 - k)], work.y[INLET_SPEED + 2 * (1 - k)]) == (0.001, 0.5)
    assert contact.mode[k] == (ON_STOP if high else SEATED)
    assert contact.mode[1 - k] == FREE
    assert contact.armed[k] == int((k == 0) == high)
    assert contact.hold[k] == pytest.approx(0.7 + 5e-5 * PERIOD, rel=1e-12)
    assert contact.side[FLOW + k] == (-1.0 if high else 1.0)
    assert contact.side[FLOW + 1 - k] == -1.0
    kind = Event.STOPPED if high else Event.SEATED
    assert listed(work) == [(kind, k, 0.7, 0.02)]


@pytest.mark.parametrize("k", [0, 1])
@pytest.mark.parametrize("high", [False, True])
def test_a_fast_ball_in_thin_liquid_bounces(lower, k, high):
    """The way it came from, at the restitution of its Stokes number; it stays free."""
    thin = with_viscosity(lower, 1e-3)
    check = (thin.inlet, thin.piston)[k]
    speed = 0.5 if high else -0.5
    work = work_at(*(((0.0, speed), (0.0, 0.0)) if k == 0 else ((0.0, 0.0), (0.0, speed))))
    contact = contact_of()
    events.land(boxed(thin), now(), contact, work.box, k, high, 0.7)
    stokes = (check.ball_mass + check.added_mass) * 0.5 / (6.0 * math.pi * 1e-3 * check.ball_radius**2)
    back = 0.5 * 0.97 * math.exp(-35.0 / stokes)
    assert work.y[INLET_SPEED + 2 * k] == pytest.approx(-back if high else back, rel=1e-9)
    assert work.y[INLET_LIFT + 2 * k] == (check.travel if high else 0.0)
    assert list(contact.mode) == [FREE, FREE]
    assert listed(work) == [(Event.BOUNCED_ON_STOP if high else Event.BOUNCED_ON_SEAT, k, 0.7, 0.5)]


@pytest.mark.parametrize(
    ("mode", "kind", "side"), [(SEATED, Event.RELEASED, 1.0), (ON_STOP, Event.PULLED_OFF, -1.0)]
)
def test_a_ball_leaves_its_seat_or_stop(mode, kind, side):
    """The flow past a ball that has just left its seat is looked for on its falling branch."""
    contact, work = contact_of((SEATED, mode), sides=-1.0), Work()
    events.let_go(contact, work.box, 1, 0.4)
    assert list(contact.mode) == [SEATED, FREE]
    assert (contact.side[FLOW], contact.side[FLOW + 1]) == (-1.0, side)
    assert listed(work) == [(kind, 1.0, 0.4, 0.0)]


def test_a_contact_guard_lands_releases_or_arms(lower):
    p = boxed(lower)
    for guard, k, place in ((LOW, 0, 0.0), (LOW + 1, 1, 0.0), (HIGH, 0, 0.005), (HIGH + 1, 1, 0.004)):
        contact, work = contact_of(), work_at((0.001, 0.001), (0.001, 0.001))
        events.contact_event(p, now(), contact, work.box, guard, 0.1)
        assert work.y[INLET_LIFT + 2 * k] == place
        assert contact.mode[1 - k] == FREE
        contact = contact_of((ON_STOP, ON_STOP), (1, 1))
        events.contact_event(p, now(), contact, work.box, guard, 0.1)
        assert (contact.mode[k], contact.mode[1 - k]) == (FREE, ON_STOP)
        contact = contact_of((ON_STOP, ON_STOP), (0, 0))
        events.contact_event(p, now(), contact, work.box, guard, 0.1)
        assert (contact.armed[k], contact.armed[1 - k]) == (1, 0)
        assert list(contact.mode) == [ON_STOP, ON_STOP]


@pytest.mark.parametrize(
    ("guard", "expected"),
    [
        (FLOW, (Event.FLOW_TURNED, 0, 1.0)),
        (FLOW + 1, (Event.FLOW_TURNED, 1, 1.0)),
        (OUTFLOW, (Event.OUTFLOW_TURNED, 0, 1.0)),
        (PRESSURE, (Event.PRESSURE_CROSSED, 0, 1.0)),
        (GAP, (Event.GAP_CROSSED, 0, -0.3)),
        (GAP + 1, (Event.GAP_CROSSED, 1, 0.6)),
    ],
)
def test_a_monitor_marks_the_instant_with_its_new_sign_or_the_balls_speed(guard, expected):
    contact, work = contact_of(sides=-1.0), work_at((0.0, -0.3), (0.0, 0.6))
    events.monitor_event(contact, work.box, guard, 0.2)
    kind, check, value = expected
    assert listed(work) == [(kind, check, 0.2, value)]
    assert contact.side[guard] == 1.0
    assert contact.side.sum() == 2.0 - GUARDS
