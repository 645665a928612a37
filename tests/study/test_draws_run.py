"""Every arrangement in every draw: the same numbers as single runs, on any number of threads, and what counts
as met."""

from dataclasses import replace

import numpy as np
import pytest

from balltravel.core.status import Status
from balltravel.scenario.model import with_shims_below, with_values
from balltravel.study.travel.trials import missed, possible_travels
from balltravel.study.verdict.draws import draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.runs import RUN, run_draws
from balltravel.study.verdict.verdict import _verdict, counted, made, reach_of
from balltravel.sweeps.cases import run_case
from balltravel.units.spread import Spread

from ..helpers.lowers import scenario

SPREADS = {
    "material.viscosity": Spread("normal", (5.0, 1.5), logarithmic=True),
    "material.free_gas_fraction": Spread("even", (0.002, 0.02), logarithmic=True),
    "inlet_check.cage_diameter": Spread("normal", (0.0378, 1.5e-4)),
}


def three(s):
    """Three of its arrangements."""
    return tuple(possible_travels(s))[:3]


def with_shims(**changes):
    """A lower of three travels: 2, 4 and 6 mm."""
    inlet = {"base_travel": 0.002, **changes.pop("inlet_check", {})}
    return scenario(inlet_check=inlet, shims={"thicknesses": [0.002, 0.004], "below": []}, **changes)


def drawn(count=8, spreads=SPREADS, **changes):
    return draw(inputs_of(with_shims(**changes), spreads), count)


def same(one, other):
    return all(np.array_equal(one.columns[name], other.columns[name], equal_nan=name != "error")
               for name in one.columns)  # fmt: skip


def test_a_case_of_a_draw_is_a_single_run_of_its_scenario_to_the_last_bit():
    draws = drawn(4)
    runs = run_draws(draws, three(draws.scenario), workers=1)
    for i, s in enumerate(draws.scenarios):
        for k, arrangement in enumerate(runs.arrangements):
            alone = run_case(with_shims_below(s, arrangement.below), 1e-4)
            assert runs.delivery[i, k] == alone.metrics.volumetric_efficiency
            assert runs.fill[i, k] == alone.metrics.fill_fraction
            assert runs.landing[i, k] == alone.metrics.inlet.landing_speed
            assert runs.status[i, k] == alone.status


def test_where_everything_is_known_every_draw_is_the_single_run():
    exact = {key: Spread("even", (spread.likely,) * 2) for key, spread in SPREADS.items()}
    exact["inlet_check.cage_diameter"] = Spread("exact", (0.0378,))
    exact["material.free_gas_fraction"] = Spread("exact", (0.005,))
    exact["material.viscosity"] = Spread("exact", (5.0,))
    draws = drawn(2, exact)
    runs = run_draws(draws, three(draws.scenario), workers=1)
    for k, arrangement in enumerate(runs.arrangements):
        alone = run_case(with_shims_below(draws.scenario, arrangement.below), 1e-4)
        assert [*runs.delivery[:, k]] == [alone.metrics.volumetric_efficiency] * 2


def test_the_bits_hang_neither_on_threads_nor_on_the_order_of_arrangements():
    draws = drawn()
    arrangements = three(draws.scenario)
    alone = run_draws(draws, arrangements, workers=1)
    assert same(run_draws(draws, arrangements, workers=2), alone)
    turned = run_draws(draws, arrangements[::-1], workers=2)
    assert np.array_equal(turned.delivery[:, ::-1], alone.delivery)


def test_more_draws_are_added_without_running_any_twice():
    draws = drawn(16)
    arrangements, told = three(draws.scenario), []
    few = run_draws(draws.first(8), arrangements, workers=1)
    more = run_draws(draws, arrangements, lambda *done: told.append(done), workers=1, known=few)
    assert told[-1] == (8 * len(arrangements),) * 2
    assert same(more, run_draws(draws, arrangements, workers=1))
    assert same(more.first(8), few)


