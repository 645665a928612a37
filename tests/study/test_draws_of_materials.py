"""Draws of a material: readings as they were read, laws of flow by how well they fit, what goes with the
density."""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from balltravel.files.read_write import read_scenario
from balltravel.material.model import material_model
from balltravel.material.viscosity_reading import ViscosityReading, reading_of
from balltravel.scenario.model import with_values
from balltravel.study.verdict.draws import draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.materials import laws_of
from balltravel.units.spread import Spread

from ..helpers.lowers import scenario

VISCOSITY = {"material.viscosity": Spread("normal", (5.0, 1.5), logarithmic=True)}

PRIMER, FLOWS = Path(__file__).parents[2] / "scenarios" / "primer.toml", "material.flow=Newtonian"
DENSE = "material.density={ low = '1200 kg/m3', high = '1500 kg/m3' }"


def read(rate, viscosity, uncertainty=0.05, **more):
    return ViscosityReading(viscosity, rate, more.pop("temperature", None), uncertainty, "viscosity", **more)


def known_by(*readings, **material):
    return scenario(material={"viscosity": None, "flow": None, "readings": readings, **material})


def test_readings_are_drawn_each_with_its_own_uncertainty_and_fitted_anew():
    s = known_by(read(2.0, 20.0, 0.03), read(50.0, 6.0, 0.12), flow="power law")
    draws = draw(inputs_of(s, {}), 1024)
    logs = np.log(np.column_stack([draws.column(f"material.readings[{i}]") for i in (1, 2)]))
    assert np.allclose(logs.mean(0), np.log([20.0, 6.0]), atol=2e-3)
    assert np.allclose(logs.std(0), [0.03, 0.12], rtol=0.03)  # tails are cut at three: 1.3 % less
    assert abs(np.corrcoef(logs.T)[0, 1]) < 0.1
    at_both = np.column_stack([draws.viscosity(2.0), draws.viscosity(50.0)])
    assert np.allclose(np.log(at_both), logs, atol=1e-9)  # two readings, two parameters: it goes through


def test_exponent_and_consistency_of_readings_at_high_rates_go_together():
    s = known_by(*(read(rate, 10.0 * rate**-0.4, 0.05) for rate in (20.0, 60.0, 200.0)), flow="power law")
    draws = draw(inputs_of(s, {}), 128)
    laws = [material_model(made.material).law for made in draws.scenarios]
    pairs = np.array([(law.exponent, math.log(law.consistency)) for law in laws])
    assert np.corrcoef(pairs.T)[0, 1] < -0.9


def test_a_draw_takes_a_law_as_often_as_it_fits_the_readings():
    """Readings that a Newtonian and a power law fit about as well, by BIC worked by hand."""
    s = known_by(read(5.0, 5.2), read(20.0, 4.9), read(80.0, 4.6), flow="power law")
    spreads = {"material.flow": Spread("choices", choices=("power law", "Newtonian"))}
    draws = draw(inputs_of(s, spreads), 1024)
    x, y = np.log([5.0, 20.0, 80.0]), np.log([5.2, 4.9, 4.6])
    flat, straight = np.sum(((y - y.mean()) / 0.05) ** 2), stats.linregress(x, y)
    left = np.sum(((y - straight.intercept - straight.slope * x) / 0.05) ** 2)
    odds = math.exp(-0.5 * ((left + 2 * math.log(3)) - (flat + math.log(3))))
    assert 0.2 < odds < 5.0
    drawn = np.mean([made.material.flow == "power law" for made in draws.scenarios])
    assert drawn == pytest.approx(odds / (1.0 + odds), abs=2e-3)


def test_a_law_that_the_readings_refute_has_no_weight_and_that_is_told():
    readings = [read(rate, 20.0 * rate**-0.5) for rate in (1.0, 10.0, 100.0)]
    s = known_by(*readings, flow="power law")
    spreads = {"material.flow": Spread("choices", choices=("power law", "Newtonian"))}
    inputs = inputs_of(s, spreads)
    assert inputs.notes == ("Newtonian is left out: the readings refute it",)
    assert {made.material.flow for made in draw(inputs, 64).scenarios} == {"power law"}


