"""Ranges of a scenario by Python: what one may write, what each form means, and what is refused."""

import pytest
import scipy.stats

from balltravel.scenario.model import (
    FIELDS,
    Scenario,
    ScenarioError,
    build,
    flat,
    from_result,
    with_shims_below,
    with_value,
    with_values,
)
from balltravel.scenario.ranges import range_of, with_ranges
from balltravel.scenario.unknowns import changes_of, described, spreads_of
from balltravel.units.spread import Spread

VISCOSITY = "material.viscosity"


@pytest.fixture
def ranged(story) -> Scenario:
    return with_ranges(
        story("primer"), {VISCOSITY: ("2 Pa.s", "5 Pa.s", "9 Pa.s"), "lower.bore": (0.047, 0.049)}
    )


def faults(error) -> list[str]:
    return [str(fault) for fault in error.value.faults]


@pytest.mark.parametrize(
    ("given", "law"),
    [
        ({"low": "2 Pa.s", "high": "4000 cP"}, Spread("even", (2.0, 4.0))),
        ({"low": "2 Pa.s", "high": "6 Pa.s"}, Spread("even", (2.0, 6.0), logarithmic=True)),
        ({"low": "2 Pa.s", "likely": "3 Pa.s", "high": "5.9 Pa.s"}, Spread("triangle", (2.0, 3.0, 5.9))),
        ({"likely": "5 Pa.s", "within": "20 %"}, Spread("normal", (5.0, 1.2), logarithmic=True)),
        ({"likely": "5 Pa.s", "within": "x 1.5"}, Spread("normal", (5.0, 1.5), logarithmic=True)),
        ({"likely": "5 Pa.s", "within": "x/ 1.5"}, Spread("normal", (5.0, 1.5), logarithmic=True)),
        ({"likely": "5 Pa.s", "within": "500 cP"}, Spread("normal", (5.0, 0.5))),
        ({"exactly": "5 Pa.s"}, Spread("exact", (5.0,))),
        (
            {"distribution": "lognorm", "s": 0.3, "scale": "5 Pa.s"},
            Spread("scipy", name="lognorm", shape=(("s", 0.3), ("scale", 5.0))),
        ),
        (
            {"likely": "4000 cSt", "within": "1000 cSt"},
            Spread("normal", (5.4, 1.35), follows="material.density"),
        ),
    ],
)
def test_each_form_is_its_law(given, law):
    made = range_of(VISCOSITY, given, density=1350.0)
    assert (made.law, made.logarithmic, made.name) == (law.law, law.logarithmic, law.name)
    assert made.numbers == pytest.approx(law.numbers, rel=1e-12)
    assert dict(made.shape) == pytest.approx(dict(law.shape), rel=1e-12)


def test_a_range_of_temperatures_has_its_amount_as_a_difference():
    for within in ("2 K", "2 degC", "3.6 degF"):
        made = range_of("material.temperature", {"likely": "20 degC", "within": within})
        assert made.numbers == pytest.approx((293.15, 2.0), rel=1e-12)


def test_of_a_fraction_a_percentage_is_a_share_and_a_bare_number_an_amount():
    key = "material.free_gas_fraction"
    share = range_of(key, {"likely": "0.5 %", "within": "20 %"})
    amount = range_of(key, {"likely": "0.5 %", "within": 0.002})
    assert (share.numbers, share.logarithmic) == ((0.005, 1.2), True)
    assert (amount.numbers, amount.logarithmic) == ((0.005, 0.002), False)


def test_the_scenario_holds_the_likely_value(ranged):
    assert (ranged.material.viscosity, ranged.lower.bore) == (5.0, pytest.approx(0.048))


def test_a_changed_key_drops_its_range_and_all_others_stay(ranged):
    for change in (with_value, lambda s, key, value: with_values(s, {key: value})):
        assert {*change(ranged, VISCOSITY, 3.0).ranges} == {"lower.bore"}
    assert {*with_values(ranged, {"lower.bore": 0.05, VISCOSITY: 3.0}).ranges} == set()
    assert {*with_value(ranged, "title", "another").ranges} == {VISCOSITY, "lower.bore"}
    assert with_shims_below(ranged, (1,)).ranges == ranged.ranges


