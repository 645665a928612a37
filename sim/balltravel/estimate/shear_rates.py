"""The shear rates that a lower makes, place by place: where a flow curve must be known."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from balltravel.closures.lift_table import edge_gap
from balltravel.closures.settling import settling_rate, settling_speed
from balltravel.closures.table.edge_and_cage import BORE_SHEAR, cage_rates, edge_rates
from balltravel.core.rheology import Rheology
from balltravel.material.model import material_model
from balltravel.scenario.model import Check, Scenario
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.flow_curves import density_of, rheology_of
from balltravel.setup.parameters import cage_radius, full_flow, geometry_of, strainer_of
from balltravel.units import to_texts

SLOW = 0.1
"""Slow flow over that at the piston's full speed (our choice)."""


class ShearedPlace(NamedTuple):
    """A place in the lower, and the slowest and fastest shear rate [1/s] there."""

    name: str
    slowest: float
    fastest: float


def places(scenario: Scenario) -> tuple[ShearedPlace, ...]:
    """Where the material is sheared, with the shear rates [1/s] whose viscosity counts there.

    From a tenth of the piston's full speed to full speed, the chamber filling: 8 U/d in the suction hose,
    and in each check those of the model (M9a): in the seat's bore, at the edge with the ball on its stop
    and at a tenth of the travel, beside the ball in its cage. A ball that settles in still material: at its
    steady speed alone; left out where the yield stress holds it.
    """
    flow = full_flow(scenario)
    hose = 32.0 * flow / (math.pi * scenario.suction.hose_diameter**3)  # 8 U/d
    rheology = rheology_of(scenario.material, cycle_rate_of(scenario))
    sheared = [ShearedPlace("suction hose", SLOW * hose, hose)]
    strainer = strainer_of(scenario.suction)[1] * flow
    if strainer > 0.0:
        sheared.append(ShearedPlace("strainer's holes", SLOW * strainer, strainer))
    for name, check, travel in (
        ("inlet check", scenario.inlet_check, scenario.inlet_travel),
        ("piston check", scenario.piston_check, scenario.piston_check.travel),
    ):
        rates = in_check(scenario, check, travel, flow)
        sheared += [ShearedPlace(f"{name}: {where}", SLOW * rate, rate) for where, rate in rates.items()]
        sheared += _settling(f"{name}: ball that settles", scenario, check, rheology)
    return tuple(sheared)


def in_check(scenario: Scenario, check: Check, travel: float, flow: float) -> dict[str, float]:
    """Shear rates [1/s] in a check at a flow [m3/s] past a held ball: place -> first rate (M9a)."""
    geometry = geometry_of(check, scenario.closures)
    r, R, Rc = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    gap = edge_gap(geometry, np.array([travel, 0.1 * travel]))
    edge, _ = edge_rates(R / r, Rc / r, gap)
    at_stop, near = edge * flow / (r**3 * gap**2)
    lifts = to_texts((travel, 0.1 * travel), "length", 3)
    return {
        "seat bore": BORE_SHEAR * flow / geometry.seat_radius**3,
        f"edge, lift {lifts[0]}": float(at_stop),
        f"edge, lift {lifts[1]}": float(near),
        "beside the ball": cage_rates(R / Rc)[0] * flow / Rc**3,
    }


def _settling(name: str, scenario: Scenario, check: Check, rheology: Rheology) -> Iterator[ShearedPlace]:
    ratio, size = 0.5 * check.ball_diameter / cage_radius(check), check.ball_diameter
    density = density_of(scenario.material)
    fall = abs(settling_speed(rheology, size, check.ball_density, density, STANDARD_GRAVITY, ratio))
    if fall > 0.0:
        rate = settling_rate(rheology, fall, size, ratio)
        yield ShearedPlace(name, rate, rate)


def read_rates(scenario: Scenario) -> tuple[float, float] | None:
    """Least and largest shear rate [1/s] of the readings that a law which is not Newtonian was fitted to;
    None where there is no such law."""
    known = material_model(scenario.material)
    return None if known.fitted is None or known.newtonian else known.fitted.rates


def unread(scenario: Scenario) -> tuple[ShearedPlace, ...]:
    """The places whose shear rates the readings do not span: there the law is a guess."""
    rates = read_rates(scenario)
    if rates is None:
        return ()
    low, high = rates
    return tuple(place for place in places(scenario) if place.slowest < low or place.fastest > high)
