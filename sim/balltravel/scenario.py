"""What the user describes: a lower, its material, suction, drive and outlet; validated, frozen, SI inside.

No files and no unit text here: a scenario built by Python code gets SI numbers. Every quantity carries its
dimension and the limits beyond which a value is surely a slip; docs/scenario.md has the meaning of each key.
"""

import difflib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    ValidationInfo,
    field_validator,
    model_validator,
)
from pydantic.fields import FieldInfo

from balltravel.materials import ANY_RATE, SAME_TEMPERATURE, MaterialError, Understood, understand
from balltravel.rules import NEEDED, Fault, broken_rules
from balltravel.told_readings import EXAMPLES, Told, checked
from balltravel.units import UnitError, to_text

DEAD_VOLUME_SHARE = 0.2
"""Default dead volume of a chamber as a share of bore area times stroke (from memory, no source)."""

PORT_COMPLIANCE, PORT_SHARE = 1e-10, 0.1
"""Default port compliance [m3/Pa], and the share of the port that it may give for barometric pressure: a
short stiff hose (reasoned, not measured)."""

MOST_SHIMS = 12
"""The arrangements of a set double with every shim."""


PUMPED = (1e-6, 1e7)
"""Viscosities [Pa s] that a material may come to by temperature and age."""


class ScenarioError(ValueError):
    """A scenario that cannot be; carries all its faults, one line each."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


@dataclass(frozen=True)
class Quantity:
    """Dimension, smallest and largest value accepted [SI], and an example as one writes it in a file."""

    dimension: str
    low: float
    high: float
    example: str

    def written(self) -> str:
        """The example as TOML: text in quotes, bare numbers and arrays as they are."""
        return (
            self.example if self.example.startswith("[") or " " not in self.example else f'"{self.example}"'
        )

    def allowed(self) -> str:
        """The range in words."""
        return f"{to_text(self.low, self.dimension)} to {to_text(self.high, self.dimension)}"

    def verdict(self, value: float | tuple[float, ...] | None) -> tuple[str, str] | None:
        """What was given and what is allowed, if a value lies outside the limits."""
        numbers = value if isinstance(value, tuple) else () if value is None else (value,)
        for number in numbers:
            if not self.low <= number <= self.high:
                return f"{to_text(number, self.dimension)} given", self.allowed()
        return None


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*", mode="after")
    @classmethod
    def _within_limits(cls, value: Any, info: ValidationInfo) -> Any:
        quantity = quantity_of(cls.model_fields[info.field_name or ""])
        verdict = quantity and quantity.verdict(value)
        if verdict:
            raise ValueError("; allowed: ".join(verdict))
        if info.field_name == "readings":
            return tuple(checked(one) for one in value)
        return value


def quantity_of(field: FieldInfo) -> Quantity | None:
    """The quantity that a field of a table holds, if it holds one."""
    return next((mark for mark in field.metadata if isinstance(mark, Quantity)), None)


def _diameter(example: str) -> Quantity:
    return Quantity("length", 1e-3, 0.5, example)


PassageLength = Annotated[float, Quantity("length", 0.0, 1.0, "10 mm")]
DeadVolume = Annotated[float, Quantity("volume", 1e-9, 1.0, "30 cc")]
Travel = Annotated[float, Quantity("length", 0.0, 0.2, "5 mm")]
Duration = Annotated[float, Quantity("time", 0.0, 50.0, "30 ms")]
Gauge = Annotated[float, Quantity("pressure", -1e5, 1e7, "0 bar")]


class Material(_Table):
    """The material at its temperature in the lower."""

    viscosity: Annotated[float | None, Quantity("viscosity", 1e-4, 1e4, "3500 mPa.s")] = None
    readings: tuple[Told, ...] = ()
    density: Annotated[float, Quantity("density", 300.0, 1e4, "1.25 kg/l")]
    vapour_pressure: Annotated[float, Quantity("pressure", 0.0, 1e6, "2.3 kPa")]
    bulk_modulus: Annotated[float, Quantity("pressure", 1e7, 1e11, "1500 MPa")] = 1.5e9
    free_gas_fraction: Annotated[float, Quantity("fraction", 0.0, 0.5, "0.5 %")] = 0.005
    largest_particle: Annotated[float, Quantity("length", 0.0, 0.01, "80 um")] = 0.0
    temperature: Annotated[float, Quantity("temperature", 223.15, 473.15, "20 degC")] = 293.15
    flow: Literal[
        "Newtonian", "power law", "Herschel-Bulkley", "Casson", "Carreau", "Cross", "shear-thinning"
    ] = "Newtonian"
    thinning_exponent: Annotated[float | None, Quantity("number", 0.3, 1.0, "0.6")] = None
    thinning_onset: Annotated[float | None, Quantity("shear rate", 1e-4, 1e6, "5 1/s")] = None
    least_viscosity: Annotated[float | None, Quantity("viscosity", 0.0, 1e4, "50 mPa.s")] = None
    yield_stress: Annotated[float | None, Quantity("stress", 0.0, 1e4, "20 Pa")] = None
    viscosity_factor: Annotated[float, Quantity("number", 0.01, 100.0, "1.2")] = 1.0
    stated_temperature: Annotated[float | None, Quantity("temperature", 223.15, 473.15, "23 degC")] = None
    temperature_law: Literal["none", "Andrade", "Vogel", "ASTM D341"] = "none"
    activation_energy: Annotated[float | None, Quantity("activation energy", 1e3, 3e5, "40 kJ/mol")] = None
    thermal_expansion: Annotated[float, Quantity("thermal expansion", 0.0, 2e-3, "0.0007 1/K")] = 0.0
    rested_ratio: Annotated[float, Quantity("number", 1.0, 100.0, "3")] = 1.0
    doubling_time: Annotated[float | None, Quantity("time", 1.0, 1e6, "40 min")] = None
    age: Annotated[float, Quantity("time", 0.0, 1e6, "20 min")] = 0.0


def _default_dead_volume(data: dict[str, Any]) -> float:
    share = DEAD_VOLUME_SHARE * math.pi / 4
    return float(share * data.get("bore", math.nan) ** 2 * data.get("stroke", math.nan))


class Lower(_Table):
    """Cylinder, rod and the volumes that the piston does not sweep."""

    bore: Annotated[float, Quantity("length", 5e-3, 0.5, "48 mm")]
    rod: Annotated[float, Quantity("length", 2e-3, 0.5, "34 mm")]
    stroke: Annotated[float, Quantity("length", 5e-3, 3.0, "90 mm")]
    lower_dead_volume: DeadVolume = Field(default_factory=_default_dead_volume)
    upper_dead_volume: DeadVolume = Field(default_factory=_default_dead_volume)


class Check(_Table):
    """What both ball checks have in common."""

    ball_diameter: Annotated[float, _diameter("29.4 mm")]
    ball_density: Annotated[float, Quantity("density", 500.0, 2.5e4, "7800 kg/m3")]
    seat_diameter: Annotated[float, _diameter("21 mm")]
    seat_length: PassageLength
    seat: Literal["edge", "cone"] = "edge"
    seat_half_angle: Annotated[float | None, Quantity("angle", 0.3, 1.3, "45 deg")] = None
    seat_mouth_diameter: Annotated[float | None, _diameter("25 mm")] = None
    seat_land_width: Annotated[float, Quantity("length", 0.0, 0.05, "0.5 mm")] = 0.0
    cage_diameter: Annotated[float, _diameter("37.8 mm")]
    cage_length: PassageLength
    cage: Literal["bore", "ribs"] = "bore"
    rib_count: Annotated[float | None, Quantity("number", 2.0, 24.0, "3")] = None
    rib_width: Annotated[float | None, _diameter("4 mm")] = None
    housing_diameter: Annotated[float | None, _diameter("44 mm")] = None
    stop: Literal["pins", "pad"]
    stop_pad_diameter: Annotated[float | None, _diameter("12 mm")] = None
    discharge_coefficient: Annotated[float, Quantity("number", 0.3, 1.5, "0.7")] = 0.7
    spring_preload: Annotated[float, Quantity("force", 0.0, 1e4, "2 N")] = 0.0
    spring_rate: Annotated[float, Quantity("stiffness", 0.0, 1e7, "0.5 N/mm")] = 0.0
    leak_gap: Annotated[float, Quantity("length", 0.0, 1e-3, "10 um")] = 0.0
    surface_roughness: Annotated[float, Quantity("length", 1e-8, 1e-3, "2 um")] = 2e-6

    @property
    def contact_diameter(self) -> float:
        """Diameter of the circle on which the ball sits [m]: the edge's, or on a cone d cos(half angle)."""
        if self.seat == "cone" and self.seat_half_angle is not None:
            return self.ball_diameter * math.cos(self.seat_half_angle)
        return self.seat_diameter


