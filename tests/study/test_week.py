"""One arrangement for several materials at their likely values, held against separate runs with each."""

import math
from dataclasses import replace
from itertools import combinations

import pytest

from balltravel import WeekMaterial, read_scenario, with_shims_below, with_values
from balltravel.core.status import Status
from balltravel.report.text.week.page import week_text
from balltravel.study.limits.find import find_limits
from balltravel.study.search.inputs import CYCLE_RATE
from balltravel.study.search.walk import reader_of
from balltravel.study.travel import trials as tried_out
from balltravel.study.travel.recommend import recommend
from balltravel.study.travel.trials import EQUAL_DELIVERY, HEAVIER, landing_missed, missed
from balltravel.study.week import recommend as weekly
from balltravel.study.week.rate_limit import largest_rate
from balltravel.study.week.reasons import flush_lines, week_reasons
from balltravel.study.week.recommend import recommend_week
from balltravel.sweeps.cases import run_case

from ..conftest import SCENARIOS

PRIMER = read_scenario(SCENARIOS / "primer.toml")


def lower(viscosity, rate=0.5, **more):
    """The primer's lower with another material, four travels."""
    shims = {"shims.thicknesses": (1e-3, 3e-3), "shims.below": ()}
    return with_values(PRIMER, {**shims, "material.viscosity": viscosity, "drive.cycle_rate": rate, **more})


THIN = WeekMaterial("thin", lower(1.0))
MEDIUM = WeekMaterial("medium", lower(5.0))
HEAVY = WeekMaterial("heavy", lower(12.0, 1 / 3))
FLUSH = WeekMaterial("flush", lower(0.1, 1.0), flush=True)
"""Thicker than a solvent, so that it runs quickly."""

TOO_MUCH = WeekMaterial("too much", lower(40.0))


@pytest.fixture(scope="module")
def week():
    """The materials and what is found for them."""
    materials = (MEDIUM, THIN, HEAVY, FLUSH)
    return materials, recommend_week(materials)


@pytest.fixture
def no_rates(monkeypatch):
    """Leaves the search for cycle rates out, which takes most of the time."""
    monkeypatch.setattr(weekly, "largest_rate", lambda _scenario, _judge: None)


def sure_of(scenario, below):
    """Delivery over swept, the lesser of now and at a fifth more viscosity, by two runs of their own."""
    there = with_shims_below(scenario, below)
    factor = HEAVIER * scenario.material.viscosity_factor
    thick = with_values(there, {"material.viscosity_factor": factor})
    return min(run_case(one).metrics.volumetric_efficiency for one in (there, thick))


def test_the_worst_case_is_that_of_separate_runs(week):
    materials, found = week
    pumped = [one for one in materials if not one.flush]
    assert len(found.arrangements) == 4
    for row in found.arrangements:
        runs = {
            one.name: run_case(with_shims_below(one.scenario, row.shims_below)).metrics for one in materials
        }
        delivered = {one.name: runs[one.name].volumetric_efficiency for one in pumped}
        landings = {name: run.inlet.landing_speed for name, run in runs.items()}
        assert row.least_delivery == min(delivered.values())
        assert delivered[row.least_in] == row.least_delivery
        assert row.highest_landing == max(landings.values())
        assert landings[row.landing_in] == row.highest_landing


def test_what_is_given_up_is_against_what_recommend_names_for_each_material(week):
    materials, found = week
    most = []
    for given, one in zip(materials, found.materials, strict=True):
        if given.flush:
            assert (one.own_best, one.own_meets, one.gives_up) == (None, None, None)
            continue
        alone = recommend(given.scenario)
        assert one.own_best == (alone.recommended or alone.best_available)
        there = sure_of(given.scenario, found.chosen.shims_below)
        assert one.gives_up == sure_of(given.scenario, one.own_best.shims_below) - there
        most.append(one.gives_up)
    row = next(row for row in found.arrangements if row.choice == found.chosen)
    assert row.gives_up == max(most) > 0.0


def test_what_is_not_met_is_what_each_material_alone_does_not_meet(week):
    materials, found = week
    for row in found.arrangements:
        expected = []
        for one in materials:
            there = with_shims_below(one.scenario, row.shims_below)
            judge = landing_missed if one.flush else missed
            expected += [(one.name, miss.text) for miss in judge(there, run_case(there).metrics)]
        assert [(miss.material, miss.text) for miss in row.unmet] == expected


