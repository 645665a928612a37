"""A shear-thinning material in a scenario: its keys, its Newtonian limit, what the user is told."""

import math

import pytest

from balltravel import ScenarioError, recommend, simulate, with_values
from balltravel.core.check import Law, law
from balltravel.core.records import as_record
from balltravel.cycle.dataset import cycle_metrics
from balltravel.cycle.metrics import metrics_of
from balltravel.cycle.motion import motion_of
from balltravel.estimate.cautions import warnings_for
from balltravel.estimate.preview import preview
from balltravel.estimate.suction_losses import check_loss, peak_flow, suction_losses
from balltravel.report.tables import conditions
from balltravel.setup import flow_curves
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import run_core

THIN = {
    "material.flow": "shear-thinning",
    "material.thinning_exponent": 0.6,
    "material.thinning_onset": 0.5,
    "material.yield_stress": 0.0,
}


def test_the_three_keys_belong_to_a_thinning_material_alone(story):
    with pytest.raises(ScenarioError) as caught:
        story("primer", "material.flow=shear-thinning")
    assert sorted(fault.key for fault in caught.value.faults) == [
        "material.thinning_exponent", "material.thinning_onset", "material.yield_stress",
    ]  # fmt: skip
    assert "thinning_exponent = 0.6" in str(caught.value)
    with pytest.raises(ScenarioError) as caught:
        story("primer", "material.yield_stress=5 Pa")
    assert 'yield_stress only with material.flow = "Herschel-Bulkley" or' in str(caught.value)


def test_exponent_one_without_yield_stress_is_newtonian(story):
    """By its table too: within what the integration is told to keep."""
    primer = story("primer")
    same = with_values(primer, {**THIN, "material.thinning_exponent": 1.0})
    found, expected = cycle_metrics(simulate(same)), cycle_metrics(simulate(primer))
    assert found.fill_fraction == pytest.approx(expected.fill_fraction, rel=1e-6)
    assert found.volumetric_efficiency == pytest.approx(expected.volumetric_efficiency, rel=1e-6)
    assert found.inlet.closing_lag == pytest.approx(expected.inlet.closing_lag, rel=1e-5)


def test_a_thinning_material_of_the_same_viscosity_at_rest_fills_as_well_at_a_shorter_travel(story):
    """The elastomer of the scenarios stands at 60 Pa s: Newtonian it would starve at every travel."""
    found = recommend(story("elastomer_thinning"), draws=0)
    newtonian = recommend(story("mastic", "material.viscosity=60 Pa.s"), draws=0)
    assert found.recommended is not None
    assert found.recommended.ball_travel == 2e-3
    fills = [one.metrics.fill_fraction for one in found.arrangements if one.metrics is not None]
    assert len(fills) == 8
    assert min(fills) > 0.95
    assert newtonian.recommended is None


def test_the_header_says_that_the_viscosity_is_that_at_rest(story):
    said = conditions(story("elastomer_thinning"))
    assert (
        "60 Pa.s (60000 cP) at rest, thinning (n 0.45 from 0.5 1/s on, yield stress 15 Pa), 1350 kg/m3"
        in said
    )


def test_a_yield_stress_that_holds_the_ball_is_told(story):
    held = with_values(story("primer"), {**THIN, "material.yield_stress": 300.0})
    told = [text for text in warnings_for(held, None) if "holds the ball" in text]
    assert len(told) == 2
    assert "of 300 Pa holds the ball up in still material" in told[0]
    free = with_values(story("primer"), {**THIN, "material.yield_stress": 3.0})
    assert not [text for text in warnings_for(free, None) if "holds the ball" in text]
    assert "known within some 10 %" in " ".join(warnings_for(free, None))
    assert "its yield stress dominates" in " ".join(warnings_for(held, None))


