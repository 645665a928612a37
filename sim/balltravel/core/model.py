"""The lower as a system of ordinary differential equations (M3, M4, M6)."""

import math
from dataclasses import dataclass, field

import numpy as np

from balltravel.core.check import Law, law
from balltravel.core.contact import FREE, film, spring
from balltravel.core.contents import pressure
from balltravel.core.friction import friction_ratio
from balltravel.core.parameters import Array, Check, Material, Parameters, Suction
from balltravel.core.rheology import viscosity
from balltravel.core.stroke import motion
from balltravel.jit import kernel

# States. The first STATES feed back; the volumes (and the position, integrated like them, against which the
# volume balance is closed) do not.
PORT, LINE_FLOW, LOWER, UPPER, INLET_LIFT, INLET_SPEED, PISTON_LIFT, PISTON_SPEED = range(8)
DRAWN, PASSED, DELIVERED, LINE_VOLUME, POSITION = range(8, 13)
STATES, SIZE = 8, 13
TIME = 8

# What the rates are made of: flows through inlet check, piston check, outlet and line [m3/s]; forces on the
# line [Pa] and the balls [N]; speeds of the piston and the balls [m/s].
INLET, PISTON, OUTLET, LINE = range(4)
FORCE_ON_LINE, FORCE_ON_INLET, FORCE_ON_PISTON = range(4, 7)
SPEED, INLET_W, PISTON_W = range(7, 10)
PARTS = 10

FADE = 0.05
"""Lift in seat radii at which half the flow is taken to follow the piston: below, the seat holds it (M6b)."""


@dataclass
class Ball:
    """A check at one instant: its law, its openness, the force on its ball with weight, spring, stop film and
    the push of the liquid in it [N], and the derivatives of that force by lift and speed."""

    law: Law = field(default_factory=Law)
    open: float = 0.0
    force: float = 0.0
    force_z: float = 0.0
    force_w: float = 0.0


@dataclass
class Moment:
    """The lower at one instant, filled by :func:`moment`, as a record; derivatives of pressures by own
    contents (``_y``) and by time (``_t``)."""

    v: float = 0.0
    a: float = 0.0
    jerk: float = 0.0
    port: float = 0.0
    port_y: float = 0.0
    lower: float = 0.0
    lower_y: float = 0.0
    lower_t: float = 0.0
    upper: float = 0.0
    upper_y: float = 0.0
    upper_t: float = 0.0
    outflow: float = 0.0
    line_force: float = 0.0
    line_force_Q: float = 0.0
    inlet: Ball = field(default_factory=Ball)
    piston: Ball = field(default_factory=Ball)


@kernel
def line_loss(suction: Suction, material: Material, Q: float) -> tuple[float, float]:
    """Pressure lost in the suction line [Pa] and its derivative with flow (M4a, M4b)."""
    speed = 4.0 * Q / (math.pi * suction.diameter**2)
    mu = viscosity(material.rheology, 8.0 * abs(speed) / suction.diameter, material.temperature)
    reynolds = material.density * abs(speed) * suction.diameter / mu
    ratio, ratio_slope = friction_ratio(reynolds, suction.relative_roughness)
    resistance = mu * suction.laminar
    loss = resistance * ratio * Q + suction.minor * Q * abs(Q)
    return loss, resistance * (ratio + reynolds * ratio_slope) + 2.0 * suction.minor * abs(Q)


@kernel
def check_at(
    check: Check,
    material: Material,
    z: float,
    w: float,
    dp: float,
    weight: float,
    thrust: float,
    out: Ball,
) -> None:
    """Law of a check and the force on its ball (M6a) into ``out``; ``thrust`` is the push of the accelerating
    liquid on a ball well off its seat (M6b) [N]."""
    mu = viscosity(material.rheology, abs(w) / check.seat_radius, material.temperature)
    law(check, mu, material.density, z, w, dp, out.law)
    drag, drag_z = film(check, z)
    out.open, open_z = openness(check, z)
    out.force = out.law.force - weight - spring(check, z) - mu * drag * w + thrust * out.open
    out.force_z = out.law.force_z - check.spring_rate - mu * drag_z * w + thrust * open_z
    out.force_w = out.law.force_w - mu * drag


