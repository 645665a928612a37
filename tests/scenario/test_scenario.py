"""Scenarios built by Python code in SI, their defaults, changes and limits; and the stories' files."""

import math
from pathlib import Path

import pytest
from pydantic import ValidationError

from balltravel.files.read_write import read_scenario, read_scenario_file
from balltravel.scenario.model import (
    FIELDS,
    InletCheck,
    Lower,
    Scenario,
    ScenarioError,
    build,
    defaults_taken,
    flat,
    from_result,
    quantity_of,
    with_shims_below,
    with_value,
    with_values,
)
from balltravel.units import to_si

STORIES = Path(__file__).parents[2] / "scenarios"


def tables():
    """Required keys alone, in SI."""
    check = {"ball_density": 7800.0, "seat_length": 0.008, "cage_length": 0.03, "stop": "pins"}
    inlet = {"ball_diameter": 0.0294, "seat_diameter": 0.021, "cage_diameter": 0.0378, "base_travel": 0.002}
    piston = {"ball_diameter": 0.0222, "seat_diameter": 0.016, "cage_diameter": 0.0285, "travel": 0.005}
    return {
        "title": "invented",
        "material": {"viscosity": 5.0, "density": 1350.0, "vapour_pressure": 2000.0},
        "lower": {"bore": 0.048, "rod": 0.034, "stroke": 0.09},
        "inlet_check": check | inlet,
        "piston_check": check | piston,
        "shims": {"thicknesses": (0.001, 0.002, 0.004), "below": (1, 2)},
        "drive": {"profile": "constant speed", "cycle_rate": 0.5, "ramp_time": 0.03, "dwell_time": 0.04},
        "suction": {"hose_length": 1.5, "hose_diameter": 0.038, "lift": 0.3},
        "outlet": {"gauge_pressure": 1e7},
    }


@pytest.fixture
def scenario():
    return build(tables())


def test_inlet_travel_is_base_travel_plus_the_shims_below(scenario):
    assert scenario.inlet_travel == pytest.approx(0.005, rel=1e-15)
    assert with_shims_below(scenario, []).inlet_travel == 0.002
    assert with_shims_below(scenario, [3, 1]).inlet_travel == pytest.approx(0.007, rel=1e-15)


def test_dead_volumes_default_to_a_fifth_of_bore_area_times_stroke_and_follow_it(scenario):
    swept = math.pi / 4 * 0.048**2 * 0.09
    assert scenario.lower.lower_dead_volume == pytest.approx(0.2 * swept, rel=1e-15)
    longer = with_value(scenario, "lower.stroke", 0.18)
    assert longer.lower.upper_dead_volume == pytest.approx(0.4 * swept, rel=1e-15)


def test_a_short_hose_has_a_stiffer_port_by_default(scenario):
    assert scenario.suction.port_compliance == 1e-10
    short = with_values(
        scenario,
        {"suction.hose_length": 0.02, "suction.hose_diameter": 0.01, "suction.port_compliance": None},
    )
    volume = 0.5 * math.pi / 4 * 0.01**2 * 0.02
    assert short.suction.port_compliance == pytest.approx(0.1 * volume / 101325.0, rel=1e-12)


def test_a_port_that_could_give_more_than_it_holds_is_refused(scenario):
    """Half of the hose, 0.785 cc, for one atmosphere: 0.775 cc/bar."""
    changes = {"suction.hose_length": 0.02, "suction.hose_diameter": 0.01, "suction.port_compliance": 8e-12}
    with pytest.raises(ScenarioError, match="less than half the hose's volume"):
        with_values(scenario, changes)
    assert with_values(scenario, changes | {"suction.port_compliance": 7.7e-12})


def test_a_ball_of_exactly_the_largest_share_of_its_cage_is_allowed_however_it_rounds(scenario):
    """0.95 of some diameters, and half of them, round to more than 0.95 of the quotient."""
    from balltravel.setup.parameters import core_parameters

    for cage in (0.0362, 0.0366, 0.0369, 0.0378):
        ball = 0.95 * cage
        sizes = {"cage_diameter": cage, "ball_diameter": ball, "cage_length": 0.05}
        try:
            changed = with_values(scenario, {f"inlet_check.{key}": size for key, size in sizes.items()})
        except ScenarioError:
            assert ball / cage > 0.95
        else:
            core_parameters(changed)


def test_defaults_taken_names_what_was_not_given(scenario):
    taken = defaults_taken(scenario)
    assert "material.bulk_modulus" in taken
    assert "target.fill_fraction" in taken
    assert "material.viscosity" not in taken
    assert "inlet_check.stop_pad_diameter" not in taken  # it does not apply to pins
    assert "material.bulk_modulus" not in defaults_taken(with_value(scenario, "material.bulk_modulus", 2e9))


