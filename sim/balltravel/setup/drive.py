"""The core's drive: a stroke as segments, a measured trace, or a motor (M1)."""

import math
from itertools import accumulate

import numpy as np

from balltravel.core import parameters as core
from balltravel.core.motor import MOTOR_SEGMENTS, share_of_sonic
from balltravel.core.parameters import AIR, HYDRAULIC, MOST_SEGMENTS, Array
from balltravel.core.roots import root
from balltravel.scenario import model as described
from balltravel.setup.outlet import has_tip, pressure_over_rate, tip_flow

TRACE_PIECES = 64
"""Pieces of each stroke of a measured trace (our choice)."""

AIR_DEAD_SHARE = 0.05
"""Volume at each end of an air motor's stroke, over what it sweeps (from memory, no source)."""

ANR = 1e5
"""Pressure [Pa] of the atmosphere at which a sonic conductance counts volumes (ISO 8778, from memory)."""

STALL_STROKES = 20.0
"""Time after which a motor's stroke counts as stalled, in strokes at the rate without load (our choice)."""

SLOWEST = 0.02
"""Cycle rate of a motor near its stall, over that without load, where only a size is wanted."""


NONE = np.zeros(MOST_SEGMENTS)
"""What a drive has none of, shared by all of them."""
NONE.setflags(write=False)


def drive_parameters(drive: described.Drive, stroke: float, rate: float | None = None) -> core.Drive:
    """The stroke as segments between its kinks (M1); both reversals are kinks. ``rate``: cycle rate [1/s],
    the drive's own unless one is given."""
    period = 1.0 / (rate or drive.cycle_rate or math.nan)
    if drive.profile == "harmonic":
        start = np.array([0.0, 0.5 * period, period])
        return core.Drive(2, period, stroke, 2.0 * math.pi / period, start, NONE, NONE, NONE, NONE, 1)
    if drive.profile == "motor":
        return core.Drive(
            MOTOR_SEGMENTS, period, stroke, 0.0, NONE, NONE, NONE, NONE, NONE, MOTOR_SEGMENTS // 2
        )
    if drive.profile == "trace":
        return trace_segments(np.array(drive.trace), stroke, period)
    return constant_speed(drive, stroke, period)


def constant_speed(drive: described.Drive, stroke: float, period: float) -> core.Drive:
    """Ramp, constant speed, ramp, each stroke between two halves of the dwell (M1)."""
    half = 0.5 * period
    rest, ramp = 0.5 * drive.dwell_time, drive.ramp_time
    cruise = half - 2.0 * rest - 2.0 * ramp
    speed = stroke / (cruise + ramp)
    pull = speed / ramp
    rise = 0.5 * speed * ramp
    up = [
        (rest, 0.0, 0.0, 0.0),
        (ramp, 0.0, 0.0, pull),
        (cruise, rise, speed, 0.0),
        (ramp, stroke - rise, speed, -pull),
        (rest, stroke, 0.0, 0.0),
    ]
    down = [(length, stroke - x, -v, -a) for length, x, v, a in up]
    segments = [s for s in up + down if s[0] > 0.0]
    lengths, position, v, a = zip(*segments, strict=True)
    start = [0.0, *accumulate(lengths)]
    # Both reversals fall exactly on the half and the whole period.
    turn = len(segments) // 2
    start[turn], start[-1] = half, period
    at, x, velocity, pulls = (np.array(part) for part in (start, position, v, a))
    return core.Drive(len(segments), period, stroke, 0.0, at, x, velocity, pulls, NONE, turn)


def trace_segments(trace: Array, stroke: float, period: float) -> core.Drive:
    """A measured stroke (times and positions, shape (n, 2), one cycle from bottom dead centre on) as cubics
    (M1a): monotone in each stroke, so that noise makes no reversals; scaled to the stroke and the period."""
    time = (trace[:, 0] - trace[0, 0]) / (trace[-1, 0] - trace[0, 0]) * period
    x = (trace[:, 1] - trace[:, 1].min()) / np.ptp(trace[:, 1]) * stroke
    top = int(np.argmax(x))
    rising = np.maximum.accumulate(x[: top + 1])
    falling = np.minimum.accumulate(x[top:])
    rising[0], falling[-1] = 0.0, 0.0
    pieces = [one_stroke(time[: top + 1], rising), one_stroke(time[top:], falling)]
    start = np.concatenate([part[0] for part in pieces] + [np.array([period])])
    at, v, a, jerk = (np.concatenate([part[k] for part in pieces]) for k in range(1, 5))
    turn = len(pieces[0][0])
    return core.Drive(len(start) - 1, period, stroke, 0.0, start, at, v, a, jerk, turn)


