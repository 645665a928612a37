"""What the user describes of a site: drive, suction and outlet."""

import math
from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import Field

from balltravel.material.temperature_laws import LAWS_OF_TEMPERATURE
from balltravel.scenario.stroke_trace import MOST_TRACE
from balltravel.site.atmosphere import barometric_pressure
from balltravel.site.fittings import FITTINGS
from balltravel.units.keys import (
    InsteadOf,
    Names,
    NeededWith,
    NotSwept,
    Quantity,
    Silent,
    Table,
    diameter,
    only_with,
)
from balltravel.units.typical import GAUGE, HOSE_BORE, OUR_CHOICE, PRACTICE, Typical

MOST_FITTINGS = 50

Duration = Annotated[float, Quantity("time", 0.0, 50.0, "30 ms")]
Gauge = Annotated[float, Quantity("pressure", -1e5, 1e7, "0 bar")]

_NOT_TIMED = "hardly anybody has timed it"
_RAMP = Typical(f"{_NOT_TIMED} ({OUR_CHOICE})", factor=2.0, unknown=(0.01, 0.03, 0.06))
_DWELL = Typical(f"{_NOT_TIMED} ({OUR_CHOICE})", factor=2.0, unknown=(0.01, 0.04, 0.1))
_COUNTED = Typical(f"counted with a stopwatch ({PRACTICE})", factor=1.03)
_HOSE_GIVES = Typical(f"of a hose that nobody measured ({OUR_CHOICE})", factor=4.0)

PORT_COMPLIANCE, PORT_SHARE = 1e-10, 0.1
"""Default port compliance [m3/Pa], and the share of the port that it may give for barometric pressure: a
short stiff hose (reasoned, not measured)."""

FRICTION = 0.03
"""Default friction of packings and motor over the motor's force at its stall (from memory, no source)."""

HOSE_GIVE = 2e-9
"""Default growth of an outlet hose's volume with its pressure, over the volume [1/Pa]: 0.02 % a bar (from
memory, no source; measure the hose if the dip at changeover matters)."""


def _default_cycle_rate(data: dict[str, Any]) -> float | None:
    trace = data.get("trace")
    lasts = trace[-1][0] - trace[0][0] if trace else 0.0
    return 1.0 / lasts if lasts > 0.0 else None


_STEADY, _BY_MOTOR = ("constant speed", "motor"), NeededWith("profile", ("motor",))
_CYCLE_RATE = NeededWith(
    "profile",
    ("constant speed", "harmonic"),
    other="outlet.form",
    excluding=("tip at pressure",),
    free=("trace",),
)
_TRACE_SWEPT = NotSwept(
    "a trace swept", "drive.cycle_rate, to which it is scaled", '"drive.cycle_rate" = ["20 /min"]'
)


class Drive(Table):
    """How the piston moves; ramp and dwell belong to the constant speed and to the motor alone."""

    profile: Literal["constant speed", "harmonic", "trace", "motor"]
    trace: Annotated[
        tuple[tuple[float, float], ...],
        Field(max_length=MOST_TRACE),
        NeededWith("profile", ("trace",), "stroke.csv"),
        _TRACE_SWEPT,
    ] = ()
    cycle_rate: Annotated[
        float | None, Quantity("frequency", 0.005, 50.0, "30 /min"), _CYCLE_RATE, _COUNTED
    ] = Field(default_factory=_default_cycle_rate)
    ramp_time: Annotated[Duration, NeededWith("profile", _STEADY), _RAMP] = 0.0
    dwell_time: Annotated[Duration, NeededWith("profile", _STEADY, "40 ms"), _DWELL] = 0.0
    motor: Annotated[Literal["hydraulic", "air"], NeededWith("profile", ("motor",), "air")] = "hydraulic"
    supply_gauge_pressure: Annotated[
        float | None, Quantity("pressure", 1e4, 1e8, "6 bar"), _BY_MOTOR, GAUGE
    ] = None
    area_ratio: Annotated[float | None, Quantity("number", 0.1, 200.0, "30"), _BY_MOTOR] = None
    free_cycle_rate: Annotated[
        float | None,
        Quantity("frequency", 0.005, 50.0, "60 /min"),
        _BY_MOTOR,
        Typical(f"a motor's data sheet ({PRACTICE})", factor=1.1),
    ] = None
    exhaust_conductance: Annotated[
        float | None,
        Quantity("sonic conductance", 1e-10, 1e-5, "8 l/s/bar"),
        only_with("motor", "air"),
        Typical(OUR_CHOICE, factor=1.5),
    ] = None
    moving_mass: Annotated[
        float,
        Quantity("mass", 0.01, 1e3, "5 kg"),
        Typical(OUR_CHOICE, factor=1.5, acts_with=("profile", ("motor",))),
    ] = 5.0
    friction: Annotated[
        float,
        Quantity("fraction", 0.0, 0.5, "3 %"),
        Typical(OUR_CHOICE, factor=2.0, acts_with=("profile", ("motor",))),
    ] = FRICTION