@pytest.mark.parametrize(
    ("key", "with_key", "value"),
    [
        ("material.gas_release_time", "material.dissolved_gas_fraction", 0.08),
        ("lower.piston_packing_length", "lower.piston_packing_gap", 2e-5),
        ("lower.rod_packing_length", "lower.rod_packing_gap", 2e-5),
    ],
)
def test_a_default_that_acts_only_with_another_key_is_told_where_it_acts(scenario, key, with_key, value):
    assert key not in defaults_taken(scenario)
    assert key in defaults_taken(with_value(scenario, with_key, value))


def test_a_hose_and_a_fixed_outlet_pressure_are_told_as_defaults(scenario):
    assert {"suction.line", "outlet.form"} <= set(defaults_taken(scenario))
    assert "suction.line" not in defaults_taken(with_value(scenario, "suction.line", "hose"))


def test_a_default_given_in_words_is_not_a_default_taken(scenario):
    same = with_value(scenario, "material.bulk_modulus", scenario.material.bulk_modulus)
    assert "material.bulk_modulus" not in defaults_taken(same)


def test_none_takes_a_key_out_again(scenario):
    harmonic = {"drive.profile": "harmonic", "drive.ramp_time": None, "drive.dwell_time": None}
    assert with_values(scenario, harmonic).drive.ramp_time == 0.0


def test_with_value_leaves_the_first_scenario_alone(scenario):
    other = with_value(scenario, "material.viscosity", 1.0)
    assert (scenario.material.viscosity, other.material.viscosity) == (5.0, 1.0)


def test_a_scenario_cannot_be_changed_in_place(scenario):
    with pytest.raises(ValidationError):
        scenario.material.viscosity = 1.0


@pytest.mark.parametrize(
    "key", ["material.viscosty", "viscosity", "nowhere.bore", "material", "lower.bore.x"]
)
def test_with_value_refuses_an_unknown_key(scenario, key):
    with pytest.raises(ScenarioError, match="unknown key"):
        with_value(scenario, key, 1.0)


@pytest.mark.parametrize(("key", "field"), FIELDS.items())
def test_values_outside_their_limits_are_refused_and_the_limits_are_told(scenario, key, field):
    quantity = quantity_of(field)
    if quantity is None or key == "shims.thicknesses":
        pytest.skip("no single quantity")
    for value in (quantity.low - 0.01 * quantity.high - 1e-9, 1.01 * quantity.high, math.nan, math.inf, "x"):
        with pytest.raises(ScenarioError) as caught:
            with_value(scenario, key, value)
        assert caught.value.faults[0].key == key


@pytest.mark.parametrize(("key", "field"), FIELDS.items())
def test_the_example_of_every_quantity_is_within_its_limits(key, field):
    quantity = quantity_of(field)
    if quantity is None or key == "shims.thicknesses":
        pytest.skip("no single quantity")
    assert quantity.low <= to_si(quantity.example, quantity.dimension) <= quantity.high


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("lower.rod", 0.048, "a rod smaller than the bore"),
        ("inlet_check.ball_diameter", 0.021, "larger than the bore of its seat"),
        ("piston_check.ball_diameter", 0.0285, "smaller than its cage"),
        ("piston_check.cage_diameter", 0.048, "smaller than the bore"),
        ("shims.below", (1, 4), "the numbers 1 to 3"),
        ("shims.below", (0,), "the numbers 1 to 3"),
        ("shims.below", (2, 2), "each shim at most once"),
        ("drive.ramp_time", 0.48, "less than half a cycle"),
        ("drive.ramp_time", 0.0, "a ramp longer than zero"),
        ("drive.ramp_time", None, "it must be given"),
        ("drive.profile", "harmonic", 'only with drive.profile = "constant speed"'),
        ("inlet_check.stop", "pad", "it must be given"),
        ("piston_check.stop_pad_diameter", 0.01, 'only with piston_check.stop = "pad"'),
        ("material.vapour_pressure", 101325.0, "less than the absolute pressure in tank and inlet port"),
        ("suction.tank_gauge_pressure", -97000.0, "less than the absolute pressure in tank and inlet port"),
        ("suction.tank_gauge_pressure", -99900.0, "less than the pressure on the tank carries"),
        ("suction.lift", 10.0, "less than the pressure on the tank carries: 7.65 m"),
        ("material.bulk_modulus", 2.4e7, "at least 5 times the pressure at outlet and tank"),
        ("inlet_check.cage_length", 0.02, "a cage at least as long as its ball"),
        ("inlet_check.cage_diameter", 0.0298, "a ball of 0.02 to 0.95 cage diameters"),
    ],
)
def test_values_that_contradict_each_other_are_refused(scenario, key, value, words):
    with pytest.raises(ScenarioError, match="allowed: ") as caught:
        with_value(scenario, key, value)
    assert words in str(caught.value)


def test_no_travel_at_all_is_refused(scenario):
    with pytest.raises(ScenarioError, match="ball travel is zero"):
        with_values(scenario, {"inlet_check.base_travel": 0.0, "shims.below": ()})


