"""One arrangement for a week of materials on made-up trials: nothing is run."""

import math
from dataclasses import replace

import pytest

from balltravel.core.status import Status
from balltravel.cycle.validity import Excursion
from balltravel.files.week import WeekMaterial
from balltravel.scenario.model import with_values
from balltravel.study.search import walk as walking
from balltravel.study.search.crossing import Crossing, Verdict
from balltravel.study.search.inputs import CYCLE_RATE
from balltravel.study.search.walk import Walk
from balltravel.study.travel.trials import Choice, Trial, landing_missed, missed
from balltravel.study.week import rate_limit
from balltravel.study.week import reasons as said
from balltravel.study.week import recommend as weekly
from balltravel.study.week.rate_limit import RateLimit, largest_rate
from balltravel.study.week.recommend import MaterialMiss, MaterialResult, Week, WorstCase
from balltravel.sweeps.cases import Case

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import check, metrics

CHOICES = tuple(Choice((i,), (), 0.003 + 0.001 * i) for i in range(3))
LONG = Excursion("inlet check", "c", "q", 0.5, 2.0, 1.0, "b")


def trial(i, delivered=0.95, landing=0.1, unmet=(), shortfall=0.0, **other):
    """Of the i-th arrangement."""
    cycle = metrics(volumetric_efficiency=delivered, inlet=check(landing_speed=landing))
    made = Trial((i,), (), CHOICES[i].ball_travel, "ok", cycle, tuple(unmet), shortfall=shortfall)
    return replace(made, **other)


def failed(i):
    return Trial((i,), (), CHOICES[i].ball_travel, "stalled", None, ("the run failed",), shortfall=math.inf)


def material(name, flush=False, **changes):
    return WeekMaterial(name, scenario(**changes), flush)


def result(name, trials, own=None, flush=False, **other):
    return MaterialResult(name, flush, own, None if flush else own is not None, tuple(trials), **other)


def row(i, assured=0.0, landing=0.5, unmet=(), **other):
    """A row of the table of worst cases that gives up so much."""
    made = WorstCase((i,), (), CHOICES[i].ball_travel, 0.9, "a", -assured, "a", 0.1, landing, "a",
                     tuple(MaterialMiss(*pair) for pair in unmet), 0.0, ())  # fmt: skip
    return replace(made, **other)


A, B, FLUSH = material("a"), material("b"), material("f", flush=True)


def test_the_worst_case_is_the_least_over_the_materials_and_what_each_gives_up_of_its_own_best():
    results = [
        result("a", [trial(0, 0.9), trial(1, 0.95)], CHOICES[1]),
        result("b", [trial(0, 0.97, 0.2), trial(1, 0.8, 0.3, ["fill"], 0.1)], CHOICES[0]),
        result("f", [trial(0, 0.5, 0.6), trial(1, 0.5, 0.2, ["landing"], 0.3)], flush=True),
    ]
    first = weekly._worst_case([A, B, FLUSH], results, 0)
    assert (first.choice, first.least_delivery, first.least_in) == (CHOICES[0], 0.9, "a")
    assert (first.gives_up, first.gives_up_in) == (pytest.approx(0.05), "a")
    assert (first.highest_landing, first.landing_in) == (0.6, "f")
    assert first.landing_over_target == pytest.approx(1.2)
    assert (first.unmet, first.shortfall, first.failed) == ((), 0.0, ())
    second = weekly._worst_case([A, B, FLUSH], results, 1)
    assert (second.least_delivery, second.least_in) == (0.8, "b")
    assert (second.gives_up, second.gives_up_in) == (pytest.approx(0.17), "b")
    assert (second.highest_landing, second.landing_in) == (0.3, "b")
    assert second.unmet == (MaterialMiss("b", "fill"), MaterialMiss("f", "landing"))
    assert second.shortfall == pytest.approx(0.4)
    assert (second.complete, second.assured, second.landing) == (True, -second.gives_up, pytest.approx(0.6))


def test_a_landing_is_hardest_over_its_own_target():
    strict = WeekMaterial("s", with_values(scenario(), {"target.landing_speed": 0.1}), False)
    results = [
        result("a", [trial(0, landing=0.3)], CHOICES[0]),
        result("s", [trial(0, landing=0.2)], CHOICES[0]),
    ]
    found = weekly._worst_case([A, strict], results, 0)
    assert (found.landing_in, found.highest_landing) == ("s", 0.2)
    assert found.landing_over_target == pytest.approx(2.0)


