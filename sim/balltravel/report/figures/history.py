"""A pump's history as a figure, readable in grey: delivery and leaks over its use, what was done as marks."""

import textwrap
from collections.abc import Iterator, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from balltravel.bench.history.entries import LEAKS
from balltravel.bench.history.history import CYCLES, DAYS, DELIVERY, LITRES, Course, History, Point
from balltravel.bench.history.trends import Trend
from balltravel.report.figures.style import INLET, LIMIT, THIRD, heading, new_figure, tidy
from balltravel.report.tables import number
from balltravel.report.text.bench.log import done
from balltravel.scenario.model import Scenario
from balltravel.units.display import scale
from balltravel.units.spread import SURE
from balltravel.units.systems import unit_in_use

TITLES = {
    "foot valve": "foot valve", "piston": "piston seat\nor lower packing", "rod packing": "throat packing",
}  # fmt: skip
PLACES = {name: title.replace("\n", " ") for name, title in TITLES.items()}
NEAR = 0.025
"""Share of the axis within which marks stand as one."""

WORDS, LINES = 40, 3
"""Letters of a line of a mark's words, and lines at most."""

LEVEL = 3
"""Marks up to which their words are level."""

RIGHT = 0.7
"""Share of the axis from which on words lean to the left."""

BEFORE = "#9a9a9a"
"""Of what was seen before that began anew."""


def history_figure(_: Scenario, found: History) -> Figure | None:
    """Delivery and the leaks over cycles, litres or days, with their bands; where readings carry trends,
    delivery and the leaks that grow, with their lines and what they say as the title. None where nothing was
    seen yet."""
    if not found.points:
        return None
    seen = [name for name in (DELIVERY, *LEAKS) if any(_value(point, name) for point in found.points)]
    told = _told(found)
    shown = [name for name in seen if name in (DELIVERY, *told)] if told else seen
    figure = new_figure(9.0, 2.2 + 1.75 * len(shown))
    panels = figure.subplots(
        len(shown) + 1,
        1,
        sharex=True,
        height_ratios=[0.5 if _is_level(found) else 0.85, *([1.0] * len(shown))],
    )
    factor = _factor(found.axis)
    for axes, name in zip(panels[1:], shown, strict=True):
        _panel(axes, name, found, factor)
    _marks(panels, found, factor)
    panels[-1].set_xlabel(_label(found))
    figure.suptitle(heading([_message(found)], 75), fontsize=13, fontweight="bold")
    panels[0].set_title(
        heading(list(_about(found, [name for name in seen if name not in shown])), 110), fontsize=9
    )
    return figure


def _told(found: History) -> dict[str, Trend]:
    """The trends that are a finding: delivery's, and those of the leaks that grow."""
    lines = {course.name: course.line for course in found.courses if course.line and course.line.carried}
    return {name: line for name, line in lines.items() if name == DELIVERY or line.slope > 0.0}


def _message(found: History) -> str:
    """What the trends say."""
    said = [_trend(name, line) for name, line in _told(found).items()]
    words = ", and ".join(said) or f"{len(found.points)} readings show no trend to act on yet"
    return words[:1].upper() + words[1:]


def _trend(name: str, line: Trend) -> str:
    """Where delivery or a leak went."""
    dimension, unit = ("volume", "cc") if name == DELIVERY else ("length", "um")
    ends = [float(line.at(place)[0]) for place in (line.begin, line.end)]
    first, last = (number(scale(dimension, unit) * max(end, 0.0), 2 + (name == DELIVERY)) for end in ends)
    rises, falls = ("rises", "falls") if name == DELIVERY else ("grows", "shrinks")
    span = f"{rises if ends[1] > ends[0] else falls} from {first} to {last} {unit_in_use(unit, dimension)}"
    return f"delivery {span} a cycle" if name == DELIVERY else f"the gap at the {PLACES[name]} {span}"


def _factor(axis: str) -> float:
    return {CYCLES: 1e-3, DAYS: 1.0}.get(axis) or scale("volume", "l")


def _label(found: History) -> str:
    if found.axis == CYCLES:
        return "cycles [thousands]"
    if found.axis == LITRES:
        return f"pumped [{unit_in_use('l', 'volume')}]"
    return f"days from {found.entries[0].day} [d]"


def _about(found: History, left_out: Sequence[str]) -> Iterator[str]:
    """What is drawn, a line each."""
    yield f"{found.entries[0].day} to {found.entries[-1].day}. Dots: what was seen, with a band (95 of 100);"
    yield "dotted: trend; grey: before it began anew; hollow: alone it does not explain what was seen."
    if left_out:
        yield f"Not drawn, for they do not grow: {', '.join(PLACES[name] for name in left_out)}."


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
    course = next(course for course in found.courses if course.name == name)
    for point in found.points:
        value = _value(point, name)
        if value is None:
            continue
        middle, low, high, counts = value
        x, color = factor * point.place, BEFORE if point.entry < course.since else INLET["color"]
        axes.plot([x, x], [size * low, size * high], color=color, linewidth=1.2)
        face = color if counts else "white"
        axes.plot([x], [size * middle], "o", markersize=5, markerfacecolor=face, color=color, clip_on=False)
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
    first, last, level = min(found.places), max(found.places), _is_level(found)
    for place, text in _grouped(found):
        x = factor * place
        for axes in others:
            axes.axvline(x, **LIMIT)
        said = "\n".join(textwrap.wrap(text, WORDS, max_lines=LINES, placeholder=" ..."))
        share = (place - first) / (last - first or 1.0)
        side = "right" if share > RIGHT else "center" if level and share > 1.0 - RIGHT else "left"
        words.plot([x], [0.02], "v", markersize=5, color=LIMIT["color"], clip_on=False)
        words.annotate(
            said.replace("$", r"\$"), (x, 0.15 if level else 0.1), fontsize=8 if level else 7, ha=side,
            va="bottom", rotation=0 if level else -28 if side == "right" else 28, rotation_mode="anchor",
            annotation_clip=False,
        )  # fmt: skip


def _is_level(found: History) -> bool:
    return len(_grouped(found)) <= LEVEL


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