LEAST_COMPLIANCE = 1e-15
"""Port compliance [m3/Pa] of a rigid line: the least that is accepted; the gas in the port gives more."""

OPEN_LINE = 1.5
"""Default loss coefficient of a line whose fittings are not given."""


def _default_barometric(data: dict[str, Any]) -> float:
    return barometric_pressure(data.get("altitude") or 0.0)


def _default_tank_gauge(data: dict[str, Any]) -> float:
    """An open tank, or what a ram plate presses with, whatever its seal takes."""
    force, across = data.get("ram_force"), data.get("ram_plate_diameter")
    return 4.0 * force / (math.pi * across**2) if force is not None and across else 0.0


def _default_feed(data: dict[str, Any]) -> Literal["open", "pressure"]:
    return "pressure" if data.get("tank_gauge_pressure") else "open"


def _default_lift(data: dict[str, Any]) -> float:
    """From the surface in a vessel up to the inlet check; nan where no vessel is given."""
    inlet, level = data.get("inlet_above_bottom"), data.get("vessel_level")
    return inlet - level if inlet is not None and level is not None else math.nan


def _default_loss_coefficient(data: dict[str, Any]) -> float:
    return 0.0 if data.get("fittings") else OPEN_LINE


def _default_port_compliance(data: dict[str, Any]) -> float:
    volume = math.pi / 8.0 * data.get("hose_diameter", math.nan) ** 2 * data.get("hose_length", math.nan)
    if data.get("line") == "rigid":
        return LEAST_COMPLIANCE
    if data.get("hose_flexing") is not None:
        return float(max(LEAST_COMPLIANCE, data["hose_flexing"] * volume))
    return float(min(PORT_COMPLIANCE, PORT_SHARE * volume / data.get("barometric_pressure", math.nan)))


_IN_VESSEL, _WITH_HOLES = NeededWith("vessel", ("cylinder", "cone")), NeededWith("strainer", ("holes",))
_UNDER_RAM = NeededWith("feed", ("ram plate",))


