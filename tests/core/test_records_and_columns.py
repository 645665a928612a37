"""Records, rows, statuses and workspaces of the core: what is where, and that nothing is there before it is
written."""

from typing import NamedTuple

import numpy as np
import pytest

from balltravel import read_scenario
from balltravel.core import parameters as core
from balltravel.core.batch import make_outcome
from balltravel.core.check import Law
from balltravel.core.contact import FREE, SEATED
from balltravel.core.gas import Release
from balltravel.core.model import SIZE, STATES, WHOLE, Ball, Moment
from balltravel.core.motor import Push
from balltravel.core.parameters import MOST_SEGMENTS
from balltravel.core.recording import COLUMNS, record
from balltravel.core.records import as_record, record_type
from balltravel.core.rheology import Rheology
from balltravel.core.status import Status
from balltravel.core.workspace import GUARDS, MOST_EVENTS, MOST_ROWS, make_contact, make_workspace
from balltravel.setup.parameters import core_parameters

from ..helpers.mid_stroke import moving_lower

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


def test_a_record_of_a_record_is_the_record_itself():
    box = as_record(Inner(3, 0.5))
    assert as_record(box) is box


@pytest.mark.parametrize("kind", [Law, Ball, Moment, Release, Push])
def test_what_no_kernel_has_written_is_zero(kind):
    def numbers(group):
        for value in vars(group).values():
            if hasattr(value, "__dict__"):
                yield from numbers(value)
            else:
                yield value

    values = list(numbers(kind()))
    assert len(values) >= 4
    assert not any(np.any(value) for value in values)


def test_a_part_that_a_lower_does_not_have_is_zero_but_for_what_one_divides_by():
    """No motor, tip, packing, strainer, fitting or gas: a hose of none has the inertance, bore, viscosity and
    volume by which rates are divided whether it is there or not."""
    assert (core.NO_MOTOR, core.HYDRAULIC, core.AIR) == (0, 1, 2)
    assert core.Narrow() == (0.0, 0.0, 0.0)
    assert core.Motor()._replace(free_speed=0.0, mass=0.0) == (0.0,) * 12
    assert (core.Motor().free_speed, core.Motor().mass) == (1.0, 1.0)
    hose, line, store, tip = core.NO_HOSE
    assert (hose, tip) == (0, core.Narrow())
    nothing = {"inertance": 1.0, "diameter": 1.0, "rheology": Rheology(1.0)}
    assert line._asdict() == dict.fromkeys(core.Suction._fields, 0.0) | nothing
    assert store == (1.0, 0.0, 0.0)
    for kind in (core.Material, core.Check, core.Suction, core.Drive, core.Control):
        for name, value in kind._field_defaults.items():
            assert not np.any(value), (kind, name)
    rest = core.Parameters._field_defaults
    assert rest == {"outlet": core.NO_HOSE, "motor": core.Motor(), "piston_packing": core.Narrow(),
                    "rod_packing": core.Narrow(), "more": 0}  # fmt: skip


def test_each_function_of_lift_has_a_row_of_its_own():
    """Three of a loss in each direction, one of every other."""
    threes = [core.FORWARD + i for i in range(3)] + [core.BACKWARD + i for i in range(3)]
    alone = [core.CONDUCTANCE, core.ALPHA, core.SLIP, core.OPENING_SLIP, core.OFFSET, core.LIFT_FORCE,
             core.STREAM, core.MASS, core.COUPLING, core.CAGE, core.CAGE_ALPHA, core.CAGE_SLIP,
             core.EDGE_RATE, core.EDGE_SECOND, core.CAGE_RATE, core.CAGE_SECOND]  # fmt: skip
    assert sorted(threes + alone) == list(range(core.FUNCTIONS))


def test_a_row_has_an_instant_in_the_order_of_its_columns(make_lower):
    """The void: free gas of 0.5 % and what has come out of solution, each grown by the pressures above the
    vapour's, less the free gas at the atmosphere."""
    lower = moving_lower(make_lower)
    moment = Moment()
    for place, name in enumerate(MOMENT):
        setattr(moment, name, 100.0 + place)
    moment.lower = 1e4
    moment.inlet.law.flow, moment.piston.law.flow = 200.0, 201.0
    row = np.full(len(COLUMNS), np.nan)
    record(as_record(lower), row, 0.5, as_record(moment), np.arange(SIZE) + 10.0, 1, 2)
    got = dict(zip(COLUMNS, row, strict=True))
    contents = lower.lower.volume + 100.0 * lower.lower.area + 12.0
    grown = (lower.reference_pressure - 2000.0) / (1e4 - 2000.0)
    void = max(0.0, (0.005 * contents + 25.0) * grown - 0.005 * contents)
    states = (
        "port_surplus", "line_flow", "lower_surplus", "upper_surplus", "inlet_lift", "inlet_ball_speed",
        "piston_lift", "piston_ball_speed", "driven_position", "driven_speed", "air_below", "air_above",
        "outlet_hose_flow", "store_surplus", "port_gas", "lower_gas", "drawn_volume", "passed_volume",
        "delivered_volume", "line_volume", "position_integral", "packing_volume", "rod_volume",
        "sprayed_volume",
    )  # fmt: skip
    moment.lower = 2e5
    record(as_record(lower), row, 0.5, as_record(moment), np.zeros(SIZE), 1, 2)
    assert row[COLUMNS.index("void_volume")] == 0.0
    assert [got.pop(name) for name in states] == list(np.arange(SIZE) + 10.0)
    assert got == {
        "time": 0.5, "piston_position": 100.0, "piston_speed": 101.0, "port_pressure": 102.0,
        "lower_pressure": 1e4, "upper_pressure": 104.0, "outlet_flow": 105.0, "tip_pressure": 106.0,
        "tip_flow": 107.0, "inlet_flow": 200.0, "piston_flow": 201.0, "inlet_mode": 1.0, "piston_mode": 2.0,
        "void_volume": void,
    }  # fmt: skip


def test_a_run_fails_from_the_third_status_on_and_each_says_what_to_do():
    assert [status.value for status in Status] == list(range(10))
    assert [status.failed for status in Status] == [False, False, *[True] * 8]
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
    for name in ("guard", "guard_low", "guard_trial", "guard_high", "tolerance"):
        assert getattr(work, name).shape == (GUARDS,)
    assert work.rows.shape == (MOST_ROWS, len(COLUMNS)) == (200_000, 38)
    assert work.events.shape == (MOST_EVENTS, 4) == (10_000, 4)
    assert list(work.number) == [0, 0]
    assert work.number.dtype == np.int64
    assert (list(contact.mode), list(contact.armed), list(contact.hold)) == ([SEATED] * 2, [1, 1], [0.0, 0.0])
    assert list(contact.side) == [1.0] * GUARDS
    assert FREE != SEATED


def test_no_field_has_the_name_of_something_that_numpys_records_have_by_themselves():
    # In plain Python, without the compiler, record.round is a method and never the field.
    def names(kind):
        for name in kind.names or ():
            yield name
            yield from names(kind[name])

    parameters = core_parameters(read_scenario("scenarios/roof_elastomer_from_a_drum.toml"))
    kinds = [record_type(value) for value in (parameters, make_workspace(8, 8), make_outcome())]
    assert [name for kind in kinds for name in names(kind) if hasattr(np.recarray, name)] == []
