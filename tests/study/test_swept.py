"""What a whole sweep says of the best travel and the largest cycle rate is what its cases say one by one."""

import numpy as np
import pytest
import xarray as xr

from balltravel import (
    ScenarioError,
    best_travel,
    envelope,
    read_dataset,
    recommend,
    sweep,
    with_value,
    with_values,
    write_dataset,
)
from balltravel.study.swept import cases as swept_cases
from balltravel.study.swept.envelope import BOUNDED, LIMITS
from balltravel.study.travel.trials import missed
from balltravel.sweeps.cases import run_case

from ..helpers.lowers import scenario

VISCOSITIES = [0.5, 20.0, 60.0]
RATES = [0.2, 0.5, 0.8, 1.5]
SET = {"fill_fraction": 0.9, "landing_speed": 0.5}


def lower(**target):
    shims = {"thicknesses": (0.001, 0.002, 0.004), "below": ()}
    unset = {"fill_fraction": None, "landing_speed": None}
    return scenario(shims=shims, inlet_check={"base_travel": 0.002}, target={**unset, **target})


@pytest.fixture(scope="module", params=[SET, {}, {"delivery": 0.9}], ids=["set", "default", "delivery"])
def swept(request):
    """A lower whose targets somebody set, one with default targets, and one of which delivery is asked."""
    of = lower(**request.param)
    grid = {
        "material.viscosity": VISCOSITIES,
        "drive.cycle_rate": [0.3, 0.9],
        "shims.below": sweep(of).shims_below.values.tolist(),
    }
    heavier = with_value(of, "material.viscosity_factor", 1.2)
    return of, sweep(of, grid), sweep(heavier, grid)


def test_the_best_travel_is_the_one_that_recommend_names(swept):
    of, data, heavier = swept
    best = best_travel(data, heavier)
    assert best.ball_travel.dims == ("material_viscosity", "drive_cycle_rate")
    for case in best.stack(case=best.ball_travel.dims).transpose("case").groupby("case", squeeze=False):
        point = case[1].squeeze()
        values = {
            "material.viscosity": float(point.material_viscosity),
            "drive.cycle_rate": float(point.drive_cycle_rate),
        }
        named = recommend(with_values(of, values), draws=0)
        chosen = named.recommended or named.best_available
        assert bool(point.targets_met) == (named.recommended is not None)
        assert float(point.ball_travel) == pytest.approx(chosen.ball_travel, rel=1e-12)
        assert str(point.shims_below.item()) == ("+".join(map(str, chosen.shims_below)) or "none")
        (trial,) = (trial for trial in named.arrangements if trial.choice == chosen)
        assert float(point.volumetric_efficiency) == trial.delivery
        assert float(point.shortfall) == pytest.approx(trial.shortfall, abs=1e-12)


def test_without_the_heavier_sweep_no_reserve_is_kept(swept):
    _, data, heavier = swept
    alone, kept = best_travel(data), best_travel(data, heavier)
    assert (alone.volumetric_efficiency >= kept.volumetric_efficiency - 0.005).all()
    assert alone.attrs["reserve"] != kept.attrs["reserve"]
    assert (alone.ball_travel <= kept.ball_travel + 1e-12).sum() > 0


def test_a_best_travel_is_written_and_read_as_every_result(swept, tmp_path):
    best = best_travel(swept[1])
    write_dataset(best, tmp_path / "best.nc")
    xr.testing.assert_identical(read_dataset(tmp_path / "best.nc").drop_attrs(), best.drop_attrs())


def test_where_no_arrangement_pumps_there_is_no_best(swept):
    """A spring that holds the inlet ball on its seat."""
    of, *_ = swept
    data = sweep(of, {"inlet_check.spring_preload": [0.0, 50.0], "shims.below": [(), (1,)]})
    best = best_travel(data)
    assert np.isfinite(best.ball_travel.values).tolist() == [True, False]
    assert best.targets_met.values[1] == 0
    assert best.shims_below.values[1] == ""


