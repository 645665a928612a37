"""Materials by readings, laws and temperatures in whole scenarios: their files' faults, and the program's
answers against each other and against hand calculation."""

import math
import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balltravel import ScenarioError, recommend, simulate, sweep, with_values
from balltravel.cli.main import main
from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.cycle.dataset import cycle_metrics
from balltravel.estimate.suction_losses import peak_flow, suction_losses
from balltravel.files.read_write import read_scenario_file
from balltravel.files.week import parse_scenario
from balltravel.material.model import material_model
from balltravel.material.pipe_flow import drop
from balltravel.material.temperature_laws import GAS_CONSTANT
from balltravel.scenario.model import FIELDS, build, flat, from_result
from balltravel.setup.flow_curves import density_of
from balltravel.setup.parameters import core_parameters

from ..files.test_broken_scenarios import TEXT, changed, line_of

VISCOSITY = 'viscosity = "5 Pa.s"'
RATES = (1.0, 10.0, 100.0)
THREE = [f'{{ shear_rate = "{r} 1/s", viscosity = "{40 / math.sqrt(r)} Pa.s" }}' for r in RATES]


def with_material(*lines, suction=()):
    """The story with these lines in place of its viscosity and its law of flow, and more under [suction]."""
    text = re.sub(r"^flow = .*\n", "", changed("viscosity", "@lines@"), flags=re.MULTILINE)
    text = text.replace("@lines@", "\n".join(lines))
    return text.replace("[suction]\n", "\n".join(["[suction]", *suction, ""]))


def readings(*tables):
    """The key with its array."""
    return "readings = [{}]".format(",\n".join(tables))


@pytest.fixture
def read(tmp_path):
    """A text as a scenario, by its file."""

    def file(text, settings=(), grid=()):
        path = tmp_path / "material.toml"
        path.write_text(text, encoding="utf-8")
        return read_scenario_file(path, settings, grid).scenario

    return file


@pytest.fixture
def faults(read):
    """The faults of a text; each has its place, its key, what was given, what is allowed and an example."""

    def found(text, settings=(), grid=()):
        begun = time.perf_counter()
        with pytest.raises(ScenarioError) as caught:
            read(text, settings, grid)
        assert time.perf_counter() - begun < 2.0
        for fault in caught.value.faults:
            assert all((fault.where, fault.key, fault.given, fault.allowed, fault.example)), fault
        return caught.value.faults

    return found


LAW = 'temperature_law = "Andrade"'
WARM = '{ viscosity = "2 Pa.s", temperature = "40 degC" }'
COLD = '{ viscosity = "5 Pa.s" }'

