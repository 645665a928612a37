"""Sections of a lower upon axes: each part by its own grey, so that they print."""

from collections.abc import Iterable, Mapping
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Circle, Patch, Polygon

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


def draw_section(
    axes: Axes, shapes: Iterable[Shape], up: Mapping[Moves, float] | None = None
) -> list[tuple[Shape, Patch]]:
    """Draw shapes on axes in metres; ``up``: how far what moves is above where it is drawn [m].

    Gives each shape with its patch, so that the next picture moves them (see :func:`move`).
    """
    drawn = []
    for shape in shapes:
        patch: Patch = (
            Circle(shape.centre, shape.radius, **LOOKS[shape.part])
            if isinstance(shape, Disc)
            else Polygon(list(shape.points), closed=True, **LOOKS[shape.part])
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
