"""A cycle as a film: the pictures of :mod:`balltravel.report.section.film`, drawn one after another."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, cast

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle
from matplotlib.text import Text
from numpy.typing import NDArray

from balltravel.cycle.run import Cycle
from balltravel.report.care import CARE_IN_FIGURES, COMPUTED
from balltravel.report.figures.section import INK, LOOKS, draw_section, move
from balltravel.report.figures.style import INLET, PISTON, heading
from balltravel.report.section.film import Film, scale_in_words
from balltravel.report.section.lower import LowerSizes, close_up, lower_shapes, lower_sizes, whole
from balltravel.report.section.marks import (
    ARROW_LENGTH,
    Way,
    arrows_of,
    bubbles,
    most_flow,
    ways_of,
)
from balltravel.report.section.moving import Places, places_at
from balltravel.report.section.shapes import Frame, Moves, Part, Shape
from balltravel.report.section.titles import one_clock, titles_of
from balltravel.report.tables import bench, bench_unit, column

WIDTH, HEIGHT, DPI = 9.6, 6.4, 100
"""Of a picture [in] and its dots per inch: 960 by 640."""

_FORWARD, _BACK, _SLOW = "#0b4f8a", "#a3281c", "#e9e2cf"

COLOURS = (
    "white", INK, _FORWARD, _BACK, _SLOW, PISTON["color"],
    *(look["facecolor"] for part, look in LOOKS.items() if part is not Part.VOID),
)  # fmt: skip
"""Colours of large areas and of marks: exact where a file has but a few."""

_ROUND = [(np.cos(a), np.sin(a)) for a in np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)]


@dataclass(frozen=True)
class View:
    """A section on axes: its shapes with their patches, its arrows and bubbles."""

    axes: Axes
    drawn: list[tuple[Shape, Patch]]
    arrows: PolyCollection
    bubbles: PolyCollection

    @property
    def moving(self) -> list[Artist]:
        """What is drawn anew in each picture, those behind first."""
        patches: list[Artist] = [patch for shape, patch in self.drawn if shape.moves is not Moves.NOT]
        return [*patches, self.bubbles, self.arrows]


@dataclass(frozen=True)
class Drawing:
    """One lower in a film: its views, its sentence, its bars."""

    places: Places
    sizes: LowerSizes
    ways: tuple[Way, Way]
    swept: float
    views: tuple[View, View]
    said: Text
    bars: tuple[Rectangle, Rectangle]
    shares: tuple[Text, Text]
    width: int

    @property
    def moving(self) -> list[Artist]:
        """What is drawn anew in each picture."""
        return [*(part for view in self.views for part in view.moving), self.said, *self.bars, *self.shares]

    def show(self, k: int, said: str) -> None:
        """Put everything where picture ``k`` has it."""
        places, up = self.places, self.places.up(k)
        for view in self.views:
            move(view.drawn, up)
            _place_arrows(view.arrows, self.ways, places, k)
            discs = bubbles(
                float(places.void[k]), 0.9 * self.sizes.bore, self.sizes.floor,
                self.sizes.piston_at_bottom + float(places.piston[k]),
            )  # fmt: skip
            view.bubbles.set_verts([_circle(disc.centre, disc.radius) for disc in discs if disc.radius > 0.0])
        self.said.set_text(heading((said,), self.width))
        most = float(places.most_drawn[k])
        for bar, words, volume in zip(
            self.bars, self.shares, (most, most - float(places.drawn[k])), strict=True
        ):
            share = 100.0 * volume / self.swept
            bar.set_width(max(share, 0.0))
            words.set_text(f"{share:.1f} %")


class Animation:
    """The pictures of a film, one after another, on one figure. Not of failed runs."""

    def __init__(
        self, cycles: Sequence[Cycle], film: Film, names: Sequence[str] = (), notes: Sequence[str] = ()
    ) -> None:
        self.film = film
        self.figure = Figure(figsize=(WIDTH, HEIGHT), dpi=DPI)
        self._canvas = cast(Any, FigureCanvasAgg(self.figure))  # its methods have no types
        titles = titles_of(cycles, names)
        _write_titles(self.figure, titles.whole, (*titles.about, one_clock(cycles)), notes)
        self.drawings = [
            _drawing(self.figure, cycle, film, name, number, ALONE if len(cycles) == 1 else TWO)
            for number, (cycle, name) in enumerate(zip(cycles, titles.each, strict=True))
        ]
        self._clock = self.figure.text(0.04, 0.235, "", fontsize=12, va="bottom")
        self._period = cycles[0].motion.period
        strip = _strip(self.figure, film, [drawing.places for drawing in self.drawings])
        self._cursor = strip.axvline(0.0, color=INK, linewidth=2.5)
        self._moving = [
            *(part for drawing in self.drawings for part in drawing.moving), self._clock, self._cursor,
        ]  # fmt: skip
        for part in self._moving:
            part.set_animated(True)
        self._canvas.draw()
        self._behind: Any = self._canvas.copy_from_bbox(self.figure.bbox)

    def pictures(self) -> Iterator[NDArray[np.uint8]]:
        """Each picture as an array of red, green and blue, shape (height, width, 3)."""
        for k in range(len(self.film.share)):
            yield self.picture(k)

    def picture(self, k: int) -> NDArray[np.uint8]:
        """Picture ``k``."""
        for number, drawing in enumerate(self.drawings):
            drawing.show(k, self.film.said(number, k))
        time = float(self.film.share[k]) * self._period
        self._clock.set_text(
            f"{time:.3f} s of {self._period:.2f} s, {scale_in_words(float(self.film.slowed[k]))}"
        )
        self._cursor.set_xdata([k, k])
        self._canvas.restore_region(self._behind)
        for part in self._moving:
            self.figure.draw_artist(part)
        return np.array(self._canvas.buffer_rgba())[:, :, :3]


def _write_titles(figure: Figure, title: str, about: Sequence[str], notes: Sequence[str]) -> None:
    figure.text(0.04, 0.975, heading((title,), 80), fontsize=15, weight="bold", va="top")
    lines = [line for line in about if line]
    figure.text(0.04, 0.925, heading(lines, 125), fontsize=9, va="top", linespacing=1.3)
    foot = heading((" ".join((COMPUTED, *notes, CARE_IN_FIGURES)),), 160)
    figure.text(0.04, 0.012, foot, fontsize=7.5, va="bottom", color="#3a3a3a")


class Layout(NamedTuple):
    """Where a lower's parts stand, shares of the figure from its left edge and bottom; how many characters
    its sentence has in a line, and how large they are."""

    views: tuple[float, float]
    said: tuple[float, float]
    bars: tuple[float, float, float, float]
    letters: int
    size: float


ALONE = Layout((0.285, 0.555), (0.53, 0.72), (0.53, 0.36, 0.43, 0.13), 38, 15.0)
TWO = Layout((0.45, 0.365), (0.04, 0.437), (0.04, 0.275, 0.44, 0.09), 52, 11.5)


def _drawing(
    figure: Figure, cycle: Cycle, film: Film, name: Sequence[str], number: int, layout: Layout
) -> Drawing:
    """One lower's share of the figure: alone its words stand on the right, else beneath."""
    sizes, motion = lower_sizes(cycle.scenario), cycle.motion
    places = places_at(motion, film.share * motion.period, cycle.scenario.lower.lower_dead_volume)
    right = 0.48 * number
    left, (bottom, high) = 0.04 + right, layout.views
    figure.text(left, 0.885, heading(name[:2], 60), fontsize=9.5, weight="bold", va="top")
    views = (
        _view(figure, (left, bottom, 0.13, high), sizes, whole(sizes)),
        _view(figure, (left + 0.15, bottom, 0.29, high), sizes, close_up(sizes)),
    )
    x, y = layout.said
    said = figure.text(x + right, y, "", fontsize=layout.size, va="top", linespacing=1.25)
    x, y, width, height = layout.bars
    bars, shares = _bars(figure, (x + right, y, width, height), bench(motion.swept_volume, "volume", 3))
    return Drawing(
        places, sizes, ways_of(sizes), motion.swept_volume, views, said, bars, shares, layout.letters
    )


