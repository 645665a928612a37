"""What a cycle says, as one vector of numbers: the metrics of its rows and events (definitions:
docs/results.md)."""

import math

import numpy as np
from numpy.typing import NDArray

from balltravel.core.check_measures import CHECK_MEASURES, measure_check
from balltravel.core.contact import SEATED
from balltravel.core.events import Event
from balltravel.core.jit import kernel
from balltravel.core.parameters import Array
from balltravel.core.readings import Sizes, backward, mean_of, row_at, row_of_least, row_of_most, value_at
from balltravel.core.recording import (
    DELIVERED,
    DRAWN,
    INLET_MODE,
    LINE_VOLUME,
    LOWER_PRESSURE,
    LOWER_SURPLUS,
    PACKING,
    PASSED,
    PISTON_MODE,
    PORT_PRESSURE,
    PORT_SURPLUS,
    POSITION,
    POSITION_INTEGRAL,
    ROD,
    SPEED,
    TIME,
    TIP_PRESSURE,
    UPPER_PRESSURE,
    UPPER_SURPLUS,
    VOID,
)

# Where each number lies in the vector, in the order of ``cycle.metrics.metric_names``.
(
    FILL_FRACTION,
    FILL_AT_TOP_DEAD_CENTRE,
    VOLUMETRIC_EFFICIENCY,
    DELIVERED_VOLUME,
    DELIVERED_FLOW,
    DELIVERED_UPSTROKE,
    DELIVERED_DOWNSTROKE,
    LOWEST_CHAMBER_PRESSURE,
    LOWEST_PRESSURE_AT_PULL_OFF,
    LOWEST_PRESSURE_AFTER,
    LOWEST_PORT_PRESSURE,
    INLET_GAUGE_PRESSURE,
    VAPOUR_MARGIN,
    LOST_STROKE,
    LOST_UPSTROKE,
    LOST_DOWNSTROKE,
    VOLUME_RESIDUAL,
    CYCLE_RATE,
    UPSTROKE_TIME,
    DOWNSTROKE_TIME,
    PISTON_SPEED,
    OUTLET_PRESSURE,
    SPRAY_PRESSURE,
    PRESSURE_DIP,
    DIP_AT_TOP,
    DIP_AT_BOTTOM,
    PACKING_LEAK_VOLUME,
    ROD_LEAK_VOLUME,
    VOID_VOLUME,
    VOID_COLLAPSE,
) = range(30)
INLET, PISTON = 30, 30 + CHECK_MEASURES
LOSS_BUDGET = 30 + 2 * CHECK_MEASURES
(
    SWEPT,
    BUDGET_DELIVERED,
    UNDERFILL,
    INLET_BACKFLOW,
    PISTON_BACKFLOW,
    LEAK,
    COMPRESSION_AND_GAS,
    RESIDUAL,
) = range(LOSS_BUDGET, LOSS_BUDGET + 8)
MEASURES = LOSS_BUDGET + 8

NO_VOID = 1e-6
"""Share of the swept volume below which a void is none."""


@kernel
def measure_volumes(sizes: Sizes, rows: Array, count: int, out: Array) -> None:
    """What is drawn in, delivered and lost past the packings, the times of the strokes, and the piston's
    largest speed."""
    last = rows[count - 1]
    out[FILL_FRACTION] = rows[row_of_most(rows, 0, count, DRAWN), DRAWN] / sizes.swept
    out[FILL_AT_TOP_DEAD_CENTRE] = value_at(rows, count, DRAWN, sizes.top) / sizes.swept
    out[VOLUMETRIC_EFFICIENCY] = last[DELIVERED] / sizes.swept
    out[DELIVERED_VOLUME] = last[DELIVERED]
    out[DELIVERED_FLOW] = last[DELIVERED] / sizes.period
    out[DELIVERED_UPSTROKE] = value_at(rows, count, DELIVERED, sizes.top)
    out[DELIVERED_DOWNSTROKE] = last[DELIVERED] - out[DELIVERED_UPSTROKE]
    out[PACKING_LEAK_VOLUME], out[ROD_LEAK_VOLUME] = last[PACKING], last[ROD]
    out[CYCLE_RATE] = 1.0 / sizes.period
    out[UPSTROKE_TIME], out[DOWNSTROKE_TIME] = sizes.top, sizes.period - sizes.top
    up = rows[row_of_most(rows, 0, count, SPEED), SPEED]
    down = rows[row_of_least(rows, 0, count, SPEED), SPEED]
    out[PISTON_SPEED] = max(up, -down)


