"""Datasets and recommendations as figures: the only module that imports matplotlib. Readable in grey."""

import io
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from balltravel.closures.ball_over_seat import SEAT_CONDUCTANCE as EDGE_LIMIT
from balltravel.core.events import Event
from balltravel.files import write_whole
from balltravel.material_report import COVERAGE
from balltravel.metrics import cycle_metrics
from balltravel.scenario import Scenario, from_result
from balltravel.tables import conditions, shim_names, travel_set

if TYPE_CHECKING:
    from balltravel.advice import Recommendation, Trial
    from balltravel.check_resistance import Resistance
    from balltravel.material_report import MaterialReport
    from balltravel.materials import Understood

INLET: dict[str, Any] = {"color": "#0b4f8a", "linestyle": "-", "linewidth": 1.5}
PISTON: dict[str, Any] = {"color": "#c8641e", "linestyle": "--", "linewidth": 1.5}
THIRD: dict[str, Any] = {"color": "#3a3a3a", "linestyle": ":", "linewidth": 1.6}
FOURTH: dict[str, Any] = {"color": "#7a7a7a", "linestyle": "-.", "linewidth": 1.2}
LIMIT: dict[str, Any] = {"color": "#7a7a7a", "linestyle": (0, (6, 3)), "linewidth": 0.8}

_MARKS = {
    Event.SEATED: ("v", "seated"),
    Event.STOPPED: ("^", "on its stop"),
    Event.RELEASED: ("o", "released"),
}
ZERO_CELSIUS = 273.15
_MM, _BAR, _CC, _PERCENT = 1e3, 1e-5, 1e6, 100.0


def save(figure: Figure, path: str | Path) -> None:
    """Draw a figure into a file, whole or not at all; the ending says the form. Raises OSError."""
    path, buffer = Path(path), io.BytesIO()
    figure.savefig(buffer, format=path.suffix.lstrip(".").lower(), dpi=110)
    write_whole(buffer.getbuffer(), path)


def _figure(width: float, height: float) -> Figure:
    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasAgg(figure)
    return figure


def _tidy(axes: Axes, label: str) -> None:
    axes.set_ylabel(label)
    axes.grid(color="#dddddd", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)


# --- one cycle


def cycle_figure(data: xr.Dataset) -> Figure:
    """One cycle over time: piston, lifts, pressures in both ranges, flows; right: around top dead centre.

    ``data``: as :func:`balltravel.simulate` returns it. Events are marked at the lifts, reversals by lines.
    """
    figure = _figure(14.0, 11.0)
    panels = figure.subplots(5, 2, sharex="col", sharey="row", width_ratios=(1.7, 1.0), squeeze=False)
    metrics = cycle_metrics(data)
    half, lag, ball_lag = 0.5 * float(data.period), metrics.inlet.closing_lag, metrics.inlet.ball_lag
    for column in range(2):
        _piston(panels[0, column], data)
        _lifts(panels[1, column], data, half, lag, ball_lag)
        _suction_range(panels[2, column], data)
        _pressures(panels[3, column], data)
        _flows(panels[4, column], data)
        for axes in panels[:, column]:
            for reversal in (0.0, half, 2.0 * half):
                axes.axvline(reversal, color="#999999", linewidth=0.8)
        panels[4, column].set_xlabel("time since bottom dead centre [s]")
    panels[0, 0].set_xlim(0.0, 2.0 * half)
    ahead = max(0.05 * half, min(1.3 * lag, 0.95 * half))
    panels[0, 1].set_xlim(half - max(0.08 * half, 0.35 * ahead), half + ahead)
    panels[0, 1].xaxis.set_major_locator(MaxNLocator(5))
    _labels(panels)
    share = _PERCENT * metrics.volumetric_efficiency
    scenario = from_result(data.attrs["scenario"])
    repeats = "" if data.attrs["status"] == "ok" else "; THE CYCLE DOES NOT REPEAT"
    lines = (
        data.attrs["title"],
        conditions(scenario),
        f"inlet check: {travel_set(scenario)}; volumetric efficiency {share:.1f} %{repeats}",
    )
    figure.suptitle(_heading(lines, 130))
    return figure


def _heading(lines: Sequence[str], width: int) -> str:
    """Lines broken so that none is wider than the figure; a dollar sign is one, not mathematics."""
    broken = "\n".join(part for line in lines for part in textwrap.wrap(line, width))
    return broken.replace("$", r"\$")


