"""What priming needs to know of a lower and its suction hose, and what can be said without running (M10)."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from balltravel.closures.families import resistance_of
from balltravel.core.model import line_loss
from balltravel.core.parameters import Drive
from balltravel.core.records import as_record
from balltravel.material.model import material_model
from balltravel.scenario.model import Check, Scenario, ScenarioError
from balltravel.scenario.rules.rule import STANDARD_GRAVITY, Fault
from balltravel.setup.drive import constant_speed
from balltravel.setup.flow_curves import density_of
from balltravel.setup.parameters import core_parameters, geometry_of
from balltravel.site.air import SeatLeak, seat_leak

LEAST_PORT = 1e-3
"""Port at least, as a share of the hose: air must have a place when the column has nearly arrived."""


@dataclass(frozen=True)
class AirCheck:
    """A ball check in air: pressure at which it opens, and which its ball takes from the air while it is
    open [Pa]; leak of the shut seat."""

    cracking: float
    leak: SeatLeak = field(default_factory=SeatLeak)


@dataclass(frozen=True)
class PrimingSetup:
    """What priming needs to know, SI, pressures absolute.

    ``rise``: of the inlet check over the surface, taken evenly along the hose; ``port``: volume between the
    hose's end and the inlet ball, > 0; ``dead``: of the lower chamber at bottom dead centre; ``outlet``: of
    the upper chamber; ``loss``: pressure that a column of a length [m] loses at a speed [m/s] > 0, odd in
    it; ``starting_drop``: that a yield stress takes before the whole hose flows; ``drive``: record or tuple;
    ``upper``: largest volume of the upper chamber.
    """

    hose_length: float
    hose_diameter: float
    rise: float
    port: float
    dead: float
    bore_area: float
    upper: float
    inlet: AirCheck
    piston: AirCheck
    density: float
    tank: float
    barometric: float
    outlet: float
    loss: Callable[[float, float], float]
    drive: Drive
    starting_drop: float = 0.0
    vapour: float = 0.0

    @property
    def hose_area(self) -> float:
        """Of the bore [m2]."""
        return math.pi * self.hose_diameter**2 / 4.0

    @property
    def hose_volume(self) -> float:
        """Of the hose and the port behind it [m3]."""
        return self.hose_area * self.hose_length + self.port

    @property
    def swept(self) -> float:
        """Bore area times stroke [m3]."""
        return float(self.bore_area * self.drive.stroke)


class PrimingLimits(NamedTuple):
    """What can be said without running: exact for tight checks and a material without inertia that may take
    its time; pressures [Pa absolute], lift [m].

    ``port``: lowest to which the lower can draw the port; ``lift``: highest at which the column still comes
    to the check, below 0 where the tank must stand higher; ``ratio``: (dead + swept)/dead; ``needed``: the
    ratio that opens the piston check with air from a full hose, inf where none does.
    """

    port: float
    lift: float
    ratio: float
    needed: float


def priming_limits(s: PrimingSetup) -> PrimingLimits:
    """M10f."""
    shut = s.outlet + s.piston.cracking
    port = shut * s.dead / (s.dead + s.swept) + s.inlet.cracking
    weight = s.density * STANDARD_GRAVITY
    drawn = max(s.barometric, s.tank, s.tank - weight * s.rise) - s.inlet.cracking
    return PrimingLimits(
        port,
        (s.tank - max(port, s.vapour) - s.starting_drop) / weight,
        (s.dead + s.swept) / s.dead if s.dead > 0.0 else math.inf,
        shut / drawn if drawn > 0.0 else math.inf,
    )


def setup_of(scenario: Scenario, against: float = 0.0) -> PrimingSetup:
    """What priming needs of a scenario; ``against``: gauge pressure at the outlet meanwhile [Pa] >= 0.

    Raises ScenarioError where the hose is too short for the lift.
    """
    suction, p = scenario.suction, core_parameters(scenario)
    length, rise = suction.hose_length, suction.lift
    if length < rise:
        allowed = f"at least the lift of {rise:g} m, for the hose must reach from surface to inlet check"
        raise ScenarioError([Fault("suction.hose_length", f"{length:g} m given", allowed, f'"{rise:g} m"')])
    hose = suction.temperature or scenario.material.temperature
    wall = as_record(p.suction._replace(minor=0.0, strainer=0.0, fittings=0.0))
    ends = as_record(p.suction._replace(laminar=0.0))
    material, area = as_record(p.material), math.pi * suction.hose_diameter**2 / 4.0

    def loss(filled: float, speed: float) -> float:
        flow = speed * area
        return float(line_loss(wall, material, flow)[0]) * filled / length + float(
            line_loss(ends, material, flow)[0]
        )

    seat = math.pi * scenario.inlet_check.seat_diameter**2 / 4.0 * scenario.inlet_check.seat_length
    return PrimingSetup(
        hose_length=length,
        hose_diameter=suction.hose_diameter,
        rise=rise,
        port=max(seat, LEAST_PORT * area * length),
        dead=scenario.lower.lower_dead_volume,
        bore_area=p.lower.area,
        upper=scenario.lower.upper_dead_volume - p.upper.area * scenario.lower.stroke,
        inlet=_check_in_air(scenario, scenario.inlet_check),
        piston=_check_in_air(scenario, scenario.piston_check),
        density=density_of(scenario.material, suction.temperature),
        tank=suction.barometric_pressure + suction.tank_gauge_pressure,
        barometric=suction.barometric_pressure,
        outlet=suction.barometric_pressure + against,
        loss=loss,
        drive=as_record(_stroke(scenario, p.drive)),
        starting_drop=4.0
        * length
        / suction.hose_diameter
        * material_model(scenario.material).yield_stress(hose),
        vapour=scenario.material.vapour_pressure,
    )


def _stroke(scenario: Scenario, known: Drive) -> Drive:
    """The stroke as prescribed; of a motor, which air hardly loads, constant speed at its rate alone."""
    drive = scenario.drive
    if drive.profile != "motor" or drive.free_cycle_rate is None:
        return known
    return constant_speed(drive, scenario.lower.stroke, 1.0 / drive.free_cycle_rate)


def _check_in_air(scenario: Scenario, check: Check) -> AirCheck:
    geometry = geometry_of(check, scenario.closures)
    r, R = geometry.contact_radius, geometry.ball_radius
    weight = check.ball_density * 4.0 / 3.0 * math.pi * R**3 * STANDARD_GRAVITY
    shut = float(resistance_of(geometry, np.zeros(1)).Rqq[0])
    discharge, kelvin = check.discharge_coefficient, scenario.material.temperature
    return AirCheck(
        max(weight + check.spring_preload - check.holding_force, 0.0) / (math.pi * r**2),
        seat_leak(check.leak_gap, r, shut, discharge, kelvin),
    )
