"""Answers to a scenario: what was typed, what is taken over from another lower, what is filled in."""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from balltravel import __version__
from balltravel.bench.new.answers import DONT_KNOW, raw_of
from balltravel.bench.new.blanks import BLANKS, BY_NAME, Blank
from balltravel.bench.new.fill import filled
from balltravel.bench.new.known import Known, in_inches
from balltravel.bench.new.lines import Line, Lines, in_us_units, scenario_text
from balltravel.files.document import read_entries
from balltravel.files.draft import Draft
from balltravel.files.read_write import companion_bytes
from balltravel.files.values import NO_TABLE
from balltravel.files.week import parse_scenario
from balltravel.scenario.model import TABLES, Scenario, ScenarioError
from balltravel.scenario.shims import travel_of
from balltravel.scenario.tables import FILES
from balltravel.units import to_text
from balltravel.units.systems import US

AS_BEFORE = ""
"""Typed for a blank that stays as it is in the lower that one starts from."""

OF_TRAVEL = ("shims", "below", "travel")
DEAD_VOLUMES = ("lower.lower_dead_volume", "lower.upper_dead_volume")


@dataclass(frozen=True)
class Base:
    """The lower that one starts from: its file's name, what was written for each key, its present travel, and
    the units that it asks for."""

    name: str
    raw: Mapping[str, Any]
    travel: str
    units: str

    def value(self, blank: Blank) -> str | None:
        """What it has for a blank, as it is shown; None where it has nothing of the kind."""
        if blank.name == "travel":
            return self.travel
        if blank.name == "material":
            return f"that of {self.name}"
        raw = self.raw.get(blank.key)
        return None if raw is None else shown_value(raw)


def shown_value(raw: Any) -> str:
    """What was written, as somebody types it."""
    if isinstance(raw, Mapping):
        return f"{raw['low']} to {raw['high']}" if {"low", "high"} <= raw.keys() else "a range"
    return " + ".join(map(str, raw)) or "none" if isinstance(raw, list) else str(raw)


def read_base(text: str, name: str, target: str | Path) -> Base:
    """The lower of a file's text; a trace beside it is named from the ``target``'s folder. Raises
    ScenarioError with every fault."""
    parsed = parse_scenario(text, name, read_companion=lambda other: companion_bytes(Path(name), other))
    scenario = parsed.scenario
    raw = {key: entry.raw for key, entry in read_entries(text, name).entries.items()}
    for key in FILES.keys() & raw.keys():
        if raw[key] != NO_TABLE:
            raw[key] = os.path.relpath(Path(name).parent / raw[key], Path(target).parent)
    travel = travel_of(scenario.inlet_check.base_travel, scenario.shims.thicknesses, scenario.shims.below)
    return Base(os.path.basename(name), raw, to_text(round(travel, 9), "length", 6), parsed.units)


def asked(blank: Blank, typed: Mapping[str, str], base: Base | None) -> bool:
    """Whether a blank is asked: not which shims lie below where there are none or nobody knows them, and
    nothing that the lower one starts from does without (a motor makes its own rate)."""
    if blank.name == "below":
        if typed.get("shims") == AS_BEFORE and base:
            return bool(base.raw["shims.thicknesses"])
        return typed.get("shims") != DONT_KNOW and not _no_shims(typed)
    return base is None or base.value(blank) is not None


def _no_shims(typed: Mapping[str, str]) -> bool:
    return "shims" in typed and raw_of(BY_NAME["shims"], typed["shims"]) == []


@dataclass(frozen=True)
class Made:
    """A scenario with its text; the blanks that were answered and those that nobody knows; the tables of the
    lower one started from that do not go with the answers, for which ranges stand."""

    text: str
    scenario: Scenario
    answered: tuple[str, ...]
    unknown: tuple[str, ...]
    left: tuple[str, ...] = ()