def _labels(panels: Any) -> None:
    names = (
        "piston above bottom\ndead centre [mm]",
        "lift of the ball [mm]",
        "absolute pressure,\nsuction range [bar]",
        "absolute pressure [bar]",
        "flow [cc/s]",
    )
    for row, name in enumerate(names):
        for column in range(2):
            _tidy(panels[row, column], name if column == 0 else "")
        if row:
            panels[row, 1].legend(loc="center left", bbox_to_anchor=(1.02, 0.5), fontsize=9, frameon=False)
    panels[0, 0].set_title("the whole cycle: upstroke, then downstroke", fontsize=10)
    panels[0, 1].set_title("around top dead centre", fontsize=10)


def _piston(axes: Axes, data: xr.Dataset) -> None:
    axes.plot(data.time, _MM * data.piston_position, color="#222222", linewidth=1.5)


def _lifts(axes: Axes, data: xr.Dataset, half: float, lag: float, ball_lag: float) -> None:
    axes.plot(data.time, _MM * data.lift[:, 0], label="inlet check", **INLET)
    axes.plot(data.time, _MM * data.lift[:, 1], label="piston check", **PISTON)
    axes.set_ylim(-0.1 * _MM * float(data.travel.max()), 1.1 * _MM * float(data.travel.max()))
    if lag > 0.0:
        axes.axvspan(half, half + lag, color="#cfdcea", alpha=0.7, label="closing lag, inlet check")
    if ball_lag > 0.0:
        edge: dict[str, Any] = {"facecolor": "none", "edgecolor": "#5f7f9f", "hatch": "..", "linewidth": 0.0}
        axes.axvspan(half + lag - ball_lag, half + lag, label="ball lag, inlet check", **edge)
    for check, style in ((0, INLET), (1, PISTON)):
        for kind, (mark, name) in _MARKS.items():
            here = (data.event_kind.values == kind) & (data.event_check.values == check)
            times = data.event_time.values[here]
            lifts = np.interp(times, data.time.values, _MM * data.lift.values[:, check])
            axes.plot(
                times, lifts, mark, color=style["color"], markersize=5, markerfacecolor="white",
                linestyle="none", label=name if check == 0 and times.size else None,
            )  # fmt: skip


def _suction_range(axes: Axes, data: xr.Dataset) -> None:
    atmosphere = _BAR * float(data.barometric_pressure)
    axes.plot(data.time, _BAR * data.lower_pressure, label="lower chamber", **INLET)
    axes.plot(data.time, _BAR * data.port_pressure, label="inlet port", **THIRD)
    axes.axhline(atmosphere, label="atmosphere", **LIMIT)
    axes.axhline(_BAR * float(data.vapour_pressure), label="vapour pressure", **FOURTH)
    axes.set_ylim(-0.08 * atmosphere, 1.5 * atmosphere)


def _pressures(axes: Axes, data: xr.Dataset) -> None:
    axes.plot(data.time, _BAR * data.lower_pressure, label="lower chamber", **INLET)
    axes.plot(data.time, _BAR * data.upper_pressure, label="upper chamber", **PISTON)


def _flows(axes: Axes, data: xr.Dataset) -> None:
    axes.plot(data.time, _CC * data.flow[:, 0], label="inlet check", **INLET)
    axes.plot(data.time, _CC * data.flow[:, 1], label="piston check", **PISTON)
    axes.plot(data.time, _CC * data.outlet_flow, label="outlet", **THIRD)
    axes.plot(data.time, _CC * data.line_flow, label="suction line", **FOURTH)
    _hatch(axes, data)


def _hatch(axes: Axes, data: xr.Dataset) -> None:
    """A hatched strip along the times at which a closure is outside its range."""
    beyond = data.outside_range.values > 0
    if beyond.any():
        axes.fill_between(
            data.time.values, 0.0, 0.07, where=beyond, transform=axes.get_xaxis_transform(),
            facecolor="none", edgecolor="#b0b0b0", hatch="///", linewidth=0.0, zorder=0,
            label="closure outside\nits range",
        )  # fmt: skip


# --- arrangements against travel


