"""The lower as a system of ordinary differential equations (M3, M4, M6)."""

import math
from typing import NamedTuple

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


class Moment(NamedTuple):
    """The lower at one instant; derivatives of pressures by own contents (``_y``) and by time (``_t``)."""

    v: float
    a: float
    jerk: float
    port: float
    port_y: float
    lower: float
    lower_y: float
    lower_t: float
    upper: float
    upper_y: float
    upper_t: float
    inlet: Law
    piston: Law
    outflow: float
    line_force: float
    line_force_Q: float
    inlet_force: float
    inlet_force_z: float
    inlet_force_w: float
    piston_force: float
    piston_force_z: float
    piston_force_w: float


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
    check: Check, material: Material, z: float, w: float, dp: float, weight: float
) -> tuple[Law, float, float, float]:
    """Law of a check, and the force on its ball with weight, spring and stop film in it (M6a), with its
    derivatives by lift and speed."""
    mu = viscosity(material.rheology, abs(w) / check.seat_radius, material.temperature)
    flow = law(check, mu, material.density, z, w, dp)
    drag, drag_z = film(check, z)
    force = flow.force - weight - spring(check, z) - mu * drag * w
    return flow, force, flow.force_z - check.spring_rate - mu * drag_z * w, flow.force_w - mu * drag


@kernel
def moment(p: Parameters, segment: int, t: float, y: Array, inlet_mode: int, piston_mode: int) -> Moment:
    """Everything that the rates, their derivatives and the guards are made of, at one instant."""
    m = p.material
    x, v, a, jerk = motion(p.drive, segment, t)
    port, port_y, _ = pressure(m, p.reference_pressure, p.port, 0.0, y[PORT])
    lower, lower_y, lower_V = pressure(m, p.reference_pressure, p.lower, x, y[LOWER])
    upper, upper_y, upper_V = pressure(m, p.reference_pressure, p.upper, x, y[UPPER])
    inlet, inlet_force, inlet_z, inlet_w = check_at(
        p.inlet, m, y[INLET_LIFT], y[INLET_SPEED], port - lower, p.inlet.net_weight
    )
    weight = p.piston.net_weight * (1.0 + a / p.gravity)
    piston, piston_force, piston_z, piston_w = check_at(
        p.piston, m, y[PISTON_LIFT], y[PISTON_SPEED], lower - upper, weight
    )
    if piston_mode != SEATED:
        piston_force -= p.piston.coupling_mass * p.lower.area * a
    loss, loss_Q = line_loss(p.suction, m, y[LINE_FLOW])
    return Moment(
        v,
        a,
        jerk,
        port,
        port_y,
        lower,
        lower_y,
        lower_V * p.lower.area * v,
        upper,
        upper_y,
        upper_V * p.upper.area * v,
        inlet,
        piston,
        (upper - p.outlet_pressure) / p.outlet_resistance,
        p.suction.pressure - port - loss,
        -loss_Q,
        inlet_force,
        inlet_z,
        inlet_w,
        piston_force,
        piston_z,
        piston_w,
    )


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
        (n.inlet.flow, n.piston.flow, n.outflow, y[LINE_FLOW]),
        (n.line_force, n.inlet_force, n.piston_force),
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
        (-n.inlet.flow_dp * slope, n.piston.flow_dp * slope, 0.0, 0.0),
        (0.0, -n.inlet.force_dp * slope, n.piston.force_dp * slope),
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
        flows, forces = (n.inlet.flow_z, 0.0, 0.0, 0.0), (0.0, n.inlet_force_z, 0.0)
        assemble(p, inlet_mode, piston_mode, flows, forces, none, column)
        jacobian[:, INLET_LIFT] = column
        flows, forces = (n.inlet.flow_w, 0.0, 0.0, 0.0), (0.0, n.inlet_force_w, 0.0)
        assemble(p, inlet_mode, piston_mode, flows, forces, (0.0, 1.0, 0.0), column)
        jacobian[:, INLET_SPEED] = column
    if piston_mode == FREE:
        flows, forces = (0.0, n.piston.flow_z, 0.0, 0.0), (0.0, 0.0, n.piston_force_z)
        assemble(p, inlet_mode, piston_mode, flows, forces, none, column)
        jacobian[:, PISTON_LIFT] = column
        flows, forces = (0.0, n.piston.flow_w, 0.0, 0.0), (0.0, 0.0, n.piston_force_w)
        assemble(p, inlet_mode, piston_mode, flows, forces, (0.0, 0.0, 1.0), column)
        jacobian[:, PISTON_SPEED] = column


@kernel
def derivatives(
    p: Parameters, n: Moment, inlet_mode: int, piston_mode: int, jacobian: Array, by_time: Array
) -> None:
    """Exact derivatives of the rates by the states (13 x 8) and by time (13)."""
    none = (0.0, 0.0, 0.0)
    column = by_time
    flows, forces = (n.inlet.flow_dp * n.port_y, 0.0, 0.0, 0.0), (-n.port_y, n.inlet.force_dp * n.port_y, 0.0)
    assemble(p, inlet_mode, piston_mode, flows, forces, none, column)
    jacobian[:, PORT] = column
    assemble(p, inlet_mode, piston_mode, (0.0, 0.0, 0.0, 1.0), (n.line_force_Q, 0.0, 0.0), none, column)
    jacobian[:, LINE_FLOW] = column
    along_lower_pressure(p, n, inlet_mode, piston_mode, n.lower_y, 0.0, column)
    jacobian[:, LOWER] = column
    flows = (0.0, -n.piston.flow_dp * n.upper_y, n.upper_y / p.outlet_resistance, 0.0)
    assemble(p, inlet_mode, piston_mode, flows, (0.0, 0.0, -n.piston.force_dp * n.upper_y), none, column)
    jacobian[:, UPPER] = column
    along_balls(p, n, inlet_mode, piston_mode, jacobian, column)
    shake = -p.piston.net_weight * n.jerk / p.gravity
    if piston_mode != SEATED:
        shake -= p.piston.coupling_mass * p.lower.area * n.jerk
    flows = (
        -n.inlet.flow_dp * n.lower_t,
        n.piston.flow_dp * (n.lower_t - n.upper_t),
        n.upper_t / p.outlet_resistance,
        0.0,
    )
    forces = (0.0, -n.inlet.force_dp * n.lower_t, n.piston.force_dp * (n.lower_t - n.upper_t) + shake)
    assemble(p, inlet_mode, piston_mode, flows, forces, (n.a, 0.0, 0.0), by_time)


@kernel
def net_forces(p: Parameters, n: Moment, inlet_mode: int) -> tuple[float, float]:
    """Force that would lift each resting ball off its seat, or hold it on its stop [N]."""
    coupling = 0.0
    if inlet_mode == ON_STOP:
        coupling = p.inlet.coupling_mass * n.line_force / p.suction.inertance
    return n.inlet_force + coupling, n.piston_force
