"""The order of preference on trials made by hand, and the sentences that follow from the numbers."""

from dataclasses import replace

import pytest

from balltravel.estimate.cautions import seat_gap
from balltravel.estimate.suction_losses import SuctionLosses, suction_losses
from balltravel.scenario.model import with_shims_below, with_values
from balltravel.setup.parameters import ball_share
from balltravel.study.travel.reasons import _limit, _why, _why_nearest, _why_only
from balltravel.study.travel.recommend import recommend
from balltravel.study.travel.trials import Trial, by_nearness, missed, ranked
from balltravel.sweeps.cases import run_case
from balltravel.units import to_texts


@pytest.fixture(scope="module")
def metrics():
    from pathlib import Path

    from balltravel.files.read_write import read_scenario

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


def order_of(trials):
    """With a landing target so strict that none counts as gentle enough."""
    return ranked(trials, 1e-3)


def test_more_delivery_comes_first(trial):
    assert travels(order_of([trial(2, 0.90, 0.1), trial(3, 0.91, 0.4), trial(4, 0.92, 0.5)])) == [4, 3, 2]


def test_half_a_per_cent_of_swept_counts_as_equal_and_the_gentler_landing_decides(trial):
    assert travels(order_of([trial(3, 0.950, 0.4), trial(4, 0.954, 0.5)])) == [3, 4]
    assert travels(order_of([trial(3, 0.950, 0.4), trial(4, 0.956, 0.5)])) == [4, 3]


def test_five_per_cent_of_the_landing_counts_as_equal_and_the_shorter_travel_decides(trial):
    assert travels(order_of([trial(3, 0.95, 0.41), trial(4, 0.95, 0.40)])) == [3, 4]
    assert travels(order_of([trial(3, 0.95, 0.43), trial(4, 0.95, 0.40)])) == [4, 3]


def test_landings_below_half_the_target_count_as_equal_and_the_shorter_travel_decides(trial):
    """57 and 13 mm/s where 500 are allowed: nobody would lengthen the travel for that."""
    assert travels(ranked([trial(5, 0.997, 0.013), trial(2, 0.997, 0.057)], 0.5)) == [2, 5]
    assert travels(ranked([trial(5, 0.997, 0.2), trial(2, 0.997, 0.3)], 0.5)) == [5, 2]


def test_a_case_that_failed_is_not_ranked(trial):
    failed = Trial((), (), 0.005, "step_too_small", None, ("the run failed",))
    assert travels(order_of([failed, trial(3, 0.9, 0.1)])) == [3]


def test_the_next_best_that_is_named_is_the_best_of_the_others(trial):
    order = [trial(4, 0.98, 0.5), trial(2, 0.955, 0.1), trial(3, 0.957, 0.2)]
    (said,) = _why(order)
    assert "98.0 % of swept" in said
    assert "the next best, 3 mm, delivers 95.7 %" in said


def test_the_only_one_that_meets_the_targets_is_called_that(trial):
    assert "only arrangement that meets the targets" in _why([trial(4, 0.98, 0.5)])[0]
    (said,) = _why_nearest([trial(4, 0.98, 0.5, ["fill 80.0 % (target 90 %)"])])
    assert "only arrangement that could be simulated" in said
    assert "fill 80.0 % (target 90 %)" in said


def test_among_equals_it_is_said_whether_the_shortest_or_a_gentler_one_was_taken(trial):
    shortest, longer = trial(3, 0.95, 0.40), trial(4, 0.951, 0.41)
    assert "the shortest travel" in _why([shortest, longer])[0]
    hard, gentle = trial(3, 0.95, 0.45), trial(4, 0.95, 0.40)
    assert "ball lands more gently (0.40 m/s) than at any shorter travel" in _why([gentle, hard])[0]


def test_without_loose_shims_there_is_nothing_to_compare(story):
    """One arrangement: nothing is said of others, of travel, or of what could be simulated."""
    scenario = story("primer", "shims.thicknesses=[]", "shims.below=[]")
    found = recommend(scenario)
    assert found.recommended is None
    assert found.reasons[0].startswith(
        "There is only one arrangement, because there are no loose shims: it misses"
    )
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
    assert any("above the outlet's" in said for said in found.reservations)
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
        (0.9, 0.2, 0.3, False, "most of it the hose: no travel fills the chamber"),
        (0.2, 0.9, 0.3, False, "most of it the cage: no travel fills the chamber"),
        (0.9, 0.2, 0.3, True, "most of it the hose: the chamber lags behind the piston"),
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
    assert not any("not travel, is the limit" in said for said in found.reservations)


def test_the_runner_up_is_not_chosen_by_a_landing_that_is_gentler_by_a_hair(story):
    found = recommend(story("primer"))
    assert found.runner_up is not None
    by_travel = {one.ball_travel: one.metrics for one in found.arrangements if one.metrics is not None}
    longer = [m for travel, m in by_travel.items() if travel > found.runner_up.ball_travel]
    mine = by_travel[found.runner_up.ball_travel]
    assert all(mine.volumetric_efficiency > other.volumetric_efficiency for other in longer)


