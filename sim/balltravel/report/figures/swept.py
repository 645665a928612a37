"""Sweeps as figures, readable in grey: the best travel, the largest cycle rate, what is lost."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from balltravel.report.drawings import ARRANGEMENT_KEYS, drawings_of
from balltravel.report.figures.style import careful, heading, mm, new_figure, plain_tick, shown_travel, tidy
from balltravel.report.tables import bench_unit, column
from balltravel.scenario.arguments import refused
from balltravel.scenario.model import FIELDS, Scenario, quantity_of
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    import xarray as xr

_PERCENT = 100.0
LOGARITHMIC_FROM = 8.0
"""Largest over smallest value from which an axis is logarithmic."""

PREFERRED = ("material_viscosity", "material_viscosity_factor")
"""Dimensions that make the abscissa where there is a choice."""

LOSSES = {
    "underfill": ("not drawn in (underfill)", "#0b4f8a", ""),
    "inlet_backflow": ("backflow, inlet check", "#7fa6c9", "//"),
    "piston_backflow": ("backflow, piston check", "#e3a272", "\\\\"),
    "leak": ("leaks", "#c8641e", "xx"),
    "compression_and_gas": ("compression and gas", "#dcdcdc", ".."),
}
"""Parts of the loss budget: name, colour and hatch."""


def sweep_figure(scenario: Scenario, data: "xr.Dataset") -> Figure:
    """A sweep of a grid in the first of the figures that fit its keys."""
    sizes = {data[dim].attrs["key"]: data.sizes[dim] for dim in data["status"].dims}
    draw = {"map": swept_map, "envelope": swept_envelope, "losses": swept_losses}
    return draw[drawings_of(sizes)[0]](scenario, data)


def swept_map(_: Scenario, data: "xr.Dataset") -> Figure:
    """The best travel of a sweep."""
    from balltravel.study.swept.best_travel import best_travel

    return travel_map_figure(best_travel(_varied(data)))


def swept_envelope(_: Scenario, data: "xr.Dataset") -> Figure:
    """The largest cycle rate of a sweep."""
    from balltravel.study.swept.envelope import envelope

    return envelope_figure(envelope(_varied(data)))


def swept_losses(_: Scenario, data: "xr.Dataset") -> Figure:
    """The losses of a sweep."""
    return losses_figure(_varied(data))


def _varied(data: "xr.Dataset") -> "xr.Dataset":
    """A sweep without the dimensions along which there is one value."""
    return data.squeeze()


def _scaled(values: "xr.DataArray") -> tuple[NDArray[Any], str]:
    """A key's values in the unit of the bench, and the label of their axis."""
    key = values.attrs.get("key", "")
    quantity = quantity_of(FIELDS[key]) if key in FIELDS else None
    name = key.partition(".")[2].replace("_", " ") or str(values.attrs.get("long_name", values.name))
    if quantity is None:
        return values.values, name
    unit = bench_unit(quantity.dimension)
    numbers = [column(float(value), quantity.dimension) if unit else value for value in values.values]
    return np.array(numbers), f"{name} [{unit or '-'}]"


def _keys_of(
    values: "xr.DataArray", data: "xr.Dataset", wanted: str, keys: int, travel: bool = True
) -> list[str]:
    """The dimensions of values that are to be drawn over so many keys, and over the travel too or not; raises
    ScenarioError for others, and for a sample, whose cases lie along no key."""
    dims = [str(dim) for dim in values.dims]
    others = [dim for dim in dims if not travel or data[dim].attrs.get("key") not in ARRANGEMENT_KEYS]
    sample = any("key" not in data[dim].attrs for dim in dims)
    if sample or len(others) != keys or len(dims) > len(others) + 1:
        given = "a sample" if sample else f"a sweep over {', '.join(dims) or 'nothing'}"
        raise refused("data", f"{given} given", f"a grid over {wanted}", "data.isel(drive_cycle_rate=0)")
    return dims


def _abscissa_first(dims: Sequence[Any]) -> list[str]:
    return sorted(
        map(str, dims), key=lambda dim: PREFERRED.index(dim) if dim in PREFERRED else len(PREFERRED)
    )


def _axis_scale(values: NDArray[Any]) -> str:
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    return "log" if low > 0.0 and high / low >= LOGARITHMIC_FROM else "linear"


def _plain_ticks(axes: Axes) -> None:
    """Numbers as one writes them, not as powers of ten, all on one line."""
    for axis in (axes.xaxis, axes.yaxis):
        if axis.get_scale() == "log":
            axis.set_major_formatter(plain_tick)
            axis.set_minor_formatter(
                lambda value, at: plain_tick(value, at) if f"{value:e}"[0] in "25" else ""
            )
            axis.set_tick_params(which="minor", pad=5.0)