def test_failed_runs_are_named_and_count_in_nothing():
    results = [result("a", [failed(0)], None), result("b", [trial(0, 0.9, shortfall=0.2)], CHOICES[0])]
    found = weekly._worst_case([A, B], results, 0)
    assert (found.failed, found.complete, found.least_in, found.shortfall) == (("a",), False, "b", 0.2)
    nothing = weekly._worst_case([A], [result("a", [failed(0)], None)], 0)
    assert nothing.least_delivery is nothing.gives_up is nothing.highest_landing is None
    assert (nothing.assured, nothing.landing) == (0.0, 0.0)


def test_the_nearest_row_has_fewest_failed_then_misses_least_then_gives_up_least_then_is_short():
    rows = [row(0, failed=("a",)), row(1, shortfall=0.5), row(2, shortfall=0.4)]
    assert weekly._by_nearness(rows) == [rows[2], rows[1], rows[0]]
    rows = [row(1, -0.2), row(2, -0.1), row(0, -0.2)]
    assert weekly._by_nearness(rows) == [rows[1], rows[2], rows[0]]
    assert (
        weekly._by_nearness([row(0, -0.2, shortfall=0.403), row(1, -0.1, shortfall=0.4)])[0].ball_travel
        == 0.004
    )


def test_rows_pump_where_all_but_flushes_run_and_deliver_a_hundredth():
    rows = [
        row(0, failed=("f",)),
        row(1, failed=("a",)),
        row(2, least_delivery=0.0099),
        row(0, least_delivery=0.01),
    ]
    assert weekly._pumping([A, FLUSH], rows) == [rows[0], rows[3]]
    assert weekly._pumping([A], [row(0, least_delivery=None)]) == []
    fed = material(
        "fed", outlet={"gauge_pressure": 1e5}, suction={"feed": "pressure", "tank_gauge_pressure": 3e5}
    )
    assert weekly._pumping([A, fed], rows) == []
    assert weekly._pumping([A, replace(fed, flush=True)], rows) == [rows[0], rows[3]]


def test_a_material_is_spare_where_it_alone_is_blamed_of_several():
    rows = [row(0, unmet=[("a", "fill"), ("a", "gap")]), row(1, unmet=[("a", "fill"), ("b", "fill")])]
    assert weekly._spare([A, B], rows) == ("a",)
    assert weekly._spare([A], rows) == ()


def test_only_one_lower_with_names_and_one_that_is_pumped():
    weekly._check_one_lower([A, B, FLUSH])
    for wrong, words in (
        ([FLUSH], "no material but flushes"),
        ([A, A], "each once"),
        ([A, material("c", lower={"bore": 0.05})], "c: another lower; allowed: one lower"),
        ([A, material("d", shims={"thicknesses": (0.002,)})], "d: another set of shims"),
    ):
        with pytest.raises(ValueError, match=words):
            weekly._check_one_lower(wrong)
    assert weekly.check_of(A) is missed
    assert weekly.check_of(FLUSH) is landing_missed


def week(rows, materials, recommended=None, best=None, **other):
    return Week(recommended, None, best, tuple(materials), tuple(rows), (), **other)


def test_why_it_is_chosen():
    two = [result("a", [], CHOICES[0]), result("b", [], CHOICES[1])]
    first, second = row(0, -0.01), row(1, -0.03)
    (only, own) = said.week_reasons(
        [A, B], week([first, row(1, -0.02, unmet=[("a", "fill")])], two, CHOICES[0])
    )
    assert only == "It is the only arrangement that meets the targets in all 2 materials."
    assert own == "Best travel for each material alone: a 3 mm and b 4 mm."
    least = said.week_reasons([A, B], week([first, second], two, CHOICES[0]))[0]
    assert least == (
        "Of the 2 arrangements that meet the targets in all 2 materials it gives up least in the worst case: "
        "1.0 %, in a."
    )
    equal = said.week_reasons([A, B], week([first, row(1, -0.0149)], two, CHOICES[0]))[0]
    assert equal.startswith("2 arrangements that meet the targets in all 2 materials give up the same in the")
    assert "(here 1.0 %, in a)" in equal
    assert equal.endswith("the shortest travel, and its ball lands gently enough (at most 0.10 m/s, in a).")
    gentle = said.week_reasons([A, B], week([first, row(1, -0.0149)], two, CHOICES[1]))[0]
    assert gentle.endswith("its ball lands more gently than at any shorter travel of these.")
    assert said.week_reasons([A], week([first], two[:1], CHOICES[0])) == [
        "It is the only arrangement that meets the targets in the one material."
    ]
    same = [result("a", [], CHOICES[0]), result("b", [], CHOICES[0])]
    assert said.week_reasons([A, B], week([first], same, CHOICES[0]))[1].startswith("It is also the best for")


