"""What is not known exactly in a scenario where nobody says so, and that every draw of it is a scenario."""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import qmc

from balltravel import read_week
from balltravel.scenario.lower import cone_that_fits
from balltravel.scenario.model import FIELDS, ScenarioError, quantity_of, with_values
from balltravel.scenario.tables import TYPICAL
from balltravel.scenario.unknowns import changes_of, described, origin_of, spreads_of
from balltravel.units.display import shown_in
from balltravel.units.spread import Spread

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
DRAWS = 64


def of_python(value):
    return value if isinstance(value, str) else float(value)


def refused(scenario, draws):
    """How many of the draws make no scenario."""
    count = 0
    for drawn in draws:
        try:
            with_values(scenario, changes_of(scenario, drawn))
        except ScenarioError:
            count += 1
    return count


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_typical_draw_of_a_shipped_scenario_is_one(path):
    """Each key alone and all together. None is refused: nothing in them lies as near to a rule as its
    tolerance; a share of 1 % would still be honest, for refused draws are counted in a verdict."""
    for material in read_week(path):
        scenario = material.scenario
        laws = spreads_of(scenario)
        points = qmc.Sobol(len(laws), rng=1).random(DRAWS)
        values = {key: law.at(points[:, i]) for i, (key, law) in enumerate(laws.items())}
        together = [{key: of_python(column[n]) for key, column in values.items()} for n in range(DRAWS)]
        alone = [{key: of_python(item)} for key, column in values.items() for item in column]
        assert refused(scenario, together) == 0
        assert refused(scenario, alone) == 0


def test_what_plays_no_part_is_not_drawn(story):
    primer, air = spreads_of(story("primer")), spreads_of(story("stain_by_air"))
    assert not {"material.temperature", "drive.friction", "outlet.hose_compliance"} & primer.keys()
    assert {"drive.friction", "outlet.hose_compliance", "outlet.tip_diameter"} <= air.keys()
    assert "drive.cycle_rate" in primer
    assert "drive.cycle_rate" not in air
    harmonic = with_values(
        story("primer"), {"drive.profile": "harmonic", "drive.ramp_time": None, "drive.dwell_time": None}
    )
    assert {"drive.ramp_time", "drive.dwell_time"} <= primer.keys()
    assert not {"drive.ramp_time", "drive.dwell_time"} & spreads_of(harmonic).keys()


def test_what_follows_from_a_key_that_is_given_is_not_drawn(story):
    drum = spreads_of(story("roof_elastomer_from_a_drum"))
    assert not {"material.vapour_pressure", "suction.lift"} & drum.keys()
    assert {"material.temperature", "suction.temperature", "material.activation_energy"} <= drum.keys()


def test_nothing_times_a_factor_is_not_drawn(story):
    assert "suction.tank_gauge_pressure" not in spreads_of(story("primer"))


def test_a_seat_that_was_written_was_seen(story):
    seen = with_values(story("primer"), {"inlet_check.seat": "edge"})
    assert "inlet_check.seat" not in spreads_of(seen)
    assert spreads_of(seen)["piston_check.seat"].weights == (3.0, 1.0)


def test_the_keys_come_in_the_order_of_the_scenario(story):
    keys = list(spreads_of(story("stain_by_air")))
    assert keys == [key for key in FIELDS if key in keys]


def test_a_law_that_reaches_beyond_its_key_is_cut_there(story):
    near = with_values(story("elastomer_thinning"), {"material.thinning_exponent": 0.95})
    law = spreads_of(near)["material.thinning_exponent"]
    assert described(law, "number") == "0.95 +- 0.1, cut at 1"
    assert law.at(0.999) == 1.0


@pytest.mark.parametrize("ball", [0.011, 0.0294, 0.06])
@pytest.mark.parametrize("bore", np.linspace(0.5, 0.93, 7))
@pytest.mark.parametrize("clearance", [1.06, 1.3, 2.0])
def test_the_cone_of_a_seat_that_nobody_saw_fits_any_check(ball, bore, clearance):
    sizes = {"ball_diameter": ball, "seat_diameter": bore * ball, "cage_diameter": clearance * ball}
    cone = cone_that_fits(sizes)
    contact = ball * math.cos(cone["seat_half_angle"])
    assert sizes["seat_diameter"] < contact < cone["seat_mouth_diameter"] < sizes["cage_diameter"]
    assert 0.3 <= cone["seat_half_angle"] <= math.pi / 4 + 1e-12


def test_where_no_cone_fits_none_is_drawn(story):
    primer = story("primer")
    ball = primer.inlet_check.ball_diameter
    wide = with_values(primer, {"inlet_check.seat_diameter": 0.96 * ball})
    assert cone_that_fits(wide.inlet_check.__dict__) == {}
    assert "inlet_check.seat" not in spreads_of(wide)


def test_every_typical_range_has_a_source_and_one_kind_of_width():
    for key, mark in TYPICAL.items():
        assert mark.source, key
        kinds = (mark.factor > 1.0, mark.amount > 0.0, bool(mark.by_size), bool(mark.choices))
        assert sum(kinds) == 1, key
        quantity = quantity_of(FIELDS[key])
        assert (quantity is None) == bool(mark.choices), key
        law = mark.of_unknown()
        if law is not None and quantity is not None:
            assert quantity.low <= law.ends[0] < law.ends[1] <= quantity.high, key


@pytest.mark.parametrize(
    ("law", "dimension", "words"),
    [
        (Spread("triangle", (2.0, 5.0, 9.0)), "viscosity", "2 to 9 Pa.s, likely 5 Pa.s"),
        (Spread("even", (0.01, 0.06)), "time", "10 to 60 ms"),
        (Spread("normal", (5.0, 1.5), logarithmic=True), "viscosity", "about 5 Pa.s (3.33 to 7.5)"),
        (Spread("normal", (5.0, 1.2), logarithmic=True), "viscosity", "5 Pa.s within 20 %"),
        (Spread("normal", (0.0294, 5e-5)), "length", "29.4 mm +- 0.05 mm"),
        (Spread("normal", (293.15, 2.0)), "temperature", "20 degC +- 2 K"),
        (Spread("exact", (5.0,)), "viscosity", "exactly 5 Pa.s"),
        (Spread("choices", choices=("edge", "cone"), weights=(3.0, 1.0)), "", "edge or cone (3 to 1)"),
        (Spread("choices", choices=("centred", "touching")), "", "centred or touching"),
        (
            Spread("scipy", name="lognorm", shape=(("s", 0.3), ("scale", 5.0))),
            "viscosity",
            "lognorm (s = 0.3, scale = 5; loc and scale in SI)",
        ),
    ],
)
def test_a_spread_reads_as_one_says_it(law, dimension, words):
    assert described(law, dimension) == words


def test_the_origin_of_a_stated_range_is_that_it_is_given():
    assert origin_of("material.viscosity", Spread("even", (1.0, 2.0))) == "in the file"
    assert "no source" in origin_of("material.viscosity", TYPICAL["material.viscosity"].about(5.0))


def test_a_range_of_fractions_of_an_inch_keeps_them_whole():
    with shown_in("us"):
        assert described(Spread("even", (0.0381, 0.05715)), "length") == "1 1/2 to 2 1/4 in"


@pytest.mark.parametrize(("reach", "words"), [(1e-4, "1.1 in +- 0.004 in"), (5e-5, "1.1 in +- 0.002 in")])
def test_a_tolerance_in_inches_ends_at_a_thousandth(reach, words):
    with shown_in("us"):
        assert described(Spread("normal", (1.1 * 0.0254, reach)), "length") == words
