"""A section as SVG in millimetres: what moves together is a group that a script, or nobody, may move."""

from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any, NamedTuple

from markupsafe import Markup

from balltravel.report.pages.markup import markup
from balltravel.report.section.shapes import Disc, Moves, Shape, raised

_MM = 1e3


class Frame(NamedTuple):
    """What of a drawing is seen [m]: right of the axis and up."""

    left: float
    bottom: float
    right: float
    top: float


def section_svg(
    shapes: Iterable[Shape], frame: Frame, label: str, up: Mapping[Moves, float] | None = None
) -> Markup:
    """The shapes as an SVG element, those behind first; ``up``: how far what moves is above where it is
    drawn [m]; ``label``: what a screen reader says."""
    up = up or {}
    lifted = [raised((shape,), up.get(shape.moves, 0.0))[0] for shape in shapes]
    layers = [
        (moves.value, [_element(shape) for shape in together])
        for moves, together in groupby(lifted, key=lambda shape: shape.moves)
    ]
    width, height = frame.right - frame.left, frame.top - frame.bottom
    box = " ".join(_number(_MM * value) for value in (frame.left, -frame.top, width, height))
    return Markup(markup("section.svg", layers=layers, box=box, label=label))


def _element(shape: Shape) -> dict[str, Any]:
    if isinstance(shape, Disc):
        x, y = _number(shape.centre.x * _MM), _number(-shape.centre.y * _MM)
        return {"part": shape.part.value, "x": x, "y": y, "radius": _number(shape.radius * _MM)}
    points = " ".join(f"{_number(x * _MM)},{_number(-y * _MM)}" for x, y in shape.points)
    return {"part": shape.part.value, "points": points, "radius": None}


def _number(value: float) -> str:
    """To a hundredth of a millimetre, as short as it goes."""
    return f"{value + 0.0:.2f}".rstrip("0").rstrip(".") if abs(value) >= 0.005 else "0"