def test_what_would_give_up_less_and_misses_is_told_from_half_a_per_cent_on():
    chosen = row(0, -0.02)
    better = row(1, -0.01, unmet=[("a", "fill 80 % (target 90 %)"), ("a", "gap"), ("b", "landing")])
    (told,) = said._better_but_missing(week([chosen, better], []), chosen)
    assert told == (
        "4 mm would give up less, 1.0 % in the worst case, but misses: a: fill 80 % (target 90 %), gap; "
        "b: landing."
    )
    assert said._better_but_missing(week([chosen, row(1, -0.0151, unmet=[("a", "x")])], []), chosen) == []
    assert said._better_but_missing(week([chosen, row(1, -0.01)], []), chosen) == []
    assert said._better_but_missing(week([chosen, replace(better, failed=("a",))], []), chosen) == []


def test_where_none_meets_the_nearest_and_what_would_help_are_told():
    slow = RateLimit(0.25, 0.3, "fill", 0.1, 0.5, False)
    hopeless = replace(slow, holds=None)
    fast = replace(slow, holds=0.5)
    results = [
        result("a", [], CHOICES[1], rate=slow),
        replace(result("b", [], None, rate=hopeless), own_meets=False),
        result("c", [], CHOICES[0], rate=fast),
    ]
    near = row(0, unmet=[("a", "fill")])
    found = said.week_reasons([A, B, material("c")], week([near], results, best=CHOICES[0], spare=("a", "b")))
    assert found == [
        "No arrangement of these shims meets the targets in all 3 materials; 3 mm comes nearest (smallest "
        "sum of the relative shortfalls over all materials): a: fill.",
        "No arrangement meets the targets of b, even pumped alone.",
        "Without a, an arrangement would meet the targets of all the others; alone it would be best at 4 mm.",
        "Without b, an arrangement would meet the targets of all the others.",
        "This arrangement would meet the targets at lower cycle rates, in cycles/min: a at 15 (given: 30).",
        "In this arrangement no cycle rate in the range searched meets the targets of b.",
    ]


def test_where_none_is_named_why():
    fed = material(
        "fed", outlet={"gauge_pressure": 1e5}, suction={"feed": "pressure", "tank_gauge_pressure": 3e5}
    )
    (through,) = said.week_reasons([A, fed], week([], []))
    assert through.startswith("With fed the feed pressure is above the outlet pressure")
    (flushed,) = said.week_reasons([A, replace(fed, flush=True)], week([row(0, failed=("a", "b"))], []))
    assert flushed.endswith("deliver at least 1 % of swept; runs failed with a and b.")
    assert said.week_reasons([A], week([row(0)], []))[0].endswith("deliver at least 1 % of swept.")


def test_how_the_ball_lands_in_a_flush_and_at_which_rate_it_meets_the_target():
    limit = RateLimit(0.25, 0.3, "landing 0.52 m/s (target 0.5 m/s)", 0.1, 0.5, False)

    def line(there, rate=None):
        flush = result("f", [], flush=True, there=there, rate=rate)
        (told,) = said.flush_lines([A, FLUSH], week([], [result("a", []), flush]))
        return told

    hard, soft = trial(0, landing=0.6), trial(0, landing=0.5)
    assert line(hard) == "f: the inlet ball lands at 0.60 m/s with 1 mJ, above the target of 0.5 m/s."
    assert "within the target of 0.5 m/s" in line(soft)
    assert "in the last cycle (the cycles do not repeat)" in line(replace(hard, status="not_periodic"))
    assert line(failed(0)) == "f: the run failed (stalled); its landing speed is not known."
    assert line(hard, replace(limit, holds=None)).endswith(
        "no cycle rate from 6 to 30 cycles/min brings it to the target."
    )
    assert line(soft, replace(limit, fails=None)).endswith("meets the target at least up to 15 cycles/min.")
    assert line(hard, limit).endswith(
        "it meets the target at 15 cycles/min and misses it at 18 (landing 0.52 m/s)."
    )
    assert line(replace(hard, status="not_periodic"), limit).endswith("so stay well below.")


