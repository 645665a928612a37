"""A cycle as a Dataset: its times rise, a row is found by its time, and nothing is lost on the way back."""

from pathlib import Path

import numpy as np
import pytest

from balltravel import (
    cycle_metrics,
    cycle_of,
    read_dataset,
    read_scenario,
    run_cycle,
    simulate,
    write_dataset,
)
from balltravel.cycle.dataset import apart, to_dataset, together

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module", params=["primer", "stain_by_air", "stain"])
def cycle(request):
    return run_cycle(read_scenario(SCENARIOS / f"{request.param}.toml"))


def test_times_rise_and_the_nearest_row_is_found(cycle):
    times = to_dataset(cycle).indexes["time"]
    assert np.any(np.diff(cycle.motion.time) == 0.0)
    assert times.is_unique
    assert times.is_monotonic_increasing
    row = to_dataset(cycle).sel(time=0.3 * cycle.motion.period, method="nearest")
    assert abs(float(row.time) - 0.3 * cycle.motion.period) < 0.05 * cycle.motion.period
    assert row.lift.dims == ("check",)


def test_a_row_after_a_jump_is_moved_by_less_than_anything_measured(cycle):
    moved = to_dataset(cycle).time.values - cycle.motion.time
    assert np.all(moved >= 0.0)
    assert np.max(moved) <= 1e-15 * cycle.motion.period


def test_motion_and_metrics_come_back_bit_by_bit(cycle, tmp_path):
    write_dataset(to_dataset(cycle), tmp_path / "run.nc")
    read = read_dataset(tmp_path / "run.nc")
    back = cycle_of(read)
    assert np.array_equal(back.motion.time, cycle.motion.time)
    assert back.metrics == cycle.metrics == cycle_metrics(read)


@pytest.mark.parametrize(
    "time",
    [
        [0.0, 0.0, 0.0, 1.0],
        [0.0, 0.5, 0.5, 0.5, 0.5, 1.0, 1.0],
        [1.0, 1.0, np.nextafter(1.0, 2.0), 1.5],
        [],
        [2.0],
    ],
)
def test_rows_that_share_a_time_are_set_apart_in_their_order(time):
    time = np.array(time)
    assert np.all(np.diff(apart(time)) > 0.0)
    assert np.max(apart(time) - time, initial=0.0) < 1e-15
    if not np.any(time == np.nextafter(1.0, 2.0)):
        assert np.array_equal(together(apart(time)), time)


def test_a_result_says_by_which_versions_it_was_made(story):
    attributes = simulate(story("primer"), max_cycles=1).attrs
    assert attributes["source"].startswith("balltravel ")
    for name in ("python 3.", "numpy ", "numba ", "xarray "):
        assert name in attributes["versions"]
