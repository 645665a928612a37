"""An entry of a pump's history: its keys, read with all their faults at once."""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from itertools import pairwise
from typing import Any

from balltravel.bench.observed import Observations
from balltravel.scenario.model import Scenario
from balltravel.scenario.rules.all import Fault
from balltravel.units import UnitError, shown, to_si

FOOT_VALVE, PISTON, ROD_PACKING = "foot valve", "piston", "rod packing"
LEAKS = (FOOT_VALVE, PISTON, ROD_PACKING)
"""The causes of ``diagnose`` that are leaks."""

PARTS: dict[str, tuple[str, ...]] = {
    "ball": (FOOT_VALVE, PISTON), "foot valve ball": (FOOT_VALVE,), "piston ball": (PISTON,),
    "seat": (FOOT_VALVE, PISTON), "foot valve seat": (FOOT_VALVE,), "piston seat": (PISTON,),
    "intake ball": (FOOT_VALVE,), "inlet ball": (FOOT_VALVE,), "intake seat": (FOOT_VALVE,),
    "inlet seat": (FOOT_VALVE,), "inlet check": (FOOT_VALVE,), "piston check": (PISTON,),
    "foot valve": (FOOT_VALVE,), "piston": (PISTON,),
    "packing": (PISTON, ROD_PACKING), "piston packing": (PISTON,), "lower packing": (PISTON,),
    "throat packing": (ROD_PACKING,), "upper packing": (ROD_PACKING,), "rod packing": (ROD_PACKING,),
    "lower": LEAKS, "rod": (ROD_PACKING,), "motor": (), "hose": (), "strainer": (), "tip": (), "counter": (),
}  # fmt: skip
"""Part -> the leaks that begin anew with it. A word that does not say which one stands for all that it may
be."""

TURNED = ("seat", "foot valve seat", "intake seat", "inlet seat", "piston seat")
LONGEST = 1000
"""Letters of a text, at most."""

MOST_CYCLES, MOST_LITRES = 1e12, 1e9
TABLES = ("seen", "good_day", "stall", "good_stall", "ball_fall")

Where = Callable[[str], tuple[str, int]]
"""The place and the line of a key, for a fault."""


@dataclass(frozen=True)
class Count:
    """Cycles or a volume [m3]: as a counter shows it or, ``more``, since the last entry that has one;
    ``typed``: as it was written."""

    value: float
    more: bool = False
    typed: str = field(default="", compare=False)


@dataclass(frozen=True)
class Entry:
    """What was done and seen on a day; what was seen holds after what was done."""

    day: date
    did: str = ""
    replaced: tuple[str, ...] = ()
    cleaned: tuple[str, ...] = ()
    turned: tuple[str, ...] = ()
    shims_below: tuple[int, ...] | None = None
    shims_above: tuple[int, ...] | None = None
    material: str = ""
    cycles: Count | None = None
    litres: Count | None = None
    note: str = ""
    observed: Observations | None = None
    line: int = 0

    @property
    def handled(self) -> tuple[str, ...]:
        """The parts that are new, clean or turned."""
        return (*self.replaced, *self.cleaned, *self.turned)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        values = asdict(self)
        if self.observed is not None:
            for table in ("seen", "good_days"):
                for condition in values["observed"][table]:
                    condition["day"] = condition["day"] and condition["day"].isoformat()
        return {**values, "day": self.day.isoformat()}


def entry_of(
    raw: Mapping[str, Any], where: Where, scenario: Scenario, today: date, faults: list[Fault]
) -> Entry | None:
    """The entry of raw values by their keys; what is wrong is added to ``faults``. Observations are not read
    here."""
    reader = _Reader(raw, where, scenario, today, faults)
    before = len(faults)
    entry = reader.read()
    return entry if len(faults) == before else None