def test_a_coarser_tolerance_changes_delivery_by_less_than_a_thousandth_of_a_percent(within, story):
    for name in ("primer", "stain", "elastomer_thinning"):
        s = story(name)
        spreads = {"material.free_gas_fraction": SPREADS["material.free_gas_fraction"]}
        draws = draw(inputs_of(s, spreads), 2)
        coarse, fine = (run_draws(draws, three(s), workers=1, rtol=rtol) for rtol in (1e-4, 1e-6))
        within(coarse.delivery - fine.delivery, 1e-5)


def test_targets_are_met_as_a_single_trial_has_them():
    """Of 2, 4 and 6 mm some miss each of them."""
    draws = drawn(
        8,
        {"material.viscosity": Spread("even", (5.0, 60.0))},
        material={"largest_particle": 0.0006},
        target={"fill_fraction": 0.95, "landing_speed": 0.35, "delivery": 0.9},
    )
    runs = run_draws(draws, three(draws.scenario), workers=1)
    assert [*runs.met] == ["fill", "delivery", "landing", "gap", "pumping", "feed", RUN, "all"]
    some = set()
    for i, s in enumerate(draws.scenarios):
        for k, arrangement in enumerate(runs.arrangements):
            at = with_shims_below(s, arrangement.below)
            misses = {miss.target for miss in missed(at, run_case(at, 1e-4).metrics)}
            assert {name for name, met in runs.met.items() if not met[i, k]} - {"all"} == misses
            assert runs.met["all"][i, k] == (not misses)
            some |= misses
    assert some >= {"fill", "delivery", "landing", "gap"}


def test_targets_that_nobody_set_refuse_nothing():
    nothing = {"fill_fraction": None, "landing_speed": None}
    draws = drawn(2, {"material.viscosity": Spread("even", (40.0, 60.0))}, target=nothing)
    runs = run_draws(draws, three(draws.scenario)[:1], workers=1)
    assert not runs.defaults_met["fill"].any()
    assert runs.met["all"].all()
    assert {"fill", "landing", "gap", "delivery"}.isdisjoint(runs.met)


def test_a_draw_that_makes_no_scenario_and_an_arrangement_that_cannot_be_meet_nothing():
    """Seats of more than the ball's 29.4 mm; and a ball that would rise out of its cage."""
    draws = drawn(8, {"inlet_check.seat_diameter": Spread("even", (0.020, 0.036))})
    runs = run_draws(draws, three(draws.scenario), workers=1)
    refused = [*draws.refused]
    assert refused
    assert np.isnan(runs.delivery[refused]).all()
    assert np.isnan(runs.gap[refused]).all()
    assert runs.failed[refused].all()
    assert not runs.met["all"][refused].any()
    assert not runs.failed.all()
    assert runs.failed.sum() == len(refused) * len(runs.arrangements)


def test_a_run_that_fails_meets_nothing_and_is_counted():
    """A line of 60 m, through which nothing follows the piston."""
    draws = drawn(2, {"suction.lift": Spread("even", (0.0, 0.1))}, suction={"hose_length": 60.0},
                  material={"viscosity": 400.0})  # fmt: skip
    runs = run_draws(draws, three(draws.scenario), workers=1)
    failed = runs.status > Status.NOT_PERIODIC
    assert np.array_equal(runs.failed, failed)
    assert np.array_equal(runs.met[RUN], ~failed)
    assert not runs.met["all"][failed].any()


def test_a_cycle_that_does_not_repeat_counts_with_what_it_scatters():
    draws = drawn(2, target={"fill_fraction": 0.9, "delivery": 0.8})
    runs = run_draws(draws, three(draws.scenario)[1:2], workers=1)
    assert runs.met["delivery"].all()
    runs.status[0], runs.columns["scatter"][0] = Status.NOT_PERIODIC, 0.2
    for name in ("shortfalls", "met"):
        runs.__dict__.pop(name)
    assert [*runs.met["delivery"][:, 0]] == [False, True]
    assert runs.shortfalls["delivery"][0, 0] == pytest.approx(1.0 - (runs.delivery[0, 0] - 0.2) / 0.8)


