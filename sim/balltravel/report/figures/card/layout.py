"""Text on a sheet of paper: broken by its true width, one block below the other."""

import re
from functools import lru_cache

from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

POINT = 25.4 / 72.0
"""Millimetres."""

LEADING = 1.22
"""Line to line, over the size of the letters."""

_GLUE = "\u00a0"


@lru_cache(maxsize=8192)
def width_of(text: str, size: float, weight: str = "normal") -> float:
    """How wide a text is [mm] in letters of this size [pt]."""
    font = FontProperties(size=size, weight=weight)
    return float(TextToPath().get_text_width_height_descent(text, font, False)[0]) * POINT


def broken(text: str, width: float, size: float, weight: str = "normal") -> list[str]:
    """Lines no wider than that [mm]; a number stays with its unit, a word that is too long is cut."""
    lines = [""]
    for word in re.sub(r"(?<=\d) (?=[a-zA-Z%/])|(?<=\d of) (?=\d)", _GLUE, text).split(" "):
        for part in _cut(word, width, size, weight):
            longer = f"{lines[-1]} {part}" if lines[-1] else part
            if width_of(longer, size, weight) <= width:
                lines[-1] = longer
            else:
                lines.append(part)
    return [line.replace(_GLUE, " ") for line in lines]


def _cut(word: str, width: float, size: float, weight: str) -> list[str]:
    """A word in parts that fit; at a space where it has one that was not to be broken."""
    if width_of(word, size, weight) <= width or len(word) < 2:
        return [word]
    if _GLUE in word:
        return [part for piece in word.split(_GLUE) for part in _cut(piece, width, size, weight)]
    fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or width_of(word[:n], size, weight) <= width)
    return [word[:fits], *_cut(word[fits:], width, size, weight)]


class Column:
    """A column of a page that is filled from the top down, in millimetres of paper."""

    def __init__(self, axes: Axes, left: float, top: float, width: float) -> None:
        self.axes, self.left, self.y, self.width = axes, left, top, width

    def text(
        self, text: str, size: float, weight: str = "normal", indent: float = 0.0, after: float = 0.0
    ) -> None:
        """A paragraph."""
        height = LEADING * size * POINT
        for line in broken(text, self.width - indent, size, weight):
            self.put(line, self.left + indent, self.y, size, weight)
            self.y -= height
        self.y -= after

    def put(
        self, text: str, x: float, y: float, size: float, weight: str = "normal", ha: str = "left"
    ) -> None:
        """A line of text with its top there."""
        self.axes.text(
            x, y - 0.86 * size * POINT, text, size=size, weight=weight, ha=ha, va="baseline", parse_math=False
        )

    def row(self, cells: list[tuple[str, float, str]], size: float, gap: float = 0.8) -> None:
        """Cells beside each other: text, width [mm], weight; the row is as high as its highest."""
        x, deepest = self.left, self.y
        for text, width, weight in cells:
            cell = Column(self.axes, x, self.y, width - 2.0)
            cell.text(text, size, weight)
            deepest, x = min(deepest, cell.y), x + width
        self.y = deepest - gap

    def rule(self, width: float = 0.5, after: float = 1.0) -> None:
        """A line across."""
        self.axes.plot((self.left, self.left + self.width), (self.y, self.y), color="black", linewidth=width)
        self.y -= after
