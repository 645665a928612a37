"""Priming as a figure, readable in grey."""

from matplotlib.figure import Figure

from balltravel.report.figures.style import INLET, LIMIT, heading, new_figure, tidy
from balltravel.report.tables import bench
from balltravel.study.site.priming import Priming
from balltravel.study.site.priming_setup import PrimingSetup
from balltravel.units.display import scale
from balltravel.units.systems import unit_in_use


def priming_figure(title: str, setup: PrimingSetup, priming: Priming) -> Figure:
    """Height climbed (where there is none to climb, length of the hose filled) and pressures of the air in
    hose and lower over the cycles."""
    figure = new_figure(8.0, 7.5)
    height, pressure = figure.subplots(2, 1, sharex=True)
    time, filled, port, lower = priming.trace
    cycles = time / setup.drive.period
    metres, bar = scale("length", "m"), scale("pressure", "bar")
    whole = setup.rise if setup.rise > 0.0 else setup.hose_length
    height.plot(cycles, metres * filled * whole / setup.hose_length, label="front of the material", **INLET)
    height.axhline(metres * whole, label="inlet check", **LIMIT)
    pressure.plot(cycles, bar * lower, label="lower chamber", color="#aaaaaa", linewidth=0.7)
    pressure.plot(cycles, bar * port, label="hose and port", **INLET)
    if priming.limits.port < lower.max():
        pressure.axhline(bar * priming.limits.port, label="lowest of tight checks", **LIMIT)
    what = "height climbed" if setup.rise > 0.0 else "hose filled"
    tidy(height, f"{what} [{unit_in_use('m')}]")
    tidy(pressure, f"pressure of the air, absolute [{unit_in_use('bar')}]")
    for axes in (height, pressure):
        axes.legend(fontsize=8, loc="best")
    pressure.set_xlabel("cycles [-]")
    against = bench(setup.outlet - setup.barometric, "pressure")
    about = f"Priming against {against} gauge: {priming.outcome}"
    figure.suptitle(heading((title, about), 90), fontsize=10)
    return figure
