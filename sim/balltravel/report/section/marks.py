"""Moving marks in the liquid: arrows along the way through a check, and the bubbles of a void.

An arrow moves as the volume that passed says, so that it stands where its liquid would be in a passage of the
seat's bore; its size grows with the flow. The bubbles cover the share of the chamber's section that the void
has of its volume.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from balltravel.report.section.check import CheckSizes
from balltravel.report.section.lower import LowerSizes
from balltravel.report.section.moving import Places
from balltravel.report.section.shapes import Disc, Moves, Part, Point

Array = NDArray[np.float64]

ARROWS = 5
"""On each side of the axis."""

ARROW_LENGTH = 0.16
"""Half the length of the largest, of the inlet ball's radius: as looks well."""

BUBBLES = 24

_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True)
class Arrow:
    """A mark on its way: where, which way it points (1 up the way, -1 back) and how large (0 to 1)."""

    at: Point
    towards: Point
    size: float
    forward: bool = True


@dataclass(frozen=True)
class Way:
    """The way of the liquid past a check, on the right of the axis, drawn at bottom dead centre [m]."""

    check: str
    moves: Moves
    points: tuple[Point, ...]
    bore: float
    ball: float

    @property
    def spacing(self) -> float:
        """From one arrow to the next."""
        return math.fsum(math.dist(a, b) for a, b in pairwise(self.points)) / ARROWS


def ways_of(s: LowerSizes) -> tuple[Way, Way]:
    """The ways past both checks of a lower, ``inlet`` and ``piston``."""
    base = s.piston_at_bottom + s.piston.seat_length
    through = way_through(s.piston, 0.1 * s.bore, s.piston.pins)[:-1]
    top = base + s.piston.cage_top + s.piston.pins
    beside = 0.5 * (min(max(s.piston.outside, s.rod), 0.95 * s.bore) + s.bore)
    up = (
        Point(0.75 * s.piston.ball, top - base),
        Point(beside, top - base),
        Point(beside, top - base + 0.6 * s.bore),
    )
    return (
        Way("inlet", Moves.NOT, way_through(s.inlet, 0.4 * s.bore, 0.1 * s.bore), s.inlet.bore, s.inlet.ball),
        Way(
            "piston",
            Moves.PISTON,
            tuple(Point(x, y + base) for x, y in (*through, *up)),
            s.piston.bore,
            s.piston.ball,
        ),
    )


def way_through(s: CheckSizes, ahead: float, beyond: float) -> tuple[Point, ...]:
    """The way past a ball on its stop, on the right: from ``ahead`` below to ``beyond`` above the check."""
    gap, middle = 0.5 * (s.ball + s.cage), s.ball_at_rest + s.travel
    enters = math.asin(min(0.9 * s.bore / gap, 1.0))
    angles = [enters + (0.5 * math.pi - enters) * part for part in (0.0, 0.25, 0.5, 0.75, 1.0)]
    return (
        Point(0.5 * s.bore, -s.seat_length - ahead),
        Point(0.6 * s.bore, -0.3 * s.ball),
        *(Point(gap * math.sin(angle), middle - gap * math.cos(angle)) for angle in angles),
        Point(gap, s.stop),
        Point(0.75 * s.ball, s.stop + 3.0 * s.pins),
        Point(0.75 * s.ball, s.top + beyond),
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
        found.append(Arrow(at, Point(sense * along.x, sense * along.y), size, sense > 0.0))
    return tuple(found)


def most_flow(places: Places) -> float:
    """The largest flow through either check [m3/s]: that of the largest arrow."""
    return max(float(np.abs(flow).max()) for flow in (places.inlet_flow, places.piston_flow))


def arrows_of(way: Way, places: Places, instant: int, most: float) -> tuple[Arrow, ...]:
    """The arrows of a way at an instant, where they are at bottom dead centre."""
    inlet = way.check == "inlet"
    volume = places.drawn if inlet else places.passed
    flow = places.inlet_flow if inlet else places.piston_flow
    area = math.pi * way.bore**2
    return arrows(way.points, float(volume[instant]), area, float(flow[instant]), most)


def _on(way: Sequence[Point], steps: Sequence[float], distance: float) -> tuple[Point, Point]:
    """The point at a distance along a way, and the direction there."""
    for (a, b), step in zip(pairwise(way), steps, strict=True):
        if distance <= step or b == way[-1]:
            along = Point((b.x - a.x) / step, (b.y - a.y) / step)
            return Point(a.x + distance * along.x, a.y + distance * along.y), along
        distance -= step
    raise AssertionError("a way has an end")


def bubble_radius(share: Array, half_width: float, height: Array) -> Array:
    """Radius [m] of each of the bubbles that cover ``share`` of a chamber's section; at most six tenths of
    it: beyond that they would touch."""
    area = 2.0 * half_width * np.maximum(height, 0.0)
    return np.asarray(np.sqrt(np.minimum(share, 0.6) * area / (BUBBLES * math.pi)), float)


def bubble_places() -> tuple[Point, ...]:
    """Where each bubble is: across, -1 to 1 of half the width, and up, 0 to 1 of the height."""
    return tuple(
        Point(2.0 * (number + 0.5) / BUBBLES - 1.0, (0.5 + number * _GOLDEN) % 1.0)
        for number in range(BUBBLES)
    )


def bubbles(share: float, half_width: float, bottom: float, top: float) -> tuple[Disc, ...]:
    """The bubbles in a chamber [m] of which ``share`` is void."""
    radius = float(bubble_radius(np.array(share), half_width, np.array(top - bottom)))
    return tuple(
        Disc(Part.VOID, Point(x * half_width, bottom + y * (top - bottom)), radius)
        for x, y in bubble_places()
    )