def test_a_seat_that_leaks_all_is_warned_of_and_nothing_is_recommended(story):
    """0.3 mm under the seated ball: what is drawn in runs back, whatever the travel."""
    found = recommend(story("primer", "inlet_check.leak_gap=0.3 mm"))
    assert found.recommended is found.best_available is None
    assert "worn seats or packings leak" in found.reservations[0]
    assert "mend them first" in found.reservations[0]
    assert all("delivers nothing" in one.unmet for one in found.arrangements)


def test_a_spring_that_never_opens_is_named_and_the_gap_is_not(story):
    """60 N on a bore of 21 mm: 1.73 bar, where there is less than one."""
    found = recommend(story("primer", "inlet_check.spring_preload=60 N"))
    assert found.recommended is found.best_available is None
    assert any("preload alone needs 1.73 bar" in said for said in found.warnings)
    assert not any("takes the largest share" in said for said in found.reasons)


def test_what_would_deliver_more_but_lands_too_hard_is_told(story):
    """A landing target between that of 3 mm and that of 4 mm."""
    closed = "closures.resistance=closed form"
    landings = {
        round(1e3 * t.ball_travel): t.landing for t in recommend(story("primer", closed)).arrangements
    }
    target = 0.5 * (landings[3] + landings[4])
    found = recommend(story("primer", closed, f"target.landing_speed={target} m/s"))
    assert found.recommended.ball_travel == pytest.approx(3e-3)
    assert any("4 mm would deliver more" in said and "landing" in said for said in found.reasons)


def test_the_runner_up_has_another_travel(story):
    found = recommend(story("primer", 'shims.thicknesses=["1 mm", "1 mm", "2 mm"]', "shims.below=[]"))
    travels_found = [round(1e3 * one.ball_travel, 6) for one in found.arrangements]
    assert travels_found == [2, 3, 4, 5, 6]
    assert found.runner_up.ball_travel != found.recommended.ball_travel


def test_where_every_run_fails_its_advice_is_the_reason(story):
    found = recommend(story("primer", "material.viscosity=0.8 cP", "drive.cycle_rate=0.3 /min"))
    assert {one.status for one in found.arrangements} == {"too_many_steps"}
    assert found.recommended is found.best_available is None
    assert "more steps than allowed" in found.reasons[0]


def test_a_travel_at_the_edge_of_starving_is_passed_over_and_that_is_told(story):
    """Primer: 3 mm delivers as much as 4 mm now, and a fifth heavier it loses several per cent more."""
    found = recommend(story("primer"))
    assert found.recommended.ball_travel == pytest.approx(4e-3)
    short, longer = (
        [run_case(story("primer", f"material.viscosity={mu} Pa.s", below)).metrics for mu in (5, 6)]
        for below in ("shims.below=[1]", "shims.below=[2]")
    )
    assert short[0].volumetric_efficiency > longer[0].volumetric_efficiency - 0.005
    assert short[1].volumetric_efficiency < longer[1].volumetric_efficiency - 0.05
    (said,) = [reason for reason in found.reasons if "close to starving" in reason]
    assert said.startswith("3 mm would deliver as much now")
    assert f"{100 * short[1].volumetric_efficiency:.1f} % at 20 % more" in said


def test_what_a_travel_is_sure_of_is_the_lesser_delivery(trial):
    thin, thick = replace(trial(3, 0.95, 0.1), heavier=0.96), replace(trial(4, 0.949, 0.1), heavier=0.90)
    assert thin.assured == 0.95
    assert thick.assured == 0.90
    assert travels(order_of([thick, thin])) == [3, 4]
    assert trial(5, 0.9, 0.1).assured == 0.9


def test_the_most_viscous_material_has_none_heavier(story):
    """At the upper limit of viscosity the heavier run is that at the limit."""
    found = recommend(
        story("primer", "material.viscosity=10000 Pa.s", "shims.thicknesses=[]", "shims.below=[]")
    )
    (only,) = found.arrangements
    assert only.heavier == pytest.approx(only.delivery, abs=1e-6)


def test_the_recommendation_tells_what_drifting_balls_change(story):
    """The run is that of the setting, and so is the share; in the primer the shortest travel, whose ball
    drifts to the edge of its seat, fills far better than with a centred ball."""
    found = recommend(story("primer"))
    named = found.recommended
    below = f"shims.below={list(named.shims_below)}"
    drifting = "closures.ball_position=drifting"
    alone = story("primer", below, drifting)
    assert found.off_axis.metrics == run_case(alone).metrics
    rate = alone.drive.cycle_rate
    assert found.off_axis.inlet_share == ball_share(
        alone, alone.inlet_check, alone.inlet_travel, lambda: rate
    )
    again = recommend(story("primer", drifting))
    assert again.off_axis is None
    assert again.recommended == found.off_axis.recommended
    centred, aside = (min(of.arrangements, key=lambda one: one.ball_travel) for of in (found, again))
    assert aside.metrics.fill_fraction > centred.metrics.fill_fraction + 0.1


