"""The kernels that measure a cycle at their edges; the definitions by hand are in ``tests/cycle``."""

import math
from dataclasses import replace

import numpy as np
import pytest

from balltravel.core import check_measures, measures
from balltravel.core.check_measures import CHECK_MEASURES, EARLY, NEVER_LIFTS, NEVER_SEATS, NONE
from balltravel.core.contact import FREE, SEATED
from balltravel.core.events import Event
from balltravel.core.measures import INLET, LOSS_BUDGET, MEASURES, PISTON, measure
from balltravel.core.readings import (
    Sizes,
    backward,
    mean_of,
    row_at,
    row_of_least,
    row_of_most,
    sizes_of,
    value_at,
)
from balltravel.core.recording import COLUMNS, EVENT_COLUMNS
from balltravel.core.records import as_record
from balltravel.cycle.metrics import metric_names, metrics_from
from balltravel.sweeps.columns import FLAGS

from ..helpers.lowers import lower

PERIOD, TOP = 8.0, 4.0
SIZES = Sizes(6.0, 3.0, 1.0, 2.0, PERIOD, TOP, 50.0, 20.0, 2.0, 3.0)
"""Swept volume, bore, annulus, stroke, period, top dead centre, barometric and vapour pressure, masses."""

HOME = {"inlet": (Event.SEATED, 0, 6.0, 0.1), "piston": (Event.SEATED, 1, 2.0, 0.1)}


def cycle(time=range(9), **columns):
    """Rows of a cycle in which both balls lift and end their strokes seated, but for the columns given."""
    time = np.array(time, dtype=float)
    rows = np.zeros((time.size, len(COLUMNS)))
    usual = {
        "time": time,
        "piston_position": np.where(time < TOP, 0.5 * time, 0.5 * (PERIOD - time)),
        "inlet_lift": np.full(time.size, 0.1), "piston_lift": np.full(time.size, 0.1),
        "inlet_mode": np.where((time > 0.0) & (time < 6.0), FREE, SEATED),
        "piston_mode": np.where((time < 2.0) | (time > TOP), FREE, SEATED),
    }  # fmt: skip
    for name, values in (usual | columns).items():
        rows[:, COLUMNS.index(name)] = values
    return rows


def measured(rows, events=(), sizes=SIZES, count=None, marked=None):
    """The metrics of rows and events, and the flags as numbers."""
    events = np.array(list(events), dtype=float).reshape(-1, EVENT_COLUMNS)
    out, flags = np.full(MEASURES, -77.0), np.full(2, -7, np.int64)
    count, marked = count or len(rows), len(events) if marked is None else marked
    measure(as_record(sizes), rows, count, events, marked, out, flags)
    assert not (out == -77.0).any()
    return metrics_from(out, flags), flags.tolist()


def test_every_number_of_the_vector_has_its_name_and_every_name_its_place():
    expected = {name: getattr(measures, name.upper()) for name in metric_names()[:INLET]}
    for check, first in (("inlet", INLET), ("piston", PISTON)):
        for name in metric_names()[INLET : INLET + CHECK_MEASURES]:
            part = name.removeprefix("inlet.")
            expected[f"{check}.{part}"] = first + getattr(check_measures, part.upper())
    for name in metric_names()[LOSS_BUDGET:]:
        part = name.removeprefix("loss_budget.")
        place = "BUDGET_DELIVERED" if part == "delivered" else part.upper()
        expected[name] = getattr(measures, place)
    assert list(expected) == list(metric_names())
    assert list(expected.values()) == list(range(MEASURES))


def test_numbers_and_flags_become_metrics_by_their_names():
    found = metrics_from(np.arange(float(MEASURES)), np.array([EARLY, NONE]))
    assert list(found.flat().values()) == list(range(MEASURES))
    assert (found.inlet.flags, found.piston.flags) == (("early",), ())


def test_flags_are_numbered_as_in_a_sweeps_columns():
    for number, name in enumerate(FLAGS[:4]):
        told = metrics_from(np.zeros(MEASURES), np.array([NONE, number])).piston.flags
        assert told == ((name,) if number else ())
    assert (NONE, EARLY, NEVER_SEATS, NEVER_LIFTS) == (0, 1, 2, 3)


def test_a_number_that_does_not_exist_makes_no_two_cycles_differ():
    """Spray pressure and dip without a tip are nan, which equals nothing, itself neither."""
    assert measured(cycle())[0] == measured(cycle())[0]
    assert math.isnan(measured(cycle())[0].spray_pressure)


