"""A motor that drives the piston by a balance of forces (M1b): a liquid's or air behind its piston."""

import math
from dataclasses import dataclass

from balltravel.core.jit import formula, kernel
from balltravel.core.parameters import AIR, Motor

# The eight segments of a cycle: of the upstroke and then of the downstroke. Its first begins when the motor's
# valve shifts, the reversal; the piston is held against its stop until the balance of forces releases it.
MOTOR_SEGMENTS = 8
HELD, DRIVE, BRAKE, REST = 0, 1, 2, 3

CRITICAL = 0.3
"""Pressure ratio below which air passes a valve at the speed of sound: of the size of ISO 6358-1 (2013) b for
pneumatic valves, from memory."""

LINEAR = 0.99
"""Pressure ratio above which the flow of air is taken to go straight to 0 (our choice): its slope is infinite
there otherwise."""

LONGEST_BRAKE = 0.05
"""Way on which the piston is brought to rest at the end of its stroke, over the stroke, at most (our choice):
a piston that arrives fast is stopped hard."""

SMOOTH = 1e-3
"""Speed over that without load at which friction is rounded off (our choice)."""


STOP_GIVE = 1e-4
"""How far a stop behind the piston gives way to the motor's force at stall, over the stroke (our choice)."""


@dataclass
class Push:
    """What a motor does at one instant: force on the piston upwards [N] with its derivatives by position,
    speed, time and the air's pressures below and above its piston; how fast those change [Pa/s], with
    derivatives by position, speed and themselves."""

    force: float = 0.0
    by_x: float = 0.0
    by_v: float = 0.0
    by_t: float = 0.0
    by_below: float = 0.0
    by_above: float = 0.0
    below: float = 0.0
    below_x: float = 0.0
    below_v: float = 0.0
    below_own: float = 0.0
    above: float = 0.0
    above_x: float = 0.0
    above_v: float = 0.0
    above_own: float = 0.0


@kernel
def phase_of(segment: int) -> int:
    """Whether the piston is held, driven, brakes or rests in a segment."""
    return segment % 4


@kernel
def direction_of(segment: int) -> float:
    """+1 where the valve lets the motor push upwards, -1 downwards."""
    return 1.0 if segment < MOTOR_SEGMENTS // 2 else -1.0


@kernel
def left_of(stroke: float, up: bool, x: float) -> float:
    """Way to the end of the stroke [m]."""
    return stroke - x if up else x


@kernel
def braking(motor: Motor, stroke: float, speed: float) -> float:
    """Way on which a piston comes to rest that arrives at a speed towards the end [m]."""
    return min(0.5 * motor.ramp_time * max(speed, 0.0), LONGEST_BRAKE * stroke)


@formula
def share_of_sonic(ratio: float) -> tuple[float, float]:
    """Flow of air through a valve over that at the speed of sound, and its slope, at a ratio of the absolute
    pressures behind and before it, 0 to 1; an ellipse above the critical one (ISO 6358-1, from memory)."""
    if ratio <= CRITICAL:
        return 1.0, 0.0
    X = (min(ratio, LINEAR) - CRITICAL) / (1.0 - CRITICAL)
    share = math.sqrt(1.0 - X * X)
    if ratio <= LINEAR:
        return share, -X / ((1.0 - CRITICAL) * share)
    return share * (1.0 - ratio) / (1.0 - LINEAR), -share / (1.0 - LINEAR)


@kernel
def valve(conductance: float, before: float, behind: float) -> tuple[float, float, float]:
    """Flow of air through a valve [Pa m3/s, isothermal] of a conductance [m3/s] between absolute pressures,
    either way, and its derivatives by both."""
    sign, high, low = (1.0, before, behind) if before >= behind else (-1.0, behind, before)
    share, slope = share_of_sonic(low / high)
    by_high, by_low = conductance * (share - slope * low / high), conductance * slope
    flow = sign * conductance * high * share
    if sign > 0.0:
        return flow, by_high, by_low
    return flow, -by_low, -by_high


@kernel
def air(
    motor: Motor, stroke: float, atmosphere: float, up: bool, x: float, v: float, below: float, above: float,
    out: Push,
) -> None:  # fmt: skip
    """Force and changes of pressure of an air motor into ``out``: one side filled by the supply, the other
    let out through the exhaust, isothermal."""
    out.force = motor.area * (below - above)
    out.by_below, out.by_above = motor.area, -motor.area
    side, opening = (motor.supply, motor.conductance) if up else (atmosphere, motor.exhaust)
    flow, _, by_own = valve(opening, side, below)
    volume = motor.dead_volume + motor.area * x
    out.below = (flow - below * motor.area * v) / volume
    out.below_x = -out.below * motor.area / volume
    out.below_v = -below * motor.area / volume
    out.below_own = (by_own - motor.area * v) / volume
    side, opening = (atmosphere, motor.exhaust) if up else (motor.supply, motor.conductance)
    flow, _, by_own = valve(opening, side, above)
    volume = motor.dead_volume + motor.area * (stroke - x)
    out.above = (flow + above * motor.area * v) / volume
    out.above_x = out.above * motor.area / volume
    out.above_v = above * motor.area / volume
    out.above_own = (by_own + motor.area * v) / volume


@kernel
def stop(motor: Motor, stroke: float, atmosphere: float, beyond: float, v: float, out: Push) -> None:
    """Force of the stop at the end that a stroke comes from on a piston that is pushed back beyond it [m],
    added to ``out``: a stiff spring with half its critical damping, of which the piston meets little."""
    rate = motor.area * (motor.supply - atmosphere) / (STOP_GIVE * stroke)
    damping = math.sqrt(rate * motor.mass)
    out.force -= rate * beyond + damping * v
    out.by_x -= rate
    out.by_v -= damping


@kernel
def push(
    motor: Motor, segment: int, since: float, stroke: float, atmosphere: float, x: float, v: float,
    below: float, above: float, out: Push,
) -> None:  # fmt: skip
    """What the motor does into ``out``; ``since``: time from the shifting of its valve [s].

    A hydraulic motor's supply loses pressure in its valves as the square of its speed, all of it at the speed
    without load; the valve shifts from one side to the other within the ramp time. Packings and motor rub
    with one force.
    """
    direction = direction_of(segment)
    if motor.kind == AIR:
        air(motor, stroke, atmosphere, direction > 0.0, x, v, below, above, out)
        out.by_v, out.by_t = 0.0, 0.0
    else:
        whole, share = motor.area * (motor.supply - atmosphere), v / motor.free_speed
        opening = since < motor.ramp_time
        opened = 2.0 * since / motor.ramp_time - 1.0 if opening else 1.0
        out.force = whole * (direction * opened - share * abs(share))
        out.by_v = -2.0 * whole * abs(share) / motor.free_speed
        out.by_t = 2.0 * whole * direction / motor.ramp_time if opening else 0.0
    out.by_x = 0.0
    behind = x if direction > 0.0 else x - stroke
    if direction * behind < 0.0:
        stop(motor, stroke, atmosphere, behind, v, out)
    small = SMOOTH * motor.free_speed
    root = math.sqrt(v * v + small * small)
    out.force -= motor.friction * v / root
    out.by_v -= motor.friction * small * small / root**3
