"""What trials miss, which is preferred and what is said of it, on made-up cycles: nothing is run."""

import math
from dataclasses import replace

import pytest

from balltravel.core.status import Status
from balltravel.cycle.validity import Excursion
from balltravel.estimate.suction_losses import SuctionLosses
from balltravel.scenario.model import with_values
from balltravel.study.travel import reasons as said
from balltravel.study.travel import trials as tried
from balltravel.study.travel.trials import (
    Choice,
    Trial,
    by_nearness,
    landing_missed,
    missed,
    ranked,
    run_trials,
)
from balltravel.sweeps.cases import Case

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import SWEPT, budget, check, metrics

HAIR = 1e-6
LONG = Excursion("inlet check", "c", "q", 0.5, 2.0, 1.0, "b")
SHIMS = {"thicknesses": (0.001, 0.002), "below": ()}


def trial(travel, delivered=0.95, landing=0.1, unmet=(), shortfall=0.0, heavier=None, **changes):
    """Of a travel [mm] that delivers a share of swept and lands at a speed."""
    cycle = metrics(volumetric_efficiency=delivered, inlet=check(landing_speed=landing), **changes)
    found = Trial((), (), travel * 1e-3, "ok", cycle, tuple(unmet), shortfall=shortfall, heavier=heavier)
    return found


FAILED = Trial((), (), 0.005, "step_too_small", None, ("the run failed",), shortfall=math.inf)


def names(misses):
    return [miss.target for miss in misses]


def travels(order):
    return [round(1e3 * each.ball_travel, 6) for each in order]


def test_fill_and_delivery_are_missed_below_their_targets_by_what_is_lacking_of_them():
    s = with_values(scenario(), {"target.fill_fraction": 0.9, "target.delivery": 0.8})
    assert missed(s, metrics(fill_fraction=0.9, volumetric_efficiency=0.8)) == []
    fill, delivery = missed(s, metrics(fill_fraction=0.45, volumetric_efficiency=0.6))
    assert (fill.text, fill.target) == ("fill 45.0 % (target 90 %)", "fill")
    assert (delivery.text, delivery.target) == ("delivery 60.0 % (target 80 %)", "delivery")
    assert (fill.shortfall, delivery.shortfall) == pytest.approx((0.5, 0.25), rel=1e-12)
    assert names(missed(s, metrics(fill_fraction=0.9 - HAIR))) == ["fill"]
    assert names(missed(s, metrics(volumetric_efficiency=0.8 - HAIR))) == ["delivery"]
    assert missed(scenario(), metrics(volumetric_efficiency=0.1)) == []


def test_a_landing_is_missed_above_its_target():
    s = with_values(scenario(), {"target.landing_speed": 0.4})
    assert landing_missed(s, metrics(inlet=check(landing_speed=0.4))) == []
    (miss,) = landing_missed(s, metrics(inlet=check(landing_speed=0.6)))
    assert (miss.text, miss.target) == ("landing 0.60 m/s (target 0.4 m/s)", "landing")
    assert miss.shortfall == pytest.approx(0.5, rel=1e-12)
    assert missed(s, metrics(inlet=check(landing_speed=0.6))) == [miss]


def test_a_gap_is_missed_below_three_of_the_largest_particles():
    """Of the inlet ball's circle over its edge at 5 mm."""
    gap = math.hypot(0.0105, math.sqrt(0.0147**2 - 0.0105**2) + 0.005) - 0.0147
    assert missed(scenario(material={"largest_particle": gap / 3.0 * (1.0 - HAIR)}), metrics()) == []
    (miss,) = missed(scenario(material={"largest_particle": gap / 1.5}), metrics())
    assert miss.target == "gap"
    assert miss.shortfall == pytest.approx(0.5, rel=1e-9)
    assert miss.text == f"gap {1e3 * gap:.3g} mm of {2e3 * gap:.3g} mm (three particles)"


