"""Whatever Python code hands to a public function is refused in one sentence of one class, or is taken."""

import math
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
import xarray as xr

import balltravel
from balltravel.scenario.model import FIELDS, ScenarioError, quantity_of
from balltravel.study.site.wear import wear_report

from ..helpers.lowers import scenario

PRIMER = "scenarios/primer.toml"
NO_SCENARIOS = [PRIMER, Path(PRIMER), None, 5, {}, []]
VISCOSITY = "material.viscosity"
NO_NUMBERS = [None, True, "x", "3", [], {}, 1j, float("nan")]


def said_of(call, *arguments, **options):
    """The one line by which a call is refused; it says what was given, what is allowed and an example."""
    with pytest.raises(ScenarioError) as caught:
        call(*arguments, **options)
    told = str(caught.value)
    assert "; allowed: " in told
    assert "; example: " in told
    assert "\n" not in told
    return told


@pytest.fixture(scope="module")
def lower():
    return scenario(shims={"thicknesses": (0.001, 0.002), "below": (1,)})


@pytest.fixture(scope="module")
def data(lower):
    return balltravel.simulate(lower)


@pytest.mark.parametrize("value", NO_SCENARIOS)
@pytest.mark.parametrize("name", ["simulate", "run_cycle", "recommend", "sweep"])
def test_what_is_no_scenario_is_refused_by_all_that_run_one(name, value):
    assert said_of(getattr(balltravel, name), value).startswith("scenario: ")


@pytest.mark.parametrize("value", NO_SCENARIOS)
def test_what_is_no_scenario_has_no_other_values(value):
    assert said_of(balltravel.with_value, value, VISCOSITY, 1.0).startswith("scenario: ")
    assert said_of(balltravel.with_values, value, {}).startswith("scenario: ")
    assert said_of(balltravel.with_shims_below, value, ()).startswith("scenario: ")
    assert said_of(balltravel.with_ranges, value, {}).startswith("scenario: ")
    assert said_of(balltravel.spreads_of, value).startswith("scenario: ")
    assert said_of(wear_report, value).startswith("scenario: ")
    assert said_of(balltravel.diagnose, value, "today.toml").startswith("scenario: ")
    assert said_of(balltravel.calibrate, value, "today.toml").startswith("scenario: ")


@pytest.mark.parametrize("value", [None, 5, {}, []])
def test_what_is_no_file_of_observations_is_refused(value, lower):
    assert said_of(balltravel.diagnose, lower, value).startswith("path: ")
    assert said_of(balltravel.calibrate, lower, value).startswith("path: ")


@pytest.mark.parametrize("value", [None, 5, {}, []])
def test_what_is_no_place_of_a_history_is_refused(value, tmp_path):
    assert said_of(balltravel.history, value).startswith("path: ")
    assert said_of(balltravel.log_entry, value, did="opened").startswith("path: ")
    if value is not None:
        assert said_of(balltravel.history, PRIMER, log=value).startswith("path: ")
    for key in ("did", "replaced", "turned", "cycles", "litres", "date", "shims_below"):
        if value not in (None, [], 5) or (value == 5 and key not in ("cycles", "litres")):
            said = said_of(
                balltravel.log_entry, PRIMER, log=tmp_path / "log.toml", **{"note": "x", key: value}
            )
            assert said.startswith(f"{key}: ")
    assert not (tmp_path / "log.toml").exists()


@pytest.mark.parametrize("value", [PRIMER, None, 5, {}, [], [PRIMER], [None]])
def test_what_is_no_week_is_refused(value):
    assert said_of(balltravel.recommend_week, value).startswith("materials: ")


@pytest.mark.parametrize("name", ["simulate", "run_cycle"])
@pytest.mark.parametrize(
    ("option", "value"),
    [
        *(("max_cycles", value) for value in (0, -1, 2.5, 10**9, *NO_NUMBERS)),
        *(("rtol", value) for value in (-1, 0, 1, 1e-15, *NO_NUMBERS)),
        *(("most_steps", value) for value in (0, -5, 1.5, 10**9, *NO_NUMBERS)),
    ],
)
def test_settings_of_the_integration_out_of_their_range_are_refused(name, option, value, lower):
    assert said_of(getattr(balltravel, name), lower, **{option: value}).startswith(f"{option}: ")


@pytest.mark.parametrize(
    "option",
    [{"rtol": 1e-9}, {"rtol": np.float32(1e-5)}, {"max_cycles": np.int64(1)}, {"most_steps": 200_000}],
)
def test_settings_at_the_ends_of_their_range_and_of_numpy_are_taken(option, lower):
    assert balltravel.run_cycle(lower, **{"max_cycles": 1, **option}).metrics is not None


