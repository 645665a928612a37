"""A reading as one writes it in a scenario, an inline table or a text, to a viscosity in SI:
``{ cup = "ISO 4 mm", time = "60 s" }``, ``"ISO 4 mm, 60 s"``. Units are read here; what an instrument says is
in ``cups`` and ``instruments``."""

import difflib
import math
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from balltravel.material.cups import cup_named, cup_reading
from balltravel.material.instruments import (
    coaxial_shear_rate,
    furol_reading,
    krebs_reading,
    universal_reading,
)
from balltravel.material.reading_text import TEXTS, table_of
from balltravel.material.readings import KinematicReading, Reading, ReadingError
from balltravel.material.temperature_laws import density_at
from balltravel.units import UnitError, kind_of, to_si, to_text

ASSUMED_UNCERTAINTY = 0.05
"""Relative standard uncertainty of a viscosity or a stress that says nothing of it (our choice)."""

EXAMPLES = (
    '{ shear_rate = "10 1/s", viscosity = "12 Pa.s" }',
    '{ cup = "ISO 4 mm", time = "60 s" }',
    "{ krebs = 95 }",
)
COAXIAL = '{ viscosity = "12 Pa.s", rpm = 20, inner_diameter = "17.5 mm", outer_diameter = "19 mm" }'
_CYLINDERS = ("inner_diameter", "outer_diameter")
_BESIDE = ("temperature", "uncertainty", "state", "age", "shear_rate", "time", "rpm", *_CYLINDERS)
STATES = ("worked", "rested")
RATES = (1e-4, 1e7)
TEMPERATURES = (223.15, 473.15)
UNCERTAINTIES = (1e-4, 1.0)
AGES = (0.0, 1e6)
VISCOSITIES = (1e-12, 1e12)


class ViscosityReading(NamedTuple):
    """A reading in SI: viscosity [Pa s], shear rate [1/s] and temperature [K] where they are known, relative
    standard uncertainty, where it is from, ``worked`` or ``rested``, its age after mixing [s], and whether it
    was a kinematic viscosity, times the density."""

    viscosity: float
    shear_rate: float | None
    temperature: float | None
    relative_uncertainty: float
    source: str
    state: str = "worked"
    age: float | None = None
    kinematic: bool = False


class _Table:
    """An inline table whose keys are read as quantities."""

    def __init__(self, raw: Mapping[str, Any], density: float | None = None) -> None:
        self.raw, self.density = raw, density

    def si(self, key: str, dimension: str, low: float, high: float, example: str) -> float:
        """A quantity within limits. Raises UnitError."""
        try:
            value = to_si(self.raw[key], dimension, self.density)
        except UnitError as error:
            raise UnitError(f"{key}: {error.given}", error.allowed, example) from None
        if not low <= value <= high:
            allowed = f"{to_text(low, dimension)} to {to_text(high, dimension)}"
            raise UnitError(f"{key}: {_shown(self.raw[key])} given", allowed, example)
        return value

    def optional(self, key: str, dimension: str, low: float, high: float, example: str) -> float | None:
        """The same, or None where it is not given."""
        return self.si(key, dimension, low, high, example) if key in self.raw else None

    def rate(self) -> float | None:
        """The stated shear rate [1/s], or that of coaxial cylinders at their speed."""
        if "rpm" in self.raw or not self.raw.keys().isdisjoint(_CYLINDERS):
            return self._of_cylinders()
        return self.optional("shear_rate", "shear rate", *RATES, 'shear_rate = "10 1/s"')

    def _of_cylinders(self) -> float:
        """The rate by a speed and two diameters, all of which it takes. Raises UnitError."""
        if not {"rpm", *_CYLINDERS} <= self.raw.keys() or "shear_rate" in self.raw:
            wanted = (
                "shear_rate, of the spindle at that speed from its maker's table; or, of coaxial cylinders, "
                "rpm with inner_diameter and outer_diameter; a speed alone is none"
            )
            given = "a speed of rotation given" if "rpm" in self.raw else "cylinders without a speed"
            raise UnitError(
                given + " with shear_rate" * ("shear_rate" in self.raw),
                wanted,
                COAXIAL if self.raw.keys() & {*_CYLINDERS} else EXAMPLES[0],
            )
        turns = self.si("rpm", "number", 1e-3, 1e4, "rpm = 20")
        inner, outer = (self.si(key, "length", 1e-3, 0.5, COAXIAL) for key in _CYLINDERS)
        try:
            return coaxial_shear_rate(turns * math.tau / 60.0, inner, outer)
        except ReadingError as error:
            allowed = f"{error.allowed} (wider gaps: shear_rate from the maker's table)"
            raise UnitError(error.given, allowed, COAXIAL) from None