@kernel
def openness(check: Check, z: float) -> tuple[float, float]:
    """How far the flow past a ball follows the piston: 0 on its seat, 1 well above; its slope [1/m] (M6b)."""
    reach = FADE * check.seat_radius
    s = (z / reach) ** 2
    return s / (1.0 + s), 2.0 * z / (reach * reach * (1.0 + s) ** 2)


@kernel
def moment(p: Parameters, segment: int, t: float, y: Array, n: Moment) -> None:
    """Everything that the rates, their derivatives and the guards are made of, at one instant, into ``n``.

    The outlet is a fixed pressure behind a small resistance (M8).
    """
    m = p.material
    x, n.v, n.a, n.jerk = motion(p.drive, segment, t)
    n.port, n.port_y, _ = pressure(m, p.reference_pressure, p.port, 0.0, y[PORT])
    n.lower, n.lower_y, lower_V = pressure(m, p.reference_pressure, p.lower, x, y[LOWER])
    n.upper, n.upper_y, upper_V = pressure(m, p.reference_pressure, p.upper, x, y[UPPER])
    n.lower_t = lower_V * p.lower.area * n.v
    n.upper_t = upper_V * p.upper.area * n.v
    n.outflow = (n.upper - p.outlet_pressure) / p.outlet_resistance
    loss, loss_Q = line_loss(p.suction, m, y[LINE_FLOW])
    n.line_force = p.suction.pressure - n.port - loss
    n.line_force_Q = -loss_Q
    pull = p.lower.area * n.a
    thrust = p.inlet.coupling_mass * pull
    z, w = y[INLET_LIFT], y[INLET_SPEED]
    check_at(p.inlet, m, z, w, n.port - n.lower, p.inlet.net_weight, thrust, n.inlet)
    weight, thrust = p.piston.net_weight * (1.0 + n.a / p.gravity), -p.piston.coupling_mass * pull
    z, w = y[PISTON_LIFT], y[PISTON_SPEED]
    check_at(p.piston, m, z, w, n.lower - n.upper, weight, thrust, n.piston)


@kernel
def assemble(p: Parameters, inlet_mode: int, piston_mode: int, part: Array, out: Array) -> None:
    """The balances (M3, M4, M6) from their parts (10, in the order named above) into ``out`` (13).

    Linear in the parts: the same lines give the rates and, from the parts' derivatives, theirs.
    """
    inlet_mass = p.inlet.ball_mass + p.inlet.added_mass
    piston_mass = p.piston.ball_mass + p.piston.added_mass
    out[PORT] = part[LINE] - part[INLET]
    out[LINE_FLOW] = part[FORCE_ON_LINE] / p.suction.inertance
    out[LOWER] = part[INLET] - part[PISTON] - p.lower.area * part[SPEED]
    out[UPPER] = part[PISTON] - part[OUTLET] - p.upper.area * part[SPEED]
    out[INLET_LIFT] = part[INLET_W] if inlet_mode == FREE else 0.0
    out[INLET_SPEED] = part[FORCE_ON_INLET] / inlet_mass if inlet_mode == FREE else 0.0
    out[PISTON_LIFT] = part[PISTON_W] if piston_mode == FREE else 0.0
    out[PISTON_SPEED] = part[FORCE_ON_PISTON] / piston_mass if piston_mode == FREE else 0.0
    out[DRAWN] = part[INLET]
    out[PASSED] = part[PISTON]
    out[DELIVERED] = part[OUTLET]
    out[LINE_VOLUME] = part[LINE]
    out[POSITION] = part[SPEED]