@kernel
def lowest(rows: Array, first: int, end: int, column: int) -> float:
    """Least value of a column from row ``first`` to before ``end``."""
    return float(rows[row_of_least(rows, first, end, column), column])


@kernel
def measure_pressures(sizes: Sizes, rows: Array, count: int, out: Array) -> None:
    """Lowest pressures, before and after the inlet ball leaves its seat, the mean at the inlet over the
    upstroke and behind the pump over the cycle."""
    pull_off = count - 1
    for i in range(count):
        if rows[i, INLET_MODE] != SEATED:
            pull_off = i
            break
    out[LOWEST_CHAMBER_PRESSURE] = lowest(rows, 0, count, LOWER_PRESSURE)
    out[LOWEST_PRESSURE_AT_PULL_OFF] = lowest(rows, 0, pull_off + 1, LOWER_PRESSURE)
    out[LOWEST_PRESSURE_AFTER] = lowest(rows, pull_off, count, LOWER_PRESSURE)
    out[LOWEST_PORT_PRESSURE] = lowest(rows, 0, count, PORT_PRESSURE)
    out[VAPOUR_MARGIN] = out[LOWEST_CHAMBER_PRESSURE] - sizes.vapour
    upstroke = row_at(rows, count, sizes.top) + 1
    out[INLET_GAUGE_PRESSURE] = mean_of(rows, upstroke, PORT_PRESSURE) - sizes.barometric
    out[OUTLET_PRESSURE] = mean_of(rows, count, UPPER_PRESSURE)


@kernel
def measure_spray(sizes: Sizes, rows: Array, count: int, out: Array) -> None:
    """Mean absolute pressure before the tip and its dips over the mean gauge one: of the whole cycle, and
    about each reversal from mid-stroke to mid-stroke; nan without a tip, whose column is 0 throughout."""
    out[SPRAY_PRESSURE], out[PRESSURE_DIP] = math.nan, math.nan
    out[DIP_AT_TOP], out[DIP_AT_BOTTOM] = math.nan, math.nan
    least = lowest(rows, 0, count, TIP_PRESSURE)
    if least == 0.0 and rows[row_of_most(rows, 0, count, TIP_PRESSURE), TIP_PRESSURE] == 0.0:
        return
    mean = mean_of(rows, count, TIP_PRESSURE)
    gauge = mean - sizes.barometric
    out[SPRAY_PRESSURE], out[PRESSURE_DIP] = mean, (mean - least) / gauge
    up = row_at(rows, count, 0.5 * sizes.top)
    down = row_at(rows, count, 0.5 * (sizes.top + sizes.period))
    out[DIP_AT_TOP] = (mean - lowest(rows, up, down + 1, TIP_PRESSURE)) / gauge
    at_bottom = min(lowest(rows, 0, up + 1, TIP_PRESSURE), lowest(rows, down, count, TIP_PRESSURE))
    out[DIP_AT_BOTTOM] = (mean - at_bottom) / gauge


@kernel
def lost_travel(rows: Array, count: int, start: float, end: float) -> float:
    """Piston travel [m] from the reversal at ``start`` to the instant at which least has been delivered in
    the stroke until ``end`` [s]: until then the outlet ran backward, on the whole. 0 where it never did.

    By the volume, a state, and not by the last change of the flow's sign: in the closing ramp the flow may
    pass zero by a hair, which means nothing.
    """
    least = -1
    for i in range(count):
        if start <= rows[i, TIME] <= end and (least < 0 or rows[i, DELIVERED] < rows[least, DELIVERED]):
            least = i
    if least < 0:
        return 0.0
    return abs(float(rows[least, POSITION]) - value_at(rows, count, POSITION, start))


@kernel
def measure_lost_stroke(sizes: Sizes, rows: Array, count: int, out: Array) -> None:
    """Lost travel of both strokes."""
    up = lost_travel(rows, count, 0.0, sizes.top)
    down = lost_travel(rows, count, sizes.top, sizes.period)
    out[LOST_UPSTROKE], out[LOST_DOWNSTROKE], out[LOST_STROKE] = up, down, max(up, down)


