"""The numerical band of a recommendation, and numbers printed to no more digits than it supports."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.core.status import Status
from balltravel.report.tables import rounded
from balltravel.report.text.recommend import recommendation_text
from balltravel.study.travel.accuracy import numerical_band
from balltravel.study.travel.recommend import recommend
from balltravel.sweeps.cases import Case, run_case


def test_the_band_is_the_difference_to_a_tighter_run(story):
    scenario = story("primer")
    loose, tight = run_case(scenario, 1e-5), run_case(scenario, 1e-7)
    band = numerical_band(scenario, loose, 1e-5)
    for name, value in loose.metrics.flat().items():
        if name == "volume_residual":  # round-off, in all three runs another
            continue
        if math.isnan(value):  # of a tip, and there is none
            assert name in ("spray_pressure", "pressure_dip", "dip_at_top", "dip_at_bottom")
            continue
        size = abs(value) * 1e-11 + 1e-18
        assert band.values[name] >= abs(value - tight.metrics.flat()[name]) - size
    lag = "inlet.closing_lag"
    expected = abs(loose.metrics.flat()[lag] - tight.metrics.flat()[lag])
    assert band.values[lag] == pytest.approx(expected, rel=1e-3)


def test_the_band_holds_the_truth(story):
    """A much tighter run lies within it, or within what that run itself is off by."""
    scenario = story("mastic")
    case = run_case(scenario, 1e-5)
    truth, band = run_case(scenario, 1e-9).metrics.flat(), numerical_band(scenario, case, 1e-5)
    for name in ("fill_fraction", "volumetric_efficiency", "inlet.closing_lag", "inlet.landing_speed"):
        assert abs(case.metrics.flat()[name] - truth[name]) <= 1.05 * band.values[name] + 1e-10


SLOW = (
    "material.viscosity=8 Pa.s",
    "material.free_gas_fraction=2 %",
    "suction.hose_length=20 m",
    "suction.hose_diameter=50 mm",
    "shims.below=[1, 2, 3]",
)
"""A long hose that goes on emptying for some two hundred cycles."""


def test_the_band_of_a_cycle_that_drifts_holds_what_it_still_had_to_go(story):
    scenario = story("primer", *SLOW)
    case, settled = run_case(scenario), run_case(scenario, 1e-7, max_cycles=600)
    assert (case.status, settled.status) == (Status.NOT_PERIODIC, Status.OK)
    band = numerical_band(scenario, case)
    for name in ("fill_fraction", "volumetric_efficiency", "inlet.closing_lag", "inlet.backflow_volume"):
        off = abs(case.metrics.flat()[name] - settled.metrics.flat()[name])
        assert off <= 1.1 * band.values[name]
    assert band.values["fill_fraction"] > 3.0 * case.scatter


def test_a_cycle_that_still_drifts_after_many_has_no_band(story, monkeypatch):
    monkeypatch.setattr("balltravel.study.travel.accuracy.MANY_CYCLES", 33)
    scenario = story("primer", *SLOW)
    band = numerical_band(scenario, run_case(scenario))
    assert band.values == {}
    assert band.missing == "the cycle had not settled after 33 cycles"


@pytest.mark.parametrize("first", [True, False])
def test_a_cycle_that_does_not_repeat_has_at_least_its_scatter_as_band(story, monkeypatch, first):
    """The larger of both runs' scatter."""
    scenario = story("primer")
    plain = run_case(scenario)
    scatters = plain._replace(status=Status.NOT_PERIODIC, scatter=9e-5)
    case, again = (scatters, plain) if first else (plain, scatters)
    monkeypatch.setattr("balltravel.study.travel.accuracy.run_case", lambda *_: again)
    band = numerical_band(scenario, case)
    assert band.values["fill_fraction"] == band.values["volumetric_efficiency"] == 9e-5
    assert band.values["delivered_volume"] == pytest.approx(9e-5 * plain.metrics.loss_budget.swept)


def test_without_a_run_there_is_no_band_and_a_reason(story):
    band = numerical_band(story("primer"), Case(Status.TOO_MANY_STEPS, None))
    assert band.values == {}
    assert band.missing == "the run failed"


@given(st.floats(-1e6, 1e6), st.integers(0, 6), st.floats(1e-9, 1e5))
def test_no_digit_is_shown_that_the_band_does_not_support(value, most, band):
    shown = rounded(value, most, band)
    decimals = len(shown.partition(".")[2])
    assert decimals <= most
    if decimals:
        assert 10.0**-decimals >= band * (1 - 1e-12)
    assert abs(float(shown) - value) <= max(10.0 * band, 0.5000001 * 10.0**-most)


def test_numbers_without_a_band_have_all_their_decimals():
    assert rounded(97.34, 1) == "97.3"
    assert rounded(97.34, 1, 0.3) == "97"
    assert rounded(97.34, 1, 3.0) == "100"
    assert rounded(-0.04, 1) == "0.0"


def test_the_table_of_a_recommendation_keeps_to_the_band(story):
    scenario = story("primer")
    found = recommend(scenario)
    coarse = replace(found, band=replace(found.band, values={**found.band.values, "fill_fraction": 0.004}))
    fine, rough = recommendation_text(scenario, found), recommendation_text(scenario, coarse)
    assert "  98.7  " in fine
    assert "  98.7  " not in rough
    assert "fill 0.4 %" in rough


def test_a_recommendation_beyond_the_ranges_is_called_an_indication(story):
    no_choice = ("shims.thicknesses=[]", "shims.below=[]")
    scenario = story("stain", "material.viscosity=5 cP", *no_choice)
    found = recommend(scenario)
    assert found.indication
    text = recommendation_text(scenario, found)
    assert "Indication, not a recommendation: " in text
    assert "Recommended: " not in text
    within = story("stain", *no_choice)
    inside = recommend(within)
    assert not inside.indication
    assert "Recommended: " in recommendation_text(within, inside)
