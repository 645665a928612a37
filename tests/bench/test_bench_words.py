"""What the commands of the bench print, sentence by sentence."""

import math
from datetime import date

import pytest

from balltravel.bench.causes import TITLES
from balltravel.bench.diagnose import UNEXPLAINED, CauseFound, Diagnosis
from balltravel.bench.history.entries import entry_of
from balltravel.bench.next_test import NextTest
from balltravel.bench.signs import SIGNS
from balltravel.bench.twins import TWINS
from balltravel.cli.output import progress_bar
from balltravel.report.text.bench import diagnose as words
from balltravel.report.text.bench.signs import seen_text, sign_text
from balltravel.units.display import shown_in

from ..helpers.lowers import scenario

CAUSES = tuple(
    CauseFound(name, TITLES[name], p, size, what, dimension, 40.0, 9.0)
    for name, p, size, what, dimension in (
        ("piston", 0.97, 1e-5, "leaks like a gap all round of", "length"),
        ("foot valve", 0.02, 1e-5, "leaks like a gap all round of", "length"),
        ("none", 0.01, None, "", ""),
    )
)
TEST = NextTest(
    "half the rate",
    {"drive.cycle_rate": 0.15},
    {
        "foot valve": {
            "pounding": 0.4,
            "weighed_per_cycle": 259e-6,
            "dip_at_top": 0.3,
            "seconds_per_stroke_up": 20.0,
        },
        "piston": {
            "pounding": 0.5,
            "weighed_per_cycle": 162e-6,
            "dip_at_top": 0.2,
            "seconds_per_stroke_up": math.inf,
        },
    },
    4.2,
    True,
)


def diagnosed(verdict, test):
    return Diagnosis(verdict, CAUSES, (), 40.0, 0.001, (), test, 160, ())


def printed(verdict, test=None):
    return " ".join(words.diagnosis_text(scenario(), diagnosed(verdict, test)).split())


def test_what_nothing_explains_has_no_probability_in_its_sentence():
    text = printed(UNEXPLAINED).partition("cause /100")[0]
    assert "Nothing here explains what was seen" in text
    assert f"Nearest, but it does not fit: {TITLES['piston']}" in text
    assert "97 in 100" not in text


def test_another_setting_is_told_as_at_a_bench():
    text = printed("fault", TEST)
    assert (
        "To make sure: half the rate, 9 /min. A worn or dirty foot valve then gives about 259 cc a cycle, a "
        "dip of 30 % at the top, creep up, a stroke in 20 s; a worn piston seat or lower packing gives about "
        "162 cc a cycle, a dip of 20 % at the top, no creep up." in text
    )
    assert "drive.cycle_rate" not in text


def test_a_sign_that_nobody_reads_is_told_where_there_is_nothing_else():
    alone = NextTest("listen", {}, {"piston": {"pounding": 0.5}, "none": {"pounding": 0.25}}, 4.2, True)
    assert "A worn piston seat or lower packing then gives an inlet ball that lands at 0.5 m/s" in printed(
        "fault", alone
    )


def test_every_sign_and_every_cause_has_its_words():
    assert words.SHOWING.keys() == SIGNS.keys()
    assert words.AS_CAUSE.keys() == {*TITLES, *(twin.name for twin in TWINS)}


def test_conditions_and_travel_are_parted_by_a_semicolon():
    assert "; ball travel" in printed("fault")


@pytest.mark.parametrize("system", ["us", "metric"])
def test_a_weep_is_in_cc_an_hour_and_none_where_nobody_can_collect_it(system):
    with shown_in(system):
        assert sign_text("gland_weep", 5e-6 / 3600.0) == "5 cc/h"
        assert sign_text("gland_weep", 12e-6 / 60.0) == "720 cc/h"
        assert sign_text("gland_weep", 4.9e-26) == "none"


def test_a_creep_that_nobody_saw_is_told_as_it_was_seen():
    assert seen_text("seconds_per_stroke_up", math.inf, 300.0) == "none in 5 min"
    assert seen_text("seconds_per_stroke_up", 20.0, None) == "20 s"


def _faults(place, key, value):
    faults = []
    raw = {"date": "2026-03-01", key: value}
    entry = entry_of(raw, lambda name: (place(name), 0), scenario(), date(2026, 3, 2), faults)
    return entry, [str(fault) for fault in faults]


def test_a_part_may_be_named_as_on_the_card_and_an_example_is_as_it_is_typed():
    entry, faults = _faults(lambda key: key, "replaced", ["intake ball", "inlet seat", "piston check"])
    assert not faults
    assert entry.handled == ("intake ball", "inlet seat", "piston check")
    _, (typed,) = _faults(lambda key: f"--{key}", "replaced", ["bal"])
    assert typed.endswith('example: --replaced "throat packing"')
    _, (in_file,) = _faults(lambda key: key, "replaced", ["bal"])
    assert in_file.endswith('example: replaced = ["throat packing"]')


def test_a_long_run_says_at_once_how_much_there_is_to_do(capsys):
    with progress_bar("runs") as tell:
        tell(0, 160)
        assert "about 160 runs to make" in capsys.readouterr().err
        tell(1, 160)
        assert capsys.readouterr().err == ""