def test_the_first_law_of_several_may_be_the_one_that_is_refuted():
    readings = [read(rate, 20.0 * rate**-0.5) for rate in (1.0, 10.0, 100.0)]
    spreads = {"material.flow": Spread("choices", choices=("Newtonian", "power law"))}
    draws = draw(inputs_of(known_by(*readings, flow="Newtonian"), spreads), 64)
    assert {made.material.flow for made in draws.scenarios} == {"power law"}


def test_a_law_with_more_parameters_than_readings_drops_out_with_a_word():
    s = known_by(read(5.0, 5.2), read(80.0, 4.0), flow="power law")
    spreads = {"material.flow": Spread("choices", choices=("power law", "Herschel-Bulkley"))}
    inputs = inputs_of(s, spreads)
    assert "Herschel-Bulkley is left out" in inputs.notes[0]
    assert "readings at 2 shear rates" in inputs.notes[0]


def test_readings_off_their_law_by_more_than_stated_are_drawn_that_much_wider():
    """As a fit widens its uncertainties."""
    readings = [read(rate, 5.0 * off, 0.01) for rate, off in ((1.0, 1.1), (10.0, 0.9), (100.0, 1.02))]
    s = known_by(*readings, flow="Newtonian")
    scatter = laws_of(s.material, ["Newtonian"]).scatter
    assert scatter > 5.0
    stds = [np.log(draw(inputs_of(s, {}), 256).column(f"material.readings[{i}]")).std() for i in (1, 2, 3)]
    assert np.allclose(stds, 0.01 * scatter, rtol=0.03)


def test_one_viscosity_of_which_nobody_says_how_it_flows_may_thin_through_it():
    s = scenario(material={"flow": None})
    draws = draw(inputs_of(s, VISCOSITY), 128)
    exponents, stated = draws.column("material.thinning_exponent"), draws.column("material.viscosity")
    assert 0.6 < exponents.min() < 0.61
    assert 0.99 < exponents.max() < 1.0
    assert np.allclose(draws.viscosity(10.0), stated, rtol=1e-12)
    assert np.allclose(draws.viscosity(1000.0), stated * 100.0 ** (exponents - 1.0), rtol=1e-12)


def test_one_reading_may_thin_through_its_own_rate_at_its_own_temperature():
    s = known_by(read(70.0, 2.0, temperature=298.15), temperature_law="Andrade", activation_energy=4e4)
    draws = draw(inputs_of(s, {}), 64)
    known = material_model(s.material).ratio(s.material.temperature)
    read_, exponents = draws.column("material.readings[1]"), draws.column("material.thinning_exponent")
    assert known > 1.1
    assert np.allclose(draws.viscosity(70.0), read_ * known, rtol=1e-7)
    assert np.allclose(draws.viscosity(7.0), read_ * known * 0.1 ** (exponents - 1.0), rtol=1e-7)


def test_rested_readings_keep_their_ratio_where_the_exponent_is_drawn():
    s = known_by(read(70.0, 2.0), read(70.0, 6.0, state="rested"))
    for made in filter(None, draw(inputs_of(s, {}), 16).scenarios):
        worked, rested = made.material.readings[:2]
        assert material_model(made.material).rested == pytest.approx(rested.viscosity / worked.viscosity)


@pytest.mark.parametrize(
    "written",
    [
        '"4000 cSt"',
        '{ low = "2000 cSt", likely = "4000 cSt", high = "9000 cSt" }',
        '{ likely = "40 cm2/s", within = "20 %" }',
        '{ distribution = "lognorm", s = 0.3, scale = "4000 mm2/s" }',
        '{ exactly = "4000 cSt" }',
    ],
)
def test_a_viscosity_that_was_written_in_centistokes_is_drawn_with_the_drawn_density(written):
    thick, dense = (
        np.array([getattr(s.material, name) for s in draw(inputs_of(kinematic), 128).scenarios])
        for kinematic in [read_scenario(PRIMER, [f"material.viscosity={written}", FLOWS, DENSE])]
        for name in ("viscosity", "density")
    )
    known = read_scenario(
        PRIMER, [f"material.viscosity={written}", FLOWS, "material.density={ exactly = '1350 kg/m3' }"]
    )
    alone = np.array([s.material.viscosity for s in draw(inputs_of(known), 128).scenarios])
    assert np.allclose(thick / dense, alone / 1350.0, rtol=1e-12)
    assert np.ptp(dense) > 250.0


