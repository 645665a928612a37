"""What the user describes of a lower: material, cylinder, checks, shims, closures and targets."""

import math
from typing import Annotated, Any, Literal

from pydantic import Field

from balltravel.closures.families import FAMILIES
from balltravel.material.viscosity_reading import ViscosityReading
from balltravel.scenario.quantity import DeadVolume, Names, PassageLength, Quantity, Table, Travel, diameter
from balltravel.site.vapour import SOLVENTS, vapour_pressure
from balltravel.units import UnitError

DEAD_VOLUME_SHARE = 0.2
"""Default dead volume of a chamber as a share of bore area times stroke (from memory, no source)."""

MOST_SHIMS = 12
"""The arrangements of a set double with every shim."""


def _default_vapour_pressure(data: dict[str, Any]) -> float:
    """Of the solvent; nan where none is given or the temperature is out of its range, which rules tell."""
    try:
        return vapour_pressure(data["solvent"], data["temperature"])
    except (KeyError, UnitError):
        return math.nan


class Material(Table):
    """The material at its temperature in the lower."""

    viscosity: Annotated[float | None, Quantity("viscosity", 1e-4, 1e4, "3500 mPa.s")] = None
    readings: tuple[ViscosityReading, ...] = ()
    density: Annotated[float, Quantity("density", 300.0, 1e4, "1.25 kg/l")]
    bulk_modulus: Annotated[float, Quantity("pressure", 1e7, 1e11, "1500 MPa")] = 1.5e9
    free_gas_fraction: Annotated[float, Quantity("fraction", 0.0, 0.5, "0.5 %")] = 0.005
    dissolved_gas_fraction: Annotated[float, Quantity("fraction", 0.0, 1.0, "8 %")] = 0.0
    gas_release_time: Annotated[float, Quantity("time", 1e-3, 1e5, "1 s")] = 1.0
    largest_particle: Annotated[float, Quantity("length", 0.0, 0.01, "80 um")] = 0.0
    temperature: Annotated[float, Quantity("temperature", 223.15, 473.15, "20 degC")] = 293.15
    solvent: Annotated[str | None, Names(tuple(SOLVENTS))] = None
    vapour_pressure: Annotated[float, Quantity("pressure", 0.0, 1e6, "2.3 kPa")] = Field(
        default_factory=_default_vapour_pressure
    )
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


class Lower(Table):
    """Cylinder, rod and the volumes that the piston does not sweep."""

    bore: Annotated[float, Quantity("length", 5e-3, 0.5, "48 mm")]
    rod: Annotated[float, Quantity("length", 2e-3, 0.5, "34 mm")]
    stroke: Annotated[float, Quantity("length", 5e-3, 3.0, "90 mm")]
    lower_dead_volume: DeadVolume = Field(default_factory=_default_dead_volume)
    upper_dead_volume: DeadVolume = Field(default_factory=_default_dead_volume)
    piston_packing_gap: Annotated[float, Quantity("length", 0.0, 1e-3, "20 um")] = 0.0
    piston_packing_length: Annotated[float, Quantity("length", 1e-4, 0.2, "12 mm")] = 0.012
    rod_packing_gap: Annotated[float, Quantity("length", 0.0, 1e-3, "20 um")] = 0.0
    rod_packing_length: Annotated[float, Quantity("length", 1e-4, 0.2, "12 mm")] = 0.012


class Check(Table):
    """What both ball checks have in common."""

    ball_diameter: Annotated[float, diameter("29.4 mm")]
    ball_density: Annotated[float, Quantity("density", 500.0, 2.5e4, "7800 kg/m3")]
    seat_diameter: Annotated[float, diameter("21 mm")]
    seat_length: PassageLength
    seat: Literal["edge", "cone"] = "edge"
    seat_half_angle: Annotated[float | None, Quantity("angle", 0.3, 1.3, "45 deg")] = None
    seat_mouth_diameter: Annotated[float | None, diameter("25 mm")] = None
    seat_land_width: Annotated[float, Quantity("length", 0.0, 0.05, "0.5 mm")] = 0.0
    cage_diameter: Annotated[float, diameter("37.8 mm")]
    cage_length: PassageLength
    cage: Literal["bore", "ribs"] = "bore"
    rib_count: Annotated[float | None, Quantity("number", 2.0, 24.0, "3")] = None
    rib_width: Annotated[float | None, diameter("4 mm")] = None
    housing_diameter: Annotated[float | None, diameter("44 mm")] = None
    stop: Literal["pins", "pad"]
    stop_pad_diameter: Annotated[float | None, diameter("12 mm")] = None
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


class Shims(Table):
    """A fixed set of shims and the numbers, counted from 1, of those below the inlet check's cage."""

    thicknesses: Annotated[
        tuple[float, ...],
        Quantity("length", 1e-5, 0.05, '["1 mm", "2 mm", "4 mm"]'),
        Field(max_length=MOST_SHIMS),
    ]
    below: tuple[int, ...]


class Closures(Table):
    """By which closures a check is computed, and where in its cage the ball is taken to be."""

    resistance: Annotated[str, Names(FAMILIES)] = "tabulated"
    ball_position: Literal["centred", "touching"] = "centred"


TABULATED = Closures()
"""Finite elements, ball on the axis of its cage."""


class Target(Table):
    """What the recommendation shall reach."""

    fill_fraction: Annotated[float, Quantity("fraction", 0.1, 0.999, "90 %")] = 0.9
    landing_speed: Annotated[float, Quantity("velocity", 1e-3, 100.0, "0.5 m/s")] = 0.5
    delivery: Annotated[float, Quantity("fraction", 0.0, 0.999, "85 %")] = 0.0