@kernel
def rates(p: Parameters, n: Moment, y: Array, inlet_mode: int, piston_mode: int, out: Array) -> None:
    """Time derivatives of all states into ``out`` (13)."""
    part = np.empty(PARTS)
    part[INLET] = n.inlet.law.flow
    part[PISTON] = n.piston.law.flow
    part[OUTLET] = n.outflow
    part[LINE] = y[LINE_FLOW]
    part[FORCE_ON_LINE] = n.line_force
    part[FORCE_ON_INLET] = n.inlet.force
    part[FORCE_ON_PISTON] = n.piston.force
    part[SPEED] = n.v
    part[INLET_W] = y[INLET_SPEED]
    part[PISTON_W] = y[PISTON_SPEED]
    assemble(p, inlet_mode, piston_mode, part, out)


@kernel
def along_chambers(p: Parameters, n: Moment, by: Array) -> None:
    """Derivatives of the parts by the contents, the line's flow and time: rows of ``by`` (9 x 10)."""
    inlet, piston = n.inlet.law, n.piston.law
    by[PORT, INLET] = inlet.flow_dp * n.port_y
    by[PORT, FORCE_ON_LINE] = -n.port_y
    by[PORT, FORCE_ON_INLET] = inlet.force_dp * n.port_y
    by[LINE_FLOW, LINE] = 1.0
    by[LINE_FLOW, FORCE_ON_LINE] = n.line_force_Q
    by[LOWER, INLET] = -inlet.flow_dp * n.lower_y
    by[LOWER, FORCE_ON_INLET] = -inlet.force_dp * n.lower_y
    by[LOWER, PISTON] = piston.flow_dp * n.lower_y
    by[LOWER, FORCE_ON_PISTON] = piston.force_dp * n.lower_y
    by[UPPER, PISTON] = -piston.flow_dp * n.upper_y
    by[UPPER, FORCE_ON_PISTON] = -piston.force_dp * n.upper_y
    by[UPPER, OUTLET] = n.upper_y / p.outlet_resistance
    across = n.lower_t - n.upper_t
    push = p.inlet.coupling_mass * p.lower.area * n.inlet.open
    shake = p.piston.net_weight / p.gravity + p.piston.coupling_mass * p.lower.area * n.piston.open
    by[TIME, INLET] = -inlet.flow_dp * n.lower_t
    by[TIME, FORCE_ON_INLET] = push * n.jerk - inlet.force_dp * n.lower_t
    by[TIME, PISTON] = piston.flow_dp * across
    by[TIME, FORCE_ON_PISTON] = piston.force_dp * across - shake * n.jerk
    by[TIME, OUTLET] = n.upper_t / p.outlet_resistance
    by[TIME, SPEED] = n.a


@kernel
def along_balls(n: Moment, inlet_mode: int, piston_mode: int, by: Array) -> None:
    """Derivatives of the parts by lifts and ball speeds; a ball at rest has none."""
    if inlet_mode == FREE:
        by[INLET_LIFT, INLET] = n.inlet.law.flow_z
        by[INLET_LIFT, FORCE_ON_INLET] = n.inlet.force_z
        by[INLET_SPEED, INLET] = n.inlet.law.flow_w
        by[INLET_SPEED, FORCE_ON_INLET] = n.inlet.force_w
        by[INLET_SPEED, INLET_W] = 1.0
    if piston_mode == FREE:
        by[PISTON_LIFT, PISTON] = n.piston.law.flow_z
        by[PISTON_LIFT, FORCE_ON_PISTON] = n.piston.force_z
        by[PISTON_SPEED, PISTON] = n.piston.law.flow_w
        by[PISTON_SPEED, FORCE_ON_PISTON] = n.piston.force_w
        by[PISTON_SPEED, PISTON_W] = 1.0


@kernel
def derivatives(
    p: Parameters, n: Moment, inlet_mode: int, piston_mode: int, jacobian: Array, by_time: Array
) -> None:
    """Exact derivatives of the rates by the states (13 x 8) and by time (13)."""
    by = np.zeros((STATES + 1, PARTS))
    along_chambers(p, n, by)
    along_balls(n, inlet_mode, piston_mode, by)
    for direction in range(STATES + 1):
        assemble(p, inlet_mode, piston_mode, by[direction], by_time)
        if direction < TIME:
            for row in range(SIZE):
                jacobian[row, direction] = by_time[row]
