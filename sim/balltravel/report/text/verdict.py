"""The verdict as plain text: what to choose and how surely in five lines, every arrangement, what was not
known, and the single run at the likely values beneath."""

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from balltravel.report.tables import bench, both, bullets, filled, number, plain, shim_names, table
from balltravel.report.text.recommend import recommendation_text
from balltravel.report.worth_knowing import (
    measurement_in_words,
    of_hundred,
    travel_of,
    what_would_help,
)
from balltravel.scenario.model import Scenario
from balltravel.scenario.unknowns import IN_THE_FILE
from balltravel.study.travel.trials import EQUAL_DELIVERY, NO_DELIVERY, asked_of, is_default
from balltravel.study.verdict.choice import MISS, NONE_MEETS_FIRST
from balltravel.study.verdict.record import ALL
from balltravel.units.display import fixed, prose
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.travel.trials import Choice
    from balltravel.study.verdict.record import Answer, Input, Prospect, Verdict

MOST_INPUTS = 6
"""Inputs that are listed; the rest are counted."""

MOST_FURTHER = 3
"""Measurements that are told beside the one that is worth most."""

COARSE = 0.03
"""Difference of deliveries, of swept, from which on whole percents tell them apart (our choice)."""

WIDEST_NAME = 36
"""Columns of an input's name; a longer one is broken."""

INLET_ALONE = "; landing means the inlet ball"
"""What stands behind a chance of landing: the shims do not change how the piston ball lands."""

_SURE = 1.959963984540054


def interval(share: float, error: float, draws: int) -> tuple[float, float]:
    """Where a share of draws with that standard deviation lies, in 95 of 100 samples of as many.

    Wilson's interval (1927, doi 10.1080/01621459.1927.10502953), so that none or all of few draws is not
    sure, with as many independent draws as the error says.
    """
    inner = 0.0 < share < 1.0 and error > 0.0
    count = share * (1.0 - share) / error**2 if inner else max(draws, 1)
    part = _SURE**2 / count
    middle = (share + 0.5 * part) / (1.0 + part)
    half = math.sqrt(part * (share * (1.0 - share) + 0.25 * part)) / (1.0 + part)
    return max(0.0, middle - half), min(1.0, middle + half)


def verdict_sentences(scenario: Scenario, verdict: "Verdict") -> list[str]:
    """Up to five lines: whether any travel does; the arrangement and how often it holds; chances and
    delivery; what changes it; what is worth measuring."""
    return [*_nothing_meets(verdict), *_chosen(scenario, verdict), *what_would_help(verdict)]


def verdict_lines(scenario: Scenario, verdict: "Verdict") -> list[str]:
    """The same, each broken at the page's width."""
    told = verdict_sentences(scenario, verdict)
    return [filled(plain(line).replace("seed ", "seed\u00a0"), "", "  ") for line in told]


def _nothing_meets(verdict: "Verdict") -> list[str]:
    missing = 1.0 - verdict.any_meets
    if missing < NONE_MEETS_FIRST:
        return []
    often = "any draw" if verdict.any_meets == 0.0 else f"{of_hundred(missing)} of 100 draws"
    return [f"No travel meets the targets in {often}; `balltravel limits FILE` shows what else would help."]


def _chosen(scenario: Scenario, verdict: "Verdict") -> list[str]:
    """The arrangement and how often it holds, and what it promises."""
    promise = verdict.prospect
    if verdict.chosen is None or promise is None:
        return [f"{why_none(verdict, 'No arrangement pumps in any draw')} ({draws_in_words(verdict)})."]
    low, high = interval(verdict.holds, verdict.holds_error, verdict.counted)
    holds = f"{of_hundred(verdict.holds)} of 100 ({100.0 * low:.0f} to {100.0 * high:.0f})"
    misses = " and misses no target that another meets" if any(_targets_set(scenario).values()) else ""
    gives_up = (
        f"gives up at most {number(100.0 * verdict.within, 2)} % of swept{misses} in {holds} if your ranges "
        f"are right; {draws_in_words(verdict)}."
    )
    named = f"{both(verdict.chosen.ball_travel, 'length')}{shims_placed(verdict.chosen)}"
    several = len(verdict.prospects) > 1
    start = f"Travel {named}:" if several else f"Travel {named}, the only one; {draws_in_words(verdict)}."
    start = f"Any travel does; the shortest is named: {named}. It" if several and verdict.all_equal else start
    first = f"{start} {gives_up}" if several else start
    return [first, f"{_chance(scenario, verdict, promise)} {_delivers(promise)}"]


