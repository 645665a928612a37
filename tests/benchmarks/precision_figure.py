"""CPU time of a case over its error, as a figure."""

import math
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from precision import ERRORS, Curve, median, ratios
from problem import MATERIALS
from solvers import contenders

from balltravel.report.figures.style import new_figure, save, tidy

STYLES: tuple[dict[str, Any], ...] = (
    {"color": "#000000", "linestyle": "-", "linewidth": 2.2, "marker": "o"},
    {"color": "#0b4f8a", "linestyle": "-", "linewidth": 1.3, "marker": "s"},
    {"color": "#c8641e", "linestyle": "--", "linewidth": 1.2, "marker": "^", "markerfacecolor": "white"},
    {"color": "#c8641e", "linestyle": "--", "linewidth": 1.2, "marker": "^"},
    {"color": "#7a7a7a", "linestyle": ":", "linewidth": 1.4, "marker": "D", "markerfacecolor": "white"},
    {"color": "#7a7a7a", "linestyle": ":", "linewidth": 1.4, "marker": "D"},
)


def finding(curves: Sequence[Curve]) -> str:
    """The message: how much more CPU time the others take."""
    every = [
        [value for error in ERRORS for value in ratios(curves, rival, error)] for rival in contenders()[1:]
    ]
    return finding_of([median(values) for values in every])


def finding_of(medians: Sequence[float]) -> str:
    """The same from the rivals' medians, each over all materials and errors."""
    first, second = sorted(value for value in medians if not math.isnan(value))[:2]
    return (
        f"At an equal error the next fastest solver takes {first:.2g} times the CPU time of this engine, "
        f"all others {second:.2g} times or more "
        f"(medians of {len(MATERIALS)} materials and {len(ERRORS)} errors)"
    )


def draw(curves: Sequence[Curve], path: Path, title: str) -> None:
    """A panel a material; every solver has a line and a mark of its own, named beside the last panel. An
    error counts as no less than those at tighter tolerances, as in the ratios."""
    figure = new_figure(11.0, 5.2)
    panels = figure.subplots(1, len(MATERIALS), sharey=True, sharex=True)
    labels = list(dict.fromkeys(curve.contender.label for curve in curves))
    for axes, material in zip(panels, MATERIALS, strict=True):
        for curve in curves:
            if curve.material == material and curve.points:
                errors = np.maximum.accumulate([point.error for point in reversed(curve.points)])
                times = [1e3 * point.seconds for point in reversed(curve.points)]
                style = STYLES[labels.index(curve.contender.label)]
                axes.loglog(errors, times, markersize=5, **style)
                if axes is panels[-1]:
                    axes.annotate(
                        curve.contender.label, (1.02, times[-1]), xycoords=axes.get_yaxis_transform(),
                        color=style["color"], va="center", fontsize=10, annotation_clip=False,
                    )  # fmt: skip
        tidy(axes, "CPU time of a case [ms]" if axes is panels[0] else "")
        axes.set_xlabel("error of the volume delivered [-]")
        axes.set_title(material, loc="left", fontsize=10)
    figure.suptitle(textwrap.fill(title, 90), fontsize=13, fontweight="bold")
    save(figure, path)
