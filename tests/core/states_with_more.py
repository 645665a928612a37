"""Lowers with a motor, an outlet hose, packings or dissolved gas, random states of them, and how large their
rates and the steps for differences are."""

import itertools
import math

import numpy as np

from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.gas import BLUNT
from balltravel.core.model import (
    AIR_ABOVE,
    AIR_BELOW,
    DELIVERED,
    DRAWN,
    GAS_LOWER,
    GAS_PORT,
    INLET_SPEED,
    LOWER,
    OUT_FLOW,
    PACKING_VOLUME,
    PASSED,
    PISTON_SPEED,
    PORT,
    ROD_VOLUME,
    SIZE,
    SPRAYED,
    STATES,
    STORE,
    UPPER,
    WHOLE,
    Moment,
    V,
    X,
    moment,
    rates,
)
from balltravel.core.motor import (
    CRITICAL,
    HELD,
    LINEAR,
    MOTOR_SEGMENTS,
    REST,
    SMOOTH,
    direction_of,
    phase_of,
)
from balltravel.core.parameters import (
    AIR,
    MOST_SEGMENTS,
    NO_MOTOR,
    Chamber,
    Drive,
    Motor,
    Narrow,
    Outlet,
    Suction,
)
from balltravel.core.records import as_record
from balltravel.core.slopes import derivatives
from balltravel.core.stroke import motion

from .test_model_derivatives import bend_of, rates_size, state_of, steps_for

STROKE, RAMP, SINCE = 0.09, 0.06, 0.3
MODES = list(itertools.product((SEATED, FREE, ON_STOP), repeat=2))


def motor_of(kind):
    """An invented motor of ratio 30 at 6 bar or so."""
    area, speed = 0.027, 0.2
    air = (
        {
            "conductance": 0.8 * area * speed,
            "exhaust": 0.5 * area * speed,
            "dead_volume": 0.05 * area * STROKE,
        }
        if kind == AIR
        else {}
    )
    return Motor(kind, area, 7e5, speed, 5.0, 500.0, RAMP, 0.04, limit=20.0, **air)


