"""A lower in the middle of a stroke: the integrator's workspace as it is before a step."""

import numpy as np

from balltravel.core.contact import FREE
from balltravel.core.contents import pressure
from balltravel.core.events import guards
from balltravel.core.model import DRAWN, POSITION, SIZE, STATES, Moment, moment, rates
from balltravel.core.parameters import Control, Drive
from balltravel.core.slopes import derivatives
from balltravel.core.workspace import make_contact

from .boxes import Work, boxed
from .lowers_by_hand import steady_drive

PERIOD, STROKE = 1.0, 0.09
INLET_Z, INLET_W, PISTON_Z, PISTON_W = 4, 5, 6, 7
# States whose errors count where nothing of motor, outlet hose, gas or packings is there: eight and the five
# volumes.
COUNTED = 13


def moving_lower(make_lower):
    """A lower at modest pressures, the piston on its way up at 0.2 m/s from the start."""
    p = make_lower(moving_drive(), 2.0, outlet_pressure=1.3e5, outlet_resistance=1e9)
    return p._replace(piston=p.piston._replace(travel=0.004))


def moving_drive(speed=0.2, times=(0.0, 0.0025, 0.01)):
    """Two short segments in which the piston moves evenly; the period is that of a whole cycle."""
    drive = steady_drive(PERIOD, STROKE)
    start, position, velocity, none = (np.zeros_like(drive.start) for _ in range(4))
    start[:3], velocity[:2] = times, speed
    position[:2] = 0.01, 0.01 + speed * (times[1] - times[0])
    return Drive(2, PERIOD, STROKE, 0.0, start, position, velocity, none)


def control(p, rtol=1e-6, cycles=3, rows=40_000, tolerance=1e-6):
    scale, end = np.ones(SIZE), np.zeros(SIZE)
    scale[:STATES] = 1e-8, 1e-4, 1e-8, 1e-8, 1e-4, 0.1, 1e-4, 0.1
    scale[DRAWN:POSITION], scale[POSITION] = 1e-4, 0.1
    end[INLET_Z], end[PISTON_Z] = p.inlet.travel, p.piston.travel
    return Control(rtol, scale, end, cycles, rows, tolerance, COUNTED)


def contact_of(modes=(FREE, FREE), armed=(1, 1), hold=(0.0, 0.0), sides=1.0):
    contact = boxed(make_contact())
    contact.mode[:], contact.armed[:], contact.hold[:], contact.side[:] = modes, armed, hold, sides
    return contact


def surplus_of(p, chamber, position, wanted):
    """The contents that belong to a pressure, by Newton's method."""
    y = 0.0
    for _ in range(60):
        got, slope, _ = pressure(boxed(p.material), p.reference_pressure, boxed(chamber), position, y)
        y += max((wanted - got) / slope, -0.5 * (chamber.volume + chamber.area * position + y))
    return y


def started(
    p, t=0.001, balls=(0.002, 0.05, 0.002, -0.03), pressures=(9.5e4, 9.4e4, 9.9e4), modes=(FREE, FREE)
):
    """A workspace in the first segment at ``t`` with rates, derivatives and guards; its contact."""
    work, contact = Work(), contact_of(modes)
    x = 0.01 + 0.2 * t
    chambers = ((0, p.port, 0.0), (2, p.lower, x), (3, p.upper, x))
    for (k, chamber, at), wanted in zip(chambers, pressures, strict=True):
        work.y[k] = surplus_of(p, chamber, at, wanted)
    work.y[1], work.y[4:8] = 1e-4, balls
    moment(boxed(p), 0, t, work.y, True, work.now)
    rates(boxed(p), work.now, work.y, *modes, work.rates)
    derivatives(boxed(p), work.now, *modes, work.jacobian, work.by_time)
    guards(boxed(p), work.now, work.y, contact, work.guard)
    contact.side[:] = np.where(work.guard >= 0.0, 1.0, -1.0)
    contact.side[:4] = 1.0
    guards(boxed(p), work.now, work.y, contact, work.guard)
    return work, contact


def rates_at(p, t, y, modes=(FREE, FREE)):
    now, out = boxed(Moment()), np.empty(SIZE)
    moment(boxed(p), 0, t, y, True, now)
    rates(boxed(p), now, y, *modes, out)
    return out