def walked(tried, good_first=True, last=None):
    """A walk of the cycle rate [/min] with cases by rate."""
    verdicts = {
        rate: Verdict(() if case.metrics and not bad else ("fill",)) for rate, (case, bad) in tried.items()
    }
    runs = {rate: (scenario(), case) for rate, (case, _) in tried.items()}
    rates = list(tried)
    changes = last is None
    inner, outer = (rates[0], rates[-1]) if changes else (None, None)
    crossing = Crossing(inner, outer, rates[-1], False, False, verdicts)
    return Walk(CYCLE_RATE, good_first, crossing, runs, True)


def test_the_limit_of_a_rate_is_in_cycles_a_second_with_what_is_missed():
    good, bad = Case(Status.OK, metrics()), Case(Status.OK, metrics(fill_fraction=0.5), (LONG,))
    found = rate_limit._limit(walked({30.0: (good, False), 36.0: (bad, True)}), missed)
    assert (found.holds, found.fails) == pytest.approx((0.5, 0.6), rel=1e-12)
    assert (found.lowest, found.highest) == pytest.approx((0.5, 0.6), rel=1e-12)
    assert found.missed == "fill 50.0 % (target 90 %)"
    assert found.indication
    broken = rate_limit._limit(
        walked({30.0: (good, False), 36.0: (Case(Status.STALLED, None), True)}), missed
    )
    assert (broken.missed, broken.indication) == ("the run fails (stalled)", False)
    through = rate_limit._limit(walked({30.0: (good, False), 60.0: (good, False)}, last=60.0), missed)
    assert (through.holds, through.fails, through.missed) == (pytest.approx(1.0), None, "")


def test_a_rate_that_is_a_result_has_no_limit():
    motor = {"profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
             "area_ratio": 2.5, "free_cycle_rate": 1.0}  # fmt: skip
    assert largest_rate(scenario(drive=motor)) is None


@pytest.mark.parametrize(("per_cent", "share"), [("0.0 %", -4e-4), ("12.3 %", 0.12345), ("100.0 %", 1.0)])
def test_shares_and_rates_are_printed_plainly(per_cent, share):
    assert said.percent(share) == per_cent
    assert said.per_minute(0.5) == "30"
    assert (
        said.briefly("fill 80 % (target 90 %); gap 1 mm of 2 mm (three particles)")
        == "fill 80 %; gap 1 mm of 2 mm"
    )


# From materials to a week.


SHIMS = {"thicknesses": (0.001, 0.002), "below": ()}
BELOW = ((), (1,), (2,), (1, 2))


def made_up(monkeypatch, by_material, no_rates=True):
    """A week of made-up trials: material -> deliveries and what is missed, by travel; what was asked."""
    asked = []

    def run_trials(s, progress, check, heavier):
        rows = by_material[s.material.viscosity]
        asked.append((s.material.viscosity, check, heavier))
        trials = []
        for i, (delivered, unmet) in enumerate(rows):
            cycle = None if delivered is None else metrics(volumetric_efficiency=delivered)
            status = "stalled" if cycle is None else "ok"
            above = tuple(n for n in (1, 2) if n not in BELOW[i])
            trials.append(Trial(BELOW[i], above, 0.005 + 0.001 * i, status, cycle, unmet, (LONG,) * (i == 1)))
            for _ in range(1 + heavier):
                progress(0, 0)
        return trials

    monkeypatch.setattr(weekly, "run_trials", run_trials)
    if no_rates:
        monkeypatch.setattr(weekly, "largest_rate", lambda s, check: (s.inlet_travel, check))
    return asked


def of(viscosity, flush=False):
    return WeekMaterial(f"of {viscosity:g}", scenario(material={"viscosity": viscosity}, shims=SHIMS), flush)