def test_nothing_is_pumped_below_a_hundredth_nor_where_the_feed_runs_through():
    assert missed(scenario(), metrics(volumetric_efficiency=0.01)) == []
    (miss,) = missed(scenario(), metrics(volumetric_efficiency=0.01 - HAIR))
    assert (miss.target, miss.shortfall) == ("pumping", 1.0)
    fed = scenario(outlet={"gauge_pressure": 1e5}, suction={"feed": "pressure", "tank_gauge_pressure": 3e5})
    assert [(m.target, m.shortfall) for m in missed(fed, metrics())] == [("feed", 1.0)]


def test_a_failed_trial_is_below_and_above_all_others():
    assert (FAILED.delivery, FAILED.landing, FAILED.complete) == (-math.inf, math.inf, False)
    sound = trial(3, heavier=0.9)
    assert (sound.delivery, sound.landing, sound.assured, sound.complete) == (0.95, 0.1, 0.9, True)
    assert trial(3).assured == 0.95
    assert trial(3, heavier=0.97).assured == 0.95
    assert sound.choice == Choice((), (), 0.003)
    assert not sound.is_indication
    assert replace(sound, excursions=(LONG,)).is_indication


@pytest.mark.parametrize(
    ("trials", "order"),
    [
        ([trial(2, 0.95), trial(3, 0.955)], [2, 3]),
        ([trial(2, 0.95), trial(3, 0.955 + HAIR)], [3, 2]),
        ([trial(2, 0.95, heavier=0.9), trial(3, 0.92)], [3, 2]),
        ([trial(2, landing=1.05), trial(3, landing=1.0)], [2, 3]),
        ([trial(2, landing=1.05 + HAIR), trial(3, landing=1.0)], [3, 2]),
        ([trial(2, landing=0.25), trial(3, landing=0.01)], [2, 3]),
        ([trial(2, landing=0.25 + HAIR), trial(3, landing=0.01)], [3, 2]),
        ([trial(4), trial(2), FAILED, trial(3)], [2, 3, 4]),
        ([], []),
    ],
)
def test_what_is_preferred_delivers_lands_gently_and_is_short(trials, order):
    """0.5 % of swept, 5 % of the gentlest landing and all below half the target of 0.5 m/s count as equal."""
    assert travels(ranked(trials, 0.5)) == order


def test_the_nearest_misses_least_in_steps_of_a_hundredth_then_delivers_most_then_is_shortest():
    far, near = trial(2, shortfall=0.5), trial(5, shortfall=0.4)
    assert travels(by_nearness([far, near, FAILED])) == [5, 2]
    equal = [trial(4, 0.8, shortfall=0.4), trial(3, 0.9, shortfall=0.401), trial(2, 0.8, shortfall=0.4)]
    assert travels(by_nearness(equal)) == [3, 2, 4]
    assert travels(by_nearness([trial(2, 0.8, shortfall=0.03), trial(3, 0.8, shortfall=0.01)])) == [3, 2]


def made_up(monkeypatch, by_viscosity):
    """Cases without a run: metrics by travel [mm] and viscosity factor."""
    asked = []

    def run_cases(scenarios, **_):
        asked.extend((round(1e3 * s.inlet_travel, 6), s.material.viscosity_factor) for s in scenarios)
        cycles = [by_viscosity(*pair) for pair in asked]
        return [Case(Status.OK if m else Status.STEP_TOO_SMALL, m, (LONG,), 1e-7) for m in cycles]

    monkeypatch.setattr(tried, "run_cases", run_cases)
    return asked


def test_every_travel_is_tried_at_its_viscosity_and_at_a_fifth_more(monkeypatch):
    """Base 5 mm and shims of 1 and 2 mm: four travels, each twice."""
    asked = made_up(
        monkeypatch,
        lambda travel, factor: None if travel == 6 else metrics(volumetric_efficiency=0.1 * travel / factor),
    )
    found = run_trials(scenario(shims=SHIMS))
    assert asked == [(5, 1.0), (6, 1.0), (7, 1.0), (8, 1.0), (5, 1.2), (6, 1.2), (7, 1.2), (8, 1.2)]
    assert travels(found) == [5, 6, 7, 8]
    assert [each.shims_below for each in found] == [(), (1,), (2,), (1, 2)]
    assert [each.shims_above for each in found] == [(1, 2), (2,), (1,), ()]
    assert [each.status for each in found] == ["ok", "step_too_small", "ok", "ok"]
    assert found[0].heavier == pytest.approx(0.5 / 1.2)
    assert found[1].unmet == ("the run failed",)
    assert (found[1].shortfall, found[1].heavier, found[1].metrics) == (math.inf, None, None)
    assert (found[2].excursions, found[2].unmet, found[2].shortfall) == ((LONG,), (), 0.0)