def test_rows_and_events_beyond_the_count_are_not_looked_at():
    rows, events = cycle(drawn_volume=np.arange(9.0)), [HOME["inlet"], HOME["piston"]]
    more = np.concatenate([rows, np.full((3, len(COLUMNS)), 1e9)])
    left = [*events, (Event.SEATED, 0, 7.0, 9.0), (Event.GAP_CROSSED, 1, 1.0, -9.0)]
    assert measured(more, left, count=9, marked=2) == measured(rows, events)


def test_a_ball_that_comes_to_its_seat_has_no_flag():
    found, flags = measured(cycle(), HOME.values())
    assert flags == [NONE, NONE]
    assert (found.inlet.closing_lag, found.piston.closing_lag) == (2.0, 2.0)


def test_a_ball_that_never_lifts_is_told_so_though_it_sits_on_its_seat():
    still = {"inlet_lift": 0.0, "inlet_mode": SEATED}
    found, flags = measured(cycle(**still), HOME.values())
    assert flags == [NEVER_LIFTS, NONE]
    assert (found.inlet.closing_lag, found.inlet.ball_lag, found.inlet.peak_lift) == (4.0, 4.0, 0.0)
    assert found.inlet.closing_lag_stroke_fraction == 1.0


@pytest.mark.parametrize(("check", "place"), [("inlet", 0), ("piston", 1)])
def test_a_ball_that_is_off_its_seat_when_its_stroke_ends_never_seats(check, place):
    away = cycle(**{f"{check}_mode": FREE})
    found, flags = measured(away, HOME.values())
    assert flags[place] == NEVER_SEATS
    assert getattr(found, check).closing_lag == 4.0


@pytest.mark.parametrize(("check", "place"), [("inlet", 0), ("piston", 1)])
def test_a_ball_that_seats_before_the_reversal_and_stays_is_early(check, place):
    found, flags = measured(cycle(**{f"{check}_mode": SEATED}), ())
    assert flags[place] == EARLY
    lag = getattr(found, check)
    assert (lag.closing_lag, lag.ball_lag, lag.closing_lag_stroke_fraction) == (0.0, 0.0, 0.0)


def test_without_backflow_nothing_closes_and_nothing_comes_back():
    rising = np.arange(9.0)
    found, _ = measured(cycle(drawn_volume=rising, passed_volume=rising), HOME.values())
    for check in (found.inlet, found.piston):
        assert (check.hydraulic_closing, check.backflow_volume, check.leak_volume) == (0.0, 0.0, 0.0)
    assert (found.loss_budget.inlet_backflow, found.loss_budget.leak) == (0.0, 0.0)


def test_the_piston_check_reverses_where_the_cycle_begins_and_its_flow_may_turn_before():
    """Most has passed at 7 s, a second before the cycle ends: 1 s and the 2 s to its seat; 0.4 comes back in
    that second, 0.6 and 0.2 after the reversal; 99 % of 1.2 is all but 0.012 of the last."""
    passed = np.array([0.0, -0.6, -0.8, -0.8, -0.8, 0.0, 1.0, 2.0, 1.6])
    found, _ = measured(cycle(passed_volume=passed), HOME.values())
    assert found.piston.ball_lag == pytest.approx(3.0, rel=1e-12)
    assert found.piston.backflow_volume == pytest.approx(1.2, rel=1e-12)
    assert found.piston.hydraulic_closing == pytest.approx(1.0 + (0.2 - 0.012) / 0.2, rel=1e-12)


def test_both_rows_at_top_dead_centre_belong_to_both_strokes_of_the_piston_check():
    """At 4 s the ball is seated, then free: the stroke that ends there ends with the second; the one that
    begins there begins with the first, whose 3 m3 are the most that has passed, 4 s before the reversal (of
    the others 2.5 at 5 s would be)."""
    time = [0.0, 1.0, 2.0, 3.0, 4.0, 4.0, 5.0, 6.0, 7.0, 8.0]
    passed = [0.0, 0.0, 0.0, 0.0, 3.0, 2.0, 2.5, 2.2, 2.2, 2.2]
    shut = [FREE, FREE, SEATED, SEATED, FREE, SEATED, FREE, FREE, FREE, FREE]
    found, flags = measured(cycle(time, passed_volume=passed, piston_mode=shut), HOME.values())
    assert flags[1] == NONE
    assert found.piston.ball_lag == 6.0
    shut[4:6] = SEATED, FREE
    assert measured(cycle(time, piston_mode=shut), HOME.values())[1][1] == NEVER_SEATS


