"""What else would help, as plain text: the limits of each arrangement in a table, and what matters most."""

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from balltravel.report.tables import (
    bench,
    bullets,
    conditions,
    filled,
    number,
    plain,
    shims_in_words,
    table,
)
from balltravel.report.text.recommend import targets_in_words
from balltravel.scenario.model import FIELDS, Scenario, Target, quantity_of
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.verdict.inputs import inputs_of
from balltravel.units import from_si, to_text
from balltravel.units.display import against, fixed
from balltravel.units.printable import WIDTH
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.study.limits.find import ArrangementLimits, Limit, LimitsReport
    from balltravel.study.limits.sensitivities import Change, Effect, Sensitivities
    from balltravel.study.limits.tried import TriedValue

_NOTE = """\
Each input is varied alone, all others held, within what a shop can do (docs/results.md has the ranges).
Shown is the first value, starting from now, at which the targets stop or start holding; every value was
run as written, to three digits (the cage's bore to four), and the next value beyond it misses what
stands in brackets."""

_MARKS = """\
!: raises pressure, temperature or speed: never above the rating of the lowest rated part of the system.
?: an indication only, outside the validated range. ~: near this value the result, or the cycle itself,
scatters."""

_DRAWN = """\
In 95 of 100: the farthest value at which the targets hold in 95 of 100 of {draws} draws of all else that is
not known (`check` lists it), to a sixteenth of the way; other draws (--seed) may move it a little. Inputs
without a limit are not drawn, nor are pairs and what matters most."""

LATE_SEATING_INPUTS = ("inlet_check.ball_density", "inlet_check.spring_preload")
"""Inputs that decide when the ball seats."""

_ALL_HOLD = "All targets hold (landing: that of the inlet ball)"

_VERDICT_COUNTS = " Over all that is not known `recommend` may name another travel; its verdict counts."

MOST_SENTENCES = 3
"""Inputs that matter most, a sentence each."""


def limits_text(scenario: Scenario, report: "LimitsReport") -> str:
    """All limits and effects."""
    lines = [plain(scenario.title), filled(conditions(scenario)), filled(targets_in_words(scenario))]
    names = _names(scenario)
    for arrangement in report.arrangements:
        over = _over_draws(arrangement, scenario.target) if report.draws else []
        lines += ["", *_arrangement(arrangement, scenario, names, over)]
    was_drawn = any(arrangement.chance is not None for arrangement in report.arrangements)
    drawn = [filled(_DRAWN.format(draws=report.draws))] if was_drawn else []
    lines += ["", filled(_NOTE), *drawn, filled(_MARKS), *_held(report), *_beyond_shop(report)]
    lines += _effects(report.sensitivities, report.arrangements[-1])
    return "\n".join(lines)


def _names(scenario: Scenario) -> dict[str, str]:
    """What an arrangement is called. Where something is not known, one run at the likely values recommends
    nothing: the verdict of `recommend` counts."""
    names = {"now": "as it is now", "recommended": "recommended", "nearest": "nearest to the targets"}
    if inputs_of(scenario, spreads_of(scenario)).drawn:
        names |= {
            "recommended": "what one run at the likely values names",
            "nearest": "what comes nearest to the targets in one run at the likely values",
        }
    return names


def _beyond_shop(report: "LimitsReport") -> list[str]:
    """What was not searched, and why."""
    outside = "; ".join(report.beyond_shop)
    return [filled(f"Not searched, as it is outside what a shop can do: {outside}.")] if outside else []


def _held(report: "LimitsReport") -> list[str]:
    """That the vapour pressure does not follow a temperature."""
    if report.held_vapour_pressure is None:
        return []
    held = to_text(report.held_vapour_pressure, "pressure")
    return [
        filled(
            f"The vapour pressure is held at {held} while a temperature is varied, as the scenario gives a "
            "number; with material.solvent instead it follows."
        )
    ]


def _over_draws(arrangement: "ArrangementLimits", target: Target) -> list[str]:
    """How often the targets hold over all that is not known."""
    if arrangement.chance is None:
        slow = "a run of this lower takes too long (its cycle rate is sought, or its cycle repeats late)"
        return [f"What is not known was not drawn, for {slow}: all limits are those at the likely values."]
    unset = target.is_default("fill_fraction") and target.is_default("landing_speed") and not target.delivery
    which = "default targets" if unset else "targets"
    hold = f"all {which} hold" if arrangement.here.missed else "they hold"
    text = f"Over what is not known {hold} in {100.0 * arrangement.chance:.0f} of 100 draws."
    if not arrangement.here.missed:
        text = f"At the likely values the {which} hold. {text}"
    if any(limit.holds is not None and limit.holds_in_95 is None for limit in arrangement.limits):
        text += (
            " Rows with - have no value at which they hold in 95 of 100; in brackets is in how many they do"
            " now, the row's own input known."
        )
    return [text]


