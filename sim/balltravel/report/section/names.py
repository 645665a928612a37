"""Names in a drawing of a foot valve: what each part is called, where it is, where its name stands."""

from collections.abc import Sequence
from typing import NamedTuple

from balltravel.report.section.check import CheckSizes
from balltravel.report.section.lower import LowerSizes, foot_valve_shapes
from balltravel.report.section.shapes import Disc, Part, Point
from balltravel.report.tables import bench, shim_names
from balltravel.study.travel.trials import Choice


class Name(NamedTuple):
    """Lines of text, and a point on the part that they name [m]."""

    lines: tuple[str, ...]
    part: Point


def foot_valve_names(s: LowerSizes, choice: Choice) -> tuple[Name, ...]:
    """The parts of a foot valve with an arrangement of the shims, from the top down."""
    c = s.inlet
    wall = 0.5 * (c.cage + c.outside)
    has_shims = bool(choice.shims_below or choice.shims_above)
    return (
        *((_shims("above", choice.shims_above, wall, c.cage_top, c.top),) if has_shims else ()),
        Name(("stop of the cage",), _stop(s)),
        Name(("ball travel", bench(choice.ball_travel, "length")), Point(0.0, _middle_of_travel(c))),
        Name(("ball, seated",), Point(0.6 * c.ball, c.ball_at_rest)),
        *((_shims("below", choice.shims_below, wall, c.mouth_height, c.cage_bottom),) if has_shims else ()),
        Name(("seat",), Point(0.5 * (c.mouth + s.outside), -0.5 * c.seat_length)),
    )


def _stop(s: LowerSizes) -> Point:
    """The middle of the stop's last part, which is the one on the right of two."""
    stop = [shape for shape in foot_valve_shapes(s) if shape.part is Part.STOP][-1]
    if isinstance(stop, Disc):
        return stop.centre
    x, y = zip(*stop.points, strict=True)
    return Point(sum(x) / len(x), sum(y) / len(y))


def _shims(where: str, shims: Sequence[int], wall: float, bottom: float, top: float) -> Name:
    return Name((f"shims {where}", shim_names(shims)), Point(wall, 0.5 * (bottom + top)))


def _middle_of_travel(c: CheckSizes) -> float:
    return c.ball_at_rest + c.ball + 0.5 * c.travel


def apart(wanted: Sequence[float], room: Sequence[float]) -> list[float]:
    """Places from the top down, as near to the wanted ones as their room lets them; none above the first, and
    none below nought where they all fit."""
    places = [wanted[0]]
    for place, space in zip(wanted[1:], room[:-1], strict=True):
        places.append(min(place, places[-1] - space))
    low = places[-1]
    for k in range(len(places) - 1, -1, -1):  # up again where they left the drawing
        low = max(places[k], 0.0 if k == len(places) - 1 else low + room[k])
        places[k] = low
    return places
