"""The verdict of whole scenarios, against single runs and what must hold in the limit."""

import json

import numpy as np
import pytest

from balltravel import read_scenario, with_ranges, with_values
from balltravel.report.json import recommendation_dict
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.travel.recommend import recommend
from balltravel.study.verdict.recommend import recommend as recommend_drawn
from balltravel.study.verdict.verdict import recommend_over


def exact_but(scenario, **ranges):
    """A scenario of which all is known but these keys (dots as double underscores)."""
    stated = {key.replace("__", "."): given for key, given in ranges.items()}
    known = dict.fromkeys(spreads_of(scenario), "exactly")
    return with_ranges(with_ranges(scenario, known), stated)


PRIMER = read_scenario("scenarios/primer.toml")
ONE_SHIM = ('shims.thicknesses=["3 mm"]', "shims.below=[]")
"""Two travels instead of eight, so that draws are quickly run."""

HEAVY = exact_but(PRIMER, material__viscosity=("3 Pa.s", "16 Pa.s"))


@pytest.fixture(scope="module")
def recommendation():
    return recommend_drawn(HEAVY, draws=32, seed=1)


@pytest.fixture(scope="module")
def heavy(recommendation):
    return recommendation.verdict


def test_what_is_known_exactly_gives_the_single_run():
    known = exact_but(PRIMER)
    answer = recommend_over(known)
    verdict, single = answer.verdict, recommend(known)
    assert verdict.inputs == ()
    assert verdict.draws == 1
    assert verdict.chosen == single.recommended
    assert verdict.holds == 1.0
    assert not verdict.changes
    for prospect, trial in zip(verdict.prospects, single.arrangements, strict=True):
        assert prospect.delivery_5 == prospect.delivery_50 == prospect.delivery_95
        assert prospect.delivery_50 == pytest.approx(trial.delivery, abs=1e-5)
        assert prospect.chance["all"] == (0.0 if trial.unmet else 1.0)


def test_a_range_of_no_width_is_known_exactly():
    narrow = with_ranges(exact_but(PRIMER), {"material.viscosity": ("5 Pa.s", "5 Pa.s", "5 Pa.s")})
    assert recommend_over(narrow).verdict == recommend_over(exact_but(PRIMER)).verdict


def test_a_wide_range_of_viscosity_changes_the_answer_and_the_ends_agree_with_direct_runs(heavy):
    assert heavy.changes
    assert heavy.deciding[0].key == "material.viscosity"
    cut = heavy.thresholds[0]
    assert cut.below.ball_travel < cut.above.ball_travel
    for end, named in (("low", cut.below), ("high", cut.above)):
        edge = {"low": 3.0, "high": 16.0}[end]
        middle = float(np.sqrt(edge * cut.at))
        direct = recommend(with_values(exact_but(PRIMER), {"material.viscosity": middle}))
        best = max(direct.arrangements, key=lambda trial: trial.delivery)
        assert abs(best.ball_travel - named.ball_travel) < 1.01e-3  # one shim


def test_the_measurement_offered_is_that_of_the_viscosity_with_an_answer_for_each_outcome(heavy):
    offered = heavy.next_measurement
    assert offered.keys == ("material.viscosity",)
    assert sum(outcome.share for outcome in offered.outcomes) == pytest.approx(1.0)
    travels = [outcome.choice.ball_travel for outcome in offered.outcomes]
    assert len(travels) >= 2
    assert travels == sorted(travels)
    assert offered.saved <= heavy.regret_mean


def test_what_an_arrangement_promises_hangs_together(heavy):
    for prospect in heavy.prospects:
        assert prospect.delivery_5 <= prospect.delivery_50 <= prospect.delivery_95
        assert 0.0 <= prospect.regret_mean <= max(prospect.regret_95, prospect.regret_mean)
        assert prospect.chance["all"] <= min(prospect.chance.values()) + 1e-12
        assert prospect.chance["all"] + prospect.avoidable <= heavy.any_meets + 1e-12
    assert min(prospect.avoidable for prospect in heavy.prospects) <= 1.0 - heavy.holds


def test_any_number_of_threads_gives_the_same_verdict_to_the_last_bit(heavy):
    assert recommend_over(HEAVY, draws=32, seed=1, workers=1).verdict == heavy


def test_another_seed_gives_other_draws_and_says_its_number(heavy):
    other = recommend_over(HEAVY, draws=32, seed=2).verdict
    assert other.seed == 2
    assert other.prospects != heavy.prospects
    assert abs(other.chosen.ball_travel - heavy.chosen.ball_travel) < 1.01e-3


def test_stain_stops_early_for_any_travel_does():
    verdict = recommend_over(read_scenario("scenarios/stain.toml", ONE_SHIM)).verdict
    assert verdict.early
    assert verdict.draws == 32
    assert verdict.all_equal
    assert verdict.chosen.ball_travel == min(p.choice.ball_travel for p in verdict.prospects)
    assert verdict.next_measurement is None
    assert not verdict.changes
    assert verdict.deciding == ()


def test_a_lower_without_shims_gets_all_its_draws():
    verdict = recommend_over(
        with_values(PRIMER, {"shims.thicknesses": (), "shims.below": ()}), draws=64
    ).verdict
    assert (verdict.draws, verdict.early, len(verdict.prospects)) == (64, False, 1)
    assert verdict.holds == 1.0


def test_where_no_travel_meets_the_targets_it_says_in_how_many_draws():
    verdict = recommend_over(read_scenario("scenarios/mastic_close_cage.toml", ONE_SHIM), draws=32).verdict
    assert verdict.any_meets < 0.2
    assert all(prospect.chance["all"] <= verdict.any_meets for prospect in verdict.prospects)


def test_json_has_what_scripts_ask_for(recommendation):
    said = json.loads(json.dumps(recommendation_dict(HEAVY, recommendation)))
    verdict = said["verdict"]
    assert 0.0 < verdict["holds"] <= 1.0
    assert verdict["changes"] is True
    assert verdict["deciding"][0] == "material.viscosity"
    assert verdict["next_measurement"]["keys"] == ["material.viscosity"]
    for arrangement in said["arrangements"]:
        assert {"fill", "landing", "all"} <= arrangement["chance"].keys()
        assert arrangement["delivery_5"] <= arrangement["delivery_95"]
        assert arrangement["regret_95"] >= 0.0


def test_without_draws_there_is_no_verdict():
    assert recommend_drawn(PRIMER, draws=0).verdict is None