def _arrangement(
    arrangement: "ArrangementLimits", scenario: Scenario, words: Mapping[str, str], over: Sequence[str]
) -> list[str]:
    target = scenario.target
    travel = bench(arrangement.choice.ball_travel, "length")
    shims = f"{shims_in_words(scenario.shims.thicknesses, arrangement.choice.shims_below)} below the cage"
    names = " and ".join(words[name] for name in arrangement.names)
    numbers = _numbers(arrangement.here)
    head = f"{names[0].upper()}{names[1:]}: ball travel {travel}, {shims}; {numbers}."
    if words["recommended"] != "recommended" and arrangement.names != ("now",):
        head += _VERDICT_COUNTS
    missed = "; ".join(text.replace("(default target", "(target") for text in arrangement.here.missed)
    limits = [limit for limit in arrangement.limits if limit.holds is not None]
    intro = f"Missed: {missed}. Each of these alone would make all targets hold:"
    if not missed:
        intro = f"{_ALL_HOLD}; each of these alone may go this far:"
    if not limits:
        intro = f"Missed: {missed}." if missed else f"{_ALL_HOLD}."
    if limits and arrangement.settings:
        intro = f"{intro.removesuffix(':')} (to try them, add {settings_text(arrangement.settings)}):"
    drawn = arrangement.chance is not None
    shown = _table(limits, arrangement.here.viscosity, target, drawn) if limits else []
    also = bullets("Also", _rest(arrangement, target))
    decides = [*bullets("What decides", arrangement.warnings), ""] if arrangement.warnings else []
    return [filled(head), *map(filled, over), *decides, filled(intro), *shown, *_pairs(arrangement), *also]


def _numbers(point: "TriedValue") -> str:
    if point.fill is None or point.delivery is None or point.landing is None:
        return "; ".join(point.missed)
    note = ", an indication only" if point.indication else ""
    return (
        f"fill {100.0 * point.fill:.1f} %, deliv. {100.0 * point.delivery:.1f} %, "
        f"landing {fixed(point.landing, 'velocity', 'm/s', 2)} {unit_in_use('m/s')}{note}"
    )


def _shown(limit: "Limit", value: float, viscosity: float) -> str:
    """A value in the input's unit; a factor as the viscosity [Pa s], which is what one knows."""
    if limit.key == "material.viscosity_factor":
        return bench(viscosity, "viscosity")
    return in_unit(limit.key, value, limit.unit)


def in_unit(key: str, value: float, unit: str) -> str:
    """A value [SI] of a key in a unit: ``34.5 /min``."""
    quantity = quantity_of(FIELDS[key])
    assert quantity is not None
    return f"{number(from_si(value, quantity.dimension, unit) if unit else value)} {unit}".strip()


def _table(limits: "list[Limit]", viscosity: float, target: Target, drawn: bool) -> list[str]:
    """A line a limit, and below it what to give to --set."""
    rows = [_row(limit, viscosity, target) for limit in limits]
    columns = ["", "input", "now", "targets hold", "fill", "deliv.", "landing"]
    units = ["", "", "", "", "%", "%", unit_in_use("m/s")]
    if drawn:
        columns, units = [*columns[:4], "in 95 of 100", *columns[4:]], [*units[:4], "", *units[4:]]
        rows = [(*row[:4], in_95(limit), *row[4:]) for limit, row in zip(limits, rows, strict=True)]
    numbers = range(len(columns) - 3, len(columns))
    head, rule, under, *lines = table(columns, [units, *rows], numbers).split("\n")
    shown = ["", head, under, rule]
    for limit, line in zip(limits, lines, strict=True):
        shown += [line, *_to_try(limit, target)]
    return shown


def in_95(limit: "Limit") -> str:
    """The value at which the targets hold in 95 of 100 draws, or in how many they do now: ``- (82)``."""
    holds = limit.holds
    if holds is None:
        return ""
    if limit.holds_in_95 is not None:
        viscosity = holds.viscosity * limit.holds_in_95 / holds.value if holds.value else holds.viscosity
        return _shown(limit, limit.holds_in_95, viscosity)
    return "-" if limit.chance_now is None else f"- ({100.0 * limit.chance_now:.0f})"


