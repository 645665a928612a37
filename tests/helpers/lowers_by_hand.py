"""Drives of the tests that need no scenario."""

import numpy as np

from balltravel.core.parameters import MOST_SEGMENTS, Drive


def steady_drive(period: float, stroke: float, ramp: float = 0.05, dwell: float = 0.04) -> Drive:
    """Constant speed with ramps and dwells (M1), from the middle of the dwell at bottom dead centre."""
    half = 0.5 * period
    speed = stroke / (half - dwell - ramp)
    rise = 0.5 * speed * ramp
    up = [
        (0.5 * dwell, 0.0, 0.0, 0.0),
        (ramp, 0.0, 0.0, speed / ramp),
        (half - dwell - 2.0 * ramp, rise, speed, 0.0),
        (ramp, stroke - rise, speed, -speed / ramp),
        (0.5 * dwell, stroke, 0.0, 0.0),
    ]
    down = [(length, stroke - x, -v, -a) for length, x, v, a in up]
    columns = np.array([*up, *down]).T
    rest = MOST_SEGMENTS - 10
    start = np.concatenate(([0.0], np.cumsum(columns[0]), np.zeros(rest - 1)))
    start[5], start[10] = half, period
    position, velocity, acceleration = (np.concatenate((column, np.zeros(rest))) for column in columns[1:])
    return Drive(10, period, stroke, 0.0, start, position, velocity, acceleration)