def why_none(verdict: "Verdict", nothing_pumps: str) -> str:
    """Why no arrangement is named."""
    if not verdict.prospects:
        return "No draw makes a possible lower, so none is named"
    pumps = max(prospect.delivery_95 for prospect in verdict.prospects) >= NO_DELIVERY
    if pumps or min(prospect.chance.get("feed", 1.0) for prospect in verdict.prospects) < 1.0:
        through = "The feed runs through at the likely values, for its pressure is above the outlet's"
        return f"{through}: no arrangement is named"
    return f"{nothing_pumps}, so none is named"


def draws_in_words(verdict: "Verdict") -> str:
    if verdict.early:
        return f"stopped after {verdict.draws} draws, because all travels are equal; seed {verdict.seed}"
    return f"{verdict.draws} draws, seed {verdict.seed}"


def shims_placed(choice: "Choice") -> str:
    """``, shims 2+3 below the cage, 1 above``; nothing where there are no shims."""
    below, above = choice.shims_below, choice.shims_above
    if not below and not above:
        return ""
    first = f"shim{'s' * (len(below) > 1)} {shim_names(below)}" if below else "no shim"
    return f", {first} below the cage, {shim_names(above)} above"


def _targets_set(scenario: Scenario) -> dict[str, bool]:
    """Of each target of the table [target], whether somebody set it."""
    asked = asked_of(scenario)
    return {
        "fill": not is_default(scenario, "fill"),
        "landing": not is_default(scenario, "landing"),
        "delivery": asked.delivery > 0.0,
    }


def _chance(scenario: Scenario, verdict: "Verdict", promise: "Prospect") -> str:
    chance = promise.chance[ALL]
    low, high = interval(chance, promise.chance_error, verdict.counted)
    what = "Targets met" if any(_targets_set(scenario).values()) else "You set no target; it pumps"
    text = f"{what} in {of_hundred(chance)} of 100 ({100.0 * low:.0f} to {100.0 * high:.0f})"
    missing = 1.0 - verdict.any_meets
    text += f", in {of_hundred(missing)} by no travel" if missing > 0.0 else ""
    return f"{text}{INLET_ALONE if _targets_set(scenario)['landing'] else ''}."


def _delivers(promise: "Prospect") -> str:
    """Whole percents, unless the draws differ by less than those tell."""
    shares = (promise.delivery_50, promise.delivery_5, promise.delivery_95)
    digits = 2 if promise.delivery_95 - promise.delivery_5 > COARSE else 3
    middle, low, high = (number(100.0 * share, digits) for share in shares)
    return f"Delivers {middle} % ({low} to {high} in 90 of 100)."


# --- every arrangement

_TARGET_WORDS = {"pumping": "pumps", ALL: "all"}

_MET = """\
met: draws in which a target is met (all: every one; landing: that of the inlet ball, for no shim changes how
the piston ball lands); """

_NOT_SET = " You set no target, so none is counted here; `limits` counts the default ones."

_NOTE = f"""\
Each draw is a lower and a material as they may be. *: named above; now: the travel set in the scenario. Of
100 draws: {{met}}best: in which no travel delivers more, within
{100.0 * EQUAL_DELIVERY:g} % of swept; avoidable: in which it misses a target that another meets. deliv.: what
5, 50 and 95 of 100 draws stay below; gives up: what it delivers less than the best travel of the same draw,
no more in 95 of 100; both over swept. Given up on average: the same, and {100.0 * MISS:g} % for each
avoidable miss. In brackets behind a number of draws: its 95 % interval (sampling error)."""