def travel_figure(recommendation: "Recommendation", scenario: Scenario) -> Figure:
    """Delivery, backflow and underfill of every arrangement against ball travel, the chosen one marked.

    ``scenario``: the one that was recommended for; its title and material stand above the figure.
    """
    found = [trial for trial in recommendation.arrangements if trial.metrics is not None]
    travel = [_MM * trial.ball_travel for trial in found]
    figure = _figure(8.0, 10.5)
    panels = figure.subplots(4, 1, sharex=True)
    _plot(panels[0], travel, _shares(found, "fill_fraction"), "fill fraction", "s", THIRD)
    _plot(panels[0], travel, _shares(found, "volumetric_efficiency"), "volumetric efficiency", "o", INLET)
    _plot(panels[1], travel, _lost(found, "inlet_backflow"), "inlet check", "o", INLET)
    _plot(panels[1], travel, _lost(found, "piston_backflow"), "piston check", "s", PISTON)
    _plot(panels[2], travel, _lost(found, "underfill"), "underfill", "o", INLET)
    _plot(panels[3], travel, [trial.landing for trial in found], "inlet ball", "o", INLET)
    names = ("% of swept volume", "backflow\n[% of swept volume]", "underfill\n[% of swept volume]")
    for axes, name in zip(panels, (*names, "landing speed\n[m/s]"), strict=True):
        _tidy(axes, name)
        _mark_choice(axes, recommendation, named=axes is panels[0])
    target = scenario.target
    panels[0].axhline(_PERCENT * target.fill_fraction, label="target of the fill", **FOURTH)
    panels[3].axhline(target.landing_speed, label="target", **FOURTH)
    _at_least_wide(panels[0], 1.0)
    for axes in panels[1:3]:
        low, high = axes.get_ylim()
        axes.set_ylim(min(0.0, low), max(high, 1.0))
    panels[3].set_ylim(0.0, max(1.1 * target.landing_speed, panels[3].get_ylim()[1]))
    for axes in panels:
        axes.legend(fontsize=8, loc="best")
    panels[3].set_xlabel("ball travel of the inlet check [mm]")
    lines = (scenario.title, conditions(scenario), *_choice_title(recommendation))
    figure.suptitle(_heading(lines, 95), fontsize=10)
    return figure


def _at_least_wide(axes: Axes, span: float) -> None:
    """A range so wide at least that nothing is blown up to fill the panel."""
    low, high = axes.get_ylim()
    short = max(0.0, span - (high - low))
    axes.set_ylim(low - 0.5 * short, high + 0.5 * short)


def _plot(
    axes: Axes, x: Sequence[float], y: Sequence[float], name: str, mark: str, style: dict[str, Any]
) -> None:
    axes.plot(x, y, marker=mark, markersize=5, label=name, clip_on=False, **style)


def _shares(trials: "Sequence[Trial]", name: str) -> list[float]:
    return [_PERCENT * float(getattr(trial.metrics, name)) for trial in trials]


def _lost(trials: "Sequence[Trial]", part: str) -> list[float]:
    budgets = [trial.metrics.loss_budget for trial in trials if trial.metrics is not None]
    return [_PERCENT * float(getattr(budget, part)) / budget.swept for budget in budgets]


def _mark_choice(axes: Axes, recommendation: "Recommendation", named: bool) -> None:
    """Lines at the travels that are named; their words in one panel's legend only."""
    word = "indication" if recommendation.indication else "recommended"
    for choice, name, style in (
        (recommendation.recommended, word, {"color": "#222222", "linewidth": 1.4}),
        (
            recommendation.best_available,
            "nearest, targets not met",
            {"color": "#222222", "linewidth": 1.4},
        ),
        (recommendation.runner_up, "runner-up", LIMIT),
    ):
        if choice is not None:
            axes.axvline(_MM * choice.ball_travel, label=name if named else None, zorder=1, **style)


def _choice_title(recommendation: "Recommendation") -> list[str]:
    chosen = recommendation.recommended or recommendation.best_available
    if chosen is None:
        return ["Nothing is recommended"]
    word = "Recommended" if recommendation.recommended else "Nearest, targets not met"
    if recommendation.recommended and recommendation.indication:
        word = "Indication only, closures outside their range"
    if recommendation.best_available and recommendation.indication:
        word = "Nearest, targets not met, and an indication only"
    below = shim_names(chosen.shims_below)
    return [f"{word}: ball travel {_MM * chosen.ball_travel:.3g} mm (shims below the cage: {below})"]


# --- lost volume against travel


SAME = 0.1
"""Lost volume [% of swept] that counts as the same in the figure: in thin material travel hardly matters."""


