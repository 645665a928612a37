"""The job card in words: what to set first, then what to expect, how surely, and what to watch."""

import math
from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from balltravel import __version__
from balltravel.report.tables import (
    bench,
    both,
    conditions,
    number,
    plain,
    shim_names,
    shims_in_words,
    travel_set,
    viscosity_stated,
)
from balltravel.report.text.card.fixed import BACK, CAUTIONS, blanks
from balltravel.report.text.card.record import Card
from balltravel.report.text.card.watch import watch_list
from balltravel.report.text.recommend import recommended_word
from balltravel.report.text.verdict import draws_in_words, interval, verdict_sentences
from balltravel.report.worth_knowing import of_hundred
from balltravel.scenario.model import Scenario, with_shims_below
from balltravel.study.limits.job import RATE, TEMPERATURE, VISCOSITY, meets, named_choice
from balltravel.study.travel.trials import Choice
from balltravel.units import from_si
from balltravel.units.systems import BOTH, US, in_use

if TYPE_CHECKING:
    from balltravel.study.limits.find import Limit
    from balltravel.study.limits.job import Job
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.verdict.record import Verdict

COMPUTED = "Computed, and not yet compared with any pump: what you measure counts for more."

MOST_REASONS = 2
"""Sentences against an arrangement that a card has where nothing was drawn."""


def card_of(scenario: Scenario, recommendation: "Recommendation", today: date | None = None) -> Card:
    """The card of an answer, in the units in use; its numbers are those of ``recommendation.job``."""
    choice, job = named_choice(recommendation), recommendation.job
    trial = next((trial for trial in recommendation.arrangements if trial.choice == choice), None)
    verdict = recommendation.verdict
    told = _at_exact_values(recommendation) if verdict is None else _how_sure(scenario, verdict)
    caption = "To scale, but for walls and stop."
    if choice is None:
        caption = f"As it is now. {caption}"
    elif not meets(recommendation):
        caption = f"The nearest to the targets, not recommended. {caption}"
    return Card(
        title=plain(scenario.title),
        job=conditions(scenario),
        headline=_headline(recommendation, choice),
        steps=tuple(_steps(scenario, recommendation, choice)),
        drawn=_drawn(scenario, choice),
        caption=caption,
        numbers=() if job is None else tuple(_numbers(job, viscosity_stated(scenario.material))),
        verdict=(*map(plain, told), COMPUTED),
        watch=watch_list(scenario, trial),
        blanks=blanks(),
        cautions=CAUTIONS,
        shims=tuple(_places(scenario, recommendation, choice)),
        back=BACK,
        foot=f"balltravel {__version__}, {today or date.today()}",
    )


def _how_sure(scenario: Scenario, verdict: "Verdict") -> list[str]:
    """The verdict with its first sentence in two: how often this travel is right, before anything else, and
    what that means."""
    told = verdict_sentences(scenario, verdict)
    if verdict.chosen is None or len(verdict.prospects) < 2 or verdict.all_equal or len(told) > 4:
        return told
    low, high = interval(verdict.holds, verdict.holds_error, verdict.counted)
    misses = ", and misses no target that another meets" if " misses " in told[0] else ""
    return [
        f"Right in {of_hundred(verdict.holds)} of 100 ({100.0 * low:.0f} to {100.0 * high:.0f}), if your "
        "ranges are right.",
        f"Right: it gives up at most {number(100.0 * verdict.within, 2)} % of swept against the best "
        f"travel{misses}. {_capital(draws_in_words(verdict))}.",
        *told[1:],
    ]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _drawn(scenario: Scenario, choice: "Choice | None") -> "tuple[Scenario, Choice]":
    """What the section shows: where none is named, the lower as it is."""
    if choice is not None:
        return with_shims_below(scenario, choice.shims_below), choice
    below = tuple(sorted(scenario.shims.below))
    rest = (n for n in range(1, len(scenario.shims.thicknesses) + 1) if n not in below)
    return scenario, Choice(below, tuple(rest), scenario.inlet_travel)


def _headline(recommendation: "Recommendation", choice: "Choice | None") -> str:
    if choice is None or not meets(recommendation):
        return "No travel meets the targets"
    if not choice.shims_below and not choice.shims_above:
        return f"Ball travel {both(choice.ball_travel, 'length')}"
    below, above = shim_names(choice.shims_below), shim_names(choice.shims_above)
    return f"Shims below: {below}, above: {above}"


def _steps(scenario: Scenario, recommendation: "Recommendation", choice: "Choice | None") -> Iterator[str]:
    """Where the shims go, and how many there are."""
    thick, is_met = scenario.shims.thicknesses, meets(recommendation)
    if choice is None or not is_met:
        yield "Leave the shims until something else is changed: `balltravel limits` shows what helps."
        yield f"Now: {travel_set(scenario)}."
    if choice is None:
        return
    below, above = (shims_in_words(thick, shims) for shims in (choice.shims_below, choice.shims_above))
    if not is_met:
        yield f"Nearest: ball travel {both(choice.ball_travel, 'length')}, {below} below, {above} above."
    elif thick:
        yield f"BELOW the cage: {below}"
        yield f"ABOVE the cage: {above}"
        yield f"{len(thick)} shims came out, {len(thick)} go back in: count them."
    else:
        yield "No shims in the file: the travel is that of seat and cage."