def test_far_from_the_edge_nothing_is_said_of_it(story):
    found = recommend(story("stain"))
    assert not any("close to starving" in said for said in found.reservations)


def test_the_travel_of_a_thin_material_does_not_jump_with_the_cycle_rate(story):
    """Landings of 13 to 60 mm/s scatter with the ringing of the line; the target is 500 mm/s."""
    few = ('shims.thicknesses=["1 mm", "3 mm"]', "shims.below=[]")
    rates = (70, 71.25, 85, 87.5)
    chosen = [recommend(story("stain", f"drive.cycle_rate={rate} /min", *few)) for rate in rates]
    assert [round(1e3 * one.recommended.ball_travel, 6) for one in chosen] == [2, 2, 2, 2]


def test_warnings_and_suction_are_those_of_the_named_arrangement_not_of_the_fitted_one(story):
    """Fitted are 2 mm, where a grain of 0.8 mm is more than a third of the gap; 4 mm is named."""
    scenario = story("primer", "material.largest_particle=0.8 mm", "shims.below=[]")
    found = recommend(scenario)
    assert found.recommended.ball_travel == pytest.approx(4e-3)
    assert not any(said.startswith("inlet check: the gap at full travel") for said in found.warnings)
    heavy = story("mastic", "material.viscosity=20 Pa.s", "shims.below=[]")
    named = recommend(heavy)
    losses = suction_losses(with_shims_below(heavy, named.best_available.shims_below))
    (said,) = [reason for reason in named.reasons if "at full piston speed" in reason]
    assert f"the gap at its seat {to_texts(losses, 'pressure', 3)[2]}" in said


@pytest.mark.parametrize(("share", "unmet"), [(2.9, 1), (3.1, 0)])
def test_a_gap_of_three_of_the_largest_particles_is_asked_for(story, metrics, share, unmet):
    gap = seat_gap(story("primer").inlet_check, 5e-3)
    assert len(missed(story("primer", f"material.largest_particle={gap / share} m"), metrics)) == unmet


@pytest.mark.parametrize(
    ("viscosity", "base", "shim", "factor", "word"),
    [("20 Pa.s", 4e-3, 3e-3, 1.5, "longest"), ("3 Pa.s", 7e-3, 8e-3, 1 / 1.5, "shortest")],
)
def test_beyond_the_end_of_what_the_shims_allow_is_looked(story, viscosity, base, shim, factor, word):
    """Half as long again, or two thirds: run by itself, and its delivery is what is told."""
    one_shim = {"shims.thicknesses": (shim,), "shims.below": (), "inlet_check.base_travel": base}
    scenario = with_values(story("mastic", f"material.viscosity={viscosity}"), one_shim)
    found = recommend(scenario)
    named = found.recommended or found.best_available
    other = {"inlet_check.base_travel": factor * named.ball_travel, "shims.below": ()}
    beyond = run_case(with_values(scenario, other)).metrics.volumetric_efficiency
    (told,) = [reason for reason in found.reasons if f"the {word} travel that the shims allow" in reason]
    assert f"would deliver {100 * beyond:.1f} % of swept" in told


def test_where_travel_matters_nobody_says_it_hardly_does(story):
    assert not any("hardly matters" in reason for reason in recommend(story("primer")).reasons)


def test_only_the_named_arrangements_excursions_make_an_indication(story):
    """The closed forms end at a lift of 1.2 seat radii: 18 mm are beyond it, 4 mm are not."""
    one_shim = {"shims.thicknesses": (14e-3,), "shims.below": (), "inlet_check.base_travel": 4e-3}
    scenario = with_values(story("primer", "closures.resistance=closed form"), one_shim)
    found = recommend(scenario)
    by_travel = {round(1e3 * one.ball_travel): one.is_indication for one in found.arrangements}
    assert by_travel == {4: False, 18: True}
    assert found.recommended.ball_travel == pytest.approx(4e-3)
    assert not found.indication


@pytest.mark.parametrize("ball_position", ["centred", "drifting"])
def test_progress_counts_every_run_once_those_of_balls_off_their_axis_too(story, ball_position):
    """Eight arrangements, each at a viscosity higher by a fifth too; and all again with balls that drift."""
    seen = []
    scenario = with_values(story("primer"), {"closures.ball_position": ball_position})
    recommend(scenario, progress=lambda *count: seen.append(count))
    whole = 16 if ball_position == "drifting" else 32
    assert seen == [(done, whole) for done in range(1, whole + 1)]


def test_progress_ends_at_the_whole_where_nothing_pumps(story):
    seen = []
    stiff = with_values(story("primer"), {"material.viscosity": 1e4})
    found = recommend(stiff, progress=lambda *count: seen.append(count))
    assert found.off_axis is None
    assert seen[-1] == (16, 16)
