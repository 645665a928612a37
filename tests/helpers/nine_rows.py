"""A cycle of nine rows by which its metrics are worked out by hand.

A period of 8 s, a stroke of 2 m, a bore of 3 m2 and an annulus of 1 m2; the numbers are far from any pump,
so that each sum tells its parts.
"""

import numpy as np
import pytest

from balltravel.core.contact import FREE, ON_STOP, SEATED
from balltravel.core.events import Event
from balltravel.cycle.metrics import metrics_of

from .motions import motion

TIME = np.arange(9.0)
UNITS = ("1", "s", "s-1", "m", "m3", "m s-1", "m3 s-1", "Pa", "J")
DRAWN = np.array([0.0, -0.3, 1.0, 2.5, 4.0, 4.4, 4.2, 4.1, 4.0])
PASSED = np.array([0.0, -0.2, -0.5, -0.6, -0.65, 0.0, 1.0, 2.3, 2.2])
INLET_MODE = np.array([SEATED, FREE, FREE, ON_STOP, ON_STOP, FREE, FREE, SEATED, SEATED])
PISTON_MODE = np.array([FREE, FREE, FREE, SEATED, SEATED, SEATED, FREE, ON_STOP, FREE])
# Kind, check, time, value.
EVENTS = (
    (Event.RELEASED, 0, 0.9, 0.0),
    (Event.GAP_CROSSED, 0, 1.1, 0.9),
    (Event.BOUNCED_ON_STOP, 0, 2.8, 0.7),
    (Event.STOPPED, 0, 3.0, 0.6),
    (Event.SEATED, 0, 3.9, 5.0),
    (Event.SEATED, 0, 6.2, 5.0),
    (Event.GAP_CROSSED, 0, 6.8, -0.4),
    (Event.GAP_CROSSED, 0, 6.9, -0.2),
    (Event.SEATED, 0, 7.0, 5.0),
    (Event.SEATED, 1, 1.5, 5.0),
    (Event.SEATED, 1, 2.9, 5.0),
    (Event.GAP_CROSSED, 1, 2.7, -1.5),
    (Event.SEATED, 1, 4.5, 5.0),
    (Event.STOPPED, 1, 6.5, 1.2),
    (Event.BOUNCED_ON_STOP, 1, 6.4, 1.1),
    (Event.OUTFLOW_TURNED, 0, 0.5, -1.0),
    (Event.OUTFLOW_TURNED, 0, 1.0, 1.0),
    (Event.OUTFLOW_TURNED, 0, 1.5, 1.0),
    (Event.OUTFLOW_TURNED, 0, 4.5, 1.0),
    (Event.OUTFLOW_TURNED, 0, 6.0, -1.0),
    (Event.PRESSURE_CROSSED, 0, 1.0, 1.0),
    (Event.PRESSURE_CROSSED, 0, 4.2, -1.0),
    (Event.PRESSURE_CROSSED, 0, 5.25, 1.0),
    (Event.PRESSURE_CROSSED, 0, 6.0, 1.0),
)


def cycle(events=EVENTS, **other):
    """The cycle's motion; ``other`` replaces variables."""
    position = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 1.5, 1.0, 0.5, 0.0])
    delivered = np.array([0.0, 0.4, 0.9, 1.5, 2.0, 2.2, 2.6, 3.1, 3.7])
    variables = {
        "piston_position": position,
        "position_integral": position,
        "piston_speed": np.array([0.0, 0.5, 0.5, 0.5, 0.0, -0.5, -0.6, -0.5, 0.0]),
        "passed_volume": np.stack([DRAWN, PASSED], 1),
        "contact": np.stack([INLET_MODE, PISTON_MODE], 1).astype(float),
        "lift": np.stack(
            [[0, 0.1, 0.3, 0.5, 0.4, 0.3, 0.2, 0, 0], [0.7, 0.3, 0.1, 0, 0, 0, 0.2, 0.9, 0.8]], 1
        ),
        "delivered_volume": delivered,
        "line_volume": DRAWN + 0.25 * TIME,
        "port_surplus": 7.0 + 0.25 * TIME,
        "lower_surplus": 5.0 + DRAWN - PASSED - 3.0 * position,
        "upper_surplus": 6.0 + PASSED - delivered + 1.0 * position,
        "outlet_flow": np.array([1.0, -1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]),
        "lower_pressure": np.array([90.0, 80.0, 60.0, 65.0, 70.0, 75.0, 100.0, 200.0, 150.0]),
        "upper_pressure": np.array([210.0, 220.0, 230.0, 240.0, 250.0, 260.0, 270.0, 280.0, 290.0]),
        "port_pressure": np.array([95.0, 85.0, 71.0, 88.0, 90.0, 91.0, 92.0, 93.0, 94.0]),
        "void_volume": np.array([0.0, 0.0, 0.1, 0.2, 0.3, 0.1, 0.0, 0.0, 0.0]),
        "swept_volume": 6.0,
        "bore_area": 3.0,
        "annulus_area": 1.0,
        "stroke": 2.0,
        "period": 8.0,
        "top_dead_centre": 4.0,
        "barometric_pressure": 50.0,
        "vapour_pressure": 20.0,
        "moving_mass": np.array([2.0, 3.0]),
    }
    return motion(**{"time": TIME, "events": events, **variables, **other})


def approx(expected):
    return pytest.approx(expected, rel=1e-12, abs=1e-13)


def check_metrics(data, check):
    """The inlet's (0) or the piston check's (1)."""
    found = metrics_of(data)
    return found.inlet if check == 0 else found.piston


def lost_travel(data):
    """In the upstroke and in the downstroke."""
    found = metrics_of(data)
    return found.lost_upstroke, found.lost_downstroke


def modes(inlet=INLET_MODE, piston=PISTON_MODE):
    return {"contact": np.stack([inlet, piston], 1).astype(float)}
