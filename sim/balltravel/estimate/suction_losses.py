"""What takes the suction pressure at the piston's full speed: hose, check passage, gap at the seat."""

import math
from typing import NamedTuple

from balltravel.closures.ball_over_seat import passage_matrix
from balltravel.closures.table.edge_and_cage import BORE_SHEAR
from balltravel.core import parameters as core
from balltravel.core.check import Law, law
from balltravel.core.model import line_loss
from balltravel.core.records import as_record
from balltravel.core.rheology import viscosity
from balltravel.core.roots import root
from balltravel.material.flow_laws import ANY_RATE
from balltravel.material.model import material_model
from balltravel.scenario.model import Check, Scenario
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.flow_curves import density_of, rheology_of
from balltravel.setup.outlet import working_pressure
from balltravel.setup.parameters import core_parameters, full_flow, geometry_in, resting_pressure
from balltravel.setup.parameters import peak_flow as largest_flow
from balltravel.site.vapour import vapour_pressure


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

    @property
    def starved_by(self) -> str:
        """``hose`` or ``cage``, the larger of them, where the two alone exceed what there is; empty where
        they do not, or where the gap at the seat takes most."""
        if self.gap >= max(self.hose, self.passage) or not self.unfilled_by(self.hose, self.passage):
            return ""
        return "hose" if self.hose > self.passage else "cage"


def peak_flow(p: core.Parameters) -> float:
    """Bore area times the largest piston speed [m3/s]."""
    return largest_flow(p.drive, p.lower.area)


def bore_viscosity(scenario: Scenario, flow: float, radius: float) -> float:
    """Viscosity [Pa s] at which a bore of a radius [m] loses its pressure at a flow [m3/s]."""
    rheology = rheology_of(scenario.material, cycle_rate_of(scenario))
    return float(viscosity(as_record(rheology), BORE_SHEAR * flow / radius**3))


def drop_at(check: core.Check, material: core.Material, lift: float, flow: float) -> tuple[float, float]:
    """Pressure [Pa] that a check takes with its ball held at a lift [m], by the law that a run uses, and the
    viscosity in the cage and bores [Pa s]; ``flow`` [m3/s] above 0."""
    record, pumped, out = as_record(check), as_record(material), as_record(Law())

    def missing(log_drop: float) -> float:
        law(record, pumped, lift, 0.0, math.exp(log_drop), out)
        return out.flow - flow

    return math.exp(float(root(missing, -60.0, 60.0, xtol=1e-10))), float(out.cage)


def check_loss(p: core.Parameters, flow: float) -> tuple[float, float]:
    """Pressure [Pa] that the inlet check takes with its ball on the stop, by the law that a run uses, and the
    viscosity in the cage and bores [Pa s]."""
    return drop_at(p.inlet, p.material, p.inlet.travel, flow)


def yield_in_lower(scenario: Scenario) -> float:
    """Yield stress [Pa] of the material at its temperature in the lower."""
    return material_model(scenario.material).yield_stress(scenario.material.temperature)


def viscosity_in_lower(scenario: Scenario, rate: float = ANY_RATE) -> float:
    """Viscosity [Pa s] of the material in the lower at a shear rate [1/s]."""
    return float(material_model(scenario.material).viscosity(rate, scenario.material.temperature))


def yield_share(scenario: Scenario) -> float:
    """Share of the yield stress in the stress in the inlet check's seat bore at the piston's full speed."""
    flow, radius = full_flow(scenario), 0.5 * scenario.inlet_check.seat_diameter
    stress = bore_viscosity(scenario, flow, radius) * BORE_SHEAR * flow / radius**3
    return yield_in_lower(scenario) / stress


def yield_in_hose(scenario: Scenario) -> float:
    """Pressure [Pa] below which a yield stress lets nothing pass the suction hose: 4 L tau_y/d."""
    hose = scenario.suction
    tau = material_model(scenario.material).yield_stress(hose.temperature or scenario.material.temperature)
    return 4.0 * hose.hose_length / hose.hose_diameter * tau


def vapour_in_line(scenario: Scenario) -> float:
    """Vapour pressure [Pa] of the warmer of hose and lower, where a solvent tells the hose's."""
    m, kelvin = scenario.material, scenario.suction.temperature
    if m.solvent is None or kelvin is None:
        return m.vapour_pressure
    return max(m.vapour_pressure, vapour_pressure(m.solvent, kelvin))


def available_pressure(scenario: Scenario) -> float:
    """Pressure [Pa] there is to spend on the intake: at rest in the inlet port, less vapour pressure."""
    return resting_pressure(scenario) - vapour_in_line(scenario)


def suction_losses(scenario: Scenario) -> SuctionLosses:
    """Static estimate of the losses on the intake with the inlet ball on its stop."""
    p = core_parameters(scenario)
    flow = peak_flow(p)
    geometry = geometry_in(
        scenario, scenario.inlet_check, scenario.inlet_travel, lambda: cycle_rate_of(scenario)
    )
    whole, mu = check_loss(p, flow)
    passage = mu * flow / geometry.contact_radius**3 * float(passage_matrix(geometry).Rqq[0])
    hose, _ = line_loss(as_record(p.suction), as_record(p.material), flow)
    return SuctionLosses(
        hose=float(hose),
        passage=min(passage, whole),
        gap=max(whole - passage, 0.0),
        available=available_pressure(scenario),
    )


def feed_excess(scenario: Scenario) -> float:
    """Pressure of the feed at the inlet port at rest, less that of the outlet [Pa]. Above zero both checks
    stand open and material runs through the lower, whatever the piston does. At a tip the outlet's is what
    the tip takes of the mean flow of a full lower."""
    return resting_pressure(scenario) - scenario.suction.barometric_pressure - outlet_load(scenario)


def outlet_load(scenario: Scenario) -> float:
    """Pressure [Pa] over the atmosphere's against which the lower delivers if it fills."""
    return working_pressure(scenario, cycle_rate_of(scenario))


def seat_reynolds(scenario: Scenario, check: Check) -> float:
    """Reynolds number in a check's seat bore at the largest piston speed; both checks pass that flow."""
    flow = full_flow(scenario)
    mu = bore_viscosity(scenario, flow, 0.5 * check.seat_diameter)
    return 4.0 * density_of(scenario.material) * flow / (math.pi * mu * check.seat_diameter)
