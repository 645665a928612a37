"""The lower as a system of ordinary differential equations (M3, M4, M6)."""

import math
from dataclasses import dataclass, field

import numpy as np

from balltravel.core.check import Law, law_at
from balltravel.core.contact import FREE, film, film_rate, spring
from balltravel.core.contents import by_gas, pressure
from balltravel.core.friction import friction_ratio
from balltravel.core.gas import Release, release
from balltravel.core.jit import formula, kernel
from balltravel.core.lift import place_of
from balltravel.core.liquid import inertia_at, released, squeezed
from balltravel.core.motor import BRAKE, DRIVE, HELD, Push, direction_of, phase_of, push
from balltravel.core.narrow import narrow_flow
from balltravel.core.parameters import NO_MOTOR, Array, Check, Material, Parameters, Suction
from balltravel.core.rheology import flow_curve
from balltravel.core.stroke import motion

# States. The first STATES feed back in every lower, the next up to WHOLE in one with a motor, an outlet hose
# or gas that comes out of solution; the volumes (and the position, integrated like them, against which the
# volume balance is closed) do not.
PORT, LINE_FLOW, LOWER, UPPER, INLET_LIFT, INLET_SPEED, PISTON_LIFT, PISTON_SPEED = range(8)
STATES = 8
X, V, AIR_BELOW, AIR_ABOVE, OUT_FLOW, STORE, GAS_PORT, GAS_LOWER = range(STATES, 16)
WHOLE = 16
DRAWN, PASSED, DELIVERED, LINE_VOLUME, POSITION, PACKING_VOLUME, ROD_VOLUME, SPRAYED = range(WHOLE, 24)
SIZE = 24
TIME = WHOLE

# What the rates are made of: flows through inlet check, piston check, outlet, line, piston packing, rod
# packing and tip [m3/s]; forces on the columns in line and outlet hose [Pa] and on the balls [N]; speeds of
# piston and balls [m/s]; the piston's acceleration [m/s2]; changes of the air's pressures [Pa/s] and of the
# gas out of solution in port and chamber but for what flows carry [m3/s].
INLET, PISTON, OUTLET, LINE, PACKING, ROD, TIP = range(7)
FORCE_ON_LINE, FORCE_ON_OUTLET, FORCE_ON_INLET, FORCE_ON_PISTON = range(7, 11)
SPEED, INLET_W, PISTON_W, ACCELERATION = range(11, 15)
BELOW, ABOVE, FREED_PORT, FREED_LOWER = range(15, 19)
PARTS = 19


@dataclass
class Ball:
    """A check at one instant: its law, the mass that moves with its ball [kg], the force per dQ/dt of the
    piston's flow [kg/m2], the force on the ball with weight, spring, stop film and the push of the liquid in
    it [N], and its derivatives by pressure drop, lift and speed."""

    law: Law = field(default_factory=Law)
    mass: float = 0.0
    mass_z: float = 0.0
    coupling: float = 0.0
    force: float = 0.0
    force_dp: float = 0.0
    force_z: float = 0.0
    force_w: float = 0.0


@dataclass
class Moment:
    """The lower at one instant, filled by :func:`moment`, as a record; derivatives of pressures by own
    contents (``_y``), position (``_x``), time (``_t``) and gas out of solution (``_G``). ``brake``: the
    acceleration at which a motor's stroke ends [m/s2], ``since``: when its valve shifted [s]; both are
    kept, not filled. ``balance``: the acceleration that the forces on the piston would give it [m/s2].
    ``part``, ``by``: scratch for the parts of the rates and their derivatives by states and time.
    ``driven``, ``held``: 1 while the balance of forces moves the piston, or is to release it; ``up``: 1 or
    -1, where the motor pushes."""

    brake: float = 0.0
    since: float = 0.0
    driven: float = 0.0
    held: float = 0.0
    up: float = 0.0
    balance: float = 0.0
    x: float = 0.0
    v: float = 0.0
    a: float = 0.0
    jerk: float = 0.0
    port: float = 0.0
    port_y: float = 0.0
    lower: float = 0.0
    lower_y: float = 0.0
    lower_x: float = 0.0
    lower_t: float = 0.0
    upper: float = 0.0
    upper_y: float = 0.0
    upper_x: float = 0.0
    upper_t: float = 0.0
    port_G: float = 0.0
    lower_G: float = 0.0
    store: float = 0.0
    store_y: float = 0.0
    packing: float = 0.0
    packing_dp: float = 0.0
    rod: float = 0.0
    rod_dp: float = 0.0
    tip: float = 0.0
    tip_dp: float = 0.0
    outflow: float = 0.0
    outflow_dp: float = 0.0
    outlet_force: float = 0.0
    outlet_force_Q: float = 0.0
    line_force: float = 0.0
    line_force_Q: float = 0.0
    inlet: Ball = field(default_factory=Ball)
    piston: Ball = field(default_factory=Ball)
    part: Array = field(default_factory=lambda: np.zeros(PARTS))
    by: Array = field(default_factory=lambda: np.zeros((WHOLE + 1, PARTS)))
    push: Push = field(default_factory=Push)
    port_gas: Release = field(default_factory=Release)
    lower_gas: Release = field(default_factory=Release)