def test_a_viscosity_in_pascal_seconds_has_nothing_of_the_density():
    made = read_scenario(PRIMER, ["material.viscosity=5.4 Pa.s", FLOWS, DENSE])
    drawn = draw(inputs_of(made), 128)
    assert [s.material.viscosity for s in drawn.scenarios] == drawn.column("material.viscosity").tolist()
    assert abs(np.corrcoef(drawn.column("material.viscosity"), drawn.column("material.density"))[0, 1]) < 0.3


def test_a_reading_of_a_kinematic_viscosity_goes_with_the_drawn_density():
    cup, plain = (reading_of(text, 1350.0) for text in ("ISO 6 mm, 60 s", "900 mPa.s"))
    assert reading_of("600 cSt", 1350.0).kinematic
    assert (cup.kinematic, plain.kinematic) == (True, False)
    s = known_by(cup, plain, flow="Newtonian")
    draws = draw(inputs_of(s, {"material.density": Spread("even", (1200.0, 1500.0))}), 32)
    denser = draws.column("material.density") / s.material.density
    of_cup, of_plain = (draws.column(f"material.readings[{k}]") for k in (1, 2))
    pumped = [made.material.readings for made in draws.scenarios]
    assert np.allclose([both[0].viscosity for both in pumped], of_cup * denser, rtol=1e-12)
    assert np.allclose([both[1].viscosity for both in pumped], of_plain, rtol=1e-12)


def test_a_flow_that_is_stated_is_not_taken_to_thin():
    keys = [item.key for item in inputs_of(scenario(material={"flow": "Newtonian"}), VISCOSITY).drawn]
    assert "material.thinning_exponent" not in keys


def test_closures_that_know_newtonian_material_alone_get_no_other():
    s = scenario(material={"flow": None}, closures={"resistance": "closed form"})
    inputs = inputs_of(s, VISCOSITY)
    assert [item.key for item in inputs.drawn] == ["material.viscosity"]
    assert not draw(inputs, 8).refused


def test_readings_at_several_rates_tell_by_themselves_whether_the_material_thins():
    readings = [read(rate, 20.0 * rate**-0.5) for rate in (1.0, 10.0, 100.0)]
    inputs = inputs_of(known_by(*readings), {})
    assert {made.material.flow for made in draw(inputs, 16).scenarios} == {"power law"}
    assert inputs.notes == ("Newtonian is left out: the readings refute it",)


def test_a_temperature_that_is_drawn_away_from_the_stated_one_brings_an_activation_energy():
    s = scenario(material={"stated_temperature": 293.15})
    spreads = {"material.temperature": Spread("even", (283.15, 303.15))}
    draws = draw(inputs_of(s, spreads), 64)
    energy, kelvin = draws.column("material.activation_energy"), draws.column("material.temperature")
    assert not draws.refused
    assert 20e3 <= energy.min() < 22e3
    assert 78e3 < energy.max() <= 80e3
    expected = 5.0 * np.exp(energy / 8.31446261815324 * (1.0 / kelvin - 1.0 / 293.15))
    assert np.allclose(draws.viscosity(10.0), expected, rtol=1e-9)


def test_two_forms_of_a_law_take_the_keys_of_their_own():
    """Of a thinning paste whose flow may be Newtonian the other keys go with the choice."""
    paste = {"flow": "shear-thinning", "thinning_exponent": 0.5, "thinning_onset": 1.0, "yield_stress": 3.0}
    s = with_values(scenario(), {f"material.{key}": value for key, value in paste.items()})
    spreads = {
        "material.flow": Spread("choices", choices=("shear-thinning", "Newtonian")),
        "material.yield_stress": Spread("even", (1.0, 5.0)),
    }
    draws = draw(inputs_of(s, spreads), 16)
    assert not draws.refused
    for made in draws.scenarios:
        assert (made.material.flow == "Newtonian") == (made.material.yield_stress is None)
