"""What `limits` prints of made-up limits: numbers told apart, what is missed, marks, lines that fit."""

import re
from dataclasses import replace

import pytest

from balltravel.report.text import limits as text
from balltravel.report.text.limits import limits_text
from balltravel.scenario.model import with_values
from balltravel.study.limits.find import ArrangementLimits, Limit, LimitsReport, NextSize
from balltravel.study.limits.pairs import Pair, PairSearch
from balltravel.study.limits.sensitivities import Sensitivities
from balltravel.study.limits.tried import TriedValue
from balltravel.study.travel.trials import Choice

from ..helpers.lowers import scenario

S = with_values(scenario(), {"target.landing_speed": 0.51})
NOTHING = Sensitivities(0.9, 0.9, 1e-3, ())


def tried(setting="drive.cycle_rate=34.5 /min", value=34.5 / 60.0, fill=0.95, landing=0.4, missed=(), **more):
    targets = tuple(words.split()[0] for words in missed)
    made = TriedValue((setting,), value, fill, 0.9, landing, missed, False, True, 5.0, targets)
    return replace(made, **more)


def limit(holds, beyond, key="drive.cycle_rate", words="cycle rate", unit="/min", now=0.5, **more):
    end = beyond or tried()
    missed = beyond.missed if beyond else ()
    made = Limit(key, words, unit, now, True, True, holds, beyond, missed, end, False, False, 9, 0)
    return replace(made, **more)


def printed(*limits, here=None, pairs=None, held=None, draws=0, chance=None, names=("now",), of=S):
    choice = Choice((), (), 0.005)
    place = ArrangementLimits(names, choice, (), here or tried(), tuple(limits), pairs, (), chance)
    out = limits_text(of, LimitsReport((place,), NOTHING, held, (), draws))
    assert max(map(len, out.splitlines())) <= 100
    return out


def words_of(out):
    return " ".join(out.split())


@pytest.mark.parametrize(
    ("held", "missed", "shown_held", "shown_missed"),
    [
        (0.5083, 0.5118, "0.508", "0.512"),
        (0.50996, 0.5104, "0.50996", "0.5104"),
        (0.41, 0.75, "0.41", "0.75"),
        (0.4, 0.51004, "0.40", "0.51004"),
    ],
)
def test_the_number_that_holds_and_the_one_that_is_missed_are_told_apart_by_no_more_digits_than_it_takes(
    held, missed, shown_held, shown_missed
):
    """The target is 0.51 m/s."""
    out = printed(limit(tried(landing=held), tried(landing=missed, missed=("landing 0.51 m/s",))))
    (row,) = re.findall(r"^ +cycle rate .*$", out, re.MULTILINE)
    assert row.split()[-1] == shown_held
    assert f"(beyond: landing {shown_missed} m/s)" in out
    assert shown_held != shown_missed


def test_a_run_that_fails_beyond_the_limit_is_said_to_fail():
    failed = tried(fill=None, landing=None, missed=("the run failed (stalled)",), targets=("run",))
    assert "(beyond: the run failed (stalled))" in printed(limit(tried(), failed))


def test_where_nothing_helps_what_is_missed_is_printed_and_not_another_number():
    here = tried(landing=0.8, missed=("landing 0.80 m/s (target 0.51 m/s)",))
    end = tried(landing=0.7, missed=("landing 0.70 m/s (target 0.51 m/s)",))
    out = words_of(printed(limit(None, None, searched=end, meets_now=False), here=here))
    assert "No help alone within what a shop can do: cycle rate up to 34.5 /min (landing 0.70 m/s)." in out
    assert "deliv. 90.0 %)" not in out.partition("No help alone")[2]


def test_a_row_that_raises_pressure_temperature_or_speed_is_marked_and_the_mark_explained():
    beyond = tried(fill=0.85, missed=("fill 85.0 %",))
    size = NextSize("38 mm (1 1/2 in)", tried("suction.hose_diameter=38 mm", raises=("speed",)))
    out = printed(
        limit(tried(raises=("speed",)), beyond),
        limit(tried(), beyond, "suction.hose_diameter", "hose's bore", "mm", 0.05, size=size),
    )
    assert re.search(r"^! +cycle rate ", out, re.MULTILINE)
    assert re.search(r"^ +hose's bore ", out, re.MULTILINE)
    assert "! next size: 38 mm (1 1/2 in):" in out
    assert "!: raises pressure, temperature or speed: never above the rating of the lowest rated part" in out


def test_the_widest_rows_fit_a_hundred_columns_and_no_setting_is_broken():
    long = ("suction.tank_gauge_pressure=0.1234 bar", "suction.feed=pressure")
    beyond = tried(fill=0.8999996, landing=0.5100004, missed=("fill 90 %", "landing 0.51 m/s"))
    rows = [
        limit(tried(settings=long, indication=True, raises=("pressure",)), beyond, words=words, scatters=True,
              now=123.4 / 60.0)
        for words in ("motor's free rate", "inlet spring's preload", "hose's bore", "pail's temperature")
    ]  # fmt: skip
    over_draws = [replace(row, holds_in_95=123.4 / 60.0) for row in rows]
    assert printed(*over_draws, draws=32, chance=0.5).count("  123.4 /min  ") == 8
    out = printed(*rows)
    assert out.count('--set "suction.tank_gauge_pressure=0.1234 bar" --set "suction.feed=pressure"') == 4
    assert out.count("(beyond: fill 89.99996 %, landing 0.5100004 m/s)") == 4
    assert re.search(r"^!\?~ +motor's free rate ", out, re.MULTILINE)