@kernel
def forget(n: Moment) -> None:
    """Nothing is left of the run before where it alone had a motor, an outlet hose or gas."""
    n.brake, n.since, n.driven, n.held, n.up, n.balance = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    n.store, n.store_y, n.tip, n.tip_dp, n.outlet_force, n.outlet_force_Q = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    n.port_G, n.lower_G = 0.0, 0.0
    motor = n.push
    motor.force, motor.by_x, motor.by_v, motor.by_t = 0.0, 0.0, 0.0, 0.0
    motor.by_below, motor.by_above = 0.0, 0.0
    motor.below, motor.below_x, motor.below_v, motor.below_own = 0.0, 0.0, 0.0, 0.0
    motor.above, motor.above_x, motor.above_v, motor.above_own = 0.0, 0.0, 0.0, 0.0
    for gas in (n.port_gas, n.lower_gas):
        gas.share, gas.share_y, gas.share_G = 0.0, 0.0, 0.0
        gas.rate, gas.rate_p, gas.rate_y, gas.rate_G = 0.0, 0.0, 0.0, 0.0


@formula
def line_loss(suction: Suction, material: Material, Q: float) -> tuple[float, float]:
    """Pressure lost in the suction line [Pa] and its derivative with flow (M4a to M4d)."""
    speed = 4.0 * Q / (math.pi * (suction.diameter * suction.diameter))
    rate = 8.0 * abs(speed) / suction.diameter
    mu, mu_rate = flow_curve(suction.rheology, rate)
    # How mu grows with the flow, over mu, times the flow.
    grows = mu_rate * rate / mu if mu_rate != 0.0 else 0.0
    reynolds = material.density * abs(speed) * suction.diameter / mu
    ratio, ratio_slope = friction_ratio(reynolds, suction.relative_roughness)
    resistance = mu * suction.laminar
    fittings = mu * suction.fittings
    loss = (resistance * ratio + fittings) * Q + suction.minor * Q * abs(Q)
    slope = resistance * (ratio * (1.0 + grows) + reynolds * ratio_slope * (1.0 - grows))
    slope += fittings * (1.0 + grows)
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
    i = inertia_at(check, place, z)
    law_at(check, material, place, z, w, dp, squeezed(check, i, w), slopes, out.law)
    out.mass, out.mass_z, out.coupling = check.ball_mass + i.mass, i.mass_z, i.coupling
    drag, drag_z = film(check, z)
    sheared, sheared_z = film_rate(check, z)
    rate = abs(w) * sheared
    mu, mu_rate = flow_curve(material.rheology, rate)
    # The stream through the seat is faster than the ball by ``past`` (M6b).
    area = math.pi * check.seat_radius * check.seat_radius
    past = out.law.flow / area - w
    held = released(i, w, past)
    carried = held * past + 0.5 * (i.stream_z - i.own_z) * w * w
    own = -spring(check, z) - mu * drag * w + carried
    out.force = out.law.force - weight + surge * i.coupling + own
    if not slopes:
        return
    stiffer = mu * drag_z + mu_rate * abs(w) * sheared_z * drag
    by_flow = held / area
    held_z, held_w = (i.stream_zz * w, i.stream_z) if held < 0.0 else (0.0, 0.0)
    carried_z = held_z * past + 0.5 * (i.stream_zz - i.own_zz) * w * w
    own_z = -check.spring_rate - stiffer * w + carried_z
    out.force_dp = out.law.force_dp + by_flow * out.law.flow_dp
    out.force_z = out.law.force_z + by_flow * out.law.flow_z + surge * i.coupling_z + own_z
    own_w = -(mu + mu_rate * rate) * drag + (i.stream_z - i.own_z) * w + held_w * past - held
    out.force_w = out.law.force_w + by_flow * out.law.flow_w + own_w