def test_a_range_comes_back_from_a_result(ranged):
    mixed = with_ranges(
        ranged,
        {
            "inlet_check.seat": ["edge", "cone"],
            "inlet_check.seat_half_angle": {"exactly": "43 deg"},
            "suction.lift": scipy.stats.norm(0.3, 0.1),
            "drive.ramp_time": "unknown",
        },
    )
    assert from_result(mixed.model_dump_json()).ranges == mixed.ranges
    assert Scenario.model_validate_json(mixed.model_dump_json(exclude_unset=True)) == mixed
    assert build(mixed.model_dump(exclude_unset=True)) == mixed


def test_a_scenario_without_ranges_looks_as_if_there_were_none(story):
    assert "ranges" not in story("primer").model_dump_json()


def test_scenarios_with_other_ranges_are_others_and_equal_ones_have_one_hash(ranged, story):
    again = with_ranges(story("primer"), {VISCOSITY: (2.0, 5.0, 9.0), "lower.bore": ("47 mm", "49 mm")})
    assert again == ranged
    assert hash(again) == hash(ranged)
    assert ranged != with_ranges(ranged, {VISCOSITY: None})


def test_none_takes_a_range_away_and_exactly_says_that_a_value_is_known(ranged):
    assert described(spreads_of(with_ranges(ranged, {VISCOSITY: None}))[VISCOSITY], "viscosity") == (
        "about 5 Pa.s (3.33 to 7.5)"
    )
    assert VISCOSITY not in spreads_of(with_ranges(ranged, {VISCOSITY: "exactly"}))


def test_exactly_gives_no_value_to_a_default(story):
    known = with_ranges(story("primer"), {"closures.ball_position": "exactly"})
    assert "ball_position" not in known.closures.model_fields_set
    assert "closures.ball_position" not in spreads_of(known)


def test_a_range_of_no_width_is_exact(story):
    assert VISCOSITY not in spreads_of(with_ranges(story("primer"), {VISCOSITY: ("5 Pa.s", "5 Pa.s")}))


def test_a_frozen_distribution_and_a_spread_are_taken_as_they_are(story):
    law = Spread("even", (4.0, 6.0))
    made = with_ranges(story("primer"), {VISCOSITY: law, "suction.lift": scipy.stats.norm(0.3, scale=0.1)})
    assert made.ranges[VISCOSITY] == law
    assert made.ranges["suction.lift"].shape == (("loc", 0.3), ("scale", 0.1))
    assert made.suction.lift == pytest.approx(0.3)


def test_unknown_takes_the_typical_range(story):
    made = with_ranges(
        story("primer"), {"material.free_gas_fraction": "unknown", "closures.ball_position": "unknown"}
    )
    assert made.ranges["material.free_gas_fraction"].numbers == (0.002, 0.02)
    assert made.material.free_gas_fraction == pytest.approx((0.002 * 0.02) ** 0.5)
    assert spreads_of(made)["closures.ball_position"].choices == ("centred", "drifting", "touching")


def test_a_choice_may_be_several_with_keys_of_the_other_one(story):
    both = with_ranges(
        story("primer"),
        {"material.flow": ["Newtonian", "power law"], "material.thinning_exponent": (0.5, 0.9)},
    )
    assert (both.material.flow, both.material.thinning_exponent) == ("Newtonian", None)
    assert {"material.flow", "material.thinning_exponent"} <= spreads_of(both).keys()
    assert changes_of(both, {"material.flow": "Newtonian", "material.thinning_exponent": 0.8}) == {
        "material.flow": "Newtonian"
    }
    drawn = with_values(
        both, changes_of(both, {"material.flow": "power law", "material.thinning_exponent": 0.8})
    )
    assert (drawn.material.flow, drawn.material.thinning_exponent) == ("power law", 0.8)
    likely = with_values(both, changes_of(both, {"material.flow": "power law"}))
    assert likely.material.thinning_exponent == pytest.approx(0.7)


