"""A thread's runs share one workspace: what one leaves there changes nothing in the next."""

from pathlib import Path

import numpy as np
import pytest

from balltravel.core.model import Moment, forget
from balltravel.core.records import as_record
from balltravel.files.read_write import read_scenario
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import _ROOM, run_core, run_stall

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("primer", "stain_by_air", "roof_elastomer_from_a_drum", "elastomer_thinning", "mastic", "hydraulic")


AIR = "stain_by_air"
HYDRAULIC = ("drive.motor=hydraulic",)


def rows_of(name: str):
    path, settings = (AIR, HYDRAULIC) if name == "hydraulic" else (name, ())
    run = run_core(core_parameters(read_scenario(SCENARIOS / f"{path}.toml", settings)))
    return run.rows, run.events, run.clock


def test_what_a_run_leaves_behind_is_forgotten_field_by_field():
    """Every number of the present instant set to nonsense: what is left of it is what every lower fills."""
    spoilt = as_record(Moment())
    fill(spoilt, 7.0)
    forget(spoilt)
    kept = {name for name in spoilt.dtype.names if np.any(numbers(spoilt[name]) == 7.0)}
    always = {"x", "v", "a", "jerk", "port", "port_y", "lower", "lower_y", "lower_x", "lower_t", "upper",
              "upper_y", "upper_x", "upper_t", "packing", "packing_dp", "rod", "rod_dp", "outflow",
              "outflow_dp", "line_force", "line_force_Q", "inlet", "piston", "part", "by"}  # fmt: skip
    assert kept == always


def fill(record, value: float) -> None:
    for name in record.dtype.names:
        if record.dtype[name].names:
            fill(record[name], value)
        else:
            record[name] = value


def numbers(value):
    """All numbers of a record or an array."""
    if getattr(value, "dtype", None) is not None and value.dtype.names:
        return np.concatenate([np.ravel(numbers(value[name])) for name in value.dtype.names])
    return np.ravel(value)


@pytest.mark.parametrize("before", NAMES)
def test_a_run_has_the_same_bits_after_any_other(before):
    first = {name: rows_of(name) for name in NAMES}
    air = core_parameters(read_scenario(SCENARIOS / "stain_by_air.toml"))
    run_stall(air, True)
    rows_of(before)
    for name in NAMES:
        for array, again in zip(first[name], rows_of(name), strict=True):
            np.testing.assert_array_equal(array, again)
        rows_of(before)


@pytest.mark.parametrize("before", [0, 1])
def test_the_first_search_of_a_run_knows_nothing_of_the_last_one_of_another(before):
    """A motor's run in which the first weight of a search shows."""
    described = read_scenario(SCENARIOS / "stain_by_air.toml", ("material.viscosity_factor=0.0425",))
    p = core_parameters(described)
    fresh = run_core(p)
    _ROOM.block["march"]["high_moved"] = before
    again = run_core(p)
    np.testing.assert_array_equal(fresh.rows, again.rows)
    np.testing.assert_array_equal(fresh.measures, again.measures)
