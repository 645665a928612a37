"""Records, rows, statuses and workspaces of the core: what is where, and that nothing is there before it is
written."""

from typing import NamedTuple

import numpy as np
import pytest

from balltravel.core.check import Law
from balltravel.core.contact import FREE, SEATED
from balltravel.core.model import SIZE, STATES, WHOLE, Ball, Moment
from balltravel.core.parameters import MOST_SEGMENTS
from balltravel.core.recording import COLUMNS, record
from balltravel.core.records import as_record, record_type
from balltravel.core.status import Status
from balltravel.core.workspace import GUARDS, MOST_EVENTS, MOST_ROWS, make_contact, make_workspace

MOMENT = ("x", "v", "port", "lower", "upper", "outflow", "store", "tip")


class Inner(NamedTuple):
    count: int
    span: float


class Outer(NamedTuple):
    inner: Inner
    values: np.ndarray
    ratio: float


def test_a_record_has_the_fields_types_and_values_of_its_group():
    group = Outer(Inner(3, 0.5), np.arange(6.0).reshape(2, 3), 7.0)
    kind = record_type(group)
    assert kind.names == ("inner", "values", "ratio")
    assert kind["inner"]["count"] == np.int64
    assert kind["inner"]["span"] == np.float64
    assert kind["values"].shape == (2, 3)
    box = as_record(group)
    assert (box.inner.count, box.inner.span, box.ratio) == (3, 0.5, 7.0)
    assert (box.values == group.values).all()
    group.values[:] = 9.0
    assert box.values[1, 2] == 5.0


def test_a_dataclass_becomes_a_record_with_its_groups():
    moment = Moment()
    moment.piston.law.flow = 2.0
    box = as_record(moment)
    assert box.piston.law.flow == 2.0
    assert box.inlet.law.flow == 0.0


@pytest.mark.parametrize("kind", [Law, Ball, Moment])
def test_what_no_kernel_has_written_is_zero(kind):
    def numbers(group):
        for value in vars(group).values():
            if hasattr(value, "__dict__"):
                yield from numbers(value)
            else:
                yield value

    values = list(numbers(kind()))
    assert len(values) >= 8
    assert set(values) == {0.0}


def test_a_row_has_an_instant_in_the_order_of_its_columns():
    moment = Moment()
    for place, name in enumerate(MOMENT):
        setattr(moment, name, 100.0 + place)
    moment.inlet.law.flow, moment.piston.law.flow = 200.0, 201.0
    row = np.full(len(COLUMNS), np.nan)
    record(row, 0.5, as_record(moment), np.arange(SIZE) + 10.0, 1, 2)
    got = dict(zip(COLUMNS, row, strict=True))
    states = (
        "port_surplus", "line_flow", "lower_surplus", "upper_surplus", "inlet_lift", "inlet_ball_speed",
        "piston_lift", "piston_ball_speed", "driven_position", "driven_speed", "air_below", "air_above",
        "outlet_hose_flow", "store_surplus", "port_gas", "lower_gas", "drawn_volume", "passed_volume",
        "delivered_volume", "line_volume", "position_integral", "packing_volume", "rod_volume",
        "sprayed_volume",
    )  # fmt: skip
    assert [got.pop(name) for name in states] == list(np.arange(SIZE) + 10.0)
    assert got == {
        "time": 0.5, "piston_position": 100.0, "piston_speed": 101.0, "port_pressure": 102.0,
        "lower_pressure": 103.0, "upper_pressure": 104.0, "outlet_flow": 105.0, "tip_pressure": 106.0,
        "tip_flow": 107.0, "inlet_flow": 200.0, "piston_flow": 201.0, "inlet_mode": 1.0, "piston_mode": 2.0,
    }  # fmt: skip


def test_a_run_fails_from_the_third_status_on_and_each_says_what_to_do():
    assert [status.value for status in Status] == [0, 1, 2, 3, 4, 5, 6, 7]
    assert [status.failed for status in Status] == [False, False, True, True, True, True, True, True]
    assert len({status.advice for status in Status}) == len(Status)
    assert "can be used" in Status.OK.advice
    assert "steps" in Status.TOO_MANY_STEPS.advice
    assert "drew more" in Status.DRAWN_EMPTY.advice
    assert "supply" in Status.STALLED.advice


def test_a_workspace_has_room_for_states_guards_rows_and_events_and_balls_begin_on_their_seats():
    work, contact = make_workspace(), make_contact()
    assert (SIZE, WHOLE, STATES, GUARDS, MOST_SEGMENTS) == (24, 16, 8, 11, 256)
    for name in ("y", "y_start", "trial", "stage", "rates", "by_time"):
        assert getattr(work, name).shape == (SIZE,)
    assert (work.jacobian.shape, work.matrix.shape, work.order.shape) == ((24, 8), (8, 8), (8,))
    shapes = work.whole_jacobian.shape, work.whole_matrix.shape, work.whole_order.shape
    assert shapes == ((24, 16), (16, 16), (16,))
    assert work.clock.shape == (MOST_SEGMENTS + 1,)
    assert work.increments.shape == (6, SIZE)
    for name in ("guard", "guard_low", "guard_trial", "guard_kept", "tolerance"):
        assert getattr(work, name).shape == (GUARDS,)
    assert work.rows.shape == (MOST_ROWS, len(COLUMNS)) == (200_000, 37)
    assert work.events.shape == (MOST_EVENTS, 4) == (10_000, 4)
    assert list(work.number) == [0, 0]
    assert work.number.dtype == np.int64
    assert (list(contact.mode), list(contact.armed), list(contact.hold)) == ([SEATED] * 2, [1, 1], [0.0, 0.0])
    assert list(contact.side) == [1.0] * GUARDS
    assert FREE != SEATED
