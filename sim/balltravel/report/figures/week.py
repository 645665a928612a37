"""The week as a figure, readable in grey: each material's delivery and landing over ball travel."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.report.figures.style import (
    LIMIT,
    careful,
    heading,
    marked_line,
    mm,
    new_figure,
    shown_travel,
    tidy,
)
from balltravel.report.tables import shim_names
from balltravel.report.text.week.verdict import week_verdict_lines
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.files.week import WeekMaterial
    from balltravel.study.week.recommend import MaterialResult, Week
    from balltravel.study.week.record import MaterialOutlook, WeekVerdict

_PERCENT = 100.0
_PALE = 0.18
"""Opacity of a band, so that several lie over each other."""

_DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (8, 2)))
_MARKS = "os^vDP*Xph<>"


def week_figure(materials: "Sequence[WeekMaterial]", week: "Week") -> Figure:
    """Delivery of every material but the flushes, and landing over its target of all, against ball travel;
    the chosen arrangement is a line, each material's own best a large mark. Points are the runs at the likely
    values; with a verdict bands hold 90 of 100 draws, and the line is the arrangement that it names."""
    figure = new_figure(9.5, 8.0)
    above, below = figure.subplots(2, 1, sharex=True)
    for i, (material, result) in enumerate(zip(materials, week.materials, strict=True)):
        trials = [trial for trial in result.arrangements if trial.complete]
        travel = [mm() * trial.ball_travel for trial in trials]
        target = material.scenario.target.landing_speed
        landing_ratios = [trial.landing / target for trial in trials]
        name = heading([result.name + (" (flush)" if result.flush else "")], 22)
        marked_line(below, travel, landing_ratios, name, _MARKS[i], _style(i, len(materials)))
        if not result.flush:
            delivered = [_PERCENT * trial.delivery for trial in trials]
            marked_line(above, travel, delivered, name, _MARKS[i], _style(i, len(materials)))
            _mark_best(above, result, i)
    if week.verdict is not None:
        _draw_bands(above, below, materials, week.verdict)
    above.plot(
        [], [], "o", markersize=11, markerfacecolor="none", color="#222222", label="its own best travel"
    )
    below.axhline(1.0, label="target", **LIMIT)
    tidy(above, "delivered [% of swept volume]")
    tidy(below, "landing speed of the inlet ball\nover its target [-]")
    below.set_ylim(0.0, None)
    below.set_xlabel(f"ball travel of the inlet check [{unit_in_use('mm')}]")
    chosen, word = week.chosen, "recommended" if week.recommended else "nearest, targets not met"
    if week.verdict is not None:
        chosen, word = week.verdict.chosen, "named"
    if chosen is not None:
        for axes in (above, below):
            axes.axvline(mm() * chosen.ball_travel, color="#222222", linewidth=1.4, label=word, zorder=1)
    for axes in (above, below):
        axes.legend(loc="center left", bbox_to_anchor=(1.02, 0.5), fontsize=9, frameon=False)
    figure.suptitle(heading([materials[0].scenario.title, *_headlines(week)], 110), fontsize=10)
    careful(figure)
    return figure


def _style(i: int, many: int) -> dict[str, Any]:
    shade = 0.6 * i / max(1, many - 1)
    colour = (0.5 * shade, 0.25 + 0.5 * shade, 0.55 + 0.2 * shade)
    return {"color": colour, "linestyle": _DASHES[i % len(_DASHES)], "linewidth": 1.5}


def _mark_best(axes: Any, result: "MaterialResult", i: int) -> None:
    for trial in result.arrangements:
        if trial.choice == result.own_best and trial.complete:
            axes.plot(
                mm() * trial.ball_travel, _PERCENT * trial.delivery, _MARKS[i], markersize=11,
                markerfacecolor="none", color="#222222", clip_on=False,
            )  # fmt: skip


def _draw_bands(
    above: Axes, below: Axes, materials: "Sequence[WeekMaterial]", verdict: "WeekVerdict"
) -> None:
    """Where 90 of 100 draws lie, of delivery and of landing over its target."""
    for i, (material, outlook) in enumerate(zip(materials, verdict.materials, strict=True)):
        low, _, high = np.array(outlook.landings).T / material.scenario.target.landing_speed
        _band(below, outlook, low, high, i, len(materials))
        if not outlook.flush:
            low, high = (
                _PERCENT
                * np.array([getattr(prospect, f"delivery_{share}") for prospect in outlook.prospects])
                for share in (5, 95)
            )
            _band(above, outlook, low, high, i, len(materials))
    for axes in (above, below):
        axes.fill_between([], [], color="#888888", alpha=_PALE, linewidth=0.0, label="90 of 100 draws")


def _band(axes: Axes, outlook: "MaterialOutlook", low: Any, high: Any, i: int, many: int) -> None:
    travel = [mm() * prospect.choice.ball_travel for prospect in outlook.prospects]
    style = _style(i, many)
    axes.fill_between(travel, low, high, color=style["color"], alpha=_PALE, linewidth=0.0, zorder=0.5)
    for edge in (low, high):
        axes.plot(travel, edge, color=style["color"], linestyle=style["linestyle"], linewidth=0.6)


def _headlines(week: "Week") -> list[str]:
    if week.verdict is not None:
        return [line.replace("\n  ", " ") for line in week_verdict_lines(week.verdict)[:2]]
    return [_headline(week)]


def _headline(week: "Week") -> str:
    if week.chosen is None:
        return "Nothing is recommended for the week"
    word = "Recommended for the week" if week.recommended else "Nearest, targets not met"
    note = f", an indication with {', '.join(week.indication)}" if week.indication else ""
    below = shim_names(week.chosen.shims_below)
    travel = shown_travel(week.chosen.ball_travel)
    return f"{word}{note}: ball travel {travel} (shims below the cage: {below})"
