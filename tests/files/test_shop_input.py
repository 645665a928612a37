"""What a shop writes in a file and after --set: inches, readings, a ball's material, a motor's ratio."""

import tomllib

import pytest

from balltravel.files.read_write import as_written, read_scenario, read_scenario_file, read_week
from balltravel.scenario.model import FIELDS, ScenarioError, from_result, with_values
from balltravel.scenario.trade_names import _MEANT, EXAMPLES, meant_by, our_key
from balltravel.scenario.unknowns import origin_of, spreads_of
from balltravel.site.ball_materials import BALL_MATERIALS

from .test_broken_scenarios import STORY, TEXT, changed, line_of

AIR = STORY.with_name("stain_by_air.toml")


@pytest.fixture
def file(tmp_path):
    """Writes a scenario's text."""

    def write(text):
        path = tmp_path / "shop.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def refused(path, *settings):
    with pytest.raises(ScenarioError) as caught:
        read_scenario(path, settings)
    return caught.value.faults


@pytest.mark.parametrize("written", ["'1 1/4\"'", '"1 1/4\\""', '"1-1/4 in"', '"1.25 inches"'])
def test_inches_are_read_in_every_string_of_toml(file, written):
    assert read_scenario(file(changed("stroke", f"stroke = {written}"))).lower.stroke == 0.03175
    assert read_scenario(STORY, [f"inlet_check.ball_diameter={written}"]).inlet_check.ball_diameter == 0.03175


def test_inches_are_read_without_quotes_on_the_command_line():
    assert read_scenario(STORY, ['inlet_check.ball_diameter=1 1/4"']).inlet_check.ball_diameter == 0.03175
    thin = read_scenario(STORY, ["shims.thicknesses=['1/16\"', '1/8\"', '40 thou']"]).shims.thicknesses
    assert thin == pytest.approx((0.0015875, 0.003175, 0.001016), rel=1e-15)


def test_a_sign_of_inches_that_ends_its_string_is_answered_with_other_quotes(file):
    (fault,) = refused(file(changed("bore", 'bore = "1 7/8""')))
    assert fault.example == "ball_diameter = '1 1/4\"'"
    assert fault.line == line_of(TEXT, "bore")


@pytest.mark.parametrize(
    ("written", "viscosity", "rate"),
    [
        ("100 KU", 1.6, 70.2),
        ("Zahn 3, 25 s", 11.7e-6 * 17.5 * 1350.0, 337.0),
        ("ISO 4 mm, 60 s at 20 C", (1.37e-6 * 60 - 200e-6 / 60) * 1350.0, 265.0),
        ("3500 cps at 10 1/s", 3.5, 10.0),
    ],
)
def test_a_viscosity_by_an_instrument_is_a_reading(file, written, viscosity, rate):
    for scenario in (
        read_scenario(STORY, [f"material.viscosity={written}"]),
        read_scenario(file(changed("viscosity ", f'viscosity = "{written}"'))),
        read_scenario(file(changed("viscosity ", f'readings = ["{written}"]'))),
    ):
        (reading,) = scenario.material.readings
        assert scenario.material.viscosity is None
        assert reading.viscosity == pytest.approx(viscosity, rel=1e-12)
        assert reading.shear_rate == pytest.approx(rate, rel=5e-3)


def test_a_range_of_readings_is_a_reading(file):
    text = changed("viscosity ", 'viscosity = { low = "95 KU", high = "105 KU" }')
    scenario = read_scenario(file(text))
    assert scenario.material.readings[0].relative_uncertainty == pytest.approx(0.1615, abs=1e-4)
    assert scenario.ranges == {}
    assert read_scenario(file(TEXT), ['material.viscosity={ exactly = "95 KU" }']).material.readings


def test_what_was_written_is_kept():
    settings = ["material.viscosity=100 KU", 'inlet_check.ball_diameter=1 1/4"', "material.density=SG 1.35"]
    written = as_written(read_scenario_file(STORY, settings), STORY, settings)
    assert written["material.readings"] == "100 KU"
    assert written["inlet_check.ball_diameter"] == '1 1/4"'
    assert written["material.density"] == "SG 1.35"


def test_the_fault_of_a_viscosity_by_an_instrument_is_told_at_its_key(file):
    path = file(changed("viscosity ", 'viscosity = "60 KU"'))
    (fault,) = refused(path)
    assert (fault.key, fault.line) == ("material.viscosity", line_of(TEXT, "viscosity "))
    assert "reading" not in fault.given
    (fault,) = refused(STORY, "material.viscosity=3500 cP at 6 rpm")
    assert "inner_diameter" in fault.allowed
    assert fault.example.startswith("readings = [{ shear_rate")


