"""What a sweep's Dataset says of its cases: where each stands, how it ended, and how it was made."""

import numpy as np
import pytest
import xarray as xr

from balltravel import read_dataset, sweep, with_value, write_dataset
from balltravel.core.status import Status
from balltravel.cycle.metrics import metric_names
from balltravel.sweeps import cases as sweeps
from balltravel.sweeps.cases import run_case

from ..helpers.lowers import scenario

VISCOSITY = "material.viscosity"


@pytest.fixture(scope="module")
def lower():
    return scenario(shims={"thicknesses": (0.001, 0.002), "below": (1,)})


@pytest.mark.parametrize(
    "values",
    [
        [1, 2],
        np.array([1, 2]),
        np.array([1, 2], np.int8),
        np.array([1, 2], np.float32),
        [np.int64(1), np.float32(2)],
        (np.array(1.0), np.array(2.0)),
        xr.DataArray([1.0, 2.0]),
        list(xr.DataArray([1.0, 2.0])),
        range(1, 3),
    ],
)
def test_a_swept_quantity_is_a_number_with_a_unit_whatever_it_was_given_as(values, lower):
    data = sweep(lower, {VISCOSITY: values})
    assert data[VISCOSITY].dtype == np.float64
    assert data[VISCOSITY].values.tolist() == [1.0, 2.0]
    assert data[VISCOSITY].attrs["units"] == "Pa.s"
    assert float(data.sel({VISCOSITY: 2.0}).fill_fraction) > 0.0


def test_a_sweep_says_how_it_was_made(lower):
    data = sweep(lower, {VISCOSITY: [1.0]}, rtol=1e-5)
    assert data.attrs["rtol"] == 1e-5
    assert data.attrs["source"].startswith("balltravel ")
    for name in ("python 3.", "numpy ", "numba "):
        assert name in data.attrs["versions"]


def test_a_sweep_has_what_each_case_scatters_by_and_what_its_balls_do(lower):
    """A ball that pumps, and one that a spring holds on its seat."""
    data = sweep(lower, {"inlet_check.spring_preload": [0.0, 50.0]})
    cases = [run_case(with_value(lower, "inlet_check.spring_preload", newton)) for newton in (0.0, 50.0)]
    assert data.scatter.values.tolist() == [case.scatter for case in cases]
    assert cases[0].scatter > 0.0
    for check in ("inlet", "piston"):
        flags = data[f"{check}_flags"]
        words = flags.attrs["flag_meanings"].split()
        assert flags.attrs["flag_values"].dtype == flags.dtype
        told = [words[value] for value in flags.values]
        assert told == [next(iter(getattr(case.metrics, check).flags), "none") for case in cases]
    assert data.inlet_flags.values.tolist() == [words.index("none"), words.index("never_lifts")]


def test_where_all_cases_fail_every_variable_is_there_and_nan(lower, monkeypatch, tmp_path):
    monkeypatch.setattr(sweeps, "run_case", lambda one, rtol: run_case(one, rtol, most_steps=5))
    data = sweep(lower, {VISCOSITY: [1.0, 2.0]})
    write_dataset(data, tmp_path / "failed.nc")
    read = read_dataset(tmp_path / "failed.nc")
    for name in metric_names():
        assert np.isnan(read[name.replace(".", "_")].values).all()
        assert read[name.replace(".", "_")].attrs["units"]
    codes, words = read.status.attrs["flag_values"], read.status.attrs["flag_meanings"].split()
    assert codes.dtype == read.status.dtype
    assert dict(zip(codes.tolist(), words, strict=True)) == {int(s): s.name.lower() for s in Status}
    assert [words[code] for code in read.status.values] == ["too_many_steps"] * 2
    assert read.inlet_flags.attrs["flag_meanings"].split()[read.inlet_flags.values[0]] == "no_cycle"


def test_a_quantity_that_is_left_out_in_a_case_is_no_number_there(lower):
    data = sweep(lower, {"suction.altitude": [None, 1500.0]})
    assert np.isnan(data["suction.altitude"].values[0])
    assert data["suction.altitude"].values[1] == 1500.0


def test_the_metrics_are_named_alike_with_and_without_a_cycle(lower):
    case = run_case(lower)
    assert tuple(case.metrics.flat()) == metric_names()
