"""A pump's history as a figure, readable in grey: delivery and leaks over its use, what was done as marks."""

import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.bench.history.entries import LEAKS
from balltravel.bench.history.history import CYCLES, DAYS, DELIVERY, LITRES, Course, History, Point
from balltravel.report.figures.style import INLET, LIMIT, THIRD, heading, new_figure, tidy
from balltravel.report.text.bench.log import done
from balltravel.scenario.model import Scenario
from balltravel.units.display import scale
from balltravel.units.spread import SURE
from balltravel.units.systems import unit_in_use

TITLES = {
    "foot valve": "foot valve", "piston": "piston seat\nor lower packing", "rod packing": "throat packing",
}  # fmt: skip
NEAR = 0.025
"""Share of the axis within which marks stand as one."""

WORDS, LINES = 40, 3
"""Letters of a line of a mark's words, and lines at most."""

RIGHT = 0.7
"""Share of the axis from which on words lean to the left."""


def history_figure(_: Scenario, found: History) -> Figure | None:
    """Delivery and each leak with its band over cycles, litres or days, with lines where the readings carry
    one; None where nothing was seen yet."""
    if not found.points:
        return None
    shown = [name for name in (DELIVERY, *LEAKS) if any(_value(point, name) for point in found.points)]
    figure = new_figure(9.0, 2.6 + 1.75 * len(shown))
    panels = figure.subplots(
        len(shown) + 1, 1, sharex=True, height_ratios=[0.85, *([1.0] * len(shown))]
    )  # fmt: skip
    factor = _factor(found.axis)
    for axes, name in zip(panels[1:], shown, strict=True):
        _panel(axes, name, found, factor)
    _marks(panels, found, factor)
    panels[-1].set_xlabel(_label(found))
    days = f"History of {found.entries[0].day} to {found.entries[-1].day}"
    figure.suptitle(heading((days, _legend(found)), 100), fontsize=10)
    return figure


def _factor(axis: str) -> float:
    return {CYCLES: 1e-3, DAYS: 1.0}.get(axis) or scale("volume", "l")


def _label(found: History) -> str:
    if found.axis == CYCLES:
        return "cycles [thousands]"
    if found.axis == LITRES:
        return f"pumped [{unit_in_use('l', 'volume')}]"
    return f"days from {found.entries[0].day} [d]"


def _legend(found: History) -> str:
    lines = any(course.line and course.line.carried for course in found.courses)
    words = "Dots: what was seen, and each leak that fits it alone, with the band of 95 of 100"
    words += "; hollow: it does not explain what was seen"
    return f"{words}. {'Lines: trends, with their band.' if lines else 'The readings show no trend yet.'}"


def _value(point: Point, name: str) -> tuple[float, float, float, bool] | None:
    """Value of a point with the ends of its band [SI], and whether it counts."""
    if name == DELIVERY:
        if not np.isfinite(point.delivered):
            return None
        reach = SURE * point.delivered_sd
        return point.delivered, point.delivered - reach, point.delivered + reach, True
    fit = point.leaks.get(name)
    return (fit.size, fit.low, fit.high, fit.explains) if fit and fit.learnt else None


def _panel(axes: Axes, name: str, found: History, factor: float) -> None:
    """Points with their bands, and the line where there is one."""
    delivery = name == DELIVERY
    size = scale("volume", "cc") if delivery else scale("length", "um")
    for point in found.points:
        value = _value(point, name)
        if value is None:
            continue
        middle, low, high, counts = value
        x = factor * point.place
        axes.plot([x, x], [size * low, size * high], color=INLET["color"], linewidth=1.2)
        face = INLET["color"] if counts else "white"
        axes.plot(
            [x], [size * middle], "o", markersize=5, markerfacecolor=face, color=INLET["color"], clip_on=False
        )
    course = next(course for course in found.courses if course.name == name)
    if course.line is not None and course.line.carried:
        _line(axes, course, size, factor)
    unit = unit_in_use("cc", "volume") if delivery else unit_in_use("um")
    tidy(axes, f"delivered\na cycle [{unit}]" if delivery else f"{TITLES[name]}\ngap all round [{unit}]")
    axes.yaxis.label.set_fontsize(8)
    if not delivery:
        axes.set_ylim(bottom=0.0)
    axes.margins(y=0.15)


def _line(axes: Axes, course: Course, size: float, factor: float) -> None:
    line = course.line
    assert line is not None
    places = np.linspace(line.begin, line.end, 60)
    middle, reach = line.at(places)
    axes.plot(factor * places, size * middle, **THIRD)
    low, high = size * (middle - reach), size * (middle + reach)
    axes.fill_between(factor * places, low, high, color="#9a9a9a", alpha=0.3, linewidth=0)


def _marks(panels: Sequence[Axes], found: History, factor: float) -> None:
    """What was done: a line through all panels, and its words above them."""
    words, *others = panels
    words.axis("off")
    words.set_ylim(0.0, 1.0)
    for place, text in _grouped(found):
        x = factor * place
        for axes in others:
            axes.axvline(x, **LIMIT)
        said = "\n".join(textwrap.wrap(text, WORDS, max_lines=LINES, placeholder=" ..."))
        right = place > min(found.places) + RIGHT * (max(found.places) - min(found.places))
        words.plot([x], [0.02], "v", markersize=5, color=LIMIT["color"], clip_on=False)
        words.annotate(
            said.replace("$", r"\$"), (x, 0.1), rotation=-28 if right else 28, fontsize=7,
            ha="right" if right else "left", va="bottom", rotation_mode="anchor", annotation_clip=False,
        )  # fmt: skip


def _grouped(found: History) -> list[tuple[float, str]]:
    """Places and words of what was done; what is near each other stands together."""
    span = max(found.places) - min(found.places) or 1.0
    marks: list[tuple[float, str]] = []
    for place, entry in zip(found.places, found.entries, strict=True):
        if not (text := done(entry)):
            continue
        if marks and place - marks[-1][0] <= NEAR * span:
            marks[-1] = (marks[-1][0], f"{marks[-1][1]}; {text}")
        else:
            marks.append((place, text))
    return marks
