"""What a sweep's Dataset says of its cases: where each stands, how it ended, and how it was made."""

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from balltravel import (
    ScenarioError,
    linear,
    read_dataset,
    sweep,
    with_ranges,
    with_value,
    with_values,
    write_dataset,
)
from balltravel.core.status import Status
from balltravel.cycle.metrics import metric_names
from balltravel.scenario.model import FIELDS, build
from balltravel.sweeps.cases import run_case
from balltravel.sweeps.columns import schema
from balltravel.sweeps.plan import Plan, keyword
from balltravel.sweeps.values import cf_units
from balltravel.units import DIMENSIONS, to_si

from ..helpers.lowers import scenario

VISCOSITY = "material.viscosity"
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip


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
        ["1 Pa s", "20 P"],
        xr.DataArray([1000, 2000], attrs={"units": "cP"}),
        pd.Series([1.0, 2.0]),
        linear("1 Pa.s", 2.0, 2),
    ],
)
def test_a_swept_quantity_is_a_number_with_a_unit_whatever_it_was_given_as(values, lower):
    data = sweep(lower, {VISCOSITY: values})
    assert data.material_viscosity.dtype == np.float64
    assert data.material_viscosity.values.tolist() == [1.0, 2.0]
    assert data.material_viscosity.attrs["units"] == "Pa s"
    assert data.material_viscosity.attrs["key"] == VISCOSITY
    assert float(data.sel(material_viscosity=1.9, method="nearest").fill_fraction) > 0.0


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


def test_where_all_cases_fail_every_variable_is_there_and_nan(tmp_path):
    data = sweep(scenario(drive=MOTOR, outlet={"gauge_pressure": 6e7}), {VISCOSITY: [1.0, 2.0]})
    write_dataset(data, tmp_path / "failed.nc")
    read = read_dataset(tmp_path / "failed.nc")
    for name in metric_names():
        assert np.isnan(read[name.replace(".", "_")].values).all()
        assert read[name.replace(".", "_")].attrs["units"]
    codes, words = read.status.attrs["flag_values"], read.status.attrs["flag_meanings"].split()
    assert codes.dtype == read.status.dtype
    assert dict(zip(codes.tolist(), words, strict=True)) == {int(s): s.name.lower() for s in Status}
    assert [words[code] for code in read.status.values] == ["stalled"] * 2
    assert read.error.values.tolist() == [Status.STALLED.advice] * 2
    assert read.inlet_flags.attrs["flag_meanings"].split()[read.inlet_flags.values[0]] == "no_cycle"


def test_a_quantity_that_is_left_out_in_a_case_is_no_number_there(lower):
    data = sweep(lower, {"suction.altitude": [None, 1500.0]})
    assert np.isnan(data.suction_altitude.values[0])
    assert data.suction_altitude.values[1] == 1500.0


def test_samples_lie_along_cases_and_a_grid_crosses_them(lower):
    samples = pd.DataFrame({VISCOSITY: [1.0, "20 P", 3.0], "shims.below": [(), (1,), "1+2"]})
    data = sweep(lower, {"drive.cycle_rate": ["20 cycles/min", 0.5]}, samples=samples)
    assert data.status.dims == ("case", "drive_cycle_rate")
    assert data.material_viscosity.dims == data.shims_below.dims == data.ball_travel.dims == ("case",)
    assert data.shims_below.values.tolist() == ["none", "1", "1+2"]
    assert data.ball_travel.values == pytest.approx([0.005, 0.006, 0.008], rel=1e-12)
    alone = {VISCOSITY: 2.0, "shims.below": (1,), "drive.cycle_rate": 0.5}
    case = run_case(with_values(lower, alone))
    assert float(data.fill_fraction[1, 1]) == case.metrics.fill_fraction


def test_samples_may_be_a_dataset(lower):
    of_keys = xr.Dataset({"drive.cycle_rate": ("case", [0.3, 0.6]), "shims.below": ("case", ["none", "2"])})
    data = sweep(lower, samples=of_keys)
    assert data.drive_cycle_rate.values.tolist() == [0.3, 0.6]
    again = sweep(lower, samples=data.coords.to_dataset())
    xr.testing.assert_identical(again.drop_attrs(deep=False), data.drop_attrs(deep=False))


