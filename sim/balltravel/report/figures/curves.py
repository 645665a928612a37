"""Curves over anything as a figure, readable in grey; what is what stands below, where it hides nothing."""

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.report.figures.style import FOURTH, INLET, PISTON, THIRD, new_figure, tidy


def lines_figure(
    curves: Mapping[str, Mapping[str, np.ndarray]],
    names: Mapping[str, str],
    abscissa: str,
    title: str,
    linear: Sequence[str] = (),
    even: bool = False,
) -> Figure:
    """Curves in a panel for each quantity; ``curves``: name -> abscissa (the first entry) and the quantities
    it has, those whose name begins with ``solves`` as points, in turn with the curves; ``names``: quantity ->
    label of its panel; ``title``: the message, and after a line break what is shown; ``linear``: quantities
    without a logarithmic axis; ``even``: nor is the abscissa's. In a single panel
    the curves bear their names."""
    figure = new_figure(8.0, 10.0 if len(names) > 1 else 5.0)
    panels = np.atleast_1d(figure.subplots(len(names), 1, sharex=True))
    styles = (INLET, PISTON, THIRD, FOURTH)
    for axes, (key, label) in zip(panels, names.items(), strict=True):
        points = 0
        for style, (name, curve) in zip((*styles, *styles), curves.items(), strict=False):
            x = next(iter(curve.values()))
            if key in curve and name.startswith("solves"):
                mark = "os^v"[points % 4]
                axes.plot(x, curve[key], mark, markersize=4, color="#222222", label=name)
                points += 1
            elif key in curve:
                axes.plot(x, curve[key], label=name, **style)
        tidy(axes, label)
        axes.set(xscale="linear" if even else "log", yscale="linear" if key in linear else "log")
    panels[-1].set_xlabel(abscissa)
    if len(names) == 1:
        _name_curves(panels[0])
    else:
        _name_below(figure, panels)
    message, _, about = title.partition("\n")
    _say(figure, message)
    panels[0].set_title(about, fontsize=10)
    return figure


def titled(figure: Figure, title: str) -> None:
    """The message above a figure; at its foot what stands behind a line break of ``title``: what is shown."""
    message, _, about = title.partition("\n")
    _say(figure, message)
    figure.supxlabel(about, fontsize=10, color="#3a3a3a")


def _say(figure: Figure, message: str) -> None:
    figure.suptitle(textwrap.fill(message, 66), fontsize=13, fontweight="bold")


def named_at(
    axes: Axes,
    curve: tuple[np.ndarray, np.ndarray],
    at: float,
    name: str,
    style: Mapping[str, Any],
    way: tuple[float, float] = (0.0, 1.0),
) -> None:
    """The name of a curve beside its point at an abscissa; ``way``: from the curve to the name."""
    place = at, float(np.interp(at, *curve))
    axes.annotate(
        name, place, (8.0 * way[0], 8.0 * way[1]), textcoords="offset points", color=style["color"],
        ha=_SIDES[np.sign(way[0])], va=_HEIGHTS[np.sign(way[1])], fontsize=11,
    )  # fmt: skip


_SIDES = {-1.0: "right", 0.0: "center", 1.0: "left"}
_HEIGHTS = {-1.0: "top", 0.0: "center", 1.0: "bottom"}


def _name_curves(axes: Axes) -> None:
    """The name of each curve at its right end, on the side from which the curve does not come."""
    axes.margins(y=0.1)
    for line in axes.lines:
        x, y = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
        rises = y[-1] >= y[0]
        axes.annotate(
            str(line.get_label()), (x[-1], y[-1]), (0.0, 5.0 if rises else -5.0), textcoords="offset points",
            ha="right", va="bottom" if rises else "top", color=line.get_color(), fontsize=11,
        )  # fmt: skip


def _name_below(figure: Figure, panels: np.ndarray) -> None:
    """What is what, once for all panels."""
    names_of = {
        name: line for axes in panels for line, name in zip(*axes.get_legend_handles_labels(), strict=True)
    }
    figure.legend(names_of.values(), names_of.keys(), loc="outside lower center", ncols=2, fontsize=10)
