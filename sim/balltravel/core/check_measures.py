"""What a cycle says of one ball check (definitions: docs/results.md)."""

from typing import NamedTuple

from balltravel.core.contact import SEATED
from balltravel.core.events import Event
from balltravel.core.jit import kernel
from balltravel.core.parameters import Array
from balltravel.core.readings import Sizes, backward, row_at, row_of_most, value_at
from balltravel.core.recording import (
    DRAWN,
    INLET_LIFT,
    INLET_MODE,
    PASSED,
    PISTON_LIFT,
    PISTON_MODE,
    POSITION,
    TIME,
)

# Where each number of a check lies in its part of the vector.
(
    CLOSING_LAG,
    BALL_LAG,
    CLOSING_LAG_STROKE_FRACTION,
    HYDRAULIC_CLOSING,
    BACKFLOW_VOLUME,
    LEAK_VOLUME,
    LANDING_SPEED,
    LANDING_ENERGY,
    STOP_LANDING_SPEED,
    PEAK_LIFT,
    LIFT_AT_REVERSAL,
) = range(11)
CHECK_MEASURES = 11

NONE, EARLY, NEVER_SEATS, NEVER_LIFTS = range(4)
"""What may be odd about a check's ball."""

PASSED_SHARE = 0.99
"""Share of the backflow after whose passage a check counts as hydraulically closed."""


class Window(NamedTuple):
    """A check over the stroke in which it should shut, with the stroke before it; time 0 is its reversal.

    The piston check's reversal is the cycle's start, so its stroke before is taken from the cycle's end,
    which for a periodic cycle is the same: the first ``before`` of the window's rows (``length``) are the
    cycle's last, from row ``first`` on, ``earlier`` by a period [s] and their volume ``less`` by the cycle's
    [m3]. ``reversal``: its time in the cycle, ``half``: from there to the end of the stroke [s]; ``volume``,
    ``mode``: the check's columns.
    """

    check: int
    reversal: float
    half: float
    first: int
    before: int
    length: int
    earlier: float
    less: float
    volume: int
    mode: int


@kernel
def window_of(sizes: Sizes, rows: Array, count: int, check: int) -> Window:
    """The window of the inlet (0) or the piston check (1)."""
    top, period = sizes.top, sizes.period
    if check == 0:
        return Window(0, top, period - top, 0, 0, count, 0.0, 0.0, DRAWN, INLET_MODE)
    # Rows at top dead centre are the first of one stroke and the last of the other.
    until = row_at(rows, count, top)
    first = until if rows[until, TIME] >= top else until + 1
    while first > 0 and rows[first - 1, TIME] >= top:
        first -= 1
    before = count - first
    less = rows[count - 1, PASSED]
    return Window(1, 0.0, top, first, before, before + until + 1, period, less, PASSED, PISTON_MODE)


@kernel
def row_in(w: Window, k: int) -> int:
    """The cycle's row that is row ``k`` of a window."""
    return w.first + k if k < w.before else k - w.before


@kernel
def time_in(w: Window, rows: Array, k: int) -> float:
    """Time of a window's row since the reversal [s]."""
    return float(rows[row_in(w, k), TIME] - (w.earlier if k < w.before else w.reversal))


@kernel
def volume_in(w: Window, rows: Array, k: int) -> float:
    """Volume passed at a window's row [m3]."""
    return float(rows[row_in(w, k), w.volume] - (w.less if k < w.before else 0.0))


@kernel
def flow_turned(w: Window, rows: Array, until: float) -> float:
    """When the volume passed was largest, no later than a time [s] since the reversal: there the flow changed
    sign for good."""
    most, turned = 0.0, 0.0
    for k in range(w.length):
        t, volume = time_in(w, rows, k), volume_in(w, rows, k)
        if t <= until and (k == 0 or volume > most):
            most, turned = volume, t
    return turned


@kernel
def returned_in(w: Window, rows: Array, k: int, since: float) -> float:
    """Volume [m3] that comes back through the open check between a window's row ``k`` and the next, where
    that is not before a time [s] since the reversal."""
    if time_in(w, rows, k) < since or rows[row_in(w, k), w.mode] == SEATED:
        return 0.0
    return max(volume_in(w, rows, k) - volume_in(w, rows, k + 1), 0.0)


