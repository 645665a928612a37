"""Which inputs matter most, as a figure that can be read in grey."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.report.figures.style import careful, heading, new_figure, tidy
from balltravel.report.tables import bench, conditions
from balltravel.report.text.limits import in_95
from balltravel.scenario.model import Scenario

if TYPE_CHECKING:
    from balltravel.study.limits.find import ArrangementLimits, LimitsReport
    from balltravel.study.limits.sensitivities import Effect

MOST_BARS = 14
"""Inputs at most in the figure."""

_PERCENT = 100.0
_LESS: dict[str, Any] = {"facecolor": "white", "edgecolor": "#222222", "hatch": "////", "linewidth": 0.8}
_MORE: dict[str, Any] = {"facecolor": "#4a4a4a", "edgecolor": "#222222", "linewidth": 0.8}


def effects_figure(scenario: Scenario, report: "LimitsReport") -> Figure:
    """Change of fill and of delivery [% of swept] for a step of each input, the largest on top: hatched for
    less of it, full for more; the grey band is the accuracy. On the right: how far each may go while
    the targets hold in 95 of 100 draws of all else, where that was asked."""
    effects = report.sensitivities.effects[:MOST_BARS]
    figure = new_figure(11.0, 2.6 + 0.36 * max(len(effects), 1))
    panels = figure.subplots(1, 2, sharey=True)
    for axes, name in zip(panels, ("fill", "delivery"), strict=True):
        _bars(axes, effects, name)
        axes.axvspan(*(sign * _PERCENT * report.sensitivities.accuracy for sign in (-1, 1)), color="#dddddd")
        axes.set_xlabel(f"change of {name} [% of swept volume]")
    labels = [f"{effect.words}, {effect.step}" for effect in effects]
    panels[0].set_yticks(np.arange(len(effects)), labels)
    panels[0].invert_yaxis()
    if report.arrangements[-1].chance is not None:
        _in_95(panels[1], [_may_go(effect.key, report.arrangements[-1]) for effect in effects])
    panels[1].legend(loc="lower left", fontsize=9)
    travel = report.arrangements[-1].choice.ball_travel
    caption = f"Which inputs matter, at a ball travel of {bench(travel, 'length')}"
    figure.suptitle(heading((scenario.title, conditions(scenario), caption), 120), fontsize=10)
    careful(figure)
    return figure


def _may_go(key: str, arrangement: "ArrangementLimits") -> str:
    """``at most 31.2 /min``; both ends where it has two, nothing without a limit."""
    limits = [limit for limit in arrangement.limits if limit.key == key and limit.holds is not None]
    words = {True: "at most ", False: "at least "}
    return ", ".join(
        (words[limit.at_most] if limit.holds_in_95 is not None else "") + in_95(limit) for limit in limits
    )


def _in_95(axes: Axes, texts: Sequence[str]) -> None:
    """A text beside each bar."""
    right = axes.secondary_yaxis("right")
    right.set_yticks(np.arange(len(texts)), texts)
    right.tick_params(length=0)
    right.spines["right"].set_visible(False)
    right.set_ylabel("targets hold in 95 of 100 draws of all else")


def _bars(axes: Axes, effects: "tuple[Effect, ...]", name: str) -> None:
    tidy(axes, "")
    axes.axvline(0.0, color="#222222", linewidth=0.8)
    for which, shift, style in (("less", -0.2, _LESS), ("more", 0.2, _MORE)):
        changes = [getattr(effect, which) for effect in effects]
        widths = [_PERCENT * (getattr(change, name, None) or 0.0) for change in changes]
        axes.barh(np.arange(len(effects)) + shift, widths, 0.38, label=f"{which} of it", **style)
