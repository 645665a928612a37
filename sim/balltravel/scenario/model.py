"""What the user describes: a lower, its material, suction, drive and outlet; validated, frozen, SI inside.

No files and no unit text here: a scenario built by Python code gets SI numbers. Every quantity carries its
dimension and the limits beyond which a value is surely a slip; docs/scenario.md has the meaning of each key.
"""

import difflib
import json
import math
from collections.abc import Mapping, Sequence, Set
from typing import Annotated, Any, Self, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic.fields import FieldInfo

from balltravel.material.flow_laws import ANY_RATE
from balltravel.material.model import SAME_TEMPERATURE, MaterialError, MaterialModel, material_model
from balltravel.material.viscosity_reading import EXAMPLES, ViscosityReading
from balltravel.scenario.lower import (
    MOST_SHIMS,
    TABULATED,
    Check,
    Closures,
    InletCheck,
    Lower,
    Material,
    PistonCheck,
    Shims,
    Target,
)
from balltravel.scenario.quantity import Quantity, names_of, quantity_of
from balltravel.scenario.rules.all import EITHER, NEEDED, Fault, broken_rules
from balltravel.scenario.site import MOST_FITTINGS, Drive, Outlet, Suction
from balltravel.scenario.stroke_trace import EXAMPLE as TRACE_EXAMPLE
from balltravel.units import UnitError, to_text

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
    "quantity_of",
    "unknown_key",
    "with_shims_below",
    "with_value",
    "with_values",
]

PUMPED = (1e-6, 1e7)
"""Viscosities [Pa s] that a material may come to by temperature and age."""


class ScenarioError(ValueError):
    """A scenario that cannot be; carries all its faults, one line each."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class Scenario(BaseModel):
    """All that one case needs. Raises pydantic's ValidationError for what cannot be."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: Annotated[str, Field(min_length=1, max_length=200)]
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

    @model_validator(mode="after")
    def _rules_hold(self) -> Self:
        given = set(_given(self))
        conditional = {one.key for one in NEEDED if FIELDS[one.key].default_factory is None} - given
        faults = broken_rules(
            {key: value for key, value in flat(self).items() if key not in conditional}, given
        )
        faults += following_faults(flat(self), given)
        faults = faults or material_faults(self.material, self.suction.temperature)
        if faults:
            raise ScenarioError(faults)
        return self

    @property
    def inlet_travel(self) -> float:
        """Ball travel of the inlet check: base travel plus the shims below the cage [m]."""
        return self.inlet_check.base_travel + math.fsum(
            self.shims.thicknesses[n - 1] for n in self.shims.below
        )


def following_faults(values: Mapping[str, Any], given: Set[str]) -> list[Fault]:
    """Of defaults that follow from other keys: those that the key itself could not have."""
    found = []
    for key, value in values.items():
        follows = FIELDS[key].default_factory is not None and key not in given
        quantity = quantity_of(FIELDS[key])
        if not follows or quantity is None or value is None or math.isnan(value):
            continue
        verdict = quantity.verdict(value)
        if verdict:
            found.append(Fault(key, verdict[0].replace("given", "follows from other keys"), verdict[1]))
    return found


def material_faults(material: Material, in_hose: float | None) -> list[Fault]:
    """What contradicts itself in a material, and what it does not tell of where it is asked for; ``in_hose``:
    its temperature there [K], if another than in the lower."""
    try:
        known = material_model(material)
    except MaterialError as error:
        return [Fault(error.key, error.given, error.allowed, error.example)]
    asked = {"material.temperature": material.temperature, "suction.temperature": in_hose}
    found = (_asked(known, key, kelvin) for key, kelvin in asked.items() if kelvin is not None)
    return [fault for fault in found if fault]


def _asked(known: MaterialModel, key: str, kelvin: float) -> Fault | None:
    """The fault of a temperature [K] at which the material is asked for."""
    example = 'temperature_law = "Andrade"'
    if known.over_temperature is None and abs(kelvin - known.stated) >= SAME_TEMPERATURE:
        here, there = (to_text(one, "temperature") for one in (kelvin, known.stated))
        allowed = "the same temperature, or a temperature_law with the readings that it needs"
        return Fault(key, f"{here} given, viscosity stated at {there}", allowed, example)
    try:
        viscosity = float(known.viscosity(ANY_RATE, kelvin)) / known.factor
    except UnitError as error:
        return Fault(key, error.given, error.allowed, error.example)
    low, high = PUMPED
    if low <= viscosity <= high:
        return None
    there, *ends = (to_text(one, "viscosity") for one in (viscosity, low, high))
    if known.growth * known.age > 1.0:
        key, example = "material.age", 'age = "20 min"'
    return Fault(key, f"viscosity of {there} at {ANY_RATE:g} 1/s there", " to ".join(ends), example)


TABLES: dict[str, type[BaseModel]] = {
    name: field.annotation
    for name, field in Scenario.model_fields.items()
    if isinstance(field.annotation, type) and issubclass(field.annotation, BaseModel)
}
"""Table name -> its class, in the order of the scenario."""

FIELDS: dict[str, FieldInfo] = {
    f"{table}.{key}": field for table, model in TABLES.items() for key, field in model.model_fields.items()
}
"""Dotted key -> its field, in the order of the scenario; ``title`` is apart."""


NOTHING: list[object] = []
"""No readings, no trace, as JSON has it."""