def _view(figure: Figure, place: tuple[float, float, float, float], sizes: LowerSizes, frame: Frame) -> View:
    axes = figure.add_axes(place)
    drawn = draw_section(axes, lower_shapes(sizes))
    axes.set(xlim=(frame.left, frame.right), ylim=(frame.bottom, frame.top))
    look = LOOKS[Part.VOID]
    void = PolyCollection([], facecolors=look["facecolor"], edgecolors=look["edgecolor"], linewidths=0.7)
    marks = PolyCollection([], edgecolors="white", linewidths=0.5)
    axes.add_collection(void, autolim=False)
    axes.add_collection(marks, autolim=False)
    return View(axes, drawn, marks, void)


def _bars(
    figure: Figure, place: tuple[float, float, float, float], swept: str
) -> tuple[tuple[Rectangle, Rectangle], tuple[Text, Text]]:
    """Two empty bars with their names, and the texts for their numbers."""
    axes = figure.add_axes(place)
    axes.set(xlim=(-42.0, 124.0), ylim=(-1.1, 1.5))
    axes.set_axis_off()
    axes.text(-42.0, -0.85, f"% of the swept volume, {swept}", fontsize=8, va="center")
    drawn = Rectangle((0.0, 0.7), 0.0, 0.6, facecolor=_FORWARD, linewidth=0.0)
    back = Rectangle((0.0, -0.3), 0.0, 0.6, facecolor="white", edgecolor=_BACK, hatch="//////", linewidth=0.0)
    for bar in (drawn, back):
        axes.add_patch(
            Rectangle((0.0, bar.get_y()), 100.0, 0.6, facecolor="#f3f3f3", edgecolor=INK, linewidth=0.8)
        )
        axes.add_patch(bar)
    axes.text(-42.0, 1.0, "Drawn in", fontsize=11, va="center")
    axes.text(-42.0, 0.0, "Flowed back", fontsize=11, va="center")
    of_drawn, of_back = (axes.text(124.0, y, "", fontsize=11, va="center", ha="right") for y in (1.0, 0.0))
    return (drawn, back), (of_drawn, of_back)


