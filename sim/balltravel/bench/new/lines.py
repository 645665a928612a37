"""Lines of a scenario that is being made: a value of the file with what is said above it, and the text of
all."""

import json
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from balltravel.scenario.model import FIELDS, TABLES
from balltravel.scenario.trade_names import DENSITIES
from balltravel.site.ball_materials import names_ball_material
from balltravel.units.display import prose, shown_in
from balltravel.units.systems import US

WIDTH = 96


@dataclass(frozen=True)
class Line:
    """A value as a TOML file has it, what the comment above it says, and whether somebody answered it."""

    raw: Any
    said: str = ""
    answered: bool = False


def in_us_units(line: Line) -> Line:
    """A line that was filled in, its sizes in units of a US shop; what was answered stays as it is."""
    if line.answered or isinstance(line.raw, list):
        return line
    with shown_in(US):
        raw = (
            {name: _us(end) for name, end in line.raw.items()}
            if isinstance(line.raw, Mapping)
            else _us(line.raw)
        )
        return Line(raw, prose(line.said, ROUND))


ROUND, ROUND_THOU = 2, 1
"""Digits of our own usual sizes in US units, and of those in thousandths: they are no better known."""


def _us(raw: Any) -> Any:
    if not isinstance(raw, str):
        return raw
    return prose(raw, ROUND_THOU if raw.endswith(" um") else ROUND)


Lines = dict[str, Line]
"""Dotted key -> its line."""

TABLE_SAID = {
    "material": "",
    "lower": "cylinder and rod",
    "inlet_check": "the foot valve",
    "piston_check": "the piston ball and its seat",
    "shims": "",
    "drive": "",
    "suction": "",
    "outlet": "",
}


def toml_value(raw: Any) -> str:
    """A value of a TOML file on one line: text, number, array, inline table."""
    if isinstance(raw, Mapping):
        inner = ", ".join(f"{key} = {toml_value(value)}" for key, value in raw.items())
        return f"{{ {inner} }}"
    if isinstance(raw, list | tuple):
        return f"[{', '.join(map(toml_value, raw))}]"
    if isinstance(raw, str) and '"' in raw and "'" not in raw and raw.isprintable():
        return f"'{raw}'"  # an inch sign, as in '1 1/4"'
    return json.dumps(raw, ensure_ascii=False).replace("\x7f", "\\u007f")


def scenario_text(title: str, head: Sequence[str], lines: Lines, units: str = "") -> str:
    """The text of a scenario file: a head of remarks, then each table with its keys in the usual order."""
    text = [*(part for remark in head for part in _remark(remark)), "", f"title = {toml_value(title)}"]
    if units:
        text.append(f'units = "{units}"  # of results, not of what stands here')
    for table in TABLES:
        keys = [key for key in FIELDS if key.startswith(f"{table}.") and key in lines]
        if not keys:
            continue
        said = TABLE_SAID.get(table, "")
        text += ["", f"[{table}]" + (f"  # {said}" if said else "")]
        for key in keys:
            text += _remark(lines[key].said)
            text.append(f"{_written_name(key, lines[key].raw)} = {toml_value(lines[key].raw)}")
    return "\n".join(text) + "\n"


def _written_name(key: str, raw: Any) -> str:
    """The name of a key in its table; a density that is told by a material has the trade's."""
    name = key.partition(".")[2]
    return name.replace("density", "material") if key in DENSITIES and names_ball_material(raw) else name


def _remark(said: str) -> list[str]:
    return [f"# {part}" for part in textwrap.wrap(said, WIDTH)]
