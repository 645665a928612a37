"""All tables and keys of a scenario, and what the marks of the keys say, gathered from their fields."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict
from pydantic.fields import FieldInfo

from balltravel.material.table import Material
from balltravel.material.viscosity_reading import EXAMPLES, ViscosityReading
from balltravel.scenario.lower import TABULATED, Closures, InletCheck, Lower, PistonCheck, Shims, Target
from balltravel.scenario.site import Drive, Outlet, Suction
from balltravel.scenario.stroke_trace import EXAMPLE as TRACE_EXAMPLE
from balltravel.units import UnitError, shown
from balltravel.units.keys import (
    GivesWayTo,
    InsteadOf,
    Mark,
    NeededWith,
    NotSwept,
    Silent,
    mark_of,
    names_of,
    quantity_of,
)
from balltravel.units.typical import Typical

TITLE_TEXT = "text of 1 to 200 characters, all printable"
TITLE_EXAMPLE = 'title = "One lower, primer"'


def printable_title(value: Any) -> str:
    """A title, as it is; raises UnitError. Control characters would reach the terminal; a zero byte or half a
    surrogate cannot be stored."""
    if isinstance(value, str) and 1 <= len(value) <= 200 and value.isprintable():
        return value
    raise UnitError(f"{shown(value)} given", TITLE_TEXT, TITLE_EXAMPLE)


class Tables(BaseModel):
    """All that one case needs, table by table."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: Annotated[str, BeforeValidator(printable_title)]
    material: Material
    lower: Lower
    inlet_check: InletCheck
    piston_check: PistonCheck
    shims: Shims
    drive: Drive
    suction: Suction
    outlet: Outlet
    target: Target = Target()
    closures: Closures = TABULATED


TABLES: dict[str, type[BaseModel]] = {
    name: field.annotation
    for name, field in Tables.model_fields.items()
    if isinstance(field.annotation, type) and issubclass(field.annotation, BaseModel)
}
"""Table name -> its class, in the order of the scenario."""

FIELDS: dict[str, FieldInfo] = {
    f"{table}.{key}": field for table, model in TABLES.items() for key, field in model.model_fields.items()
}
"""Dotted key -> its field, in the order of the scenario; ``title`` is apart."""


FILES = {
    "drive.trace": TRACE_EXAMPLE,
    "inlet_check.table": 'table = "foot_valve.nc"',
    "piston_check.table": 'table = "piston_check.nc"',
}
"""Keys that name a file beside the scenario, with an example of each."""

_PLACES = [(key, *key.split(".")) for key in FIELDS]
"""Dotted keys, with their table and their name in it."""


def flat(scenario: Tables) -> dict[str, Any]:
    """All values by dotted key, defaults included [SI]."""
    return {key: getattr(getattr(scenario, table), name) for key, table, name in _PLACES}


def given_keys(scenario: Tables) -> list[str]:
    """Dotted keys that were given, table by table."""
    return [f"{table}.{key}" for table in TABLES for key in getattr(scenario, table).model_fields_set]


def _marked(kind: type[Mark]) -> Iterator[tuple[str, Mark]]:
    """Dotted keys whose field has a mark of a kind, with it."""
    for key, field in FIELDS.items():
        mark = mark_of(field, kind)
        if mark is not None:
            yield key, mark


def _dotted(key: str, other: str) -> str:
    """The dotted form of another key that a mark names, of its own table where it names none."""
    return other if not other or "." in other else f"{key.split('.')[0]}.{other}"


def _needed(key: str, mark: NeededWith) -> NeededWith:
    """The mark with dotted keys and the example of the key's quantity."""
    quantity = quantity_of(FIELDS[key])
    return replace(
        mark,
        selector=_dotted(key, mark.selector),
        instead=_dotted(key, mark.instead),
        other=_dotted(key, mark.other),
        example=mark.example or (quantity.example if quantity else ""),
    )


NEEDED = {key: _needed(key, mark) for key, mark in _marked(NeededWith)}
"""Keys that hang on a choice."""

INSTEAD = {key: replace(mark, source=_dotted(key, mark.source)) for key, mark in _marked(InsteadOf)}
"""Keys of which another can tell the value."""

GIVES_WAY = {key: _dotted(key, mark.other) for key, mark in _marked(GivesWayTo)}
"""Keys that go where a setting gives another."""

NOT_SWEPT = dict(_marked(NotSwept))
"""Keys that have no place in a sweep."""

SILENT = {key: _dotted(key, mark.acts_with) for key, mark in _marked(Silent)}
"""Keys whose default need not be told as taken -> the key with which it acts and is told, if there is one."""

TYPICAL = {
    key: replace(mark, acts_with=(_dotted(key, mark.acts_with[0]), mark.acts_with[1]))
    if mark.acts_with
    else mark
    for key, mark in _marked(Typical)
}
"""How well keys are known where nobody says so."""


def replaced_by(changes: Mapping[str, Any]) -> set[str]:
    """Keys that go when others get a value: the ramps of a constant speed with ``drive.profile`` harmonic,
    the readings with a viscosity."""
    gone = {key for key, other in GIVES_WAY.items() if other in changes}
    for key, mark in NEEDED.items():
        unfit = mark.selector in changes and changes[mark.selector] not in (*mark.choices, *mark.free)
        follows = mark.other in changes and changes[mark.other] in mark.excluding
        if unfit or follows or mark.instead in changes or mark.selector in gone:
            gone.add(key)
    for pair in ((key, mark.source) for key, mark in INSTEAD.items()):
        gone |= set(pair) if changes.keys() & set(pair) else set()
    return gone - changes.keys()


def example_of(key: str) -> str:
    """How one writes the dotted key: ``viscosity = "3500 mPa.s"``."""
    field, name = FIELDS[key], key.split(".")[1]
    quantity, names = quantity_of(field), names_of(field)
    if names:
        many = get_origin(field.annotation) is tuple
        return f'{name} = ["{names.allowed[0]}"]' if many else f'{name} = "{names.allowed[0]}"'
    choices = get_args(field.annotation)
    value = quantity.written() if quantity else "[1, 2]" if int in choices else f'"{choices[0]}"'
    value = f"[{EXAMPLES[0]}]" if ViscosityReading in choices else value
    value = FILES[key].partition(" = ")[2] if key in FILES else value
    return f"{name} = {value}"
