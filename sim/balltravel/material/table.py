"""The table [material] of a scenario: what the user says of the material, at its temperature in the lower."""

import math
from typing import Annotated, Any

from pydantic import Field, field_validator

from balltravel.material.flow_laws import LAWS, Newtonian
from balltravel.material.temperature_laws import LAWS_OF_TEMPERATURE, Andrade
from balltravel.material.viscosity_reading import ViscosityReading, checked
from balltravel.site.vapour import SOLVENTS, vapour_pressure
from balltravel.units import UnitError
from balltravel.units.keys import (
    GivesWayTo,
    InsteadOf,
    Names,
    NeededWith,
    NotSwept,
    Quantity,
    Silent,
    Table,
    only_with,
)
from balltravel.units.typical import MEMORY, OUR_CHOICE, PRACTICE, Typical

NO_LAW = "none"
"""A temperature_law that says nothing."""


def _of_laws(key: str, example: str = "") -> NeededWith:
    """The key is needed with those laws of flow that have a parameter by it, unless readings tell them."""
    laws = tuple(name for name, law in LAWS.items() if key in law.asked_keys())
    return NeededWith("flow", laws, example, instead="readings")


def _default_vapour_pressure(data: dict[str, Any]) -> float:
    """Of the solvent; nan where none is given or the temperature is out of its range, which rules tell."""
    try:
        return vapour_pressure(data["solvent"], data["temperature"])
    except (KeyError, UnitError):
        return math.nan


_READINGS_SWEPT = NotSwept(
    "readings swept",
    "material.viscosity_factor, which multiplies them",
    '"material.viscosity_factor" = [0.8, 1.2]',
)


class Material(Table):
    """The material at its temperature in the lower."""

    viscosity: Annotated[
        float | None,
        Quantity("viscosity", 1e-4, 1e4, "3500 mPa.s"),
        _of_laws("viscosity"),
        Typical(f"of a data sheet: {PRACTICE}", factor=1.5),
    ] = None
    readings: Annotated[tuple[ViscosityReading, ...], GivesWayTo("viscosity"), Silent(), _READINGS_SWEPT] = ()
    density: Annotated[
        float, Quantity("density", 300.0, 1e4, "1.25 kg/l"), Typical(f"of a data sheet: {PRACTICE}", 1.03)
    ]
    bulk_modulus: Annotated[
        float,
        Quantity("pressure", 1e7, 1e11, "1500 MPa"),
        Typical(f"organic liquids lie near 1000 to 2000 MPa ({MEMORY})", factor=1.4),
    ] = 1.5e9
    free_gas_fraction: Annotated[
        float,
        Quantity("fraction", 0.0, 0.5, "0.5 %"),
        Typical(f"0.2 to 2 % in stirred coatings ({PRACTICE})", factor=3.2, unknown=(0.002, 0.02)),
    ] = 0.005
    dissolved_gas_fraction: Annotated[
        float, Quantity("fraction", 0.0, 1.0, "8 %"), Silent(), Typical(OUR_CHOICE, factor=1.5)
    ] = 0.0
    gas_release_time: Annotated[
        float,
        Quantity("time", 1e-3, 1e5, "1 s"),
        Silent("dissolved_gas_fraction"),
        Typical(OUR_CHOICE, factor=3.0),
    ] = 1.0
    largest_particle: Annotated[float, Quantity("length", 0.0, 0.01, "80 um")] = 0.0
    temperature: Annotated[
        float,
        Quantity("temperature", 223.15, 473.15, "20 degC"),
        Typical(
            f"a thermometer in a shop ({PRACTICE})",
            amount=2.0,
            acts_with=("temperature_law", tuple(LAWS_OF_TEMPERATURE)),
        ),
    ] = 293.15
    solvent: Annotated[str | None, Names(tuple(SOLVENTS)), Silent()] = None
    vapour_pressure: Annotated[
        float,
        Quantity("pressure", 0.0, 1e6, "2.3 kPa"),
        InsteadOf("solvent", required=True),
        Typical(f"mixtures of solvents ({PRACTICE})", factor=2.0),
    ] = Field(default_factory=_default_vapour_pressure)
    flow: Annotated[str, Names(tuple(LAWS))] = Newtonian.NAME
    thinning_exponent: Annotated[
        float | None,
        Quantity("number", 0.3, 1.0, "0.6"),
        _of_laws("thinning_exponent"),
        Typical(
            "written: our choice; unknown: the span of heavy coatings (common practice, no source)",
            amount=0.1,
            unknown=(0.6, 1.0),
        ),
    ] = None
    thinning_onset: Annotated[
        float | None,
        Quantity("shear rate", 1e-4, 1e6, "5 1/s"),
        _of_laws("thinning_onset"),
        Typical(OUR_CHOICE, factor=2.0),
    ] = None
    least_viscosity: Annotated[
        float | None,
        Quantity("viscosity", 0.0, 1e4, "50 mPa.s"),
        _of_laws("least_viscosity"),
        Typical(OUR_CHOICE, factor=1.5),
    ] = None
    yield_stress: Annotated[
        float | None,
        Quantity("stress", 0.0, 1e4, "20 Pa"),
        _of_laws("yield_stress", "0 Pa"),
        Typical(OUR_CHOICE, factor=1.5),
    ] = None
    viscosity_factor: Annotated[float, Quantity("number", 0.01, 100.0, "1.2"), Silent()] = 1.0
    stated_temperature: Annotated[
        float | None, Quantity("temperature", 223.15, 473.15, "23 degC"), Silent()
    ] = None
    temperature_law: Annotated[str, Names((NO_LAW, *LAWS_OF_TEMPERATURE)), Silent()] = NO_LAW
    activation_energy: Annotated[
        float | None,
        Quantity("activation energy", 1e3, 3e5, "40 kJ/mol"),
        only_with("temperature_law", Andrade.NAME),
        Silent(),
        Typical(
            "written: our choice; unknown: thin to heavy liquids, none likelier (no source for the ends)",
            factor=1.2,
            unknown=(2e4, 8e4),
        ),
    ] = None
    thermal_expansion: Annotated[float, Quantity("thermal expansion", 0.0, 2e-3, "0.0007 1/K"), Silent()] = (
        0.0
    )
    rested_ratio: Annotated[float, Quantity("number", 1.0, 100.0, "3"), Silent()] = 1.0
    doubling_time: Annotated[float | None, Quantity("time", 1.0, 1e6, "40 min"), Silent()] = None
    age: Annotated[float, Quantity("time", 0.0, 1e6, "20 min"), Silent()] = 0.0

    @field_validator("readings", mode="after")
    @classmethod
    def _readings_can_be(cls, readings: tuple[ViscosityReading, ...]) -> tuple[ViscosityReading, ...]:
        return tuple(checked(reading) for reading in readings)
