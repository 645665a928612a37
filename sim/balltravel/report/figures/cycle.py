"""One cycle as a figure, or several side by side on the same axes; readable in grey."""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from balltravel.core.events import Event
from balltravel.core.status import Status
from balltravel.cycle.motion import Motion
from balltravel.cycle.run import Cycle
from balltravel.report.figures.style import (
    FOURTH,
    INLET,
    LIMIT,
    PISTON,
    THIRD,
    VOID,
    heading,
    mm,
    new_figure,
    on_axes_of,
    tidy,
)
from balltravel.report.tables import bench, bench_unit, conditions, travel_set
from balltravel.scenario.model import Scenario
from balltravel.study.cycle_report import CycleReport
from balltravel.units import to_text
from balltravel.units.display import scale

Array = NDArray[np.float64]

_MARKS = {
    Event.SEATED: ("v", "seated"),
    Event.STOPPED: ("^", "on its stop"),
    Event.RELEASED: ("o", "released"),
}
_HEIGHTS = (1.2, 1.5, 1.0, 1.0, 1.0)
_CC, _PERCENT = 1e6, 100.0
_SWEPT: dict[str, Any] = {"color": "#222222", "linestyle": (0, (6, 2)), "linewidth": 1.2}


def cycle_figure(cycle: Cycle) -> Figure:
    """One cycle over time: shares of swept, lifts, pressures in both ranges, flows; right: around top dead
    centre.

    ``cycle``: as :func:`balltravel.run_cycle` returns it, or :func:`balltravel.cycle_of` of a stored result;
    not a failed one. Events are marked at the lifts, reversals by lines.
    """
    figure = new_figure(14.0, 11.0)
    panels = figure.subplots(
        5, 2, sharex="col", sharey="row", width_ratios=(1.7, 1.0), height_ratios=_HEIGHTS, squeeze=False
    )  # fmt: skip
    if cycle.metrics is None:
        raise ValueError("the run failed; allowed: a cycle that was run to its end")
    for column, (title, span) in enumerate(_spans(cycle).items()):
        _column(panels[:, column], cycle, span)
        panels[0, column].set_title(title, fontsize=10)
    _labels(panels, _names())
    figure.suptitle(heading((cycle.scenario.title, *_about(cycle)), 130))
    return figure


def cycle_columns(cycle: Cycle, width: float) -> tuple[Figure, Figure]:
    """The same in two figures of a width [in], to lie beside or below each other: the whole cycle, and around
    top dead centre; without title. Not of a failed run."""
    figures = []
    for title, span in _spans(cycle).items():
        figure = new_figure(width, 13.0)
        panels = figure.subplots(5, 1, sharex=True, height_ratios=_HEIGHTS, squeeze=False)
        _column(panels[:, 0], cycle, span)
        _labels(panels, _names(), beside=False)
        figure.suptitle(title, fontsize=11)
        figures.append(figure)
    return figures[0], figures[1]


def _spans(cycle: Cycle) -> dict[str, tuple[float, float]]:
    """What a column shows -> its time since top dead centre [s]."""
    half, end = cycle.motion.top_dead_centre, cycle.motion.period
    return {
        "the whole cycle: upstroke, then downstroke": (-half, end - half),
        "around top dead centre": _around_top([cycle]),
    }


def _column(column: Any, cycle: Cycle, span: tuple[float, float]) -> None:
    """All panels of a cycle over a span of time, with its reversals as lines."""
    half, end = cycle.motion.top_dead_centre, cycle.motion.period
    _draw(column, (_shares, _lifts, _suction_range, _pressures, _flows), cycle)
    for axes in column:
        for reversal in (-half, 0.0, end - half):
            axes.axvline(reversal, color="#999999", linewidth=0.8)
    _without_peaks(column[-1], [cycle.motion])
    column[0].set_xlim(*span)


