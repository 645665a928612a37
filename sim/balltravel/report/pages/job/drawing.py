"""The foot valve of a job with its shims where they go, to scale, and the names of its parts beside it."""

from typing import NamedTuple

from markupsafe import Markup

from balltravel.report.pages.section import Frame, section_svg
from balltravel.report.section.lower import LowerSizes, foot_valve_shapes, lower_sizes
from balltravel.report.section.names import Name, apart, foot_valve_names
from balltravel.report.tables import bench, shim_names
from balltravel.scenario.model import Scenario
from balltravel.study.travel.trials import Choice

LETTERS, LEADING = 0.042, 1.2
"""Height of the letters over the width of the whole drawing, and from line to line over that height."""

ROOM = 0.44
"""Of the width of the whole drawing for the names."""


class Line(NamedTuple):
    """A line from a part to its name [mm on the drawing], and the name's lines of text with their heights."""

    part: tuple[float, float]
    name: tuple[float, float]
    lines: tuple[tuple[str, float], ...]


class Drawing(NamedTuple):
    """``section``: the drawing; ``share``: its width in percent of the whole; ``box`` of the whole;
    ``letters``: their height; ``ghost``: the ball at its travel: x, y, radius; all [mm]."""

    section: Markup
    share: float
    box: str
    letters: float
    names: tuple[Line, ...]
    ghost: tuple[float, float, float]


def drawing_of(scenario: Scenario, choice: Choice) -> Drawing:
    """``scenario``: with its shims as the choice has them."""
    sizes = lower_sizes(scenario)
    frame = Frame(-sizes.outside, -sizes.inlet.seat_length, sizes.outside, sizes.floor)
    below, above = shim_names(choice.shims_below), shim_names(choice.shims_above)
    travel = bench(choice.ball_travel, "length")
    label = f"Foot valve in section: ball travel {travel}, shims below the cage {below}, above {above}"
    svg = section_svg(foot_valve_shapes(sizes), frame, label)
    wide, c = 1e3 * (frame.right - frame.left) / (1.0 - ROOM), sizes.inlet
    names = tuple(_lines(foot_valve_names(sizes, choice), sizes, LETTERS * wide))
    lowest = max(-1e3 * frame.bottom, names[-1].lines[-1][1] + 0.4 * LETTERS * wide)
    box = (1e3 * frame.left, -1e3 * frame.top, wide, lowest + 1e3 * frame.top)
    return Drawing(
        svg,
        100.0 * (1.0 - ROOM),
        " ".join(f"{value:.2f}" for value in box),
        LETTERS * wide,
        names,
        (0.0, -1e3 * (c.ball_at_rest + c.travel), 1e3 * c.ball),
    )


def _lines(names: tuple[Name, ...], sizes: LowerSizes, letters: float) -> list[Line]:
    """Names right of the section, as near to their parts as they go without touching each other."""
    bottom = -1e3 * sizes.inlet.seat_length
    room = [LEADING * letters * (len(name.lines) + 0.4) for name in names]
    wanted = [1e3 * name.part.y - bottom for name in names]
    places = apart([min(wanted[0], 1e3 * sizes.floor - bottom - 0.7 * letters), *wanted[1:]], room)
    left = 1e3 * sizes.outside + 1.2 * letters
    return [
        Line(
            (1e3 * name.part.x, -1e3 * name.part.y),
            (left, -(bottom + place)),
            tuple(
                (text, -(bottom + place) + LEADING * letters * k + 0.35 * letters)
                for k, text in enumerate(name.lines)
            ),
        )
        for name, place in zip(names, places, strict=True)
    ]