def test_an_interrupt_ends_the_runs_before_the_rest_is_run():
    draws, told = drawn(64), []

    def stop(done, _):
        told.append(done)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_draws(draws, three(draws.scenario), stop, workers=1)
    assert len(told) == 1


def test_only_a_tip_has_a_dip():
    draws = drawn(1)
    assert run_draws(draws, three(draws.scenario)[:1]).dip is None
    tip = {"form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 0.0095,
           "tip_diameter": 0.001, "tip_discharge_coefficient": 0.8}  # fmt: skip
    s = with_values(with_shims(), {f"outlet.{key}": value for key, value in tip.items()})
    runs = run_draws(
        draw(inputs_of(s, {"material.density": Spread("even", (1240.0, 1260.0))}), 1), three(s)[:1]
    )
    assert 0.0 < runs.dip[0, 0] < 1.0


def test_what_runs_through_by_the_pressure_of_its_feed_is_not_delivered():
    """A tank at 3 bar that feeds against 1 to 5 bar."""
    draws = drawn(8, {"outlet.gauge_pressure": Spread("even", (1e5, 5e5))},
                  suction={"tank_gauge_pressure": 3e5})  # fmt: skip
    runs = run_draws(draws, three(draws.scenario), workers=1)
    through = draws.column("outlet.gauge_pressure") < 2.7e5
    assert through.any()
    reach = reach_of(runs, counted(draws))
    assert np.all(reach.delivered[through] == 0.0)
    assert not reach.holds[through].any()
    assert not reach.meets[through].any()
    pumps = draws.column("outlet.gauge_pressure") > 3.3e5
    assert np.array_equal(reach.delivered[pumps], runs.delivery[pumps])


def test_a_cage_that_is_closer_than_the_closures_know_counts_for_it_may_well_be_so():
    """A cage of 31 mm is known to 0.15 mm; the ball of 29.4 mm may have 0.95 of it, so 30.95 mm, at most."""
    sizes = Spread("normal", (0.031, 1.5e-4))
    close = drawn(32, {"inlet_check.cage_diameter": sizes})
    assert {*close.refused} == {*np.flatnonzero(close.column("inlet_check.cage_diameter") < 0.0294 / 0.95)}
    assert 3 < len(close.refused) < 15
    assert not close.impossible
    assert len(counted(close)) == 32


def test_a_draw_of_a_lower_that_cannot_be_is_left_out_and_one_that_the_model_refuses_counts():
    """Seats wider than the ball; and a solvent that boils in the tank."""
    seats = drawn(8, {"inlet_check.seat_diameter": Spread("even", (0.020, 0.036))})
    assert seats.refused
    assert {*seats.refused} == {*seats.impossible}
    assert len(counted(seats)) == len(made(seats)) == len(seats) - len(seats.refused)
    boils = drawn(8, {"material.vapour_pressure": Spread("even", (5e4, 1.5e5))})
    assert boils.refused
    assert not boils.impossible
    reach = reach_of(run_draws(boils, three(boils.scenario), workers=1), counted(boils))
    assert len(reach.meets) == 8
    assert not reach.meets[[*boils.refused]].any()
    assert not reach.holds[[*boils.refused]].any()


def test_a_draw_that_is_refused_is_not_told_as_a_run_that_failed_too():
    draws = drawn(8, {"material.vapour_pressure": Spread("even", (5e4, 1.5e5))})
    runs = run_draws(draws, three(draws.scenario), workers=1)
    verdict, _ = _verdict(draws.scenario, runs, 0, False)
    assert verdict.refused == len(draws.refused) > 0
    assert [promise.failed for promise in verdict.prospects] == [0.0, 0.0, 0.0]
    runs.columns["status"][0, 2] = Status.STEP_TOO_SMALL
    runs.columns["volumetric_efficiency"][0, 2] = np.nan
    assert 0 not in draws.refused
    verdict, _ = _verdict(draws.scenario, replace(runs), 0, False)
    assert [promise.failed for promise in verdict.prospects] == [0.0, 0.0, 0.125]
