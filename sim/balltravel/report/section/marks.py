"""Moving marks in the liquid: arrows along the way through a check, and the bubbles of a void.

An arrow moves as the volume that passed says, so that it stands where its liquid would be in a passage of the
seat's bore; its size grows with the flow. The bubbles cover the share of the chamber's section that the void
has of its volume.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from balltravel.report.section.check import CheckSizes
from balltravel.report.section.shapes import Disc, Part, Point

ARROWS = 5
"""On each side of the axis."""

BUBBLES = 24

_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True)
class Arrow:
    """A mark on its way: where, which way it points (1 up the way, -1 back) and how large (0 to 1)."""

    at: Point
    towards: Point
    size: float


def way_through(s: CheckSizes, ahead: float, beyond: float) -> tuple[Point, ...]:
    """The way past a ball on its stop, on the right: from ``ahead`` below to ``beyond`` above the check."""
    gap = 0.5 * (s.ball + s.cage)
    middle = s.ball_at_rest + s.travel
    return (
        Point(0.55 * s.bore, -s.seat_length - ahead),
        Point(0.7 * s.bore, 0.0),
        Point(gap, middle),
        Point(gap, s.stop - 0.5 * s.ball),
        Point(0.2 * s.ball, s.stop + s.pins + 0.5 * beyond),
        Point(0.3 * s.ball, s.stop + s.pins + beyond),
    )


def arrows(way: Sequence[Point], volume: float, area: float, flow: float, most: float) -> tuple[Arrow, ...]:
    """The arrows on a way once ``volume`` [m3] passed ``area`` [m2], at a flow of at most ``most``."""
    steps = [math.dist(a, b) for a, b in pairwise(way)]
    spacing = math.fsum(steps) / ARROWS
    size = math.sqrt(min(abs(flow) / most, 1.0)) if most > 0.0 else 0.0
    first = volume / area % spacing
    sense = 1.0 if flow >= 0.0 else -1.0
    found = []
    for number in range(ARROWS):
        at, along = _on(way, steps, first + number * spacing)
        found.append(Arrow(at, Point(sense * along.x, sense * along.y), size))
    return tuple(found)


def _on(way: Sequence[Point], steps: Sequence[float], distance: float) -> tuple[Point, Point]:
    """The point at a distance along a way, and the direction there."""
    for (a, b), step in zip(pairwise(way), steps, strict=True):
        if distance <= step or b == way[-1]:
            along = Point((b.x - a.x) / step, (b.y - a.y) / step)
            return Point(a.x + distance * along.x, a.y + distance * along.y), along
        distance -= step
    raise AssertionError("a way has an end")


def bubbles(share: float, half_width: float, bottom: float, top: float) -> tuple[Disc, ...]:
    """Bubbles in a chamber [m], spread evenly, that cover ``share`` of its section (at most six tenths:
    beyond that they would touch)."""
    area = 2.0 * half_width * max(top - bottom, 0.0)
    radius = math.sqrt(min(share, 0.6) * area / (BUBBLES * math.pi))
    found = []
    for number in range(BUBBLES):
        across = (number + 0.5) / BUBBLES
        height = (0.5 + number * _GOLDEN) % 1.0
        found.append(
            Disc(
                Part.VOID, Point((2.0 * across - 1.0) * half_width, bottom + height * (top - bottom)), radius
            )
        )
    return tuple(found)