class InletCheck(Check):
    """The foot valve; its travel is the base travel plus the shims below the cage."""

    base_travel: Travel


class PistonCheck(Check):
    """The check in the piston."""

    travel: Annotated[float, Quantity("length", 1e-5, 0.2, "5 mm")]


class Shims(_Table):
    """A fixed set of shims and the numbers, counted from 1, of those below the inlet check's cage."""

    thicknesses: Annotated[
        tuple[float, ...],
        Quantity("length", 1e-5, 0.05, '["1 mm", "2 mm", "4 mm"]'),
        Field(max_length=MOST_SHIMS),
    ]
    below: tuple[int, ...]


class Drive(_Table):
    """How the piston moves; ramp and dwell belong to the constant speed alone."""

    profile: Literal["constant speed", "harmonic"]
    cycle_rate: Annotated[float, Quantity("frequency", 0.005, 50.0, "30 /min")]
    ramp_time: Duration = 0.0
    dwell_time: Duration = 0.0


def _default_port_compliance(data: dict[str, Any]) -> float:
    volume = math.pi / 8.0 * data.get("hose_diameter", math.nan) ** 2 * data.get("hose_length", math.nan)
    return float(min(PORT_COMPLIANCE, PORT_SHARE * volume / data.get("barometric_pressure", math.nan)))


