"""What takes the suction pressure at the piston's full speed: hose, check passage, gap at the seat."""

import math
from typing import NamedTuple

import numpy as np

from balltravel.closures.ball_over_seat import (
    gap_over_seat_radius,
    loss_coefficient,
    passage_matrix,
)
from balltravel.closures.lift_table import resistance_of
from balltravel.core import parameters as core
from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.parameters import core_parameters, geometry_of
from balltravel.scenario import Check, Scenario


class SuctionLosses(NamedTuple):
    """Pressure losses [Pa] at the largest piston speed if the chamber filled, and the pressure there is to
    spend: suction pressure at rest less vapour pressure [Pa]. The jet's loss counts with the gap."""

    hose: float
    passage: float
    gap: float
    available: float

    @property
    def total(self) -> float:
        """All losses [Pa]."""
        return self.hose + self.passage + self.gap

    def unfilled_by(self, *losses: float) -> bool:
        """Whether these losses alone exceed what there is."""
        return sum(losses) > self.available


def peak_flow(p: core.Parameters) -> float:
    """Bore area times the largest piston speed [m3/s]."""
    drive = p.drive
    if drive.angular_speed > 0.0:
        return p.lower.area * 0.5 * drive.stroke * drive.angular_speed
    return p.lower.area * float(np.max(np.abs(drive.speed)))


def suction_losses(scenario: Scenario) -> SuctionLosses:
    """Static estimate of the losses on the intake with the inlet ball on its stop."""
    p = core_parameters(scenario)
    flow = peak_flow(p)
    geometry = geometry_of(scenario.inlet_check, scenario.closures)
    per_flow = scenario.material.viscosity * flow / geometry.contact_radius**3
    lift = np.array([scenario.inlet_travel])
    wide = gap_over_seat_radius(geometry, lift)
    head = 0.5 * scenario.material.density * (flow / (math.pi * geometry.contact_radius**2)) ** 2
    jet = head * float((loss_coefficient(geometry, lift) / wide**2)[0])
    hose, _ = line_loss(as_record(p.suction), as_record(p.material), flow)
    whole, passage = (float(m.Rqq[0]) for m in (resistance_of(geometry, lift), passage_matrix(geometry)))
    return SuctionLosses(
        hose=float(hose),
        passage=per_flow * passage,
        gap=per_flow * max(whole - passage, 0.0) + jet,
        available=p.suction.pressure - p.material.vapour_pressure,
    )


def feed_excess(scenario: Scenario) -> float:
    """Pressure of the feed at the inlet port at rest, less that of the outlet [Pa]. Above zero both checks
    stand open and material runs through the lower, whatever the piston does."""
    p = core_parameters(scenario)
    return p.suction.pressure - p.outlet_pressure


def seat_reynolds(scenario: Scenario, check: Check) -> float:
    """Reynolds number in a check's seat bore at the largest piston speed; both checks pass that flow."""
    flow = peak_flow(core_parameters(scenario))
    material = scenario.material
    return 4.0 * material.density * flow / (math.pi * material.viscosity * check.seat_diameter)
