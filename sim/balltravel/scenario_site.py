"""What the user describes of a site: drive, suction and outlet."""

import math
from typing import Annotated, Any, Literal

from pydantic import Field

from balltravel.quantities import Duration, Gauge, Quantity, Table, diameter

PORT_COMPLIANCE, PORT_SHARE = 1e-10, 0.1
"""Default port compliance [m3/Pa], and the share of the port that it may give for barometric pressure: a
short stiff hose (reasoned, not measured)."""


class Drive(Table):
    """How the piston moves; ramp and dwell belong to the constant speed alone."""

    profile: Literal["constant speed", "harmonic"]
    cycle_rate: Annotated[float, Quantity("frequency", 0.005, 50.0, "30 /min")]
    ramp_time: Duration = 0.0
    dwell_time: Duration = 0.0


def _default_port_compliance(data: dict[str, Any]) -> float:
    volume = math.pi / 8.0 * data.get("hose_diameter", math.nan) ** 2 * data.get("hose_length", math.nan)
    return float(min(PORT_COMPLIANCE, PORT_SHARE * volume / data.get("barometric_pressure", math.nan)))


class Suction(Table):
    """From the tank to the inlet port."""

    hose_length: Annotated[float, Quantity("length", 0.01, 100.0, "1.5 m")]
    hose_diameter: Annotated[float, diameter("38 mm")]
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


class Outlet(Table):
    """Where the material goes; without a resistance the program takes a small one of its own."""

    gauge_pressure: Annotated[float, Quantity("pressure", 0.0, 1e8, "100 bar")]
    resistance: Annotated[float | None, Quantity("resistance", 1e3, 1e16, "1e9 Pa.s/m3")] = None
