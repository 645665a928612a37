"""The verdict as a figure: delivery over travel, which travel where, what is worth measuring."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from balltravel.report.figures.style import (
    FOURTH,
    INLET,
    LIMIT,
    careful,
    heading,
    mm,
    new_figure,
    shown_travel,
    tidy,
)
from balltravel.report.figures.travel import mark_cliffs, say_message, travel_figure
from balltravel.report.over_travel import points_of_draws
from balltravel.report.tables import bench_unit, column, conditions, number
from balltravel.report.text.verdict import verdict_lines
from balltravel.report.worth_knowing import measured_in_words, not_measured_itself
from balltravel.scenario.model import Scenario
from balltravel.units.systems import unit_in_use

if TYPE_CHECKING:
    from balltravel.study.verdict.record import Answer, Verdict, VerdictPoints

_PERCENT = 100.0

NEIGHBOURS = 0.12
"""Reach of the draws that a point of the map looks at, of all draws in order of each input (our choice)."""

EQUAL = 0.0025
"""Losses, of swept, that the map takes as equal; the travel that is named is then kept (our choice)."""

GRID = 90
"""Points of the map each way."""

LOGARITHMIC = 3.0
"""Ratio of both ends of an input from which on its axis is logarithmic (our choice)."""

LEAST_REGION = 0.02
"""Share of the map below which a region has no words of its own (our choice)."""

MARGIN = 0.03
"""What is beyond the outermost draws of the map, of their range."""

MOST_BARS = 4
"""Bars of measurements, and of inputs that are known exactly, that are drawn."""


class Bar(NamedTuple):
    """A bar of what is worth measuring: its name, what it saves and what chance alone would show [% of
    swept], and how it is drawn."""

    name: str
    saved: float
    noise: float
    style: dict[str, Any]


def verdict_figure(scenario: Scenario, answer: "Answer") -> Figure:
    """Delivery of every arrangement over all draws, the best travel over the two inputs that decide most,
    and what is worth measuring; what there is not of these is left out. Without a verdict the figure of the
    single run."""
    verdict = answer.verdict
    if verdict is None:
        return travel_figure(scenario, answer.recommendation)
    points, bars, best = answer.points, _bars(verdict), _regions(verdict, answer.points)
    heights = [
        4.3,
        *([] if points is None or best is None else [4.8]),
        *([0.9 + 0.55 * len(bars)] if bars else []),
    ]
    figure = new_figure(8.0, 1.6 + sum(heights))
    panels = figure.subplots(len(heights), 1, height_ratios=heights, squeeze=False)[:, 0]
    draw_delivery(panels[0], scenario, answer, verdict)
    if points is not None and best is not None:
        _draw_map(panels[1], verdict, points, best)
    if bars:
        _draw_worth(panels[-1], verdict, bars)
    first = [line.replace("\n  ", " ") for line in verdict_lines(scenario, verdict)[:2]]
    figure.suptitle(heading((scenario.title, conditions(scenario), *first), 100), fontsize=9)
    careful(figure)
    return figure


# --- delivery over travel


def draw_delivery(axes: Axes, scenario: Scenario, answer: "Answer", verdict: "Verdict") -> None:
    """A band of 90 of 100 draws, their middle, and the single run at the likely values, with what they say as
    the title."""
    mark_cliffs(axes, points_of_draws(verdict))
    travel = np.array([mm() * prospect.choice.ball_travel for prospect in verdict.prospects])
    low, middle, high = (
        _PERCENT * np.array([getattr(prospect, f"delivery_{share}") for prospect in verdict.prospects])
        for share in (5, 50, 95)
    )
    axes.fill_between(travel, low, high, color="#c9d6e2", linewidth=0.0, label="90 of 100 draws")
    for edge in (low, high):
        axes.plot(travel, edge, color="#7a8ea0", linewidth=0.8)
    axes.plot(travel, middle, marker="o", markersize=4, label="middle of the draws", **INLET)
    runs = [trial for trial in answer.recommendation.arrangements if trial.metrics is not None]
    axes.plot(
        [mm() * trial.ball_travel for trial in runs], [_PERCENT * trial.delivery for trial in runs],
        linestyle="", marker="x", color="#c8641e", markersize=6, label="one run at the likely values",
    )  # fmt: skip
    if scenario.target.delivery:
        axes.axhline(_PERCENT * scenario.target.delivery, label="target of the delivery", **FOURTH)
    if verdict.chosen is not None:
        named = mm() * verdict.chosen.ball_travel
        axes.axvline(
            named,
            color="#222222",
            linewidth=1.4,
            label=f"chosen: {shown_travel(verdict.chosen.ball_travel)}",
            zorder=1,
        )
    _not_blown_up(axes)
    tidy(axes, "delivered [% of swept volume]")
    axes.set_xlabel(f"ball travel of the inlet check [{unit_in_use('mm')}]")
    legend_below(axes)
    say_message(axes, points_of_draws(verdict), int(axes.bbox.width / axes.figure.dpi * 11.5))


def _not_blown_up(axes: Axes, span: float = 2.0) -> None:
    """A range so wide at least that a tenth of a percent does not fill the panel."""
    low, high = axes.get_ylim()
    short = max(0.0, span - (high - low))
    axes.set_ylim(low - 0.5 * short, high + 0.5 * short)


# --- which travel where


def _regions(verdict: "Verdict", points: "VerdictPoints | None") -> NDArray[np.int64] | None:
    """The map's arrangements; None where there is nothing to tell apart."""
    if points is None or verdict.chosen is None or verdict.all_equal:
        return None
    best = best_on_grid(points, _named(verdict), GRID)
    return best if np.ptp(best) else None