def beside_figure(cycles: Sequence[Cycle]) -> Figure:
    """Several cycles side by side around top dead centre, all on the same axes: a column each.

    Of a failed one its column says so. Raises ValueError if the first failed.
    """
    if cycles[0].metrics is None:
        raise ValueError("the first run failed; allowed: a cycle that was run to its end")
    run = [cycle for cycle in cycles if cycle.metrics is not None]
    figure = new_figure(3.0 + 5.0 * len(cycles), 10.0)
    panels = figure.subplots(
        4, len(cycles), sharex=True, sharey="row", height_ratios=(1.3, 1.6, 1, 1), squeeze=False
    )
    for column, cycle in enumerate(cycles):
        if cycle.metrics is not None:
            _draw(panels[:, column], (_shares, _lifts, _suction_range, _flows), cycle)
        for axes in panels[:, column]:
            axes.axvline(0.0, color="#999999", linewidth=0.8)
        said = (*_about(cycle),) if cycle.metrics is not None else (*_about(cycle), cycle.status.advice)
        panels[0, column].set_title(heading(said, 70), fontsize=9)
    for axes in panels[1]:
        _room_for_intervals(axes, max(float(cycle.motion.travel.max()) for cycle in run))
    for axes in panels[3]:
        _without_peaks(axes, [cycle.motion for cycle in run])
    panels[0, 0].set_xlim(*_around_top(run))
    share, lift, suction, _, flow = _names()
    _labels(panels, (share, lift, suction, flow))
    figure.suptitle(heading((cycles[0].scenario.title,), 80))
    return figure


def _names() -> tuple[str, str, str, str, str]:
    """Names of the panels, from top to bottom."""
    pressure, length = bench_unit("pressure"), bench_unit("length")
    suction, absolute = f"absolute pressure,\nsuction range [{pressure}]", f"absolute pressure [{pressure}]"
    return "share of swept [%]", f"lift of the ball [{length}]", suction, absolute, "flow [cc/s]"


def _bar() -> float:
    return scale("pressure", "bar")


def _draw(column: Any, drawings: Sequence[Callable[[Axes, Cycle], None]], cycle: Cycle) -> None:
    """One cycle's panels, from top to bottom."""
    for axes, drawing in zip(column, drawings, strict=True):
        drawing(axes, cycle)
    _hatch(column[-1], cycle)


def _about(cycle: Cycle) -> tuple[str, ...]:
    """What was run, and what came of it, a line each."""
    said: list[str] = []
    if cycle.metrics is not None:
        said.append(f"filling {_PERCENT * cycle.metrics.fill_fraction:.1f} %")
        said.append(f"volumetric efficiency {_PERCENT * cycle.metrics.volumetric_efficiency:.1f} %")
        said += [] if cycle.status == Status.OK else ["THE CYCLE DOES NOT REPEAT"]
    return conditions(cycle.scenario), f"inlet check: {travel_set(cycle.scenario)}", "; ".join(said)


def _around_top(cycles: Sequence[Cycle]) -> tuple[float, float]:
    """Times [s] around top dead centre that hold the closing of every cycle's inlet check, with room before
    it for the names of the intervals."""
    ahead = first = 0.0
    for cycle in cycles:
        half, end = cycle.motion.top_dead_centre, cycle.motion.period
        intervals = _intervals(cycle)
        lag = max(interval.end for interval in intervals)
        ahead = max(ahead, 0.05 * half, min(1.3 * lag, 0.95 * (end - half)))
        first = min(first, *(interval.start for interval in intervals))
    return first - 0.7 * ahead, ahead