def test_without_a_heavier_one_each_is_tried_once_and_against_what_is_asked(monkeypatch):
    asked = made_up(monkeypatch, lambda travel, _: metrics(inlet=check(landing_speed=0.1 * travel)))
    found = run_trials(scenario(shims=SHIMS), check=landing_missed, heavier=False)
    assert asked == [(5, 1.0), (6, 1.0), (7, 1.0), (8, 1.0)]
    assert [len(each.unmet) for each in found] == [0, 1, 1, 1]
    assert [each.shortfall for each in found] == pytest.approx([0.0, 0.2, 0.4, 0.6])
    assert [each.heavier for each in found] == [None] * 4


def test_the_heaviest_factor_is_a_hundred(monkeypatch):
    asked = made_up(monkeypatch, lambda *_: metrics())
    run_trials(scenario(material={"viscosity_factor": 90.0}))
    assert [factor for _, factor in asked] == [90.0, 90.0, 100.0, 100.0]


def test_an_arrangement_without_travel_is_listed_and_not_run(monkeypatch):
    asked = made_up(monkeypatch, lambda *_: metrics())
    deep = scenario(shims={"thicknesses": (0.001, 0.02), "below": ()}, inlet_check={"cage_length": 0.031})
    found = run_trials(deep, heavier=False)
    assert len(found) == 4
    for each in found:
        assert (each.status == "not_possible") is ((round(1e3 * each.ball_travel, 6), 1.0) not in asked)


# What is said.


def test_the_reason_names_the_only_one_the_best_the_shortest_or_the_gentlest():
    assert "the only arrangement that meets the targets; it delivers 95.0 %" in said._why([trial(3)])[0]
    (most,) = said._why([trial(4, 0.98, heavier=0.97), trial(2, 0.9), trial(3, 0.92, heavier=0.91)])
    assert "at 20 % more viscosity: 98.0 % of swept and 97.0 %; the next best, 3 mm, delivers 92.0 %" in most
    assert "and 91.0 %." in most
    (short,) = said._why([trial(3, 0.95, 0.123), trial(4, 0.954, 0.1), trial(5, 0.94)])
    assert short.startswith("2 arrangements that meet the targets deliver the same within 0.5 %")
    assert "(here 95.0 % and not known)" in short
    assert "the shortest travel, and its ball lands gently enough (0.12 m/s)" in short
    (gentle,) = said._why([trial(4, 0.95, 0.3), trial(3, 0.95, 0.5)])
    assert gentle.endswith("its ball lands more gently (0.30 m/s) than at any shorter travel of these.")


def test_a_shorter_travel_on_the_edge_of_starving_is_told():
    chosen = trial(4, 0.95, heavier=0.95)
    edge = trial(3, 0.946, heavier=0.90)
    (told,) = said._nearly_starving(chosen, [trial(2, 0.95, heavier=0.8, unmet=["fill"]), edge, chosen])
    assert told.startswith("3 mm would deliver as much now, 94.6 %, but is close to starving: 90.0 % at 20 %")
    assert said._nearly_starving(chosen, [trial(3, 0.944, heavier=0.9), chosen]) == []
    assert said._nearly_starving(chosen, [trial(3, 0.95, heavier=0.946), chosen]) == []
    assert said._nearly_starving(chosen, [trial(5, 0.95, heavier=0.9), chosen]) == []


def test_what_would_deliver_more_and_misses_is_told_from_half_a_per_cent_on():
    chosen = trial(3, 0.9)
    (told,) = said._better_but_missing(chosen, [chosen, trial(5, 0.92, unmet=["landing", "gap"])])
    assert told == "5 mm would deliver more, 92.0 %, but misses: landing; gap."
    assert said._better_but_missing(chosen, [chosen, trial(5, 0.9049, unmet=["landing"])]) == []
    assert said._better_but_missing(chosen, [chosen, trial(5, 0.92)]) == []