def test_a_viscosity_that_was_set_replaces_what_the_file_says(file):
    by_readings = file(changed("viscosity ", 'readings = ["95 KU", "Zahn 5, 60 s"]'))
    assert len(read_scenario(by_readings, ["material.viscosity=100 KU"]).material.readings) == 1
    assert read_scenario(by_readings, ["material.viscosity=5 Pa.s"]).material.readings == ()
    krebs = file(changed("viscosity ", 'viscosity = "100 KU"'))
    assert read_scenario(krebs, ["material.viscosity=5 Pa.s"]).material.viscosity == 5.0
    assert len(read_scenario(krebs, ['material.readings=["95 KU", "90 KU"]']).material.readings) == 2


def test_a_viscosity_by_an_instrument_beside_readings_is_refused(file):
    faults = refused(file(changed("viscosity ", 'viscosity = "100 KU"\nreadings = ["95 KU"]')))
    assert "readings = [" in faults[0].example


def test_a_further_material_may_be_told_by_an_instrument(file):
    week = '\n[week."top coat"]\n"material.viscosity" = "90 KU"\n'
    _, coat = read_week(file(TEXT + week))
    assert coat.scenario.material.readings[0].viscosity == pytest.approx(1.2)


def test_readings_have_no_place_in_a_sweep():
    with pytest.raises(ScenarioError, match="a reading of an instrument"):
        read_scenario_file(STORY, (), ['material.viscosity=["90 KU", "100 KU"]'])


@pytest.mark.parametrize("name", BALL_MATERIALS)
def test_a_balls_material_tells_its_density_and_how_far_it_may_be(name):
    scenario = read_scenario(STORY, [f"inlet_check.ball_material={name}"])
    low, likely, high, source = BALL_MATERIALS[name]
    spread = spreads_of(scenario)["inlet_check.ball_density"]
    assert low < likely < high
    assert scenario.inlet_check.ball_density == likely == spread.likely
    assert spread.ends == (low, high)
    assert source in origin_of("inlet_check.ball_density", spread)
    assert "piston_check.ball_density" not in spreads_of(scenario)


def test_a_density_that_was_set_takes_the_place_of_the_balls_material(file):
    path = file(TEXT.replace("ball_density = ", 'ball_material = "alumina" #', 1))
    assert read_scenario(path).inlet_check.ball_density == 3890.0
    scenario = read_scenario(path, ["inlet_check.ball_density=7800 kg/m3"])
    assert scenario.inlet_check.ball_density == 7800.0
    assert scenario.ranges == {}
    assert with_values(read_scenario(path), {"inlet_check.ball_density": 3700.0}).ranges == {}


def test_tungsten_carbide_is_what_its_parts_are_by_their_volumes():
    low, likely, high, _ = BALL_MATERIALS["tungsten carbide"]
    mixed = [1.0 / (cobalt / 8900.0 + (1.0 - cobalt) / 15700.0) for cobalt in (0.15, 0.06, 0.03)]
    assert (low, likely, high) == pytest.approx(mixed, rel=0.01)


def test_a_density_and_a_material_are_not_both_given(file):
    path = file(TEXT.replace("ball_density", 'ball_material = "steel"\nball_density', 1))
    (fault,) = refused(path)
    assert fault.given == "given although inlet_check.ball_material is"
    (fault,) = refused(STORY, "inlet_check.ball_material=ceramic")
    assert "zirconia" in fault.allowed


def test_a_material_of_a_ball_goes_through_a_result_and_a_sweep():
    scenario = read_scenario(STORY, ["inlet_check.ball_material=PTFE"])
    assert from_result(scenario.model_dump_json()).inlet_check == scenario.inlet_check
    sweep = read_scenario_file(STORY, (), ['inlet_check.ball_material=["steel", "PTFE"]']).sweep
    assert sweep["inlet_check.ball_density"] == [7850.0, 2170.0]


@pytest.mark.parametrize("setting", ["drive.ratio=30:1", "drive.area_ratio=30:1", "drive.ratio=30"])
def test_a_motor_may_be_told_by_its_ratio(setting):
    assert read_scenario(AIR, [setting]).drive.area_ratio == 30.0


def test_a_ratio_in_a_file_is_refused_at_its_own_key(file):
    text = AIR.read_text(encoding="utf-8").replace("area_ratio", "ratio")
    assert read_scenario(file(text)).drive.area_ratio == read_scenario(AIR).drive.area_ratio
    text = "\n".join('ratio = "1:30"' if line.startswith("ratio") else line for line in text.splitlines())
    (fault,) = refused(file(text))
    assert fault.key == "drive.ratio"
    text = text.replace('ratio = "1:30"', "ratio = 30\narea_ratio = 30")
    (fault,) = refused(file(text))
    assert "given although drive.ratio is" in fault.given