@kernel
def measure_void(sizes: Sizes, rows: Array, count: int, events: Array, marked: int, out: Array) -> None:
    """The void at top dead centre, and how long after it the chamber is back at atmospheric pressure."""
    out[VOID_VOLUME], out[VOID_COLLAPSE] = value_at(rows, count, VOID, sizes.top), 0.0
    if out[VOID_VOLUME] < NO_VOID * sizes.swept:
        return
    closed = sizes.period
    for i in range(marked):
        if events[i, 0] == Event.PRESSURE_CROSSED.value and events[i, 3] > 0.0 and events[i, 2] >= sizes.top:
            closed = events[i, 2]
            break
    out[VOID_COLLAPSE] = closed - sizes.top


@kernel
def measure_residual(sizes: Sizes, rows: Array, count: int, out: Array) -> None:
    """Largest error of the volume balances, over swept volume: each chamber's contents against the flows in
    and out at every row, and the integrated piston position against the stroke's own."""
    start, largest = rows[0], 0.0
    for i in range(count):
        r = rows[i]
        x = r[POSITION_INTEGRAL]
        below = r[DRAWN] - r[PASSED] + r[PACKING] - sizes.bore * x
        above = r[PASSED] - r[PACKING] - r[ROD] - r[DELIVERED] + sizes.annulus * x
        at_port = r[LINE_VOLUME] - r[DRAWN]
        largest = max(
            largest,
            abs(r[LOWER_SURPLUS] - start[LOWER_SURPLUS] - below),
            abs(r[UPPER_SURPLUS] - start[UPPER_SURPLUS] - above),
            abs(r[PORT_SURPLUS] - start[PORT_SURPLUS] - at_port),
            abs(sizes.bore * (x - r[POSITION])),
        )
    out[VOLUME_RESIDUAL] = largest / sizes.swept


@kernel
def measure_budget(sizes: Sizes, rows: Array, count: int, out: Array) -> None:
    """Swept volume = delivered + underfill + backflow of both checks + leak + compression and gas.

    With t* the instant at which most has been drawn in: underfill is the bore area times the stroke still (or
    again) to go at t*; the backflows are what returned through the open checks and was not drawn again, the
    piston check's until t*, the inlet check's after it; compression and gas is what the chamber's contents
    gave by expanding until t*, with what little the cycle has stored.
    """
    most = row_of_most(rows, 0, count, DRAWN)
    start, then, last = rows[0], rows[most], rows[count - 1]
    leak_up = backward(rows, 0, most, PASSED, PISTON_MODE, True)
    leak_down = backward(rows, most, count - 1, DRAWN, INLET_MODE, True)
    out[SWEPT] = sizes.swept
    out[BUDGET_DELIVERED] = last[DELIVERED]
    out[UNDERFILL] = sizes.swept - sizes.bore * then[POSITION_INTEGRAL]
    out[INLET_BACKFLOW] = then[DRAWN] - last[DRAWN] - leak_down
    out[PISTON_BACKFLOW] = -then[PASSED] - leak_up
    out[LEAK] = leak_up + leak_down + then[PACKING] + last[ROD]
    gained = last[LOWER_SURPLUS] - then[LOWER_SURPLUS] + last[UPPER_SURPLUS] - start[UPPER_SURPLUS]
    out[COMPRESSION_AND_GAS] = gained
    out[RESIDUAL] = sizes.swept
    for part in range(BUDGET_DELIVERED, RESIDUAL):
        out[RESIDUAL] -= out[part]


@kernel
def measure(
    sizes: Sizes, rows: Array, count: int, events: Array, marked: int, out: Array, flags: NDArray[np.int64]
) -> None:
    """All metrics of a whole cycle.

    rows: (at least ``count``, COLUMNS), SI units, from time 0 to the period; events: (at least ``marked``,
    EVENT_COLUMNS). Into ``out`` (MEASURES) in the order of the names above, into ``flags`` (2) what is odd
    about the balls of inlet and piston check: NONE, EARLY, NEVER_SEATS or NEVER_LIFTS.
    """
    measure_volumes(sizes, rows, count, out)
    measure_pressures(sizes, rows, count, out)
    measure_spray(sizes, rows, count, out)
    measure_lost_stroke(sizes, rows, count, out)
    measure_void(sizes, rows, count, events, marked, out)
    measure_residual(sizes, rows, count, out)
    measure_budget(sizes, rows, count, out)
    flags[0] = measure_check(sizes, rows, count, events, marked, 0, out[INLET:PISTON])
    flags[1] = measure_check(sizes, rows, count, events, marked, 1, out[PISTON:LOSS_BUDGET])
