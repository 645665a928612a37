"""What else would help, as plain text: the limits of each arrangement in a table, and what matters most."""

from typing import TYPE_CHECKING

from balltravel.report.tables import bench, bullets, conditions, filled, number, plain, shim_names, table
from balltravel.report.text.recommend import targets_in_words
from balltravel.scenario.model import FIELDS, Scenario, quantity_of
from balltravel.study.search.crossing import DIGITS
from balltravel.units import from_si

if TYPE_CHECKING:
    from balltravel.study.limits.find import ArrangementLimits, Limit, LimitsReport, TriedValue
    from balltravel.study.limits.sensitivities import Change, Effect, Sensitivities

_NOTE = f"""\
Each input is varied alone, all others held. Shown is the first value, starting from now, at which the
targets stop or start holding; every value was run as written, to {DIGITS} digits, and the next value
beyond it misses the targets under "beyond". ind.: an indication only, outside the validated range;
~: near this value the result, or the cycle itself, scatters."""

LATE_SEATING_INPUTS = ("inlet_check.ball_density", "inlet_check.spring_preload")
"""Inputs that decide when the ball seats."""

MOST_SENTENCES = 3
"""Inputs that matter most, a sentence each."""


def limits_text(scenario: Scenario, report: "LimitsReport") -> str:
    """All limits and effects."""
    lines = [plain(scenario.title), filled(conditions(scenario)), filled(targets_in_words(scenario))]
    for arrangement in report.arrangements:
        lines += ["", *_arrangement(arrangement, scenario.target.delivery > 0.0)]
    lines += ["", filled(_NOTE), *_effects(report.sensitivities, report.arrangements[-1])]
    return "\n".join(lines)


def _arrangement(arrangement: "ArrangementLimits", asked: bool) -> list[str]:
    travel = bench(arrangement.choice.ball_travel, "length")
    shims = f"shims below the cage: {shim_names(arrangement.choice.shims_below)}"
    names = " and ".join({"now": "as it is now"}.get(name, name) for name in arrangement.names)
    head = f"{names[0].upper()}{names[1:]}: ball travel {travel}, {shims}; {_numbers(arrangement.here)}."
    missed = "; ".join(arrangement.here.missed)
    intro = f"Missed: {missed}. Each of these alone would make all targets hold:"
    if not missed:
        intro = "All targets hold; each of these alone may go this far:"
    rows = [
        _row(limit, arrangement.here.viscosity) for limit in arrangement.limits if limit.holds is not None
    ]
    if not rows:
        intro = f"Missed: {missed}." if missed else "All targets hold."
    if rows and arrangement.settings:
        added = " ".join(f'--set "{text}"' for text in arrangement.settings)
        intro = f"{intro.removesuffix(':')} (to try them, add {added}):"
    columns = ("input", "now", "targets hold", "fill", "deliv.", "landing", "beyond", "", "to try it")
    units = ("", "", "", "%", "%", "m/s", "", "", "")
    shown = ["", table(columns, [units, *rows], (3, 4, 5))] if rows else []
    return [filled(head), filled(intro), *shown, *bullets("Also", _rest(arrangement, asked))]


def _numbers(point: "TriedValue") -> str:
    if point.fill is None or point.delivery is None or point.landing is None:
        return "; ".join(point.missed)
    note = ", an indication only" if point.indication else ""
    return (
        f"fill {100.0 * point.fill:.1f} %, deliv. {100.0 * point.delivery:.1f} %, "
        f"landing {point.landing:.2f} m/s{note}"
    )


def _shown(limit: "Limit", value: float, viscosity: float) -> str:
    """A value in the input's unit; a factor as the viscosity [Pa s], which is what one knows."""
    quantity = quantity_of(FIELDS[limit.key])
    assert quantity is not None
    plain_number = from_si(value, quantity.dimension, limit.unit) if limit.unit else value
    if limit.key == "material.viscosity_factor":
        return f"{bench(viscosity, 'viscosity')} (x {number(plain_number)})"
    return f"{number(plain_number)} {limit.unit}".strip()


def _row(limit: "Limit", now: float) -> tuple[str, ...]:
    holds = limit.holds
    assert holds is not None
    word = "at most" if limit.at_most else "at least"
    marks = ["ind."] * holds.indication + ["~"] * limit.scatters
    numbers = ("-", "-", "-")
    if holds.fill is not None and holds.delivery is not None and holds.landing is not None:
        numbers = (f"{100.0 * holds.fill:.1f}", f"{100.0 * holds.delivery:.1f}", f"{holds.landing:.2f}")
    missed = ", ".join(text.split(" (target")[0] for text in limit.limited_by)
    settings = " ".join(f'--set "{setting}"' for setting in holds.settings)
    bound = f"{word} {_shown(limit, holds.value, holds.viscosity)}"
    return (limit.words, _shown(limit, limit.now, now), bound, *numbers, missed, " ".join(marks), settings)


def _rest(arrangement: "ArrangementLimits", asked: bool) -> list[str]:
    """Inputs without a limit in their range, and runs that failed."""
    met = not arrangement.here.missed
    without: dict[str, list[str]] = {}
    for limit in arrangement.limits:
        if limit.holds is None:
            word = "up to" if limit.upward else "down to"
            searched = limit.searched
            gives = "run failed"
            if searched.delivery is not None:
                gives = f"deliv. {round(100.0 * searched.delivery, 1) + 0.0:.1f} %"
            end = f"{word} {_shown(limit, searched.value, searched.viscosity)} ({gives})"
            without.setdefault(limit.words, []).append(end)
    spans = [f"{words} {', '.join(ends)}" for words, ends in without.items()]
    head = (
        "No limit in the range that was searched" if met else "No help alone in the range that was searched"
    )
    lines = [f"{head}: {'; '.join(spans)}."] if spans else []
    if any(limit.key in LATE_SEATING_INPUTS for limit in arrangement.limits) and not asked:
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
