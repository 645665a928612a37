"""Sections of a lower upon axes: each part by its own grey, so that they print."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from matplotlib.axes import Axes
from matplotlib.patches import Circle, Patch, Polygon
from matplotlib.transforms import Affine2D

from balltravel.report.section.shapes import Disc, Moves, Part, Shape

INK = "#222222"

LOOKS: dict[Part, dict[str, Any]] = {
    Part.METAL: {"facecolor": "#f0f0f0", "edgecolor": INK, "linewidth": 0.7},
    Part.SEAT: {"facecolor": "#c8c8c8", "edgecolor": INK, "linewidth": 0.7},
    Part.CAGE: {"facecolor": "#b4b4b4", "edgecolor": INK, "linewidth": 0.7},
    Part.STOP: {"facecolor": "#6a6a6a", "edgecolor": INK, "linewidth": 0.5},
    Part.SHIM: {"facecolor": "#2b2b2b", "edgecolor": "white", "linewidth": 0.5},
    Part.BALL: {"facecolor": "#e09a1a", "edgecolor": INK, "linewidth": 1.0},
    Part.LIQUID: {"facecolor": "#cfe2ee", "edgecolor": "none", "linewidth": 0.0},
    Part.VOID: {"facecolor": "white", "edgecolor": INK, "linewidth": 0.7},
    Part.SEAL: {"facecolor": "#6f6f6f", "edgecolor": INK, "linewidth": 0.5, "hatch": "xxxx"},
}
"""How each part is drawn; read apart in grey."""


PRINTED: dict[Part, dict[str, Any]] = {
    **LOOKS,
    Part.BALL: {**LOOKS[Part.BALL], "facecolor": "#dddddd"},
    Part.LIQUID: {**LOOKS[Part.LIQUID], "facecolor": "white"},
}
"""The same on paper that is printed in black."""


class Place(NamedTuple):
    """Where a section stands on a sheet: its axis and the height of its inlet seat, and its scale; shapes in
    metres, for instance, stand on millimetres at a scale of 1000."""

    axis: float
    seat: float
    scale: float

    def x(self, radius: float) -> float:
        """On the sheet, right of the axis."""
        return self.axis + self.scale * radius

    def y(self, height: float) -> float:
        """On the sheet, above the seat."""
        return self.seat + self.scale * height


AS_IT_IS = Place(0.0, 0.0, 1.0)


def draw_section(
    axes: Axes,
    shapes: Iterable[Shape],
    up: Mapping[Moves, float] | None = None,
    looks: Mapping[Part, Mapping[str, Any]] = LOOKS,
    place: Place = AS_IT_IS,
) -> list[tuple[Shape, Patch]]:
    """Draw shapes on axes; ``up``: how far what moves is above where it is drawn [m].

    Gives each shape with its patch, so that the next picture moves them (see :func:`move`).
    """
    drawn = []
    onto = Affine2D().scale(place.scale).translate(place.axis, place.seat) + axes.transData
    for shape in shapes:
        patch: Patch = (
            Circle(shape.centre, shape.radius, transform=onto, **looks[shape.part])
            if isinstance(shape, Disc)
            else Polygon(list(shape.points), closed=True, transform=onto, **looks[shape.part])
        )
        drawn.append((shape, axes.add_patch(patch)))
    move(drawn, up or {})
    axes.set_aspect("equal")
    axes.set_axis_off()
    return drawn


def move(drawn: Iterable[tuple[Shape, Patch]], up: Mapping[Moves, float]) -> None:
    """Put what moves at its height above where it is drawn [m]."""
    for shape, patch in drawn:
        by = up.get(shape.moves, 0.0)
        if isinstance(shape, Disc) and isinstance(patch, Circle):
            patch.set_center((shape.centre.x, shape.centre.y + by))
        elif not isinstance(shape, Disc) and isinstance(patch, Polygon):
            patch.set_xy([(x, y + by) for x, y in shape.points])
