"""The history of a pump: what was done and seen, delivery and leaks over its use, and where they go."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from balltravel.bench.history.book import Book, add_entry, book_path, read_book
from balltravel.bench.history.entries import LEAKS, PARTS, Entry, totals
from balltravel.bench.history.leaks import Day, LeakFit, fitted_leaks
from balltravel.bench.history.trends import Trend, trend
from balltravel.bench.signs import CYCLE_SIGNS
from balltravel.files.read_write import read_scenario
from balltravel.scenario.arguments import path_given, plain, refused
from balltravel.scenario.model import Scenario
from balltravel.sweeps.cases import Progress

CYCLES, LITRES, DAYS = "cycles", "litres", "days"
DELIVERY = "delivery"
WEIGHED = "weighed_per_cycle"


@dataclass(frozen=True)
class Point:
    """An entry on the axis: its number from 0, its place (cycles, a volume [m3] or days since the first
    entry), what it delivered per cycle [m3] with its standard deviation (nan where that was not read), and
    its leaks by name."""

    entry: int
    place: float
    delivered: float
    delivered_sd: float
    leaks: dict[str, LeakFit]


@dataclass(frozen=True)
class Course:
    """Where delivery, or a leak, goes since it last began anew: the entry (from 0) from which on it counts,
    the entries that count, and the line through them, None where there are fewer than three."""

    name: str
    since: int
    entries: tuple[int, ...]
    line: Trend | None


@dataclass(frozen=True)
class History:
    """A pump's history: its file, entries, sentences on what was set aside, the axis (``cycles``, ``litres``
    as m3, or ``days``), the place of every entry on it, points of the entries in which something was seen,
    courses, the number of runs, and notes."""

    path: str
    entries: tuple[Entry, ...]
    aside: tuple[str, ...]
    axis: str
    places: tuple[float, ...]
    points: tuple[Point, ...]
    courses: tuple[Course, ...]
    runs: int
    notes: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return {**asdict(self), "entries": [entry.as_dict() for entry in self.entries]}


def log_entry(
    path: str | Path,
    *,
    log: str | Path | None = None,
    observed: str | Path | None = None,
    **keys: Any,
) -> Entry:
    """Add an entry to the history of a lower.

    ``path``: its scenario; ``log``: the history, by default beside it; ``observed``: a file of observations,
    which is copied; ``keys``: as the file of the history has them (docs/log.md): ``date``, ``did``,
    ``replaced``, ``cleaned``, ``turned``, ``shims_below``, ``shims_above``, ``material``, ``cycles``,
    ``litres``, ``note``. Raises ScenarioError with every fault, FileError where nothing can be written; the
    file is then as it was.
    """
    scenario = read_scenario(path)
    typed = {key: plain(value) for key, value in keys.items()}
    return add_entry(_place(path, log), scenario, typed, observed, of=str(path))[0]


def _place(path: str | Path, log: str | Path | None) -> Path:
    """Where the history of a lower lies."""
    return book_path(path) if log is None else path_given(log, '"mine.log.toml"')


def history(
    path: str | Path,
    *,
    log: str | Path | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> History:
    """The history of a lower, with the leaks that fit what was seen.

    ``path``: its scenario; ``log``: the history, by default beside it. About 50 runs for each setting in
    which something was seen, and for each pressure of a stall. Raises ScenarioError for files that cannot be
    read, with every fault and its line, and where there is no history.
    """
    return history_of(read_scenario(path), _place(path, log), workers, progress)


def history_of(
    scenario: Scenario, log: Path, workers: int | None = None, progress: Progress | None = None
) -> History:
    """The same of a scenario that has been read."""
    book = read_book(log, scenario)
    if not book.entries and not book.aside:
        raise refused(
            str(log), "there is no history yet", "one with an entry", 'balltravel log FILE --did "..."'
        )
    return judged(scenario, book, workers, progress)


def judged(
    scenario: Scenario, book: Book, workers: int | None = None, progress: Progress | None = None
) -> History:
    """The same of entries that have been read."""
    entries = book.entries
    shims = _lasting([entry.shims_below for entry in entries])
    seen = [i for i, entry in enumerate(entries) if entry.observed is not None]
    axis, places = _axis(entries, seen)
    days = [Day(entries[i].observed, shims[i]) for i in seen]  # type: ignore[arg-type]
    fits, runs = fitted_leaks(scenario, days, workers, progress)
    points = tuple(
        Point(i, places[i], *_delivered(entries[i]), leaks) for i, leaks in zip(seen, fits, strict=True)
    )
    as_built = tuple(sorted(scenario.shims.below))
    lying = [as_built if below is None else below for below in shims]
    courses = tuple(_course(name, entries, lying, points) for name in (DELIVERY, *LEAKS) if points)
    notes = _notes(entries, axis, points)
    return History(book.path, entries, book.aside, axis, tuple(places), points, courses, runs, notes)


def _lasting(values: Sequence[Any]) -> list[Any]:
    """Each value until the next one that is given."""
    made, last = [], None
    for value in values:
        last = value if value is not None else last
        made.append(last)
    return made


def _axis(entries: Sequence[Entry], seen: Sequence[int]) -> tuple[str, list[float]]:
    """Cycles or litres where every entry in which something was seen has them, else days; an entry that has
    none lies evenly between its neighbours."""
    days = [float((entry.day - entries[0].day).days) for entry in entries]
    for key in (CYCLES, LITRES):
        counts = totals(entries, key)
        if seen and all(math.isfinite(counts[i]) for i in seen):
            known = [i for i, count in enumerate(counts) if math.isfinite(count)]
            return key, [float(np.interp(i, known, [counts[j] for j in known])) for i in range(len(entries))]
    return DAYS, days


def _delivered(entry: Entry) -> tuple[float, float]:
    """Delivered per cycle [m3] in the first setting in which that was weighed, and its standard deviation."""
    for condition in entry.observed.seen if entry.observed else ():
        if WEIGHED in condition.readings:
            reading = condition.readings[WEIGHED]
            sd = CYCLE_SIGNS[WEIGHED].sd * reading.value if reading.sd is None else reading.sd
            return reading.value, sd
    return math.nan, math.nan


def _setting(entry: Entry) -> Any:
    """What was set where delivery was weighed."""
    conditions = entry.observed.seen if entry.observed else ()
    return next((dict(c.changes) for c in conditions if WEIGHED in c.readings), None)


def _course(name: str, entries: Sequence[Entry], shims: Sequence[Any], points: Sequence[Point]) -> Course:
    """Readings since delivery or a leak last began anew, and the line through them. A leak that alone does
    not explain a reading, or of which that says nothing, does not count."""
    delivery = name == DELIVERY
    since = _anew_with_all(entries, shims) if delivery else _anew(entries, name)
    values = []
    for point in points:
        fit = point.leaks.get(name)
        value = point.delivered if delivery else fit.size if fit and fit.learnt and fit.explains else math.nan
        if point.entry >= since and math.isfinite(value):
            values.append((point, value))
    line = trend([point.place for point, _ in values], [value for _, value in values])
    return Course(name, since, tuple(point.entry for point, _ in values), line)


def _anew(entries: Sequence[Entry], leak: str) -> int:
    """The last entry in which a part that this leak depends on became another."""
    new = [i for i, entry in enumerate(entries) if any(leak in PARTS[part] for part in entry.handled)]
    return new[-1] if new else 0


def _anew_with_all(entries: Sequence[Entry], shims: Sequence[Any]) -> int:
    """The last entry in which anything became another that delivery depends on: a part, the shims below the
    cage, the material (before any is named the scenario's), or what was set."""
    materials = _lasting([entry.material or None for entry in entries])
    settings = _lasting([_setting(entry) for entry in entries])
    since = 0
    for i, entry in enumerate(entries):
        parts = [part for part in entry.handled if part != "counter"]
        other = i > 0 and (
            shims[i] != shims[i - 1]
            or materials[i] != materials[i - 1]
            or (settings[i - 1] is not None and settings[i] != settings[i - 1])
        )
        if parts or other:
            since = i
    return since


def _notes(entries: Sequence[Entry], axis: str, points: Sequence[Point]) -> tuple[str, ...]:
    """What a reader should know beside the numbers."""
    notes = []
    if points and axis == DAYS:
        notes.append("over days, for not every entry with readings has cycles, nor litres")
    materials = sorted({entry.material for entry in entries if entry.material})
    if points and materials:
        notes.append(
            f"leaks are fitted with the material of the scenario, whatever material an entry names "
            f"({', '.join(materials)}), unless its observations set another viscosity"
        )
    if points:
        notes += dict.fromkeys(note for entry in entries if entry.observed for note in entry.observed.notes)
    if points and all(math.isnan(point.delivered) for point in points):
        notes.append("no entry has weighed_per_cycle, so there is no delivery to show")
    return tuple(notes)
