"""The verdict of a week as plain text: one arrangement for all materials and how surely, each material in it,
every arrangement, what was not known."""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from balltravel.report.tables import bench, both, bullets, filled, number, plain, shim_names, table
from balltravel.report.text.verdict import (
    MOST_FURTHER,
    draws_in_words,
    input_lines,
    interval,
    left_out,
    shims_placed,
    why_none,
)
from balltravel.report.worth_knowing import measurement_in_words, of_hundred, what_would_help
from balltravel.study.verdict.choice import NONE_MEETS_FIRST
from balltravel.study.verdict.record import ALL
from balltravel.units.display import fixed
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.study.travel.trials import Choice
    from balltravel.study.verdict.record import Prospect
    from balltravel.study.week.record import MaterialOutlook, WeekVerdict

_MATERIALS_NOTE = """\
Of 100 draws: met: draws in which the material's targets are met here (of a flush the landing); no way: in
which no arrangement meets them. deliv.: delivered over swept, gives up: against the material's own best
arrangement of the draw, lands: landing speed of the inlet ball; of each what 5, 50 and 95 of 100 draws stay
below, or the mean. alone: what would be named for this material alone; without: for the others without it."""

_NOTE = """\
Each draw is a lower, a site and all the materials as they may be. *: named above; now: the travel set in the
scenario. Of 100 draws: met: draws in which the targets of a material are met (all: of every one); best: in
which nothing gives up less; avoidable: in which it misses a target that another arrangement meets without
missing more elsewhere. least: the least delivery of all materials but flushes, over swept, that 5, 50 and 95
of 100 draws stay below; gives up: the most that a material does against its own best arrangement, no more in
95 of 100. In brackets behind a number of draws: its 95 % interval, as far as the number of draws tells."""


def week_verdict_lines(verdict: "WeekVerdict") -> list[str]:
    """The first lines, each broken at the page's width: whether any arrangement does; which, and how often it
    holds; what it promises; which material decides; what changes it; what is worth measuring."""
    told = [
        *_nothing_meets(verdict),
        *_chosen(verdict),
        *_decided_by(verdict),
        *what_would_help(verdict),
    ]
    return [filled(plain(line), "", "  ") for line in told]


def week_verdict_text(verdict: "WeekVerdict", letters: Mapping[str, str], fitted: float) -> list[str]:
    """All that stands above the answer at the likely values; ``letters`` of the materials, and the ball
    travel that the scenario has [m]."""
    further = verdict.measurements[1 : 1 + MOST_FURTHER]
    own = ["", _material_table(verdict, letters), "", filled(_MATERIALS_NOTE)] if verdict.chosen else []
    return [
        *week_verdict_lines(verdict),
        *own,
        "",
        _arrangement_table(verdict, letters, fitted),
        "",
        filled(" ".join([_NOTE, *left_out(verdict)])),
        *bullets("Also worth measuring", [measurement_in_words(m, verdict.regret_mean) for m in further]),
        *input_lines(verdict),
    ]


# --- the first lines


def _nothing_meets(verdict: "WeekVerdict") -> list[str]:
    missing = 1.0 - verdict.any_meets
    if missing < NONE_MEETS_FIRST:
        return []
    often = "any draw" if verdict.any_meets == 0.0 else f"{of_hundred(missing)} of 100 draws"
    beyond = [
        f"those of {outlook.name} alone in {of_hundred(1.0 - outlook.any_meets)}"
        for outlook in verdict.materials
        if outlook.any_meets < 1.0
    ]
    whose = f"; {_listed(beyond)}" if beyond and len(verdict.materials) > 1 else ""
    return [f"No arrangement meets the targets of all materials in {often}{whose}."]


def _chosen(verdict: "WeekVerdict") -> list[str]:
    """The arrangement and how often it holds, and what it promises."""
    promise = verdict.prospect
    if verdict.chosen is None or promise is None:
        nothing_pumps = "No arrangement pumps every material in any draw"
        return [f"{why_none(verdict, nothing_pumps)} ({draws_in_words(verdict)})."]
    named = f"{both(verdict.chosen.ball_travel, 'length')}{shims_placed(verdict.chosen)}"
    start = (
        f"Any travel does for the week; the shortest is named: {named}."
        if verdict.all_equal and len(verdict.prospects) > 1
        else f"For the week: travel {named}."
    )
    holds = (
        f"In {_with_interval(verdict, verdict.holds, verdict.holds_error)} no other arrangement gives up "
        f"less by over {number(100.0 * verdict.within, 2)} % of swept or meets targets that it misses, if "
        f"your ranges are right; {draws_in_words(verdict)}."
    )
    return [f"{start} {holds}", f"{_chance(verdict, promise)} {_gives_up(verdict, promise)}"]


def _with_interval(verdict: "WeekVerdict", share: float, error: float) -> str:
    low, high = interval(share, error, verdict.counted)
    return f"{of_hundred(share)} of 100 ({100.0 * low:.0f} to {100.0 * high:.0f})"