# Lines in place of the viscosity, the key that is blamed, words of the fault.
WRONG = [
    ([readings()], "material.readings", "1 to 200 readings"),
    ([readings(*[COLD] * 201)], "material.readings", "1 to 200 readings"),
    ([f"readings = {COLD}"], "material.readings", "a table given"),
    (['readings = "60 s"'], "material.readings", '"60 s" given'),
    ([readings('"60 s"')], "material.readings", "reading 1: no instrument given"),
    ([readings(COLD, '{ viscosity = "5 m" }')], "material.readings", "reading 2: viscosity"),
    ([VISCOSITY, readings(COLD)], "material.viscosity", "given although readings are"),
    ([readings(COLD), "thinning_exponent = 0.5", 'flow = "power law"'], "material.thinning_exponent",
     "although readings are"),
    ([readings(THREE[0]), 'flow = "power law"'], "material.readings", "2 or more different ones"),
    ([readings(COLD), 'flow = "shear-thinning"'], "material.flow", "with readings"),
    ([readings(COLD, WARM)], "material.temperature_law", "several temperatures"),
    ([LAW, readings(COLD)], "material.temperature_law", "one temperature"),
    (['temperature_law = "Vogel"', readings(COLD, WARM)], "material.temperature_law", "3 temperatures"),
    (['temperature_law = "Andrad"', VISCOSITY], "material.temperature_law", 'did you mean "Andrade"'),
    ([VISCOSITY, 'activation_energy = "40 kJ/mol"'], "material.activation_energy", "only with"),
    ([VISCOSITY, 'activation_energy = "40 kJ/mol"', 'temperature_law = "Vogel"'],
     "material.activation_energy", "only with"),
    ([LAW, 'activation_energy = "40 kJ/mol"', readings(COLD, WARM)], "material.activation_energy",
     "several temperatures"),
    ([LAW, VISCOSITY, "activation_energy = 40"], "material.activation_energy", "kJ/mol"),
    ([LAW, VISCOSITY, 'activation_energy = "40 kJ"'], "material.activation_energy", "another kind"),
    ([LAW, VISCOSITY, 'activation_energy = "4000 kJ/mol"'], "material.activation_energy", "1 kJ/mol to 300"),
    ([VISCOSITY, "thermal_expansion = 0.0007"], "material.thermal_expansion", "1/K"),
    ([VISCOSITY, 'thermal_expansion = "1 1/K"'], "material.thermal_expansion", "0 1/K to 0.002 1/K"),
    ([VISCOSITY, "stated_temperature = 20"], "material.stated_temperature", "degC"),
    ([VISCOSITY, 'stated_temperature = "300 degC"'], "material.stated_temperature", "-50 degC to 200"),
    ([VISCOSITY, 'stated_temperature = "30 degC"'], "material.temperature", "stated at 30 degC"),
    ([VISCOSITY, "viscosity_factor = 0"], "material.viscosity_factor", "0.01 to 100"),
    ([VISCOSITY, 'viscosity_factor = "2 Pa.s"'], "material.viscosity_factor", "bare number"),
    ([VISCOSITY, "viscosity_factor = nan"], "material.viscosity_factor", "bare number"),
    ([VISCOSITY, "rested_ratio = 0.5"], "material.rested_ratio", "1 to 100"),
    ([VISCOSITY, 'doubling_time = "0 s"'], "material.doubling_time", "1 s to 278 h"),
    ([VISCOSITY, "doubling_time = 40"], "material.doubling_time", "min"),
    ([VISCOSITY, 'age = "5 min"'], "material.age", "nothing grows"),
    ([VISCOSITY, 'age = "5 Pa"', 'doubling_time = "1 h"'], "material.age", "another kind"),
    ([VISCOSITY, 'age = "277 h"', 'doubling_time = "1 s"'], "material.age", "viscosity of"),
    ([readings(COLD, '{ viscosity = "9 Pa.s", age = "1 h" }'), 'doubling_time = "1 h"'],
     "material.doubling_time", "several ages"),
    ([readings(COLD, '{ viscosity = "9 Pa.s", state = "rested" }'), "rested_ratio = 2"],
     "material.rested_ratio", "although rested readings are"),
    ([readings(COLD, '{ viscosity = "2 Pa.s", age = "1 h" }')], "material.readings", "falls with age"),
    ([readings(COLD, '{ viscosity = "2 Pa.s", state = "rested" }')], "material.readings", "thinner"),
    ([VISCOSITY, 'flow = "Carreau"', 'least_viscosity = "6 Pa.s"', 'thinning_onset = "1 1/s"',
      "thinning_exponent = 0.5"], "material.least_viscosity", "at most the viscosity at rest"),
    ([VISCOSITY, 'flow = "Casson"'], "material.yield_stress", "missing"),
    ([VISCOSITY, 'flow = "Bingham"'], "material.flow", '"Herschel-Bulkley"'),
    (['flow = "Casson"', 'yield_stress = "1 Pa"'], "material.viscosity", "or material.readings"),
    ([VISCOSITY, 'redings = ["x"]'], "material.redings", 'did you mean "material.readings"'),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "key", "words"), WRONG, ids=[f"{one[1]}: {one[2]}" for one in WRONG])