def test_the_nearest_is_told_with_what_it_misses():
    (only,) = said._why_nearest([trial(3, 0.9, unmet=["fill", "gap"])])
    assert "could be simulated does not meet the targets: fill; gap. It delivers 90.0 %" in only
    near = trial(3, 0.9, unmet=["fill"])
    (more,) = said._why_nearest([near, trial(5, 0.91)])
    assert "3 mm comes nearest" in more
    assert more.endswith("90.0 % of swept; 5 mm would deliver more, 91.0 %.")
    assert said._why_nearest([near, trial(5, 0.904)])[0].endswith("It delivers 90.0 % of swept.")
    assert "misses its targets: fill" in said._why_only(near)[0]
    assert "meets its targets. It delivers 95.0 %" in said._why_only(trial(3))[0]


def test_the_three_largest_losses_are_told_and_none_below_a_twentieth_of_a_per_cent():
    parts = budget(underfill=0.02 * SWEPT, inlet_backflow=0.01 * SWEPT, piston_backflow=0.03 * SWEPT,
                   leak=0.005 * SWEPT, compression_and_gas=-0.1 * SWEPT)  # fmt: skip
    assert said._losses(trial(3, loss_budget=parts)) == (
        "Losses at 3 mm, of swept volume: piston-check backflow 3.0 %, underfill 2.0 %, inlet backflow 1.0 %."
    )
    other = budget(leak=5.1e-4 * SWEPT, compression_and_gas=4.9e-4 * SWEPT)
    assert said._losses(trial(3, loss_budget=other)) == "Losses at 3 mm, of swept volume: leak 0.1 %."
    assert said._losses(trial(3, loss_budget=budget())).endswith("next to nothing.")


@pytest.mark.parametrize(
    ("travel", "others", "word", "probe"),
    [(8, (5, 8), "longest", 12.0), (5, (5, 8), "shortest", 5.0 / 1.5), (6, (5, 6, 8), "", None),
     (5, (5, 5), "", None)],
)  # fmt: skip
def test_beyond_either_end_of_the_travels_another_half_is_looked_at(monkeypatch, travel, others, word, probe):
    asked = []

    def run_case(s):
        asked.append(1e3 * s.inlet_travel)
        return Case(Status.OK, metrics(volumetric_efficiency=asked_for))

    monkeypatch.setattr(said, "run_case", run_case)
    others = [trial(t, 0.9) for t in others]
    for asked_for, end in ((0.906, "(+0.6 %)."), (0.904, "so going further changes little."),
                           (0.894, "(-0.6 %).")):  # fmt: skip
        found = said._beyond(scenario(), trial(travel, 0.9), others)
        assert bool(found) is bool(word)
        if word:
            assert found[0].startswith(f"It is the {word} travel that the shims allow; {probe:.3g} mm would")
            assert f"deliver {100 * asked_for:.1f} % of swept" in found[0]
            assert found[0].endswith(end)
    assert asked == ([pytest.approx(probe)] * 3 if word else [])


def test_a_travel_that_cannot_be_or_fails_is_not_told(monkeypatch):
    monkeypatch.setattr(said, "run_case", lambda _: Case(Status.STEP_TOO_SMALL, None))
    found = said._beyond(scenario(), trial(8), [trial(5), trial(8)])
    assert found == ["It is the longest travel that the shims allow."]
    assert said._beyond(scenario(), trial(190), [trial(5), trial(190)])[0].startswith("It is the longest")


