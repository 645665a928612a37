"""CPU time of a case over its error, as a figure."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from precision import Curve
from problem import MATERIALS

from balltravel.report.figures.style import new_figure, save, tidy

STYLES: tuple[dict[str, Any], ...] = (
    {"color": "#000000", "linestyle": "-", "linewidth": 2.2, "marker": "o"},
    {"color": "#0b4f8a", "linestyle": "-", "linewidth": 1.3, "marker": "s"},
    {"color": "#c8641e", "linestyle": "--", "linewidth": 1.2, "marker": "^", "markerfacecolor": "white"},
    {"color": "#c8641e", "linestyle": "--", "linewidth": 1.2, "marker": "^"},
    {"color": "#7a7a7a", "linestyle": ":", "linewidth": 1.4, "marker": "D", "markerfacecolor": "white"},
    {"color": "#7a7a7a", "linestyle": ":", "linewidth": 1.4, "marker": "D"},
)


def draw(curves: Sequence[Curve], path: Path) -> None:
    """A panel a material; every solver has a line and a mark of its own."""
    figure = new_figure(11.0, 4.6)
    panels = figure.subplots(1, len(MATERIALS), sharey=True, sharex=True)
    labels = list(dict.fromkeys(curve.contender.label for curve in curves))
    for axes, material in zip(panels, MATERIALS, strict=True):
        for curve in curves:
            if curve.material == material:
                errors = [point.error for point in curve.points]
                times = [1e3 * point.seconds for point in curve.points]
                style = STYLES[labels.index(curve.contender.label)]
                axes.loglog(errors, times, markersize=5, label=curve.contender.label, **style)
        tidy(axes, "CPU time of a case [ms]" if axes is panels[0] else "")
        axes.set_xlabel("error of the volume delivered [-]")
        axes.set_title(material, loc="left", fontsize=10)
    handles, names = panels[0].get_legend_handles_labels()
    figure.legend(handles, names, loc="outside upper center", ncols=3, frameon=False, fontsize=9)
    save(figure, path)
