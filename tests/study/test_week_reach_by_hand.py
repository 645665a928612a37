"""The rule of choice for a week, on tables that can be worked out by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from balltravel.study.travel.trials import Choice
from balltravel.study.verdict.choice import Reach, all_equal, chosen, regret_95
from balltravel.study.verdict.record import Change, Deciding, Input, Measurement
from balltravel.study.verdict.verdict import prospects_of
from balltravel.study.week import deciding
from balltravel.study.week.reach import week_reach
from balltravel.study.week.record import MaterialOutlook, WeekVerdict

CHOICES = [Choice((), (1, 2), 4e-3), Choice((1,), (2,), 6e-3), Choice((2,), (1,), 8e-3)]


def reach(delivered, met=None, draws=32):
    """The same in every draw, or a line a draw; all targets are met unless told."""
    delivered = np.array(delivered, float)
    delivered = np.tile(delivered, (draws, 1)) if delivered.ndim == 1 else delivered
    met = (
        np.ones(delivered.shape, bool)
        if met is None
        else np.broadcast_to(np.array(met, bool), delivered.shape)
    )
    return Reach(delivered, {"fill": met})


def week(flushes=(), **materials):
    return week_reach(materials, frozenset(flushes))


THIN, THICK = reach([0.98, 0.96, 0.88]), reach([0.60, 0.88, 0.90])


def test_a_week_gives_up_what_the_material_that_gives_up_most_does():
    """The thin one 10 % at 8 mm, the thick one 30 % at 4 mm, either 2 % at 6 mm, which nobody likes best."""
    both = week(thin=THIN, thick=THICK)
    assert both.regret[0] == pytest.approx([0.30, 0.02, 0.10])
    assert both.delivery[0] == pytest.approx([0.60, 0.88, 0.88])
    assert chosen(both) == 1
    assert (chosen(THIN), chosen(THICK)) == (0, 2)


def test_what_any_arrangement_costs_is_no_fault_of_the_choice():
    both = week(thin=THIN, thick=THICK)
    assert both.behind[0] == pytest.approx([0.28, 0.0, 0.08])
    assert both.holds[0].tolist() == both.best[0].tolist() == [False, True, False]


def test_a_rare_starving_material_counts_more_than_a_small_loss_of_the_other():
    """In 10 of 100 draws the thick one starves at 6 mm; there 8 mm is named, though mostly it is worse."""
    thick = np.where(np.arange(100)[:, None] < 10, [0.3, 0.5, 0.9], [0.60, 0.90, 0.90])
    assert chosen(week(thin=reach([0.98, 0.96, 0.93], draws=100), thick=reach(thick))) == 2


def test_a_target_is_met_by_all_materials_or_not_at_all():
    both = week(thin=reach([0.9] * 3, [1, 1, 0]), thick=reach([0.9] * 3, [0, 1, 1]))
    assert both.meets[0].tolist() == [False, True, False]
    assert both.avoidable[0].tolist() == [True, False, True]
    assert chosen(both) == 1


def test_a_material_that_nothing_helps_is_no_reason_to_miss_the_targets_of_the_others():
    hopeless, thin = reach([0.7, 0.7, 0.7], [0, 0, 0]), reach([0.9, 0.9, 0.9], [1, 0, 0])
    both = week(thin=thin, hopeless=hopeless)
    assert not both.meets.any()
    assert both.avoidable[0].tolist() == [False, True, True]
    assert chosen(both) == 0


def test_where_two_materials_exclude_each_other_what_is_given_up_decides():
    both = week(thin=reach([0.98, 0.96, 0.88], [1, 0, 0]), thick=reach([0.60, 0.88, 0.90], [0, 0, 1]))
    assert not both.avoidable.any()
    assert chosen(both) == 1


def test_a_flush_counts_for_its_landing_and_not_for_its_delivery():
    flush = reach([0.2, 0.9, 0.9], [1, 1, 0])
    found = week(["flush"], thin=reach([0.9, 0.9, 0.95]), flush=flush)
    assert np.array_equal(found.regret, reach([0.9, 0.9, 0.95]).regret)
    assert found.avoidable[0].tolist() == [False, False, True]
    assert chosen(found) == 0


def test_a_flush_whose_run_fails_meets_nothing():
    found = week(["flush"], thin=reach([0.9, 0.9]), flush=reach([np.nan, 0.9]))
    assert found.meets[0].tolist() == [False, True]
    assert np.isfinite(found.delivered).all()


def test_a_run_that_fails_with_one_material_delivers_nothing_in_the_week():
    found = week(thin=reach([0.9, 0.9]), thick=reach([np.nan, 0.8]))
    assert found.delivery[0].tolist() == [0.0, 0.8]
    assert found.regret[0].tolist() == [0.8, 0.0]


def test_nothing_is_named_where_a_material_is_not_pumped_in_any_arrangement():
    assert chosen(week(thin=reach([0.9, 0.9]), stuck=reach([0.0, 0.001]))) is None
    assert chosen(week(["stuck"], thin=reach([0.9, 0.9]), stuck=reach([0.0, 0.001]))) == 0


def test_where_no_material_cares_the_shortest_is_named():
    found = week(thin=reach([0.990, 0.993, 0.994]), thick=reach([0.953, 0.951, 0.954]))
    assert all_equal(found)
    assert chosen(found) == 0


def test_without_a_material_the_others_choose():
    three = week(["flush"], thin=THIN, thick=THICK, flush=reach([0.99] * 3))
    assert chosen(three.without("thick")) == 0
    assert chosen(three.without("thin")) == 2
    assert chosen(three.without("flush")) == 1
    assert week(["flush"], thin=THIN, flush=THIN).without("thin") is None


shares = arrays(float, (16, 3), elements=st.floats(0.0, 1.0))


@given(shares)
def test_with_one_material_every_number_is_that_of_the_material(delivered):
    own = Reach(delivered, {"fill": delivered > 0.5})
    alone = week(only=own)
    for name in ("delivery", "meets", "regret", "avoidable", "loss", "holds", "best"):
        assert np.array_equal(getattr(alone, name), getattr(own, name)), name
    assert chosen(alone) == chosen(own)


@given(shares, shares, shares)
def test_the_order_of_materials_changes_nothing_and_a_further_one_never_helps(first, second, third):
    by_name = {
        name: Reach(d, {"fill": d > 0.5}) for name, d in zip("abc", (first, second, third), strict=True)
    }
    forth = week_reach(by_name, frozenset())
    back = week_reach(dict(reversed(by_name.items())), frozenset())
    for name in ("delivery", "meets", "regret", "avoidable", "holds"):
        assert np.array_equal(getattr(forth, name), getattr(back, name)), name
    assert chosen(forth) == chosen(back)
    fewer = forth.without("c")
    assert np.all(regret_95(forth) >= regret_95(fewer))
    assert np.all(forth.meets <= fewer.meets)


@given(shares, shares)
def test_a_part_of_the_draws_is_what_those_draws_say(first, second):
    both = week(a=Reach(first, {"fill": first > 0.5}), b=Reach(second, {"fill": second > 0.5}))
    few = both.of(np.array([3, 5, 5]))
    assert np.array_equal(few.regret, both.regret[[3, 5, 5]])
    assert np.array_equal(few.avoidable, both.avoidable[[3, 5, 5]])


def outlook(name, own, without, flush=False):
    return MaterialOutlook(name, flush, 1.0, None, without, prospects_of(own, own, CHOICES), ((0, 0, 0),) * 3)


def verdict(*materials, chosen=CHOICES[1]):
    numbers = {"holds": 1.0, "holds_error": 0.0, "within": 0.01, "any_meets": 1.0, "regret_mean": 0.0}
    told = {"deciding": (), "thresholds": (), "measurements": (), "inputs": (), "changes": False}
    of_draws = {"all_equal": False, "draws": 32, "refused": 0, "seed": 0, "early": False}
    reach = week(thin=THIN, thick=THICK)
    prospects = prospects_of(reach, reach, CHOICES)
    return WeekVerdict(chosen=chosen, prospects=prospects, materials=materials, **numbers, **told, **of_draws)


def test_those_decide_without_whom_another_is_named_the_one_that_is_met_least_first():
    seldom = reach([0.60, 0.88, 0.90], np.arange(32)[:, None] < [10, 20, 30])
    thin, thick = outlook("thin", THIN, CHOICES[2]), outlook("thick", seldom, CHOICES[0])
    assert verdict(thin, thick, outlook("same", THIN, CHOICES[1])).decided_by == ("thick", "thin")
    assert verdict(outlook("only", THIN, None)).decided_by == ()
    assert verdict(chosen=None).decided_by == ()
    assert verdict(thin, thick).as_dict()["decided_by"] == ["thick", "thin"]


class Drawn:
    """Draws of a material by the rows that a report shows."""

    def __init__(self, *rows):
        self.rows = rows


def row(key, name="x", low=1.0):
    return Input(key, name, "", "", low, 2.0, 3.0)


def test_what_all_materials_share_is_listed_once_and_what_is_their_own_with_its_name():
    draws = {
        "a": Drawn(row("material.viscosity", "viscosity"), row("lower.bore", "bore", 1.0)),
        "b": Drawn(row("material.viscosity", "viscosity"), row("lower.bore", "bore", 9.0)),
    }
    told = [(i.key, i.name, i.low) for i in deciding.week_inputs(draws)]
    assert told == [
        ("a: material.viscosity", "viscosity (a)", 1.0),
        ("lower.bore", "bore", 1.0),
        ("b: material.viscosity", "viscosity (b)", 1.0),
    ]
    assert [i.key for i in deciding.week_inputs({"a": draws["a"]})] == ["material.viscosity", "lower.bore"]


def test_of_each_input_the_material_counts_where_it_saves_most(monkeypatch):
    def decides(drawn, *_):
        worth = drawn.rows[0]
        change = Change("suction.lift", "lift", "", 1.0, 1.0, 1.0, CHOICES[0], CHOICES[1], worth)
        read = Measurement("viscosity", "", ("material.viscosity",), "", worth, 0.0, ())
        known = (
            Deciding("material.viscosity", "viscosity", worth, 0.0),
            Deciding("suction.lift", "lift", worth, 0.0),
        )
        return deciding.WhatDecides(known, (change,), (read,), ())

    monkeypatch.setattr(deciding, "what_decides", decides)
    found = deciding.week_decides({"a": Drawn(0.01), "b": Drawn(0.03)}, None, CHOICES, 1.0, 0)
    assert [(d.key, d.saved) for d in found.deciding] == [
        ("b: material.viscosity", 0.03),
        ("suction.lift", 0.03),
        ("a: material.viscosity", 0.01),
    ]
    assert [(c.name, c.saved) for c in found.thresholds] == [("lift", 0.03)]
    assert [(m.what, m.keys) for m in found.measurements] == [
        ("viscosity (b)", ("b: material.viscosity",)),
        ("viscosity (a)", ("a: material.viscosity",)),
    ]


def test_a_week_says_how_little_is_saved_at_most_only_where_every_material_does(monkeypatch):
    def decides(drawn, *_):
        worth = drawn.rows[0]
        most = Deciding("material.viscosity", "viscosity", worth, 0.0) if worth else None
        return deciding.WhatDecides((), (), (), (), most)

    monkeypatch.setattr(deciding, "what_decides", decides)
    both, one = (
        deciding.week_decides({"a": Drawn(0.001), "b": Drawn(b)}, None, CHOICES, 1.0, 0) for b in (0.002, 0.0)
    )
    assert (both.most.name, both.most.saved) == ("viscosity (b)", 0.002)
    assert one.most is None
