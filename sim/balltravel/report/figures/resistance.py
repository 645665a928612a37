"""The resistance of a check as a figure, readable in grey."""

import numpy as np
from matplotlib.figure import Figure

from balltravel.closures.ball_over_seat import SEAT_CONDUCTANCE as EDGE_LIMIT
from balltravel.estimate.check_resistance import ResistanceReport
from balltravel.report.figures.style import (
    INLET,
    LIMIT,
    PISTON,
    THIRD,
    heading,
    marked_line,
    new_figure,
    tidy,
)


def resistance_figure(report: ResistanceReport) -> Figure:
    """Rqq gap^2, Rqw/Rqq and S over lift, in seat radii, a curve a check, with the limits of a sharp edge."""
    checks = {**report.beside, **report.checks}
    figure = new_figure(8.0, 9.0)
    panels = figure.subplots(3, 1, sharex=True)
    for style, mark, (name, check) in zip((INLET, PISTON, THIRD), "os^", checks.items(), strict=False):
        for axes, values in zip(
            panels, (check.Rqq * check.gap**2, check.Rqw / check.Rqq, check.S), strict=True
        ):
            marked_line(axes, check.lift.tolist(), values.tolist(), name, mark, style)
    panels[0].axhline(EDGE_LIMIT, label="sharp edge, gap closing (about)", **LIMIT)
    panels[1].axhline(np.pi, label="sharp edge, gap closing: pi", **LIMIT)
    names = ("Rqq gap$^2$/r$^2$ [-]", "Rqw/Rqq [-]", "S = Rww - Rqw$^2$/Rqq [-]")
    for axes, name in zip(panels, names, strict=True):
        tidy(axes, name)
        axes.set_xscale("log")
        axes.legend(fontsize=8, loc="best")
    panels[0].set_yscale("log")
    panels[2].set_yscale("log")
    panels[2].set_xlabel("lift over the radius of the circle of contact [-]")
    ratios = ", ".join(
        f"{name}: R/r {check.ball:.3g}, R_c/r {check.cage:.3g}" for name, check in checks.items()
    )
    figure.suptitle(heading(("Resistance of seat and cage in creeping flow", ratios), 95), fontsize=10)
    return figure