@pytest.mark.parametrize("option", ["workers", "rtol", "progress"])
@pytest.mark.parametrize("value", [0, -1, 1.5, 10**9, True, "2"])
def test_settings_of_a_sweep_out_of_their_range_are_refused(option, value, lower):
    assert said_of(balltravel.sweep, lower, {VISCOSITY: [1.0]}, **{option: value}).startswith(f"{option}: ")


@pytest.mark.parametrize(
    ("grid", "where"),
    [
        ({}, "grid"),
        ([(VISCOSITY, 1)], "grid"),
        (VISCOSITY, "grid"),
        ({5: [1.0]}, "grid"),
        ({VISCOSITY: range(1, 1)}, VISCOSITY),
        ({VISCOSITY: []}, VISCOSITY),
        ({VISCOSITY: 5e5}, VISCOSITY),
        ({VISCOSITY: "5 mm"}, VISCOSITY),
        ({VISCOSITY: ["5"]}, VISCOSITY),
        ({VISCOSITY: [10**400]}, VISCOSITY),
        ({VISCOSITY: [1.0, float("nan")]}, VISCOSITY),
        ({VISCOSITY: np.ones((2, 2))}, VISCOSITY),
        ({VISCOSITY: {1.0: 2.0}}, VISCOSITY),
        ({VISCOSITY: [True]}, VISCOSITY),
        ({VISCOSITY: [np.bool_(True)]}, VISCOSITY),
        ({VISCOSITY: [[1.0]]}, VISCOSITY),
        ({VISCOSITY: None}, VISCOSITY),
        ({VISCOSITY: iter([1.0])}, VISCOSITY),
        ({VISCOSITY: [1.0] * 4000, "drive.cycle_rate": [0.5] * 4000}, "grid"),
        ({"shims.below": [1]}, "shims.below"),
        ({"title": ["a"]}, "title"),
        ({"nothing": [1]}, "nothing"),
        ({"material.readings": [()]}, "material.readings"),
        ({"drive.trace": [()]}, "drive.trace"),
    ],
)
def test_a_grid_that_cannot_be_is_refused(grid, where, lower):
    assert said_of(balltravel.sweep, lower, grid).startswith(f"{where}: ")


def test_all_errors_of_a_grid_are_reported_together(lower):
    with pytest.raises(ScenarioError) as caught:
        balltravel.sweep(lower, {VISCOSITY: 5e5, "title": ["a"], "lower.bore": [], "lower.rod": 0.05})
    keys = [fault.key for fault in caught.value.faults]
    assert keys == ["title", VISCOSITY, "lower.bore", "lower.rod"]


@pytest.mark.parametrize("key", [key for key, field in FIELDS.items() if quantity_of(field)])
def test_no_quantity_takes_what_is_no_number(key, lower):
    """The example is a number in SI that is within the limits."""
    quantity = quantity_of(FIELDS[key])
    for value in (True, False, "5", "5 mm", b"5", 1j, [True], {}, float("nan"), float("inf")):
        told = said_of(balltravel.with_value, lower, key, value)
        assert told.startswith(f"{key}: ")
        examples = told.split("; example: ")[1].strip("()").split(", ")
        assert all(quantity.low <= float(example) <= quantity.high for example in examples)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("shims.below", 1),
        ("shims.below", [True]),
        ("shims.below", ["1"]),
        ("shims.below", [1.0]),
        ("shims.below", "1"),
        ("shims.thicknesses", 0.001),
        ("shims.thicknesses", [0.001] * 13),
        ("drive.profile", "harmonik"),
        ("drive.profile", 5),
        ("suction.fittings", ["x"]),
        ("suction.fittings", "elbow 45"),
        ("material.readings", 5),
        ("material.readings", ["5"]),
        ("drive.trace", "stroke.csv"),
        ("title", 5),
        ("title", ""),
        ("title", "a\nb"),
        ("lower.bore", None),
        ("lower.bore", 0.6),
        ("lower.boar", 0.05),
        ("lower", {}),
    ],
)
def test_no_key_takes_what_is_not_of_its_kind(key, value, lower):
    told = said_of(balltravel.with_value, lower, key, value)
    assert told.startswith(key)
    assert "pydantic" not in told
    assert "see docs" not in told


@pytest.mark.parametrize("value", [5, "1", "ab", None, (1.5,), (True,), [1.0], (1, 1), (9,)])
def test_shims_that_are_none_are_refused(value, lower):
    assert said_of(balltravel.with_shims_below, lower, value).startswith("shims.below: ")