def lost_volume_figure(data: xr.Dataset, title: str = "") -> Figure:
    """Lost volume (swept less delivered, % of swept) against ball travel, a curve a viscosity; marked is the
    shortest travel within SAME of the least.

    ``data``: a sweep over ``material.viscosity`` [Pa s] and ``inlet_check.base_travel`` [m], which is the
    whole ball travel when no shim lies below the cage.
    """
    figure = _figure(8.5, 6.0)
    axes = figure.subplots()
    travel = _MM * data["inlet_check.base_travel"].values
    lost = _PERCENT * (1.0 - data.volumetric_efficiency)
    viscosities = data["material.viscosity"].values
    styles = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))
    for i, viscosity in enumerate(viscosities):
        curve = lost.sel({"material.viscosity": viscosity}).values
        shade = 0.7 - 0.7 * i / max(1, len(viscosities) - 1)
        axes.plot(
            travel, curve, color=(shade, shade * 0.9, 0.45 * shade + 0.35),
            linestyle=styles[i % len(styles)], linewidth=1.8, label=f"{viscosity:g} Pa s",
        )  # fmt: skip
        if np.any(np.isfinite(curve)):
            least = int(np.argmax(curve <= np.nanmin(curve) + SAME))
            axes.plot(travel[least], curve[least], "o", color="#c8641e", markersize=8, zorder=3)
            axes.annotate(
                f"{travel[least]:.4g} mm", (travel[least], curve[least]), (5, 9), fontsize=8,
                textcoords="offset points", ha="left",
            )  # fmt: skip
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    _tidy(axes, "lost volume [% of swept volume]")
    axes.set_xlabel("ball travel of the inlet check [mm]")
    axes.plot([], [], "o", color="#c8641e", markersize=8, label=f"least, within {SAME:g} % of swept")
    axes.legend(title="viscosity", fontsize=9)
    axes.set_title(title)
    return figure


# --- the resistance of a check


def resistance_figure(found: "Mapping[str, Resistance]") -> Figure:
    """Rqq gap^2, Rqw/Rqq and S over lift, in seat radii, a curve a check, with the limits of a sharp edge."""
    figure = _figure(8.0, 9.0)
    panels = figure.subplots(3, 1, sharex=True)
    for style, mark, (name, one) in zip((INLET, PISTON, THIRD), "os^", found.items(), strict=False):
        for axes, values in zip(panels, (one.Rqq * one.gap**2, one.Rqw / one.Rqq, one.S), strict=True):
            _plot(axes, one.lift.tolist(), values.tolist(), name, mark, style)
    panels[0].axhline(EDGE_LIMIT, label="sharp edge, gap closing (about)", **LIMIT)
    panels[1].axhline(np.pi, label="sharp edge, gap closing: pi", **LIMIT)
    names = ("Rqq gap$^2$/r$^2$ [-]", "Rqw/Rqq [-]", "S = Rww - Rqw$^2$/Rqq [-]")
    for axes, name in zip(panels, names, strict=True):
        _tidy(axes, name)
        axes.set_xscale("log")
        axes.legend(fontsize=8, loc="best")
    panels[0].set_yscale("log")
    panels[2].set_yscale("log")
    panels[2].set_xlabel("lift over the radius of the circle of contact [-]")
    ratios = ", ".join(f"{name}: R/r {one.ball:.3g}, R_c/r {one.cage:.3g}" for name, one in found.items())
    figure.suptitle(_heading(("Resistance of seat and cage in creeping flow", ratios), 95), fontsize=10)
    return figure


# --- what was understood of a material


def material_figure(found: "MaterialReport", known: "Understood") -> Figure:
    """Viscosity over shear rate in the lower, with its band, the readings, and the lower's shear rates.

    Readings are moved to the lower's temperature and the material's age: filled those that the law was fitted
    to, open the others. The law is dashed beyond the shear rates of the readings, where no band holds.
    """
    figure = _figure(9.0, 9.0)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(1.7, 1.0))
    rates = [rate for one in found.places for rate in (one.slowest, one.fastest)]
    rates += [one.rate for one in found.readings]
    x = np.geomspace(0.5 * min(rates), 2.0 * max(rates), 400)
    kelvin = found.temperatures[0].temperature
    _law_with_band(upper, found, known, x, kelvin)
    _readings(upper, found)
    upper.set(xscale="log", yscale="log")
    _at_least_a_decade(upper)
    _tidy(upper, f"viscosity in the lower, at {kelvin - ZERO_CELSIUS:.4g} degC [Pa s]")
    upper.tick_params(labelbottom=True)
    upper.legend(fontsize=8, loc="best")
    _spans(lower, found)
    lower.set_xlabel("shear rate [1/s]")
    lower.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    about = "by readings" if found.source else "as given"
    figure.suptitle(_heading((found.title, f"Material: {found.law}, {about}"), 100), fontsize=10)
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
    axes: Axes, found: "MaterialReport", known: "Understood", x: np.ndarray, kelvin: float
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
    _tidy(axes, "")
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
    figure = _figure(8.0, 10.0 if len(names) > 1 else 5.0)
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
        _tidy(axes, label)
        axes.set(xscale="linear" if even else "log", yscale="linear" if key in linear else "log")
        axes.legend(fontsize=8, loc="best")
    panels[-1].set_xlabel(abscissa)
    figure.suptitle(title, fontsize=10)
    return figure