def test_a_pair_is_printed_with_what_to_type_and_what_it_gives():
    here = tried(fill=0.8, missed=("fill 80.0 % (target 90 %)",))
    holds = tried(settings=("suction.hose_length=0.75 m", "suction.lift=-1.138 m"), fill=0.904)
    both = ("hose's length", "lift above the tank")
    pair = Pair(
        ("suction.hose_length", "suction.lift"), both, ("m", "m"), (1.5, 0.3), (0.75, -1.138), 0.625, holds
    )
    out = printed(here=here, pairs=PairSearch(pair, both, 4))
    assert (
        "Two together make all targets hold where none does alone: hose's length 1.5 -> 0.75 m and lift "
        "above the tank 0.3 -> -1.138 m:"
    ) in words_of(out)
    assert "(fill 90.4 %, deliv. 90.0 %, landing 0.40 m/s)" in out
    assert '       --set "suction.hose_length=0.75 m" --set "suction.lift=-1.138 m"' in out
    none = words_of(printed(here=here, pairs=PairSearch(None, both, 1)))
    assert "No two of these help together either, each where it misses least alone: hose's length, " in none


def test_what_was_not_searched_to_its_end_is_said():
    beyond = tried("drive.cycle_rate=40 /min", 40.0 / 60.0, fill=0.85, missed=("fill 85.0 %",))
    out = words_of(printed(limit(tried(), beyond, unfinished=True)))
    assert "Not searched to the end" in out
    assert "cycle rate (the limit lies between 34.5 /min and 40 /min)" in out
    out = words_of(printed(limit(None, None, searched=tried(), unfinished=True)))
    assert "cycle rate only up to 34.5 /min (no change)" in out
    assert "No limit within" not in out
    assert "Not searched" not in printed(limit(tried(), beyond))


def test_a_vapour_pressure_that_does_not_follow_a_temperature_is_said_to_be_held():
    out = words_of(printed(held=2000.0))
    assert "The vapour pressure is held at 2 kPa while a temperature is varied" in out
    assert "vapour pressure" not in printed()
    assert text.settings_text(tried().settings) == '--set "drive.cycle_rate=34.5 /min"'


def test_the_margin_over_draws_has_a_column_and_what_never_holds_so_often_its_chance():
    beyond = tried(fill=0.85, missed=("fill 85.0 %",))
    rate = limit(tried(), beyond, holds_in_95=31.2 / 60.0)
    thick = limit(
        tried("material.viscosity_factor=1.5", 1.5, viscosity=7.5), beyond, "material.viscosity_factor",
        "viscosity", "", 1.0, holds_in_95=1.2,
    )  # fmt: skip
    hose = limit(
        tried("suction.hose_diameter=30 mm", 0.03), beyond, "suction.hose_diameter", "hose's bore", "mm",
        0.05, chance_now=0.815,
    )  # fmt: skip
    out = printed(rate, thick, hose, draws=32, chance=0.82)
    assert re.search(r"input +now +targets hold +in 95 of 100 +fill", out)
    assert re.search(r"cycle rate +30 /min +at most 34.5 /min +31.2 /min +95", out)
    assert re.search(r"viscosity +5 Pa.s +at most 7.5 Pa.s +6 Pa.s +95", out)
    assert re.search(r"hose's bore +50 mm +at most 30 mm +- \(82\) +95", out)
    assert "they hold in 82 of 100 draws. Rows with - have no value" in words_of(out)
    assert "95 of 100 of 32 draws" in words_of(out)
    every = words_of(printed(rate, draws=32, chance=0.97))
    assert "they hold in 97 of 100 draws. All targets hold (landing: that of the inlet ball); each" in every
    plain = printed(rate, thick, hose)
    assert "of 100" not in plain


def test_where_something_is_not_known_one_run_recommends_nothing_and_the_verdict_counts():
    out = words_of(printed(names=("recommended",), draws=32, chance=0.9))
    assert "Recommended" not in out
    assert "What one run at the likely values names: ball travel 5 mm" in out
    assert "Over all that is not known `recommend` may name another travel; its verdict counts." in out
    assert "its verdict counts" not in printed(draws=32, chance=0.9)
    near = words_of(printed(names=("now", "nearest")))
    assert "As it is now and what comes nearest to the targets in one run at the likely values: ball" in near


def test_where_nobody_set_a_target_it_is_default_ones_that_hold_in_so_many_draws():
    unset = with_values(S, {"target.fill_fraction": None, "target.landing_speed": None})
    out = words_of(printed(draws=32, chance=0.81, of=unset))
    assert "At the likely values the default targets hold. Over what is not known they hold in 81" in out
    assert "At the likely values the targets hold." in words_of(printed(draws=32, chance=0.81))


def test_that_nothing_was_drawn_of_a_slow_lower_is_said_and_there_is_no_column():
    out = printed(limit(tried(), tried(fill=0.85, missed=("fill 85.0 %",))), draws=32)
    assert "What is not known was not drawn, for a run of this lower takes too long" in words_of(out)
    assert not re.search(r"targets hold +in 95", out)


def test_a_default_target_is_named_once_and_not_behind_every_value_beyond():
    starved = tried(
        fill=0.75, missed=("fill 75 % (default target 90 %)", "gap 50 um of 120 um (three particles)")
    )
    here = tried(fill=0.8, missed=("fill 80 % (default target 90 %)",))
    out = words_of(printed(limit(None, starved, key="suction.lift", words="lift", unit="m"), here=here))
    assert "Missed: fill 80 % (target 90 %)" in out
    assert "default target" not in out
    assert "gap 50 um of 120 um (three particles)" in out
