"""Cycles and recommendations as figures, readable in grey."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from balltravel.core.events import Event
from balltravel.cycle.metrics import cycle_metrics
from balltravel.report.tables import conditions, shim_names, travel_set
from balltravel.scenario.model import Scenario, from_result

if TYPE_CHECKING:
    from balltravel.study.travel.recommend import Recommendation, Trial

from balltravel.report.figures.style import (
    FOURTH,
    INLET,
    LIMIT,
    PISTON,
    THIRD,
    heading,
    marked_line,
    new_figure,
    tidy,
)

_MARKS = {
    Event.SEATED: ("v", "seated"),
    Event.STOPPED: ("^", "on its stop"),
    Event.RELEASED: ("o", "released"),
}
_MM, _BAR, _CC, _PERCENT = 1e3, 1e-5, 1e6, 100.0


# --- one cycle


def cycle_figure(data: xr.Dataset) -> Figure:
    """One cycle over time: piston, lifts, pressures in both ranges, flows; right: around top dead centre.

    ``data``: as :func:`balltravel.simulate` returns it. Events are marked at the lifts, reversals by lines.
    """
    figure = new_figure(14.0, 11.0)
    panels = figure.subplots(5, 2, sharex="col", sharey="row", width_ratios=(1.7, 1.0), squeeze=False)
    metrics = cycle_metrics(data)
    half, end = float(data.top_dead_centre), float(data.period)
    lag, ball_lag = metrics.inlet.closing_lag, metrics.inlet.ball_lag
    for column in range(2):
        _piston(panels[0, column], data)
        _lifts(panels[1, column], data, half, lag, ball_lag)
        _suction_range(panels[2, column], data)
        _pressures(panels[3, column], data)
        _flows(panels[4, column], data)
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
    scenario = from_result(data.attrs["scenario"])
    repeats = "" if data.attrs["status"] == "ok" else "; THE CYCLE DOES NOT REPEAT"
    lines = (
        data.attrs["title"],
        conditions(scenario),
        f"inlet check: {travel_set(scenario)}; volumetric efficiency {share:.1f} %{repeats}",
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


def _piston(axes: Axes, data: xr.Dataset) -> None:
    axes.plot(data.time, _MM * data.piston_position, color="#222222", linewidth=1.5)


def _lifts(axes: Axes, data: xr.Dataset, half: float, lag: float, ball_lag: float) -> None:
    axes.plot(data.time, _MM * data.lift[:, 0], label="inlet check", **INLET)
    axes.plot(data.time, _MM * data.lift[:, 1], label="piston check", **PISTON)
    axes.set_ylim(-0.1 * _MM * float(data.travel.max()), 1.1 * _MM * float(data.travel.max()))
    if lag > 0.0:
        axes.axvspan(half, half + lag, color="#cfdcea", alpha=0.7, label="closing lag, inlet check")
    if ball_lag > 0.0:
        edge: dict[str, Any] = {"facecolor": "none", "edgecolor": "#5f7f9f", "hatch": "..", "linewidth": 0.0}
        axes.axvspan(half + lag - ball_lag, half + lag, label="ball lag, inlet check", **edge)
    for check, style in ((0, INLET), (1, PISTON)):
        for kind, (mark, name) in _MARKS.items():
            here = (data.event_kind.values == kind) & (data.event_check.values == check)
            times = data.event_time.values[here]
            lifts = np.interp(times, data.time.values, _MM * data.lift.values[:, check])
            axes.plot(
                times, lifts, mark, color=style["color"], markersize=5, markerfacecolor="white",
                linestyle="none", label=name if check == 0 and times.size else None,
            )  # fmt: skip


def _suction_range(axes: Axes, data: xr.Dataset) -> None:
    atmosphere = _BAR * float(data.barometric_pressure)
    axes.plot(data.time, _BAR * data.lower_pressure, label="lower chamber", **INLET)
    axes.plot(data.time, _BAR * data.port_pressure, label="inlet port", **THIRD)
    axes.axhline(atmosphere, label="atmosphere", **LIMIT)
    axes.axhline(_BAR * float(data.vapour_pressure), label="vapour pressure", **FOURTH)
    axes.set_ylim(-0.08 * atmosphere, 1.5 * atmosphere)


def _pressures(axes: Axes, data: xr.Dataset) -> None:
    axes.plot(data.time, _BAR * data.lower_pressure, label="lower chamber", **INLET)
    axes.plot(data.time, _BAR * data.upper_pressure, label="upper chamber", **PISTON)
    if data.tip_pressure.values.any():
        axes.plot(data.time, _BAR * data.tip_pressure, label="before the tip", **THIRD)


def _flows(axes: Axes, data: xr.Dataset) -> None:
    axes.plot(data.time, _CC * data.flow[:, 0], label="inlet check", **INLET)
    axes.plot(data.time, _CC * data.flow[:, 1], label="piston check", **PISTON)
    axes.plot(data.time, _CC * data.outlet_flow, label="outlet", **THIRD)
    axes.plot(data.time, _CC * data.line_flow, label="suction line", **FOURTH)
    _without_peaks(axes, data)
    _hatch(axes, data)


def _without_peaks(axes: Axes, data: xr.Dataset) -> None:
    """A range that peaks of a hundredth of the cycle do not set: they would flatten all else."""
    drawn = (data.flow[:, 0], data.flow[:, 1], data.outlet_flow, data.line_flow)
    flows = np.concatenate([one.values for one in drawn])
    steps = np.tile(np.gradient(data.time.values), len(drawn))
    order = np.argsort(flows)
    share = np.cumsum(steps[order]) / steps.sum()
    low, high = _CC * np.interp([0.005, 0.995], share, flows[order])
    beyond = 0.25 * max(high - low, 1e-3)
    if _CC * flows.min() < low - 3.0 * beyond or _CC * flows.max() > high + 3.0 * beyond:
        axes.set_ylim(low - beyond, high + beyond)
        axes.text(0.01, 0.93, "peaks are cut", fontsize=8, transform=axes.transAxes, va="top")


def _hatch(axes: Axes, data: xr.Dataset) -> None:
    """A hatched strip along the times at which a closure is outside its range."""
    beyond = data.outside_range.values > 0
    if beyond.any():
        axes.fill_between(
            data.time.values, 0.0, 0.07, where=beyond, transform=axes.get_xaxis_transform(),
            facecolor="none", edgecolor="#b0b0b0", hatch="///", linewidth=0.0, zorder=0,
            label="closure outside\nits range",
        )  # fmt: skip


# --- arrangements against travel


def travel_figure(recommendation: "Recommendation", scenario: Scenario) -> Figure:
    """Delivery, backflow and underfill of every arrangement against ball travel, the chosen one marked.

    ``scenario``: the one that was recommended for; its title and material stand above the figure.
    """
    found = [trial for trial in recommendation.arrangements if trial.metrics is not None]
    travel = [_MM * trial.ball_travel for trial in found]
    figure = new_figure(8.0, 10.5)
    panels = figure.subplots(4, 1, sharex=True)
    marked_line(panels[0], travel, _shares(found, "fill_fraction"), "fill fraction", "s", THIRD)
    marked_line(
        panels[0], travel, _shares(found, "volumetric_efficiency"), "volumetric efficiency", "o", INLET
    )
    marked_line(panels[1], travel, _lost(found, "inlet_backflow"), "inlet check", "o", INLET)
    marked_line(panels[1], travel, _lost(found, "piston_backflow"), "piston check", "s", PISTON)
    marked_line(panels[2], travel, _lost(found, "underfill"), "underfill", "o", INLET)
    marked_line(panels[3], travel, [trial.landing for trial in found], "inlet ball", "o", INLET)
    names = ("% of swept volume", "backflow\n[% of swept volume]", "underfill\n[% of swept volume]")
    for axes, name in zip(panels, (*names, "landing speed\n[m/s]"), strict=True):
        tidy(axes, name)
        _mark_choice(axes, recommendation, named=axes is panels[0])
    target = scenario.target
    panels[0].axhline(_PERCENT * target.fill_fraction, label="target of the fill", **FOURTH)
    if target.delivery:
        panels[0].axhline(_PERCENT * target.delivery, label="target of the delivery", **LIMIT)
    panels[3].axhline(target.landing_speed, label="target", **FOURTH)
    _at_least_wide(panels[0], 1.0)
    for axes in panels[1:3]:
        low, high = axes.get_ylim()
        axes.set_ylim(min(0.0, low), max(high, 1.0))
    panels[3].set_ylim(0.0, max(1.1 * target.landing_speed, panels[3].get_ylim()[1]))
    for axes in panels:
        axes.legend(fontsize=8, loc="best")
    panels[3].set_xlabel("ball travel of the inlet check [mm]")
    lines = (scenario.title, conditions(scenario), *_choice_title(recommendation))
    figure.suptitle(heading(lines, 95), fontsize=10)
    return figure


def _at_least_wide(axes: Axes, span: float) -> None:
    """A range so wide at least that nothing is blown up to fill the panel."""
    low, high = axes.get_ylim()
    short = max(0.0, span - (high - low))
    axes.set_ylim(low - 0.5 * short, high + 0.5 * short)


def _shares(trials: "Sequence[Trial]", name: str) -> list[float]:
    return [_PERCENT * float(getattr(trial.metrics, name)) for trial in trials]


def _lost(trials: "Sequence[Trial]", part: str) -> list[float]:
    budgets = [trial.metrics.loss_budget for trial in trials if trial.metrics is not None]
    return [_PERCENT * float(getattr(budget, part)) / budget.swept for budget in budgets]


def _mark_choice(axes: Axes, recommendation: "Recommendation", named: bool) -> None:
    """Lines at the travels that are named; their words in one panel's legend only."""
    word = "indication" if recommendation.indication else "recommended"
    for choice, name, style in (
        (recommendation.recommended, word, {"color": "#222222", "linewidth": 1.4}),
        (
            recommendation.best_available,
            "nearest, targets not met",
            {"color": "#222222", "linewidth": 1.4},
        ),
        (recommendation.runner_up, "runner-up", LIMIT),
    ):
        if choice is not None:
            axes.axvline(_MM * choice.ball_travel, label=name if named else None, zorder=1, **style)


