"""A pump's history as plain text."""

import math
from collections.abc import Sequence
from datetime import timedelta

from balltravel.bench.history.entries import LEAKS, Entry, totals
from balltravel.bench.history.history import CYCLES, DAYS, DELIVERY, LITRES, Course, History
from balltravel.bench.history.leaks import LeakFit
from balltravel.bench.history.trends import FEWEST, Trend
from balltravel.report.tables import (
    bullets,
    column,
    filled,
    number,
    plain,
    shim_names,
    table,
    travel_set,
)
from balltravel.scenario.model import Scenario, with_shims_below
from balltravel.units.display import in_unit
from balltravel.units.systems import unit_in_use

NAMES = {
    DELIVERY: "Delivery per cycle", "foot valve": "Leak at the foot valve",
    "piston": "Leak at the piston (seat or lower packing)", "rod packing": "Leak at the throat packing",
}  # fmt: skip

_NOTE = """\
Leaks: how wide a gap all round (ball and seat, or packing) would leak as much as was seen, were it the
only fault, and the band in which it lies in 95 of 100. !: it does not explain what was seen, or another
leak explains it far better (20 to 1); such a one counts for no trend. -: the readings say nothing of it.
What was seen holds after what was done."""


def added_text(entry: Entry, path: str, number_of: int, aside: Sequence[str]) -> str:
    """What was added to a history."""
    lines = [f"{path}: entry {number_of} ({entry.day}) added: {_done_or_read(entry) or 'nothing done'}."]
    if entry.observed is not None:
        lines.append("What was seen is copied into it.")
    return "\n".join(map(filled, [*lines, *(f"{sentence}." for sentence in aside)]))


def history_text(scenario: Scenario, found: History) -> str:
    """The entries with what was seen, and where delivery and leaks go."""
    seen = bool(found.points)
    return "\n".join(
        [
            plain(scenario.title),
            filled(_shims_now(scenario, found)),
            "",
            _entries(found, seen),
            *(["", filled(_NOTE), *bullets("Where it goes", courses_text(found))]
              if seen else []),
            *bullets("Notes", [f"{note}." for note in (*found.aside, *found.notes)]),
        ]
    )  # fmt: skip


def _shims_now(scenario: Scenario, found: History) -> str:
    """The travel that is set by the last entry that says so."""
    told = [entry.shims_below for entry in found.entries if entry.shims_below is not None]
    count = f"{len(found.entries)} {'entry' if len(found.entries) == 1 else 'entries'} in {found.path}"
    return f"{count}; {travel_set(with_shims_below(scenario, told[-1]) if told else scenario)}"


def _entries(found: History, seen: bool) -> str:
    counted = [key for key in (CYCLES, LITRES) if any(getattr(entry, key) for entry in found.entries)]
    counts = {key: totals(found.entries, key) for key in counted}
    points = {point.entry: point for point in found.points}
    units = ["", *({CYCLES: "", LITRES: unit_in_use("l", "volume")}[key] for key in counted)]
    head = ["date", *({CYCLES: "cycles", LITRES: "pumped"}[key] for key in counted)]
    if seen:
        head += ["a cycle", "foot valve", "piston", "throat"]
        units += ["cc", *[unit_in_use("um")] * 3]
    rows = [[*units, ""]]
    for i, entry in enumerate(found.entries):
        row = [f"{entry.day}", *(counted_text(counts[key][i], key) for key in counted)]
        if seen:
            point = points.get(i)
            row += [number(column(point.delivered, "volume"), 3) if point else ""]
            row += [_leak(point.leaks.get(name)) if point else "" for name in LEAKS]
        rows.append([*row, _done_or_read(entry)])
    return table([*head, "what was done"], rows, range(1, len(head)), ruled_after=1)


def counted_text(count: float, key: str) -> str:
    """A counter, in cycles or in litres or gallons, without its unit."""
    if math.isnan(count):
        return ""
    return number(count if key == CYCLES else in_unit(count, "volume", "l"), 7 if key == CYCLES else 4)


def _leak(fit: LeakFit | None) -> str:
    if fit is None or not fit.learnt:
        return "-"
    size, low, high = (number(in_unit(gap, "length", "um"), 2) for gap in (fit.size, fit.low, fit.high))
    return f"{size} ({low}-{high}){'' if fit.explains else '!'}"


