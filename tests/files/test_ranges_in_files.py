"""Ranges as they are written in a scenario file, in settings and in the week."""

import re

import pytest

from balltravel.files.read_write import as_written, read_scenario, read_scenario_file, read_week
from balltravel.scenario.model import ScenarioError
from balltravel.scenario.unknowns import range_in_words, spreads_of

from .test_broken_scenarios import STORY, TEXT, changed, line_of


@pytest.fixture
def file(tmp_path):
    """Writes a scenario's text."""

    def write(text):
        path = tmp_path / "ranges.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


FORMS = [
    ("viscosity", '{ low = "2 Pa.s", likely = "5 Pa.s", high = "9 Pa.s" }', "2 to 9 Pa.s, likely 5 Pa.s"),
    ("viscosity", '{ low = "2 Pa.s", high = "8000 cP" }', "2 to 8 Pa.s"),
    ("viscosity", '{ likely = "5 Pa.s", within = "25 %" }', "5 Pa.s within 25 %"),
    ("viscosity", '{ likely = "5 Pa.s", within = "x 2" }', "about 5 Pa.s (2.5 to 10)"),
    (
        "viscosity",
        '{ likely = "4000 cSt", within = "500 cSt" }',
        "5.4 Pa.s +- 0.68 Pa.s, in proportion to the density",
    ),
    ("density", '{ likely = "1.35 kg/l", within = "50 kg/m3" }', "1350 kg/m3 +- 50 kg/m3"),
    ("bore", '{ likely = "48 mm", within = "0.05 mm" }', "48 mm +- 0.05 mm"),
    ("loss_coefficient", "{ low = 1, likely = 1.5, high = 4 }", "1 to 4, likely 1.5"),
    ("lift", '{ low = "-0.2 m", high = "0.5 m" }', "-200 to 500 mm"),
    ("free_gas_fraction", '"unknown"', "0.2 to 2 %"),
    ("ramp_time", '"unknown"', "10 to 60 ms, likely 30 ms"),
    ("port_compliance", '"unknown"', "about 10 cc/bar (2.5 to 40)"),
    ("viscosity", '"4000 cSt"', "about 5.4 Pa.s (3.6 to 8.1), in proportion to the density"),
    (
        "viscosity",
        '{ distribution = "lognorm", s = 0.3, scale = "5 Pa.s" }',
        "lognorm (s = 0.3, scale = 5; loc and scale in SI)",
    ),
]


@pytest.mark.parametrize(("name", "written", "words"), FORMS)
def test_a_range_may_be_written_for_a_value(file, name, written, words):
    scenario = read_scenario(file(changed(f"{name} ", f"{name} = {written}")))
    key = next(key for key in spreads_of(scenario) if key.split(".")[1] == name)
    assert range_in_words(key, spreads_of(scenario)[key]) == words


@pytest.mark.parametrize(("name", "written", "words"), FORMS)
def test_set_takes_the_same(file, name, written, words):
    plain = read_scenario(file(TEXT))
    key = next(key for key in spreads_of(plain) if key.split(".")[1] == name)
    scenario = read_scenario(file(TEXT), [f"{key}={written}"])
    assert range_in_words(key, spreads_of(scenario)[key]) == words


def test_a_table_of_its_own_is_the_same_range(file):
    text = changed("viscosity ", "").replace(
        "[lower]", '[material.viscosity]\nlow = "2 Pa.s"\nhigh = "9 Pa.s"\n\n[lower]', 1
    )
    assert read_scenario(file(text)).ranges["material.viscosity"].numbers == (2.0, 9.0)


def test_a_value_that_is_known_is_not_drawn(file):
    scenario = read_scenario(file(changed("viscosity ", 'viscosity = { exactly = "5 Pa.s" }')))
    assert scenario.material.viscosity == 5.0
    assert "material.viscosity" not in spreads_of(scenario)


def test_a_plain_value_set_over_a_range_takes_it_away(file):
    text = changed("viscosity ", 'viscosity = { low = "2 Pa.s", high = "9 Pa.s" }')
    assert read_scenario(file(text), ["material.viscosity=5 Pa.s"]).ranges == {}


def test_a_file_without_ranges_has_none(file):
    assert read_scenario(file(TEXT)).ranges == {}
    assert "ranges" not in read_scenario(file(TEXT)).model_fields_set


def test_the_keys_of_another_choice_may_be_given(file):
    text = changed(
        "flow ", 'flow = ["Newtonian", "power law"]\nthinning_exponent = { low = 0.5, high = 0.9 }'
    )
    scenario = read_scenario(file(text))
    assert (scenario.material.flow, scenario.material.thinning_exponent) == ("Newtonian", None)
    assert {"material.flow", "material.thinning_exponent"} <= spreads_of(scenario).keys()


def test_a_choice_set_as_several_keeps_what_belongs_to_one_of_them():
    file = STORY.with_name("primer_conical_seat.toml")
    settings = ['inlet_check.seat=["edge", "cone"]', "inlet_check.seat_land_width=0 mm"]
    scenario = read_scenario(file, settings)
    assert scenario.inlet_check.seat_half_angle is None
    assert scenario.ranges["inlet_check.seat_half_angle"].is_exact
    assert read_scenario(file, ["inlet_check.seat=edge", settings[1]]).ranges == {}


