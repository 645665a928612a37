"""A run of made-up rows as a motion, and a motion through a Dataset and back."""

import numpy as np
import pytest

from balltravel.core.recording import COLUMNS
from balltravel.core.records import as_record
from balltravel.core.status import Status
from balltravel.cycle.dataset import cycle_metrics, cycle_of, motion_in, to_dataset
from balltravel.cycle.motion import BOTH, CHECK, EVENT, ONCE, ROW, events_in, motion_of, rows_in, variables
from balltravel.cycle.run import Cycle
from balltravel.cycle.validity import Excursion
from balltravel.setup.runs import Run

from ..helpers.lowers import lower, scenario
from ..helpers.metrics_by_hand import metrics

ROWS = 6
PAIRS = {
    "lift": ("inlet_lift", "piston_lift"), "ball_speed": ("inlet_ball_speed", "piston_ball_speed"),
    "flow": ("inlet_flow", "piston_flow"), "passed_volume": ("drawn_volume", "passed_volume"),
    "contact": ("inlet_mode", "piston_mode"),
}  # fmt: skip


@pytest.fixture(scope="module")
def p():
    return lower(material={"free_gas_fraction": 0.01, "dissolved_gas_fraction": 0.02})


@pytest.fixture(scope="module")
def run(p):
    """Every column has numbers of its own; pressures around half a bar."""
    rows = np.random.default_rng(3).uniform(1e-6, 1e-5, (ROWS, len(COLUMNS)))
    rows[:, 0] = np.linspace(0.0, 2.0, ROWS)
    rows[:, COLUMNS.index("lower_pressure")] = np.linspace(4e4, 2e5, ROWS)
    rows[-1, COLUMNS.index("lower_gas")] = 0.0
    events = np.array([[1.0, 0.0, 0.3, -0.2], [2.0, 1.0, 1.2, 0.1]])
    clock = np.linspace(0.0, 2.0, p.drive.segments + 1)
    return Run(Status.OK, 3, 1e-7, rows, events, clock)


def column(run, name):
    return run.rows[:, COLUMNS.index(name)]


def test_a_motion_has_the_columns_of_the_core_by_name(p, run):
    found = motion_of(p, run)
    for name, about in variables():
        if about.dims == ROW and name != "void_volume":
            assert np.array_equal(getattr(found, name), column(run, name)), name
    for name, (inlet, piston) in PAIRS.items():
        assert np.array_equal(getattr(found, name)[:, 0], column(run, inlet)), name
        assert np.array_equal(getattr(found, name)[:, 1], column(run, piston)), name


def test_a_motion_has_the_events_and_the_sizes_of_the_lower(p, run):
    found = motion_of(p, run)
    assert found.event_kind.tolist() == [1.0, 2.0]
    assert found.event_check.tolist() == [0.0, 1.0]
    assert found.event_time.tolist() == [0.3, 1.2]
    assert found.event_value.tolist() == [-0.2, 0.1]
    bore, rod = np.pi * 0.048**2 / 4.0, np.pi * 0.034**2 / 4.0
    assert (found.bore_area, found.annulus_area) == pytest.approx((bore, bore - rod), rel=1e-12)
    assert (found.swept_volume, found.stroke) == pytest.approx((bore * 0.09, 0.09), rel=1e-12)
    assert (found.period, found.top_dead_centre) == (2.0, run.clock[p.drive.turn])
    assert 0.0 < found.top_dead_centre < 2.0
    assert (found.outlet_pressure, found.barometric_pressure) == (1e7 + 101325.0, 101325.0)
    assert found.vapour_pressure == 2300.0
    assert found.travel.tolist() == [0.005, 0.005]
    assert found.landing_gap == pytest.approx([1.05e-4, 0.8e-4], rel=1e-12)
    assert found.moving_mass.tolist() == [
        p.inlet.ball_mass + p.inlet.added_mass, p.piston.ball_mass + p.piston.added_mass,
    ]  # fmt: skip


def test_a_motion_gives_the_core_its_rows_and_events_back(p, run):
    """All but what a motion does not have: the states of a motor, of the outlet hose and of gas."""
    found = motion_of(p, run)
    rows = rows_in(found)
    lacking = ("driven_", "air_", "outlet_hose_", "store_", "port_gas", "lower_gas")
    for i, name in enumerate(COLUMNS):
        expected = np.zeros(ROWS) if name.startswith(lacking) else run.rows[:, i]
        assert np.array_equal(rows[:, i], expected), name
    assert np.array_equal(events_in(found), run.events)


def test_a_motion_is_the_same_of_parameters_as_a_record(p, run):
    plain, record = motion_of(p, run), motion_of(as_record(p), run)
    for name, _ in variables():
        assert np.array_equal(getattr(plain, name), getattr(record, name)), name


@pytest.fixture
def cycle(p, run):
    excursions = (Excursion("inlet check", "c", "q", 0.5, 2.0, 1.0, "b"),)
    outside = np.arange(ROWS) > 3
    fitted = scenario(shims={"below": (1,)})
    return Cycle(fitted, Status.OK, 3, 1e-7, motion_of(p, run), metrics(), outside, excursions, 1e-6)


def test_a_dataset_has_dimensions_units_and_attributes_of_its_cycle(cycle):
    data = to_dataset(cycle)
    assert (data.sizes["time"], data.sizes["check"], data.sizes["event"]) == (ROWS, 2, 2)
    assert data.check.values.tolist() == ["inlet", "piston"]
    wanted = {ROW: {"time"}, BOTH: {"time", "check"}, EVENT: {"event"}, CHECK: {"check"}, ONCE: set()}
    for name, about in variables():
        assert set(data[name].dims) == wanted[about.dims], name
        assert (data[name].attrs["units"], data[name].attrs["long_name"]) == about[1:], name
    assert data.outside_range.values.tolist() == [0, 0, 0, 0, 1, 1]
    assert data.outside_range.attrs["units"] == "1"
    assert (data.attrs["status"], data.attrs["status_code"], data.attrs["cycles"]) == ("ok", 0, 3)
    assert (data.attrs["rtol"], data.attrs["delivered_change"]) == (1e-6, 1e-7)
    assert data.attrs["title"] == "an invented lower"


def test_a_cycle_comes_back_from_its_dataset(cycle):
    again = cycle_of(to_dataset(cycle))
    for name, _ in variables():
        assert np.array_equal(getattr(again.motion, name), getattr(cycle.motion, name)), name
    assert (again.scenario, again.status, again.cycles) == (cycle.scenario, Status.OK, 3)
    assert (again.delivered_change, again.rtol, again.excursions) == (1e-7, 1e-6, cycle.excursions)
    assert again.outside_range.tolist() == cycle.outside_range.tolist()
    assert again.metrics == cycle_metrics(to_dataset(cycle))


def test_a_failed_cycle_comes_back_without_metrics(cycle):
    data = to_dataset(cycle)
    data.attrs["status_code"] = int(Status.STALLED)
    assert cycle_of(data).metrics is None


def test_a_dataset_of_one_check_is_refused(cycle):
    with pytest.raises(ValueError, match=r"lift: 1 checks given; allowed: inlet, piston"):
        motion_in(to_dataset(cycle).isel(check=[0]))
