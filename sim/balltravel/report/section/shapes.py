"""What a drawing is made of: outlines and circles in metres, each with what it is and what it moves with."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple


class Part(StrEnum):
    """What a shape is; the drawing chooses how that looks."""

    METAL = "metal"
    SEAT = "seat"
    CAGE = "cage"
    STOP = "stop"
    SHIM = "shim"
    BALL = "ball"
    LIQUID = "liquid"
    VOID = "void"
    SEAL = "seal"


class Moves(StrEnum):
    """What a shape moves with."""

    NOT = "still"
    PISTON = "piston"
    INLET_BALL = "inlet-ball"
    PISTON_BALL = "piston-ball"


class Point(NamedTuple):
    """Right of the axis and up [m]."""

    x: float
    y: float


class Frame(NamedTuple):
    """What of a drawing is seen [m]: right of the axis and up."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True)
class Outline:
    """A closed polygon."""

    part: Part
    points: tuple[Point, ...]
    moves: Moves = Moves.NOT
    label: str = ""


@dataclass(frozen=True)
class Disc:
    """A circle, filled."""

    part: Part
    centre: Point
    radius: float
    moves: Moves = Moves.NOT
    label: str = ""


Shape = Outline | Disc


def box(
    part: Part,
    left: float,
    right: float,
    bottom: float,
    top: float,
    moves: Moves = Moves.NOT,
    label: str = "",
) -> Outline:
    """An upright rectangle."""
    corners = (Point(left, bottom), Point(right, bottom), Point(right, top), Point(left, top))
    return Outline(part, corners, moves, label)


def ring(
    part: Part,
    inner: float,
    outer: float,
    bottom: float,
    top: float,
    moves: Moves = Moves.NOT,
    label: str = "",
) -> tuple[Outline, Outline]:
    """A ring about the axis, cut: a box on each side of it; radii [m]."""
    right = box(part, inner, outer, bottom, top, moves, label)
    return right, mirrored(right)


def mirrored(outline: Outline) -> Outline:
    """The other side of the axis, without the label."""
    return Outline(outline.part, tuple(Point(-x, y) for x, y in outline.points), outline.moves)


def raised(shapes: Sequence[Shape], by: float, moves: Moves | None = None) -> tuple[Shape, ...]:
    """The same shapes higher up [m], and moving with something else where that is said."""
    return tuple(_raised(shape, by, moves or shape.moves) for shape in shapes)


def _raised(shape: Shape, by: float, moves: Moves) -> Shape:
    if isinstance(shape, Disc):
        centre = Point(shape.centre.x, shape.centre.y + by)
        return Disc(shape.part, centre, shape.radius, moves, shape.label)
    points = tuple(Point(x, y + by) for x, y in shape.points)
    return Outline(shape.part, points, moves, shape.label)