class Suction(Table):
    """From the vessel to the inlet port."""

    hose_length: Annotated[float, Quantity("length", 0.01, 100.0, "1.5 m")]
    hose_diameter: Annotated[float, diameter("38 mm"), replace(HOSE_BORE, acts_with=("line", ("hose",)))]
    line: Literal["hose", "rigid"] = "hose"
    hose_flexing: Annotated[
        float | None, Quantity("flexing", 1e-12, 8e-6, "0.5 %/bar"), Silent(), _HOSE_GIVES
    ] = None
    hose_roughness: Annotated[float, Quantity("length", 0.0, 5e-3, "1.5 um")] = 1.5e-6
    fittings: Annotated[
        tuple[str, ...], Names(tuple(FITTINGS)), Field(max_length=MOST_FITTINGS), Silent()
    ] = ()
    loss_coefficient: Annotated[
        float, Quantity("number", 0.0, 1e3, "1.5"), Typical(f"of a guess ({OUR_CHOICE})", factor=2.0)
    ] = Field(default_factory=_default_loss_coefficient)
    strainer: Annotated[Literal["none", "holes"], Silent()] = "none"
    strainer_holes: Annotated[float | None, Quantity("number", 1.0, 1e6, "200"), _WITH_HOLES] = None
    strainer_hole_diameter: Annotated[float | None, Quantity("length", 1e-4, 0.05, "3 mm"), _WITH_HOLES] = (
        None
    )
    strainer_thickness: Annotated[float | None, Quantity("length", 0.0, 0.05, "1 mm"), _WITH_HOLES] = None
    vessel: Annotated[Literal["given lift", "cylinder", "cone"], Silent()] = "given lift"
    vessel_diameter: Annotated[float | None, Quantity("length", 0.02, 20.0, "570 mm"), _IN_VESSEL] = None
    vessel_depth: Annotated[float | None, Quantity("length", 0.02, 20.0, "850 mm"), _IN_VESSEL] = None
    vessel_level: Annotated[float | None, Quantity("length", 1e-3, 20.0, "500 mm"), _IN_VESSEL] = None
    inlet_above_bottom: Annotated[float | None, Quantity("length", -50.0, 30.0, "900 mm"), _IN_VESSEL] = None
    pickup_above_bottom: Annotated[float | None, Quantity("length", 0.0, 20.0, "30 mm"), _IN_VESSEL] = None
    lift: Annotated[
        float,
        Quantity("length", -50.0, 10.0, "0.3 m"),
        NeededWith("vessel", ("given lift",)),
        Typical(
            f"the level falls at an even pace ({OUR_CHOICE})",
            amount=0.3,
            even=True,
        ),
    ] = Field(default_factory=_default_lift)
    temperature: Annotated[
        float | None,
        Quantity("temperature", 223.15, 473.15, "15 degC"),
        Silent(),
        Typical(
            f"a thermometer in a shop ({PRACTICE})",
            amount=2.0,
            acts_with=("material.temperature_law", tuple(LAWS_OF_TEMPERATURE)),
        ),
    ] = None
    ram_force: Annotated[
        float | None,
        Quantity("force", 0.0, 1e6, "8 kN"),
        _UNDER_RAM,
        Typical(f"less what the plate's seal takes ({OUR_CHOICE})", factor=1.2),
    ] = None
    ram_plate_diameter: Annotated[float | None, Quantity("length", 0.02, 2.0, "560 mm"), _UNDER_RAM] = None
    tank_gauge_pressure: Annotated[
        Gauge, NeededWith("feed", ("pressure",), "2 bar", free=("open",)), GAUGE
    ] = Field(default_factory=_default_tank_gauge)
    feed: Annotated[Literal["open", "pressure", "ram plate"], Silent()] = Field(default_factory=_default_feed)
    altitude: Annotated[float | None, Quantity("length", -500.0, 11e3, "1500 m"), Silent()] = None
    barometric_pressure: Annotated[
        float, Quantity("pressure", 2.2e4, 1.2e5, "1013 mbar"), InsteadOf("altitude")
    ] = Field(default_factory=_default_barometric)
    port_compliance: Annotated[
        float,
        Quantity("compliance", LEAST_COMPLIANCE, 1e-6, "10 cc/bar"),
        InsteadOf("hose_flexing"),
        replace(_HOSE_GIVES, acts_with=("line", ("hose",))),
    ] = Field(default_factory=_default_port_compliance)


def _default_hose_compliance(data: dict[str, Any]) -> float:
    length, d = data.get("hose_length") or 0.0, data.get("hose_diameter") or 0.0
    return float(max(HOSE_GIVE * math.pi / 4.0 * d**2 * length, 1e-15))


_AT_TIP = NeededWith("form", ("tip", "tip at pressure"))


class Outlet(Table):
    """Where the material goes: to a pressure, behind a resistance of which the program takes a small one
    where none is given; through a hose and a spray tip; or nowhere."""

    form: Literal["fixed pressure", "tip", "tip at pressure", "closed"] = "fixed pressure"
    gauge_pressure: Annotated[
        float | None,
        Quantity("pressure", 0.0, 1e8, "100 bar"),
        NeededWith("form", ("fixed pressure", "tip at pressure")),
        GAUGE,
    ] = None
    resistance: Annotated[float | None, Quantity("resistance", 1e3, 1e16, "1e9 Pa.s/m3")] = None
    hose_length: Annotated[float | None, Quantity("length", 0.01, 300.0, "15 m"), _AT_TIP] = None
    hose_diameter: Annotated[float | None, diameter("9.5 mm"), _AT_TIP, HOSE_BORE] = None
    hose_roughness: Annotated[float, Quantity("length", 0.0, 5e-3, "1.5 um")] = 1.5e-6
    hose_compliance: Annotated[
        float,
        Quantity("compliance", 1e-15, 1e-6, "0.2 cc/bar"),
        replace(_HOSE_GIVES, acts_with=("form", ("tip", "tip at pressure"))),
    ] = Field(default_factory=_default_hose_compliance)
    tip_diameter: Annotated[
        float | None,
        Quantity("length", 1e-5, 0.05, "0.53 mm"),
        _AT_TIP,
        Typical(f"new to worn ({OUR_CHOICE})", factor=1.05),
    ] = None
    tip_length: Annotated[float, Quantity("length", 0.0, 0.1, "0.5 mm")] = 0.0
    tip_discharge_coefficient: Annotated[
        float | None, Quantity("number", 0.2, 1.0, "0.8"), _AT_TIP, Typical(OUR_CHOICE, factor=1.1)
    ] = None