@pytest.mark.parametrize(
    ("hose", "passage", "gap", "filled", "words"),
    [
        (0.3, 0.3, 0.4, False, ""),
        (0.3, 0.3, 0.41, False, "The gap at the seat, which travel sets"),
        (0.5, 0.3, 0.5, False, "The gap at the seat, which travel sets"),
        (0.6, 0.41, 0.5, False, "most of it the hose: no travel fills"),
        (0.41, 0.6, 0.5, False, "most of it the cage: no travel fills"),
        (0.6, 0.41, 0.5, True, "most of it the hose: the chamber lags"),
        (0.5, 0.5, 0.1, True, "The cage takes more of the suction"),
        (0.5, 0.4, 0.3, False, "The hose takes more of the suction"),
    ],
)
def test_what_takes_the_suction_is_named_where_there_is_not_enough(hose, passage, gap, filled, words):
    found = said._limit(SuctionLosses(1e5 * hose, 1e5 * passage, 1e5 * gap, 1e5), filled)
    assert (words in found[0]) if words else found == []
    if words:
        assert f"the hose would take {hose:.3g} bar" in found[0].replace(
            f"{100 * hose:.3g} kPa", f"{hose:.3g} bar"
        )


def test_the_suction_is_spoken_of_where_the_pressure_falls_below_half_of_what_there_is():
    s = scenario(material={"viscosity": 40.0})
    available = 101325.0 - 1250.0 * 9.80665 * 0.3 - 2300.0
    low, high = (trial(5, vapour_margin=share * available) for share in (0.499, 0.501))
    assert said._suction(s, low, [low])
    assert said._suction(s, high, [high]) == []
    still = trial(5, vapour_margin=0.0)
    still = replace(still, metrics=replace(still.metrics, inlet=check(flags=("never_lifts",))))
    assert said._suction(s, still, [still]) == []


def test_in_what_order_things_are_told():
    s, best, other = scenario(), trial(5), trial(6)
    found = said.reasons(s, [best, other, FAILED], [best, other], True)
    assert found[0].startswith("2 arrangements that meet the targets")
    assert found[1].startswith("Losses")
    assert found[2].endswith("the choice rests on landing and travel alone.")
    assert len(found) == 3
    near = trial(5, unmet=["fill"])
    found = said.reasons(s, [near, other], [near, other], False)
    assert found[0].startswith("No arrangement of these shims meets")
    assert found[2].endswith("within 0.5 % of swept.")
    assert found[-1] == said.SEE_LIMITS
    (only, losses) = said.reasons(s, [best], [best], True)
    assert only.startswith("There is only one arrangement")
    assert losses.startswith("Losses")


def test_where_nothing_can_be_named_the_reason_is_told():
    failed = said.reasons(scenario(), [FAILED], [], False)
    assert failed == [f"No arrangement could be simulated to the end. {Status.STEP_TOO_SMALL.advice}"]
    impossible = replace(FAILED, status="not_possible")
    assert said.reasons(scenario(), [impossible], [], False) == [
        "No arrangement could be simulated to the end."
    ]
    fed = scenario(outlet={"gauge_pressure": 1e5}, suction={"feed": "pressure", "tank_gauge_pressure": 3e5})
    (through,) = said.reasons(fed, [trial(5)], [trial(5)], True)
    assert "feed pressure is above the outlet" in through
    nothing = said.reasons(scenario(), [trial(5, 0.0099)], [trial(5, 0.0099)], False)
    assert nothing[0] == "No arrangement delivers a useful amount (less than 1 % of swept)."
    assert nothing[-1] == said.SEE_LIMITS
    assert said.reasons(scenario(), [trial(5, 0.01)], [trial(5, 0.01)], True)[0].startswith("There is only")


def test_a_nearly_starving_one_and_a_better_one_are_told_where_targets_are_met(monkeypatch):
    monkeypatch.setattr(said, "run_case", lambda _: Case(Status.STEP_TOO_SMALL, None))
    chosen, edge = trial(5, 0.9, heavier=0.9), trial(4, 0.9, heavier=0.8)
    better = trial(6, 0.95, unmet=["landing"])
    told = " ".join(said.reasons(scenario(), [edge, chosen, better], [chosen, edge], True))
    assert "4 mm would deliver as much now" in told
    assert "6 mm would deliver more" in told
    assert "hardly matters" not in told
    told = " ".join(said.reasons(scenario(), [edge, chosen, better], [chosen, edge], False))
    assert "as much now" not in told
