"""Metrics of a cycle of nine rows, every one worked out by hand from its definition (docs/results.md).

A period of 8 s, a stroke of 2 m, a bore of 3 m2 and an annulus of 1 m2; the numbers are far from any pump,
so that each sum tells its parts.
"""

import math
from dataclasses import asdict, replace

import numpy as np
import pytest

from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.events import Event
from balltravel.cycle.metrics import CheckMetrics, LossBudget, Metrics, describe, metrics_of

from ..helpers.motions import motion

TIME = np.arange(9.0)
UNITS = ("1", "s", "s-1", "m", "m3", "m s-1", "m3 s-1", "Pa", "J")
DRAWN = np.array([0.0, -0.3, 1.0, 2.5, 4.0, 4.4, 4.2, 4.1, 4.0])
PASSED = np.array([0.0, -0.2, -0.5, -0.6, -0.65, 0.0, 1.0, 2.3, 2.2])
INLET_MODE = np.array([SEATED, FREE, FREE, ON_STOP, ON_STOP, FREE, FREE, SEATED, SEATED])
PISTON_MODE = np.array([FREE, FREE, FREE, SEATED, SEATED, SEATED, FREE, ON_STOP, FREE])
# Kind, check, time, value.
EVENTS = (
    (Event.RELEASED, 0, 0.9, 0.0),
    (Event.GAP_CROSSED, 0, 1.1, 0.9),
    (Event.BOUNCED_ON_STOP, 0, 2.8, 0.7),
    (Event.STOPPED, 0, 3.0, 0.6),
    (Event.SEATED, 0, 3.9, 5.0),
    (Event.SEATED, 0, 6.2, 5.0),
    (Event.GAP_CROSSED, 0, 6.8, -0.4),
    (Event.GAP_CROSSED, 0, 6.9, -0.2),
    (Event.SEATED, 0, 7.0, 5.0),
    (Event.SEATED, 1, 1.5, 5.0),
    (Event.SEATED, 1, 2.9, 5.0),
    (Event.GAP_CROSSED, 1, 2.7, -1.5),
    (Event.SEATED, 1, 4.5, 5.0),
    (Event.STOPPED, 1, 6.5, 1.2),
    (Event.BOUNCED_ON_STOP, 1, 6.4, 1.1),
    (Event.OUTFLOW_TURNED, 0, 0.5, -1.0),
    (Event.OUTFLOW_TURNED, 0, 1.0, 1.0),
    (Event.OUTFLOW_TURNED, 0, 1.5, 1.0),
    (Event.OUTFLOW_TURNED, 0, 4.5, 1.0),
    (Event.OUTFLOW_TURNED, 0, 6.0, -1.0),
    (Event.PRESSURE_CROSSED, 0, 1.0, 1.0),
    (Event.PRESSURE_CROSSED, 0, 4.2, -1.0),
    (Event.PRESSURE_CROSSED, 0, 5.25, 1.0),
    (Event.PRESSURE_CROSSED, 0, 6.0, 1.0),
)


def cycle(events=EVENTS, **other):
    """The cycle's motion; ``other`` replaces variables."""
    position = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 1.5, 1.0, 0.5, 0.0])
    delivered = np.array([0.0, 0.4, 0.9, 1.5, 2.0, 2.2, 2.6, 3.1, 3.7])
    variables = {
        "piston_position": position,
        "position_integral": position,
        "piston_speed": np.array([0.0, 0.5, 0.5, 0.5, 0.0, -0.5, -0.6, -0.5, 0.0]),
        "passed_volume": np.stack([DRAWN, PASSED], 1),
        "contact": np.stack([INLET_MODE, PISTON_MODE], 1).astype(float),
        "lift": np.stack(
            [[0, 0.1, 0.3, 0.5, 0.4, 0.3, 0.2, 0, 0], [0.7, 0.3, 0.1, 0, 0, 0, 0.2, 0.9, 0.8]], 1
        ),
        "delivered_volume": delivered,
        "line_volume": DRAWN + 0.25 * TIME,
        "port_surplus": 7.0 + 0.25 * TIME,
        "lower_surplus": 5.0 + DRAWN - PASSED - 3.0 * position,
        "upper_surplus": 6.0 + PASSED - delivered + 1.0 * position,
        "outlet_flow": np.array([1.0, -1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]),
        "lower_pressure": np.array([90.0, 80.0, 60.0, 65.0, 70.0, 75.0, 100.0, 200.0, 150.0]),
        "upper_pressure": np.array([210.0, 220.0, 230.0, 240.0, 250.0, 260.0, 270.0, 280.0, 290.0]),
        "port_pressure": np.array([95.0, 85.0, 71.0, 88.0, 90.0, 91.0, 92.0, 93.0, 94.0]),
        "void_volume": np.array([0.0, 0.0, 0.1, 0.2, 0.3, 0.1, 0.0, 0.0, 0.0]),
        "swept_volume": 6.0,
        "bore_area": 3.0,
        "annulus_area": 1.0,
        "stroke": 2.0,
        "period": 8.0,
        "top_dead_centre": 4.0,
        "barometric_pressure": 50.0,
        "vapour_pressure": 20.0,
        "moving_mass": np.array([2.0, 3.0]),
    }
    return motion(**{"time": TIME, "events": events, **variables, **other})