def test_a_material_that_cannot_be_is_blamed_at_its_key(faults, lines, key, words):
    text = with_material(*lines)
    (found,) = faults(text)
    assert found.key == key
    assert words in str(found)
    name = key.split(".")[1]
    if re.search(rf"^{name}\b", text, re.MULTILINE):
        assert found.line == line_of(text, name)


def test_all_faults_of_a_file_come_at_once(faults):
    """Of every reading, of keys that contradict each other, and of other tables."""
    text = with_material(
        readings("{ krebs = 20 }", '{ cup = "ISO 4 mm" }', COLD), 'activation_energy = "40 kJ/mol"',
        'doubling_time = "0 s"', 'suction_temperature = "5 degC"',
    )  # fmt: skip
    found = faults(changed("stroke", 'stroke = "9 s"', text))
    assert sorted(fault.key for fault in found) == [
        "lower.stroke", "material.activation_energy", "material.doubling_time", "material.readings",
        "material.readings", "material.suction_temperature",
    ]  # fmt: skip


def test_what_readings_contradict_is_told_together_with_faults_of_other_tables(faults):
    text = changed("stroke", 'stroke = "9 s"', with_material(readings(COLD, WARM)))
    assert [fault.key for fault in faults(text)] == ["material.temperature_law", "lower.stroke"]


def test_a_suction_temperature_that_nothing_is_known_of_is_blamed(faults):
    (found,) = faults(with_material(VISCOSITY, suction=['temperature = "5 degC"']))
    assert (found.key, "stated at 20 degC" in found.given) == ("suction.temperature", True)
    vogel = [readings(COLD, WARM, '{ viscosity = "1.2 Pa.s", temperature = "60 degC" }')]
    (found,) = faults(
        with_material(*vogel, 'temperature_law = "Vogel"', suction=['temperature = "-50 degC"'])
    )
    assert found.key == "suction.temperature"


def test_readings_are_not_swept(faults):
    value = f"[[{COLD}], [{WARM}]]"
    for text, grid in ((f"{TEXT}\n", [f"material.readings={value}"]),
                       (changed('"material.viscosity"', f'"material.readings" = {value}'), [])):  # fmt: skip
        found = [fault for fault in faults(text, grid=grid) if "readings swept" in fault.given]
        assert "viscosity_factor" in found[0].allowed


def test_a_setting_of_readings_replaces_the_viscosity_and_the_other_way_round(read, faults):
    set_readings = f"material.readings=[{COLD.replace('5', '7')}]"
    assert material_model(read(TEXT, [set_readings]).material).viscosity(1.0, 293.15) == pytest.approx(7.0)
    by_readings = with_material(readings(COLD))
    assert read(by_readings, ["material.viscosity=3 Pa.s"]).material.readings == ()
    (found,) = faults(TEXT, [set_readings, "material.viscosity=3 Pa.s"])
    assert found.where.startswith("--set ")


def test_a_setting_without_a_temperature_law_takes_the_energy_with_it(read):
    text = with_material(VISCOSITY, LAW, 'activation_energy = "40 kJ/mol"')
    assert read(text, ["material.temperature_law=none"]).material.activation_energy is None


def test_a_broken_reading_in_a_setting_is_blamed_as_a_setting(faults):
    (found,) = faults(TEXT, ["material.readings=[{ krebs = 20 }]"])
    assert (found.key, found.where[:6]) == ("material.readings", "--set ")


def test_readings_made_by_code_are_validated(story):
    tables = story("primer").model_dump(exclude_unset=True)
    del tables["material"]["viscosity"]
    tables["material"]["readings"] = [(math.nan, None, None, 0.05, "by code", "worked", None)]
    with pytest.raises(ScenarioError) as caught:
        build(tables)
    assert caught.value.faults[0].key.startswith("material.readings")


