"""What `recommend` prints of made-up verdicts: the first lines, the table, what was not known."""

import re
from dataclasses import replace

import pytest

from balltravel.report.json import answer_dict, strict
from balltravel.report.text.recommend import recommendation_text
from balltravel.report.text.verdict import (
    MOST_INPUTS,
    interval,
    to_write,
    verdict_lines,
    verdict_text,
)
from balltravel.report.worth_knowing import of_hundred
from balltravel.scenario.model import with_values
from balltravel.study.travel.accuracy import Band
from balltravel.study.travel.recommend import PROMISED, Recommendation
from balltravel.study.travel.trials import Trial
from balltravel.study.verdict.record import Answer, Change, Deciding, Input, Outcome

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import metrics
from ..helpers.verdicts_by_hand import (
    CHANGES,
    CHOICES,
    EQUAL,
    GAS,
    HOLDS,
    NONE_MEETS,
    VISCOSITY,
    measured,
    prospect,
)

SHIMS = {"thicknesses": (0.001, 0.002, 0.004), "below": (1, 2)}
S = with_values(scenario(shims=SHIMS), {"target.fill_fraction": 0.9, "target.landing_speed": 0.5})
KINDS = {"changes": CHANGES, "holds": HOLDS, "equal": EQUAL, "none meets": NONE_MEETS}
LONG = "a rather long name of an input that nobody would ever like to read twice, of the inlet check"


def trials():
    return tuple(Trial(c.shims_below, c.shims_above, c.ball_travel, "ok", metrics(), ()) for c in CHOICES)


def single(place=6):
    """A single run that names one of the arrangements."""
    return Recommendation(CHOICES[place], None, None, trials(), (), ("why",), (), False, Band({}, "no run"))


def lines(verdict, of=S):
    """Each of the first lines as one, and none too wide."""
    told = verdict_lines(of, verdict)
    assert max(len(line) for entry in told for line in entry.splitlines()) <= 100
    return [" ".join(entry.split()) for entry in told]


def page(verdict, **more):
    out = verdict_text(S, Answer(single(**more), verdict))
    assert max(map(len, out.splitlines())) <= 100
    return out