def _choice_title(recommendation: "Recommendation") -> list[str]:
    chosen = recommendation.recommended or recommendation.best_available
    if chosen is None:
        return ["Nothing is recommended"]
    word = "Recommended" if recommendation.recommended else "Nearest, targets not met"
    if recommendation.recommended and recommendation.indication:
        word = "Indication only, closures outside their range"
    if recommendation.best_available and recommendation.indication:
        word = "Nearest, targets not met, and an indication only"
    below = shim_names(chosen.shims_below)
    return [f"{word}: ball travel {_MM * chosen.ball_travel:.3g} mm (shims below the cage: {below})"]


# --- lost volume against travel


SAME = 0.1
"""Lost volume [% of swept] that counts as the same in the figure: in thin material travel hardly matters."""


def lost_volume_figure(data: xr.Dataset, title: str = "") -> Figure:
    """Lost volume (swept less delivered, % of swept) against ball travel, a curve a viscosity; marked is the
    shortest travel within SAME of the least.

    ``data``: a sweep over ``material.viscosity`` [Pa s] and ``inlet_check.base_travel`` [m], which is the
    whole ball travel when no shim lies below the cage.
    """
    figure = new_figure(8.5, 6.0)
    axes = figure.subplots()
    travel = _MM * data["inlet_check.base_travel"].values
    lost = _PERCENT * (1.0 - data.volumetric_efficiency)
    viscosities = data["material.viscosity"].values
    styles = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))
    for i, viscosity in enumerate(viscosities):
        curve = lost.sel({"material.viscosity": viscosity}).values
        shade = 0.7 - 0.7 * i / max(1, len(viscosities) - 1)
        axes.plot(
            travel, curve, color=(shade, shade * 0.9, 0.45 * shade + 0.35),
            linestyle=styles[i % len(styles)], linewidth=1.8, label=f"{viscosity:g} Pa s",
        )  # fmt: skip
        if np.any(np.isfinite(curve)):
            least = int(np.argmax(curve <= np.nanmin(curve) + SAME))
            axes.plot(travel[least], curve[least], "o", color="#c8641e", markersize=8, zorder=3)
            axes.annotate(
                f"{travel[least]:.4g} mm", (travel[least], curve[least]), (5, 9), fontsize=8,
                textcoords="offset points", ha="left",
            )  # fmt: skip
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    tidy(axes, "lost volume [% of swept volume]")
    axes.set_xlabel("ball travel of the inlet check [mm]")
    axes.plot([], [], "o", color="#c8641e", markersize=8, label=f"least, within {SAME:g} % of swept")
    axes.legend(title="viscosity", fontsize=9)
    axes.set_title(title)
    return figure