def test_a_cup_in_a_file_is_taken_at_its_own_temperatures_density(read):
    """ISO 4 mm, 60 s: 1.37 60 - 200/60 mm2/s; 30 K above the stated temperature at 1e-3 1/K."""
    cup = '{ cup = "ISO 4 mm", time = "60 s", temperature = "50 degC" }'
    more = ('stated_temperature = "20 degC"', 'thermal_expansion = "0.001 1/K"')
    text = with_material(readings(cup), *more)
    nu = (1.37 * 60.0 - 200.0 / 60.0) * 1e-6
    scenario = read(text, ["material.temperature=50 degC"])
    assert material_model(scenario.material).viscosity(1.0, 323.15) == pytest.approx(
        nu * 1350.0 / 1.03, rel=1e-9
    )
    assert density_of(scenario.material) == pytest.approx(1350.0 / 1.03, rel=1e-12)


def test_a_factor_at_its_end_goes_with_any_viscosity(read):
    """The recommendation multiplies the factor: that must not make a scenario that cannot be."""
    text = with_material('viscosity = "10000 Pa.s"', 'doubling_time = "1 h"', 'age = "9 h"')
    thick = read(text, ["material.viscosity_factor=100"])
    assert material_model(thick.material).viscosity(1.0, 293.15) == pytest.approx(100.0 * 2**9 * 1e4)


ANY = st.sampled_from(
    ['"5 Pa.s"', '"20 degC"', '"45 degC"', '"10 1/s"', '"40 kJ/mol"', '"0.001 1/K"', '"30 min"', "3", "0.5",
     "nan", "inf", "-1", "true", "[]", "{}", '"Andrade"', '"Vogel"', '"ASTM D341"', '"Casson"', '"Carreau"',
     '"none"', '"1e300 s"', '"5,5 Pa.s"', "2024-01-01", readings(COLD), readings(COLD, WARM),
     readings(*THREE)]
).map(lambda text: text.removeprefix("readings = "))  # fmt: skip
MATERIAL_KEYS = [key.removeprefix("material.") for key in FIELDS if key.startswith("material.")]


@settings(max_examples=300)
@given(st.dictionaries(st.sampled_from([*MATERIAL_KEYS, "viscosty"]), ANY, max_size=8))
def test_any_values_at_any_keys_are_a_scenario_or_faults_with_all_that_is_told(values):
    rest = {"density": '"1350 kg/m3"', "vapour_pressure": '"2 kPa"', **values}
    own = "\n".join(["[material]", *(f"{key} = {value}" for key, value in rest.items()), "", ""])
    text = re.sub(r"\[material\].*?\n\n", lambda _: own, TEXT, count=1, flags=re.DOTALL)
    try:
        scenario, *_ = parse_scenario(text, "any.toml")
    except ScenarioError as error:
        for fault in error.faults:
            assert all((fault.where, fault.key, fault.given, fault.allowed, fault.example)), fault
    else:
        core_parameters(scenario)


# --- the whole program

SIMILAR = {
    "Bingham without yield stress": {"material.flow": "Herschel-Bulkley", "material.yield_stress": 0.0,
                                     "material.thinning_exponent": 1.0},
    "power law of exponent one": {"material.flow": "power law", "material.thinning_exponent": 1.0},
    "Casson without yield stress": {"material.flow": "Casson", "material.yield_stress": 0.0},
    "Carreau of exponent one": {"material.flow": "Carreau", "material.thinning_exponent": 1.0,
                                "material.thinning_onset": 1.0, "material.least_viscosity": 0.1},
    "Cross that does not thin": {"material.flow": "Cross", "material.thinning_exponent": 0.5,
                                 "material.thinning_onset": 1.0, "material.least_viscosity": 5.0},
}  # fmt: skip


def same_cycle(one, other, rel):
    """Whether two scenarios' cycles agree."""
    found, expected = cycle_metrics(simulate(one)), cycle_metrics(simulate(other))
    assert found.fill_fraction == pytest.approx(expected.fill_fraction, rel=rel)
    assert found.volumetric_efficiency == pytest.approx(expected.volumetric_efficiency, rel=rel)
    assert found.lowest_chamber_pressure == pytest.approx(expected.lowest_chamber_pressure, rel=10 * rel)