def check_metrics(data, check):
    """The inlet's (0) or the piston check's (1)."""
    found = metrics_of(data)
    return found.inlet if check == 0 else found.piston


def lost_travel(data):
    """In the upstroke and in the downstroke."""
    found = metrics_of(data)
    return found.lost_upstroke, found.lost_downstroke


def approx(expected):
    return pytest.approx(expected, rel=1e-12, abs=1e-13)


@pytest.mark.parametrize("check", [0, 1])
def test_a_cycle_twice_as_slow_has_times_twice_as_long_and_the_same_volumes(check):
    slow = cycle(
        tuple((kind, which, 2.0 * time, value) for kind, which, time, value in EVENTS),
        period=16.0,
        top_dead_centre=8.0,
    )
    one = asdict(check_metrics(cycle(), check))
    two = asdict(check_metrics(replace(slow, time=2.0 * TIME), check))
    for name in ("closing_lag", "ball_lag", "hydraulic_closing"):
        assert two.pop(name) == approx(2.0 * one.pop(name))
    assert two == one


def test_the_inlet_check_closes_after_top_dead_centre():
    """Last seating at 7 s, 3 s after the reversal; most drawn in at 5 s; backflow 0.2 + 0.1 while open, of
    which 99 % is through 0.97 of the second step; leak 0.3 before it opens, 0.1 after."""
    m = check_metrics(cycle(), 0)
    assert (m.closing_lag, m.ball_lag, m.flags) == (3.0, 2.0, ())
    assert m.closing_lag_stroke_fraction == approx(0.75)
    assert m.hydraulic_closing == approx(2.97)
    assert (m.backflow_volume, m.leak_volume) == approx((0.3, 0.4))
    assert (m.landing_speed, m.landing_energy) == approx((0.4, 0.16))
    assert (m.stop_landing_speed, m.peak_lift, m.lift_at_reversal) == approx((0.7, 0.5, 0.4))


def test_the_piston_check_closes_after_bottom_dead_centre_and_turns_before_it():
    """Last seating in the upstroke at 2.9 s; most passed 1 s before the reversal, taken from the cycle's
    end; backflow 0.1 there and 0.2 + 0.3 + 0.1 after, leak 0.05; 99 % of 0.7 is 0.093 of the last 0.1."""
    m = check_metrics(cycle(), 1)
    assert (m.closing_lag, m.flags) == (2.9, ())
    assert m.ball_lag == approx(3.9)
    assert m.closing_lag_stroke_fraction == approx(0.725)
    assert m.hydraulic_closing == approx(2.93)
    assert (m.backflow_volume, m.leak_volume) == approx((0.7, 0.05))
    assert (m.landing_speed, m.landing_energy) == approx((1.5, 3.375))
    assert (m.stop_landing_speed, m.peak_lift, m.lift_at_reversal) == approx((1.2, 0.9, 0.7))


def modes(inlet=INLET_MODE, piston=PISTON_MODE):
    return {"contact": np.stack([inlet, piston], 1).astype(float)}


def without(kind, check):
    """The events less those of a kind and a check."""
    return tuple(event for event in EVENTS if (event[0], event[1]) != (kind, check))


@pytest.mark.parametrize("check", [0, 1])
def test_a_ball_that_never_lifts_has_the_whole_stroke_as_its_lag(check):
    m = check_metrics(cycle(lift=np.zeros((9, 2))), check)
    assert (m.flags, m.closing_lag, m.ball_lag, m.peak_lift) == (("never_lifts",), 4.0, 4.0, 0.0)