def test_a_top_dead_centre_between_two_rows_divides_them():
    """At 3.5 s: the rows up to 3 s are the upstroke's (its 9 m3 come after the seat), those from 4 s on the
    stroke's before, at whose first the most has passed, 4 s before the reversal, 6 s before the seat."""
    passed = [0.0, 0.0, 0.0, 9.0, 3.0, 2.8, 2.8, 2.8, 2.8]
    found, flags = measured(cycle(passed_volume=passed), HOME.values(), replace(SIZES, top=3.5))
    assert (flags[1], found.piston.ball_lag) == (NONE, 6.0)


@pytest.mark.parametrize(("value", "at", "collapse"), [(1.0, 5.5, 1.5), (-1.0, 5.5, 4.0), (1.0, 3.5, 4.0)])
def test_a_void_that_does_not_close_lasts_until_the_stroke_ends(value, at, collapse):
    """It closes with the first rise over atmospheric pressure after top dead centre."""
    rows = cycle(void_volume=np.where(np.arange(9.0) == TOP, 0.3, 0.0))
    crossed = [(Event.PRESSURE_CROSSED, 0, at, value)]
    assert measured(rows, crossed)[0].void_collapse == collapse


def test_a_tip_whose_pressure_dips_to_zero_is_not_taken_for_none():
    """A pressure before the tip that touches 0 is one; only 0 throughout stands for none."""
    before_tip = np.where(np.arange(9.0) == 3.0, 0.0, 160.0)
    found, _ = measured(cycle(tip_pressure=before_tip))
    assert found.spray_pressure == pytest.approx(140.0, rel=1e-12)
    assert found.pressure_dip == pytest.approx(140.0 / 90.0, rel=1e-12)


def table(*columns):
    return np.array(columns, dtype=float).T.copy()


def test_of_two_rows_at_one_time_the_second_is_read_and_before_and_after_all_the_first_and_last():
    rows = table([0.0, 1.0, 1.0, 3.0], [5.0, 6.0, 8.0, 12.0])
    for t, value in ((-1.0, 5.0), (0.0, 5.0), (0.5, 5.5), (1.0, 8.0), (2.0, 10.0), (3.0, 12.0), (9.0, 12.0)):
        assert value_at(rows, 4, 1, t) == value
    assert [row_at(rows, 4, t) for t in (-1.0, 0.0, 1.0, 2.9, 3.0)] == [0, 0, 2, 2, 3]


def test_a_mean_is_over_time_and_not_over_rows():
    """2 for one second, then up to 8 in three: (2 + 15)/4."""
    assert mean_of(table([0.0, 1.0, 4.0], [2.0, 2.0, 8.0]), 3, 1) == pytest.approx(17.0 / 4.0, rel=1e-15)


def test_of_equal_values_the_first_row_counts_within_the_rows_asked_for():
    rows = table([0.0, 1.0, 2.0, 3.0, 4.0], [9.0, 1.0, 7.0, 7.0, 1.0])
    assert row_of_most(rows, 1, 5, 1) == 2
    assert row_of_least(rows, 0, 5, 1) == 1
    assert row_of_least(rows, 2, 4, 1) == 2


def test_what_goes_backward_counts_by_how_the_check_stands_at_the_beginning_of_the_step():
    rows = table([0.0, 1.0, 2.0, 3.0, 4.0], [5.0, 4.0, 6.0, 3.0, 2.5], [SEATED, FREE, FREE, SEATED, FREE])
    assert backward(rows, 0, 4, 1, 2, True) == 1.5
    assert backward(rows, 0, 4, 1, 2, False) == 3.0
    assert backward(rows, 1, 3, 1, 2, True) == 0.0


def test_the_sizes_are_those_of_the_lower_and_of_the_clock_of_its_last_cycle():
    p, sizes = lower(), as_record(Sizes())
    clock = 10.0 + np.arange(p.drive.segments + 1)
    sizes_of(as_record(p), clock, sizes)
    bore, rod = math.pi * 0.048**2 / 4.0, math.pi * 0.034**2 / 4.0
    assert (sizes.bore, sizes.annulus) == pytest.approx((bore, bore - rod), rel=1e-12)
    assert (sizes.swept, sizes.stroke) == pytest.approx((bore * 0.09, 0.09), rel=1e-12)
    assert (sizes.period, sizes.top) == (clock[p.drive.segments], clock[p.drive.turn])
    assert (sizes.barometric, sizes.vapour) == (p.reference_pressure, p.material.vapour_pressure)
    assert sizes.inlet_mass == p.inlet.ball_mass + p.inlet.added_mass
    assert sizes.piston_mass == p.piston.ball_mass + p.piston.added_mass
    assert sizes.inlet_mass != sizes.piston_mass