def _named(verdict: "Verdict") -> int:
    """The place of the arrangement that is named."""
    return next(i for i, prospect in enumerate(verdict.prospects) if prospect.choice == verdict.chosen)


def _draw_map(axes: Axes, verdict: "Verdict", points: "VerdictPoints", best: NDArray[np.int64]) -> None:
    """Regions of the best travel over both inputs, the draws in the shade of the best travel of each, and
    the range in which 90 of 100 of them lie."""
    scales = (Scale(points, 0), Scale(points, 1))
    travels = np.array([prospect.choice.ball_travel for prospect in verdict.prospects])
    named = _named(verdict)
    own = np.argmin(np.abs(travels[None, :] - np.nan_to_num(points.best)[:, None]), axis=1)
    shades = _shades(len(travels), np.union1d(best, own))
    extent = (0.0, 1.0, 0.0, 1.0)
    axes.imshow(shades[best], origin="lower", extent=extent, aspect="auto", interpolation="nearest")
    _label_regions(axes, best, travels)
    _draw_points(axes, scales, np.isfinite(points.best), shades[own])
    corner, opposite = (np.array([scale.place(share) for scale in scales]) for share in (0.05, 0.95))
    box = Rectangle(
        (corner[0], corner[1]), *(opposite - corner), fill=False, linestyle=(0, (6, 3)), edgecolor="#111111",
        linewidth=1.5, label="90 of 100 draws of each input",
    )  # fmt: skip
    axes.add_patch(box)
    axes.xaxis.set_ticks(*scales[0].ticks)
    axes.yaxis.set_ticks(*scales[1].ticks)
    axes.set_xlabel(scales[0].label)
    axes.set_ylabel(scales[1].label)
    legend_below(axes)
    kept = f"({shown_travel(travels[named])} wherever no other gives up {_PERCENT * EQUAL:g} % of swept less)"
    title = f"Which travel gives up least, by the two inputs that matter most\n{kept}"
    axes.set_title(title, fontsize=10, loc="left")


def best_on_grid(points: "VerdictPoints", named: int, grid: int) -> NDArray[np.int64]:
    """Which arrangement gives up least around each point of a grid over both axes, shape (grid of the second
    input, grid of the first): by the mean of the draws near it, each weighed by a bell curve over the ranks
    of both inputs. The arrangement ``named`` is kept where none gives up EQUAL less."""
    centres = (np.arange(grid) + 0.5) / grid
    near = [Scale(points, which).nearness(centres) for which in (0, 1)]
    weights = near[1][:, None, :] * near[0][None, :, :]
    expected = weights @ points.loss / weights.sum(axis=2, keepdims=True)
    best = np.argmin(expected, axis=2)
    kept = expected[..., named] <= expected.min(axis=2) + EQUAL
    return np.where(kept, named, best)