class Suction(_Table):
    """From the tank to the inlet port."""

    hose_length: Annotated[float, Quantity("length", 0.01, 100.0, "1.5 m")]
    hose_diameter: Annotated[float, _diameter("38 mm")]
    lift: Annotated[float, Quantity("length", -50.0, 10.0, "0.3 m")]
    temperature: Annotated[float | None, Quantity("temperature", 223.15, 473.15, "15 degC")] = None
    hose_roughness: Annotated[float, Quantity("length", 0.0, 5e-3, "1.5 um")] = 1.5e-6
    loss_coefficient: Annotated[float, Quantity("number", 0.0, 1e3, "1.5")] = 1.5
    strainer: Literal["none", "holes"] = "none"
    strainer_holes: Annotated[float | None, Quantity("number", 1.0, 1e6, "200")] = None
    strainer_hole_diameter: Annotated[float | None, Quantity("length", 1e-4, 0.05, "3 mm")] = None
    strainer_thickness: Annotated[float | None, Quantity("length", 0.0, 0.05, "1 mm")] = None
    tank_gauge_pressure: Gauge = 0.0
    barometric_pressure: Annotated[float, Quantity("pressure", 3e4, 1.2e5, "1013 mbar")] = 101325.0
    port_compliance: Annotated[float, Quantity("compliance", 1e-15, 1e-6, "10 cc/bar")] = Field(
        default_factory=_default_port_compliance
    )


class Outlet(_Table):
    """Where the material goes; without a resistance the program takes a small one of its own."""

    gauge_pressure: Annotated[float, Quantity("pressure", 0.0, 1e8, "100 bar")]
    resistance: Annotated[float | None, Quantity("resistance", 1e3, 1e16, "1e9 Pa.s/m3")] = None


class Closures(_Table):
    """By which closures a check is computed, and where in its cage the ball is taken to be."""

    resistance: Literal["tabulated", "closed form"] = "tabulated"
    ball_position: Literal["centred", "touching"] = "centred"


TABULATED = Closures()
"""Finite elements, ball on the axis of its cage."""


class Target(_Table):
    """What the recommendation shall reach."""

    fill_fraction: Annotated[float, Quantity("fraction", 0.1, 0.999, "90 %")] = 0.9
    landing_speed: Annotated[float, Quantity("velocity", 1e-3, 100.0, "0.5 m/s")] = 0.5


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
        conditional = {needed.key for needed in NEEDED} - given
        faults = broken_rules(
            {key: value for key, value in flat(self).items() if key not in conditional}, given
        )
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


def material_faults(material: Material, in_hose: float | None) -> list[Fault]:
    """What contradicts itself in a material, and what it does not tell of where it is asked for; ``in_hose``:
    its temperature there [K], if another than in the lower."""
    try:
        known = understand(material)
    except MaterialError as error:
        return [Fault(error.key, error.given, error.allowed, error.example)]
    asked = {"material.temperature": material.temperature, "suction.temperature": in_hose}
    found = (_asked(known, key, kelvin) for key, kelvin in asked.items() if kelvin is not None)
    return [fault for fault in found if fault]


def _asked(known: Understood, key: str, kelvin: float) -> Fault | None:
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


NO_READINGS: list[object] = []

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
    "suction.temperature",
    "suction.strainer",
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
        if value_of(needed.selector) not in needed.choices or value_of(needed.key) is None:
            table, _, name = needed.key.partition(".")
            tables[table][name] = None
    for table in tables.values():
        if isinstance(table, dict):
            for name in [name for name, value in table.items() if value is None or value == NO_READINGS]:
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
    quantity = quantity_of(field)
    choices = get_args(field.annotation)
    value = quantity.written() if quantity else "[1, 2]" if int in choices else f'"{choices[0]}"'
    value = f"[{EXAMPLES[0]}]" if Told in choices else value
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