def make(draft: Draft, base: Base | None, target: str | Path, system: str | None) -> Made:
    """The scenario of the answers so far; whatever is not answered yet counts as not known.

    Raises ScenarioError where the answers contradict each other, with every fault.
    """
    left: tuple[str, ...] = ()
    while True:
        lines = _lines(draft, base, system, left)
        units = _units(draft, base, system)
        text = scenario_text(_title(target), _head(draft, base), lines, units)
        try:
            scenario = parse_scenario(text, str(target), read_companion=_beside(target)).scenario
        except ScenarioError as error:
            told = " ".join(f"{fault.key} {fault.given}" for fault in error.faults)
            tables = {table for table in TABLES if table in told} - {*left}
            if base is None or not tables:
                raise ScenarioError([replace(fault, where="", line=0) for fault in error.faults]) from None
            left = (*left, *sorted(tables))
            continue
        unknown = tuple(name for name, typed in draft.typed.items() if typed == DONT_KNOW)
        answered = tuple(name for name in draft.typed if name not in unknown)
        return Made(text, scenario, answered, unknown, left)


def _units(draft: Draft, base: Base | None, system: str | None) -> str:
    """The units that the scenario asks to show its results in: those in which it is measured."""
    return (base and base.units) or system or (US if _in_inches(draft, system) else "")


def _in_inches(draft: Draft, system: str | None) -> bool:
    """Whether sizes are filled in in inches: by the sheet, else by what was typed."""
    return system == US if system else bool(in_inches(draft.typed))


def _beside(target: str | Path) -> Callable[[str], bytes]:
    return lambda name: companion_bytes(Path(target), name)


def _title(target: str | Path) -> str:
    """The file's name as a title."""
    name = Path(target).stem.replace("_", " ")
    return name[:200] if name and name[:200].isprintable() else "A lower"


def _head(draft: Draft, base: Base | None) -> list[str]:
    started = f", from {base.name}" if base else ""
    known = [name for name, typed in draft.typed.items() if typed != DONT_KNOW]
    return [
        f"Made by `balltravel new` {__version__}{started}: {len(known)} of {len(BLANKS)} blanks answered. "
        "Letters are those of the worksheet (balltravel new --worksheet sheet.pdf).",
        "What was not measured or not known is a range, of which nobody should be sure. Put what you measure "
        'in its place, in any unit ("1 7/8 in"); `balltravel recommend` says what is worth measuring. What '
        "is not here has its default: `balltravel check` lists it; docs/scenario.md has every key.",
    ]


def _lines(draft: Draft, base: Base | None, system: str | None, left: tuple[str, ...]) -> Lines:
    typed = draft.typed
    raw = {name: raw_answer(BY_NAME[name], text, base) for name, text in typed.items() if name != "material"}
    material = typed.get("material", DONT_KNOW)
    unknown = material in (DONT_KNOW, AS_BEFORE)
    inches = _in_inches(draft, system)
    fill = filled(Known(raw, inches), None if unknown else material)
    if inches:
        fill = {key: in_us_units(line) for key, line in fill.items()}
    return fill if base is None else _over_base(fill, typed, base, left)


def raw_answer(blank: Blank, text: str, base: Base | None) -> Any:
    """What the file has for a blank; raises ScenarioError."""
    if text != AS_BEFORE or base is None:
        return raw_of(blank, text)
    return base.travel if blank.name == "travel" else base.raw[blank.key]


def _over_base(fill: Lines, typed: Mapping[str, str], base: Base, left: tuple[str, ...]) -> Lines:
    """The lower one starts from with what was answered anew, and with ranges in place of what does not go
    with that any more."""
    new = {blank.name for blank in BLANKS if asked(blank, typed, base) and typed.get(blank.name) != AS_BEFORE}
    keys = {BY_NAME[name].key for name in new} - {"material"}
    if new.intersection(OF_TRAVEL):
        keys |= {"shims.below", "inlet_check.base_travel"}
    kept = {BY_NAME[name].key for name, text in typed.items() if text == AS_BEFORE} - keys
    lines = {key: Line(raw, f"As in {base.name}.") for key, raw in base.raw.items() if key != "title"}
    if new.intersection(("bore", "stroke")):
        lines = {key: line for key, line in lines.items() if key not in DEAD_VOLUMES}
    replaced = {*left, *(("material",) if "material" in new else ())}
    gone = {key for key in {*lines, *fill} if key.partition(".")[0] in replaced and key not in kept}
    lines = {key: line for key, line in lines.items() if key not in gone}
    return lines | {key: line for key, line in fill.items() if key in keys | gone}
