"""What the user describes: a lower, its material, suction, drive and outlet; validated, frozen, SI inside.

No files and no unit text here: a scenario built by Python code gets SI numbers. Every quantity carries its
dimension and the limits beyond which a value is surely a slip; docs/scenario.md has the meaning of each key.
"""

import difflib
import json
from collections.abc import Mapping, Sequence
from typing import Any, Self

from pydantic import Field, SerializerFunctionWrapHandler, ValidationError, model_serializer, model_validator

from balltravel.material.table import Material
from balltravel.scenario.arguments import plain, refused, scenario_given, table_given
from balltravel.scenario.changes import Variations
from balltravel.scenario.lower import (
    MOST_SHIMS,
    TABULATED,
    Check,
    Closures,
    InletCheck,
    Lower,
    PistonCheck,
    Shims,
    Target,
)
from balltravel.scenario.rules.all import Fault, broken_rules, following_faults
from balltravel.scenario.rules.material import material_faults
from balltravel.scenario.rules.ranges import range_faults
from balltravel.scenario.rules.rule import ScenarioError
from balltravel.scenario.shims import travel_of
from balltravel.scenario.site import MOST_FITTINGS, Drive, Outlet, Suction
from balltravel.scenario.tables import (
    FIELDS,
    INSTEAD,
    NEEDED,
    NOT_SWEPT,
    SILENT,
    TABLES,
    Tables,
    example_of,
    flat,
    given_keys,
    replaced_by,
)
from balltravel.scenario.trade_names import EXAMPLES, meant_by, names_of_trade
from balltravel.units import UnitError, shown
from balltravel.units.keys import Quantity, quantity_of
from balltravel.units.spread import Spread

__all__ = [
    "FIELDS",
    "MOST_FITTINGS",
    "MOST_SHIMS",
    "TABLES",
    "TABULATED",
    "Check",
    "Closures",
    "Drive",
    "InletCheck",
    "Lower",
    "Material",
    "Outlet",
    "PistonCheck",
    "Quantity",
    "Scenario",
    "ScenarioError",
    "Shims",
    "Suction",
    "Target",
    "build",
    "defaults_taken",
    "example_of",
    "flat",
    "from_result",
    "material_faults",
    "not_swept",
    "quantity_of",
    "unknown_key",
    "with_choices",
    "with_shims_below",
    "with_value",
    "with_values",
]


