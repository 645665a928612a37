"""Our own drawing of a lower in section: on the left the whole, on the right its foot valve, each size that
is asked with its letter. Nobody's lower, and not to scale; black on white, so that it prints in grey."""

from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Circle, Rectangle

from balltravel.bench.new.blanks import BY_NAME

WIDTH, HEIGHT = 186.0, 116.0
"""Of the whole drawing [mm]."""

INK, THIN, GREY = "#000000", 0.6, "#555555"
_METAL: dict[str, Any] = {"facecolor": "white", "edgecolor": INK, "linewidth": 0.8}


class Pen:
    """Draws on axes in millimetres of paper, about an origin."""

    def __init__(self, axes: Axes, left: float, bottom: float) -> None:
        self.axes, self.left, self.bottom = axes, left, bottom

    def metal(self, x: float, y: float, width: float, height: float, hatch: str = "////") -> None:
        """A part that is cut."""
        corner = (self.left + x, self.bottom + y)
        self.axes.add_patch(Rectangle(corner, width, height, hatch=hatch, **_METAL))

    def both(
        self, x: float, y: float, width: float, height: float, middle: float, hatch: str = "////"
    ) -> None:
        """The same on both sides of an axis at ``middle``."""
        self.metal(x, y, width, height, hatch)
        self.metal(2.0 * middle - x - width, y, width, height, hatch)

    def dark(self, x: float, y: float, width: float, height: float, middle: float) -> None:
        """A thin part on both sides of an axis at ``middle``, dark to be seen."""
        for left in (x, 2.0 * middle - x - width):
            corner = (self.left + left, self.bottom + y)
            style: dict[str, Any] = {"facecolor": "#555555", "edgecolor": INK, "linewidth": 0.5}
            self.axes.add_patch(Rectangle(corner, width, height, **style))

    def ball(self, x: float, y: float, radius: float, ghost: bool = False) -> None:
        """A ball; dashed where it will be."""
        style: dict[str, Any] = (
            {"facecolor": "none", "linestyle": "--", "linewidth": THIN} if ghost else {"facecolor": "#dddddd"}
        )
        self.axes.add_patch(
            Circle((self.left + x, self.bottom + y), radius, edgecolor=INK, zorder=1.5, **style)
        )

    def line(self, *points: tuple[float, float], style: str = "-", width: float = THIN) -> None:
        """A line through points."""
        x, y = zip(*points, strict=True)
        self.axes.plot(
            [self.left + a for a in x],
            [self.bottom + b for b in y],
            color=INK,
            linestyle=style,
            linewidth=width,
        )

    def size(self, name: str, start: tuple[float, float], end: tuple[float, float], at: float = 0.5) -> None:
        """A dimension with arrows at both ends and the letter of its blank on the line."""
        ends = [(self.left + x, self.bottom + y) for x, y in (start, end)]
        arrow = {"arrowstyle": "<|-|>", "color": INK, "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0}
        self.axes.annotate("", ends[1], ends[0], arrowprops={**arrow, "mutation_scale": 7})
        x, y = (start[i] + at * (end[i] - start[i]) for i in (0, 1))
        self.letter(name, x, y)

    def letter(self, name: str, x: float, y: float) -> None:
        """The letter of a blank in its circle."""
        place = (self.left + x, self.bottom + y)
        self.axes.add_patch(Circle(place, 2.7, facecolor="white", edgecolor=INK, linewidth=0.9, zorder=5))
        self.axes.text(
            *place, BY_NAME[name].letter, ha="center", va="center_baseline", size=8.5, weight="bold", zorder=6
        )

    def name(self, text: str, x: float, y: float, ha: str = "left") -> None:
        """What a part is."""
        self.axes.text(
            self.left + x, self.bottom + y, text, ha=ha, va="center", size=7.5, color=INK, zorder=6
        )

    def lead(self, text: str, x: float, y: float, *to: tuple[float, float]) -> None:
        """A name to the right of the drawing with lines to what it names."""
        for point in to:
            self.line((x - 1.0, y), point)
            self.axes.plot(self.left + point[0], self.bottom + point[1], ".", color=INK, markersize=3)
        self.name(text, x, y)


def draw_section(axes: Axes, left: float, bottom: float) -> None:
    """Draw the section with its lower left corner there [mm]."""
    _whole(Pen(axes, left, bottom))
    _foot_valve(Pen(axes, left + 79.0, bottom))


def _whole(pen: Pen) -> None:
    """Cylinder, rod, piston at the bottom of its stroke, foot valve, suction hose."""
    middle = 36.0
    pen.metal(19.0, 26.0, 5.0, 68.0)  # cylinder, open at its outlet
    pen.metal(48.0, 26.0, 5.0, 54.0)
    pen.metal(48.0, 85.0, 5.0, 9.0)
    pen.both(24.0, 88.0, 4.0, 6.0, middle, "xxxx")  # upper packing, around the rod
    pen.metal(28.0, 62.0, 16.0, 52.0, "")  # rod
    pen.line((26.0, 114.0), (33.0, 115.5), (39.0, 112.5), (46.0, 114.0))
    pen.both(24.0, 46.0, 7.0, 9.0, middle)  # piston
    pen.both(24.0, 55.0, 4.0, 7.0, middle, "")
    pen.ball(middle, 56.7, 5.2)
    pen.both(24.0, 48.0, 1.2, 5.0, middle, "xxxx")  # lower packing
    pen.line((19.0, 76.5), (48.0, 76.5), style=":")
    pen.both(24.0, 22.0, 6.5, 5.0, middle)  # foot valve: seat, ball, cage
    pen.both(19.0, 22.0, 5.0, 4.0, middle)
    pen.ball(middle, 30.5, 6.5)
    pen.both(24.0, 27.0, 2.5, 12.5, middle, "")
    pen.line((26.5, 38.5), (45.5, 38.5), width=1.2)
    pen.both(27.5, 0.0, 1.8, 22.0, middle, "")  # suction hose
    pen.size("stroke", (12.0, 46.0), (12.0, 76.5))
    for y in (46.0, 76.5):
        pen.line((10.0, y), (24.0, y))
    pen.size("bore", (24.0, 42.5), (48.0, 42.5))
    pen.size("rod", (28.0, 103.0), (44.0, 103.0))
    pen.size("hose", (29.3, 12.0), (42.7, 12.0))
    pen.size("length", (55.0, 0.5), (55.0, 22.0))
    for y in (0.5, 22.0):
        pen.line((46.0, y), (57.0, y))
    pen.lead("upper packing", 56.0, 98.0, (46.0, 91.0))
    pen.lead("rod", 56.0, 108.0, (42.0, 110.0))
    pen.lead("outlet", 56.0, 86.0, (50.0, 82.5))
    pen.lead("stroke's top", 56.0, 76.5, (48.0, 76.5))
    pen.lead("piston, its ball", 56.0, 60.0, (39.0, 57.5))
    pen.lead("foot valve", 56.0, 32.0, (40.0, 31.0))
    pen.name(f"{BY_NAME['rate'].letter}  cycles a minute: up and down is one", 0.0, -4.0)


def _foot_valve(pen: Pen) -> None:
    """Seat, shims below, cage with its stop, ball, shims above."""
    middle = 44.0
    pen.both(2.0, 16.0, 7.0, 90.0, middle)  # housing
    pen.both(9.0, 16.0, 20.5, 16.0, middle, "\\\\\\\\")  # seat
    for height in (32.0, 34.2):  # shims below
        pen.both(9.0, height, 8.5, 2.2, middle, "")
    pen.both(9.0, 36.4, 8.5, 48.0, middle, "///")  # cage
    pen.metal(17.5, 80.4, 53.0, 4.0, "///")  # bar of the cage
    pen.metal(39.0, 76.4, 10.0, 4.0, "///")  # stop
    pen.both(9.0, 84.4, 8.5, 4.0, middle, "")  # shim above
    pen.both(9.0, 88.4, 8.5, 17.6, middle, "\\\\\\\\")
    pen.ball(middle, 45.6, 20.0)
    pen.ball(middle, 56.4, 20.0, ghost=True)
    for x in (17.5, 70.5):
        pen.line((x, 84.4), (x, 113.0), style="--")
    pen.size("cage", (17.5, 111.0), (70.5, 111.0))
    pen.size("ball", (24.0, 45.6), (64.0, 45.6))
    pen.size("seat", (29.5, 20.0), (58.5, 20.0))
    pen.line((middle, 65.6), (57.0, 65.6))
    pen.line((49.0, 76.4), (57.0, 76.4))
    pen.size("travel", (54.0, 65.6), (54.0, 76.4))
    pen.letter("made of", middle, 35.0)
    for y, to in ((34.3, ((75.0, 33.1), (75.0, 35.3))), (86.4, ((75.0, 86.4),))):
        pen.letter("shims", 92.0, y)
        for point in to:
            pen.line((89.3, y), point)
    pen.letter("below", 98.5, 34.3)
    pen.name("shims below", 89.3, 29.3)
    pen.name("shims above", 89.3, 91.4)
    pen.lead("cage", 90.5, 62.0, (74.0, 62.0))
    pen.lead("stop", 90.5, 78.5, (47.0, 78.4))
    pen.lead("seat", 90.5, 22.0, (72.0, 22.0))
    pen.name("flow", 30.5, 8.0, "right")
    pen.axes.annotate(
        "", (pen.left + middle, pen.bottom + 15.0), (pen.left + middle, pen.bottom + 3.0),
        arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.2},
    )  # fmt: skip
