"""What stands against a recommendation is said first, and what nobody set refuses nothing."""

import pytest

from balltravel.cli.main import main
from balltravel.report.care import CARE
from balltravel.report.text.recommend import recommendation_text, targets_in_words
from balltravel.scenario.model import with_values
from balltravel.study.travel.outlet_dip import STEP
from balltravel.study.travel.recommend import recommend
from balltravel.study.travel.reservations import CLIFF, TOLERANCE
from balltravel.sweeps.cases import run_case

NOBODY_SET = {"target.fill_fraction": None, "target.landing_speed": None}


def test_a_default_target_refuses_nothing_and_is_told_as_one(story):
    """The mastic with shims of tenths: no travel fills 90 %, and the deliveries rise with the travel."""
    asked = story("mastic", 'shims.thicknesses=["0.1 mm", "0.2 mm"]', "shims.below=[]")
    refused = recommend(asked)
    assert refused.recommended is None
    unset = with_values(asked, NOBODY_SET)
    found = recommend(unset)
    assert found.recommended is not None
    best = max(found.arrangements, key=lambda trial: trial.delivery)
    assert found.recommended == best.choice
    assert not best.unmet
    assert best.below_default[0].endswith("(default target 90 %)")
    told = next(said for said in found.reservations if "fill" in said)
    assert "only warns" in told
    text = recommendation_text(unset, found)
    assert "Recommended, with reservations: " in text
    assert "(fill)" in text


def test_a_target_says_whether_anybody_set_it(story):
    asked = story("primer")
    assert "(default)" not in targets_in_words(asked)
    assert targets_in_words(with_values(asked, NOBODY_SET)).count("(default)") == 2


def test_both_balls_are_held_against_the_landing_and_shown(story):
    scenario = story("primer")
    found = recommend(scenario)
    at = next(trial.metrics for trial in found.arrangements if trial.choice == found.recommended)
    assert at.piston.landing_speed > scenario.target.landing_speed > at.inlet.landing_speed
    assert any("piston check: its ball lands at" in said for said in found.reservations)
    assert f"{at.inlet.landing_speed:.2f}    {at.piston.landing_speed:.2f}" in recommendation_text(
        scenario, found
    )


def test_what_decides_stands_above_the_table_and_the_table_within_a_hundred_columns(story):
    """A seat that leaks more than is delivered counts for more than any travel."""
    worn = story("primer", "piston_check.leak_gap=0.1 mm")
    found = recommend(worn)
    assert "mend them first" in found.reservations[0]
    text = recommendation_text(worn, found)
    assert text.index("mend them first") < text.index("travel  fill") < text.index("Reasons:")
    assert max(map(len, text.splitlines())) <= 100


@pytest.mark.parametrize(("stated", "said"), [(None, True), ("Newtonian", False)])
def test_a_heavy_material_of_one_viscosity_and_no_law_is_called_a_guess(story, stated, said):
    found = recommend(with_values(story("primer"), {"material.flow": stated}))
    assert any("the law of flow is a guess" in text for text in found.reservations) is said


def test_a_target_that_a_fifth_more_viscosity_misses_is_said(story):
    """The mastic at its 8 mm, run here at 12 Pa s: below 90 %."""
    scenario = story("mastic")
    found = recommend(scenario)
    thicker = with_values(
        scenario, {"material.viscosity_factor": 1.2, "shims.below": found.recommended.shims_below}
    )
    fill = 100.0 * run_case(thicker).metrics.fill_fraction
    assert fill < 90.0
    assert any(f"At 20 % more viscosity it misses: fill {fill:.1f} %" in said for said in found.reservations)
    assert not any("more viscosity it misses" in said for said in recommend(story("primer")).reservations)


def test_a_travel_at_the_edge_of_a_cliff_is_told_with_the_number_beyond(story):
    """The zinc primer at 0.8 mm: a tenth less and much less is drawn in."""
    scenario = story(
        "zinc_primer_light_ball", "inlet_check.base_travel=0.8 mm", "shims.below=[]", "shims.thicknesses=[]"
    )
    found = recommend(scenario)
    at = {"inlet_check.base_travel": 0.8e-3 - TOLERANCE}
    here = found.arrangements[0].delivery
    beyond = run_case(with_values(scenario, at)).metrics.volumetric_efficiency
    assert here - beyond > CLIFF
    assert any(
        f"{100 * beyond:.1f} % of swept instead of {100 * here:.1f} %" in said for said in found.reservations
    )
    assert not any("stands at an edge" in said for said in recommend(story("primer")).reservations)


def test_a_hose_that_starves_every_travel_is_said_before_the_table(story):
    thin = story("mastic", "suction.hose_diameter=25 mm")
    found = recommend(thin)
    assert any(said.startswith("The hose, not travel, is the limit") for said in found.reservations)


def test_the_dip_at_a_tip_is_in_the_table_and_what_decides_it_is_run(story):
    scenario = story("stain_by_air")
    found = recommend(scenario)
    dip = found.outlet_dip
    for factor, seen in ((STEP, dip.softer), (1.0 / STEP, dip.stiffer)):
        at = {
            "outlet.hose_compliance": factor * scenario.outlet.hose_compliance,
            "shims.below": found.recommended.shims_below,
        }
        assert run_case(with_values(scenario, at)).metrics.pressure_dip == seen
    assert dip.softer < dip.chosen < dip.stiffer
    text = " ".join(recommendation_text(scenario, found).split())
    assert "piston dip misses" in text
    assert "The shims hardly change the dip" in text
    assert recommend(story("primer")).outlet_dip is None


@pytest.mark.parametrize("command", ["recommend --exactly", "suction", "simulate", "check"])
def test_an_answer_that_may_send_somebody_to_a_tool_closes_with_the_cautions(capsys, command):
    name, *options = command.split()
    assert main([name, "scenarios/primer.toml", *options]) == 0
    assert capsys.readouterr().out.rstrip().endswith("\n".join(CARE))
    assert main([name, "scenarios/primer.toml", *options, "--json"]) == 0
    assert '"care": "Care: relieve pressure' in capsys.readouterr().out
    assert max(map(len, CARE)) <= 100
