"""The foot valve in section with the shims where they go, upon a card in millimetres of paper."""

from matplotlib.axes import Axes

from balltravel.report.figures.section import PRINTED, Place, draw_section
from balltravel.report.figures.worksheet.section import Pen
from balltravel.report.section.lower import LowerSizes, foot_valve_shapes, lower_sizes
from balltravel.report.section.names import apart, foot_valve_names
from balltravel.scenario.model import Scenario
from balltravel.study.travel.trials import Choice

WIDTH, HEIGHT = 84.0, 74.0
"""Of the drawing with its names [mm]."""

NAMES = 27.0
"""Room for the names on the right [mm]."""

LINE, GAP = 3.3, 2.4
"""From line to line of a name, and between two names [mm]."""

MOST_SHIMS = 7
"""Numbers of shims on a line."""


def _scale(s: LowerSizes) -> float:
    """Millimetres of paper a metre."""
    return min((WIDTH - NAMES) / (2.0 * s.outside), HEIGHT / (s.floor + s.inlet.seat_length))


def height_of(scenario: Scenario, _: Choice) -> float:
    """How high the section is [mm], at most HEIGHT."""
    sizes = lower_sizes(scenario)
    return _scale(sizes) * (sizes.floor + sizes.inlet.seat_length)


def draw_arrangement(axes: Axes, left: float, bottom: float, scenario: Scenario, choice: Choice) -> None:
    """Draw the section with its lower left corner there [mm]; ``scenario``: with its shims as the choice has
    them."""
    sizes = lower_sizes(scenario)
    scale, c = _scale(sizes), sizes.inlet
    place = Place(scale * sizes.outside, scale * c.seat_length, scale)
    on_sheet = Place(left + place.axis, bottom + place.seat, scale)
    draw_section(axes, foot_valve_shapes(sizes), looks=PRINTED, place=on_sheet)
    pen = Pen(axes, left, bottom)
    pen.ghost(place.axis, place.y(c.ball_at_rest + c.travel), scale * c.ball)
    names = foot_valve_names(sizes, choice)
    lines = [[part for line in name.lines for part in _broken(line)] for name in names]
    wanted = [place.y(name.part.y) for name in names]
    edge = place.x(sizes.outside) + 3.0
    for name, words, y in zip(names, lines, apart(wanted, [LINE * len(x) + GAP for x in lines]), strict=True):
        pen.lead(words[0], edge, y, (place.x(name.part.x), place.y(name.part.y)))
        for k, word in enumerate(words[1:], 1):
            pen.name(word, edge, y - LINE * k)


def _broken(line: str) -> list[str]:
    """Numbers of many shims on two lines."""
    parts = line.split("+")
    if len(parts) <= MOST_SHIMS:
        return [line]
    return ["+".join(parts[:MOST_SHIMS]) + "+", "+".join(parts[MOST_SHIMS:])]