def test_a_week_is_that_of_the_least_that_any_material_gives_up(monkeypatch):
    """The thin one gives up 0.1 at 7 mm, the thick one 0.3 at 5 mm, either 0.02 at 6 mm."""
    thin, thick, flush = of(1.0), of(9.0), of(0.1, True)
    asked = made_up(monkeypatch, {
        1.0: [(0.98, ()), (0.96, ()), (0.88, ())], 9.0: [(0.6, ()), (0.88, ()), (0.9, ())],
        0.1: [(0.5, ()), (0.5, ()), (0.5, ())],
    })  # fmt: skip
    counted = []
    found = weekly.recommend_week([thin, thick, flush], progress=lambda *pair: counted.append(pair))
    assert asked == [(1.0, missed, True), (9.0, missed, True), (0.1, landing_missed, False)]
    assert [round(1e3 * row.ball_travel) for row in found.arrangements] == [5, 6, 7]
    assert [row.gives_up for row in found.arrangements] == pytest.approx([0.3, 0.02, 0.1])
    assert (found.recommended.ball_travel, found.runner_up.ball_travel) == (0.006, 0.007)
    assert found.best_available is None
    assert found.chosen is found.recommended
    assert found.indication == ("of 1", "of 9", "of 0.1")
    assert found.spare == ()
    for result, name, own, lost in zip(found.materials, ("of 1", "of 9", "of 0.1"), (0.005, 0.007, None),
                                       (0.02, 0.02, None), strict=True):  # fmt: skip
        assert result.name == name
        assert (result.own_best and result.own_best.ball_travel) == own
        assert result.there is result.arrangements[1]
        assert result.gives_up == (None if lost is None else pytest.approx(lost))
        assert result.rate == (0.006, landing_missed if result.flush else missed)
    assert [number for number, _ in counted] == list(range(1, 19))
    assert {total for _, total in counted} == {4 * (2 + 2 + 1) + 3}


def test_where_none_meets_all_the_nearest_is_named_and_who_is_in_the_way(monkeypatch):
    thin, thick = of(1.0), of(9.0)
    made_up(monkeypatch, {
        1.0: [(0.98, ()), (0.96, ("landing",))], 9.0: [(0.6, ("fill",)), (None, ("the run failed",))],
    })  # fmt: skip
    found = weekly.recommend_week([thin, thick])
    assert (found.recommended, found.runner_up) == (None, None)
    assert found.best_available.ball_travel == 0.005
    assert found.chosen is found.best_available
    assert found.spare == ("of 9",)
    assert [result.own_meets for result in found.materials] == [True, False]
    assert found.indication == ()


def test_where_nothing_pumps_nothing_is_named(monkeypatch):
    made_up(monkeypatch, {1.0: [(0.009, ("fill",)), (0.008, ("fill",))]})
    found = weekly.recommend_week([of(1.0)])
    assert found.chosen is None
    assert found.materials[0].there is None


def test_two_that_pump_have_a_runner_up(monkeypatch):
    made_up(monkeypatch, {1.0: [(0.9, ()), (0.95, ())]})
    found = weekly.recommend_week([of(1.0)])
    assert (found.recommended.ball_travel, found.runner_up.ball_travel) == (0.006, 0.005)


def test_the_largest_rate_is_that_of_a_walk_on_the_harder_side(monkeypatch):
    """A lower that fills up to 40.004 cycles/min."""

    def run_case(s):
        return Case(Status.OK, metrics(fill_fraction=0.9 + 0.002 * (40.004 - 60.0 * s.drive.cycle_rate)))

    monkeypatch.setattr(walking, "run_case", run_case)
    found = largest_rate(scenario())
    assert (60.0 * found.holds, 60.0 * found.fails) == pytest.approx((40.0, 40.1))
    assert "(target 90 %)" in found.missed
    assert largest_rate(scenario(), landing_missed).fails is None
    fast = with_values(
        scenario(), {"drive.ramp_time": 0.0001, "drive.dwell_time": 0.0, "drive.cycle_rate": 50.0}
    )
    monkeypatch.setattr(walking, "run_case", lambda _: Case(Status.OK, metrics()))
    assert largest_rate(fast) is None