def test_a_ball_on_its_seat_at_the_reversal_is_early():
    shut = np.where(TIME >= 4.0, SEATED, INLET_MODE)
    m = check_metrics(cycle(without(Event.SEATED, 0), **modes(inlet=shut)), 0)
    assert (m.flags, m.closing_lag, m.ball_lag, m.closing_lag_stroke_fraction) == (("early",), 0.0, 0.0, 0.0)
    shut = np.where(TIME <= 4.0, SEATED, PISTON_MODE)
    m = check_metrics(cycle(without(Event.SEATED, 1), **modes(piston=shut)), 1)
    assert (m.flags, m.closing_lag, m.ball_lag) == (("early",), 0.0, 0.0)


def test_a_ball_that_is_off_its_seat_at_the_end_or_at_the_reversal_never_seats():
    """Off at the end of the stroke though it was seated in it; off at the reversal without an arrival after
    it."""
    away = INLET_MODE.copy()
    away[-1] = FREE
    for data in (cycle(**modes(inlet=away)), cycle(without(Event.SEATED, 0))):
        m = check_metrics(data, 0)
        assert (m.flags, m.closing_lag, m.ball_lag) == (("never_seats",), 4.0, 4.0)
    away = PISTON_MODE.copy()
    away[4] = FREE
    m = check_metrics(cycle(**modes(piston=away)), 1)
    assert (m.flags, m.closing_lag, m.ball_lag) == (("never_seats",), 4.0, 4.0)
    early = np.where(TIME == 4.0, SEATED, away)
    assert check_metrics(cycle(without(Event.SEATED, 1), **modes(piston=early)), 1).flags == ("never_seats",)


@pytest.mark.parametrize(("time", "lag"), [(4.0, 0.0), (8.0, 4.0), (3.9, None), (8.1, None)])
def test_an_arrival_counts_from_the_reversal_to_the_end_of_its_stroke(time, lag):
    m = check_metrics(cycle((*without(Event.SEATED, 0), (Event.SEATED, 0, time, 1.0))), 0)
    assert m.flags == (() if lag is not None else ("never_seats",))
    assert m.closing_lag == (4.0 if lag is None else lag)


def test_a_seat_at_the_reversal_is_read_after_what_happens_there():
    """Two rows at 4 s, before and after the landing: the last one counts."""
    twice = np.sort(np.append(TIME, 4.0))
    rows = cycle(without(Event.SEATED, 0), **modes(inlet=np.where(TIME >= 5.0, SEATED, FREE)))
    doubled = {
        name: value[[0, 1, 2, 3, 4, 4, 5, 6, 7, 8]]
        for name, value in vars(rows).items()
        if not name.startswith("event") and np.shape(value)[:1] == TIME.shape
    }
    doubled["contact"][:, 0] = np.where(np.arange(10) >= 5, SEATED, FREE)
    data = replace(rows, **{**doubled, "time": twice})
    assert check_metrics(data, 0).flags == ("early",)


def test_without_backflow_there_is_no_hydraulic_closing_and_without_landing_no_speed():
    rising = np.stack([TIME, TIME], 1)
    data = cycle(((Event.RELEASED, 0, 1.0, 0.0),), passed_volume=rising)
    for check in (0, 1):
        m = check_metrics(data, check)
        assert (m.hydraulic_closing, m.backflow_volume, m.leak_volume) == (0.0, 0.0, 0.0)
        assert (m.landing_speed, m.landing_energy, m.stop_landing_speed) == (0.0, 0.0, 0.0)


def test_the_loss_budget_is_told_from_the_instant_of_most_drawn_in():
    """At 5 s: 0.5 m of 1.5 m again to go; 4.4 - 4.0 came back, 0.1 of it through the shut check; the piston
    check gave -0 of net passage, less what leaked through it shut (0.05)."""
    b = metrics_of(cycle()).loss_budget
    assert (b.swept, b.delivered) == approx((6.0, 3.7))
    assert b.underfill == approx(6.0 - 3.0 * 1.5)
    assert b.inlet_backflow == approx(0.4 - 0.1)
    assert b.piston_backflow == approx(0.0 - 0.05)
    assert b.leak == approx(0.05 + 0.1)
    lower_end, lower_then = 5.0 + 4.0 - 2.2, 5.0 + 4.4 - 0.0 - 4.5
    upper_end, upper_start = 6.0 + 2.2 - 3.7, 6.0
    assert b.compression_and_gas == approx(lower_end - lower_then + upper_end - upper_start)
    assert b.residual == approx(0.0)
    earlier = np.where(TIME == 3.0, 9.0, DRAWN)
    moved = metrics_of(cycle(passed_volume=np.stack([earlier, PASSED], 1))).loss_budget
    assert (moved.underfill, moved.inlet_backflow) == approx((6.0 - 4.5, 5.0 - 0.1))
    assert (moved.piston_backflow, moved.leak) == approx((0.6, 0.1))


