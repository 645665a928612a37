"""Curves over anything as a figure, readable in grey; what is what stands below, where it hides nothing."""

from collections.abc import Mapping, Sequence

import numpy as np
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
    label of its panel; ``linear``: quantities without a logarithmic axis; ``even``: nor is the abscissa's."""
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
    names_of = {
        name: line for axes in panels for line, name in zip(*axes.get_legend_handles_labels(), strict=True)
    }
    figure.legend(names_of.values(), names_of.keys(), loc="outside lower center", ncols=2, fontsize=8)
    figure.suptitle(title, fontsize=10)
    return figure