class Scale:
    """An axis of the map, from 0 to 1: where the draws lie by an input's values or names."""

    def __init__(self, points: "VerdictPoints", which: int) -> None:
        values, dimension = points.values[:, which], points.dimensions[which]
        unit = bench_unit(dimension)
        self.names = points.choices[which]
        self.label = f"{points.names[which]} [{unit}]" if unit else points.names[which]
        shown = np.array([column(float(value), dimension) for value in values])
        if self.names:
            shown = values + 0.5
        low, high = (0.0, float(len(self.names))) if self.names else (float(shown.min()), float(shown.max()))
        self.logarithmic = not self.names and low > 0.0 and high >= LOGARITHMIC * low
        ends = np.log([low, high]) if self.logarithmic else np.array([low, high])
        beyond = 0.0 if self.names else MARGIN * max(ends[1] - ends[0], 1e-12 * abs(ends[1]), 1e-300)
        self._low, self._wide = ends[0] - beyond, ends[1] - ends[0] + 2.0 * beyond
        self.places = self._to_place(shown)

    def _to_place(self, shown: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(((np.log(shown) if self.logarithmic else shown) - self._low) / self._wide)

    def nearness(self, places: NDArray[np.float64]) -> NDArray[np.float64]:
        """What the draws weigh at these places, shape (places, draws): by a bell curve over their ranks; of
        names those of the same one."""
        if self.names:
            part = np.floor(places * len(self.names))
            return np.asarray(part[:, None] == np.floor(self.places * len(self.names))[None, :], np.float64)
        ordered = np.sort(self.places)
        shares = (np.arange(len(ordered)) + 0.5) / len(ordered)
        ranks, own = np.interp(places, ordered, shares), np.interp(self.places, ordered, shares)
        return np.asarray(np.exp(-0.5 * ((ranks[:, None] - own[None, :]) / NEIGHBOURS) ** 2))

    def place(self, share: float) -> float:
        """The place below which this share of the draws lies; of names the ends."""
        return float(round(share)) if self.names else float(np.quantile(self.places, share))

    @property
    def ticks(self) -> tuple[NDArray[np.float64], list[str]]:
        """Places of marks and their words: round numbers, or names."""
        if self.names:
            return (np.arange(len(self.names)) + 0.5) / len(self.names), list(self.names)
        ends = np.array([self._low, self._low + self._wide])
        low, high = np.exp(ends) if self.logarithmic else ends
        marks = _round_marks(float(low), float(high), self.logarithmic)
        return self._to_place(marks), [number(float(mark), 4) for mark in marks]


def _round_marks(low: float, high: float, logarithmic: bool) -> NDArray[np.float64]:
    from matplotlib.ticker import LogLocator, MaxNLocator

    digits = (1.0, 2.0, 3.0, 5.0, 7.0) if high < 30.0 * low else (1.0, 2.0, 5.0)
    locator = LogLocator(subs=digits, numticks=50) if logarithmic else MaxNLocator(6)
    marks = np.asarray(locator.tick_values(low, high))
    return np.asarray(marks[(marks >= low) & (marks <= high)])


def _shades(count: int, used: NDArray[np.int64]) -> NDArray[np.float64]:
    """A shade an arrangement, from light (the shortest travel) to dark, so that they read in grey; shape
    (count, 3). Those that are used are as far apart as can be."""
    light, dark = np.array([0.97, 0.96, 0.92]), np.array([0.30, 0.45, 0.60])
    places = np.interp(np.arange(count), used, np.linspace(0.0, 1.0, len(used)) if len(used) > 1 else [0.4])
    return np.asarray(light + places[:, None] * (dark - light))


def _label_regions(axes: Axes, best: NDArray[np.int64], travels: NDArray[np.float64]) -> None:
    """The travel of each region, where it is widest, and a line around it."""
    from scipy.ndimage import distance_transform_edt, label

    centres = (np.arange(best.shape[0]) + 0.5) / best.shape[0]
    for which in np.unique(best):
        regions, count = label(best == which)
        axes.contour(centres, centres, best == which, levels=[0.5], colors="#222222", linewidths=0.8)
        for region in range(1, count + 1):
            inside = np.pad(regions == region, 1)
            if inside.sum() < LEAST_REGION * best.size:
                continue
            row, column = np.unravel_index(np.argmax(distance_transform_edt(inside)), inside.shape)
            axes.text(
                centres[column - 1], centres[row - 1], f"{shown_travel(travels[which])}", ha="center",
                va="center", fontsize=11, fontweight="bold", zorder=4,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 2.0, "alpha": 0.9},
            )  # fmt: skip


