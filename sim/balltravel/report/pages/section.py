"""A section as SVG in millimetres: what moves together is a group that a script, or nobody, may move."""

from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any

from markupsafe import Markup

from balltravel.report.pages.markup import markup
from balltravel.report.section.lower import LowerSizes
from balltravel.report.section.marks import ARROW_LENGTH, ARROWS, bubble_places, ways_of
from balltravel.report.section.shapes import Disc, Frame, Moves, Shape, raised

__all__ = ["Frame", "section_svg"]

_MM = 1e3


def section_svg(
    shapes: Iterable[Shape],
    frame: Frame,
    label: str,
    up: Mapping[Moves, float] | None = None,
    marks: LowerSizes | None = None,
) -> Markup:
    """The shapes as an SVG element, those behind first; ``up``: how far what moves is above where it is
    drawn [m]; ``label``: what a screen reader says; ``marks``: with arrows and bubbles of this lower, hidden
    until ``player.js`` places them."""
    up = up or {}
    lifted = [raised((shape,), up.get(shape.moves, 0.0))[0] for shape in shapes]
    layers = [
        (moves.value, [_element(shape) for shape in together])
        for moves, together in groupby(lifted, key=lambda shape: shape.moves)
    ]
    width, height = frame.right - frame.left, frame.top - frame.bottom
    box = " ".join(_number(_MM * value) for value in (frame.left, -frame.top, width, height))
    chamber, ways = (None, []) if marks is None else (_chamber(marks), _ways(marks))
    return Markup(markup("section.svg", layers=layers, box=box, label=label, chamber=chamber, ways=ways))


def _chamber(s: LowerSizes) -> dict[str, Any]:
    """The chamber whose void the bubbles are, at bottom dead centre, and where they are in it."""
    places = [
        {"x": _number(_MM * 0.9 * s.bore * x), "height": f"{0.1 + 0.8 * y:.3f}"} for x, y in bubble_places()
    ]
    return {"bottom": _number(_MM * s.floor), "top": _number(_MM * s.piston_at_bottom), "bubbles": places}


def _ways(s: LowerSizes) -> list[dict[str, Any]]:
    """The ways past the checks, and the head of an arrow."""
    ways = []
    for way in ways_of(s):
        path = " L".join(f"{_number(_MM * x)},{_number(-_MM * y)}" for x, y in way.points)
        half = _MM * ARROW_LENGTH * s.inlet.ball
        head = f"M{_number(half)},0 L{_number(-half)},{_number(-0.6 * half)} V{_number(0.6 * half)} Z"
        ways.append(
            {"check": way.check, "moves": way.moves.value, "path": f"M{path}", "head": head, "arrows": ARROWS}
        )
    return ways


def _element(shape: Shape) -> dict[str, Any]:
    if isinstance(shape, Disc):
        x, y = _number(shape.centre.x * _MM), _number(-shape.centre.y * _MM)
        return {"part": shape.part.value, "x": x, "y": y, "radius": _number(shape.radius * _MM)}
    points = " ".join(f"{_number(x * _MM)},{_number(-y * _MM)}" for x, y in shape.points)
    return {"part": shape.part.value, "points": points, "radius": None}


def _number(value: float) -> str:
    """To a hundredth of a millimetre, as short as it goes."""
    return f"{value + 0.0:.2f}".rstrip("0").rstrip(".") if abs(value) >= 0.005 else "0"