def travel_map_figure(best: "xr.Dataset") -> Figure:
    """The best travel of ``best_travel`` over the two inputs that are left: a level of grey a travel, hatched
    where it misses targets, empty where nothing pumps."""
    across, up = _abscissa_first(_keys_of(best["ball_travel"], best, "two keys with numbers", 2, False))
    best = best.sortby([across, up]).transpose(up, across)
    (x, x_label), (y, y_label) = _scaled(best[across]), _scaled(best[up])
    travel = mm() * best["ball_travel"].values
    figure = new_figure(8.5, 6.5)
    axes = figure.subplots()
    axes.set(xscale=_axis_scale(x), yscale=_axis_scale(y), xlabel=x_label, ylabel=y_label)
    corners = _edges(x), _edges(y)
    if np.isfinite(travel).any():
        _fill(axes, corners, travel)
    missed = (best["targets_met"].values == 0) & np.isfinite(travel)
    hatches = [_hatch(axes, corners, missed)] if missed.any() else []
    points = _mark_points(axes, x, y)
    below: dict[str, Any] = {
        "loc": "upper center",
        "bbox_to_anchor": (0.5, -0.12),
        "fontsize": 9,
        "frameon": False,
    }
    axes.legend(handles=[points, *hatches], ncols=2, **below)
    _plain_ticks(axes)
    reserve = best.attrs.get("reserve", "no reserve for heavier material")
    note = f"Best ball travel, by the order of recommend; {reserve}"
    figure.suptitle(heading([str(best.attrs.get("title", "")), note], 95), fontsize=10)
    careful(figure)
    return figure


def _edges(values: NDArray[Any]) -> NDArray[Any]:
    """Where the cells of rising values end: in the middle between two of them on their axis, and at the
    first and the last, beyond which nothing was run."""
    if _axis_scale(values) == "log":
        return np.asarray(np.exp(_halfway(np.log(values))))
    return _halfway(values)


def _halfway(values: NDArray[Any]) -> NDArray[Any]:
    if values.size == 1:
        return np.asarray(np.array([0.9, 1.1]) * values)
    middles = 0.5 * (values[1:] + values[:-1])
    return np.concatenate([values[:1], middles, values[-1:]])


def _fill(axes: Axes, corners: tuple[NDArray[Any], NDArray[Any]], travel: NDArray[Any]) -> None:
    """Cells by their travel [mm or in], and the bar that says which is which."""
    levels = np.unique(np.round(travel[np.isfinite(travel)], 6))
    shades = ListedColormap(_shades(levels.size))
    ends = np.concatenate([[levels[0] - 1.0], 0.5 * (levels[1:] + levels[:-1]), [levels[-1] + 1.0]])
    norm = BoundaryNorm(ends, levels.size)
    mesh = axes.pcolormesh(*corners, np.ma.masked_invalid(travel), cmap=shades, norm=norm)
    label = f"best ball travel of the inlet check [{unit_in_use('mm')}]"
    bar = axes.figure.colorbar(mesh, ax=axes, label=label, spacing="uniform")
    bar.set_ticks(0.5 * (ends[1:] + ends[:-1]), labels=[f"{level:.4g}" for level in levels])


def _mark_points(axes: Axes, x: NDArray[Any], y: NDArray[Any]) -> Any:
    """A mark on every combination that was run, those on the frame too."""
    xs, ys = (grid.ravel() for grid in np.meshgrid(x, y))
    look: dict[str, Any] = {"markerfacecolor": "white", "markeredgecolor": "#111111", "markeredgewidth": 0.8}
    (points,) = axes.plot(xs, ys, "o", markersize=4, clip_on=False, zorder=5, label="combination run", **look)
    return points


def _hatch(axes: Axes, corners: tuple[NDArray[Any], NDArray[Any]], missed: NDArray[np.bool_]) -> Patch:
    """Hatches over the cells that miss targets."""
    hatched = np.ma.masked_where(~missed, np.zeros(missed.shape))
    cover = axes.pcolor(*corners, hatched, cmap=ListedColormap(["none"]), hatch="///")
    cover.set(edgecolor="#111111", linewidth=0.0)
    name = "targets missed: the travel that misses them least"
    return Patch(facecolor="none", edgecolor="#111111", hatch="///", label=name)


def _shades(count: int) -> list[tuple[float, float, float]]:
    """Colours that get darker evenly, in grey too, the darkest still light enough for black hatches."""
    return [(0.96 - 0.76 * s, 0.97 - 0.55 * s, 1.0 - 0.33 * s) for s in np.linspace(0.0, 1.0, count)]


