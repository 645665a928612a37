"""TOML text that somebody wrote, and what is wrong with a line that is none."""

import json
import re
import tomllib
from typing import Any

from balltravel.scenario.model import ScenarioError
from balltravel.scenario.rules.all import Fault
from balltravel.units import cut

ALLOWED = "TOML: [table] headers and key = value lines, a quantity as text in quotes"
EXAMPLE = 'viscosity = "3500 cP"'
_LONGEST_LINE = 200
_PLACE = re.compile(r"\(at line (\d+), column \d+\)")
_INCHES = re.compile('"[^"]*[0-9]""')
_UNQUOTED = re.compile(r"""\s*([\w."-]+)\s*=\s*([^\s"'#\[{][^'#]*)(?:#.*)?""")


def read_toml(text: str, name: str, example: str = EXAMPLE) -> dict[str, Any]:
    """The tables of a text; ``name`` and ``example`` stand in the error. Raises ScenarioError with the line
    that cannot be read."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also integers of thousands of digits
        reason = str(error)
    lines = text.split("\n")
    place = _PLACE.search(reason)
    line = int(place[1]) if place else max(len(lines) - (not lines[-1]), 1)
    given, example = _wrong(lines[line - 1], cut(reason.split(" (at ")[0]), example)
    raise ScenarioError([Fault("", f"not TOML: {given}", ALLOWED, example, f"{name}:{line}", line)])


def _wrong(line: str, reason: str, example: str) -> tuple[str, str]:
    """What is wrong with a line, and how to write it."""
    shown = cut(line.strip())
    if _INCHES.search(line):
        return f"{shown}: {reason}", """ball_diameter = '1 1/4"'"""
    unquoted = _UNQUOTED.fullmatch(line) if len(line) <= _LONGEST_LINE else None
    if unquoted is None:
        return f"{shown}: {reason}" if shown else reason, example
    key, value = unquoted[1], unquoted[2].strip()
    quoted = f"'{value}'" if '"' in value else json.dumps(value, ensure_ascii=False)
    return f"{key} = {value} has its value without quotes", f"{key} = {quoted}"