@kernel
def backflow_passed(w: Window, rows: Array, share: float) -> float:
    """When a share of the backflow around this reversal has passed [s]; 0 if there is none."""
    since = flow_turned(w, rows, w.half)
    total = 0.0
    for k in range(w.length - 1):
        total += returned_in(w, rows, k, since)
    wanted, passed = share * total, 0.0
    for k in range(w.length - 1):
        more = returned_in(w, rows, k, since)
        if more > 0.0 and passed + more >= wanted:
            here = time_in(w, rows, k)
            return float(here + (wanted - passed) / more * (time_in(w, rows, k + 1) - here))
        passed += more
    return 0.0


@kernel
def last_seated(w: Window, events: Array, marked: int) -> float:
    """When the ball last came to its seat in the stroke after the reversal [s since it]; -1 if it never
    did."""
    at = -1.0
    for i in range(marked):
        t = events[i, 2] - w.reversal
        if events[i, 0] == Event.SEATED.value and events[i, 1] == w.check and 0.0 <= t <= w.half:
            at = t
    return at


@kernel
def measure_lags(
    w: Window, stroke: float, rows: Array, count: int, events: Array, marked: int, lifts: bool, out: Array
) -> int:
    """Closing lag and ball lag, and the share of the stroke in it, into ``out``; returns what is odd."""
    seated_at = last_seated(w, events, marked)
    seated_at_end = rows[row_in(w, w.length - 1), w.mode] == SEATED
    lag, ball_lag, flag = w.half, w.half, NEVER_SEATS
    if not lifts:
        flag = NEVER_LIFTS
    elif seated_at >= 0.0 and seated_at_end:
        lag, ball_lag, flag = seated_at, seated_at - flow_turned(w, rows, seated_at), NONE
    elif seated_at_end and rows[row_at(rows, count, w.reversal), w.mode] == SEATED:
        lag, ball_lag, flag = 0.0, 0.0, EARLY
    start = value_at(rows, count, POSITION, w.reversal)
    end = value_at(rows, count, POSITION, w.reversal + lag)
    out[CLOSING_LAG], out[BALL_LAG] = lag, ball_lag
    out[CLOSING_LAG_STROKE_FRACTION] = abs(end - start) / stroke
    return flag


@kernel
def measure_landings(check: int, mass: float, events: Array, marked: int, out: Array) -> None:
    """Fastest landings on the seat and on the stop, and the energy of the first, into ``out``."""
    on_seat, on_stop = 0.0, 0.0
    for i in range(marked):
        kind, value = events[i, 0], events[i, 3]
        if events[i, 1] != check:
            continue
        if kind == Event.GAP_CROSSED.value:
            on_seat = max(on_seat, -value)
        elif kind == Event.STOPPED.value or kind == Event.BOUNCED_ON_STOP.value:
            on_stop = max(on_stop, value)
    out[LANDING_SPEED], out[STOP_LANDING_SPEED] = on_seat, on_stop
    out[LANDING_ENERGY] = 0.5 * mass * on_seat**2


@kernel
def measure_check(
    sizes: Sizes, rows: Array, count: int, events: Array, marked: int, check: int, out: Array
) -> int:
    """All numbers of the inlet (0) or the piston check (1) into ``out`` (CHECK_MEASURES); returns what is odd
    about its ball."""
    w = window_of(sizes, rows, count, check)
    lift = INLET_LIFT if check == 0 else PISTON_LIFT
    peak = rows[row_of_most(rows, 0, count, lift), lift]
    flag = measure_lags(w, sizes.stroke, rows, count, events, marked, peak > 0.0, out)
    measure_landings(check, sizes.inlet_mass if check == 0 else sizes.piston_mass, events, marked, out)
    out[HYDRAULIC_CLOSING] = backflow_passed(w, rows, PASSED_SHARE)
    out[BACKFLOW_VOLUME] = backward(rows, 0, count - 1, w.volume, w.mode, False)
    out[LEAK_VOLUME] = backward(rows, 0, count - 1, w.volume, w.mode, True)
    out[PEAK_LIFT] = peak
    out[LIFT_AT_REVERSAL] = value_at(rows, count, lift, w.reversal)
    return flag