def test_a_ball_lighter_than_the_material_is_allowed(scenario):
    assert with_value(scenario, "inlet_check.ball_density", 1100.0).inlet_check.ball_density == 1100.0


def test_classes_built_directly_raise_the_error_of_pydantic():
    with pytest.raises(ValidationError, match="allowed"):
        Lower(bore=10.0, rod=0.034, stroke=0.09)
    with pytest.raises(ValidationError, match="a rod smaller"):
        Scenario.model_validate(tables() | {"lower": {"bore": 0.03, "rod": 0.034, "stroke": 0.09}})
    assert InletCheck(**tables()["inlet_check"]).discharge_coefficient == 0.7


@pytest.mark.parametrize("name", ["stain", "primer", "mastic", "mastic_close_cage"])
def test_every_story_is_read_and_its_sweep_can_be_built(name):
    found = read_scenario_file(STORIES / f"{name}.toml")
    assert found.scenario.inlet_travel == pytest.approx(0.005)
    assert "Invented" in found.text
    for key, values in found.sweep.items():
        for value in values:
            assert flat(with_value(found.scenario, key, value))[key] == value


def test_the_stories_differ_in_material_or_cage_alone():
    stories = [
        flat(read_scenario(STORIES / f"{name}.toml")) for name in ("primer", "mastic", "mastic_close_cage")
    ]
    material = {key for key in stories[0] if stories[0][key] != stories[1][key]}
    assert {key.split(".")[0] for key in material} == {"material"}
    assert {key for key in stories[1] if stories[1][key] != stories[2][key]} == {"inlet_check.cage_diameter"}


def test_settings_are_stronger_than_the_file_and_read_the_same_units():
    story = STORIES / "primer.toml"
    settings = [
        "material.viscosity=3500 cP",
        'lower.stroke="4 in"',
        "shims.below=[3]",
        "suction.loss_coefficient = 2",
        "target.fill_fraction=90 %",
        "drive.cycle_rate=1/2 1/s",
        "title=Another",
    ]
    scenario = read_scenario(story, settings)
    assert scenario.material.viscosity == 3.5
    assert scenario.lower.stroke == 0.1016
    assert scenario.shims.below == (3,)
    assert scenario.suction.loss_coefficient == 2.0
    assert scenario.target.fill_fraction == 0.9
    assert scenario.drive.cycle_rate == 0.5
    assert scenario.title == "Another"


def test_the_last_of_two_settings_of_a_key_counts():
    settings = ["material.viscosity=1 cP", "material.viscosity=2 cP"]
    assert read_scenario(STORIES / "primer.toml", settings).material.viscosity == 0.002


def test_a_grid_on_the_command_line_replaces_the_key_of_the_table_sweep():
    grid = ['material.viscosity=["100 cSt", "1 Pa.s"]', 'lower.stroke=["60 mm"]']
    sweep = read_scenario_file(STORIES / "primer.toml", ["material.density=1000 kg/m3"], grid).sweep
    assert sweep["material.viscosity"] == [pytest.approx(0.1, rel=1e-15), 1.0]
    assert sweep["lower.stroke"] == [0.06]
    assert sweep["shims.below"][3] == (1, 2)


def test_every_key_is_explained_in_the_docs_with_its_table():
    page = (STORIES.parent / "docs" / "scenario.md").read_text(encoding="utf-8")
    sections = {part.split("]")[0]: part for part in page.split("\n## [")[1:]}
    shared = {"inlet_check": "inlet_check] and [piston_check"}
    for key, field in FIELDS.items():
        table, name = key.split(".")
        section = next(
            part
            for part in sections.values()
            if part.startswith((f"{table}]", shared["inlet_check"])) and f"| `{name}` |" in part
        )
        quantity = quantity_of(field)
        if quantity:
            assert quantity.allowed() in section, key


@pytest.mark.parametrize(
    "settings",
    [(), ("drive.profile=harmonic",), ("inlet_check.stop=pad", "inlet_check.stop_pad_diameter=12 mm")],
)
def test_the_scenario_that_a_result_carries_reads_back(story, settings):
    scenario = story("primer", *settings)
    again = from_result(scenario.model_dump_json())
    assert flat(again) == flat(scenario)
    assert again.title == scenario.title


def test_a_setting_that_selects_another_form_takes_the_old_ones_keys_with_it(story):
    assert story("primer", "drive.profile=harmonic").drive.profile == "harmonic"
    with pytest.raises(ScenarioError, match="ramp_time only with"):
        story("primer", "drive.profile=harmonic", "drive.ramp_time=30 ms")
    with pytest.raises(ScenarioError, match="unsteady"):
        story("primer", "drive.profile=unsteady")
    same = story("primer", "drive.profile=constant speed")
    assert same.drive == story("primer").drive