def shown_targets(scenario: Scenario, verdict: "Verdict") -> list[str]:
    """The targets that have a column: those that were set, what is missed though nobody need set it, and all
    together where one was set and that says more."""
    chances = [prospect.chance for prospect in verdict.prospects]
    names = [name for name in (chances[0] if chances else {}) if name != ALL]
    is_set = _targets_set(scenario)
    missed_by_any = {name: any(chance[name] < 1.0 for chance in chances) for name in names}
    kept = [name for name in names if is_set.get(name, False) or (name not in is_set and missed_by_any[name])]
    if not targets_are_set(scenario):
        return kept
    return kept if len(kept) == 1 and all(c[kept[0]] == c[ALL] for c in chances) else [*kept, ALL]


def _prospect_row(
    scenario: Scenario, verdict: "Verdict", prospect: "Prospect", targets: Sequence[str]
) -> list[str]:
    choice = prospect.choice
    now = math.isclose(choice.ball_travel, scenario.inlet_travel, rel_tol=1e-9)
    deliveries = (prospect.delivery_5, prospect.delivery_50, prospect.delivery_95)
    return [
        " ".join(["*"] * (choice == verdict.chosen) + ["now"] * now),
        shim_names(choice.shims_below),
        fixed(choice.ball_travel, "length", "mm", 2),
        *(of_hundred(prospect.chance[name]) for name in targets),
        *(f"{100.0 * share:.1f}" for share in deliveries),
        of_hundred(prospect.best),
        f"{100.0 * prospect.regret_95:.1f}",
        of_hundred(prospect.avoidable),
    ]


def _prospect_table(scenario: Scenario, verdict: "Verdict") -> str:
    """A line an arrangement."""
    targets = shown_targets(scenario, verdict)
    words = [_TARGET_WORDS.get(name, name) for name in targets]
    heads = [
        *(("", "", ""), ("", "shims", "below"), ("ball", "travel", unit_in_use("mm"))),
        *(("met", word, "/100") for word in words),
        *(("deliv.", "%", place) for place in ("5/100", "50/100", "95/100")),
        *(("", "best", "/100"), ("gives", "up %", "95/100"), ("avoid-", "able", "/100")),
    ]
    over, names, units = ([head[i] for head in heads] for i in range(3))
    rows = [_prospect_row(scenario, verdict, prospect, targets) for prospect in verdict.prospects]
    return table(over, [names, units, *rows], range(2, len(heads)), named=3, ruled_after=2)


def targets_are_set(scenario: Scenario) -> bool:
    """Whether somebody set a target: without one no column says how often all are met."""
    return any(_targets_set(scenario).values())


def left_out(verdict: "Verdict") -> list[str]:
    """Draws that say less than the others."""
    lines = []
    if verdict.impossible:
        what = "are of a lower that cannot be (a ball that falls through its seat) and are left out"
        lines.append(f"{verdict.impossible} of {verdict.draws} draws {what}.")
    if verdict.refused:
        what = "are refused (a material, a size or a state that the model does not know): targets not met"
        lines.append(f"{verdict.refused} of {verdict.draws} draws {what}.")
    failed = max((prospect.failed for prospect in verdict.prospects), default=0.0)
    if failed:
        lines.append(f"Runs that failed, at most {of_hundred(failed)} of 100, count as targets not met.")
    return lines


# --- what was not known


def input_lines(verdict: "Verdict") -> list[str]:
    """A table of what was not known, what decides first."""
    if not verdict.inputs:
        return ["", "What was not known: nothing; every value was given exactly."]
    order = [known.key for known in verdict.deciding]
    whole = [given.key.partition("[")[0] for given in verdict.inputs]  # of all readings of a material
    places = [order.index(key) if key in order else len(order) for key in whole]
    ranked = [verdict.inputs[i] for i in sorted(range(len(places)), key=places.__getitem__)]
    rows = [row for given in ranked[:MOST_INPUTS] for row in _input_rows(given)]
    more = len(ranked) - MOST_INPUTS
    head = ["What was not known", "5 %", "50 %", "95 %", "range from"]
    lines = ["", table(head, rows, (1, 2, 3))]
    return [*lines, f"and {more} more (--json has all)"] if more > 0 else lines


