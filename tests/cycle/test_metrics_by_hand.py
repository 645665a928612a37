"""Metrics of a cycle of nine rows, every one worked out by hand from its definition (docs/results.md).

The rows are in ``helpers/nine_rows.py``.
"""

from dataclasses import asdict, replace

import numpy as np
import pytest

from balltravel.core.contact import FREE, SEATED
from balltravel.core.events import Event
from balltravel.cycle.metrics import CheckMetrics, LossBudget, Metrics, describe, metrics_of

from ..helpers.nine_rows import (
    DRAWN,
    EVENTS,
    INLET_MODE,
    PASSED,
    PISTON_MODE,
    TIME,
    UNITS,
    approx,
    check_metrics,
    cycle,
    modes,
)


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