def motor_drive():
    none = np.zeros(MOST_SEGMENTS)
    return Drive(MOTOR_SEGMENTS, 2.0, STROKE, 0.0, none, none, none, none, none, MOTOR_SEGMENTS // 2)


def sprayed(p, rheology):
    """The same with 12 m of hose and a tip of half a millimetre."""
    area, length, r = math.pi * 0.005**2, 12.0, 2.6e-4
    line = Suction(
        1200.0 * length / area, 128.0 * length / (math.pi * 0.01**4), 0.0, 0.0, 0.01, 1e-4, rheology
    )
    tip = Narrow(5.0 / r**3, 1200.0 / (2.0 * (0.8 * math.pi * r * r) ** 2), 1.0 / r**3)
    return p._replace(outlet=Outlet(1, line, Chamber(0.5 * area * length, 0.0, 1e-12), tip), more=1)


def worn(p):
    """The same with worn packings at piston and rod."""
    return p._replace(piston_packing=Narrow(4e14, 0.0, 6e9), rod_packing=Narrow(9e14, 0.0, 9e9))


def gassy(p):
    """The same with gas in solution."""
    return p._replace(material=p.material._replace(dissolved=0.08, release_rate=3.0), more=1)


def driven(p, kind):
    return p._replace(motor=motor_of(kind), drive=motor_drive(), more=1)


def with_more(p, rng, y, x, phase):
    """A state's other half: speed, air, hose and gas such as may be met."""
    if p.motor.kind != NO_MOTOR:
        y[X] = x
        y[V] = 0.0 if phase in (HELD, REST) else rng.normal() * 0.7 * p.motor.free_speed
    if p.motor.kind == AIR:
        y[[AIR_BELOW, AIR_ABOVE]] = 1e5 * 10.0 ** rng.uniform(-0.5, 1.2, 2)
    if p.outlet.hose == 1:
        y[OUT_FLOW] = rng.normal() * 1e-4
        y[STORE] = p.outlet.store.volume * rng.uniform(-0.004, 0.02)
    if p.material.dissolved > 0.0:
        for k, chamber in ((PORT, p.port), (LOWER, p.lower)):
            contents = chamber.volume + chamber.area * x + y[k]
            y[GAS_PORT if k == PORT else GAS_LOWER] = 0.08 * contents * rng.choice([0.0, rng.uniform(), 1e-3])


def cases(p, count, seed):
    """Random states: record, segment, time, state, modes and the deceleration of a brake."""
    rng, record = np.random.default_rng(seed), as_record(p)
    for k in range(count):
        modes, segment = MODES[k % len(MODES)], int(rng.integers(p.drive.segments))
        if p.motor.kind == NO_MOTOR:
            start, end = p.drive.start[segment : segment + 2]
            t = start + rng.uniform(0.2, 0.8) * (end - start)
            x = motion(record.drive, segment, t)[0]
        else:
            x = STROKE * rng.uniform(0.0, 1.0)
            t = SINCE + RAMP * rng.choice([rng.uniform(0.1, 0.9), rng.uniform(1.1, 4.0)])
        y = state_of(p, rng, modes, x)
        with_more(p, rng, y, x, phase_of(segment))
        yield record, segment, t, y, modes, rng.normal()


def moment_at(p, segment, t, y, brake):
    now = as_record(Moment())
    now.since, now.brake = SINCE, brake
    moment(p, segment, t, y, True, now)
    return now


def rates_at(p, segment, t, y, modes, brake):
    out, now = np.full(SIZE, np.nan), moment_at(p, segment, t, y, brake)
    rates(p, now, y, *modes, out)
    return out


def derivatives_at(p, segment, t, y, modes, brake):
    now = moment_at(p, segment, t, y, brake)
    columns = WHOLE if p.more == 1 else STATES
    jacobian, by_time = np.full((SIZE, columns), np.nan), np.full(SIZE, np.nan)
    derivatives(p, now, *modes, jacobian, by_time)
    return jacobian, by_time, now


def small_changes(p, now):
    """Changes of the four pressures [Pa] that are small against what bends the rates."""
    vapour, reference = p.material.vapour_pressure, p.reference_pressure
    port, lower, upper = (0.02 * (x - vapour) for x in (now.port, now.lower, now.upper))
    if p.material.dissolved > 0.0:
        near = BLUNT * (reference - vapour)
        port = min(port, 0.02 * math.hypot(now.port - reference, near))
        lower = min(lower, 0.02 * math.hypot(now.lower - reference, near))
    store = 0.02 * min(now.store - vapour, abs(now.store - reference)) if p.outlet.hose == 1 else math.inf
    return port, lower, upper, store


def idle_states(p):
    """States that stand still in this lower."""
    motor, hose, gas = p.motor.kind != NO_MOTOR, p.outlet.hose == 1, p.material.dissolved > 0.0
    idle = {X, V} if not motor else set()
    idle |= {AIR_BELOW, AIR_ABOVE} if p.motor.kind != AIR else set()
    return idle | ({OUT_FLOW, STORE} if not hose else set()) | ({GAS_PORT, GAS_LOWER} if not gas else set())


def branch(p, now, slopes):
    """Step within which the gas comes with the flow from the same side."""
    if p.material.dissolved == 0.0:
        return math.inf
    flows = (
        (now.inlet.law.flow, slopes[DRAWN]),
        (now.piston.law.flow, slopes[PASSED]),
        (now.packing, slopes[PACKING_VOLUME]),
    )
    return min((0.2 * abs(flow / slope) for flow, slope in flows if slope != 0.0), default=math.inf)


def terms_of(p, now, slopes):
    """Size of the terms that a slope is a sum of: a flow grows as its gas thins out."""
    size = np.abs(slopes)
    if p.material.dissolved > 0.0:
        share = max(now.port_gas.share, now.lower_gas.share)
        size[[GAS_PORT, GAS_LOWER]] += share * (size[DRAWN] + size[PASSED])
    return size


def valve_change(side, own):
    """Change of the air's pressure [Pa] within which its valve keeps to one branch."""
    branches = [share * side for share in (CRITICAL, LINEAR, 1.0 / LINEAR, 1.0 / CRITICAL)]
    return 0.1 * min([own, *(abs(own - edge) for edge in branches)])


def steps(p, plain, y, segment, now):
    """Steps for differences in each state that feeds back."""
    h = np.full(WHOLE, 1e-6)
    h[:STATES] = steps_for(plain, y, now)
    port, lower, upper, store = small_changes(p, now)
    h[PORT] = min(h[PORT], port / now.port_y)
    h[LOWER] = min(h[LOWER], lower / now.lower_y)
    bends = [0.02 * 0.02 * bend_of(c, plain.material, y[z]) for c, z in ((plain.inlet, 4), (plain.piston, 6))]
    dps = abs(now.port - now.lower), abs(now.lower - now.upper)
    inlet, piston = (0.02 * dp + bend for dp, bend in zip(dps, bends, strict=True))
    if p.motor.kind != NO_MOTOR:
        room = min(y[X], STROKE - y[X]) + 0.05 * STROKE
        moves = abs(now.lower_x), abs(now.upper_x)
        h[X] = min(1e-2 * room, min(lower, inlet, piston) / moves[0], min(upper, piston) / moves[1])
        slow = SMOOTH * p.motor.free_speed
        h[V] = 0.02 * (abs(y[V]) if abs(y[V]) > 0.0 else slow)
        h[V] = min(h[V], 0.02 * math.hypot(y[V], slow))
    if p.motor.kind == AIR:
        up = direction_of(segment) > 0.0
        sides = (p.motor.supply, p.reference_pressure) if up else (p.reference_pressure, p.motor.supply)
        for k, side in zip((AIR_BELOW, AIR_ABOVE), sides, strict=True):
            h[k] = valve_change(side, y[k])
    if p.outlet.hose == 1:
        h[OUT_FLOW], h[STORE] = 0.02 * abs(y[OUT_FLOW]), store / now.store_y
    if p.material.dissolved > 0.0:
        h[GAS_PORT] = min(port, inlet) / now.port_G
        h[GAS_LOWER] = min(lower, inlet, piston) / now.lower_G
    return h


def size_of(p, plain, y, now):
    """Size of the terms that each rate is a sum of."""
    size, m = rates_size(plain, y, now), p.motor
    low, high = now.lower, now.upper
    if p.outlet.hose == 1:
        out, line = abs(y[OUT_FLOW]), p.outlet.line
        size[UPPER] += out - size[DELIVERED]
        size[DELIVERED] = out
        size[OUT_FLOW] = (high + now.store + abs(now.outlet_force)) / line.inertance
        size[SPRAYED] = abs(now.tip) + now.tip_dp * (now.store + p.reference_pressure)
        size[STORE] = out + size[SPRAYED]
    size[PACKING_VOLUME] = now.packing_dp * (low + high)
    size[ROD_VOLUME] = now.rod_dp * (high + p.reference_pressure)
    size[LOWER] += size[PACKING_VOLUME]
    size[UPPER] += size[PACKING_VOLUME] + size[ROD_VOLUME]
    if m.kind != NO_MOTOR:
        rod = p.lower.area + p.upper.area
        load = low * p.lower.area - high * p.upper.area + p.reference_pressure * rod
        air = y[AIR_BELOW] + y[AIR_ABOVE]
        size[X] = abs(now.v)
        size[V] = (m.area * (m.supply + air) + m.friction + load) / m.mass
        shakes = (
            p.inlet.coupling_mass + p.piston.coupling_mass
        ) * p.lower.area + p.piston.net_weight / p.gravity
        for row, check in ((INLET_SPEED, p.inlet), (PISTON_SPEED, p.piston)):
            size[row] += shakes * size[V] / check.ball_mass
    if m.kind == AIR:
        for row, room in ((AIR_BELOW, y[X]), (AIR_ABOVE, STROKE - y[X])):
            flow = m.conductance * max(m.supply, y[row]) + m.area * y[row] * abs(y[V])
            size[row] = flow / (m.dead_volume + m.area * room)
    if p.material.dissolved > 0.0:
        port, lower = now.port_gas, now.lower_gas
        carried = (port.share + lower.share) * size[DRAWN]
        released = [
            abs(g.rate_p) * (p.reference_pressure + at) + 2.0 * abs(g.rate_G) * gas + abs(g.rate)
            for g, at, gas in ((port, now.port, y[GAS_PORT]), (lower, low, y[GAS_LOWER]))
        ]
        size[GAS_PORT] = released[0] + carried
        size[GAS_LOWER] = released[1] + carried + lower.share * size[PASSED]
    return size
