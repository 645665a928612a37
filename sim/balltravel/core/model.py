"""The lower as a system of ordinary differential equations (M3, M4, M6)."""

import math
from dataclasses import dataclass, field

from balltravel.core.check import Law, law
from balltravel.core.contact import FREE, ON_STOP, SEATED, film, spring
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


@dataclass
class Ball:
    """A check at one instant: its law, the force on its ball with weight, spring and stop film in it [N] and
    the derivatives of that force by lift and speed."""

    law: Law = field(default_factory=Law)
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
    check: Check, material: Material, z: float, w: float, dp: float, weight: float, out: Ball
) -> None:
    """Law of a check and the force on its ball (M6a) into ``out``."""
    mu = viscosity(material.rheology, abs(w) / check.seat_radius, material.temperature)
    law(check, mu, material.density, z, w, dp, out.law)
    drag, drag_z = film(check, z)
    out.force = out.law.force - weight - spring(check, z) - mu * drag * w
    out.force_z = out.law.force_z - check.spring_rate - mu * drag_z * w
    out.force_w = out.law.force_w - mu * drag


@kernel
def moment(p: Parameters, segment: int, t: float, y: Array, piston_mode: int, n: Moment) -> None:
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
    check_at(p.inlet, m, y[INLET_LIFT], y[INLET_SPEED], n.port - n.lower, p.inlet.net_weight, n.inlet)
    weight = p.piston.net_weight * (1.0 + n.a / p.gravity)
    if piston_mode != SEATED:
        weight += p.piston.coupling_mass * p.lower.area * n.a
    check_at(p.piston, m, y[PISTON_LIFT], y[PISTON_SPEED], n.lower - n.upper, weight, n.piston)


@kernel
def line_and_inlet_ball(p: Parameters, mode: int, line: float, ball: float) -> tuple[float, float]:
    """dQ_s/dt and dw/dt from the forces on the line [Pa] and on the inlet ball [N] (M6b): a free ball and the
    liquid in the line share a symmetric mass matrix."""
    inertance, c = p.suction.inertance, p.inlet.coupling_mass
    if mode != FREE:
        return line / inertance, 0.0
    mass = p.inlet.ball_mass + p.inlet.added_mass
    det = inertance * mass - c * c
    return (mass * line + c * ball) / det, (c * line + inertance * ball) / det


@kernel
def assemble(
    p: Parameters,
    inlet_mode: int,
    piston_mode: int,
    flows: tuple[float, float, float, float],
    forces: tuple[float, float, float],
    speeds: tuple[float, float, float],
    out: Array,
) -> None:
    """The balances (M3, M4, M6), linear in what they are made of: so the same lines give the rates and,
    column by column, their derivatives.

    flows: inlet, piston, outlet, line [m3/s]; forces: line [Pa], inlet and piston ball [N]; speeds: piston,
    inlet ball, piston ball [m/s].
    """
    inlet, piston, outlet, line = flows
    line_force, inlet_force, piston_force = forces
    v, inlet_speed, piston_speed = speeds
    line_rate, inlet_rate = line_and_inlet_ball(p, inlet_mode, line_force, inlet_force)
    out[PORT] = line - inlet
    out[LINE_FLOW] = line_rate
    out[LOWER] = inlet - piston - p.lower.area * v
    out[UPPER] = piston - outlet - p.upper.area * v
    out[INLET_LIFT] = inlet_speed if inlet_mode == FREE else 0.0
    out[INLET_SPEED] = inlet_rate
    out[PISTON_LIFT] = piston_speed if piston_mode == FREE else 0.0
    mass = p.piston.ball_mass + p.piston.added_mass
    out[PISTON_SPEED] = piston_force / mass if piston_mode == FREE else 0.0
    out[DRAWN] = inlet
    out[PASSED] = piston
    out[DELIVERED] = outlet
    out[LINE_VOLUME] = line
    out[POSITION] = v


@kernel
def rates(p: Parameters, n: Moment, y: Array, inlet_mode: int, piston_mode: int, out: Array) -> None:
    """Time derivatives of all states into ``out`` (13)."""
    assemble(
        p,
        inlet_mode,
        piston_mode,
        (n.inlet.law.flow, n.piston.law.flow, n.outflow, y[LINE_FLOW]),
        (n.line_force, n.inlet.force, n.piston.force),
        (n.v, y[INLET_SPEED], y[PISTON_SPEED]),
        out,
    )


