"""A material as a figure, readable in grey: its viscosity over the shear rates of a lower."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.estimate.material_report import COVERAGE, MaterialReport
from balltravel.material.model import MaterialModel, material_model
from balltravel.report.figures.style import heading, new_figure, plain_tick, tidy
from balltravel.report.tables import bench
from balltravel.scenario.model import Scenario
from balltravel.units.display import scale
from balltravel.units.systems import unit_in_use


def material_figure(scenario: Scenario, report: MaterialReport) -> Figure:
    """Viscosity over shear rate in the lower, with its band, the readings, and the lower's shear rates.

    Readings are moved to the lower's temperature and the material's age: filled those that the law was fitted
    to, open the others. The law is dashed beyond the shear rates of the readings, where no band holds.
    """
    model = material_model(scenario.material)
    figure = new_figure(9.0, 9.0)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(1.7, 1.0))
    rates = [rate for place in report.places for rate in (place.slowest, place.fastest)]
    rates += [reading.rate for reading in report.readings]
    x = np.geomspace(0.5 * min(rates), 2.0 * max(rates), 400)
    kelvin = report.temperatures[0].temperature
    _law_with_band(upper, report, model, x, kelvin)
    _readings(upper, report)
    upper.set(xscale="log", yscale="log")
    _at_least_a_decade(upper)
    tidy(upper, f"viscosity in the lower, at {bench(kelvin, 'temperature')} [{unit_in_use('Pa s')}]")
    upper.tick_params(labelbottom=True)
    upper.legend(fontsize=9, loc="best")
    _spans(lower, report)
    lower.set_xlabel("shear rate [1/s]")
    lower.xaxis.set_major_formatter(plain_tick)
    about = "by readings" if report.source else "as given"
    figure.suptitle(heading((report.title, f"Material: {report.law}, {about}"), 100), fontsize=10)
    return figure


def _at_least_a_decade(axes: Axes) -> None:
    """So that one viscosity at all rates is a line, not its rounding."""
    low, high = axes.get_ylim()
    short = max(1.0, 10.0 * low / high)
    axes.set_ylim(low / short**0.5, high * short**0.5)
    axes.yaxis.set_major_formatter(plain_tick)
    if short > 1.0:
        axes.yaxis.set_minor_formatter(plain_tick)


def _law_with_band(
    axes: Axes, report: MaterialReport, model: MaterialModel, x: np.ndarray, kelvin: float
) -> None:
    bounded = report.source is not None and not model.newtonian
    low, high = report.source.rates if report.source and bounded else (x[0], x[-1])
    inside = np.geomspace(low, high, 200)
    times = _shown()
    mu, band = times * model.viscosity(inside, kelvin), model.band(inside, kelvin)
    if band is not None:
        # As a factor, so that a wide band stays above zero.
        wide = np.exp(COVERAGE * band)
        about = f"band, {COVERAGE:g} standard uncertainties"
        axes.fill_between(inside, mu / wide, mu * wide, color="#a8a8a8", linewidth=0.0, zorder=0, label=about)
    axes.plot(inside, mu, color="#0b4f8a", linewidth=0.8, label=f"law: {report.law}")
    if bounded:
        beyond: dict[str, Any] = {"color": "#3a3a3a", "linestyle": (0, (4, 3)), "linewidth": 1.0}
        outside = np.where((x < low) | (x > high), times * model.viscosity(x, kelvin), np.nan)
        axes.plot(x, outside, zorder=1, label="law beyond the readings: a guess", **beyond)


def _shown() -> float:
    """Viscosities as they are drawn, over SI."""
    return scale("viscosity", "Pa.s")


def _readings(axes: Axes, report: MaterialReport) -> None:
    """Points with two standard uncertainties, in three groups."""
    groups = {
        "readings that the law was fitted to": ("o", "#222222"),
        "readings at another temperature or age, converted": ("s", "white"),
        "readings after a rest": ("^", "white"),
    }
    fitted, moved, rested = groups
    for name, (mark, face) in groups.items():
        members = [
            reading
            for reading in report.readings
            if name == (fitted if reading.fitted else rested if reading.state == "rested" else moved)
        ]
        if members:
            mu = _shown() * np.array([reading.viscosity for reading in members])
            wide = np.exp(COVERAGE * np.array([reading.uncertainty for reading in members]))
            rates = [reading.rate for reading in members]
            axes.errorbar(
                rates, mu, (mu - mu / wide, mu * wide - mu), fmt=mark, color="#222222", markerfacecolor=face,
                markersize=5, capsize=4, linewidth=1.0, label=name, zorder=3,
            )  # fmt: skip


def _spans(axes: Axes, report: MaterialReport) -> None:
    """The shear rates of each place as a bar, above one another."""
    for row, place in enumerate(report.places):
        if place.slowest == place.fastest:
            axes.plot(place.fastest, row, "D", color="#3a3a3a", markersize=6)
        else:
            axes.barh(row, place.fastest - place.slowest, left=place.slowest, height=0.55, color="#7a7a7a")
    if report.source is not None and report.law != "Newtonian":
        low, high = report.source.rates
        axes.axvspan(low, high, color="#e6e6e6", zorder=0, label="shear rates of the readings")
        axes.legend(fontsize=9, loc="best")
    axes.set_yticks(range(len(report.places)), [place.name for place in report.places], fontsize=9)
    axes.set_ylim(len(report.places) - 0.4, -0.6)
    tidy(axes, "")
    axes.set_title("shear rates that this lower makes, from a tenth of full speed to full speed", fontsize=10)