@kernel
def chambers(p: Parameters, y: Array, n: Moment) -> None:
    """Pressures of port and chambers into ``n``."""
    m = p.material
    n.port, n.port_y, port_V = pressure(m, p.reference_pressure, p.port, 0.0, y[PORT], y[GAS_PORT])
    n.lower, n.lower_y, lower_V = pressure(m, p.reference_pressure, p.lower, n.x, y[LOWER], y[GAS_LOWER])
    n.upper, n.upper_y, upper_V = pressure(m, p.reference_pressure, p.upper, n.x, y[UPPER])
    n.lower_x, n.upper_x = lower_V * p.lower.area, upper_V * p.upper.area
    n.lower_t, n.upper_t = n.lower_x * n.v, n.upper_x * n.v
    if m.dissolved > 0.0:
        n.port_G = by_gas(m, p.reference_pressure, n.port, n.port_y, port_V)
        n.lower_G = by_gas(m, p.reference_pressure, n.lower, n.lower_y, lower_V)
        release(m, p.reference_pressure, p.port, 0.0, y[PORT], y[GAS_PORT], n.port, n.port_gas)
        release(m, p.reference_pressure, p.lower, n.x, y[LOWER], y[GAS_LOWER], n.lower, n.lower_gas)


@kernel
def outlet(p: Parameters, y: Array, n: Moment) -> None:
    """What leaves the upper chamber into ``n``: through the outlet, a fixed pressure behind a resistance or a
    hose with a tip (M8), and past both packings."""
    m = p.material
    if p.outlet.hose == 0:
        n.outflow, n.outflow_dp = (
            (n.upper - p.outlet_pressure) / p.outlet_resistance,
            1.0 / p.outlet_resistance,
        )
    else:
        n.outflow, n.outflow_dp = y[OUT_FLOW], 0.0
        n.store, n.store_y, _ = pressure(m, p.reference_pressure, p.outlet.store, 0.0, y[STORE])
        loss, loss_Q = line_loss(p.outlet.line, m, y[OUT_FLOW])
        n.outlet_force, n.outlet_force_Q = n.upper - n.store - loss, -loss_Q
        n.tip, n.tip_dp = narrow_flow(p.outlet.tip, m.rheology, n.store - p.reference_pressure)
    n.packing, n.packing_dp = narrow_flow(p.piston_packing, m.rheology, n.upper - n.lower)
    n.rod, n.rod_dp = narrow_flow(p.rod_packing, m.rheology, n.upper - p.reference_pressure)


@kernel
def driven(p: Parameters, segment: int, t: float, y: Array, n: Moment) -> None:
    """The piston's acceleration by a motor into ``n``: where it is driven by the balance of forces (M1b)."""
    motor, phase = p.motor, phase_of(segment)
    since = t - n.since
    below, above = y[AIR_BELOW], y[AIR_ABOVE]
    push(motor, segment, since, p.drive.stroke, p.reference_pressure, n.x, n.v, below, above, n.push)
    rod = p.lower.area + p.upper.area
    load = n.lower * p.lower.area + n.upper * p.upper.area - p.reference_pressure * rod
    n.balance = (n.push.force + load) / motor.mass - p.gravity
    n.a, n.jerk = n.brake if phase == BRAKE else 0.0, 0.0
    n.held = 1.0 if phase == HELD else 0.0
    n.driven, n.up = 0.0, direction_of(segment)
    if phase == DRIVE:
        n.driven, n.a, n.jerk = 1.0, n.balance, n.push.by_t / motor.mass


@kernel
def moment(p: Parameters, segment: int, t: float, y: Array, slopes: bool, n: Moment) -> None:
    """Everything that the rates and the guards are made of, at one instant, into ``n``; if ``slopes`` are
    asked for, what their derivatives are made of too."""
    m = p.material
    if p.motor.kind == NO_MOTOR:
        n.x, n.v, n.a, n.jerk = motion(p.drive, segment, t)
    else:
        n.x, n.v = y[X], y[V]
    chambers(p, y, n)
    outlet(p, y, n)
    if p.motor.kind != NO_MOTOR:
        driven(p, segment, t, y, n)
    loss, loss_Q = line_loss(p.suction, m, y[LINE_FLOW])
    n.line_force = p.suction.pressure - n.port - loss
    n.line_force_Q = -loss_Q
    surge = p.lower.area * n.a
    z, w = y[INLET_LIFT], y[INLET_SPEED]
    check_at(p.inlet, m, z, w, n.port - n.lower, p.inlet.net_weight, surge, slopes, n.inlet)
    weight = p.piston.net_weight + p.piston.net_weight / p.gravity * n.a
    z, w = y[PISTON_LIFT], y[PISTON_SPEED]
    check_at(p.piston, m, z, w, n.lower - n.upper, weight, -surge, slopes, n.piston)


