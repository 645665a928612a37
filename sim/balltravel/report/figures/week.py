"""The week as a figure, readable in grey: each material's delivery and landing over ball travel."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from matplotlib.figure import Figure

from balltravel.report.figures.style import LIMIT, careful, heading, marked_line, new_figure, tidy
from balltravel.report.tables import shim_names

if TYPE_CHECKING:
    from balltravel.files.week import WeekMaterial
    from balltravel.study.week.recommend import MaterialResult, Week

_MM, _PERCENT = 1e3, 100.0
_DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (8, 2)))
_MARKS = "os^vDP*Xph<>"


def week_figure(materials: "Sequence[WeekMaterial]", week: "Week") -> Figure:
    """Delivery of every material but the flushes, and landing over its target of all, against ball travel;
    the chosen arrangement is a line, each material's own best a large mark."""
    figure = new_figure(9.5, 8.0)
    above, below = figure.subplots(2, 1, sharex=True)
    for i, (material, result) in enumerate(zip(materials, week.materials, strict=True)):
        trials = [trial for trial in result.arrangements if trial.complete]
        travel = [_MM * trial.ball_travel for trial in trials]
        target = material.scenario.target.landing_speed
        landing_ratios = [trial.landing / target for trial in trials]
        name = heading([result.name + (" (flush)" if result.flush else "")], 22)
        marked_line(below, travel, landing_ratios, name, _MARKS[i], _style(i, len(materials)))
        if not result.flush:
            delivered = [_PERCENT * trial.delivery for trial in trials]
            marked_line(above, travel, delivered, name, _MARKS[i], _style(i, len(materials)))
            _mark_best(above, result, i)
    above.plot(
        [], [], "o", markersize=11, markerfacecolor="none", color="#222222", label="its own best travel"
    )
    below.axhline(1.0, label="target", **LIMIT)
    tidy(above, "delivered [% of swept volume]")
    tidy(below, "landing speed of the inlet ball\nover its target [-]")
    below.set_ylim(0.0, None)
    below.set_xlabel("ball travel of the inlet check [mm]")
    if week.chosen is not None:
        word = "recommended" if week.recommended else "nearest, targets not met"
        for axes in (above, below):
            axes.axvline(_MM * week.chosen.ball_travel, color="#222222", linewidth=1.4, label=word, zorder=1)
    for axes in (above, below):
        axes.legend(loc="center left", bbox_to_anchor=(1.02, 0.5), fontsize=9, frameon=False)
    figure.suptitle(heading([materials[0].scenario.title, _headline(week)], 110), fontsize=10)
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
                _MM * trial.ball_travel, _PERCENT * trial.delivery, _MARKS[i], markersize=11,
                markerfacecolor="none", color="#222222", clip_on=False,
            )  # fmt: skip


def _headline(week: "Week") -> str:
    if week.chosen is None:
        return "Nothing is recommended for the week"
    word = "Recommended for the week" if week.recommended else "Nearest, targets not met"
    note = f", an indication with {', '.join(week.indication)}" if week.indication else ""
    below = shim_names(week.chosen.shims_below)
    return f"{word}{note}: ball travel {_MM * week.chosen.ball_travel:.3g} mm (shims below the cage: {below})"
