"""Our own drawing of a lower in section: on the left the whole, on the right its foot valve, each size that
is asked with its letter. Nobody's lower, and not to scale; in grey, so that it prints."""

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.patches import Circle

from balltravel.bench.new.blanks import BY_NAME
from balltravel.report.figures.section import PRINTED, Place, draw_section
from balltravel.report.section.check import CheckSizes
from balltravel.report.section.lower import LowerSizes, foot_valve_shapes, lower_shapes
from balltravel.report.section.shapes import Shape

WIDTH, HEIGHT = 186.0, 116.0
"""Of the whole drawing [mm]."""

INK, THIN = "#000000", 0.6

INVENTED = LowerSizes(
    inlet=CheckSizes(
        ball=7.5, bore=5.4, mouth=5.4, mouth_height=0.0, seat_length=5.0, cage=10.0, outside=13.0,
        ball_at_rest=5.2, travel=4.0, pins=2.2, below=(("1", 0.9), ("2", 0.9)), above=(("3", 1.8),),
        cage_length=17.7, pad=2.5,
    ),
    piston=CheckSizes(
        ball=6.0, bore=4.2, mouth=4.2, mouth_height=0.0, seat_length=6.0, cage=8.0, outside=9.5,
        ball_at_rest=4.3, travel=3.0, pins=1.0, below=(), above=(), cage_length=14.5, pad=0.0,
    ),
    bore=14.5, rod=9.5, stroke=30.0, hose=8.5, wall=2.5,
)  # fmt: skip
"""In millimetres of paper, where the whole is drawn."""

WHOLE, FOOT_VALVE = Place(28.0, 23.0, 1.0), Place(44.0, 34.0, 2.35)
"""Where both stand, each right of its corner."""


class Pen:
    """Draws on axes in millimetres of paper, about an origin."""

    def __init__(self, axes: Axes, left: float, bottom: float) -> None:
        self.axes, self.left, self.bottom = axes, left, bottom

    def ghost(self, x: float, y: float, radius: float) -> None:
        """A ball where it will be."""
        place = (self.left + x, self.bottom + y)
        self.axes.add_patch(
            Circle(place, radius, facecolor="none", edgecolor=INK, linestyle="--", linewidth=THIN, zorder=1.5)
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


def draw_sheet(axes: Axes, left: float, bottom: float) -> None:
    """Draw both with their lower left corner there [mm]."""
    _whole(_drawn(axes, left, bottom, WHOLE, lower_shapes(INVENTED)))
    _foot_valve(_drawn(axes, left + 79.0, bottom, FOOT_VALVE, foot_valve_shapes(INVENTED)))


def _drawn(axes: Axes, left: float, bottom: float, place: Place, shapes: Sequence[Shape]) -> Pen:
    """Draw shapes; a pen for what is written about them."""
    on_sheet = Place(left + place.axis, bottom + place.seat, place.scale)
    draw_section(axes, shapes, looks=PRINTED, place=on_sheet)
    return Pen(axes, left, bottom)


def _whole(pen: Pen) -> None:
    """Cylinder, rod, piston at the bottom of its stroke, foot valve, suction hose."""
    s, x, y = INVENTED, WHOLE.x, WHOLE.y
    low, top = s.piston_at_bottom, s.piston_at_bottom + s.stroke
    pen.size("stroke", (x(-24.0), y(low)), (x(-24.0), y(top)))
    for height in (low, top):
        pen.line((x(-26.0), y(height)), (x(-s.bore), y(height)))
    pen.line((x(-s.bore), y(top)), (x(s.bore), y(top)), style=":")
    pen.size("bore", (x(-s.bore), y(top + 8.0)), (x(s.bore), y(top + 8.0)))
    pen.size("rod", (x(-s.rod), y(s.ceiling - 7.0)), (x(s.rod), y(s.ceiling - 7.0)))
    pen.size("hose", (x(-s.hose), y(s.bottom + 4.0)), (x(s.hose), y(s.bottom + 4.0)))
    pen.size("length", (x(22.0), y(s.bottom)), (x(22.0), y(-s.inlet.seat_length)))
    for height, edge in ((s.bottom, s.hose), (-s.inlet.seat_length, s.outside)):
        pen.line((x(edge), y(height)), (x(24.0), y(height)))
    names = x(27.0)
    pen.lead("rod", names, y(s.ceiling + 7.0), (x(6.0), y(s.ceiling + 7.0)))
    pen.lead("upper packing", names, y(s.ceiling + 2.0), (x(1.15 * s.rod), y(s.ceiling + 2.0)))
    pen.lead("outlet", names, y(s.ceiling - 4.0), (x(20.0), y(s.ceiling - 4.0)))
    pen.lead("stroke's top", names, y(top), (x(s.bore), y(top)))
    ball = low + s.piston.seat_length + s.piston.ball_at_rest
    pen.lead("piston, its ball", names, y(ball), (x(4.0), y(ball)))
    pen.lead("foot valve", names, y(8.0), (x(4.0), y(s.inlet.ball_at_rest)))
    pen.name(f"{BY_NAME['rate'].letter}  cycles a minute: up and down is one", 0.0, -4.0)


def _foot_valve(pen: Pen) -> None:
    """Seat, shims below, cage with its stop, ball, shims above."""
    c, x, y = INVENTED.inlet, FOOT_VALVE.x, FOOT_VALVE.y
    ball_top, wall, names = c.ball_at_rest + c.ball, 0.5 * (c.cage + c.outside), 90.5
    pen.ghost(x(0.0), y(c.ball_at_rest + c.travel), FOOT_VALVE.scale * c.ball)
    for radius in (-c.cage, c.cage):
        pen.line((x(radius), y(c.top)), (x(radius), y(c.top + 4.0)), style="--")
    pen.size("cage", (x(-c.cage), y(c.top + 3.0)), (x(c.cage), y(c.top + 3.0)))
    pen.size("ball", (x(-c.ball), y(c.ball_at_rest)), (x(c.ball), y(c.ball_at_rest)))
    pen.size("seat", (x(-c.bore), y(-3.2)), (x(c.bore), y(-3.2)))
    for height in (ball_top, c.stop):
        pen.line((x(0.0), y(height)), (x(6.0), y(height)))
    pen.size("travel", (x(4.5), y(ball_top)), (x(4.5), y(c.stop)))
    pen.letter("made of", x(0.0), y(1.0))
    below, above = c.mouth_height, c.cage_top
    for height, levels in (
        (c.cage_bottom, [below + 0.5 * c.below[0][1], c.cage_bottom - 0.5 * c.below[1][1]]),
        (above + 0.9, [above + 0.5 * c.above[0][1]]),
    ):
        pen.letter("shims", 92.0, y(height))
        for level in levels:
            pen.line((89.3, y(height)), (x(wall), y(level)))
    pen.letter("below", 98.5, y(c.cage_bottom))
    pen.name("shims below", 89.3, y(c.cage_bottom) - 5.0)
    pen.name("shims above", 89.3, y(above + 0.9) + 5.0)
    pen.lead("cage", names, y(9.0), (x(wall), y(9.0)))
    pen.lead("stop", names, y(c.stop - 2.0), (x(2.0), y(c.stop + 0.5)))
    pen.lead("seat", names, y(-2.5), (x(11.0), y(-2.5)))
    pen.name("flow", x(-5.5), y(-9.0), "right")
    pen.axes.annotate(
        "", (pen.left + x(0.0), pen.bottom + y(-5.5)), (pen.left + x(0.0), pen.bottom + y(-11.0)),
        arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.2},
    )  # fmt: skip