def one_stroke(time: Array, x: Array) -> tuple[Array, Array, Array, Array, Array]:
    """Starts, positions, speeds, accelerations and jerks of the cubics of one stroke, at rest at its ends."""
    from scipy.interpolate import PchipInterpolator

    knots = np.linspace(time[0], time[-1], min(len(time), TRACE_PIECES + 1))
    at = PchipInterpolator(time, x)(knots)
    v = monotone_slopes(knots, at)
    h, rise = np.diff(knots), np.diff(at)
    a = (6.0 * rise / h - 4.0 * v[:-1] - 2.0 * v[1:]) / h
    jerk = (-12.0 * rise / h + 6.0 * (v[:-1] + v[1:])) / h**2
    return knots[:-1], at[:-1], v[:-1], a, jerk


def monotone_slopes(knots: Array, at: Array) -> Array:
    """Slopes of a cubic spline at rest at both ends, held to three times the lesser slope beside each knot,
    where a cubic stays monotone (Hyman 1983, from memory)."""
    from scipy.interpolate import CubicSpline

    v = np.asarray(CubicSpline(knots, at, bc_type="clamped")(knots, 1))
    beside = np.diff(at) / np.diff(knots)
    least = 3.0 * np.minimum(np.abs(beside[:-1]), np.abs(beside[1:]))
    end = np.sign(at[-1] - at[0]) * least
    v[1:-1] = np.clip(v[1:-1], np.minimum(0.0, end), np.maximum(0.0, end))
    return v


def free_speed(drive: described.Drive, stroke: float) -> float:
    """Piston speed of a motor without load [m/s]: what makes the stroke, with its ramps and dwell, at the
    rate without load."""
    half = 0.5 / (drive.free_cycle_rate or math.nan)
    return stroke / (half - drive.dwell_time - drive.ramp_time)


def motor_parameters(s: described.Scenario) -> core.Motor:
    """The motor (M1b); its area is the ratio times half of the bore's, what each stroke delivers on the
    average."""
    drive, atmosphere = s.drive, s.suction.barometric_pressure
    if drive.profile != "motor":
        return core.Motor()
    area = (drive.area_ratio or math.nan) * math.pi / 8.0 * s.lower.bore**2
    supply = atmosphere + (drive.supply_gauge_pressure or math.nan)
    speed = free_speed(drive, s.lower.stroke)
    air = drive.motor == "air"
    opening = valve_conductance(area * speed, supply, atmosphere) if air else 0.0
    exhaust = drive.exhaust_conductance
    return core.Motor(
        kind=AIR if air else HYDRAULIC,
        area=area,
        supply=supply,
        free_speed=speed,
        mass=drive.moving_mass,
        friction=drive.friction * area * (supply - atmosphere),
        ramp_time=drive.ramp_time,
        dwell_time=drive.dwell_time,
        conductance=opening,
        exhaust=opening if exhaust is None else ANR * exhaust,
        dead_volume=AIR_DEAD_SHARE * area * s.lower.stroke if air else 0.0,
        limit=STALL_STROKES * 0.5 / (drive.free_cycle_rate or math.nan),
    )


def valve_conductance(flow: float, supply: float, atmosphere: float) -> float:
    """Conductance of an air motor's supply [m3/s] with which it makes a flow [m3/s] through its cylinder
    without load, if its exhaust has the same: there the pressures on both sides are equal, so that what the
    supply gives at that pressure is what leaves to the atmosphere."""

    def surplus(p: float) -> float:
        return supply * share_of_sonic(p / supply)[0] - p * share_of_sonic(atmosphere / p)[0]

    p = float(root(surplus, atmosphere, supply, xtol=1e-9 * supply))
    return flow / share_of_sonic(atmosphere / p)[0]


def cycle_rate_of(s: described.Scenario) -> float:
    """The cycle rate [1/s]; where it is not given but follows, the size of it: of a motor by a steady balance
    of its forces in a full lower, at a tip by the flow that it passes at the given pressure."""
    if s.drive.cycle_rate is not None:
        return s.drive.cycle_rate
    if s.drive.profile == "motor":
        return motor_rate(s)
    swept = math.pi / 4.0 * s.lower.bore**2 * s.lower.stroke
    return tip_flow(s, s.outlet.gauge_pressure or 0.0) / swept


def motor_rate(s: described.Scenario) -> float:
    """Cycle rate [1/s] of a motor whose steady forces balance in a full lower, as the mean of both strokes;
    near its stall no less than a small share of the rate without load."""
    motor = motor_parameters(s)
    bore, rod = (math.pi * d**2 / 4.0 for d in (s.lower.bore, s.lower.rod))
    whole, free = (
        motor.area * (motor.supply - s.suction.barometric_pressure),
        s.drive.free_cycle_rate or math.nan,
    )

    pressure = pressure_over_rate(s)

    def made(rate: float) -> float:
        outlet = pressure(rate)
        loads = (outlet * (bore - rod) + motor.friction, outlet * rod + motor.friction)
        return free * sum(math.sqrt(max(1.0 - load / whole, SLOWEST**2)) for load in loads) / 2.0

    if not has_tip(s.outlet):
        return made(free)
    # The faster it strokes, the more a tip takes, and the slower it strokes.
    return float(root(lambda rate: made(rate) - rate, 0.5 * SLOWEST * free, free, rtol=1e-6))
