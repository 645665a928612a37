"""Priming as a figure, readable in grey."""

from matplotlib.figure import Figure

from balltravel.report.figures.style import INLET, LIMIT, heading, new_figure, tidy
from balltravel.study.site.priming import Priming
from balltravel.study.site.priming_setup import PrimingSetup

_BAR = 1e-5


def priming_figure(title: str, setup: PrimingSetup, priming: Priming) -> Figure:
    """Height climbed (where there is none to climb, length of the hose filled) and pressures of the air in
    hose and lower over the cycles."""
    figure = new_figure(8.0, 7.5)
    height, pressure = figure.subplots(2, 1, sharex=True)
    time, filled, port, lower = priming.trace
    cycles = time / setup.drive.period
    whole = setup.rise if setup.rise > 0.0 else setup.hose_length
    height.plot(cycles, filled * whole / setup.hose_length, label="front of the material", **INLET)
    height.axhline(whole, label="inlet check", **LIMIT)
    pressure.plot(cycles, _BAR * lower, label="lower chamber", color="#aaaaaa", linewidth=0.7)
    pressure.plot(cycles, _BAR * port, label="hose and port", **INLET)
    if priming.limits.port < lower.max():
        pressure.axhline(_BAR * priming.limits.port, label="lowest of tight checks", **LIMIT)
    tidy(height, "height climbed [m]" if setup.rise > 0.0 else "hose filled [m]")
    tidy(pressure, "pressure of the air, absolute [bar]")
    for axes in (height, pressure):
        axes.legend(fontsize=8, loc="best")
    pressure.set_xlabel("cycles [-]")
    about = f"Priming against {_BAR * (setup.outlet - setup.barometric):.4g} bar gauge: {priming.outcome}"
    figure.suptitle(heading((title, about), 90), fontsize=10)
    return figure