@pytest.mark.parametrize("value", [{5: 1}, [("a", 1)], None, "x", 5])
def test_changes_that_are_no_table_are_refused(value, lower):
    assert said_of(balltravel.with_values, lower, value).startswith("changes: ")


@pytest.mark.parametrize("value", [{5: 1}, [("a", 1)], None, "x", 5])
def test_ranges_that_are_no_table_are_refused(value, lower):
    assert said_of(balltravel.with_ranges, lower, value).startswith("ranges: ")


@pytest.mark.parametrize(
    "value",
    [
        True,
        5.0,
        "5 Pa.s",
        "unknowns",
        b"x",
        1j,
        (),
        (1.0,),
        (1.0, 2.0, 3.0, 4.0),
        (True, 2.0),
        (1.0, None),
        (math.nan, 2.0),
        (1.0, math.inf),
        ("1 Pa.s", "2 mm"),
        ([1.0], 2.0),
        {},
        {"low": 1.0},
        {1: 2},
        object(),
        {"low": 1.0, "high": 2.0, "exactly": 1.0},
        ["1 Pa.s"],
        balltravel.Spread("even", ("a", "b")),
        balltravel.Spread("odd", (1.0, 2.0)),
        balltravel.Spread("even", (1.0,)),
        balltravel.Spread("even", (2.0, 1.0)),
        balltravel.Spread("choices", choices=("edge",)),
        balltravel.Spread("scipy", name="norm", shape=(("s", "a"),)),
        scipy.stats.poisson(3),
        scipy.stats.norm,
        scipy.stats.norm(0.0, 1.0),
        scipy.stats.norm(5.0, -1.0),
    ],
)
def test_what_is_no_range_is_refused(value, lower):
    told = said_of(balltravel.with_ranges, lower, {VISCOSITY: value})
    assert told.startswith(f"{VISCOSITY}: ")
    assert "; allowed: " in told


@pytest.mark.parametrize("value", [None, 5, b"x", [], {}])
def test_a_path_that_is_none_is_refused(value, data):
    for read in (balltravel.read_scenario, balltravel.read_week, balltravel.read_dataset):
        assert said_of(read, value).startswith("path: ")
    assert said_of(balltravel.write_dataset, data, value).startswith("path: ")


@pytest.mark.parametrize("value", ["a=b", [5], 5, None, {"material.viscosity": 1}])
def test_settings_that_are_no_list_of_texts_are_refused(value):
    for read in (balltravel.read_scenario, balltravel.read_week):
        assert said_of(read, PRIMER, value).startswith("settings: ")


@pytest.mark.parametrize("value", [None, 5, "x", {}, scenario()])
def test_what_is_no_result_is_refused(value, tmp_path):
    for read in (balltravel.cycle_metrics, balltravel.cycle_of):
        assert said_of(read, value).startswith("data: ")
    assert said_of(balltravel.write_dataset, value, tmp_path / "x.nc").startswith("dataset: ")


def test_a_result_with_a_part_missing_is_refused(data, lower):
    swept = balltravel.sweep(lower, {VISCOSITY: [1.0]})
    parts = [xr.Dataset(), swept, data.isel(time=slice(0, 0)), data.isel(time=slice(0, 10))]
    parts += [data.isel(time=0), data.isel(check=slice(0, 1)), data.assign_attrs(status_code=77)]
    for part in parts:
        said_of(balltravel.cycle_metrics, part)
        said_of(balltravel.cycle_of, part)
    for gone in ("scenario", "cycles", "excursions", "rtol", "delivered_change", "status_code"):
        less = data.copy()
        del less.attrs[gone]
        assert gone in said_of(balltravel.cycle_of, less)
    for text in ("x", "[]", "{}", '{"material": 5}', 5):
        with pytest.raises(ScenarioError):
            balltravel.cycle_of(data.assign_attrs(scenario=text))


@pytest.mark.parametrize("steps", [1, 5, 40])
def test_the_metrics_of_a_run_that_failed_are_refused_with_its_advice(steps, lower):
    failed = balltravel.simulate(lower, most_steps=steps)
    told = said_of(balltravel.cycle_metrics, failed)
    assert "too_many_steps" in told
    assert failed.attrs["advice"] in told
    assert balltravel.cycle_of(failed).metrics is None


@pytest.mark.parametrize("gap", [0, 0.0, -1e-6, 5e-3, *NO_NUMBERS])
def test_wear_by_a_gap_that_is_none_is_refused(gap, lower):
    assert said_of(wear_report, lower, gap).startswith("gap: ")