def test_what_goes_with_the_choice_before_stays_for_its_draws(story):
    both = with_ranges(story("primer_conical_seat"), {"inlet_check.seat_land_width": None})
    both = with_value(both, "inlet_check.seat_land_width", 0.0)
    both = with_ranges(both, {"inlet_check.seat": ["edge", "cone"]})
    assert both.inlet_check.seat == "edge"
    cone = with_values(both, changes_of(both, {"inlet_check.seat": "cone"}))
    assert flat(cone)["inlet_check.seat_half_angle"] == pytest.approx(0.7854, abs=1e-4)
    assert cone.inlet_check.seat_mouth_diameter == pytest.approx(0.025)


def test_all_faults_of_all_keys_are_told_at_once(story):
    wrong = {
        "material.viscosity": (1e-9, 2.0, 1e9),
        "material.viscosit": (1.0, 2.0),
        "lower.bore": ("49 mm", "47 mm"),
        "lower.stroke": {"likely": "90 mm", "within": "100 %"},
        "suction.lift": {"likely": 0.0, "within": "20 %"},
        "title": (1.0, 2.0),
        "shims.thicknesses": (1.0, 2.0),
        "shims.below": (1, 2),
        "material.readings": "unknown",
        "drive.trace": "unknown",
        "target.delivery": (0.1, 0.2),
        "drive.profile": ["harmonic", "fast"],
        "material.density": {"likely": 1350.0, "within": -3.0},
        "drive.dwell_time": {"distribution": "no_such"},
        "outlet.gauge_pressure": "unknown_",
        "drive.ramp_time": {"low": "10 ms", "likely": "20 ms"},
        "suction.hose_length": 3.0,
    }
    with pytest.raises(ScenarioError) as error:
        with_ranges(story("primer"), wrong)
    told = faults(error)
    assert {line.split(":")[0] for line in told} == set(wrong)
    assert all("; allowed: " in line and "; example: " in line for line in told)


@pytest.mark.parametrize(
    ("key", "given", "words"),
    [
        (VISCOSITY, ("9 Pa.s", "5 Pa.s", "2 Pa.s"), "9 Pa.s, 5 Pa.s, 2 Pa.s given as low, likely, high"),
        (VISCOSITY, ("2 Pa.s", "50 Pa.s", "9 Pa.s"), "allowed: low <= likely <= high"),
        (VISCOSITY, ("1 Pa.s", 1e6), "1000000 Pa.s given as high; allowed: 0.1 mPa.s to 10000 Pa.s"),
        (VISCOSITY, "unknown", "docs/materials.md"),
        (
            "lower.rod",
            ("34 mm", "50 mm"),
            "at 50 mm, the upper end of its range: 50 mm given; allowed: a rod smaller",
        ),
        ("material.flow", ["Newtonian", "power law"], 'missing with flow = "power law"'),
        ("material.flow", ["Newtonian", "Newtonian"], "each once"),
        ("material.thinning_exponent", {"likely": 0.95, "within": 0.1}, "1.05 is within the range given"),
        ("shims.thicknesses", (1.0, 2.0), "the base travel can have a range"),
        ("target.delivery", (0.1, 0.2), "a target is what you want"),
    ],
)
def test_a_fault_says_what_is_wrong(story, key, given, words):
    name = "elastomer_thinning" if key == "material.thinning_exponent" else "primer"
    with pytest.raises(ScenarioError) as error:
        with_ranges(story(name), {key: given})
    assert any(words in line for line in faults(error)), faults(error)


def test_a_damaged_range_in_a_result_is_refused(ranged):
    text = ranged.model_dump_json()
    for before, after in (
        ('"triangle"', '"bogus"'),
        (f'"{VISCOSITY}":', '"material.x":'),
        ("[2.0,5.0,9.0]", "[2.0]"),
    ):
        assert before in text
        with pytest.raises(ScenarioError):
            from_result(text.replace(before, after))


def test_every_key_takes_a_range_or_says_why_not():
    refused = set()
    for key in FIELDS:
        try:
            range_of(key, "unknown")
        except ScenarioError as error:
            refused.add(key) if "a range given" in str(error) else None
    assert refused == {
        "material.readings",
        "shims.thicknesses",
        "shims.below",
        "drive.trace",
        "inlet_check.table",
        "piston_check.table",
        "suction.fittings",
        "target.fill_fraction",
        "target.landing_speed",
        "target.delivery",
    }