@kernel
def assemble(p: Parameters, n: Moment, inlet_mode: int, piston_mode: int, part: Array, out: Array) -> None:
    """The balances (M3, M4, M6) from their parts (19, in the order named above) into ``out`` (24).

    Linear in the parts: the same lines give the rates and, from the parts' derivatives, theirs. Most of those
    are 0, which a GPU divides slowly: so they are multiplied by a reciprocal.
    """
    out[PORT] = part[LINE] - part[INLET]
    out[LINE_FLOW] = part[FORCE_ON_LINE] * (1.0 / p.suction.inertance)
    out[LOWER] = part[INLET] - part[PISTON] + part[PACKING] - p.lower.area * part[SPEED]
    out[UPPER] = part[PISTON] - part[OUTLET] - part[PACKING] - part[ROD] - p.upper.area * part[SPEED]
    out[INLET_LIFT] = part[INLET_W] if inlet_mode == FREE else 0.0
    out[INLET_SPEED] = part[FORCE_ON_INLET] * (1.0 / n.inlet.mass) if inlet_mode == FREE else 0.0
    out[PISTON_LIFT] = part[PISTON_W] if piston_mode == FREE else 0.0
    out[PISTON_SPEED] = part[FORCE_ON_PISTON] * (1.0 / n.piston.mass) if piston_mode == FREE else 0.0
    out[DRAWN] = part[INLET]
    out[PASSED] = part[PISTON]
    out[DELIVERED] = part[OUTLET]
    out[LINE_VOLUME] = part[LINE]
    out[POSITION] = part[SPEED]
    out[PACKING_VOLUME] = part[PACKING]
    out[ROD_VOLUME] = part[ROD]
    out[SPRAYED] = part[TIP]
    for state in range(X, WHOLE):
        out[state] = 0.0
    if p.more == 1:
        assemble_more(p, n, part, out)


@kernel
def assemble_more(p: Parameters, n: Moment, part: Array, out: Array) -> None:
    """The same of motor, outlet hose and gas. What comes back through a check brings the gas of where it
    comes from; what has passed the piston is under pressure, where gas goes back into solution."""
    if p.motor.kind != NO_MOTOR:
        out[X], out[V] = part[SPEED], part[ACCELERATION]
        out[AIR_BELOW], out[AIR_ABOVE] = part[BELOW], part[ABOVE]
    if p.outlet.hose == 1:
        out[OUT_FLOW] = part[FORCE_ON_OUTLET] * (1.0 / p.outlet.line.inertance)
        out[STORE] = part[OUTLET] - part[TIP]
    if p.material.dissolved > 0.0:
        carried = (n.port_gas.share if n.inlet.law.flow >= 0.0 else n.lower_gas.share) * part[INLET]
        out[GAS_PORT] = part[FREED_PORT] - carried
        out[GAS_LOWER] = part[FREED_LOWER] + carried
        if n.piston.law.flow > 0.0:
            out[GAS_LOWER] -= n.lower_gas.share * part[PISTON]
        if n.packing < 0.0:
            out[GAS_LOWER] += n.lower_gas.share * part[PACKING]


@kernel
def rates(p: Parameters, n: Moment, y: Array, inlet_mode: int, piston_mode: int, out: Array) -> None:
    """Time derivatives of all states into ``out`` (24)."""
    part = n.part
    part[INLET] = n.inlet.law.flow
    part[PISTON] = n.piston.law.flow
    part[OUTLET] = n.outflow
    part[LINE] = y[LINE_FLOW]
    part[PACKING], part[ROD], part[TIP] = n.packing, n.rod, n.tip
    part[FORCE_ON_LINE], part[FORCE_ON_OUTLET] = n.line_force, n.outlet_force
    part[FORCE_ON_INLET] = n.inlet.force
    part[FORCE_ON_PISTON] = n.piston.force
    part[SPEED], part[ACCELERATION] = n.v, n.a
    part[INLET_W] = y[INLET_SPEED]
    part[PISTON_W] = y[PISTON_SPEED]
    part[BELOW], part[ABOVE] = n.push.below, n.push.above
    part[FREED_PORT], part[FREED_LOWER] = n.port_gas.rate, n.lower_gas.rate
    assemble(p, n, inlet_mode, piston_mode, part, out)