class _Reader:
    """Reads the keys of an entry and keeps what is wrong with them."""

    def __init__(
        self, raw: Mapping[str, Any], where: Where, scenario: Scenario, today: date, faults: list[Fault]
    ) -> None:
        self.raw, self.where, self.scenario, self.today, self.faults = raw, where, scenario, today, faults

    def read(self) -> Entry:
        for key in self.raw:
            if key not in (*KEYS, *TABLES):
                near = [name for name in KEYS if name.startswith(key[:3])]
                hint = f' (did you mean "{near[0]}"?)' if near else ""
                self._refuse(key, f"no such key{hint}", ", ".join((*KEYS, *TABLES)), 'note = "..."')
        if all(
            key == "date" or (not value and isinstance(value, str | list | tuple) and "shims" not in key)
            for key, value in self.raw.items()
        ):
            self._refuse(
                "", "nothing was done or seen", "at least one thing beside the date", 'did = "opened"'
            )
        below, above = self._shims("shims_below"), self._shims("shims_above")
        if above is not None:
            below = self._rest(below, above)
        return Entry(
            self._day(),
            self._text("did"),
            self._parts("replaced", tuple(PARTS)),
            self._parts("cleaned", tuple(PARTS)),
            self._parts("turned", TURNED),
            below,
            above,
            self._text("material"),
            self._count("cycles", _cycles),
            self._count("litres", _litres),
            self._text("note"),
        )

    def _refuse(self, key: str, given: str, allowed: str, example: str = "") -> None:
        place, line = self.where(key)
        self.faults.append(Fault(key, given, allowed, example, place, line))

    def _day(self) -> date:
        raw = self.raw.get("date")
        try:
            day = raw if type(raw) is date else date.fromisoformat(raw or "")
        except (TypeError, ValueError):
            given = "missing" if raw is None else f"{shown(raw)} given"
            self._refuse("date", given, "a day as year-month-day", "2026-03-31")
            return self.today
        if day > self.today:
            self._refuse("date", f"{day} is in the future", f"a day until {self.today}")
        return day

    def _text(self, key: str) -> str:
        raw = self.raw.get(key, "")
        if isinstance(raw, str) and len(raw) <= LONGEST:
            return raw
        given = f"a text of {len(raw)} letters" if isinstance(raw, str) else f"{shown(raw)} given"
        self._refuse(key, given, f"a text of at most {LONGEST} letters", '"opened, foot valve cleaned"')
        return ""

    def _parts(self, key: str, allowed: Sequence[str]) -> tuple[str, ...]:
        raw = self.raw.get(key, [])
        names = [raw] if isinstance(raw, str) else raw
        if isinstance(names, list | tuple) and all(name in allowed for name in names):
            return tuple(names)
        odd = [name for name in names if name not in allowed] if isinstance(names, list | tuple) else [names]
        part = "throat packing" if "throat packing" in allowed else "foot valve seat"
        self._refuse(key, f"{shown(odd[0])} given", ", ".join(allowed), self._example(key, f'["{part}"]'))
        return ()

    def _example(self, key: str, value: str) -> str:
        """A list of a file; on a command line, whose options have two hyphens, as it is typed there."""
        place, _ = self.where(key)
        return f"{place} {value.strip('[]')}" if place.startswith("--") else f"{key} = {value}"

    def _shims(self, key: str) -> tuple[int, ...] | None:
        raw = self.raw.get(key)
        if raw is None:
            return None
        count = len(self.scenario.shims.thicknesses)
        whole = isinstance(raw, list | tuple) and all(type(n) is int and 1 <= n <= count for n in raw)
        if whole and len({*raw}) == len(raw):
            return tuple(sorted(raw))
        have = f"numbers of shims, each once, 1 to {count}" if count else "nothing: the scenario has no shims"
        self._refuse(key, f"{shown(raw)} given", have, self._example(key, "[1]") if count else "")
        return None

    def _rest(self, below: tuple[int, ...] | None, above: tuple[int, ...]) -> tuple[int, ...]:
        """What lies below where it is said what lies above."""
        rest = tuple(n for n in range(1, len(self.scenario.shims.thicknesses) + 1) if n not in above)
        if below is not None and below != rest:
            given = f"{_names(below)} below and {_names(above)} above"
            self._refuse("shims_above", given, "each shim either below or above", f"{_names(rest)} below")
        return rest

    def _count(self, key: str, read: Callable[[Any], float]) -> Count | None:
        raw = self.raw.get(key)
        if raw is None:
            return None
        more = isinstance(raw, str) and raw.strip().startswith("+")
        try:
            return Count(read(raw.strip()[1:] if more else raw), more, f"{raw}".strip())
        except UnitError as error:
            self._refuse(key, error.given, error.allowed, error.example)
            return None


KEYS = tuple(name for name in Entry.__dataclass_fields__ if name not in ("day", "observed", "line"))
KEYS = ("date", *KEYS)
"""The keys of an entry, without the tables of what was seen."""


def _names(numbers: Sequence[int]) -> str:
    return "+".join(map(str, numbers)) or "none"


def _cycles(raw: Any) -> float:
    if isinstance(raw, str) and re.fullmatch(r"\s*[0-9]{1,15}\s*", raw):
        raw = int(raw)
    if isinstance(raw, int | float) and not isinstance(raw, bool) and 0 <= raw <= MOST_CYCLES:
        return float(raw)
    raise UnitError(f"{shown(raw)} given", 'a number of cycles, or "+1200" since the last entry', "120000")


def _litres(raw: Any) -> float:
    """A volume [m3]; a number without unit is in litres."""
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        raw = f"{raw}"
    if isinstance(raw, str) and re.fullmatch(r"\s*-?[0-9.]+\s*", raw):
        raw = f"{raw} l"
    value = to_si(raw, "volume")
    if 0.0 <= value <= 1e-3 * MOST_LITRES:
        return value
    raise UnitError(f'"{raw}" given', f"0 to {MOST_LITRES:.0e} l".replace("e+0", "e"), '"4200 l"')


def totals(entries: Sequence[Entry], key: str) -> list[float]:
    """Cycles or volume [m3] of each entry since the first, nan where it has none: a counter that is replaced
    goes on where the old one stopped."""
    made, last, begun = [], 0.0, 0.0
    for entry in entries:
        count: Count | None = getattr(entry, key)
        begun = last if "counter" in entry.replaced else begun
        if count is not None:
            last = (last if count.more else begun) + count.value
        made.append(math.nan if count is None else last)
    return made


def out_of_order(entries: Sequence[Entry], where: Callable[[Entry], tuple[str, int]]) -> list[Fault]:
    """Faults of entries whose day or counter goes back."""
    faults = []
    for before, entry in pairwise(entries):
        if entry.day < before.day:
            given = f"{entry.day} is before {before.day}, the day of the entry before"
            place, line = where(entry)
            allowed = f"{before.day} or later; what came earlier goes into the file by hand, at its place"
            faults.append(Fault("date", given, allowed, "", place, line))
    for key in ("cycles", "litres"):
        last, shown_before = 0.0, ""
        for entry, total in zip(entries, totals(entries, key), strict=True):
            count: Count | None = getattr(entry, key)
            if count is None:
                continue
            if total < last:
                given = f"{count.typed} is less than {shown_before} of an entry before"
                place, line = where(entry)
                allowed = 'as many or more, or replaced = ["counter"] with a new counter'
                faults.append(Fault(key, given, allowed, "", place, line))
            last = total
            shown_before = f"the {shown_before} and {count.typed}" if count.more else count.typed
    return faults