def test_the_first_lines_say_what_to_set_how_surely_what_is_promised_what_changes_it_and_what_to_measure():
    assert lines(CHANGES) == [
        "Travel 8 mm (0.315 in), shims 2+3 below the cage, 1 above: gives up at most 1 % of swept and misses "
        "no target that another meets in 69 of 100 (60 to 76) if your ranges are right; 128 draws, seed 0.",
        "Targets met in 64 of 100 (56 to 72), in 30 by no travel; landing means the inlet ball. "
        "Delivers 88 % (71 to 96 in 90 of 100).",
        "Changes with viscosity: 6 mm below 8.6 Pa.s (7.91 to 9.4), 9 mm above, 8 mm while it is not known.",
        "Worth measuring: the viscosity where you pump it (rotational viscometer, shear rate 100 1/s): saves "
        "0.51 of the 0.72 % given up on average. Then 6 mm below 8.6 Pa.s (45 of 100), 9 mm above (55).",
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_the_page_begins_with_these_lines_of_which_there_are_at_most_five(kind):
    told = verdict_lines(S, KINDS[kind])
    assert 4 <= len(told) <= 5
    assert page(KINDS[kind]).startswith("\n".join(told) + "\n")


def test_where_no_travel_meets_the_targets_in_most_draws_that_is_said_first():
    first = lines(NONE_MEETS)[0]
    assert first.startswith("No travel meets the targets in 92 of 100 draws")
    assert "balltravel limits" in first
    assert lines(replace(NONE_MEETS, any_meets=0.0))[0].startswith("No travel meets the targets in any draw")
    assert lines(replace(NONE_MEETS, any_meets=0.51))[0].startswith("Travel 8 mm")


def test_where_all_are_equal_any_travel_does_and_an_early_stop_is_told():
    first = lines(EQUAL)[0]
    assert first.startswith("Any travel does; the shortest is named: 2 mm (0.079 in), no shim below")
    assert "stopped after 32 draws, because all travels are equal; seed 0" in first
    assert "stopped" not in lines(CHANGES)[0]


def test_what_holds_changes_at_no_value_and_is_worth_no_measurement():
    *_, holds, nothing = lines(HOLDS)
    assert holds == "Holds: to know any one input exactly would save nothing that counts."
    little = Deciding("inlet_check.seat", "seat of the inlet check", 0.00183, 0.0003)
    *_, holds, _ = lines(replace(HOLDS, saves_most=little))
    least = "at most 0.18 % of swept on average (seat of the inlet check)"
    assert holds == f"Holds: to know any one input exactly would save {least}."
    assert nothing == "Nothing is worth measuring: 0.04 % is given up on average."
    *_, unclear, worth = lines(replace(CHANGES, thresholds=()))
    assert unclear == "May change with viscosity and free gas, but at no clear value."
    assert worth.startswith("Worth measuring: the viscosity")
    *_, changes, helpless = lines(replace(CHANGES, measurements=()))
    assert changes.startswith("Changes with viscosity")
    assert helpless.startswith("Nothing that can be measured would settle it: 0.72 %")


def unnamed(**changes):
    return replace(CHANGES, chosen=None, holds=0.0, thresholds=(), deciding=(), measurements=(), **changes)


def test_where_nothing_pumps_nothing_is_named_and_nothing_said_of_a_choice():
    idle = tuple(replace(p, delivery_5=0.0, delivery_50=0.0, delivery_95=0.0) for p in CHANGES.prospects)
    (told,) = lines(unnamed(prospects=idle))
    assert told.startswith("No arrangement pumps in any draw, so none is named (128 draws, seed 0)")
    (nowhere,) = lines(unnamed(prospects=()))
    assert nowhere.startswith("No draw makes a possible lower")


def test_where_the_feed_runs_through_at_the_likely_values_draws_that_pump_are_not_denied():
    (told,) = lines(unnamed())
    assert told.startswith("The feed runs through at the likely values")


def test_of_one_arrangement_alone_nothing_is_compared():
    alone = replace(EQUAL, prospects=EQUAL.prospects[:1], draws=128, early=False)
    first = lines(alone)[0]
    assert (
        first
        == "Travel 2 mm (0.079 in), no shim below the cage, 1+2+3 above, the only one; 128 draws, seed 0."
    )


def test_a_choice_of_names_changes_by_its_names():
    nan = float("nan")
    change = Change("inlet_check.seat", "seat", "", nan, nan, nan, CHOICES[4], CHOICES[6], 0.01, ("cone",))
    look = measured(
        what="form of the inlet seat", how="look at it", dimension="", rate=0.0,
        outcomes=tuple(
            Outcome(nan, nan, share, choice, (name,))
            for share, choice, name in ((0.75, CHOICES[4], "edge"), (0.25, CHOICES[6], "cone"))
        ),
    )  # fmt: skip
    *_, changes, worth = lines(replace(CHANGES, thresholds=(change,), measurements=(look,)))
    assert changes == "Changes with seat: 8 mm for cone, else 6 mm."
    assert worth.endswith("Then 6 mm for edge (75 of 100), 8 mm for cone (25).")
    assert "(look at it)" in worth


def test_outcomes_between_others_have_both_ends_and_those_of_one_choice_are_one():
    parts = tuple(
        Outcome(low, high, 0.25, choice)
        for low, high, choice in (
            (1.0, 2.0, CHOICES[2]), (2.0, 4.0, CHOICES[4]), (4.0, 8.0, CHOICES[4]), (8.0, 9.0, CHOICES[6]),
        )
    )  # fmt: skip
    told = lines(replace(CHANGES, measurements=(measured(outcomes=parts),)))[-1]
    split = "Then (in three bands) 4 mm below 2 Pa.s (25 of 100), 6 mm at 2 to 8 Pa.s (50), 8 mm above (25)."
    assert told.endswith(split)
    same = measured(outcomes=parts[1:3])
    assert lines(replace(CHANGES, measurements=(same,)))[-1].endswith("Then 6 mm whatever it says.")


def test_where_a_measurement_splits_finer_than_the_change_both_lines_say_in_how_many_parts_they_split():
    parts = tuple(
        Outcome(low, low + 3.0, share, CHOICES[place])
        for low, share, place in ((1.0, 0.45, 0), (4.0, 0.37, 2), (7.0, 0.18, 7))
    )
    *_, changes, worth = lines(replace(CHANGES, measurements=(measured(outcomes=parts),)))
    assert changes.startswith("Changes with viscosity (in two bands): 6 mm below 8.6 Pa.s")
    assert "Then (in three bands) 2 mm below 4 Pa.s (45 of 100), 4 mm at 4 to 7 Pa.s (37)" in worth
    assert "split" not in " ".join(lines(CHANGES))


@pytest.mark.parametrize(
    ("low", "high", "band"),
    [(4.3, 8.6, "or lower, down to 4.3 Pa.s"), (8.6, 9.4, "or higher, up to 9.4 Pa.s"), (7.0, 9.0, "7 to 9")],
)
def test_a_value_at_the_end_of_its_own_band_has_a_band_on_the_other_side_alone(low, high, band):
    change = replace(CHANGES.thresholds[0], low=low, high=high)
    assert f"6 mm below 8.6 Pa.s ({band}), 9 mm above" in lines(replace(CHANGES, thresholds=(change,)))[2]


def test_why_a_travel_is_named_is_told_by_what_it_its_neighbours_and_the_single_runs_cost_in_the_worse_half():
    """By hand: 1.07 % of swept, 11 % more for six millimetres too short, 0.4 % for one too long."""
    out = " ".join(page(CHANGES, place=2).split())
    why = (
        "Why 8 mm: in the half of the draws where it does worst, it gives up 1.07 % of swept on average, "
        "the least of all (4 mm 8.40 %, 7 mm 2.90 %, 9 mm 1.47 %, each in its own worst half)."
    )
    assert why in out
    *shorter, named, longest = CHANGES.prospects
    tied = (*shorter, replace(named, worse_half=8e-4), replace(longest, worse_half=5e-4))
    nearly = " ".join(page(replace(CHANGES, prospects=tied)).split())
    assert "0.08 % of swept on average, next to nothing, and none shorter does so (7 mm 2.90 %" in nearly
    for nothing_to_tell in (EQUAL, replace(CHANGES, prospects=CHANGES.prospects[6:7]), unnamed()):
        assert "Why " not in page(nothing_to_tell)


def test_further_thresholds_are_named_and_further_measurements_listed():
    gas = Change(GAS, "free gas", "fraction", 0.01, 0.008, 0.012, CHOICES[4], CHOICES[6], 0.003)
    told = lines(replace(CHANGES, thresholds=(*CHANGES.thresholds, gas)))
    assert "9 mm above, 8 mm while it is not known; also with free gas." in told[2]
    out = page(CHANGES)
    assert "Also worth measuring:\n  - a Krebs reading: saves 0.10 of the 0.72 %" in out


def test_targets_that_nobody_set_are_not_said_to_be_met():
    unset = with_values(S, {"target.fill_fraction": None, "target.landing_speed": None})
    told = " ".join(lines(HOLDS, unset))
    assert "You set no target; it pumps in 64 of 100" in told
    assert "misses no target" not in told
    every = tuple(replace(p, chance=dict.fromkeys(p.chance, 1.0)) for p in HOLDS.prospects)
    out = verdict_text(unset, Answer(single(), replace(HOLDS, prospects=every)))
    assert not re.search(r"\bmet\b", out.split("Each draw")[0])
    assert "met: draws" not in out
    assert "You set no target, so none is counted here; `limits` counts the default ones." in " ".join(
        out.split()
    )
    assert "You set no target, so" not in page(HOLDS)


def test_what_is_to_be_written_once_the_shims_are_moved_is_told_and_only_then():
    below = HOLDS.chosen.shims_below
    moved = with_values(S, {"shims.below": tuple(n for n in (1, 2, 3) if n not in below)})
    line = f"write below = [{', '.join(map(str, below))}] under [shims] in the file"
    assert line in " ".join("\n".join(to_write(moved, HOLDS.chosen)).split())
    assert to_write(with_values(S, {"shims.below": below}), HOLDS.chosen) == []
    assert to_write(S, None) == []
    assert "in 30 by no travel" not in lines(HOLDS)[1]


@pytest.mark.parametrize("kind", KINDS)
def test_each_arrangement_has_a_line_with_the_records_numbers(kind):
    verdict = KINDS[kind]
    rows = [re.split(r"  +", line.strip()) for line in page(verdict).split("At the likely")[0].splitlines()]
    rows = [row for row in rows if len(row) >= 10 and re.fullmatch(r"\d\.00", row[-10])]
    assert len(rows) == len(CHOICES)
    for row, promised in zip(rows, verdict.prospects, strict=True):
        chance, percent = promised.chance, [
            100.0 * share
            for share in (promised.delivery_5, promised.delivery_50, promised.delivery_95, promised.regret_95)
        ]  # fmt: skip
        assert float(row[-10]) == pytest.approx(1e3 * promised.choice.ball_travel)
        assert row[-9:-6] == [of_hundred(chance[name]) for name in ("fill", "landing", "all")]
        assert [*row[-6:-3], row[-2]] == [f"{value:.1f}" for value in percent]
        assert (row[-3], row[-1]) == (of_hundred(promised.best), of_hundred(promised.avoidable))
        assert row[0].startswith("*") == (promised.choice == verdict.chosen)
    assert sum(row[0].endswith("now") for row in rows) == 1


def test_a_target_has_a_column_if_it_was_set_or_is_missed():
    def head(verdict, of=S):
        return verdict_text(of, Answer(single(), verdict)).split("/100")[0]

    feed = [prospect(c, chance={"fill": 1.0, "gap": 1.0, "feed": 0.5, "all": 0.5}) for c in CHOICES]
    assert "feed" in head(replace(CHANGES, prospects=tuple(feed)))
    assert "pumps" not in head(CHANGES)
    assert " gap " not in head(replace(CHANGES, prospects=tuple(feed)))
    unset = with_values(S, {"target.landing_speed": None})
    assert "landing" in head(CHANGES)
    table_of_unset = verdict_text(unset, Answer(single(), CHANGES)).split("Each draw")[0]
    assert "landing" not in table_of_unset


def test_draws_that_were_left_out_and_runs_that_failed_are_told():
    failing = tuple(replace(promised, failed=0.05) for promised in CHANGES.prospects)
    out = " ".join(page(replace(CHANGES, refused=3, impossible=2, prospects=failing)).split())
    assert "2 of 128 draws are of a lower that cannot be" in out
    assert "3 of 128 draws are refused" in out
    assert "Runs that failed, at most 5 of 100, count as targets not met." in out
    assert "failed" not in page(CHANGES)


def test_what_was_not_known_begins_with_what_decides_and_ends_with_a_count():
    many = tuple(replace(CHANGES.inputs[0], key=f"x.{i}", name=f"input {i}") for i in range(17))
    out = page(replace(CHANGES, inputs=(*many, *CHANGES.inputs)))
    rows = out.split("What was not known")[1].split("\nand")[0].splitlines()[2:]
    assert len(rows) == MOST_INPUTS
    assert rows[0].split() == ["viscosity", "5.9", "Pa.s", "10", "Pa.s", "16.9", "Pa.s", "in", "the", "file"]
    assert rows[1].startswith("free gas in the material     0.2 %   0.63 %        2 %  our estimate")
    assert f"\nand {20 - MOST_INPUTS} more (--json has all)\n" in out


def test_readings_stand_first_where_they_decide_together():
    reading = Input("material.readings[2].value", "reading 2", "", "viscosity", 1.0, 2.0, 3.0)
    known = (Deciding("material.readings", "readings", 0.01, 0.001),)
    out = page(replace(CHANGES, inputs=(*CHANGES.inputs, reading), deciding=known))
    assert out.split("range from\n")[1].splitlines()[1].startswith("reading 2")


def test_nothing_is_wider_than_the_page_whatever_the_names_and_numbers_are():
    choice = replace(CHOICES[6], shims_below=(1, 2, 3, 4, 5, 6, 7), shims_above=(8, 9, 10, 11, 12))
    chance = dict.fromkeys(("fill", "landing", "delivery", "gap", "pumping", "feed", "all"), 0.99987)
    wide = replace(
        CHANGES,
        chosen=choice,
        prospects=(prospect(choice, chance=chance),),
        inputs=(replace(CHANGES.inputs[0], name=LONG, origin=LONG),),
        thresholds=(replace(CHANGES.thresholds[0], name=LONG, below=choice, above=choice),),
        measurements=(measured(what=LONG, how=LONG),) * 3,
    )
    lines(wide)
    page(wide)


def test_a_name_cannot_command_a_terminal():
    out = page(replace(CHANGES, inputs=(replace(CHANGES.inputs[0], name="\x1b[2J", origin="\x07"),)))
    assert "\x1b" not in out
    assert "\x07" not in out


def test_the_single_run_stands_beneath_and_says_whether_it_names_another_travel():
    same, other = page(CHANGES), page(CHANGES, place=4)
    assert "\nAt the likely values:\n\n" in same
    assert "At the likely values (one run, which alone would name 6 mm; the verdict counts):" in other
    assert same.endswith("\n" + recommendation_text(S, single(6)))
    assert other.endswith("\n" + recommendation_text(S, single(4), overruled=True))


def test_a_single_run_that_the_verdict_overrules_recommends_nothing_and_says_whose_its_reasons_are():
    same, other = page(CHANGES), page(CHANGES, place=4)
    assert "Recommended: " in same
    assert "\nReasons:\n  - why" in same
    assert "This run alone names: shim 3 (4 mm) below the cage" in other
    assert "ecommended" not in other
    assert "*: named by this run;" in other
    assert "\nReasons of this run, which the verdict overrules:\n  - why" in other
    beware = replace(single(4), reservations=("it is steep there",))
    out = verdict_text(S, Answer(beware, CHANGES))
    assert "What stands against 6 mm in this run:\n  - it is steep there" in out


def test_without_a_verdict_the_text_is_the_single_runs():
    assert verdict_text(S, Answer(single(), None)) == recommendation_text(S, single())


# --- JSON


def test_the_json_has_the_verdict_and_each_arrangement_what_it_promises():
    values = strict(answer_dict(S, Answer(single(), CHANGES)))
    verdict = values["verdict"]
    assert verdict["holds"] == CHANGES.holds
    assert verdict["changes"] is True
    assert verdict["deciding"] == [VISCOSITY, GAS]
    assert [known["saved"] for known in verdict["worth_knowing"]] == [0.0055, 0.0006]
    assert verdict["next_measurement"]["what"] == "the viscosity where you pump it"
    assert verdict["thresholds"][0]["at"] == 8.6
    assert len(verdict["inputs"]) == 3
    for entry, promised in zip(values["arrangements"], CHANGES.prospects, strict=True):
        assert {name: entry[name] for name in PROMISED} == {
            name: getattr(promised, name) for name in PROMISED
        }


def test_the_json_of_the_single_run_alone_is_what_it_was_and_the_verdicts_adds_to_it():
    alone, judged = (answer_dict(S, Answer(single(), verdict)) for verdict in (None, HOLDS))
    assert "verdict" not in alone
    assert judged["verdict"]["next_measurement"] is None
    assert [*judged] == [*[*alone][:-1], "verdict", "scenario"]
    without = [
        {key: value for key, value in entry.items() if key not in PROMISED}
        for entry in judged["arrangements"]
    ]
    assert without == list(alone["arrangements"])


def test_an_arrangement_that_was_not_drawn_promises_nothing():
    values = answer_dict(S, Answer(single(), replace(CHANGES, prospects=CHANGES.prospects[1:])))
    assert [values["arrangements"][0][name] for name in PROMISED] == [None] * 5
    assert values["arrangements"][1]["chance"]["all"] > 0.0


# --- shares and their errors


def test_none_or_all_of_few_draws_is_not_sure():
    """Of n draws without a miss: n / (n + z^2), Wilson's lower end."""
    low, high = interval(1.0, 0.0, 32)
    assert (low, high) == (pytest.approx(32 / (32 + 1.959964**2), rel=1e-6), 1.0)
    assert interval(0.0, 0.0, 32) == (0.0, pytest.approx(1.0 - low))


def test_the_interval_of_many_draws_is_that_of_the_normal_law():
    low, high = interval(0.4, 0.001, 1000)
    assert low == pytest.approx(0.4 - 1.96 * 0.001, abs=2e-6)
    assert high == pytest.approx(0.4 + 1.96 * 0.001, abs=2e-6)


@pytest.mark.parametrize(("count", "of"), [(3, 32), (64, 128), (127, 128), (1, 4096)])
def test_the_interval_of_independent_draws_is_that_of_an_independent_library(count, of):
    from scipy.stats import binomtest

    share = count / of
    theirs = binomtest(count, of).proportion_ci(0.95, "wilson")
    assert interval(share, (share * (1.0 - share) / of) ** 0.5, of) == pytest.approx(tuple(theirs), rel=1e-9)


def test_a_share_reads_none_or_all_of_100_only_if_it_is():
    shares = (0.0, 1 / 4096, 0.004, 0.5, 0.6875, 127 / 128, 4095 / 4096, 1.0)
    assert [of_hundred(share) for share in shares] == ["0", "0.02", "0.4", "50", "69", "99", "99.98", "100"]


def test_a_choice_between_those_of_the_ends_is_said_to_be_for_while_the_input_is_not_known():
    (first, *others) = CHANGES.thresholds
    between = next(choice for choice in CHOICES if choice not in (first.below, first.above))
    told = " ".join(lines(replace(CHANGES, chosen=between, thresholds=(first, *others))))
    assert f"{1e3 * between.ball_travel:g} mm while it is not known" in told
    at_an_end = replace(CHANGES, chosen=first.below)
    assert "while it is not known" not in " ".join(lines(at_an_end))
