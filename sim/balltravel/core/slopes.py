"""Exact derivatives of the balances by the states and by time: by the parts that they are made of."""

from balltravel.core.contact import FREE
from balltravel.core.jit import kernel
from balltravel.core.model import (
    ABOVE,
    ACCELERATION,
    AIR_ABOVE,
    AIR_BELOW,
    BELOW,
    FORCE_ON_INLET,
    FORCE_ON_LINE,
    FORCE_ON_OUTLET,
    FORCE_ON_PISTON,
    FREED_LOWER,
    FREED_PORT,
    GAS_LOWER,
    GAS_PORT,
    INLET,
    INLET_LIFT,
    INLET_SPEED,
    INLET_W,
    LINE,
    LINE_FLOW,
    LOWER,
    OUT_FLOW,
    OUTLET,
    PACKING,
    PARTS,
    PISTON,
    PISTON_LIFT,
    PISTON_SPEED,
    PISTON_W,
    PORT,
    ROD,
    SIZE,
    SPEED,
    STORE,
    TIME,
    TIP,
    UPPER,
    WHOLE,
    Moment,
    V,
    X,
    assemble,
)
from balltravel.core.parameters import NO_MOTOR, Array, Parameters


@kernel
def by_port(n: Moment, slope: float, by: Array) -> None:
    """What the port's pressure changes, times its slope, added to a row of derivatives of the parts."""
    by[INLET] += n.inlet.law.flow_dp * slope
    by[FORCE_ON_LINE] -= slope
    by[FORCE_ON_INLET] += n.inlet.force_dp * slope
    by[FREED_PORT] += n.port_gas.rate_p * slope


@kernel
def by_lower(p: Parameters, n: Moment, driven: bool, slope: float, by: Array) -> None:
    """The same of the lower chamber's pressure."""
    inlet, piston = n.inlet.law, n.piston.law
    by[INLET] -= inlet.flow_dp * slope
    by[FORCE_ON_INLET] -= n.inlet.force_dp * slope
    by[PISTON] += piston.flow_dp * slope
    by[FORCE_ON_PISTON] += n.piston.force_dp * slope
    by[PACKING] -= n.packing_dp * slope
    by[FREED_LOWER] += n.lower_gas.rate_p * slope
    if driven:
        by[ACCELERATION] += p.lower.area * slope / p.motor.mass


@kernel
def by_upper(p: Parameters, n: Moment, driven: bool, slope: float, by: Array) -> None:
    """The same of the upper chamber's pressure."""
    by[PISTON] -= n.piston.law.flow_dp * slope
    by[FORCE_ON_PISTON] -= n.piston.force_dp * slope
    by[OUTLET] += n.outflow_dp * slope
    by[FORCE_ON_OUTLET] += slope
    by[PACKING] += n.packing_dp * slope
    by[ROD] += n.rod_dp * slope
    if driven:
        by[ACCELERATION] += p.upper.area * slope / p.motor.mass


@kernel
def along_chambers(p: Parameters, n: Moment, driven: bool, by: Array) -> None:
    """Derivatives of the parts by the contents, the line's flow and time: rows of ``by`` (17 x 19)."""
    by_port(n, n.port_y, by[PORT])
    by[LINE_FLOW, LINE] = 1.0
    by[LINE_FLOW, FORCE_ON_LINE] = n.line_force_Q
    by_lower(p, n, driven, n.lower_y, by[LOWER])
    by_upper(p, n, driven, n.upper_y, by[UPPER])
    by[TIME, ACCELERATION] = n.jerk
    if p.motor.kind == NO_MOTOR:
        by_lower(p, n, False, n.lower_t, by[TIME])
        by_upper(p, n, False, n.upper_t, by[TIME])
        by[TIME, SPEED] = n.a


@kernel
def along_more(p: Parameters, n: Moment, driven: bool, by: Array) -> None:
    """Derivatives of the parts by the states of motor, outlet hose and gas."""
    if p.motor.kind != NO_MOTOR:
        along_motor(p, n, driven, by)
    if p.outlet.hose == 1:
        by[OUT_FLOW, OUTLET] = 1.0
        by[OUT_FLOW, FORCE_ON_OUTLET] = n.outlet_force_Q
        by[STORE, FORCE_ON_OUTLET] = -n.store_y
        by[STORE, TIP] = n.tip_dp * n.store_y
    if p.material.dissolved > 0.0:
        by_port(n, n.port_G, by[GAS_PORT])
        by_lower(p, n, driven, n.lower_G, by[GAS_LOWER])
        along_gas(n, by)
        along_volume(p, n, by)