def test_a_yield_stress_that_blocks_the_hose_is_told(story):
    """4 L tau_y/d = 4 1.5/0.038 1000 = 158 kPa."""
    blocked = story("elastomer_thinning", "material.yield_stress=1000 Pa")
    assert "takes 1.58 bar in the suction hose" in " ".join(warnings_for(blocked, None))
    assert "suction hose" not in " ".join(warnings_for(story("elastomer_thinning"), None))


def test_the_loss_of_the_check_is_what_the_law_takes_at_the_pistons_full_speed(story):
    """Through the compiled law; and the parts of the estimate add up to it and the hose."""
    scenario = story("elastomer_thinning")
    p, losses = core_parameters(scenario), suction_losses(scenario)
    assert losses.gap + losses.passage == pytest.approx(check_loss(p, peak_flow(p))[0], rel=1e-9)
    newtonian = suction_losses(with_values(scenario, dict.fromkeys(THIN)))
    assert newtonian.gap > 10.0 * losses.gap


@pytest.mark.parametrize("blunt", [0.5, 0.005])
def test_how_a_yield_stress_is_blunted_does_not_decide_with_a_pad_either(story, blunt, monkeypatch):
    """Ten times more or less: the film of a pad is sheared far faster than that."""
    scenario = story("elastomer_thinning", 'inlet_check.stop="pad"', "inlet_check.stop_pad_diameter=12 mm")
    p = core_parameters(scenario)
    usual = metrics_of(motion_of(p, run_core(p)))
    monkeypatch.setattr(flow_curves, "BLUNT", blunt)
    other = core_parameters(scenario)
    assert other.material.rheology.square != p.material.rheology.square
    found = metrics_of(motion_of(other, run_core(other)))
    assert usual.volumetric_efficiency > 0.9
    assert found.volumetric_efficiency == pytest.approx(usual.volumetric_efficiency, abs=5e-3)


@pytest.mark.parametrize("exponent", [0.3, 0.6])
@pytest.mark.parametrize("name", ["primer", "mastic_close_cage"])
def test_a_shut_ball_carries_the_pressure_on_its_seat_whatever_the_material(story, name, exponent):
    """F = pi r^2 dp at lift 0 (M5d); 2e-3: the roughness."""
    p = core_parameters(with_values(story(name), {**THIN, "material.thinning_exponent": exponent}))
    out = as_record(Law())
    law(as_record(p.inlet), as_record(p.material), 0.0, 0.0, 5e4, out)
    assert float(out["force"]) == pytest.approx(math.pi * p.inlet.seat_radius**2 * 5e4, rel=2e-3)
    assert float(out["flow"]) == 0.0


def test_a_ball_falls_in_a_hardly_thinning_stain_as_in_a_newtonian_one(story):
    """With inertia: at 10 mPa s creeping flow alone would be eight times too fast."""
    stain = story("stain", "material.viscosity=10 cP")
    nearly = with_values(stain, {**THIN, "material.thinning_exponent": 0.999, "material.thinning_onset": 1.0})
    assert preview(nearly).inlet.fall_speed == pytest.approx(preview(stain).inlet.fall_speed, rel=0.01)


def test_closed_forms_do_not_know_a_material_that_thins(story):
    with pytest.raises(ScenarioError) as caught:
        story("elastomer_thinning", "closures.resistance=closed form")
    assert "tabulated closures" in str(caught.value)


def test_a_yield_stress_that_blocks_the_hose_is_told_of_a_material_that_thickens_too(story):
    """4 L tau_y/d = 158 kPa, with an exponent above 1, which only a fit can have."""
    rates, stresses = (1, 10, 100, 1000), (1000.1, 1002.0, 1040.0, 1800.0)
    told = [
        f'{{ shear_rate = "{g} 1/s", stress = "{s} Pa", uncertainty = "0.1 %" }}'
        for g, s in zip(rates, stresses, strict=True)
    ]
    blocked = story("primer", 'material.flow="Herschel-Bulkley"', f"material.readings=[{', '.join(told)}]")
    said = " ".join(warnings_for(blocked, None))
    assert "thickens under shear" in said
    assert "in the suction hose" in said