def test_volumes_that_balance_leave_no_residual_and_each_error_is_seen():
    """Contents against flows at every row, over 6 m3 swept: the largest of the four, either sign."""
    assert metrics_of(cycle()).volume_residual == approx(0.0)
    for name in ("lower_surplus", "upper_surplus", "port_surplus"):
        for error in (0.3, -0.3):
            values = getattr(cycle(), name).copy()
            values[4] += error
            assert metrics_of(cycle(**{name: values})).volume_residual == approx(0.05)
    values = cycle().piston_position.copy()
    values[6] -= 0.2
    assert metrics_of(cycle(piston_position=values)).volume_residual == approx(0.1)


def delivered(*volumes):
    """Volumes delivered at the rows, one a second, at half a metre a second but at the reversals."""
    return cycle(delivered_volume=np.array(volumes))


def test_lost_travel_ends_where_least_has_been_delivered_in_the_stroke():
    """One second into the upstroke and two into the downstroke, at 0.5 m/s."""
    found = lost_travel(delivered(0.0, -0.1, 0.4, 1.0, 1.6, 1.4, 1.3, 1.9, 2.5))
    assert found == approx((0.5, 1.0))


def test_an_outlet_that_never_runs_backward_loses_no_travel():
    assert lost_travel(cycle()) == (0.0, 0.0)


def test_an_outlet_that_runs_backward_for_the_whole_stroke_loses_it():
    assert lost_travel(delivered(0.0, 0.5, 1.0, 1.5, 2.0, 1.5, 1.0, 0.5, 0.4)) == approx((0.0, 2.0))
    assert lost_travel(delivered(0.0, -0.5, -1.0, -1.5, -2.0, -1.5, -1.0, -0.5, 0.4)) == approx((2.0, 0.0))


def test_a_flow_that_passes_zero_by_a_hair_in_the_closing_ramp_means_nothing():
    """The sign changes there, and the event of it is marked; the volume hardly falls."""
    flickers = [(Event.OUTFLOW_TURNED, 0, 3.9, 1.0), (Event.OUTFLOW_TURNED, 0, 7.9, 1.0)]
    volumes = np.array([0.0, -0.1, 0.4, 1.0, 1.0 - 1e-9, 0.9, 1.3, 2.5, 2.5 - 1e-9])
    found = lost_travel(cycle(flickers, delivered_volume=volumes))
    assert found == approx((0.5, 0.5))


def test_the_cycle_in_numbers():
    """The inlet ball leaves its seat at the second row (80); least pressure 60, at 2 s."""
    m = metrics_of(cycle())
    assert (m.fill_fraction, m.fill_at_top_dead_centre) == approx((4.4 / 6.0, 4.0 / 6.0))
    assert (m.volumetric_efficiency, m.delivered_volume, m.delivered_flow) == approx(
        (3.7 / 6.0, 3.7, 3.7 / 8.0)
    )
    assert (m.lowest_chamber_pressure, m.lowest_pressure_at_pull_off) == (60.0, 80.0)
    assert (m.lowest_pressure_after, m.lowest_port_pressure, m.vapour_margin) == (60.0, 71.0, 40.0)
    assert (m.void_volume, m.void_collapse) == approx((0.3, 1.25))
    assert (m.lost_stroke, m.lost_upstroke, m.lost_downstroke) == approx((0.0, 0.0, 0.0))
    back = np.array([0.0, -0.1, 0.4, 1.0, 1.6, 1.4, 1.3, 1.9, 2.5])
    turned = metrics_of(cycle(delivered_volume=back))
    assert (turned.lost_stroke, turned.lost_upstroke, turned.lost_downstroke) == approx((1.0, 0.5, 1.0))
    assert (m.cycle_rate, m.outlet_pressure) == approx((1.0 / 8.0, 250.0))
    assert (m.packing_leak_volume, m.rod_leak_volume) == (0.0, 0.0)
    assert m.volume_residual == approx(0.0)
    pressed = cycle(lower_pressure=np.array([50.0, 80.0, 90.0, 65.0, 70.0, 75.0, 100.0, 200.0, 150.0]))
    m = metrics_of(pressed)
    assert (m.lowest_chamber_pressure, m.lowest_pressure_at_pull_off, m.lowest_pressure_after) == (
        50.0,
        50.0,
        65.0,
    )