@kernel
def along_lower_pressure(
    p: Parameters, n: Moment, inlet_mode: int, piston_mode: int, slope: float, v: float, out: Array
) -> None:
    """Derivative of the rates along a change of the lower chamber's pressure alone, times ``slope``."""
    assemble(
        p,
        inlet_mode,
        piston_mode,
        (-n.inlet.law.flow_dp * slope, n.piston.law.flow_dp * slope, 0.0, 0.0),
        (0.0, -n.inlet.law.force_dp * slope, n.piston.law.force_dp * slope),
        (v, 0.0, 0.0),
        out,
    )


@kernel
def along_balls(
    p: Parameters, n: Moment, inlet_mode: int, piston_mode: int, jacobian: Array, column: Array
) -> None:
    """Columns of the derivative by lifts and ball speeds; a ball at rest has none."""
    none = (0.0, 0.0, 0.0)
    jacobian[:, INLET_LIFT : PISTON_SPEED + 1] = 0.0
    if inlet_mode == FREE:
        flows, forces = (n.inlet.law.flow_z, 0.0, 0.0, 0.0), (0.0, n.inlet.force_z, 0.0)
        assemble(p, inlet_mode, piston_mode, flows, forces, none, column)
        jacobian[:, INLET_LIFT] = column
        flows, forces = (n.inlet.law.flow_w, 0.0, 0.0, 0.0), (0.0, n.inlet.force_w, 0.0)
        assemble(p, inlet_mode, piston_mode, flows, forces, (0.0, 1.0, 0.0), column)
        jacobian[:, INLET_SPEED] = column
    if piston_mode == FREE:
        flows, forces = (0.0, n.piston.law.flow_z, 0.0, 0.0), (0.0, 0.0, n.piston.force_z)
        assemble(p, inlet_mode, piston_mode, flows, forces, none, column)
        jacobian[:, PISTON_LIFT] = column
        flows, forces = (0.0, n.piston.law.flow_w, 0.0, 0.0), (0.0, 0.0, n.piston.force_w)
        assemble(p, inlet_mode, piston_mode, flows, forces, (0.0, 0.0, 1.0), column)
        jacobian[:, PISTON_SPEED] = column


@kernel
def derivatives(
    p: Parameters, n: Moment, inlet_mode: int, piston_mode: int, jacobian: Array, by_time: Array
) -> None:
    """Exact derivatives of the rates by the states (13 x 8) and by time (13)."""
    none = (0.0, 0.0, 0.0)
    column = by_time
    flows = (n.inlet.law.flow_dp * n.port_y, 0.0, 0.0, 0.0)
    forces = (-n.port_y, n.inlet.law.force_dp * n.port_y, 0.0)
    assemble(p, inlet_mode, piston_mode, flows, forces, none, column)
    jacobian[:, PORT] = column
    assemble(p, inlet_mode, piston_mode, (0.0, 0.0, 0.0, 1.0), (n.line_force_Q, 0.0, 0.0), none, column)
    jacobian[:, LINE_FLOW] = column
    along_lower_pressure(p, n, inlet_mode, piston_mode, n.lower_y, 0.0, column)
    jacobian[:, LOWER] = column
    flows = (0.0, -n.piston.law.flow_dp * n.upper_y, n.upper_y / p.outlet_resistance, 0.0)
    assemble(p, inlet_mode, piston_mode, flows, (0.0, 0.0, -n.piston.law.force_dp * n.upper_y), none, column)
    jacobian[:, UPPER] = column
    along_balls(p, n, inlet_mode, piston_mode, jacobian, column)
    shake = -p.piston.net_weight * n.jerk / p.gravity
    if piston_mode != SEATED:
        shake -= p.piston.coupling_mass * p.lower.area * n.jerk
    flows = (
        -n.inlet.law.flow_dp * n.lower_t,
        n.piston.law.flow_dp * (n.lower_t - n.upper_t),
        n.upper_t / p.outlet_resistance,
        0.0,
    )
    forces = (0.0, -n.inlet.law.force_dp * n.lower_t, n.piston.law.force_dp * (n.lower_t - n.upper_t) + shake)
    assemble(p, inlet_mode, piston_mode, flows, forces, (n.a, 0.0, 0.0), by_time)


@kernel
def net_forces(p: Parameters, n: Moment, inlet_mode: int) -> tuple[float, float]:
    """Force that would lift each resting ball off its seat, or hold it on its stop [N]."""
    coupling = 0.0
    if inlet_mode == ON_STOP:
        coupling = p.inlet.coupling_mass * n.line_force / p.suction.inertance
    return n.inlet.force + coupling, n.piston.force
