"""One cycle as a figure, readable in grey."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

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
    heading,
    new_figure,
    tidy,
)
from balltravel.report.tables import conditions, travel_set
from balltravel.scenario.model import Scenario
from balltravel.study.cycle_report import CycleReport

_MARKS = {
    Event.SEATED: ("v", "seated"),
    Event.STOPPED: ("^", "on its stop"),
    Event.RELEASED: ("o", "released"),
}
_MM, _BAR, _CC, _PERCENT = 1e3, 1e-5, 1e6, 100.0


def cycle_figure(cycle: Cycle) -> Figure:
    """One cycle over time: piston, lifts, pressures in both ranges, flows; right: around top dead centre.

    ``cycle``: as :func:`balltravel.run_cycle` returns it, or :func:`balltravel.cycle_of` of a stored result;
    not a failed one. Events are marked at the lifts, reversals by lines.
    """
    figure = new_figure(14.0, 11.0)
    panels = figure.subplots(5, 2, sharex="col", sharey="row", width_ratios=(1.7, 1.0), squeeze=False)
    m, metrics = cycle.motion, cycle.metrics
    if metrics is None:
        raise ValueError("the run failed; allowed: a cycle that was run to its end")
    half, end = m.top_dead_centre, m.period
    lag, ball_lag = metrics.inlet.closing_lag, metrics.inlet.ball_lag
    for column in range(2):
        _piston(panels[0, column], m)
        _lifts(panels[1, column], m, half, lag, ball_lag)
        _suction_range(panels[2, column], m)
        _pressures(panels[3, column], m)
        _flows(panels[4, column], m)
        _hatch(panels[4, column], cycle)
        for axes in panels[:, column]:
            for reversal in (0.0, half, end):
                axes.axvline(reversal, color="#999999", linewidth=0.8)
        panels[4, column].set_xlabel("time since bottom dead centre [s]")
    panels[0, 0].set_xlim(0.0, end)
    ahead = max(0.05 * half, min(1.3 * lag, 0.95 * (end - half)))
    panels[0, 1].set_xlim(half - max(0.08 * half, 0.35 * ahead), half + ahead)
    panels[0, 1].xaxis.set_major_locator(MaxNLocator(5))
    _labels(panels)
    share = _PERCENT * metrics.volumetric_efficiency
    repeats = "" if cycle.status == Status.OK else "; THE CYCLE DOES NOT REPEAT"
    lines = (
        cycle.scenario.title,
        conditions(cycle.scenario),
        f"inlet check: {travel_set(cycle.scenario)}; volumetric efficiency {share:.1f} %{repeats}",
    )
    figure.suptitle(heading(lines, 130))
    return figure


def _labels(panels: Any) -> None:
    names = (
        "piston above bottom\ndead centre [mm]",
        "lift of the ball [mm]",
        "absolute pressure,\nsuction range [bar]",
        "absolute pressure [bar]",
        "flow [cc/s]",
    )
    for row, name in enumerate(names):
        for column in range(2):
            tidy(panels[row, column], name if column == 0 else "")
        if row:
            panels[row, 1].legend(loc="center left", bbox_to_anchor=(1.02, 0.5), fontsize=9, frameon=False)
    panels[0, 0].set_title("the whole cycle: upstroke, then downstroke", fontsize=10)
    panels[0, 1].set_title("around top dead centre", fontsize=10)


def _piston(axes: Axes, m: Motion) -> None:
    axes.plot(m.time, _MM * m.piston_position, color="#222222", linewidth=1.5)


def _lifts(axes: Axes, m: Motion, half: float, lag: float, ball_lag: float) -> None:
    axes.plot(m.time, _MM * m.lift[:, 0], label="inlet check", **INLET)
    axes.plot(m.time, _MM * m.lift[:, 1], label="piston check", **PISTON)
    axes.set_ylim(-0.1 * _MM * float(m.travel.max()), 1.1 * _MM * float(m.travel.max()))
    if lag > 0.0:
        axes.axvspan(half, half + lag, color="#cfdcea", alpha=0.7, label="closing lag, inlet check")
    if ball_lag > 0.0:
        edge: dict[str, Any] = {"facecolor": "none", "edgecolor": "#5f7f9f", "hatch": "..", "linewidth": 0.0}
        axes.axvspan(half + lag - ball_lag, half + lag, label="ball lag, inlet check", **edge)
    for check, style in ((0, INLET), (1, PISTON)):
        for kind, (mark, name) in _MARKS.items():
            of_kind = (m.event_kind == kind) & (m.event_check == check)
            times = m.event_time[of_kind]
            lifts = np.interp(times, m.time, _MM * m.lift[:, check])
            axes.plot(
                times, lifts, mark, color=style["color"], markersize=5, markerfacecolor="white",
                linestyle="none", label=name if check == 0 and times.size else None,
            )  # fmt: skip


def _suction_range(axes: Axes, m: Motion) -> None:
    atmosphere = _BAR * m.barometric_pressure
    axes.plot(m.time, _BAR * m.lower_pressure, label="lower chamber", **INLET)
    axes.plot(m.time, _BAR * m.port_pressure, label="inlet port", **THIRD)
    axes.axhline(atmosphere, label="atmosphere", **LIMIT)
    axes.axhline(_BAR * m.vapour_pressure, label="vapour pressure", **FOURTH)
    axes.set_ylim(-0.08 * atmosphere, 1.5 * atmosphere)


def _pressures(axes: Axes, m: Motion) -> None:
    axes.plot(m.time, _BAR * m.lower_pressure, label="lower chamber", **INLET)
    axes.plot(m.time, _BAR * m.upper_pressure, label="upper chamber", **PISTON)
    if m.tip_pressure.any():
        axes.plot(m.time, _BAR * m.tip_pressure, label="before the tip", **THIRD)


def _flows(axes: Axes, m: Motion) -> None:
    axes.plot(m.time, _CC * m.flow[:, 0], label="inlet check", **INLET)
    axes.plot(m.time, _CC * m.flow[:, 1], label="piston check", **PISTON)
    axes.plot(m.time, _CC * m.outlet_flow, label="outlet", **THIRD)
    axes.plot(m.time, _CC * m.line_flow, label="suction line", **FOURTH)
    _without_peaks(axes, m)


def _without_peaks(axes: Axes, m: Motion) -> None:
    """A range that peaks of a hundredth of the cycle do not set: they would flatten all else."""
    drawn = (m.flow[:, 0], m.flow[:, 1], m.outlet_flow, m.line_flow)
    flows = np.concatenate(drawn)
    steps = np.tile(np.gradient(m.time), len(drawn))
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
            cycle.motion.time, 0.0, 0.07, where=beyond, transform=axes.get_xaxis_transform(),
            facecolor="none", edgecolor="#b0b0b0", hatch="///", linewidth=0.0, zorder=0,
            label="closure outside\nits range",
        )  # fmt: skip


def figure_of_report(_: Scenario, report: CycleReport) -> Figure | None:
    """The figure of a report's cycle; None of a failed run."""
    return None if report.cycle.metrics is None else cycle_figure(report.cycle)