@kernel
def along_motor(p: Parameters, n: Moment, driven: bool, by: Array) -> None:
    """Derivatives of the parts by the piston's position and speed and by the motor's air."""
    motor, push = p.motor, n.push
    by_lower(p, n, driven, n.lower_x, by[X])
    by_upper(p, n, driven, n.upper_x, by[X])
    by[V, SPEED] = 1.0
    by[X, BELOW], by[X, ABOVE] = push.below_x, push.above_x
    by[V, BELOW], by[V, ABOVE] = push.below_v, push.above_v
    by[AIR_BELOW, BELOW], by[AIR_ABOVE, ABOVE] = push.below_own, push.above_own
    if driven:
        by[X, ACCELERATION] += push.by_x / motor.mass
        by[V, ACCELERATION] = push.by_v / motor.mass
        by[AIR_BELOW, ACCELERATION] = push.by_below / motor.mass
        by[AIR_ABOVE, ACCELERATION] = push.by_above / motor.mass


@kernel
def past_piston(n: Moment) -> float:
    """Flow out of the lower chamber through the piston check and past the piston packing [m3/s]."""
    return float(max(n.piston.law.flow, 0.0) - min(n.packing, 0.0))


@kernel
def along_gas(n: Moment, by: Array) -> None:
    """What contents and gas change in the release, and in the share of gas that a given flow carries."""
    port, lower = n.port_gas, n.lower_gas
    inlet, piston = n.inlet.law.flow, past_piston(n)
    by[PORT, FREED_PORT] += port.rate_y
    by[LOWER, FREED_LOWER] += lower.rate_y
    by[GAS_PORT, FREED_PORT] += port.rate_G
    by[GAS_LOWER, FREED_LOWER] += lower.rate_G
    by[LOWER, FREED_LOWER] -= lower.share_y * piston
    by[GAS_LOWER, FREED_LOWER] -= lower.share_G * piston
    source, contents, gas = (port, PORT, GAS_PORT) if inlet >= 0.0 else (lower, LOWER, GAS_LOWER)
    by[contents, FREED_PORT] -= source.share_y * inlet
    by[contents, FREED_LOWER] += source.share_y * inlet
    by[gas, FREED_PORT] -= source.share_G * inlet
    by[gas, FREED_LOWER] += source.share_G * inlet


@kernel
def along_volume(p: Parameters, n: Moment, by: Array) -> None:
    """What the chamber's growth changes in its gas: with the piston's position, or with time."""
    row, grows = (X, 1.0) if p.motor.kind != NO_MOTOR else (TIME, n.v)
    grows *= p.lower.area
    inlet, piston = min(n.inlet.law.flow, 0.0), past_piston(n)
    by[row, FREED_LOWER] += (n.lower_gas.rate_y + n.lower_gas.share_y * (inlet - piston)) * grows
    by[row, FREED_PORT] -= n.lower_gas.share_y * inlet * grows


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
    """Exact derivatives of the rates by the states that feed back (24 x 8, or 24 x 16 where those of motor,
    outlet hose and gas do) and by time (24)."""
    by, columns = n.by, jacobian.shape[1]
    for direction in range(WHOLE + 1):
        if direction < columns or direction == TIME:
            for part in range(PARTS):
                by[direction, part] = 0.0
    driven = n.driven == 1.0
    along_chambers(p, n, driven, by)
    along_balls(n, inlet_mode, piston_mode, by)
    if columns == WHOLE:
        along_more(p, n, driven, by)
    push = n.inlet.coupling * p.lower.area
    shake = p.piston.net_weight / p.gravity + n.piston.coupling * p.lower.area
    for direction in range(WHOLE + 1):
        if columns <= direction < TIME:
            continue
        by[direction, FORCE_ON_INLET] += push * by[direction, ACCELERATION]
        by[direction, FORCE_ON_PISTON] -= shake * by[direction, ACCELERATION]
        assemble(p, n, inlet_mode, piston_mode, by[direction], by_time)
        if direction < TIME:
            for row in range(SIZE):
                jacobian[row, direction] = by_time[row]
