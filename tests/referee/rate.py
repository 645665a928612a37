"""The rate at which a motor strokes about, and the pressure at a tip: the size of small things, and how a run
begins (docs/model.md, "Start, cycles, end")."""

import math

from referee.passages import hose_of, tip_of
from referee.rheology import flow_curve
from scipy.optimize import brentq

SLOWEST = 0.02


def pressure_of_outlet(scenario, f):
    """Gauge pressure at the outlet; what hose and tip take of the mean flow of a full lower."""
    outlet = scenario.outlet
    if outlet.form != "tip":
        return outlet.gauge_pressure or 0.0
    rho, curve = scenario.material.density, flow_curve(scenario.material, f)
    mean = math.pi / 4 * scenario.lower.bore**2 * scenario.lower.stroke * f
    return hose_of(outlet, rho, curve).loss(mean) + tip_of(outlet, rho, curve).drop(mean)


def rate_about(scenario, motor, A_c, A_r):
    """Rate at which the forces of a motor balance steadily in a full lower, as the mean of both strokes."""
    free = scenario.drive.free_cycle_rate

    def balanced(f):
        p = pressure_of_outlet(scenario, f)
        loads = [p * area + motor.friction for area in (A_c - A_r, A_r)]
        return free * sum(math.sqrt(max(1 - load / motor.stall, SLOWEST**2)) for load in loads) / 2

    if scenario.outlet.form != "tip":
        return balanced(free)
    return brentq(lambda f: balanced(f) - f, SLOWEST / 2 * free, free, rtol=1e-12)