def test_one_combination_and_one_arrangement_are_enough(swept):
    of, *_ = swept
    best = best_travel(sweep(of, {"shims.below": [(2,)]}))
    assert best.ball_travel.ndim == 0
    assert float(best.ball_travel) == pytest.approx(0.004)
    by_base = best_travel(sweep(of, {"inlet_check.base_travel": ["1 mm", "4 mm"], "shims.below": [(), (1,)]}))
    assert float(by_base.inlet_check_base_travel) in (0.001, 0.004)
    assert by_base.shims_below.item() in ("none", "1")


@pytest.mark.parametrize("ask", [best_travel, envelope])
@pytest.mark.parametrize("given", [5, xr.Dataset(), "x"])
def test_what_is_no_sweep_is_refused(ask, given):
    with pytest.raises(ScenarioError) as caught:
        ask(given)
    assert str(caught.value).startswith("data: ")


def test_a_sweep_without_shims_or_rates_is_refused_and_told_what_it_needs():
    data = sweep(lower(), samples={"shims.below": [(), (1,)], "drive.cycle_rate": [0.3, 0.3]})
    with pytest.raises(ScenarioError) as caught:
        best_travel(data)
    assert "dimensions case given; allowed: a sweep with shims.below" in str(caught.value)
    with pytest.raises(ScenarioError) as caught:
        envelope(data)
    assert "drive.cycle_rate in its grid" in str(caught.value)


def test_a_heavier_sweep_over_other_values_is_refused(swept):
    with pytest.raises(ScenarioError) as caught:
        best_travel(swept[1], swept[2].isel(material_viscosity=[0]))
    assert "the same grid" in str(caught.value)


def test_shortfalls_are_those_of_each_case(swept):
    """Among them the gap of particles and a feed that runs through, which hang on keys and not on the run."""
    of, *_ = swept
    grid = {
        "material.largest_particle": [0.0, 0.001],
        "suction.tank_gauge_pressure": ["0 bar", "8 bar"],
        "outlet.gauge_pressure": ["5 bar"],
        "target.delivery": [0.5, 0.99],
        "shims.below": [(), (3,)],
    }
    fed = with_values(of, {"suction.feed": "pressure", "suction.tank_gauge_pressure": 1e5})
    data = sweep(fed, grid)
    short = swept_cases.shortfalls_in(data, swept_cases.scenario_in(data))
    assert {name for name, by in short.items() if (by > 0.0).any()} >= {"gap", "feed", "delivery"}
    for place in np.ndindex(*data.status.shape):
        changes = {
            key: swept_cases.value_in(key, data[name].values[place[data.status.dims.index(name)]].item())
            for key, name in swept_cases.keys_in(data).items()
        }
        case = with_values(swept_cases.scenario_in(data), changes)
        misses = {miss.target: miss.shortfall for miss in missed(case, run_case(case).metrics)}
        assert {name: float(by.values[place]) for name, by in short.items() if by.values[place]} == misses


# --- the largest cycle rate


def by_hand(fill, landing=(0.1, 0.1, 0.1, 0.1), **target):
    """A sweep over four rates whose metrics are set by hand."""
    of = lower(**{**SET, **target})
    data = sweep(of, {"drive.cycle_rate": RATES})
    values = {"fill_fraction": fill, "volumetric_efficiency": fill, "inlet_landing_speed": landing}
    return data.assign({name: data[name].copy(data=np.array(row)) for name, row in values.items()})


NAN = float("nan")


