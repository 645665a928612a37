"""What leaves a lower, stroke by stroke: lost travel, leaks past the packings, spray and its dips, delivery
and time of each stroke; of the cycle of nine rows in ``helpers/nine_rows.py``, by hand (docs/results.md)."""

import math
from dataclasses import replace

import numpy as np

from balltravel.core.events import Event
from balltravel.cycle.metrics import metrics_of

from ..helpers.nine_rows import TIME, approx, cycle, lost_travel


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


def test_the_pistons_speed_is_the_largest_either_way():
    assert metrics_of(cycle()).piston_speed == approx(0.6)