def test_the_page_has_every_material_of_a_ball_with_its_densities_and_source():
    page = (STORY.parents[1] / "docs" / "scenario.md").read_text(encoding="utf-8")
    for name, (low, likely, high, source) in BALL_MATERIALS.items():
        assert f"| `{name}` | {low:g} | {likely:g} | {high:g} | {source} |" in page


@pytest.mark.parametrize(
    "written", ["100 KU", "ISO 4 mm, 60 s at 23 C", "Zahn 3, 25 s", "150 SUS at 100 F", "3500 cP at 10 1/s"]
)
def test_every_viscosity_of_the_page_is_read(written):
    page = (STORY.parents[1] / "docs" / "scenario.md").read_text(encoding="utf-8")
    assert f'viscosity = "{written}"' in page
    settings = [f"material.viscosity={written}", "material.temperature_law=Andrade"]
    read = read_scenario(STORY, [*settings, "material.activation_energy=40 kJ/mol"])
    assert len(read.material.readings) == 1


@pytest.mark.parametrize(
    ("setting", "meant", "example"),
    [
        ("inlet_check.ball_materal=steel", "inlet_check.ball_material", 'ball_material = "steel"'),
        ("piston_check.material=steel", "piston_check.ball_material", 'ball_material = "steel"'),
        ("drive.raito=30:1", "drive.ratio", 'ratio = "30:1"'),
        ("drive.cpm=30", "drive.cycle_rate", 'cycle_rate = "30 cpm"'),
        ("material.krebs=100", "material.viscosity", 'viscosity = "100 KU"'),
        ("material.zahn=3", "material.viscosity", 'viscosity = "Zahn 3, 25 s"'),
        ("material.specific_gravity=1.35", "material.density", 'density = "1.35 SG"'),
        ("lower.bore_diameter=48 mm", "lower.bore", 'bore = "48 mm"'),
        ("lower.sroke=90 mm", "lower.stroke", 'stroke = "90 mm"'),
        ("outlet.tip=1 mm", "outlet.tip_diameter", "tip_diameter = "),
    ],
)
def test_a_key_in_the_words_of_a_shop_is_answered_with_the_one_that_is_meant(setting, meant, example):
    (fault,) = refused(STORY, setting)
    assert fault.given == f'unknown key (did you mean "{meant}"?)'
    assert fault.example.startswith(example)
    assert our_key(meant) in FIELDS


def test_every_word_of_a_shop_means_a_key_that_there_is():
    for key, example in EXAMPLES.items():
        assert our_key(key) in FIELDS
        name, _, value = example.partition(" = ")
        assert key.endswith(name)
        assert tomllib.loads(f"value = {value}")
    for table, words in _MEANT.items():
        for word in words:
            meant, example = meant_by(f"{table}.{word}")
            assert our_key(meant) in FIELDS, word
            assert not example or meant.endswith(example.partition(" = ")[0]), word


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Stainless Steel", "stainless"),
        ("carbide", "tungsten carbide"),
        ("nylon", "polyamide"),
        ("ptfe", "PTFE"),
    ],
)
def test_a_balls_material_may_have_its_other_names(file, text, name):
    made_of = read_scenario(file(TEXT.replace("ball_density = ", f'ball_material = "{text}" #', 1)))
    assert made_of.inlet_check.ball_density == BALL_MATERIALS[name].likely


@pytest.mark.parametrize("raw", ['["steel", "stainless"]', "7.8", "{ low = 'steel' }"])
def test_a_balls_material_that_is_no_name_is_refused(file, raw):
    (fault,) = refused(file(TEXT.replace("ball_density = ", f"ball_material = {raw} #", 1)))
    assert "tungsten carbide" in fault.allowed


def test_check_shows_a_reading_as_it_was_written_with_its_viscosity(capsys):
    from balltravel.cli.main import main

    for setting, shown in (
        ("material.viscosity=100 KU", "100 KU (1.6 Pa.s at 70.2 1/s)"),
        ('material.readings=["95 KU", "Zahn 5, 60 s"]', "95 KU, Zahn 5, 60 s (2 readings, see"),
    ):
        assert main(["check", str(STORY), "--all", "--set", setting]) == 0
        (line,) = [row for row in capsys.readouterr().out.splitlines() if row.startswith("material.readings")]
        assert shown in line