def _chance(verdict: "WeekVerdict", promise: "Prospect") -> str:
    """Of all materials, and of each where they differ from that."""
    chance = _with_interval(verdict, promise.chance[ALL], promise.chance_error)
    met = f"Targets of all materials met in {chance}"
    missing = 1.0 - verdict.any_meets
    nowhere = f", in {of_hundred(missing)} by no arrangement" if missing > 0.0 else ""
    each = {name: share for name, share in promise.chance.items() if name != ALL}
    if len(each) < 2 or min(each.values()) == 1.0:
        return f"{met}{nowhere}."
    return f"{met}{nowhere}: {', '.join(f'{name} {of_hundred(share)}' for name, share in each.items())}."


def _gives_up(verdict: "WeekVerdict", promise: "Prospect") -> str:
    """What one arrangement for all costs at most, and with which material."""
    assert verdict.chosen is not None
    lost = {m.name: m.promised(verdict.chosen).regret_95 for m in verdict.materials if not m.flush}
    most = max(lost, key=lambda name: lost[name])
    which = f", most with {most}" if len(lost) > 1 and not verdict.all_equal else ""
    return (
        f"Gives up at most {number(100.0 * promise.regret_95, 2)} % of swept against the best travel for "
        f"each material alone in 95 of 100{which}."
    )


def _decided_by(verdict: "WeekVerdict") -> list[str]:
    """Materials without which another travel would be named."""
    if verdict.chosen is None or len(verdict.materials) < 2 or verdict.all_equal:
        return []
    without = {outlook.name: outlook.without for outlook in verdict.materials}
    named = [f"{name} (without it {_travel(without[name])} would be named)" for name in verdict.decided_by]
    if not named:
        return ["No one material decides: without any of them the same travel would be named."]
    return [f"Decided by {_listed(named)}."]


def _travel(choice: "Choice | None") -> str:
    return "-" if choice is None else bench(choice.ball_travel, "length")


def _listed(words: Sequence[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


# --- each material in the arrangement


def _material_table(verdict: "WeekVerdict", letters: Mapping[str, str]) -> str:
    heads = [
        *(("", "", ""), ("", "", "material"), ("", "met", "/100"), ("no", "way", "/100")),
        *(("deliv.", "%", place) for place in _PLACES),
        *(("gives", "up %", place) for place in ("mean", "95/100")),
        *(("lands", unit_in_use("m/s"), place) for place in ("50/100", "95/100")),
        *(("", "alone", unit_in_use("mm")), ("with-", "out", unit_in_use("mm"))),
    ]
    rows = [_material_row(verdict, outlook, letters[outlook.name]) for outlook in verdict.materials]
    over, names, units = ([head[i] for head in heads] for i in range(3))
    return table(over, [names, units, *rows], range(2, len(heads)), named=2, ruled_after=2)


_PLACES = ("5/100", "50/100", "95/100")


def _material_row(verdict: "WeekVerdict", outlook: "MaterialOutlook", letter: str) -> list[str]:
    assert verdict.chosen is not None
    promise = outlook.promised(verdict.chosen)
    landings = outlook.landings[outlook.prospects.index(promise)]
    shares = (promise.delivery_5, promise.delivery_50, promise.delivery_95)
    lost = (promise.regret_mean, promise.regret_95)
    return [
        *(letter, plain(outlook.name)),
        *(of_hundred(promise.chance[ALL]), of_hundred(1.0 - outlook.any_meets)),
        *("-" if outlook.flush else f"{100.0 * share:.1f}" for share in (*shares, *lost)),
        *("-" if math.isnan(speed) else fixed(speed, "velocity", "m/s", 2) for speed in landings[1:]),
        *(_size(outlook.alone), _size(outlook.without)),
    ]


def _size(choice: "Choice | None") -> str:
    return "-" if choice is None else fixed(choice.ball_travel, "length", "mm", 2)


# --- every arrangement


def _arrangement_table(verdict: "WeekVerdict", letters: Mapping[str, str], fitted: float) -> str:
    names = [outlook.name for outlook in verdict.materials]
    several = [*names, ALL] if len(names) > 1 else [ALL]
    heads = [
        *(("", "", ""), ("", "shims", "below"), ("ball", "travel", unit_in_use("mm"))),
        *(("met", letters.get(name, ALL), "/100") for name in several),
        *(("least", "%", place) for place in _PLACES),
        *(("", "best", "/100"), ("gives", "up %", "95/100"), ("avoid-", "able", "/100")),
    ]
    rows = [_arrangement_row(verdict, prospect, several, fitted) for prospect in verdict.prospects]
    over, words, units = ([head[i] for head in heads] for i in range(3))
    return table(over, [words, units, *rows], range(2, len(heads)), named=3, ruled_after=2)


def _arrangement_row(
    verdict: "WeekVerdict", prospect: "Prospect", names: Sequence[str], fitted: float
) -> list[str]:
    choice = prospect.choice
    now = math.isclose(choice.ball_travel, fitted, rel_tol=1e-9)
    deliveries = (prospect.delivery_5, prospect.delivery_50, prospect.delivery_95)
    return [
        " ".join(["*"] * (choice == verdict.chosen) + ["now"] * now),
        shim_names(choice.shims_below),
        _size(choice),
        *(of_hundred(prospect.chance[name]) for name in names),
        *(f"{100.0 * share:.1f}" for share in deliveries),
        of_hundred(prospect.best),
        f"{100.0 * prospect.regret_95:.1f}",
        of_hundred(prospect.avoidable),
    ]