@pytest.mark.parametrize("keys", SIMILAR.values(), ids=SIMILAR)
def test_every_law_has_its_newtonian_limit(story, keys):
    primer = story("primer")
    same_cycle(with_values(primer, keys), primer, 1e-6)


def test_a_carreau_liquid_far_above_its_onset_is_a_power_law(story):
    """eta0 (rate/onset)^(n - 1): the consistency is eta0 onset^(1 - n)."""
    onset, n = 1e-4, 0.6
    carreau = {"material.flow": "Carreau", "material.thinning_exponent": n, "material.thinning_onset": onset,
               "material.least_viscosity": 0.0, "material.viscosity": 10.0 * onset ** (n - 1.0)}  # fmt: skip
    power = {"material.flow": "power law", "material.thinning_exponent": n, "material.viscosity": 10.0}
    primer = story("primer")
    same_cycle(with_values(primer, carreau), with_values(primer, power), 1e-5)


def test_readings_without_scatter_are_the_material_that_was_read(read):
    by_readings = read(with_material(readings(*THREE), 'flow = "power law"'))
    by_keys = read(with_material('viscosity = "40 Pa.s"', 'flow = "power law"', "thinning_exponent = 0.5"))
    same_cycle(by_readings, by_keys, 1e-6)


def test_a_factor_of_two_is_twice_the_viscosity_and_the_yield_stress(story):
    paste = {"material.flow": "Herschel-Bulkley", "material.yield_stress": 10.0,
             "material.thinning_exponent": 0.6}  # fmt: skip
    primer = story("primer")
    twice = with_values(primer, {**paste, "material.viscosity_factor": 2.0})
    same = with_values(primer, {**paste, "material.viscosity": 10.0, "material.yield_stress": 20.0})
    same_cycle(twice, same, 1e-9)


def test_a_cold_hose_loses_more_by_andrades_ratio(read):
    """Without heads Poiseuille's loss goes as the viscosity; the check in the warm lower does not change."""
    settings = ["suction.loss_coefficient=0"]
    lines = [VISCOSITY, LAW, 'activation_energy = "40 kJ/mol"']
    cold = suction_losses(read(with_material(*lines, suction=['temperature = "5 degC"']), settings))
    even = suction_losses(read(with_material(*lines), settings))
    ratio = math.exp(4e4 / GAS_CONSTANT * (1.0 / 278.15 - 1.0 / 293.15))
    assert cold.hose == pytest.approx(ratio * even.hose, rel=1e-12)
    assert (cold.passage, cold.gap) == (even.passage, even.gap)


def test_a_warm_lower_takes_less_by_andrades_ratio(read):
    lines = [VISCOSITY, LAW, 'activation_energy = "40 kJ/mol"', 'stated_temperature = "20 degC"']
    scenario = read(with_material(*lines), ["material.temperature=40 degC"])
    mu = 5.0 * math.exp(4e4 / GAS_CONSTANT * (1.0 / 313.15 - 1.0 / 293.15))
    assert core_parameters(scenario).material.rheology.viscosity == pytest.approx(mu, rel=1e-12)


def test_the_density_goes_with_the_temperature_in_hose_and_lower(read):
    lines = [VISCOSITY, LAW, 'activation_energy = "40 kJ/mol"', 'thermal_expansion = "0.001 1/K"',
             'stated_temperature = "20 degC"']  # fmt: skip
    text = with_material(*lines, suction=['temperature = "10 degC"'])
    scenario = read(text, ["material.temperature=40 degC"])
    p = core_parameters(scenario)
    assert p.material.density == pytest.approx(1350.0 / 1.02, rel=1e-12)
    head = 1350.0 / 0.99 * 9.80665 * 0.3
    assert p.suction.pressure == pytest.approx(101325.0 - head, rel=1e-12)


