"""Curves as figures, readable in grey: the resistance of a check, a material, anything over lift or rate."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.closures.ball_over_seat import SEAT_CONDUCTANCE as EDGE_LIMIT
from balltravel.estimate.material_report import COVERAGE

if TYPE_CHECKING:
    from balltravel.estimate.check_resistance import Resistance
    from balltravel.estimate.material_report import MaterialReport
    from balltravel.material.model import MaterialModel
    from balltravel.study.site.priming import Priming
    from balltravel.study.site.priming_setup import Setup

from balltravel.report.figures.style import (
    FOURTH,
    INLET,
    LIMIT,
    PISTON,
    THIRD,
    heading,
    marked_line,
    new_figure,
    tidy,
)

ZERO_CELSIUS = 273.15
_MM, _BAR, _CC, _PERCENT = 1e3, 1e-5, 1e6, 100.0


# --- the resistance of a check


def resistance_figure(found: "Mapping[str, Resistance]") -> Figure:
    """Rqq gap^2, Rqw/Rqq and S over lift, in seat radii, a curve a check, with the limits of a sharp edge."""
    figure = new_figure(8.0, 9.0)
    panels = figure.subplots(3, 1, sharex=True)
    for style, mark, (name, one) in zip((INLET, PISTON, THIRD), "os^", found.items(), strict=False):
        for axes, values in zip(panels, (one.Rqq * one.gap**2, one.Rqw / one.Rqq, one.S), strict=True):
            marked_line(axes, one.lift.tolist(), values.tolist(), name, mark, style)
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
    ratios = ", ".join(f"{name}: R/r {one.ball:.3g}, R_c/r {one.cage:.3g}" for name, one in found.items())
    figure.suptitle(heading(("Resistance of seat and cage in creeping flow", ratios), 95), fontsize=10)
    return figure


# --- priming


def priming_figure(found: "Priming", setup: "Setup", title: str) -> Figure:
    """Height climbed (where there is none to climb, length of the hose filled) and pressures of the air in
    hose and lower over the cycles."""
    figure = new_figure(8.0, 7.5)
    height, pressure = figure.subplots(2, 1, sharex=True)
    time, filled, port, lower = found.trace
    cycles = time / setup.drive.period
    whole = setup.rise if setup.rise > 0.0 else setup.hose_length
    height.plot(cycles, filled * whole / setup.hose_length, label="front of the material", **INLET)
    height.axhline(whole, label="inlet check", **LIMIT)
    pressure.plot(cycles, _BAR * lower, label="lower chamber", color="#aaaaaa", linewidth=0.7)
    pressure.plot(cycles, _BAR * port, label="hose and port", **INLET)
    if found.limits.port < lower.max():
        pressure.axhline(_BAR * found.limits.port, label="lowest of tight checks", **LIMIT)
    tidy(height, "height climbed [m]" if setup.rise > 0.0 else "hose filled [m]")
    tidy(pressure, "pressure of the air, absolute [bar]")
    for axes in (height, pressure):
        axes.legend(fontsize=8, loc="best")
    pressure.set_xlabel("cycles [-]")
    about = f"Priming against {_BAR * (setup.outlet - setup.barometric):.4g} bar gauge: {found.outcome}"
    figure.suptitle(heading((title, about), 90), fontsize=10)
    return figure


# --- what was understood of a material


def material_figure(found: "MaterialReport", known: "MaterialModel") -> Figure:
    """Viscosity over shear rate in the lower, with its band, the readings, and the lower's shear rates.

    Readings are moved to the lower's temperature and the material's age: filled those that the law was fitted
    to, open the others. The law is dashed beyond the shear rates of the readings, where no band holds.
    """
    figure = new_figure(9.0, 9.0)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(1.7, 1.0))
    rates = [rate for one in found.places for rate in (one.slowest, one.fastest)]
    rates += [one.rate for one in found.readings]
    x = np.geomspace(0.5 * min(rates), 2.0 * max(rates), 400)
    kelvin = found.temperatures[0].temperature
    _law_with_band(upper, found, known, x, kelvin)
    _readings(upper, found)
    upper.set(xscale="log", yscale="log")
    _at_least_a_decade(upper)
    tidy(upper, f"viscosity in the lower, at {kelvin - ZERO_CELSIUS:.4g} degC [Pa s]")
    upper.tick_params(labelbottom=True)
    upper.legend(fontsize=8, loc="best")
    _spans(lower, found)
    lower.set_xlabel("shear rate [1/s]")
    lower.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    about = "by readings" if found.source else "as given"
    figure.suptitle(heading((found.title, f"Material: {found.law}, {about}"), 100), fontsize=10)
    return figure


def _at_least_a_decade(axes: Axes) -> None:
    """So that one viscosity at all rates is a line, not its rounding."""
    low, high = axes.get_ylim()
    short = max(1.0, 10.0 * low / high)
    axes.set_ylim(low / short**0.5, high * short**0.5)
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    if short > 1.0:
        axes.yaxis.set_minor_formatter(lambda value, _: f"{value:g}")


def _law_with_band(
    axes: Axes, found: "MaterialReport", known: "MaterialModel", x: np.ndarray, kelvin: float
) -> None:
    bounded = found.source is not None and not known.newtonian
    low, high = found.source.rates if found.source and bounded else (x[0], x[-1])
    inside = np.geomspace(low, high, 200)
    mu, band = known.viscosity(inside, kelvin), known.band(inside, kelvin)
    if band is not None:
        # As a factor, so that a wide band stays above zero.
        wide = np.exp(COVERAGE * band)
        about = f"band, {COVERAGE:g} standard uncertainties"
        axes.fill_between(inside, mu / wide, mu * wide, color="#a8a8a8", linewidth=0.0, zorder=0, label=about)
    axes.plot(inside, mu, color="#0b4f8a", linewidth=0.8, label=f"law: {found.law}")
    if bounded:
        beyond: dict[str, Any] = {"color": "#3a3a3a", "linestyle": (0, (4, 3)), "linewidth": 1.0}
        outside = np.where((x < low) | (x > high), known.viscosity(x, kelvin), np.nan)
        axes.plot(x, outside, zorder=1, label="law beyond the readings: a guess", **beyond)


def _readings(axes: Axes, found: "MaterialReport") -> None:
    """Points with two standard uncertainties, in three groups."""
    groups = {
        "readings that the law was fitted to": ("o", "#222222"),
        "readings of another temperature or age, moved": ("s", "white"),
        "readings after a rest": ("^", "white"),
    }
    fitted, moved, rested = groups
    for name, (mark, face) in groups.items():
        own = [
            one
            for one in found.readings
            if name == (fitted if one.fitted else rested if one.state == "rested" else moved)
        ]
        if own:
            mu = np.array([one.viscosity for one in own])
            wide = np.exp(COVERAGE * np.array([one.uncertainty for one in own]))
            axes.errorbar(
                [one.rate for one in own], mu, (mu - mu / wide, mu * wide - mu), fmt=mark, color="#222222",
                markerfacecolor=face, markersize=5, capsize=4, linewidth=1.0, label=name, zorder=3,
            )  # fmt: skip


def _spans(axes: Axes, found: "MaterialReport") -> None:
    """The shear rates of each place as a bar, above one another."""
    for row, one in enumerate(found.places):
        if one.slowest == one.fastest:
            axes.plot(one.fastest, row, "D", color="#3a3a3a", markersize=6)
        else:
            axes.barh(row, one.fastest - one.slowest, left=one.slowest, height=0.55, color="#7a7a7a")
    if found.source is not None and found.law != "Newtonian":
        low, high = found.source.rates
        axes.axvspan(low, high, color="#e6e6e6", zorder=0, label="shear rates of the readings")
        axes.legend(fontsize=8, loc="best")
    axes.set_yticks(range(len(found.places)), [one.name for one in found.places], fontsize=8)
    axes.set_ylim(len(found.places) - 0.4, -0.6)
    tidy(axes, "")
    axes.set_title("shear rates that this lower makes, from a tenth of full speed to full speed", fontsize=9)


def lines_figure(
    curves: "Mapping[str, Mapping[str, np.ndarray]]",
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
        axes.legend(fontsize=8, loc="best")
    panels[-1].set_xlabel(abscissa)
    figure.suptitle(title, fontsize=10)
    return figure