QUIET = (
    "material.readings",
    "material.viscosity_factor",
    "material.stated_temperature",
    "material.temperature_law",
    "material.activation_energy",
    "material.thermal_expansion",
    "material.rested_ratio",
    "material.doubling_time",
    "material.age",
    "material.dissolved_gas_fraction",
    "material.gas_release_time",
    "lower.piston_packing_gap",
    "lower.piston_packing_length",
    "lower.rod_packing_gap",
    "lower.rod_packing_length",
    "outlet.form",
    "material.solvent",
    "suction.line",
    "suction.hose_flexing",
    "suction.fittings",
    "suction.strainer",
    "suction.vessel",
    "suction.temperature",
    "suction.feed",
    "suction.altitude",
    "target.delivery",
)
"""Keys whose default, nothing of the kind, need not be told as taken."""


def flat(scenario: Scenario) -> dict[str, Any]:
    """All values by dotted key, defaults included [SI]."""
    return {key: getattr(getattr(scenario, key.split(".")[0]), key.split(".")[1]) for key in FIELDS}


def _given(scenario: Scenario) -> list[str]:
    return [f"{table}.{key}" for table in TABLES for key in getattr(scenario, table).model_fields_set]


def defaults_taken(scenario: Scenario) -> list[str]:
    """Dotted keys that were not given and took their default, in the order of the scenario.

    Keys that do not apply (the pad of a stop with pins, the ramp of a harmonic drive) are left out.
    """
    values, given = flat(scenario), set(_given(scenario))
    idle = {needed.key for needed in NEEDED if values[needed.selector] not in needed.choices}
    idle |= set(QUIET) | {needed.key for needed in NEEDED if needed.instead in given}
    idle |= {one.key for one in EITHER if one.source in given}
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
    tables = json.loads(text)

    def value_of(key: str) -> Any:
        table, _, name = key.partition(".")
        return tables[table][name]

    for needed in NEEDED:
        choices = (*needed.choices, *needed.free)
        if value_of(needed.selector) not in choices or value_of(needed.key) is None:
            table, _, name = needed.key.partition(".")
            tables[table][name] = None
    for either in EITHER:
        if value_of(either.source) is not None:
            table, _, name = either.key.partition(".")
            tables[table][name] = None
    for table in tables.values():
        if isinstance(table, dict):
            for name in [name for name, value in table.items() if value is None or value == NOTHING]:
                del table[name]
    return build(tables)


def _faults(error: ValidationError) -> list[Fault]:
    faults: list[Fault] = []
    for item in error.errors():
        if item["type"] == "default_factory_not_called":  # follows from another fault
            continue
        cause = item.get("ctx", {}).get("error")
        if isinstance(cause, ScenarioError):
            faults.extend(cause.faults)
            continue
        key = ".".join(str(part) for part in item["loc"])
        given, _, allowed = str(cause or item["msg"]).partition("; allowed: ")
        faults.append(Fault(key, given, allowed or "see docs/scenario.md"))
    return faults


def with_values(scenario: Scenario, changes: Mapping[str, Any]) -> Scenario:
    """The scenario with other values, validated anew; defaults that follow from others follow.

    ``changes``: dotted key (``"material.viscosity"``) or ``"title"`` -> SI value; None takes the key out.
    Raises ScenarioError for an unknown key or a value that is not allowed.
    """
    unknown = [unknown_key(key) for key in changes if key not in FIELDS and key != "title"]
    if unknown:
        raise ScenarioError(unknown)
    tables = scenario.model_dump(exclude_unset=True)
    for key, value in changes.items():
        parent, _, name = key.rpartition(".")
        table = tables.setdefault(parent, {}) if parent else tables
        table.pop(name, None)
        if value is not None:
            table[name] = value
    return build(tables)


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
    value = TRACE_EXAMPLE.partition(" = ")[2] if key == "drive.trace" else value
    return f"{name} = {value}"


def unknown_key(key: str) -> Fault:
    """The fault of a dotted key that no scenario has, with the nearest one that it has."""
    table, _, name = key.rpartition(".")
    fields = [known.split(".")[1] for known in FIELDS if known.startswith(f"{table}.")]
    homes = [known for known in FIELDS if known.split(".")[1] == name]
    near = difflib.get_close_matches(name, fields, n=1) if fields else homes[:1]
    near = [f"{table}.{near[0]}"] if near and fields else near or difflib.get_close_matches(key, FIELDS, n=1)
    hint = f' (did you mean "{near[0]}"?)' if near else ""
    shown = next(iter(near), f"{table}.{fields[0]}" if fields else "material.viscosity")
    allowed = f"title and the tables {', '.join(TABLES)}"
    if fields:
        allowed = f"the keys of [{table}]: {', '.join(fields)}"
    return Fault(_short(key), f"unknown key{hint}", allowed, example_of(shown))


def _short(key: str) -> str:
    return key if len(key) <= 80 else f"{key[:77]}..."


def with_value(scenario: Scenario, key: str, value: Any) -> Scenario:
    """The scenario with one other value; see with_values."""
    return with_values(scenario, {key: value})


def with_shims_below(scenario: Scenario, below: Sequence[int]) -> Scenario:
    """The scenario with these shims, counted from 1, below the inlet check's cage; all others above it."""
    return with_value(scenario, "shims.below", tuple(int(number) for number in below))