def test_without_values_all_travels_of_the_shims_are_run(lower):
    data = sweep(lower)
    assert data.shims_below.values.tolist() == ["none", "1", "2", "1+2"]
    assert data.sel(shims_below="2").ball_travel.item() == pytest.approx(0.007, rel=1e-12)


def test_a_result_carries_the_scenario_as_it_was_set_and_its_plan(lower):
    data = sweep(lower, {VISCOSITY: [1.0]})
    assert build(json.loads(data.attrs["scenario_set"])) == lower
    assert build(json.loads(data.attrs["scenario_set"])).target.is_default("delivery")
    assert data.attrs["digest"] == Plan(lower, {VISCOSITY: "1 Pa s"}).digest()
    made = datetime.fromisoformat(data.attrs["date_created"])
    assert made.utcoffset() == timedelta(0)


def test_progress_counts_cases(lower):
    counted = []
    sweep(lower, {VISCOSITY: [1.0, 2.0, 3.0]}, workers=2, progress=lambda *count: counted.append(count))
    assert counted == [(1, 3), (2, 3), (3, 3)]


def test_no_keyword_of_a_key_is_the_name_of_a_variable():
    keywords = [keyword(key) for key in FIELDS]
    assert len(set(keywords)) == len(FIELDS)
    assert not {*keywords} & {"case", "ball_travel", *(name for name, _, _ in schema())}
    assert all(name.isidentifier() for name in keywords)


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_units_of_coordinates_are_si_in_the_spelling_of_cf(dimension):
    spelled = cf_units(DIMENSIONS[dimension].si)
    assert "/" not in spelled
    assert "." not in spelled
    if not DIMENSIONS[dimension].bare:
        assert to_si(f"3 {spelled}", dimension) == 3.0


def test_the_metrics_are_named_alike_with_and_without_a_cycle(lower):
    case = run_case(lower)
    assert tuple(case.metrics.flat()) == metric_names()


def test_with_a_folder_a_sweep_has_the_same_numbers_and_is_gone_on_with(lower, tmp_path):
    grid = {"material.viscosity": [1.0, 2.0], "drive.cycle_rate": [0.4, 0.5]}
    whole = sweep(lower, grid)
    for _ in range(2):
        with sweep(lower, grid, folder=tmp_path / "of") as kept:
            xr.testing.assert_equal(kept.load(), whole)


def test_a_sweep_runs_on_an_executor_with_a_folder_and_without(lower, tmp_path):
    grid = {"material.viscosity": [1.0, 2.0]}
    with ThreadPoolExecutor(1) as executor:
        for folder in (None, tmp_path / "of"):
            data = sweep(lower, grid, executor=executor, folder=folder)
            assert data.fill_fraction.size == 2
            with pytest.raises(ScenarioError, match="gpu with processes or a cluster"):
                sweep(lower, grid, executor=executor, folder=folder, device="gpu")


def test_a_viscosity_that_goes_with_the_density_of_each_case_is_told_and_printed():
    from balltravel.report.text.sweep import sweep_text
    from balltravel.study.swept.cases import keys_in

    lower = with_ranges(scenario(), {VISCOSITY: {"likely": "4000 cSt", "within": "20 %"}})
    data = sweep(lower, {"material.density": [1000.0, 1250.0]})
    assert data.material_viscosity.dims == ("material_density",)
    assert data.material_viscosity.values.tolist() == pytest.approx([4.0, 5.0], rel=1e-12)
    for case in range(2):
        point = data.isel(material_density=case)
        again = {key: float(point[name]) for key, name in keys_in(data).items()}
        assert float(point.fill_fraction) == run_case(with_values(lower, again)).metrics.fill_fraction
    assert [line.split()[:4] for line in sweep_text(lower, data).splitlines()[5:7]] == [
        ["1000", "kg/m3", "4", "Pa.s"],
        ["1250", "kg/m3", "5", "Pa.s"],
    ]