def envelope_figure(limits: "xr.Dataset") -> Figure:
    """The largest cycle rate of ``envelope`` over one input, a line a travel; open marks where no rate
    that was run misses the targets."""
    wanted = "one key with numbers beside the rate, and the travel or not"
    dims = _abscissa_first(_keys_of(limits["cycle_rate"], limits, wanted, 1))
    lines = [dim for dim in dims if limits[dim].attrs["key"] in ARRANGEMENT_KEYS]
    (across,) = [dim for dim in dims if dim not in lines]
    limits = limits.sortby(across).transpose(*lines, across)
    x, x_label = _scaled(limits[across])
    rates = 60.0 * np.atleast_2d(limits["cycle_rate"].values)
    at_end = np.atleast_2d(limits["bounded"].values) == 2
    figure = new_figure(8.5, 6.0)
    axes = figure.subplots()
    for i, name in enumerate(_line_names(limits, lines)):
        style: dict[str, Any] = {"color": _line_colour(i, len(rates)), "linewidth": 1.7}
        dashes = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (8, 2)))[i % 6]
        mark = "os^vDP*X"[i % 8]
        axes.plot(x, rates[i], linestyle=dashes, marker=mark, markersize=4.5, label=name, **style)
        ends = np.where(at_end[i], rates[i], np.nan)
        axes.plot(x, ends, mark, markersize=8, markerfacecolor="white", color=style["color"], zorder=3)
    if at_end.any():
        axes.plot(
            [], [], "o", markersize=8, markerfacecolor="white", color="#3a3a3a", label="fastest rate run"
        )
    tidy(axes, "largest cycle rate that meets the targets [/min]")
    axes.set(xscale=_axis_scale(x), xlabel=x_label)
    axes.set_ylim(0.0, None)
    _plain_ticks(axes)
    title = "ball travel" if lines else None
    axes.legend(title=title, fontsize=9, loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False)
    figure.suptitle(
        heading([str(limits.attrs.get("title", "")), "Where the targets are met"], 95), fontsize=10
    )
    careful(figure)
    return figure


def _line_colour(i: int, count: int) -> Any:
    """Colours of lines that differ in hue and get darker evenly, in grey too."""
    return colormaps["viridis"](0.85 * (1.0 - i / max(1, count - 1)))


def _line_names(limits: "xr.Dataset", lines: Sequence[str]) -> list[str]:
    """What each line is of: its travel."""
    if not lines:
        return ["all targets met below"]
    if "ball_travel" in limits.coords and limits["ball_travel"].dims == (lines[0],):
        return [shown_travel(travel) for travel in limits["ball_travel"].values]
    return [str(value) for value in limits[lines[0]].values]


def losses_figure(data: "xr.Dataset") -> Figure:
    """What is lost of the swept volume over the one input that a sweep varies, part on part; what is
    gained (the liquid that compression gives back) below zero. Over the travel where shims are varied."""
    (dim,) = _keys_of(data["status"], data, "one key", 1, False)
    by_travel = "ball_travel" in data.coords and data["ball_travel"].dims == (dim,)
    data = data.sortby("ball_travel" if by_travel else dim)
    figure = new_figure(8.5, 6.0)
    axes = figure.subplots()
    x, x_label = _scaled(data[dim])
    if by_travel:
        x = mm() * data["ball_travel"].values
        x_label = f"ball travel of the inlet check [{unit_in_use('mm')}]"
    numeric = x.dtype.kind in "iuf"
    places = x if numeric else np.arange(x.size)
    _stack(axes, data, places, numeric)
    lost = _PERCENT * (1.0 - data["volumetric_efficiency"].values)
    line = "o-" if numeric else "o"
    axes.plot(places, lost, line, color="#111111", markersize=4, linewidth=1.6, label="lost in all")
    tidy(axes, "lost of the swept volume [%]")
    axes.set(xlabel=x_label, xscale=_axis_scale(x) if numeric else "linear")
    if not numeric:
        axes.set_xticks(places, labels=[str(value) for value in x])
    _plain_ticks(axes)
    axes.legend(fontsize=9, loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False)
    figure.suptitle(
        heading([str(data.attrs.get("title", "")), "Where the swept volume goes"], 95), fontsize=10
    )
    careful(figure)
    return figure


def _stack(axes: Axes, data: "xr.Dataset", places: NDArray[Any], areas: bool) -> None:
    """The parts of the losses one on the other, as areas or as bars."""
    above, below = np.zeros(places.size), np.zeros(places.size)
    for part, (name, colour, hatch) in LOSSES.items():
        share = _PERCENT * (data[f"loss_budget_{part}"] / data["loss_budget_swept"]).values
        look: dict[str, Any] = {"facecolor": colour, "hatch": hatch, "edgecolor": "#3a3a3a", "linewidth": 0.5}
        for base, piece in ((above, np.maximum(share, 0.0)), (below, np.minimum(share, 0.0))):
            look["label"] = name if base is above else None
            if areas:
                axes.fill_between(places, base, base + piece, **look)
            else:
                axes.bar(places, piece, bottom=base.copy(), **look)
            base += piece
