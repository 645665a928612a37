"""Metrics where a window, a share or a comparison meets its edge; the cycle of nine rows, changed."""

import numpy as np
import pytest

from balltravel.core.contact import FREE, SEATED
from balltravel.core.events import Event
from balltravel.cycle.metrics import metrics_of

from ..helpers.nine_rows import (
    DRAWN,
    EVENTS,
    INLET_MODE,
    PASSED,
    PISTON_MODE,
    check_metrics,
    cycle,
    lost_travel,
    modes,
)


def volumes(drawn=DRAWN, passed=PASSED):
    return {"passed_volume": np.stack([drawn, passed], 1)}


def seats(check, at):
    """The cycle's events with one landing of that check."""
    kept = [event for event in EVENTS if event[:2] != (Event.SEATED, check)]
    return (*kept, (Event.SEATED, check, at, 5.0))


def piston_ball_lag(passed, at):
    mode = PISTON_MODE.copy()
    mode[4] = SEATED
    return check_metrics(cycle(seats(1, at), **volumes(passed=passed), **modes(piston=mode)), 1).ball_lag


def test_the_piston_checks_window_begins_with_the_row_at_top_dead_centre():
    """Nothing but backflow from there on: the flow turned at -4 s, seated at 1.5 s."""
    passed = np.array([0.0, -0.1, -0.2, -0.3, 3.0, 2.5, 2.0, 1.5, 1.0])
    assert piston_ball_lag(passed, 1.5) == pytest.approx(5.5)


def test_no_row_of_the_first_half_is_in_the_piston_checks_window_twice():
    """The most has passed at 3 s, after the landing at 1.5 s; until then at 1 s. A cycle that ends 1 below
    its start, so that a first half taken for the one before would lie 1 higher."""
    passed = np.array([0.0, 0.5, 0.4, 0.9, -1.5, -1.5, -1.4, -1.2, -1.0])
    assert piston_ball_lag(passed, 1.5) == pytest.approx(0.5)


def test_the_stroke_before_is_joined_at_the_last_rows_volume():
    """0.1 too much at -1 s against 0.05 at 1 s."""
    passed = np.array([0.0, 0.05, -0.5, -0.6, -0.65, 0.0, 1.0, 2.3, 2.2])
    assert piston_ball_lag(passed, 1.5) == pytest.approx(2.5)


def test_a_ball_on_its_seat_at_the_reversal_is_early_whatever_it_does_after():
    mode = INLET_MODE.copy()
    mode[4:] = SEATED, FREE, FREE, SEATED, SEATED
    kept = [event for event in EVENTS if event[:2] != (Event.SEATED, 0)]
    assert check_metrics(cycle(kept, **modes(inlet=mode)), 0).flags == ("early",)


def test_a_flow_that_turns_as_the_ball_lands_leaves_the_ball_no_lag():
    drawn = np.array([0.0, 0.5, 1.0, 2.5, 4.0, 4.4, 4.5, 4.6, 4.0])
    assert check_metrics(cycle(seats(0, 7.0), **volumes(drawn)), 0).ball_lag == 0.0


def closing(drawn, **how):
    mode = np.full(9, FREE)
    return check_metrics(cycle(**volumes(np.array(drawn)), **modes(inlet=mode), **how), 0).hydraulic_closing


def test_forward_flow_within_the_backflow_takes_nothing_off_it():
    """Back 0.2, forth 0.1, back 0.3: 99 % of 0.5 is reached in the last second, which counts."""
    drawn = [0.0, 0.5, 1.0, 2.5, 4.0, 4.4, 4.2, 4.3, 4.0]
    assert closing(drawn) == pytest.approx(3.0 + (0.495 - 0.2) / 0.3)


def test_backflow_in_the_last_step_alone_is_backflow():
    drawn = [0.0, 0.5, 1.0, 2.5, 4.0, 4.4, 4.5, 4.6, 4.0]
    assert closing(drawn) == pytest.approx(3.99)


def test_backflow_in_the_first_step_alone_has_its_share_there():
    assert closing([0.0] + 8 * [-0.5]) == pytest.approx(-4.0 + 0.99)


def test_a_leak_is_counted_from_the_first_row_to_that_of_most_drawn_in():
    """Back by 0.2, 0.3, 0.1 and 0.05, forth, and 0.4 in the step before the row of most drawn in."""
    passed = np.array([0.0, -0.2, -0.5, -0.6, -0.2, -0.6, 1.0, 2.3, 2.2])
    budget = metrics_of(cycle(**volumes(passed=passed), **modes(piston=np.full(9, SEATED)))).loss_budget
    inlet = metrics_of(cycle(**modes(piston=np.full(9, FREE)))).loss_budget.leak
    assert budget.leak - inlet == pytest.approx(0.2 + 0.3 + 0.1 + 0.4)


@pytest.mark.parametrize("start", [0.0, 0.25])
def test_a_reversal_between_two_rows_is_where_the_lost_travel_begins(start):
    """The travel of the reversal itself is read between the rows, for the period may end there."""
    position = np.array([start, 0.5, 1.0, 1.5, 2.0, 1.5, 1.0, 0.5, start])
    volumes = np.array([0.0, -0.1, 0.4, 1.0, 1.6, 1.4, 1.5, 1.9, 2.5])
    data = cycle(piston_position=position, delivered_volume=volumes)
    assert lost_travel(data) == pytest.approx((0.5 - start, 0.5))


def test_a_check_that_never_opens_has_its_pressure_at_the_end_looked_at():
    pressure = np.array([90.0, 80.0, 60.0, 65.0, 70.0, 75.0, 100.0, 200.0, 10.0])
    found = metrics_of(cycle(lower_pressure=pressure, **modes(inlet=np.full(9, SEATED))))
    assert found.lowest_pressure_at_pull_off == 10.0