def _shown(raw: object) -> str:
    return f'"{raw}"' if isinstance(raw, str) else f"{raw}"


def _viscosity(table: _Table) -> Reading:
    value = table.si("viscosity", "viscosity", 1e-6, 1e7, EXAMPLES[0])
    return Reading(value, table.rate(), ASSUMED_UNCERTAINTY, "viscosity")


def _stress(table: _Table) -> Reading:
    stress, rate = table.si("stress", "stress", 1e-6, 1e7, 'stress = "300 Pa"'), table.rate()
    if rate is None:
        example = '{ shear_rate = "100 1/s", stress = "300 Pa" }'
        raise UnitError("a stress without shear_rate", "both, for a viscosity is stress over rate", example)
    return Reading(stress / rate, rate, ASSUMED_UNCERTAINTY, "stress")


def _cup(table: _Table) -> KinematicReading:
    if not isinstance(table.raw["cup"], str):
        raise UnitError(f"cup: {kind_of(table.raw['cup'])}", "the name of a cup", EXAMPLES[1])
    if "time" not in table.raw:
        raise UnitError("a cup without time", "the time in which it empties", EXAMPLES[1])
    return cup_reading(cup_named(table.raw["cup"]), table.si("time", "time", 0.1, 1e4, 'time = "60 s"'))


def _krebs(table: _Table) -> Reading:
    raw = table.raw["krebs"]
    plain = raw.removesuffix("KU") if isinstance(raw, str) else raw
    units = _Table({"krebs": plain}).si("krebs", "number", 0.0, 1000.0, EXAMPLES[2])
    try:
        return krebs_reading(units)
    except ReadingError as error:
        raise UnitError(error.given, error.allowed, EXAMPLES[2]) from None


def _saybolt(
    key: str, read: Callable[[float, float], KinematicReading]
) -> Callable[[_Table], KinematicReading]:
    def reading(table: _Table) -> KinematicReading:
        example = f'{{ {key} = "150 s", temperature = "100 degF" }}'
        kelvin = table.optional("temperature", "temperature", *TEMPERATURES, example)
        if kelvin is None:
            raise UnitError(f"{key} without temperature", "the temperature of the bath", example)
        return read(table.si(key, "time", 1.0, 1e5, example), kelvin)

    return reading


_KINDS: dict[str, Callable[[_Table], Reading | KinematicReading]] = {
    "viscosity": _viscosity,
    "stress": _stress,
    "cup": _cup,
    "krebs": _krebs,
    "saybolt_universal": _saybolt("saybolt_universal", universal_reading),
    "saybolt_furol": _saybolt("saybolt_furol", furol_reading),
}
_BELONGS = {
    "time": ("cup",),
    **dict.fromkeys(("shear_rate", "rpm", *_CYLINDERS), ("viscosity", "stress")),
}