def test_a_check_that_never_opens_has_its_lowest_pressures_over_the_whole_cycle_and_at_its_end():
    m = metrics_of(cycle(**modes(inlet=np.zeros(9))))
    assert (m.lowest_pressure_at_pull_off, m.lowest_pressure_after) == (60.0, 150.0)


@pytest.mark.parametrize(("void", "events", "collapse"), [
    (0.0, EVENTS, 0.0),
    (5.9e-6, EVENTS, 0.0),
    (6.1e-6, EVENTS, 1.25),
    (0.3, without(Event.PRESSURE_CROSSED, 0), 4.0),
    (0.3, ((Event.PRESSURE_CROSSED, 0, 4.0, 1.0), (Event.PRESSURE_CROSSED, 0, 5.0, 1.0)), 0.0),
    (0.3, ((Event.PRESSURE_CROSSED, 0, 3.9, 1.0), (Event.PRESSURE_CROSSED, 0, 5.0, -1.0)), 4.0),
])  # fmt: skip
def test_a_void_collapses_when_the_atmosphere_is_reached_again(void, events, collapse):
    """From top dead centre; a millionth of the swept volume is no void; one that stays takes the whole
    stroke."""
    values = np.array([0.0, 0.0, 0.1, 0.2, void, 0.1, 0.0, 0.0, 0.0])
    assert metrics_of(cycle(events, void_volume=values)).void_collapse == approx(collapse)


def test_every_number_has_a_dotted_name_a_unit_and_a_meaning():
    m = metrics_of(cycle())
    flat = m.flat()
    assert flat["fill_fraction"] == m.fill_fraction
    assert flat["inlet.closing_lag"] == 3.0
    assert flat["piston.closing_lag"] == 2.9
    assert flat["loss_budget.leak"] == m.loss_budget.leak
    assert not [name for name in flat if "flags" in name]
    counts = [len(kind.__dataclass_fields__) for kind in (Metrics, CheckMetrics, LossBudget)]
    assert len(flat) == counts[0] - 3 + 2 * (counts[1] - 1) + counts[2]
    assert all(isinstance(value, float) for value in flat.values())
    assert all(describe(name)[0] in UNITS for name in flat)
    assert describe("lost_stroke") == ("m", "the longer of lost up- and downstroke")
    assert describe("piston.peak_lift") == ("m", "largest lift in the cycle (piston check)")
    assert describe("loss_budget.inlet_backflow") == ("m3", "loss budget: inlet backflow")


def test_no_closing_lag_is_read_without_the_void_that_it_includes():
    """The table is in the order of the fields: the void's closing, the closing lag, the ball lag. Each says
    so, in words that fit a line of 100 columns."""
    names = list(metrics_of(cycle()).flat())
    at = names.index("void_collapse")
    assert names[at : at + 3] == ["void_collapse", "inlet.closing_lag", "inlet.ball_lag"]
    assert "void included" in describe("inlet.closing_lag")[1]
    assert "slow closing" in describe("inlet.ball_lag")[1]
    own = [describe(name)[1].removesuffix(" (inlet check)").removesuffix(" (piston check)") for name in names]
    assert max(map(len, own)) <= 45


def leaky():
    """Past the piston packing 0.05 m3 a second in the upstroke and back again, past the rod's 0.02."""
    past, out = 0.05 * np.minimum(TIME, 8.0 - TIME), 0.02 * TIME
    rows = cycle()
    return cycle(
        packing_volume=past,
        rod_volume=out,
        lower_surplus=rows.lower_surplus + past,
        upper_surplus=rows.upper_surplus - past - out,
    )