@pytest.mark.parametrize(
    ("fill", "landing", "rate", "bounded", "limit", "all_slower"),
    [
        # 0.95 to 0.85 over 0.5 to 0.8 1/s: 0.9 in the middle.
        ((1.0, 0.95, 0.85, 0.5), (0.1,) * 4, 0.65, "interpolated", "fill", 1),
        # The landing crosses 0.5 m/s a third of the way, before the fill does.
        ((1.0, 0.95, 0.85, 0.5), (0.1, 0.4, 0.7, 0.9), 0.6, "interpolated", "landing", 1),
        ((1.0, 0.99, 0.95, 0.91), (0.1,) * 4, 1.5, "upper_end", "nothing", 1),
        ((0.8, 0.7, 0.6, 0.5), (0.1,) * 4, NAN, "none_meets", "nothing", 0),
        ((1.0, 0.95, NAN, NAN), (0.1,) * 4, 0.5, "next_rate_failed", "failed_run", 1),
        ((NAN, NAN, NAN, NAN), (0.1,) * 4, NAN, "none_meets", "nothing", 0),
        # A slower rate that misses: the largest counts, and it is said.
        ((0.8, 0.95, 0.85, 0.5), (0.1,) * 4, 0.65, "interpolated", "fill", 0),
        ((0.9, 0.8, 0.6, 0.5), (0.1,) * 4, 0.2, "interpolated", "fill", 1),
    ],
)
def test_the_largest_rate_lies_where_the_first_target_is_crossed(
    fill, landing, rate, bounded, limit, all_slower
):
    found = envelope(by_hand(fill, landing))
    assert float(found.cycle_rate) == pytest.approx(rate, rel=1e-12, nan_ok=True)
    assert BOUNDED[int(found.bounded)] == found.bounded.attrs["flag_meanings"].split()[int(found.bounded)]
    assert BOUNDED[int(found.bounded)] == bounded
    assert LIMITS[int(found.limited_by)] == limit
    assert int(found.all_slower_meet) == all_slower


def test_rates_in_any_order_give_the_same_envelope():
    data = by_hand((1.0, 0.95, 0.85, 0.5))
    assert envelope(data.isel(drive_cycle_rate=[2, 0, 3, 1])).identical(envelope(data))


def test_default_targets_bound_the_rate_as_they_do_in_limits():
    found = envelope(by_hand((1.0, 0.95, 0.85, 0.5), fill_fraction=None))
    assert float(found.cycle_rate) == pytest.approx(0.65)


def test_the_largest_rate_lies_between_the_runs_that_meet_and_miss():
    of = lower(**SET)
    data = sweep(
        of, {"drive.cycle_rate": RATES, "material.viscosity": [8.0, 20.0], "shims.below": [(), (3,)]}
    )
    found = envelope(data)
    assert found.cycle_rate.dims == ("material_viscosity", "shims_below")
    for i, mu in enumerate((8.0, 20.0)):
        for j, below in enumerate(((), (3,))):
            at = with_values(of, {"material.viscosity": mu, "shims.below": below})
            meets = []
            for rate in RATES:
                there = with_value(at, "drive.cycle_rate", rate)
                meets.append(not missed(there, run_case(there).metrics))
            rate = float(found.cycle_rate[i, j])
            if not any(meets):
                assert np.isnan(rate)
                continue
            last = max(k for k, met in enumerate(meets) if met)
            above = RATES[min(last + 1, len(RATES) - 1)]
            assert RATES[last] <= rate <= above
    assert np.isfinite(found.cycle_rate).any()


def test_a_target_that_is_swept_counts_as_set():
    described = with_values(scenario(), {"target.fill_fraction": None})
    grid = {"shims.below": [(), (1,)]}
    swept = best_travel(sweep(described, {"target.fill_fraction": [0.999], **grid}))
    fixed = best_travel(sweep(with_values(described, {"target.fill_fraction": 0.999}), grid))
    for name in ("shims_below", "targets_met", "shortfall"):
        assert swept[name].values.ravel().tolist() == fixed[name].values.ravel().tolist()


def test_a_reserve_from_a_sweep_over_other_values_is_refused():
    described = scenario()
    data = sweep(described, {"material.viscosity": [0.5, 5.0], "shims.below": [(), (1,)]})
    for grid in (
        {"material.viscosity": [20.0, 50.0], "shims.below": [(), (1,)]},
        {"material.viscosity": [0.5, 5.0], "shims.below": [(1,), ()]},
    ):
        with pytest.raises(ScenarioError, match="heavier: a sweep over other values given"):
            best_travel(data, sweep(described, grid))