def done(entry: Entry) -> str:
    """What was done, in words."""
    parts = [
        *(f"{verb} {', '.join(names)}" for verb in ("replaced", "cleaned", "turned")
          if (names := getattr(entry, verb))),
        entry.did,
        "" if entry.shims_below is None else f"shims below: {shim_names(entry.shims_below)}",
        f"material: {entry.material}" if entry.material else "",
        entry.note,
    ]  # fmt: skip
    return plain("; ".join(part for part in parts if part))


def _done_or_read(entry: Entry) -> str:
    return done(entry) or ("readings" if entry.observed is not None else "")


def courses_text(found: History) -> list[str]:
    """Where delivery and each leak go; of leaks that rise together that they may be one."""
    told = [course_text(course, found) for course in found.courses]
    rising = [c.name for c in found.courses if c.name != DELIVERY and c.line and c.line.carried]
    if len(rising) < 2:
        return told
    names = " and ".join(NAMES[name].lower() for name in rising)
    together = f"{names[0].upper()}{names[1:]} go together"
    return [
        *told,
        f"{together}: each is fitted as the only fault, so it may be one of them. "
        "`balltravel diagnose` with the last readings tells which.",
    ]


def course_text(course: Course, found: History) -> str:
    """Where delivery or a leak goes, in a sentence."""
    name, line = NAMES[course.name], course.line
    since = f"since {found.entries[course.since].day}"
    if line is None:
        count = len(course.entries)
        few = f"{count} {'reading counts' if count == 1 else 'readings count'} {since}"
        return f"{name}: no trend, {few}; it takes at least {FEWEST} at different places."
    slope = f"{_size(line.slope, course, found.axis)} {per(found.axis)}"
    error = _size(line.slope_error, course, found.axis)
    if not line.carried:
        return (
            f"{name}: no trend; {slope} with a standard error of {error} {since} is not told from none "
            f"({line.count} readings, for which a slope counts from {line.counts_for_two:.3g} errors on)."
        )
    words = (
        f"{name}: {'rises' if line.slope > 0.0 else 'falls'} by {slope.lstrip('-')} (standard error {error})"
    )
    return f"{words} {since}, by {line.count} readings.{_due(course, line, found)}"


def _due(course: Course, line: Trend, found: History) -> str:
    """When delivery will have fallen by a tenth, or did."""
    if course.name != DELIVERY or line.due is None:
        return ""
    at, least, most = (_place(place, found) for place in line.due)
    least = least.removesuffix(" cycles")
    band = f"{at} (95 of 100: {least} to {most})"
    if line.due[0] <= line.end:
        return f" By that line it had fallen by 10 % at {band}."
    return f" If that goes on, it will have fallen by 10 % at {band}."


def _place(place: float, found: History) -> str:
    """A place on the axis in words: cycles, a volume, or a day."""
    if found.axis == CYCLES:
        return f"{number(place, 3)} cycles"
    if found.axis == LITRES:
        return f"{number(in_unit(place, 'volume', 'l'), 3)} {unit_in_use('l', 'volume')}"
    if place > CENTURY:
        return "more than 100 years on"
    return f"{found.entries[0].day + timedelta(days=place)}"


CENTURY = 36525.0
"""Days beyond which nobody counts."""


def _use(axis: str) -> float:
    """For how much use a slope is told: 100 000 cycles, 1000 l or US gal [m3], 30 days."""
    return {CYCLES: 1e5, DAYS: 30.0}.get(axis) or 1e3 / in_unit(1.0, "volume", "l")


def per(axis: str) -> str:
    """The same in words."""
    if axis == LITRES:
        return f"per 1000 {unit_in_use('l', 'volume')}"
    return "per 100 000 cycles" if axis == CYCLES else "in 30 days"


def _size(slope: float, course: Course, axis: str) -> str:
    """A slope, or its error, for so much use."""
    size = slope * _use(axis)
    if course.name == DELIVERY:
        return f"{number(column(size, 'volume'), 2)} cc"
    return f"{number(in_unit(size, 'length', 'um'), 2)} {unit_in_use('um')}"