def _kind_of(raw: Mapping[str, Any]) -> str:
    """Which instrument a table tells of. Raises UnitError."""
    known = (*_KINDS, *_BESIDE, "spindle")
    for key in raw:
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            hint = f' (did you mean "{near[0]}"?)' if near else ""
            raise UnitError(f'unknown key "{key[:40]}"{hint}', ", ".join((*_KINDS, *_BESIDE)), EXAMPLES[0])
    if "spindle" in raw:
        wanted = "shear_rate: of the spindle at its speed, from its maker's table"
        raise UnitError("a spindle without its shear rate given", wanted, EXAMPLES[0])
    kinds = [key for key in raw if key in _KINDS]
    if len(kinds) != 1:
        given = f"{' and '.join(kinds)} given" if kinds else "no instrument given"
        given = "a speed of rotation without what was read" if not kinds and "rpm" in raw else given
        raise UnitError(given, f"exactly one of {', '.join(_KINDS)}", EXAMPLES[1])
    for key, owners in _BELONGS.items():
        if key in raw and kinds[0] not in owners:
            raise UnitError(f"{key} with {kinds[0]}", f"{key} only with {' or '.join(owners)}", EXAMPLES[0])
    return kinds[0]


def _state_of(raw: Mapping[str, Any]) -> str:
    state = raw.get("state", STATES[0])
    if isinstance(state, str) and state in STATES:
        return state
    given = f'"{state[:40]}" given' if isinstance(state, str) else kind_of(state)
    raise UnitError(f"state: {given}", " or ".join(f'"{known}"' for known in STATES), 'state = "rested"')


def reading_of(
    raw: object, density: float | None, stated: float | None = None, expansion: float = 0.0
) -> ViscosityReading:
    """One reading. ``density`` [kg/m3] at the ``stated`` temperature [K] with its thermal ``expansion`` [1/K]
    is for a kinematic viscosity: it is taken at the reading's own temperature. Raises UnitError."""
    raw = table_of(raw) if isinstance(raw, str) else raw
    if not isinstance(raw, Mapping):
        raise UnitError(kind_of(raw), f"an inline table, or a text such as {TEXTS[0]}", EXAMPLES[0])
    kind = _kind_of(raw)
    kelvin = _Table(raw).optional("temperature", "temperature", *TEMPERATURES, 'temperature = "35 degC"')
    if density is not None and kelvin is not None and stated is not None:
        density = density_at(kelvin, density, stated, expansion)
    table = _Table(raw, density)
    reading = _KINDS[kind](table)
    if isinstance(reading, KinematicReading):
        if density is None:
            raise UnitError(f"{kind} without a density", "material.density, which must be right", EXAMPLES[1])
        viscosity = reading.kinematic_viscosity * density
    else:
        viscosity = reading.viscosity
    stated_scatter = table.optional("uncertainty", "fraction", *UNCERTAINTIES, 'uncertainty = "5 %"')
    return checked(
        ViscosityReading(
            viscosity,
            reading.shear_rate,
            kelvin,
            reading.relative_uncertainty if stated_scatter is None else stated_scatter,
            reading.source,
            _state_of(raw),
            table.optional("age", "time", *AGES, 'age = "30 min"'),
            isinstance(reading, KinematicReading) or _in_kinematic_units(kind, raw, density, viscosity),
        )
    )


def _in_kinematic_units(kind: str, raw: Mapping[str, Any], density: float | None, viscosity: float) -> bool:
    """Whether a reading was written in cSt: another density then makes another viscosity."""
    if density is None:
        return False
    denser = _KINDS[kind](_Table(raw, 2.0 * density))
    return isinstance(denser, Reading) and denser.viscosity != viscosity


def checked(reading: ViscosityReading) -> ViscosityReading:
    """The same reading, if its numbers can be. Raises UnitError."""
    for what, value, dimension, (low, high) in (
        ("viscosity", reading.viscosity, "viscosity", VISCOSITIES),
        ("shear_rate", reading.shear_rate, "shear rate", RATES),
        ("temperature", reading.temperature, "temperature", TEMPERATURES),
        ("uncertainty", reading.relative_uncertainty, "fraction", UNCERTAINTIES),
        ("age", reading.age, "time", AGES),
    ):
        if value is not None and not low <= value <= high:
            allowed = f"{to_text(low, dimension)} to {to_text(high, dimension)}"
            raise UnitError(f"{what} of {to_text(value, dimension)}", allowed, EXAMPLES[0])
    if reading.state not in STATES:
        raise UnitError(f'state: "{reading.state[:40]}" given', " or ".join(STATES), 'state = "rested"')
    return reading
