"""The order of preference on trials made by hand, and the sentences that follow from the numbers."""

from dataclasses import replace

import pytest

from balltravel.advice import recommend
from balltravel.reasons import _limit, _why, _why_nearest, _why_only
from balltravel.suction_losses import SuctionLosses
from balltravel.sweeps import run_case
from balltravel.trials import Trial, by_nearness, missed, ranked


@pytest.fixture(scope="module")
def metrics():
    from pathlib import Path

    from balltravel.files import read_scenario

    return run_case(read_scenario(Path(__file__).parents[2] / "scenarios" / "primer.toml")).metrics


@pytest.fixture
def trial(metrics):
    """A trial of a travel [mm] that delivers a share of swept and lands at a speed [m/s]."""

    def make(travel, delivered, landing, unmet=(), shortfall=0.0):
        inlet = replace(metrics.inlet, landing_speed=landing)
        changed = replace(metrics, volumetric_efficiency=delivered, inlet=inlet)
        return Trial((), (), travel * 1e-3, "ok", changed, tuple(unmet), shortfall=shortfall)

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
    (said,) = _why(order)
    assert "98.0 % of swept, the next best 95.7 %" in said


def test_the_only_one_that_meets_the_targets_is_called_that(trial):
    assert "only one that meets the targets" in _why([trial(4, 0.98, 0.5)])[0]
    (said,) = _why_nearest([trial(4, 0.98, 0.5, ["fill 80.0 % (target 90 %)"])])
    assert "only arrangement that could be simulated" in said
    assert "fill 80.0 % (target 90 %)" in said


def test_among_equals_it_is_said_whether_the_shortest_or_a_gentler_one_was_taken(trial):
    shortest, longer = trial(3, 0.95, 0.40), trial(4, 0.951, 0.41)
    assert "the shortest travel" in _why([shortest, longer])[0]
    hard, gentle = trial(3, 0.95, 0.45), trial(4, 0.95, 0.40)
    assert "lands more gently (0.4 m/s) than those of shorter travel" in _why([gentle, hard])[0]


def test_without_loose_shims_there_is_nothing_to_compare(story):
    """One arrangement: nothing is said of others, of travel, or of what could be simulated."""
    scenario = story("primer", "shims.thicknesses=[]", "shims.below=[]")
    found = recommend(scenario)
    assert found.recommended is None
    assert found.reasons[0].startswith("There is one arrangement, for there are no loose shims: it misses")
    assert not any("hardly matters" in said or "No arrangement" in said for said in found.reasons)
    meets = replace(found.arrangements[0], unmet=())
    assert "it meets its targets" in _why_only(meets)[0]


def test_the_nearest_misses_least_in_sum_then_delivers_most_then_is_shortest(trial):
    starved = trial(2, 0.60, 0.7, ["fill", "landing"], 0.33 + 0.40)
    filled = trial(4, 0.97, 0.75, ["landing"], 0.50)
    assert travels(by_nearness([starved, filled])) == [4, 2]
    assert travels(by_nearness([trial(3, 0.80, 0.4, ["fill"], 0.1), trial(4, 0.81, 0.4, ["fill"], 0.1)])) == [
        4,
        3,
    ]
    assert travels(by_nearness([trial(4, 0.80, 0.4, ["fill"], 0.1), trial(3, 0.80, 0.4, ["fill"], 0.1)])) == [
        3,
        4,
    ]


def test_the_nearest_says_when_another_would_deliver_more(trial):
    near, more = trial(4, 0.80, 0.6, ["landing"], 0.2), trial(6, 0.82, 0.7, ["landing"], 0.4)
    assert "6 mm would deliver more, 82.0 %" in _why_nearest([near, more])[0]
    assert "would deliver more" not in _why_nearest([near, trial(6, 0.804, 0.7, ["landing"], 0.4)])[0]


def test_of_a_material_too_heavy_the_fullest_arrangement_is_named(story):
    """100 Pa s: no travel fills the chamber, and the longest misses least."""
    found = recommend(story("primer", "material.viscosity=100 Pa.s"))
    assert found.recommended is None
    fills = {one.ball_travel: one.metrics.fill_fraction for one in found.arrangements}
    assert found.best_available.ball_travel == max(fills, key=fills.get)
    assert found.best_available.ball_travel == pytest.approx(9e-3)


def test_each_target_that_is_missed_is_named_with_its_number(story, metrics):
    scenario = story("primer", "target.fill_fraction=99.5 %", "target.landing_speed=0.1 m/s")
    fill, landing = missed(scenario, metrics)
    assert fill.text == f"fill {100 * metrics.fill_fraction:.1f} % (target 99.5 %)"
    assert fill.shortfall == pytest.approx((0.995 - metrics.fill_fraction) / 0.995)
    assert landing.text == f"landing {metrics.inlet.landing_speed:.2f} m/s (target 0.1 m/s)"
    assert landing.shortfall == pytest.approx(metrics.inlet.landing_speed / 0.1 - 1.0)
    (gap,) = missed(story("primer", "material.largest_particle=1 mm", "shims.below=[]"), metrics)
    assert gap.text.startswith("gap ")
    assert "3 mm" in gap.text
    assert 0.0 < gap.shortfall < 1.0


def test_a_target_missed_by_a_hair_is_not_shown_as_met(story, metrics):
    """Fill 89.97 % of a target of 90 %: one decimal would say 90.0."""
    inlet = replace(metrics.inlet, landing_speed=0.5004)
    close = replace(metrics, fill_fraction=0.89968, inlet=inlet)
    fill, landing = missed(story("primer"), close)
    assert fill.text == "fill 89.97 % (target 90 %)"
    assert landing.text == "landing 0.5004 m/s (target 0.5 m/s)"


def test_a_feed_above_the_outlet_pressure_recommends_nothing_and_says_why(story):
    """Both checks stand open: more than the swept volume runs through."""
    fed = story("primer", "suction.tank_gauge_pressure=3 bar", "outlet.gauge_pressure=1 bar")
    found = recommend(fed)
    assert found.recommended is found.best_available is found.runner_up is None
    assert "material runs through" in found.reasons[0]
    assert len(found.reasons) == 1
    assert any("above the outlet's" in said for said in found.warnings)
    assert all(one.metrics.volumetric_efficiency > 1.5 for one in found.arrangements)
    assert all("feed runs through" in one.unmet[-1] for one in found.arrangements)
    assert found.band.missing == "no arrangement is named"


def test_a_feed_below_the_outlet_pressure_is_pumped(story):
    fed = story("primer", "suction.tank_gauge_pressure=3 bar", "outlet.gauge_pressure=4 bar")
    found = recommend(fed)
    assert found.recommended is not None
    assert not any("above the outlet's" in said for said in found.warnings)


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