def _labels(panels: Any, names: Sequence[str], beside: bool = True) -> None:
    """Names of axes and lines; those of lines beside a row, or above it."""
    place: dict[str, Any] = {"loc": "center left", "bbox_to_anchor": (1.02, 0.5)}
    if not beside:
        place = {"loc": "lower left", "bbox_to_anchor": (-0.02, 1.0), "ncols": 2, "columnspacing": 1.0}
    for row, name in enumerate(names):
        for column, axes in enumerate(panels[row]):
            tidy(axes, name if column == 0 else "")
        last = next(axes for axes in reversed(panels[row]) if axes.get_legend_handles_labels()[0])
        shown = last.get_legend_handles_labels()
        panels[row, -1].legend(*shown, fontsize=9, frameon=False, **place)
    for axes in panels[-1]:
        axes.set_xlabel("time since top dead centre [s]")
        axes.xaxis.set_major_locator(MaxNLocator(6))


def _time(cycle: Cycle) -> Array:
    return cycle.motion.time - cycle.motion.top_dead_centre


def _shares(axes: Axes, cycle: Cycle) -> None:
    """How far the material follows the piston, and the void that it leaves."""
    m, time = cycle.motion, _time(cycle)
    share = _PERCENT / m.swept_volume
    swept = _PERCENT * m.piston_position / m.stroke
    axes.plot(time, swept, label=f"swept by the piston\n(stroke {bench(m.stroke, 'length')})", **_SWEPT)
    axes.plot(time, share * m.passed_volume[:, 0], label="drawn in", **INLET)
    axes.fill_between(time, 0.0, share * m.void_volume, label="void (cavitation)", **VOID)
    axes.set_ylim(-5.0, 108.0)


class _Interval(NamedTuple):
    """A stretch of the closing [s since top dead centre], what is said of it and how it is drawn."""

    said: str
    start: float
    end: float
    style: dict[str, Any]


def _intervals(cycle: Cycle) -> tuple[_Interval, ...]:
    """Closing lag of the inlet check; within it, apart, how long the void takes and how long the ball."""
    metrics = cycle.metrics
    assert metrics is not None
    lag, ball_lag, void = metrics.inlet.closing_lag, metrics.inlet.ball_lag, metrics.void_collapse
    lasted = [to_text(time, "time", 3) for time in (lag, void, ball_lag)]
    of_void = f"void closes {lasted[1]}" if void else "no void"
    return (
        _Interval(f"closing lag {lasted[0]}", 0.0, lag, {"facecolor": "#d9d9d9"}),
        _Interval(of_void, 0.0, void, {"facecolor": "white", "hatch": "////"}),
        _Interval(f"ball lag {lasted[2]}", lag - ball_lag, lag, {"facecolor": "white", "hatch": "...."}),
    )


def _lifts(axes: Axes, cycle: Cycle) -> None:
    m, time = cycle.motion, _time(cycle)
    axes.plot(time, mm() * m.lift[:, 0], label="inlet check", **INLET)
    axes.plot(time, mm() * m.lift[:, 1], label="piston check", **PISTON)
    _room_for_intervals(axes, float(m.travel.max()))
    _bars(axes, _intervals(cycle))
    for kind, (mark, name) in _MARKS.items():
        label: str | None = name
        for check, line in ((0, INLET), (1, PISTON)):
            of_kind = (m.event_kind == kind) & (m.event_check == check)
            times = m.event_time[of_kind] - m.top_dead_centre
            lifts = np.interp(times, time, mm() * m.lift[:, check])
            axes.plot(
                times, lifts, mark, color=line["color"], markersize=5, markerfacecolor="white",
                linestyle="none", label=label if times.size else None,
            )  # fmt: skip
            label = None if times.size else label


def _bars(axes: Axes, intervals: Sequence[_Interval]) -> None:
    """The intervals above the lifts, from the top down."""
    on_axes = axes.get_xaxis_transform()
    for row, (said, start, end, style) in enumerate(intervals):
        middle = 0.94 - 0.1 * row
        axes.broken_barh(
            [(start, end - start)], (middle - 0.035, 0.07), edgecolor="#333333", linewidth=0.8,
            transform=on_axes, **style,
        )  # fmt: skip
        axes.annotate(
            said, (min(start, 0.0), middle), (-4.0, 0.0), xycoords=on_axes, textcoords="offset points",
            ha="right", va="center", fontsize=9,
        )  # fmt: skip