def test_what_leaks_past_the_packings_is_leak_until_most_is_drawn_in_and_past_the_rod_always():
    """Until 5 s, when most has been drawn in, 0.15 came down past the piston; 0.16 left past the rod."""
    tight, worn = metrics_of(cycle()).loss_budget, metrics_of(leaky()).loss_budget
    assert worn.leak - tight.leak == approx(0.15 + 0.16)
    assert worn.compression_and_gas - tight.compression_and_gas == approx(-0.15 - 0.16)
    assert worn.residual == approx(0.0)
    assert metrics_of(leaky()).volume_residual == approx(0.0)
    m = metrics_of(leaky())
    assert (m.packing_leak_volume, m.rod_leak_volume) == approx((0.0, 0.16))
    forgotten = replace(leaky(), packing_volume=cycle().packing_volume)
    assert metrics_of(forgotten).volume_residual == approx(0.05 * 4.0 / 6.0)


def test_the_spray_is_the_mean_before_the_tip_and_its_dip_over_the_mean_gauge_pressure():
    """Nothing without a tip. With one: 150 but for a dip to 70 at 3 s, which the rows make a triangle of 2 s:
    mean 150 - 80/8, and (140 - 70)/(140 - 50)."""
    none = metrics_of(cycle())
    assert math.isnan(none.spray_pressure)
    assert math.isnan(none.pressure_dip)
    before_tip = np.where(TIME == 3.0, 70.0, 150.0)
    m = metrics_of(cycle(tip_pressure=before_tip))
    assert (m.spray_pressure, m.pressure_dip) == approx((140.0, 70.0 / 90.0))


def test_each_reversal_has_its_dip_from_mid_stroke_to_mid_stroke():
    """About the top (4 s) from 2 s to 6 s, about the bottom before and after: dips to 90 at 5 s and to 70 at
    7 s make the mean 150 - (60 + 80)/8. Without a tip there is none."""
    none = metrics_of(cycle())
    assert math.isnan(none.dip_at_top)
    assert math.isnan(none.dip_at_bottom)
    before_tip = np.where(TIME == 5.0, 90.0, np.where(TIME == 7.0, 70.0, 150.0))
    m = metrics_of(cycle(tip_pressure=before_tip))
    assert (m.dip_at_top, m.dip_at_bottom) == approx((42.5 / 82.5, 62.5 / 82.5))
    assert m.pressure_dip == max(m.dip_at_top, m.dip_at_bottom)
    early = metrics_of(cycle(tip_pressure=np.where(TIME == 1.0, 90.0, 150.0)))
    assert early.dip_at_top < 0.0 < early.dip_at_bottom


def test_strokes_have_their_own_delivery_and_time_and_the_upstroke_its_mean_pressure_at_the_inlet():
    """To the top at 4 s 2.0 of 3.7; the mean of 95, 85, 71, 88, 90 by trapezes is 84.125, less 50 outside.
    With the top at 3 s: 1.5 of 3.7, and 5 s down."""
    m = metrics_of(cycle())
    assert (m.delivered_upstroke, m.delivered_downstroke) == approx((2.0, 1.7))
    assert (m.upstroke_time, m.downstroke_time) == approx((4.0, 4.0))
    assert m.inlet_gauge_pressure == approx(84.125 - 50.0)
    early = metrics_of(cycle(top_dead_centre=3.0))
    assert (early.delivered_upstroke, early.delivered_downstroke) == approx((1.5, 2.2))
    assert (early.upstroke_time, early.downstroke_time) == approx((3.0, 5.0))
    assert early.inlet_gauge_pressure == approx((95 / 2 + 85 + 71 + 88 / 2) / 3 - 50.0)


def test_the_reversal_at_the_top_is_where_it_is_and_not_half_of_the_period():
    """A downstroke of 5 s: the inlet ball is home 4 s after the reversal at 3 s, the most was drawn in 2 s
    after it; the void is that at 3 s, and closes at 5.25 s."""
    early = cycle(top_dead_centre=3.0)
    m = check_metrics(early, 0)
    assert (m.closing_lag, m.lift_at_reversal) == approx((4.0, 0.5))
    whole = metrics_of(early)
    assert (whole.fill_at_top_dead_centre, whole.void_volume) == approx((2.5 / 6.0, 0.2))
    assert whole.void_collapse == approx(2.25)


@pytest.mark.parametrize("of", [lambda m: m, lambda m: m.inlet, lambda m: m.loss_budget])
def test_metrics_cannot_be_changed(of):
    m = of(metrics_of(cycle()))
    name = next(iter(m.__dataclass_fields__))
    with pytest.raises(AttributeError):
        setattr(m, name, 0.0)


def test_the_pistons_speed_is_the_largest_either_way():
    assert metrics_of(cycle()).piston_speed == approx(0.6)