def _input_rows(given: "Input") -> list[list[str]]:
    """A row, and those that hold the rest of a long name."""
    first, *rest = textwrap.wrap(plain(given.name), WIDEST_NAME) or [""]
    values = [
        value if isinstance(value, str) else bench(value, given.dimension, 3)
        for value in (given.low, given.middle, given.high)
    ]
    return [
        [first, *map(plain, values), plain(prose(given.origin) or IN_THE_FILE)],
        *([part, *[""] * 4] for part in rest),
    ]


# --- the page


def to_write(scenario: Scenario, choice: "Choice | None") -> list[str]:
    """What to write into the file once the shims are moved; nothing where they lie so already."""
    if choice is None or sorted(choice.shims_below) == sorted(scenario.shims.below):
        return []
    below = ", ".join(map(str, choice.shims_below))
    advice = f"Once the shims lie so, write below = [{below}] under [shims] in the file: every command"
    return [filled(f"{advice} takes the lower from there."), ""]


def note_of(scenario: Scenario, targets: Sequence[str]) -> str:
    """What the columns mean, those of targets where there are such."""
    return _NOTE.format(met=_MET if targets else "") + ("" if targets_are_set(scenario) else _NOT_SET)


def why_named(verdict: "Verdict", alone: "Choice | None" = None) -> list[str]:
    """Why this travel: what it costs in its worse half of the draws, and so the ones beside it and the one
    that a single run names; nothing where none is named or nothing tells them apart."""
    choices = [prospect.choice for prospect in verdict.prospects]
    if verdict.chosen is None or verdict.chosen not in choices or verdict.all_equal or len(choices) < 2:
        return []
    place = choices.index(verdict.chosen)
    told = [k for k, choice in enumerate(choices) if abs(k - place) == 1 or (choice == alone and k != place)]
    cost = [100.0 * prospect.worse_half for prospect in verdict.prospects]
    others = ", ".join(f"{travel_of(choices[k])} {cost[k]:.2f} %" for k in told)
    rank = "the least of all" if cost[place] <= min(cost) else "next to nothing, and none shorter does so"
    return [
        f"Why {travel_of(verdict.chosen)}: in the half of the draws where it does worst, it gives up "
        f"{cost[place]:.2f} % of swept on average, {rank} ({others}, each in its own worst half)."
    ]


def named_alone(recommendation: "Recommendation") -> "Choice | None":
    """What a single run names, or what comes nearest in it."""
    return recommendation.recommended or recommendation.best_available


def is_overruled(verdict: "Verdict | None", recommendation: "Recommendation") -> bool:
    """Whether a single run names another travel than the verdict."""
    alone = named_alone(recommendation)
    return verdict is not None and alone is not None and alone != verdict.chosen


def single_run_head(verdict: "Verdict", recommendation: "Recommendation") -> str:
    """Head of the single run, with its travel where that is another."""
    alone = named_alone(recommendation)
    if alone is None or not is_overruled(verdict, recommendation):
        return "At the likely values:"
    return f"At the likely values (one run, which alone would name {travel_of(alone)}; the verdict counts):"


def verdict_text(scenario: Scenario, answer: "Answer") -> str:
    """The verdict, every arrangement, what was not known, and the single run at the likely values."""
    verdict, recommendation = answer.verdict, answer.recommendation
    if verdict is None:
        return recommendation_text(scenario, recommendation)
    further = verdict.measurements[1 : 1 + MOST_FURTHER]
    return "\n".join(
        [
            *verdict_lines(scenario, verdict),
            *(filled(line, "", "  ") for line in why_named(verdict, named_alone(recommendation))),
            "",
            _prospect_table(scenario, verdict),
            "",
            filled(" ".join([note_of(scenario, shown_targets(scenario, verdict)), *left_out(verdict)])),
            *bullets("Also worth measuring", [measurement_in_words(m, verdict.regret_mean) for m in further]),
            *input_lines(verdict),
            "",
            *to_write(scenario, verdict.chosen),
            single_run_head(verdict, recommendation),
            "",
            recommendation_text(scenario, recommendation, is_overruled(verdict, recommendation)),
        ]
    )
