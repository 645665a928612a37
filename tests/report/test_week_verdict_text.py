"""What the verdict of a week says, of weeks that nobody drew."""

from dataclasses import replace

import pytest

from balltravel.report.text.week.verdict import week_verdict_lines, week_verdict_text
from balltravel.study.week.record import MaterialOutlook, WeekVerdict

from ..helpers.verdicts_by_hand import CHOICES, INPUTS, measured, prospect

FOUR, SIX, EIGHT = CHOICES[2], CHOICES[4], CHOICES[6]
LETTERS = {"primer": "A", "deck mastic": "B", "rinse": "C"}


def outlook(name, met, without, flush=False, any_meets=1.0, regret=0.01):
    chance = {"landing": met, "run": 1.0, "all": met}
    prospects = tuple(prospect(choice, chance=chance, regret_95=regret) for choice in CHOICES)
    alone = None if flush else SIX
    return MaterialOutlook(
        name, flush, any_meets, alone, without, prospects, ((0.1, 0.2, 0.31),) * len(CHOICES)
    )


def week(**changes):
    chance = {"primer": 0.93, "deck mastic": 0.95, "rinse": 1.0, "all": 0.875}
    made = WeekVerdict(
        chosen=SIX, holds=0.54, holds_error=0.044, within=0.01, any_meets=0.96, changes=False, deciding=(),
        thresholds=(), measurements=(), all_equal=False, regret_mean=0.0214,
        prospects=tuple(prospect(choice, chance=chance, regret_95=0.02) for choice in CHOICES),
        inputs=INPUTS, draws=128, refused=0, seed=0, early=False,
        materials=(outlook("primer", 0.93, SIX),
                   outlook("deck mastic", 0.95, FOUR, any_meets=0.97, regret=0.02),
                   outlook("rinse", 1.0, SIX, flush=True)),
    )  # fmt: skip
    return replace(made, **changes)


def said(verdict):
    return " ".join(" ".join(week_verdict_lines(verdict)).split())


def test_the_first_lines_name_the_arrangement_how_often_it_holds_and_who_decides():
    lines = said(week())
    assert lines.startswith(
        "For the week: travel 6 mm (0.236 in), shim 3 below the cage, 1+2 above. In 54 of 100 ("
    )
    assert "no other arrangement gives up less by over 1 % of swept or meets targets that it misses" in lines
    assert "in 4 by no arrangement: primer 93, deck mastic 95, rinse 100." in lines
    cost = "Gives up at most 2 % of swept against the best travel for each material alone in 95 of 100"
    assert f"{cost}, most with deck mastic." in lines
    assert "Decided by deck mastic (without it 4 mm would be named)." in lines


def test_that_no_arrangement_meets_all_targets_is_said_first_and_whose():
    few = (outlook("primer", 0.93, SIX), outlook("deck mastic", 0.2, FOUR, any_meets=0.3))
    lines = said(week(any_meets=0.25, materials=few))
    assert lines.startswith(
        "No arrangement meets the targets of all materials in 75 of 100 draws; those of deck mastic alone "
        "in 70."
    )
    assert said(week(any_meets=0.0)).startswith(
        "No arrangement meets the targets of all materials in any draw"
    )


def test_where_nothing_pumps_none_is_named():
    idle = tuple(replace(p, delivery_5=0.0, delivery_50=0.0, delivery_95=0.0) for p in week().prospects)
    lines = said(week(chosen=None, prospects=idle))
    assert "No arrangement pumps every material in any draw, so none is named (128 draws, seed 0)." in lines
    assert "Decided by" not in lines
    assert "Holds" not in lines
    assert "easur" not in lines
    assert week_verdict_text(week(chosen=None), LETTERS, 5e-3)


def test_where_the_feed_runs_through_at_the_likely_values_that_is_the_reason():
    lines = said(week(chosen=None))
    assert "The feed runs through at the likely values" in lines
    assert "No arrangement pumps" not in lines


def test_where_all_are_equal_the_shortest_is_named_and_nobody_decides():
    lines = said(week(all_equal=True, early=True, draws=32))
    assert "Any travel does for the week; the shortest is named: 6 mm" in lines
    assert "stopped after 32 draws, because all travels are equal; seed 0" in lines
    assert "Decided by" not in lines
    assert "most with" not in lines


def test_where_every_material_may_go_that_is_said():
    same = (outlook("primer", 0.93, SIX), outlook("deck mastic", 0.95, SIX))
    assert "No one material decides: without any of them the same travel would be named." in said(
        week(materials=same)
    )


def test_a_week_of_one_material_says_nothing_of_others():
    lines = said(week(materials=(outlook("primer", 0.9, None),)))
    assert "decide" not in lines.lower()
    assert "most with" not in lines


def test_each_material_and_each_arrangement_has_a_line():
    text = "\n".join(week_verdict_text(week(measurements=(measured(), measured())), LETTERS, 5e-3))
    assert max(map(len, text.splitlines())) <= 100
    (mastic,) = (line for line in text.splitlines() if line.startswith("B  deck mastic"))
    assert mastic.split() == [
        "B",
        "deck",
        "mastic",
        "95",
        "3",
        "71.2",
        "88.3",
        "96.3",
        "0.4",
        "2.0",
        "0.20",
        "0.31",
        "6.00",
        "4.00",
    ]
    (rinse,) = (line for line in text.splitlines() if line.startswith("C  rinse"))
    assert rinse.split()[2:] == ["100", "0", "-", "-", "-", "-", "-", "0.20", "0.31", "-", "6.00"]
    (named,) = (line for line in text.splitlines() if line.startswith("* "))
    assert named.split()[:7] == ["*", "3", "6.00", "93", "95", "100", "88"]
    assert any(line.startswith("now  1+2") for line in text.splitlines())


@pytest.mark.parametrize("missing", [0, 3])
def test_draws_that_make_no_lower_are_counted(missing):
    text = " ".join("\n".join(week_verdict_text(week(impossible=missing), LETTERS, 5e-3)).split())
    assert ("3 of 128 draws are of a lower that cannot be" in text) == (missing == 3)
