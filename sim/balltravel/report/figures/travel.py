"""Recommendations over ball travel as figures, readable in grey."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.report.figures.style import (
    FOURTH,
    INLET,
    LIMIT,
    PISTON,
    THIRD,
    careful,
    heading,
    marked_line,
    mm,
    new_figure,
    plain_tick,
    shown_travel,
    tidy,
)
from balltravel.report.over_travel import CLIFF, Point, cliffs, points_of_run, travel_message
from balltravel.report.tables import conditions, shims_in_words
from balltravel.scenario.model import Scenario
from balltravel.units import in_figures
from balltravel.units.display import in_unit, scale
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.study.travel.recommend import Recommendation, Trial

_PERCENT = 100.0
_HEAVIER: dict[str, Any] = {**THIRD, "color": "#7a7a7a", "linewidth": 1.0}


def travel_figure(scenario: Scenario, recommendation: "Recommendation") -> Figure:
    """Delivery, backflow and underfill of every arrangement against ball travel, the chosen one marked.

    ``scenario``: the one that was recommended for; its title and material stand above the figure.
    """
    trials = [trial for trial in recommendation.arrangements if trial.metrics is not None]
    travel = [mm() * trial.ball_travel for trial in trials]
    figure = new_figure(9.5, 10.5)
    panels = figure.subplots(4, 1, sharex=True)
    draw_delivery_of_run(panels[0], scenario, recommendation)
    marked_line(panels[1], travel, _lost(trials, "inlet_backflow"), "inlet check", "o", INLET)
    marked_line(panels[1], travel, _lost(trials, "piston_backflow"), "piston check", "s", PISTON)
    marked_line(panels[2], travel, _lost(trials, "underfill"), "underfill", "o", INLET)
    speed = scale("velocity", "m/s")
    marked_line(panels[3], travel, [speed * trial.landing for trial in trials], "inlet ball", "o", INLET)
    of_piston = [speed * trial.metrics.piston.landing_speed for trial in trials if trial.metrics is not None]
    marked_line(panels[3], travel, of_piston, "piston ball", "s", PISTON)
    names = ("backflow\n[% of swept volume]", "underfill\n[% of swept volume]")
    for axes, name in zip(panels[1:], (*names, f"landing speed\n[{unit_in_use('m/s')}]"), strict=True):
        tidy(axes, name)
        _mark_choice(axes, recommendation, named=False)
    target = scenario.target
    panels[3].axhline(speed * target.landing_speed, label="target", **FOURTH)
    for axes in panels[1:3]:
        low, high = axes.get_ylim()
        axes.set_ylim(min(0.0, low), max(high, 1.0))
    panels[3].set_ylim(0.0, max(1.1 * speed * target.landing_speed, 1.3 * panels[3].get_ylim()[1]))
    for axes in panels:
        _legend_beside(axes)
    panels[3].set_xlabel(f"ball travel of the inlet check [{unit_in_use('mm')}]")
    lines = (scenario.title, conditions(scenario), *_choice_title(scenario, recommendation))
    figure.suptitle(heading(lines, 115), fontsize=10)
    careful(figure)
    return figure


def draw_delivery_of_run(axes: Axes, scenario: Scenario, recommendation: "Recommendation") -> None:
    """Filling and delivery of every arrangement at the likely values, with what they say as the title."""
    trials = [trial for trial in recommendation.arrangements if trial.metrics is not None]
    travel = [mm() * trial.ball_travel for trial in trials]
    points = points_of_run(recommendation)
    mark_cliffs(axes, points)
    marked_line(axes, travel, _shares(trials, "fill_fraction"), "drawn in", "s", THIRD)
    marked_line(axes, travel, _shares(trials, "volumetric_efficiency"), "delivered", "o", INLET)
    surely = [_PERCENT * point.surely for point in points]
    marked_line(axes, travel, surely, "delivered, also at\n20 % more viscosity", ".", _HEAVIER)
    tidy(axes, "% of swept volume")
    _mark_choice(axes, recommendation, named=True)
    target = scenario.target
    axes.axhline(_PERCENT * target.fill_fraction, label="target of the fill", **FOURTH)
    if target.delivery:
        axes.axhline(_PERCENT * target.delivery, label="target of the delivery", **LIMIT)
    _at_least_wide(axes, 1.0)
    say_message(axes, points, int(axes.bbox.width / axes.figure.dpi * 11.5))


def mark_cliffs(axes: Axes, points: Sequence[Point]) -> None:
    """Hatch where delivery falls off a cliff from one travel to the next shorter one."""
    label: str | None = f"cliff: {_PERCENT * CLIFF:g} % or more is lost"
    for short, long in cliffs(points):
        axes.axvspan(mm() * short.travel, mm() * long.travel, facecolor="none", edgecolor="#a0a0a0",
                     hatch="////", linewidth=0.0, zorder=0, label=label)  # fmt: skip
        label = None


def say_message(axes: Axes, points: Sequence[Point], letters: int) -> None:
    """What delivery over travel says, as the title."""
    said = heading([travel_message(points)], letters)
    axes.set_title(said, fontsize=11, fontweight="bold", loc="left")


def _legend_beside(axes: Axes) -> None:
    """What is what, right of the panel, where it hides nothing."""
    axes.legend(fontsize=8, loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False)


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
            axes.axvline(mm() * choice.ball_travel, label=name if named else None, zorder=1, **style)


def _choice_title(scenario: Scenario, recommendation: "Recommendation") -> list[str]:
    chosen = recommendation.recommended or recommendation.best_available
    if chosen is None:
        return ["Nothing is recommended"]
    word = "Recommended" if recommendation.recommended else "Nearest, targets not met"
    if recommendation.recommended and recommendation.reservations:
        word = "Recommended, with reservations"
    if recommendation.recommended and recommendation.indication:
        word = "Indication only, closures outside their range"
    if recommendation.best_available and recommendation.indication:
        word = "Nearest, targets not met, and an indication only"
    below = shims_in_words(scenario.shims.thicknesses, chosen.shims_below)
    return [f"{word}: ball travel {shown_travel(chosen.ball_travel)} ({below} below the cage)"]


def _viscosity(viscosity: float) -> str:
    """Of a curve [Pa s]."""
    return f"{in_figures(in_unit(viscosity, 'viscosity', 'Pa.s'))} {unit_in_use('Pa s')}"


SAME = 0.1
"""Lost volume [% of swept] that counts as the same in the figure: in thin material travel hardly matters."""


def lost_volume_figure(data: "xr.Dataset", title: str = "") -> Figure:
    """Lost volume (swept less delivered, % of swept) against ball travel, a curve a viscosity; marked is the
    shortest travel within SAME of the least.

    ``data``: a sweep over ``material.viscosity`` [Pa s] and ``inlet_check.base_travel`` [m], which is the
    whole ball travel when no shim lies below the cage.
    """
    figure = new_figure(8.5, 6.0)
    axes = figure.subplots()
    travel = mm() * data["inlet_check_base_travel"].values
    lost = _PERCENT * (1.0 - data.volumetric_efficiency)
    viscosities = data["material_viscosity"].values
    styles = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))
    marked: list[float] = []
    for i, viscosity in enumerate(viscosities):
        curve = lost.sel(material_viscosity=viscosity).values
        shade = 0.7 - 0.7 * i / max(1, len(viscosities) - 1)
        axes.plot(
            travel, curve, color=(shade, shade * 0.9, 0.45 * shade + 0.35),
            linestyle=styles[i % len(styles)], linewidth=1.8, label=_viscosity(float(viscosity)),
        )  # fmt: skip
        if np.any(np.isfinite(curve)):
            least = int(np.argmax(curve <= np.nanmin(curve) + SAME))
            axes.plot(travel[least], curve[least], "o", color="#c8641e", markersize=8, zorder=3)
            axes.vlines(travel[least], curve[least], 100.0, color="#7a7a7a", linestyle=":", linewidth=1.0)
            marked.append(float(travel[least]))
    axes.set_yscale("log")
    axes.set_ylim(top=100.0)
    above = axes.secondary_xaxis("top")
    above.set_xticks(marked, [in_figures(each, unit=unit_in_use("mm")) for each in marked], fontsize=9)
    above.set_xlabel(f"travel of least loss [{unit_in_use('mm')}]", fontsize=9)
    axes.yaxis.set_major_formatter(plain_tick)
    tidy(axes, "lost volume [% of swept volume]")
    axes.set_xlabel(f"ball travel of the inlet check [{unit_in_use('mm')}]")
    axes.plot([], [], "o", color="#c8641e", markersize=8, label=f"least, within {SAME:g} % of swept")
    axes.legend(
        title="viscosity", fontsize=9, loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False,
        reverse=True,
    )  # fmt: skip
    axes.set_title(title)
    return figure