def test_the_chosen_one_meets_all_and_none_that_does_gives_up_less(week):
    _, found = week
    meeting = [row for row in found.arrangements if not row.unmet]
    chosen = next(row for row in meeting if row.choice == found.recommended)
    assert 1 < len(meeting) < len(found.arrangements)
    assert chosen.gives_up <= min(row.gives_up for row in meeting) + EQUAL_DELIVERY


def test_the_cycle_rates_on_both_sides_meet_and_miss_what_is_asked(week):
    materials, found = week
    limited = 0
    for given, one in zip(materials, found.materials, strict=True):
        there = with_shims_below(given.scenario, found.chosen.shims_below)
        judge = landing_missed if given.flush else missed

        def misses(rate, there=there, judge=judge):
            faster = with_values(there, {"drive.cycle_rate": rate})
            return judge(faster, run_case(faster).metrics)

        assert one.rate.holds >= given.scenario.drive.cycle_rate
        assert not misses(one.rate.holds)
        if one.rate.fails is None:
            assert one.rate.holds == one.rate.highest
            continue
        limited += 1
        assert one.rate.fails <= one.rate.holds * (1.0 + 1.01e-2)  # neighbours of three digits
        assert "; ".join(miss.text for miss in misses(one.rate.fails)) == one.rate.missed != ""
    assert limited >= 2


def test_a_rate_too_fast_is_brought_down_until_it_holds():
    there = with_shims_below(lower(12.0, 1.0), (1, 2))
    limit = largest_rate(there)
    assert limit.lowest <= limit.holds < limit.fails <= 1.0
    for rate, holds in ((limit.holds, True), (limit.fails, False)):
        one = with_values(there, {"drive.cycle_rate": rate})
        assert (missed(one, run_case(one).metrics) == []) == holds


def test_where_no_rate_in_the_range_holds_that_is_the_answer():
    there = lower(12.0, 1.0, **{"material.largest_particle": 5e-3})
    limit = largest_rate(there)
    assert limit.holds is None
    assert limit.lowest < limit.fails == there.drive.cycle_rate
    assert "three particles" in limit.missed


def test_a_rate_that_the_drive_cannot_have_ends_the_range():
    slow = {"drive.ramp_time": 0.05, "drive.dwell_time": 0.2, "target.landing_speed": 9.0}
    there = lower(0.3, 1.0, **slow)
    limit = largest_rate(there)
    assert (limit.fails, limit.missed) == (None, "")
    # Two ramps and the dwell take less than half a cycle: by the scenario's own rule.
    assert limit.holds == pytest.approx(1.0 / (2.0 * 0.3), rel=1e-2)  # three digits
    assert limit.holds < 1.0 / (2.0 * 0.3)


@pytest.mark.parametrize("name", [pytest.param("stain", marks=pytest.mark.soak), "primer"])
def test_the_largest_rate_of_a_week_is_that_of_limits(name):
    """The same question asked in two places: the same verdict, the same digits, the same ends."""
    scenario = read_scenario(SCENARIOS / f"{name}.toml")
    (place, *_) = find_limits(reader_of(scenario), inputs=[CYCLE_RATE], draws=0).arrangements
    (told,) = place.limits
    here = largest_rate(with_shims_below(scenario, place.choice.shims_below))
    end = told.holds.value if told.holds is not None else told.searched.value
    assert here.holds == end
    assert here.fails == (told.beyond.value if told.beyond is not None else None)


@pytest.mark.usefixtures("no_rates")
def test_a_further_material_never_improves_the_worst_case(monkeypatch):
    materials, tried, true = (MEDIUM, THIN, HEAVY, FLUSH), {}, weekly.run_trials

    def once(scenario, *rest, **options):  # the same runs would be made for each set of materials
        if id(scenario) not in tried:
            tried[id(scenario)] = true(scenario, *rest, **options)
        return tried[id(scenario)]

    monkeypatch.setattr(weekly, "run_trials", once)
    found = {}
    for many in range(1, 5):
        for some in combinations(materials, many):
            if not all(one.flush for one in some):
                found[some] = recommend_week(some)
    for some, fewer in found.items():
        for more in found:
            if not set(some) < set(more):
                continue
            for row, wider in zip(fewer.arrangements, found[more].arrangements, strict=True):
                assert wider.least_delivery <= row.least_delivery
                assert wider.gives_up >= row.gives_up
                assert wider.landing_over_target >= row.landing_over_target
                assert wider.shortfall >= row.shortfall
                assert len(wider.unmet) >= len(row.unmet)