def _row(limit: "Limit", viscosity: float, target: Target) -> tuple[str, ...]:
    holds = limit.holds
    assert holds is not None
    word = "at most" if limit.at_most else "at least"
    marks = "!" * bool(holds.raises) + "?" * holds.indication + "~" * limit.scatters
    missed = limit.beyond.targets if limit.beyond else ()
    numbers = (_side(name, holds, name in missed, target) for name in METRICS)
    bound = f"{word} {_shown(limit, holds.value, holds.viscosity)}"
    return (marks, limit.words, _shown(limit, limit.now, viscosity), bound, *numbers)


METRICS = {
    "fill": ("fill", "fraction", 1, "%"),
    "delivery": ("deliv.", "fraction", 1, "%"),
    "landing": ("landing", "velocity", 2, "m/s"),
}
"""Of a value that was tried: its name in print, dimension, decimals and metric unit."""


def _side(name: str, point: "TriedValue", missed: bool, target: Target) -> str:
    """A number of a value that was tried; of a target that is missed near it with as many decimals as show on
    which side of the target it lies."""
    value, (_, dimension, decimals, unit) = getattr(point, name), METRICS[name]
    if value is None:
        return "-"
    wanted = {"fill": target.fill_fraction, "delivery": target.delivery, "landing": target.landing_speed}
    if missed:
        return against(value, wanted[name], dimension, unit, decimals)[0]
    return fixed(value, dimension, unit, decimals)


def _misses(point: "TriedValue", target: Target) -> str:
    """What a value beyond misses: ``fill 89.97 %``."""
    words = []
    for name, text in zip(point.targets, point.missed, strict=True):
        label, _, _, unit = METRICS.get(name, ("", "", 0, ""))
        known = f"{label} {_side(name, point, True, target)} {unit_in_use(unit)}" if label else ""
        words.append(known or without_target(text))
    return ", ".join(words)


def without_target(text: str) -> str:
    """What is missed without the target, which stands at the head: ``fill 75 % (default target 90 %)``."""
    return re.sub(r" \((default )?target [^()]*\)$", "", text)


def _to_try(limit: "Limit", target: Target) -> list[str]:
    """What to give to --set, what the value beyond misses, and the next size that exists."""
    holds = limit.holds
    assert holds is not None
    beyond = f"(beyond: {_misses(limit.beyond, target)})" if limit.beyond else ""
    lines = _parts([settings_text(holds.settings), beyond])
    if limit.size is not None:
        tried = limit.size.tried
        mark = "! " if tried.raises and not holds.raises else ""
        lines += _parts(
            [f"{mark}next size: {limit.size.name}:", settings_text(tried.settings), f"({_numbers(tried)})"]
        )
    return lines


def settings_text(settings: tuple[str, ...]) -> str:
    """What one types: ``--set "drive.cycle_rate=29.2 /min"``."""
    return " ".join(f'--set "{setting}"' for setting in settings)


def _parts(parts: list[str]) -> list[str]:
    """Parts in lines of at most WIDTH columns, none of them broken."""
    lines: list[str] = []
    for part in filter(None, parts):
        if lines and len(lines[-1]) + 2 + len(part) <= WIDTH:
            lines[-1] += f"  {part}"
        else:
            lines.append(f"{INDENT}{part}")
    return lines


INDENT = "       "


def _rest(arrangement: "ArrangementLimits", target: Target) -> list[str]:
    """Inputs without a limit in their range, and what to beware of."""
    lines = [*_without_limit(arrangement), *_unfinished(arrangement)]
    late = any(limit.key in LATE_SEATING_INPUTS for limit in arrangement.limits)
    if late and not target.delivery:
        lines.append(
            "A ball that seats late costs delivery, but no delivery target is set: with target.delivery, "
            "springs and balls are judged by delivery too."
        )
    failed = {limit.words: limit.failed_runs for limit in arrangement.limits if limit.failed_runs}
    if failed:
        each = ", ".join(f"{words} {count}" for words, count in failed.items())
        lines.append(f"Runs that failed count as missing the targets: {each}.")
    scattering = [limit.words for limit in arrangement.limits if limit.scatters]
    if scattering:
        lines.append(
            "Near the limit the targets hold at some values and not at others, or the cycle does not repeat "
            f"(a bouncing ball does this); keep well clear of it: {', '.join(dict.fromkeys(scattering))}."
        )
    return lines


