"""A ball check in section: the seat, its bore edge at nought, the cage with its stop, the ball.

What the scenario says is to scale: bore and cone of the seat, ball, cage bore, travel, shims. A cage with
ribs is cut through its openings, so that the bore behind them is seen. Walls, pins and the outside are as
thick as looks well.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from balltravel.report.section.shapes import Disc, Moves, Outline, Part, Point, Shape, box, mirrored, ring
from balltravel.scenario.lower import Check

WALL = 0.12
"""Thickness of a cage's wall and of pins, of the ball's radius: as looks well."""


@dataclass(frozen=True)
class CheckSizes:
    """Heights above the seat's bore edge and radii, all [m]."""

    ball: float
    bore: float
    mouth: float
    mouth_height: float
    seat_length: float
    cage: float
    outside: float
    ball_at_rest: float
    travel: float
    pins: float
    below: tuple[tuple[str, float], ...]
    above: tuple[tuple[str, float], ...]
    cage_length: float
    pad: float

    @property
    def stop(self) -> float:
        """Height at which the ball's top meets the stop."""
        return self.ball_at_rest + self.ball + self.travel

    @property
    def cage_bottom(self) -> float:
        """Lower end of the cage: upon the seat or upon the shims below it."""
        return self.mouth_height + math.fsum(height for _, height in self.below)

    @property
    def cage_top(self) -> float:
        """Upper end of the cage, over its stop."""
        return self.cage_bottom + self.cage_length

    @property
    def top(self) -> float:
        """Upper end of the shims above the cage: the same for every arrangement."""
        return self.cage_top + math.fsum(height for _, height in self.above)


def sizes_of(
    check: Check,
    travel: float,
    below: Sequence[tuple[str, float]] = (),
    above: Sequence[tuple[str, float]] = (),
    room: float = math.inf,
) -> CheckSizes:
    """The sizes of a check; shims as (number, thickness [m]), from the seat upwards. ``room``: radius [m] of
    what it stands in; its wall reaches halfway there at most."""
    ball, bore, cage = check.ball_diameter / 2.0, check.seat_diameter / 2.0, check.passage_diameter / 2.0
    pins, contact = WALL * ball, check.contact_diameter / 2.0
    at_rest = math.sqrt(ball**2 - contact**2)
    mouth, mouth_height = bore, 0.0
    if check.seat_half_angle is not None and check.seat_mouth_diameter is not None:
        slope = math.tan(check.seat_half_angle)
        mouth = check.seat_mouth_diameter / 2.0
        mouth_height = (mouth - bore) / slope
        at_rest += (contact - bore) / slope
    stop = at_rest + ball + travel
    shims_below = math.fsum(height for _, height in below)
    outside = min(cage + 2.0 * pins, 0.5 * (cage + room))
    length = max(check.cage_length, stop + pins - mouth_height - shims_below)
    return CheckSizes(
        ball, bore, mouth, mouth_height, check.seat_length, cage, outside, at_rest, travel, pins,
        tuple(below), tuple(above), length, (check.stop_pad_diameter or 0.0) / 2.0,
    )  # fmt: skip


def check_shapes(
    s: CheckSizes, outside: float, ball_moves: Moves, moves: Moves = Moves.NOT
) -> tuple[Shape, ...]:
    """The shapes of a check whose seat reaches out to a radius [m]; the ball on its seat."""
    seat = Outline(
        Part.SEAT,
        (
            Point(s.bore, -s.seat_length), Point(outside, -s.seat_length), Point(outside, s.mouth_height),
            Point(s.mouth, s.mouth_height), Point(s.bore, 0.0),
        ),
        moves,
    )  # fmt: skip
    return (
        *_liquid(s, moves),
        seat,
        mirrored(seat),
        *_shims(s, moves),
        *ring(Part.CAGE, s.cage, s.outside, s.cage_bottom, s.cage_top, moves),
        *_stop(s, moves),
        Disc(Part.BALL, Point(0.0, s.ball_at_rest), s.ball, ball_moves),
    )


def _liquid(s: CheckSizes, moves: Moves) -> tuple[Shape, ...]:
    return (
        box(Part.LIQUID, -s.bore, s.bore, -s.seat_length, 0.0, moves),
        Outline(
            Part.LIQUID,
            (
                Point(-s.bore, 0.0), Point(s.bore, 0.0), Point(s.mouth, s.mouth_height),
                Point(-s.mouth, s.mouth_height),
            ),
            moves,
        ),
        box(Part.LIQUID, -s.cage, s.cage, s.mouth_height, s.top, moves),
    )  # fmt: skip


def _shims(s: CheckSizes, moves: Moves) -> tuple[Shape, ...]:
    shapes: list[Shape] = []
    for shims, height in ((s.below, s.mouth_height), (s.above, s.cage_top)):
        for number, thickness in shims:
            shapes += ring(Part.SHIM, s.cage, s.outside, height, height + thickness, moves, number)
            height += thickness
    return tuple(shapes)


def _stop(s: CheckSizes, moves: Moves) -> tuple[Shape, ...]:
    """Two pins across the cage, which the ball at its travel touches, or a pad on a bridge."""
    if s.pad:
        return (
            box(Part.STOP, -s.pad, s.pad, s.stop, s.stop + 0.6 * s.pins, moves),
            box(Part.STOP, -s.cage, s.cage, s.stop + 0.6 * s.pins, s.stop + s.pins, moves),
        )
    radius = 0.5 * s.pins
    across = 0.5 * s.ball
    height = s.stop - s.ball + math.sqrt((s.ball + radius) ** 2 - across**2)
    return tuple(Disc(Part.STOP, Point(x, height), radius, moves) for x in (-across, across))