LAWS = {
    "Newtonian": [VISCOSITY],
    "power law": ['viscosity = "20 Pa.s"', "thinning_exponent = 0.5"],
    "Herschel-Bulkley": ['viscosity = "20 Pa.s"', "thinning_exponent = 0.5", 'yield_stress = "30 Pa"'],
    "Casson": ['viscosity = "1 Pa.s"', 'yield_stress = "30 Pa"'],
    "Carreau": ['viscosity = "60 Pa.s"', "thinning_exponent = 0.4", 'thinning_onset = "0.5 1/s"',
                'least_viscosity = "0.1 Pa.s"'],
    "Cross": ['viscosity = "60 Pa.s"', "thinning_exponent = 0.4", 'thinning_onset = "0.5 1/s"',
              'least_viscosity = "0.1 Pa.s"'],
}  # fmt: skip


@pytest.mark.parametrize("share", [1.0, 0.1])
@pytest.mark.parametrize("flow", LAWS)
def test_the_hose_takes_the_drop_of_developed_flow(read, flow, share):
    """The core's table against the closed form or quadrature of the law, 1e-6, at full speed and a tenth."""
    text = with_material(*LAWS[flow], f'flow = "{flow}"')
    scenario = read(text, ["suction.loss_coefficient=0"])
    p, hose = core_parameters(scenario), scenario.suction
    Q = share * peak_flow(p)
    radius, law = 0.5 * hose.hose_diameter, material_model(scenario.material).law
    found, _ = line_loss(as_record(p.suction), as_record(p.material), Q)
    assert found == pytest.approx(drop(law, radius, hose.hose_length, Q), rel=1e-6)


# --- results, sweeps, recommendations

ALL = [
    readings(*THREE, '{ shear_rate = "10 1/s", viscosity = "20 Pa.s", temperature = "10 degC" }',
             '{ shear_rate = "10 1/s", viscosity = "30 Pa.s", state = "rested" }',
             '{ shear_rate = "10 1/s", viscosity = "15 Pa.s", age = "30 min" }'),
    LAW, 'flow = "power law"', 'age = "10 min"',
]  # fmt: skip


def test_a_results_own_scenario_reads_back_with_its_readings(read):
    scenario = read(with_material(*ALL, suction=['temperature = "12 degC"']))
    again = from_result(simulate(scenario).attrs["scenario"])
    assert flat(again) == flat(scenario)
    assert material_model(again.material) == material_model(scenario.material)


def test_factor_and_age_are_swept_in_a_scenario_of_readings(read):
    scenario = read(with_material(*ALL))
    grid = {"material.viscosity_factor": [0.5, 1.0], "material.age": [0.0, 1800.0]}
    data = sweep(scenario, grid, workers=1)
    fill = data["fill_fraction"].values
    assert data["status"].values.max() == 0
    assert (fill[0] > fill[1]).all()
    assert (fill[:, 0] > fill[:, 1]).all()


def test_a_recommendation_is_made_for_a_material_of_readings(read):
    """The same as for the law that the readings are of."""
    found = recommend(read(with_material(readings(*THREE), 'flow = "power law"')), draws=0)
    same = recommend(
        read(with_material('viscosity = "40 Pa.s"', 'flow = "power law"', "thinning_exponent = 0.5")),
        draws=0,
    )
    assert found.recommended is not None
    assert found.recommended.ball_travel == same.recommended.ball_travel


def test_the_check_prints_readings_in_a_line_that_can_be_read(tmp_path, capsys):
    path = tmp_path / "readings.toml"
    path.write_text(with_material(*ALL), encoding="utf-8")
    assert main(["check", "--all", str(path)]) == 0
    said = capsys.readouterr().out
    assert re.search(r"material\.readings +6\b", said)
    assert max(len(line) for line in said.splitlines()) <= 100
    assert "material.viscosity," not in said