def _places(
    scenario: Scenario, recommendation: "Recommendation", choice: "Choice | None"
) -> Iterator[tuple[str, str]]:
    """Each shim and where it goes; of a lower that is left as it is, where it is."""
    named = choice is not None and meets(recommendation)
    below = choice.shims_below if named and choice is not None else scenario.shims.below
    for n in range(1, len(scenario.shims.thicknesses) + 1):
        size = shims_in_words(scenario.shims.thicknesses, (n,))
        yield size, "below" if n in below else "above"


def _numbers(job: "Job", stated: str) -> Iterator[tuple[str, str]]:
    yield "Ball travel", both(job.choice.ball_travel, "length")
    rate = f"{number(from_si(job.cycle_rate, 'frequency', '/min'), 3)} /min"
    yield "Cycle rate", rate
    drawn = job.delivered[0] < job.delivered[2]
    yield "Delivers a cycle", f"{bench(job.delivered[1], 'volume', 3)}{_band(job.delivered, 'cc', drawn)}"
    if in_use.get() != US:
        yield "Cycles a litre", _cycles(job.cycles_per_litre, drawn)
    if in_use.get() in (US, BOTH):
        gallon = from_si(1.0, "volume", "US gal") / from_si(1.0, "volume", "l")
        low, middle, high = (count / gallon for count in job.cycles_per_litre)
        yield "Cycles a US gallon", _cycles((low, middle, high), drawn)
    yield "Delivers", both(job.flow[1], "flow", 3)
    limits = {limit.key: limit for limit in job.limits}
    for key, (label, _) in LIMIT_ROWS.items():
        if key in limits:
            yield limit_name(limits[key], stated), limit_words(limits[key], job)
        elif key in job.not_searched:
            yield label, f"cannot be said: {job.not_searched[key]}"


LIMIT_ROWS = {
    RATE: ("Highest rate", "Lowest rate"),
    TEMPERATURE: ("Lowest temperature", "Highest temperature"),
    VISCOSITY: ("Thickest material", "Thinnest material"),
}
"""What a limit is called, and what where its other end was found."""


def limit_name(limit: "Limit", stated: str = "") -> str:
    """What a limit is called: the end towards what is harder on a lower. It is the other one where the
    targets are missed and only what is harder mends that, as a leak takes less of a faster or thicker job.
    ``stated``: where a viscosity holds, ``at 10 1/s``."""
    usual, other = LIMIT_ROWS[limit.key]
    name = usual if limit.holds is None or limit.at_most == (limit.key != TEMPERATURE) else other
    return f"{name} ({stated})" if stated and limit.key == VISCOSITY else name


def _band(delivered: "tuple[float, float, float]", unit: str, drawn: bool) -> str:
    low, _, high = (from_si(volume, "volume", unit) for volume in delivered)
    return _span(low, high, drawn)


def _cycles(counts: "tuple[float, float, float]", drawn: bool) -> str:
    """Cycles for a volume; where as good as nothing is delivered in some of the draws, there is no most."""
    low, middle, high = counts
    if math.isnan(low):
        return "no count: it delivers as good as nothing"
    if math.isnan(middle):
        return f"{number(low, 3)} or more; in half of the draws it delivers as good as nothing"
    if math.isnan(high):
        return f"{number(middle, 3)} ({number(low, 3)} or more in 95 of 100, in some without end)"
    return f"{number(middle, 3)}{_span(low, high, drawn)}"


def _span(low: float, high: float, drawn: bool) -> str:
    return f" ({number(low, 3)} to {number(high, 3)} in 90 of 100)" if drawn else ""


def limit_words(limit: "Limit", job: "Job") -> str:
    """The value at which the targets hold, in 95 of 100 draws where it was asked."""
    if limit.holds is None:
        end = limit_shown(limit, limit.searched.value)
        if limit.meets_now:
            return f"no limit found up to {end}" if limit.upward else f"no limit found down to {end}"
        return f"none holds, searched to {end} (misses {' and '.join(limit.searched.targets)})"
    holds = limit_shown(limit, limit.holds.value)
    if job.chance is None:
        return f"{holds} at the likely values"
    if limit.holds_in_95 is not None:
        return f"{limit_shown(limit, limit.holds_in_95)} in 95 of 100 ({holds} at the likely values)"
    now = f": as it is, in {of_hundred(limit.chance_now)}" if limit.chance_now is not None else ""
    return f"{holds} at the likely values; none meets the targets in 95 of 100{now}"


def limit_shown(limit: "Limit", value: float) -> str:
    """A value in the input's unit; a factor as the viscosity that it makes."""
    if limit.key != VISCOSITY:
        return both(value, "temperature" if limit.key == TEMPERATURE else "frequency", 3)
    tried = limit.holds or limit.searched
    return both(tried.viscosity * value / tried.value, "viscosity", 3)


def _at_exact_values(recommendation: "Recommendation") -> list[str]:
    """What the run at exact values says, without chances."""
    lines = ["Every value was taken as exact: nothing is said of chances."]
    if recommendation.recommended is not None:
        lines = [f"{recommended_word(recommendation)}. {lines[0]}"]
    told = (*recommendation.reservations, *recommendation.reasons)
    return [*lines, *told[:MOST_REASONS]]