def _room_for_intervals(axes: Axes, travel: float) -> None:
    """Lifts up to a travel [m] below, the intervals above; ticks where there are lifts."""
    axes.set_ylim(-0.1 * mm() * travel, 1.6 * mm() * travel)
    ticks = MaxNLocator(5).tick_values(0.0, mm() * travel)
    axes.set_yticks([tick for tick in ticks if tick <= mm() * travel])


def _suction_range(axes: Axes, cycle: Cycle) -> None:
    m, time = cycle.motion, _time(cycle)
    atmosphere = _bar() * m.barometric_pressure
    axes.plot(time, _bar() * m.lower_pressure, label="lower chamber", **INLET)
    axes.plot(time, _bar() * m.port_pressure, label="inlet port", **THIRD)
    axes.axhline(atmosphere, label="atmosphere", **LIMIT)
    axes.axhline(_bar() * m.vapour_pressure, label="vapour pressure", **FOURTH)
    axes.set_ylim(-0.08 * atmosphere, 1.5 * atmosphere)


def _pressures(axes: Axes, cycle: Cycle) -> None:
    m, time = cycle.motion, _time(cycle)
    axes.plot(time, _bar() * m.lower_pressure, label="lower chamber", **INLET)
    axes.plot(time, _bar() * m.upper_pressure, label="upper chamber", **PISTON)
    if m.tip_pressure.any():
        axes.plot(time, _bar() * m.tip_pressure, label="before the tip", **THIRD)


def _flows(axes: Axes, cycle: Cycle) -> None:
    m, time = cycle.motion, _time(cycle)
    axes.plot(time, _CC * m.flow[:, 0], label="inlet check", **INLET)
    axes.plot(time, _CC * m.flow[:, 1], label="piston check", **PISTON)
    axes.plot(time, _CC * m.outlet_flow, label="outlet", **THIRD)
    axes.plot(time, _CC * m.line_flow, label="suction line", **FOURTH)


def _without_peaks(axes: Axes, motions: Sequence[Motion]) -> None:
    """A range that peaks of a hundredth of the cycle do not set: they would flatten all else."""
    drawn = [(m, flow) for m in motions for flow in (m.flow[:, 0], m.flow[:, 1], m.outlet_flow, m.line_flow)]
    flows = np.concatenate([flow for _, flow in drawn])
    steps = np.concatenate([np.gradient(m.time) for m, _ in drawn])
    order = np.argsort(flows)
    share = np.cumsum(steps[order]) / steps.sum()
    low, high = _CC * np.interp([0.005, 0.995], share, flows[order])
    beyond = 0.25 * max(high - low, 1e-3)
    if _CC * flows.min() < low - 3.0 * beyond or _CC * flows.max() > high + 3.0 * beyond:
        axes.set_ylim(low - beyond, high + beyond)
        axes.text(0.01, 0.93, "peaks are cut", fontsize=8, transform=axes.transAxes, va="top")


def _hatch(axes: Axes, cycle: Cycle) -> None:
    """A hatched strip along the times at which a closure is outside its range."""
    beyond = cycle.outside_range
    if beyond.any():
        axes.fill_between(
            _time(cycle), 0.0, 0.07, where=beyond, transform=axes.get_xaxis_transform(),
            facecolor="none", edgecolor="#b0b0b0", hatch="///", linewidth=0.0, zorder=0,
            label="closure outside\nits range",
        )  # fmt: skip


def figure_of_report(_: Scenario, report: CycleReport) -> Figure | None:
    """The figure of a report's cycle, on the axes of another where one is given, or of all those beside each
    other; None of a failed run."""
    if report.cycle.metrics is None:
        return None
    if report.beside:
        return beside_figure([report.cycle, *report.beside])
    other = None if report.like is None else cycle_figure(report.like)
    return on_axes_of(cycle_figure(report.cycle), other)
