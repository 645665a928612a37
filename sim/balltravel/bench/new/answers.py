"""What somebody types for a blank to the value that a scenario file has for it. Units are not read here: what
is made is read as every scenario is (``files``), with the same errors."""

import re
from typing import Any

from balltravel.bench.new.blanks import Blank, in_system
from balltravel.files.ranges import read_values
from balltravel.files.values import Entry
from balltravel.scenario.arguments import refused
from balltravel.scenario.model import ScenarioError
from balltravel.site.ball_materials import ball_material_named
from balltravel.units import UnitError, cut

DONT_KNOW = "?"
_NOT_KNOWN = ("?", "??", "don't know", "dont know", "do not know", "not known", "unknown", "no idea", "dunno")
NONE = ("none", "0", "no", "-")
LONGEST = 200
"""Characters of an answer."""

BEGINS_AS_NUMBER = re.compile(r"\s*[0-9.+-]")
_BARE = re.compile(r"[0-9./ ]+")
_UNIT = re.compile(r"[0-9./ ]+([^0-9./ ].*)")
_BETWEEN = re.compile(r"\s*[+;]\s*|,\s+|\s+and\s+")
_EITHER_COMMA = re.compile(r"[0-9],[0-9]")


def plain_answer(typed: str) -> str:
    """What was typed, with one spelling for what is not known."""
    return DONT_KNOW if typed.lower() in _NOT_KNOWN else typed


def with_unit_of_blank(blank: Blank, typed: str, unit: str) -> str:
    """What was typed, a bare number with the unit that stands beside the blank."""
    last, none = _BETWEEN.split(typed.rpartition(" to ")[2])[-1], blank.name == "shims" and typed in NONE
    bare = _BARE.fullmatch(last) and not none
    return f"{typed} {unit}".rstrip() if bare else typed


def raw_of(blank: Blank, typed: str) -> Any:
    """The value as a scenario file has it; None for what is not known. Raises ScenarioError."""
    if len(typed) > LONGEST:
        raise refused("", f"an answer of {len(typed)} characters", f"at most {LONGEST}", example(blank))
    if typed == DONT_KNOW:
        return None
    if not typed:
        raise refused("", "nothing typed", f"{blank.accepted()}; or ? if you do not know", example(blank))
    if blank.name == "shims":
        raw: Any = _lengths(blank, typed)
    elif blank.name == "below":
        raw = _numbers(blank, typed)
    elif blank.name == "made of" and not BEGINS_AS_NUMBER.match(typed):
        raw = _made_of(typed)
    else:
        raw = value_or_range(typed)
    likely(blank.key, raw)
    return raw


def likely(key: str, raw: Any, density: float | None = None) -> Any:
    """The likely value [SI] of what a file has for a key; raises ScenarioError."""
    entries = [Entry(key, raw, "", 0)]
    if density is not None:
        entries.append(Entry("material.density", f"{density} kg/m3", "", 0))
    read = read_values(entries, None)
    if read.faults:
        raise ScenarioError(read.faults)
    return read.values[key]


def example(blank: Blank, system: str | None = None) -> str:
    """An answer as one types it."""
    return in_system(blank.example, system, "{} or {}")


def value_or_range(typed: str) -> Any:
    """``20 to 30 mm`` as a table of a range, all else as it is typed."""
    low, between, high = typed.partition(" to ")
    if not between:
        return typed
    return {"low": with_unit(low.strip(), unit_in(high.strip())), "high": high.strip()}


def with_unit(text: str, unit: str) -> str:
    """The text, with the unit behind it if it is a number alone."""
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def unit_in(text: str) -> str:
    """What stands behind the number."""
    match = _UNIT.fullmatch(text)
    return match[1] if match else ""


def _made_of(typed: str) -> str:
    """The name of a ball's material; raises ScenarioError."""
    try:
        return ball_material_named(typed)
    except UnitError as error:
        raise refused("", error.given, error.allowed, "steel") from None


def _lengths(blank: Blank, typed: str) -> list[str]:
    """Lengths with + between; a unit that stands at the last alone is that of all."""
    if typed.lower() in NONE:
        return []
    if _EITHER_COMMA.search(typed):
        given = f'"{cut(typed)}": a comma that may be a decimal mark or stand between two shims'
        raise refused("", given, "a point as decimal mark, + between two shims", example(blank))
    parts = _BETWEEN.split(typed)
    return [with_unit(part, unit_in(parts[-1])) for part in parts]


def _numbers(blank: Blank, typed: str) -> list[int]:
    """Whole numbers with + between."""
    if typed.lower() in NONE:
        return []
    parts = [part for part in re.split(r"[+,;\s]+|and", typed) if part]
    if not all(part.isascii() and part.isdigit() and len(part) < 5 for part in parts):
        raise refused("", f'"{cut(typed)}" given', blank.accepted(), example(blank))
    return [int(part) for part in parts]