@pytest.mark.parametrize("viscosity", [0.1, 1.0, 5.0, 12.0, 40.0])
@pytest.mark.usefixtures("no_rates")
def test_with_one_material_the_answer_is_that_of_recommend(viscosity):
    scenario = lower(viscosity)
    alone, found = recommend(scenario), recommend_week([WeekMaterial("only", scenario)])
    assert (found.recommended, found.runner_up, found.best_available) == (
        alone.recommended,
        alone.runner_up,
        alone.best_available,
    )
    assert bool(found.indication) == alone.indication
    if alone.recommended:
        assert max(row.assured for row in found.arrangements) >= 0.0


@pytest.mark.parametrize("name", ["primer", "mastic_close_cage"])
@pytest.mark.usefixtures("no_rates")
def test_with_a_scenario_of_the_folder_alone_too(name):
    scenario = read_scenario(SCENARIOS / f"{name}.toml")
    alone, found = recommend(scenario), recommend_week([WeekMaterial("only", scenario)])
    assert found.recommended == alone.recommended
    assert found.best_available == alone.best_available


@pytest.mark.usefixtures("no_rates")
def test_a_flush_is_asked_for_its_landing_alone():
    heavy_flush = replace(TOO_MUCH, flush=True)
    week = recommend_week([MEDIUM, heavy_flush])
    texts = [miss.text for row in week.arrangements for miss in row.unmet if miss.material == "too much"]
    assert not any("fill" in text for text in texts)
    assert recommend_week([MEDIUM, TOO_MUCH]).recommended is None
    assert week.recommended == recommend(MEDIUM.scenario).recommended


def test_a_flush_that_lands_too_hard_everywhere_leaves_the_nearest_and_tells_the_rate():
    gentle = lower(0.05, 1.0, **{"target.landing_speed": 0.02})
    materials = [MEDIUM, WeekMaterial("flush", gentle, flush=True)]
    week = recommend_week(materials)
    assert week.recommended is None
    assert week.best_available is not None
    assert week.spare == ("flush",)
    flush = week.materials[1]
    assert flush.there.landing > 0.02
    (line,) = flush_lines(materials, week)
    assert "above the target of 0.02 m/s" in line
    if flush.rate.holds is None:
        assert "brings it to the target" in line
    else:
        assert flush.rate.holds < 1.0
    assert any("Without flush" in text for text in week_reasons(materials, week))


def test_where_no_arrangement_does_it_is_said_which_material_is_in_the_way():
    materials = [MEDIUM, TOO_MUCH]
    week = recommend_week(materials)
    assert week.recommended is None
    assert week.spare == ("too much",)
    said = " ".join(week_reasons(materials, week))
    assert "comes nearest" in said
    assert "No arrangement meets the targets of too much, even pumped alone" in said
    assert f"too much at {week.materials[1].rate.holds * 60:.10g} (given: 30)" in said
    assert "none is recommended" in week_text(materials, week)
    least = min(row.shortfall for row in week.arrangements)
    named = next(row for row in week.arrangements if row.choice == week.best_available)
    assert math.log1p(named.shortfall) <= math.log1p(least) + 0.01


def failing(monkeypatch, wrong):
    """All runs of the scenarios for which ``wrong`` says so fail."""
    true = tried_out.run_cases

    def run_cases(scenarios, **options):
        done = true(scenarios, **options)
        return [
            one._replace(status=Status.TOO_MANY_EVENTS, metrics=None) if wrong(s) else one
            for s, one in zip(scenarios, done, strict=True)
        ]

    monkeypatch.setattr(tried_out, "run_cases", run_cases)