def test_a_further_material_of_the_week_has_its_own_ranges(file):
    more = """
[week."timber stain"]
"material.viscosity" = { low = "0.05 Pa.s", likely = "0.1 Pa.s", high = "0.2 Pa.s" }
material.density = { likely = "950 kg/m3", within = "5 %" }
"""
    text = changed("viscosity ", 'viscosity = { low = "2 Pa.s", high = "9 Pa.s" }')
    own, stain = read_week(file(text + more))
    assert own.scenario.ranges.keys() == {"material.viscosity"}
    assert stain.scenario.ranges.keys() == {"material.viscosity", "material.density"}
    assert stain.scenario.ranges["material.viscosity"].likely == 0.1


def test_unknown_is_no_value_that_was_written(file):
    path = file(changed("free_gas_fraction ", 'free_gas_fraction = "unknown"'))
    assert "material.free_gas_fraction" not in as_written(read_scenario_file(path), path)


def test_all_faults_are_told_at_their_lines(file):
    text = changed("title ", 'title = { low = "a", high = "b" }')
    text = changed("viscosity ", 'viscosity = { low = "9 Pa.s", likely = "5 cm", high = "2e9 Pa.s" }', text)
    text = changed("density ", 'density = { low = "1 kg/m3", high = "20000 kg/m3" }', text)
    text = changed("bore ", 'bore = { likely = "48 mm", within = "-1 mm" }', text)
    text = changed("rod ", 'rod = { likely = "34 mm", within = "120 %" }', text)
    text = changed("stroke ", 'stroke = { low = "80 mm" }', text)
    text = changed("thicknesses ", 'thicknesses = { low = "1 mm", high = "2 mm" }', text)
    text = changed("below ", "below = 'unknown'", text)
    text = changed("profile ", 'profile = ["constant speed", "fast"]', text)
    text = changed("cycle_rate ", 'cycle_rate = { distribution = "no_such", s = "a" }', text)
    text = changed("lift ", 'lift = { likely = "0 m", within = "20 %" }', text)
    text = changed(
        "delivery " if "\ndelivery " in text else "fill_fraction ", 'fill_fraction = "unknown"', text
    )
    path = file(text)
    with pytest.raises(ScenarioError) as caught:
        read_scenario_file(path)
    told = [(fault.line, fault.key) for fault in caught.value.faults]
    for start in (
        "title",
        "density",
        "bore",
        "rod",
        "stroke",
        "thicknesses",
        "below",
        "profile",
        "cycle_rate",
    ):
        assert any(line == line_of(text, f"{start} ") and key.endswith(start) for line, key in told), start
    assert told.count((line_of(text, "density "), "material.density")) == 2, "both ends"
    for sentence in str(caught.value).splitlines():
        assert re.match(rf"{re.escape(str(path))}:\d+: .+; allowed: .+; example: .+", sentence), sentence


def test_an_end_that_contradicts_the_rest_is_told_at_its_line(file):
    text = changed("rod ", 'rod = { low = "30 mm", high = "50 mm" }')
    with pytest.raises(ScenarioError, match="at 50 mm, the upper end of its range") as caught:
        read_scenario(file(text))
    assert caught.value.faults[0].line == line_of(text, "rod ")


def test_a_range_has_no_place_in_a_sweep(file):
    text = changed('"material.viscosity" = ', '"material.viscosity" = { low = "2 Pa.s", high = "9 Pa.s" }')
    with pytest.raises(ScenarioError, match="an array of 1 to"):
        read_scenario(file(text))


def test_a_table_that_is_none_is_told_as_one(file):
    with pytest.raises(ScenarioError, match="a table on one line, its texts in quotes"):
        read_scenario(file(TEXT), ["material.viscosity={ low = 2 Pa.s, high = 9 Pa.s }"])


@pytest.mark.parametrize(
    "written",
    [
        "{}",
        "[]",
        "[[]]",
        "[1]",
        '{ exactly = ["edge"] }',
        "{ exactly = {} }",
        '{ low = "1 mm" }',
        '["edge", "edge"]',
    ],
)
def test_no_nonsense_for_a_choice_is_more_than_a_fault(file, written):
    with pytest.raises(ScenarioError):
        read_scenario(file(TEXT), [f"inlet_check.seat={written}"])


@pytest.mark.parametrize(
    "written",
    [
        "{}",
        "[]",
        '["1 mm", "2 mm"]',
        '{ low = { low = "1 mm" }, high = [] }',
        '{ likely = "2 mm", within = true }',
        '{ likely = "2 mm", within = "x 0.5" }',
        '{ likely = "2 mm", within = "x 1.2.3" }',
        '{ likely = "2 mm", within = "nan %" }',
        "{ distribution = 3 }",
        '{ distribution = "norm", scale = "-1 mm" }',
        '{ distribution = "norm", loc = "2 mm", s = 3 }',
        '{ distribution = "lognorm", s = nan, scale = "2 mm" }',
        '{ distribution = "lognorm", s = inf, scale = "2 mm" }',
        '{ distribution = "lognorm", loc = true, scale = "2 mm" }',
    ],
)
def test_no_nonsense_for_a_quantity_is_more_than_a_fault(file, written):
    with pytest.raises(ScenarioError):
        read_scenario(file(TEXT), [f"inlet_check.base_travel={written}"])
