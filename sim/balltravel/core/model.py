"""The lower as a system of ordinary differential equations (M3, M4, M6)."""

import math
from dataclasses import dataclass, field

import numpy as np

from balltravel.core.check import Law, law_at
from balltravel.core.contact import FREE, film, film_rate, spring
from balltravel.core.contents import pressure
from balltravel.core.friction import friction_ratio
from balltravel.core.lift import place_of
from balltravel.core.liquid import inertia_at
from balltravel.core.parameters import Array, Check, Material, Parameters, Suction
from balltravel.core.rheology import flow_curve
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


@dataclass
class Ball:
    """A check at one instant: its law, the mass that moves with its ball [kg], the force per dQ/dt of the
    piston's flow [kg/m2], the force on the ball with weight, spring, stop film and the push of the liquid in
    it [N], and the derivatives by lift and speed."""

    law: Law = field(default_factory=Law)
    mass: float = 0.0
    mass_z: float = 0.0
    coupling: float = 0.0
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
    """Pressure lost in the suction line [Pa] and its derivative with flow (M4a to M4c)."""
    speed = 4.0 * Q / (math.pi * suction.diameter**2)
    rate = 8.0 * abs(speed) / suction.diameter
    mu, mu_rate = flow_curve(suction.rheology, rate)
    # How mu grows with the flow, over mu, times the flow.
    grows = mu_rate * rate / mu
    reynolds = material.density * abs(speed) * suction.diameter / mu
    ratio, ratio_slope = friction_ratio(reynolds, suction.relative_roughness)
    resistance = mu * suction.laminar
    loss = resistance * ratio * Q + suction.minor * Q * abs(Q)
    slope = resistance * (ratio * (1.0 + grows) + reynolds * ratio_slope * (1.0 - grows))
    slope += 2.0 * suction.minor * abs(Q)
    if suction.strainer > 0.0:
        rate = suction.strainer_rate * abs(Q)
        mu, mu_rate = flow_curve(suction.rheology, rate)
        loss += mu * suction.strainer * Q
        slope += (mu + mu_rate * rate) * suction.strainer
    return loss, slope


@kernel
def check_at(
    check: Check,
    material: Material,
    z: float,
    w: float,
    dp: float,
    weight: float,
    surge: float,
    slopes: bool,
    out: Ball,
) -> None:
    """Law of a check and the force on its ball (M6a) into ``out``; ``surge`` is dQ/dt of the piston's flow
    through the check [m3/s2] (M6b); ``slopes``: derivatives too."""
    place = place_of(check, z)
    law_at(check, material, place, z, w, dp, slopes, out.law)
    i = inertia_at(check, place, z)
    out.mass, out.mass_z, out.coupling = check.ball_mass + i.mass, i.mass_z, i.coupling
    drag, drag_z = film(check, z)
    sheared, sheared_z = film_rate(check, z)
    rate = abs(w) * sheared
    mu, mu_rate = flow_curve(material.rheology, rate)
    own = -spring(check, z) - mu * drag * w - 0.5 * i.mass_z * w * w
    out.force = out.law.force - weight + surge * i.coupling + own
    if not slopes:
        return
    stiffer = mu * drag_z + mu_rate * abs(w) * sheared_z * drag
    own_z = -check.spring_rate - stiffer * w - 0.5 * i.mass_zz * w * w
    out.force_z = out.law.force_z + surge * i.coupling_z + own_z
    out.force_w = out.law.force_w - (mu + mu_rate * rate) * drag - i.mass_z * w


@kernel
def moment(p: Parameters, segment: int, t: float, y: Array, slopes: bool, n: Moment) -> None:
    """Everything that the rates and the guards are made of, at one instant, into ``n``; if ``slopes`` are
    asked for, what their derivatives are made of too.

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
    surge = p.lower.area * n.a
    z, w = y[INLET_LIFT], y[INLET_SPEED]
    check_at(p.inlet, m, z, w, n.port - n.lower, p.inlet.net_weight, surge, slopes, n.inlet)
    weight = p.piston.net_weight * (1.0 + n.a / p.gravity)
    z, w = y[PISTON_LIFT], y[PISTON_SPEED]
    check_at(p.piston, m, z, w, n.lower - n.upper, weight, -surge, slopes, n.piston)


@kernel
def assemble(p: Parameters, n: Moment, inlet_mode: int, piston_mode: int, part: Array, out: Array) -> None:
    """The balances (M3, M4, M6) from their parts (10, in the order named above) into ``out`` (13).

    Linear in the parts: the same lines give the rates and, from the parts' derivatives, theirs.
    """
    out[PORT] = part[LINE] - part[INLET]
    out[LINE_FLOW] = part[FORCE_ON_LINE] / p.suction.inertance
    out[LOWER] = part[INLET] - part[PISTON] - p.lower.area * part[SPEED]
    out[UPPER] = part[PISTON] - part[OUTLET] - p.upper.area * part[SPEED]
    out[INLET_LIFT] = part[INLET_W] if inlet_mode == FREE else 0.0
    out[INLET_SPEED] = part[FORCE_ON_INLET] / n.inlet.mass if inlet_mode == FREE else 0.0
    out[PISTON_LIFT] = part[PISTON_W] if piston_mode == FREE else 0.0
    out[PISTON_SPEED] = part[FORCE_ON_PISTON] / n.piston.mass if piston_mode == FREE else 0.0
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
    assemble(p, n, inlet_mode, piston_mode, part, out)


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
    push = n.inlet.coupling * p.lower.area
    shake = p.piston.net_weight / p.gravity + n.piston.coupling * p.lower.area
    by[TIME, INLET] = -inlet.flow_dp * n.lower_t
    by[TIME, FORCE_ON_INLET] = push * n.jerk - inlet.force_dp * n.lower_t
    by[TIME, PISTON] = piston.flow_dp * across
    by[TIME, FORCE_ON_PISTON] = piston.force_dp * across - shake * n.jerk
    by[TIME, OUTLET] = n.upper_t / p.outlet_resistance
    by[TIME, SPEED] = n.a


@kernel
def along_balls(n: Moment, inlet_mode: int, piston_mode: int, by: Array) -> None:
    """Derivatives of the parts by lifts and ball speeds; a ball at rest has none. What a mass that grows
    with lift takes from the acceleration is counted with the force."""
    if inlet_mode == FREE:
        by[INLET_LIFT, INLET] = n.inlet.law.flow_z
        by[INLET_LIFT, FORCE_ON_INLET] = n.inlet.force_z - n.inlet.force / n.inlet.mass * n.inlet.mass_z
        by[INLET_SPEED, INLET] = n.inlet.law.flow_w
        by[INLET_SPEED, FORCE_ON_INLET] = n.inlet.force_w
        by[INLET_SPEED, INLET_W] = 1.0
    if piston_mode == FREE:
        by[PISTON_LIFT, PISTON] = n.piston.law.flow_z
        by[PISTON_LIFT, FORCE_ON_PISTON] = n.piston.force_z - n.piston.force / n.piston.mass * n.piston.mass_z
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
        assemble(p, n, inlet_mode, piston_mode, by[direction], by_time)
        if direction < TIME:
            for row in range(SIZE):
                jacobian[row, direction] = by_time[row]