@pytest.mark.usefixtures("no_rates")
def test_a_flush_whose_run_fails_is_told_and_not_hidden(monkeypatch):
    failing(monkeypatch, lambda s: s.material.viscosity == 0.1)
    materials = [MEDIUM, FLUSH]
    week = recommend_week(materials)
    assert week.recommended is None
    assert week.best_available is not None
    assert {row.failed for row in week.arrangements} == {("flush",)}
    text = week_text(materials, week)
    assert "B the run failed" in text
    assert "flush: the run failed (too_many_events); its landing speed is not known" in text


@pytest.mark.usefixtures("no_rates")
def test_an_arrangement_that_fails_with_one_material_is_not_chosen(monkeypatch):
    chosen = recommend_week([MEDIUM, THIN]).recommended
    failing(monkeypatch, lambda s: s.material.viscosity == 1.0 and s.shims.below == chosen.shims_below)
    week = recommend_week([MEDIUM, THIN])
    assert week.recommended not in (None, chosen)


@pytest.mark.usefixtures("no_rates")
def test_nothing_is_named_where_a_material_is_never_run_to_the_end(monkeypatch):
    failing(monkeypatch, lambda s: s.material.viscosity == 1.0)
    materials = [MEDIUM, THIN]
    week = recommend_week(materials)
    assert week.chosen is None
    assert "runs failed with thin" in week_text(materials, week)


def test_a_feed_that_runs_through_is_named():
    fed = lower(0.3, **{"suction.tank_gauge_pressure": 20e5, "outlet.gauge_pressure": 10e5})
    materials = [MEDIUM, WeekMaterial("fed", fed)]
    week = recommend_week(materials)
    assert week.chosen is None
    assert "With fed the feed pressure is above the outlet pressure" in week_text(materials, week)


@pytest.mark.parametrize(
    ("materials", "words"),
    [
        ([FLUSH], "no material but flushes"),
        ([MEDIUM, replace(THIN, name="medium")], "each once"),
        ([MEDIUM, WeekMaterial("other", lower(1.0, **{"lower.bore": 0.05}))], "another lower"),
        ([MEDIUM, WeekMaterial("other", PRIMER)], "another set of shims"),
    ],
)
def test_materials_that_share_no_lower_are_refused(materials, words):
    with pytest.raises(ValueError, match=words):
        recommend_week(materials)


@pytest.mark.usefixtures("no_rates")
def test_progress_counts_every_run_once():
    seen = []
    recommend_week([MEDIUM, FLUSH], progress=lambda done, total: seen.append((done, total)))
    assert sorted(done for done, _ in seen) == list(range(1, 4 * 2 + 4 + 2 + 1))
    assert {total for _, total in seen} == {len(seen)}


@pytest.mark.usefixtures("no_rates")
def test_progress_leaves_out_an_arrangement_without_travel():
    seen = []
    bare = {"inlet_check.base_travel": 0.0, "shims.below": (1,)}
    materials = [WeekMaterial("medium", lower(5.0, **bare)), WeekMaterial("thin", lower(1.0, **bare))]
    recommend_week(materials, progress=lambda done, total: seen.append((done, total)))
    assert seen[-1] == (2 * (3 * 2 + 1),) * 2
    assert {total for _, total in seen} == {len(seen)}


@pytest.mark.usefixtures("no_rates")
def test_progress_ends_at_its_whole_where_nothing_pumps():
    seen = []
    stiff = [WeekMaterial("stiff", lower(9e3)), WeekMaterial("stiffer", lower(1e4))]
    found = recommend_week(stiff, progress=lambda done, total: seen.append((done, total)))
    assert found.chosen is None
    assert seen[-1] == (16, 16)


@pytest.mark.usefixtures("no_rates")
def test_a_drive_that_finds_its_own_rate_has_the_rate_that_it_makes():
    motor = {
        "drive.profile": "motor",
        "drive.motor": "air",
        "drive.cycle_rate": None,
        "drive.free_cycle_rate": 1.0,
        "drive.supply_gauge_pressure": 6e5,
        "drive.area_ratio": 30.0,
    }
    driven = with_values(lower(5.0), motor)
    assert largest_rate(driven) is None
    materials = [WeekMaterial("driven", driven), THIN]
    week = recommend_week(materials)
    made = week.materials[0].there.metrics.cycle_rate
    lines = [line for line in week_text(materials, week).splitlines() if line.startswith("A  driven  ")]
    assert f"{60 * made:.3g}" in lines[-1].split()
