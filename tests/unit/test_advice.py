"""The order of preference on trials made by hand, and the sentences that follow from the numbers."""

from dataclasses import replace

import pytest

from balltravel.advice import Trial, _limit, _why, ranked, recommend, unmet_targets
from balltravel.suction_losses import SuctionLosses
from balltravel.sweeps import run_case


@pytest.fixture(scope="module")
def metrics():
    from pathlib import Path

    from balltravel.files import read_scenario

    return run_case(read_scenario(Path(__file__).parents[2] / "scenarios" / "primer.toml")).metrics


@pytest.fixture
def trial(metrics):
    """A trial of a travel [mm] that delivers a share of swept and lands at a speed [m/s]."""

    def make(travel, delivered, landing, unmet=()):
        inlet = replace(metrics.inlet, landing_speed=landing)
        changed = replace(metrics, volumetric_efficiency=delivered, inlet=inlet)
        return Trial((), (), travel * 1e-3, "ok", changed, tuple(unmet))

    return make


def travels(order):
    return [round(1e3 * one.ball_travel, 6) for one in order]


def test_more_delivery_comes_first(trial):
    assert travels(ranked([trial(2, 0.90, 0.1), trial(3, 0.91, 0.4), trial(4, 0.92, 0.5)])) == [4, 3, 2]


def test_half_a_per_cent_of_swept_counts_as_equal_and_the_gentler_landing_decides(trial):
    assert travels(ranked([trial(3, 0.950, 0.4), trial(4, 0.954, 0.5)])) == [3, 4]
    assert travels(ranked([trial(3, 0.950, 0.4), trial(4, 0.956, 0.5)])) == [4, 3]


def test_five_per_cent_of_the_landing_counts_as_equal_and_the_shorter_travel_decides(trial):
    assert travels(ranked([trial(3, 0.95, 0.41), trial(4, 0.95, 0.40)])) == [3, 4]
    assert travels(ranked([trial(3, 0.95, 0.43), trial(4, 0.95, 0.40)])) == [4, 3]


def test_a_case_that_failed_is_not_ranked(trial):
    failed = Trial((), (), 0.005, "step_too_small", None, ("the run failed",))
    assert travels(ranked([failed, trial(3, 0.9, 0.1)])) == [3]


def test_the_next_best_that_is_named_is_the_best_of_the_others(trial):
    order = [trial(4, 0.98, 0.5), trial(2, 0.955, 0.1), trial(3, 0.957, 0.2)]
    (said,) = _why(order[0], order, met=True)
    assert "98.0 % of swept, the next best 95.7 %" in said


def test_the_only_one_that_meets_the_targets_is_called_that(trial):
    one = trial(4, 0.98, 0.5)
    assert "only one that meets the targets" in _why(one, [one], met=True)[0]
    assert "only one that could be simulated" in _why(one, [one], met=False)[0]


def test_each_target_that_is_missed_is_named_with_its_number(story, metrics):
    scenario = story("primer", "target.fill_fraction=99.5 %", "target.landing_speed=0.1 m/s")
    fill, landing = unmet_targets(scenario, metrics)
    assert fill == f"fill {100 * metrics.fill_fraction:.1f} % (target 99.5 %)"
    assert landing == f"landing {metrics.inlet.landing_speed:.2f} m/s (target 0.1 m/s)"
    (gap,) = unmet_targets(story("primer", "material.largest_particle=1 mm", "shims.below=[]"), metrics)
    assert gap.startswith("gap ")
    assert "3 mm" in gap


@pytest.mark.parametrize(
    ("hose", "passage", "gap", "filled", "said"),
    [
        (0.2, 0.2, 0.3, False, None),
        (0.2, 0.2, 0.9, False, "The gap at the seat, which travel sets, takes the largest share"),
        (0.9, 0.2, 0.3, False, "The hose, not travel, is the limit"),
        (0.2, 0.9, 0.3, False, "The cage, not travel, is the limit"),
        (0.9, 0.2, 0.3, True, "most of it the hose: the chamber fills behind the piston"),
        (0.5, 0.4, 0.3, True, "The hose takes more of the suction than the gap"),
    ],
)
def test_the_limit_is_named_by_what_takes_the_suction(hose, passage, gap, filled, said):
    found = _limit(SuctionLosses(1e5 * hose, 1e5 * passage, 1e5 * gap, 1e5), filled)
    assert (not found) if said is None else (said in found[0])


def test_no_travel_is_said_to_fill_nothing_where_one_fills(story):
    """At 11 Pa s hose and cage would take more suction than there is, and yet 9 mm fills 90 %."""
    found = recommend(story("primer", "material.viscosity=11 Pa.s"))
    assert found.recommended is not None
    assert not any("not travel, is the limit" in reason for reason in found.reasons)


def test_the_runner_up_is_not_chosen_by_a_landing_that_is_gentler_by_a_hair(story):
    found = recommend(story("primer"))
    assert found.runner_up is not None
    by_travel = {one.ball_travel: one.metrics for one in found.arrangements if one.metrics is not None}
    longer = [m for travel, m in by_travel.items() if travel > found.runner_up.ball_travel]
    mine = by_travel[found.runner_up.ball_travel]
    assert all(mine.volumetric_efficiency > other.volumetric_efficiency for other in longer)