def _draw_points(
    axes: Axes, scales: "tuple[Scale, Scale]", known: NDArray[np.bool_], shades: NDArray[np.float64]
) -> None:
    """Each draw in the shade of the travel that is best for it; a cross where none pumps."""
    x, y = (_spread_names(scale) for scale in scales)
    axes.scatter(
        x[known], y[known], s=18, c=shades[known], edgecolors="#222222", linewidths=0.7, zorder=3,
        label="a draw, in the shade of its own best travel",
    )  # fmt: skip
    if not known.all():
        label = "a draw in which none pumps"
        axes.scatter(x[~known], y[~known], s=18, c="#222222", marker="x", zorder=3, label=label)


def _spread_names(scale: Scale) -> NDArray[np.float64]:
    """Places of the draws; those of a name are spread over its part, so that none hides another."""
    if not scale.names:
        return scale.places
    steps = (np.arange(len(scale.places)) * 0.6180339887498949) % 1.0 - 0.5
    return np.asarray(scale.places + 0.7 * steps / len(scale.names))


# --- what is worth measuring


def _bars(verdict: "Verdict") -> list[Bar]:
    """Measurements, and other inputs if they were known exactly."""
    measured = [
        Bar(measured_in_words(worth), _PERCENT * worth.saved, _PERCENT * worth.noise, {"color": "#0b4f8a"})
        for worth in verdict.measurements[:MOST_BARS]
    ]
    exact: dict[str, Any] = {"color": "white", "hatch": "////"}
    known = [
        Bar(f"{known.name}, if known exactly", _PERCENT * known.saved, _PERCENT * known.noise, exact)
        for known in not_measured_itself(verdict)[:MOST_BARS]
    ]
    return measured + known


def _draw_worth(axes: Axes, verdict: "Verdict", bars: Sequence[Bar]) -> None:
    """What each measurement saves of what is given up on average; a mark where chance alone would show as
    much."""
    for place, bar in enumerate(bars):
        axes.barh(place, bar.saved, height=0.4, edgecolor="#0b4f8a", linewidth=1.0, **bar.style)
        axes.plot(
            [bar.noise, bar.noise], [place - 0.23, place + 0.23], color="#c8641e", linewidth=2.4,
            label="what chance alone would show" if place == 0 else None,
        )  # fmt: skip
        axes.text(0.0, place - 0.27, f" {bar.saved:.2f} %: {bar.name}", fontsize=8.5, va="bottom")
    given_up = _PERCENT * verdict.regret_mean
    axes.axvline(given_up, ymax=0.97, label=f"all that is given up on average: {given_up:.2f} %", **LIMIT)
    axes.set_ylim(len(bars) - 0.5, -0.75)
    axes.set_xlim(0.0, 1.02 * max(given_up, *(max(bar.saved, bar.noise) for bar in bars)))
    tidy(axes, "")
    axes.set_yticks([])
    axes.set_xlabel("saved on average [% of swept volume]")
    axes.set_title("What is worth measuring", fontsize=10, loc="left")
    axes.legend(fontsize=8, loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2, frameon=False)


def legend_below(axes: Axes, columns: int = 5) -> None:
    """What is what, where it hides nothing."""
    axes.legend(
        fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.14), ncols=columns, frameon=False,
        columnspacing=1.2, handlelength=1.6, handletextpad=0.5,
    )  # fmt: skip