class Scenario(Tables):
    """All that one case needs. Raises pydantic's ValidationError for what cannot be.

    ``ranges``: dotted key -> the law of chance of a value that is not known exactly, where one was stated;
    the key itself holds the likely value. A run does not look at them.
    """

    ranges: dict[str, Spread] = Field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((self.title, *(getattr(self, table) for table in TABLES), *sorted(self.ranges)))

    @model_serializer(mode="wrap")
    def _ranges_if_any(self, dump: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """A scenario without ranges looks as it did before there were any."""
        tables: dict[str, Any] = dump(self)
        if not self.ranges:
            tables.pop("ranges", None)
        return tables

    @model_validator(mode="after")
    def _rules_hold(self) -> Self:
        given = set(given_keys(self))
        conditional = {key for key in NEEDED if FIELDS[key].default_factory is None} - given
        values = flat(self)
        faults = broken_rules({key: value for key, value in values.items() if key not in conditional}, given)
        faults += following_faults(values, given)
        if not any(fault.key.startswith("material") for fault in faults):
            faults += material_faults(self.material, self.suction.temperature)
        faults += range_faults(self.ranges)
        if faults:
            raise ScenarioError(faults)
        return self

    @property
    def inlet_travel(self) -> float:
        """Ball travel of the inlet check: base travel plus the shims below the cage [m]."""
        return travel_of(self.inlet_check.base_travel, self.shims.thicknesses, self.shims.below)


NOTHING: list[object] = []
"""No readings, no trace, as JSON has it."""


def defaults_taken(scenario: Scenario) -> list[str]:
    """Dotted keys that were not given and took their default, in the order of the scenario.

    Keys that do not apply (the pad of a stop with pins, the ramp of a harmonic drive, the length of a packing
    that does not leak) are left out.
    """
    values, given = flat(scenario), set(given_keys(scenario))
    idle = {key for key, mark in NEEDED.items() if values[mark.selector] not in (mark.choices or mark.free)}
    idle |= {key for key, other in SILENT.items() if not values.get(other)}
    idle |= {key for key, mark in NEEDED.items() if mark.instead in given}
    idle |= {key for key, mark in INSTEAD.items() if mark.source in given}
    return [key for key in values if key not in given and key not in idle]


def build(tables: Mapping[str, Any]) -> Scenario:
    """Scenario from nested mappings of SI values; raises ScenarioError with every fault found."""
    try:
        return Scenario.model_validate(dict(tables))
    except ValidationError as error:
        raise ScenarioError(_faults(error)) from None


def from_result(text: str) -> Scenario:
    """The scenario that a result carries as JSON, every value of it, those that were defaults included.

    Values that do not apply (the ramp of a harmonic drive) are left out, as nobody may give them, and what
    has no value.
    """
    tables = _tables_of(text)
    places = {key: (tables.get(key.split(".")[0], {}), key.split(".")[1]) for key in FIELDS}
    values = {key: table.get(name) for key, (table, name) in places.items()}
    idle = {key for key, mark in NEEDED.items() if values[mark.selector] not in (*mark.choices, *mark.free)}
    idle |= {key for key, mark in INSTEAD.items() if values[mark.source] is not None}
    for key, (table, name) in places.items():
        empty = values[key] == NOTHING and not FIELDS[key].is_required()  # no shim below is a value
        if key in idle or values[key] is None or empty:
            table.pop(name, None)
    return build(tables)


def _tables_of(text: object) -> dict[str, Any]:
    """The tables in a result's JSON; raises ScenarioError."""
    allowed, example = "the JSON of a Scenario", "scenario.model_dump_json()"
    try:
        tables = json.loads(text) if isinstance(text, str) else None
    except ValueError:
        tables = None
    if isinstance(tables, dict) and all(isinstance(tables.get(table, {}), dict) for table in TABLES):
        return tables
    raise refused("scenario", f"{shown(text)} given", allowed, example)


def _faults(error: ValidationError) -> list[Fault]:
    faults: list[Fault] = []
    for item in error.errors():
        cause = item.get("ctx", {}).get("error")
        if isinstance(cause, ScenarioError):
            faults.extend(cause.faults)
        elif item["type"] != "default_factory_not_called":  # that follows from another fault
            faults.append(_fault(item, cause))
    return faults


def _fault(item: Any, cause: object) -> Fault:
    """One of pydantic's errors in our words."""
    key = ".".join(str(part) for part in item["loc"])
    known = ".".join(str(part) for part in item["loc"][:2])
    quantity = quantity_of(FIELDS[known]) if known in FIELDS else None
    example = example_of(known) if known in FIELDS else f"[{key}]" if key in TABLES else ""
    example = f"{known.split('.')[1]} = {quantity.in_si()}" if quantity else example
    if isinstance(cause, UnitError):
        return Fault(key, cause.given, cause.allowed, cause.example)
    if item["type"] == "extra_forbidden":
        return unknown_key(key)
    if item["type"] == "missing":
        return Fault(key, "missing", "it must be given", example)
    if item["type"] == "too_long":
        return Fault(
            key, f"{item['ctx']['actual_length']} given", f"at most {item['ctx']['max_length']}", example
        )
    if cause is not None:
        given, _, allowed = str(cause).partition("; allowed: ")
        return Fault(key, given, allowed or "see docs/scenario.md", example)
    allowed = item["msg"].removeprefix("Input should be ").replace("a valid tuple", "a list")
    return Fault(key, f"{shown(plain(item['input']))} given", allowed, example)


def with_values(scenario: Scenario, changes: Mapping[str, Any]) -> Scenario:
    """The scenario with other values, validated anew; defaults that follow from others follow.

    ``changes``: dotted key (``"material.viscosity"``) or ``"title"`` -> SI value; None takes the key out.
    Raises ScenarioError for an unknown key or a value that is not allowed.
    """
    scenario_given(scenario)
    changes = table_given("changes", changes, '{"material.viscosity": 3.5}')
    unknown = [unknown_key(key) for key in changes if key not in FIELDS and key != "title"]
    if unknown:
        raise ScenarioError(unknown)
    changed = Variations(scenario).changed(changes)
    return changed[0] if changed else validated_anew(scenario, changes)


def validated_anew(scenario: Scenario, changes: Mapping[str, Any]) -> Scenario:
    """The same by the whole validation, which tells every fault."""
    tables = scenario.model_dump(exclude_unset=True)
    for key, value in changes.items():
        parent, _, name = key.rpartition(".")
        table = tables.setdefault(parent, {}) if parent else tables
        table.pop(name, None)
        if value is not None:
            table[name] = value
    return build({**tables, **_still_known(scenario, changes)})


def _still_known(scenario: Scenario, changes: Mapping[str, Any]) -> dict[str, Any]:
    """The ranges of all keys that keep their value, as a field of a scenario that has any."""
    kept = {key: spread for key, spread in scenario.ranges.items() if key not in changes}
    return {"ranges": kept} if scenario.ranges else {}


def unknown_key(key: str) -> Fault:
    """The fault of a dotted key that no scenario has, with the nearest one that it has."""
    table, _, name = key.rpartition(".")
    fields = [known.split(".")[1] for known in FIELDS if known.startswith(f"{table}.")]
    fields += names_of_trade(table)
    meant, example = meant_by(key) or (_nearest_key(table, name, fields), "")
    hint = f' (did you mean "{meant}"?)' if meant else ""
    shown = meant or (f"{table}.{fields[0]}" if fields else "material.viscosity")
    allowed = f"title and the tables {', '.join(TABLES)}"
    if fields:
        allowed = f"the keys of [{table}]: {', '.join(fields)}"
    example = example or EXAMPLES.get(shown) or example_of(shown)
    return Fault(_short(key), f"unknown key{hint}", allowed, example, meant=meant)


def _nearest_key(table: str, name: str, fields: list[str]) -> str:
    """The dotted key that is nearest to a name, in its own table if there is one; "" if none is near."""
    close = difflib.get_close_matches(name, fields, n=1)
    if close:
        return f"{table}.{close[0]}"
    home = next((known for known in FIELDS if known.split(".")[1] == name), "") if not fields else ""
    return home or next(iter(difflib.get_close_matches(f"{table}.{name}".strip("."), FIELDS, n=1)), "")


def not_swept(key: str) -> Fault | None:
    """The fault of a key that has no place in a sweep; None where it has one."""
    if key in NOT_SWEPT:
        mark = NOT_SWEPT[key]
        return Fault(key, mark.given, mark.allowed, mark.example)
    if key == "title":
        return Fault(key, "the title swept", "keys with values that a run depends on", "material.viscosity")
    return None if key in FIELDS else unknown_key(key)


def _short(key: str) -> str:
    return key if len(key) <= 80 else f"{key[:77]}..."


def with_value(scenario: Scenario, key: str, value: Any) -> Scenario:
    """The scenario with one other value; see with_values."""
    return with_values(scenario, {key: value})


def with_choices(scenario: Scenario, changes: Mapping[str, Any]) -> Scenario:
    """As ``with_values``; keys that belong to a choice which one of the changes replaces go with it: the hose
    and the tip of an outlet that is closed."""
    return with_values(scenario, {**dict.fromkeys(replaced_by(changes)), **changes})


def with_shims_below(scenario: Scenario, below: Sequence[int]) -> Scenario:
    """The scenario with these shims, counted from 1, below the inlet check's cage; all others above it."""
    return with_value(scenario, "shims.below", below)