def _without_limit(arrangement: "ArrangementLimits") -> list[str]:
    """How far inputs were varied where nothing changes, and what that gave: delivery where all targets hold,
    else what is missed."""
    met = not arrangement.here.missed
    without: dict[str, list[str]] = {}
    for limit in arrangement.limits:
        if limit.holds is None and not limit.unfinished:
            searched = limit.searched
            gives = ", ".join(map(without_target, searched.missed))
            if not gives and searched.delivery is not None:
                gives = f"deliv. {round(100.0 * searched.delivery, 1) + 0.0:.1f} %"
            word = "up to" if limit.upward else "down to"
            end = f"{word} {_shown(limit, searched.value, searched.viscosity)} ({gives})"
            without.setdefault(limit.words, []).append(end)
    spans = [f"{words} {', '.join(ends)}" for words, ends in without.items()]
    head = "No limit within what a shop can do" if met else "No help alone within what a shop can do"
    return [f"{head}: {'; '.join(spans)}."] if spans else []


def _pairs(arrangement: "ArrangementLimits") -> list[str]:
    """Two inputs that help together, and everything to give to --set."""
    search = arrangement.pairs
    if search is None or len(search.combined) < 2:
        return []
    pair = search.least
    if pair is None:
        inputs = ", ".join(search.combined)
        none = f"No two of these help together either, each where it misses least alone: {inputs}."
        return ["", filled(none)]
    changes = (
        f"{words} {number(now)} -> {number(value)} {unit}".strip()
        for words, unit, now, value in zip(pair.words, pair.units, pair.now, pair.values, strict=True)
    )
    mark = "! " if pair.holds.raises else ""
    head = f"{mark}Two together make all targets hold where none does alone: {' and '.join(changes)}:"
    to_type = [settings_text(settings) for settings in (arrangement.settings, pair.holds.settings)]
    return ["", filled(head), *_parts([*to_type, f"({_numbers(pair.holds)})"])]


def _unfinished(arrangement: "ArrangementLimits") -> list[str]:
    """Inputs whose search ended before its end."""
    places = []
    for limit in arrangement.limits:
        if not limit.unfinished:
            continue
        if limit.holds is None or limit.beyond is None:
            end = f"only {'up' if limit.upward else 'down'} to"
            shown = _shown(limit, limit.searched.value, limit.searched.viscosity)
            places.append(f"{limit.words} {end} {shown} (no change)")
        else:
            ends = sorted((limit.holds, limit.beyond), key=lambda point: point.value)
            low, high = (_shown(limit, point.value, point.viscosity) for point in ends)
            places.append(f"{limit.words} (the limit lies between {low} and {high})")
    if not places:
        return []
    return [f"Not searched to the end, for runs whose cycle does not repeat take long: {', '.join(places)}."]


def _effects(sensitivities: "Sensitivities", arrangement: "ArrangementLimits") -> list[str]:
    head = f"What matters most, at a ball travel of {bench(arrangement.choice.ball_travel, 'length')}"
    if sensitivities.fill is None:
        return bullets(head, ["Not known: the run failed."])
    floor = f"{100.0 * sensitivities.accuracy:.2g} % of swept"
    large = [effect for effect in sensitivities.effects if sensitivities.is_significant(effect)]
    if not large:
        none = f"Nothing: no input alone changes fill or delivery by more than {floor} or its own scatter."
        return bullets(head, [none])
    rows = [(effect.words, effect.step, *_cells(effect.less), *_cells(effect.more)) for effect in large]
    columns = ("input", "step", "less: fill", "deliv.", "more: fill", "deliv.")
    lines = ["", f"{head} (change of fill and delivery, % of swept):", ""]
    lines.append(table(columns, rows, range(2, 6)))
    small = [effect.words for effect in sensitivities.effects if effect not in large]
    sentences = [_sentence(effect, rank) for rank, effect in enumerate(large[:MOST_SENTENCES])]
    if small:
        sentences.append(f"Less than {floor}, or than their own scatter: {', '.join(small)}.")
    return [*lines, *bullets("In words", sentences)]


def _cells(change: "Change | None") -> tuple[str, str]:
    if change is None:
        return "", ""
    if change.fill is None or change.delivery is None:
        return "-", "-"
    return f"{100.0 * change.fill:+.1f}", f"{100.0 * change.delivery:+.1f}"


def _sentence(effect: "Effect", rank: int) -> str:
    """``The hose's bore matters most: 10 % narrower costs 3.1 % of swept.``"""
    both = [change for change in (effect.less, effect.more) if change is not None and change.size > 0.0]
    worst = max(both, key=lambda change: change.size)
    fill, delivery = worst.fill or 0.0, worst.delivery or 0.0
    first = abs(delivery) >= abs(fill)
    what, size = ("delivery", delivery) if first else ("fill", fill)
    verb = "costs" if size < 0.0 else "gains"
    place = ("matters most", "comes second", "comes third")[rank]
    return f"The {effect.words} {place}: {worst.words} {verb} {abs(100.0 * size):.1f} % of swept in {what}."