def _strip(figure: Figure, film: Film, places: Sequence[Places]) -> Axes:
    """Lifts over the pictures; slow parts shaded, moments marked. Of several lowers the first is the
    thicker."""
    axes = figure.add_axes((0.085, 0.095, 0.875, 0.125))
    last = len(film.share) - 1
    unit = bench_unit("length")
    for number, place in enumerate(places):
        thick = {"linewidth": 2.2 if number == 0 else 1.0, "alpha": 1.0 if number == 0 else 0.85}
        axes.plot([column(lift, "length") for lift in place.piston_lift], **{**PISTON, **thick})
        axes.plot([column(lift, "length") for lift in place.inlet_lift], **{**INLET, **thick})
    axes.fill_between(
        range(last + 1), 0.0, 1.0, where=film.slowed > 1.0, transform=axes.get_xaxis_transform(),
        facecolor=_SLOW, linewidth=0.0, zorder=0, step="post",
    )  # fmt: skip
    for stop in film.stops:
        axes.axvline(stop.picture, 0.0, 0.1, color=INK, linewidth=1.5)
    axes.set_xlim(0, last)
    axes.set_xticks([])
    axes.set_ylabel(f"lift [{unit}]", fontsize=8)
    axes.tick_params(labelsize=8)
    axes.set_ylim(0.0, None)
    words = "blue: inlet ball (foot valve); orange, dashed: piston ball; shaded: time is slowed"
    if len(places) > 1:
        words += "; thick: the lower on the left"
    axes.set_xlabel(words, fontsize=8, labelpad=2)
    axes.spines[["top", "right"]].set_visible(False)
    return axes


def _circle(centre: Any, radius: float) -> list[tuple[float, float]]:
    return [(centre.x + radius * x, centre.y + radius * y) for x, y in _ROUND]


def _place_arrows(marks: PolyCollection, ways: Sequence[Way], places: Places, k: int) -> None:
    heads, colours = [], []
    most = most_flow(places)
    for way in ways:
        raised = float(places.piston[k]) if way.moves is Moves.PISTON else 0.0
        for arrow in arrows_of(way, places, k, most):
            if arrow.size < 0.05:
                continue
            half = ARROW_LENGTH * ways[0].ball * arrow.size
            (x, y), (along, up) = arrow.at, arrow.towards
            corners = [(half, 0.0), (-half, -0.6 * half), (-half, 0.6 * half)]
            head = [(x + a * along - b * up, y + raised + a * up + b * along) for a, b in corners]
            heads += [head, [(-x, y) for x, y in head]]
            colours += [_FORWARD if arrow.forward else _BACK] * 2
    marks.set_verts(heads)
    marks.set_facecolor(colours)
