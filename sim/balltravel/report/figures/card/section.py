"""The foot valve in section with the shims where they go: ball, seat, cage, travel and shims to scale, a cage
with ribs cut through its openings. The thickness of walls and stop, which no file has, is drawn as it may be.
"""

import math

from matplotlib.axes import Axes
from matplotlib.patches import Polygon

from balltravel.report.figures.worksheet.section import INK, Pen
from balltravel.report.tables import bench, shim_names
from balltravel.scenario.lower import Check
from balltravel.scenario.model import Scenario
from balltravel.study.travel.trials import Choice

WIDTH, HEIGHT = 84.0, 74.0
"""Of the drawing with its names [mm]."""

NAMES = 27.0
"""Room for the names on the right [mm]."""

WALL, STOP, SEAT, SPARE = 0.13, 0.1, 0.3, 0.12
"""Over the ball's diameter: wall of cage and housing, stop, seat, and what holds the shims down."""


class _Sizes:
    """Heights above the top of the seat and radii from the axis [m]."""

    def __init__(self, scenario: Scenario, choice: Choice) -> None:
        check, thick = scenario.inlet_check, scenario.shims.thicknesses
        self.check, self.ball = check, 0.5 * check.ball_diameter
        self.seat = 0.5 * check.seat_diameter
        self.below = [thick[n - 1] for n in choice.shims_below]
        self.above = [thick[n - 1] for n in choice.shims_above]
        wall = WALL * check.ball_diameter
        self.cage = 0.5 * check.passage_diameter
        self.sleeve = self.cage + wall
        self.housing = self.sleeve + wall
        self.contact, self.mouth, drop = _contact(check)
        self.centre = math.sqrt(self.ball**2 - self.contact**2) - drop
        self.drop = drop
        self.stop = self.centre + self.ball + choice.ball_travel
        self.bridge = self.stop + STOP * check.ball_diameter
        self.top = self.bridge + sum(self.above) + SPARE * check.ball_diameter
        self.bottom = -max(SEAT * check.ball_diameter, 1.5 * drop)

    @property
    def scale(self) -> float:
        """Millimetres of paper a metre."""
        return min((WIDTH - NAMES) / (2.0 * self.housing), HEIGHT / (self.top - self.bottom))


def _contact(check: Check) -> tuple[float, float, float]:
    """Of the seat: radius of the contact, radius of its mouth, and how far below the top of the seat the
    contact lies [m]."""
    contact = 0.5 * check.contact_diameter
    if check.seat != "cone" or check.seat_half_angle is None or check.seat_mouth_diameter is None:
        return contact, contact, 0.0
    mouth = max(0.5 * check.seat_mouth_diameter, contact)
    return contact, mouth, (mouth - contact) / math.tan(check.seat_half_angle)


class _Drawing:
    """Draws in metres about the axis of the check."""

    def __init__(self, axes: Axes, left: float, bottom: float, sizes: _Sizes) -> None:
        self.s, self.k = sizes, sizes.scale
        self.middle = self.k * sizes.housing
        self.pen = Pen(axes, left, bottom)

    def x(self, radius: float) -> float:
        """Millimetres of a place right of the axis."""
        return self.middle + self.k * radius

    def y(self, height: float) -> float:
        """Millimetres of a height above the seat."""
        return self.k * (height - self.s.bottom)

    def ring(self, inner: float, outer: float, low: float, high: float, hatch: str = "") -> None:
        """A part that is cut, on both sides."""
        self.pen.both(
            self.x(inner), self.y(low), self.k * (outer - inner), self.k * (high - low), self.middle, hatch
        )

    def shims(self, low: float, thicknesses: list[float]) -> float:
        """A stack of shims; where it ends."""
        for thickness in thicknesses:
            self.pen.dark(self.x(self.s.cage), self.y(low), self.k * (self.s.sleeve - self.s.cage),
                          self.k * thickness, self.middle)  # fmt: skip
            low += thickness
        return low

    def seat(self) -> None:
        """On both sides, with its cone."""
        s = self.s
        bore = min(s.seat, s.contact)
        deep = s.drop + (s.contact - bore) / math.tan(s.check.seat_half_angle or math.inf) if s.drop else 0.0
        for side in (1.0, -1.0):
            corners = [(s.mouth, 0.0), (s.housing, 0.0), (s.housing, s.bottom), (bore, s.bottom),
                       (bore, max(-deep, s.bottom))]  # fmt: skip
            places = [(self.pen.left + self.x(side * r), self.pen.bottom + self.y(h)) for r, h in corners]
            self.pen.axes.add_patch(
                Polygon(places, facecolor="white", edgecolor=INK, linewidth=0.8, hatch="\\\\\\\\")
            )


def height_of(scenario: Scenario, choice: Choice) -> float:
    """How high the section is [mm], at most HEIGHT."""
    sizes = _Sizes(scenario, choice)
    return sizes.scale * (sizes.top - sizes.bottom)


def draw_arrangement(axes: Axes, left: float, bottom: float, scenario: Scenario, choice: Choice) -> None:
    """Draw the section with its lower left corner there [mm]."""
    s = _Sizes(scenario, choice)
    d = _Drawing(axes, left, bottom, s)
    d.ring(s.sleeve, s.housing, 0.0, s.top, "////")
    d.seat()
    cage = d.shims(0.0, s.below)
    d.ring(s.cage, s.sleeve, cage, s.bridge, "///")
    d.pen.metal(d.x(-s.cage), d.y(s.stop), 2.0 * d.k * s.cage, d.k * (s.bridge - s.stop), "///")
    above = d.shims(s.bridge, s.above)
    d.ring(s.cage, s.sleeve, above, s.top, "\\\\\\\\")
    d.pen.ball(d.middle, d.y(s.centre), d.k * s.ball)
    d.pen.ball(d.middle, d.y(s.centre + choice.ball_travel), d.k * s.ball, ghost=True)
    _names(d, choice, cage, above)


def _names(d: _Drawing, choice: Choice, cage: float, above: float) -> None:
    """What is where, right of the section, from the top down without touching each other."""
    s, pen = d.s, d.pen
    right, edge = 0.5 * (s.cage + s.sleeve), d.x(s.housing) + 3.0
    ball_top = s.centre + s.ball
    travel = bench(choice.ball_travel, "length")
    rows = [
        ("shims ABOVE:", shim_names(choice.shims_above), right, 0.5 * (s.bridge + above)),
        ("stop, cage", "", 0.5 * s.cage, 0.5 * (s.stop + s.bridge)),
        ("ball travel", travel, 0.0, 0.5 * (ball_top + s.stop)),
        ("ball, seated", "", 0.6 * s.ball, s.centre),
        ("shims BELOW:", shim_names(choice.shims_below), right, 0.5 * cage),
        ("seat", "", s.housing - 0.3 * (s.housing - s.mouth), 0.6 * s.bottom),
    ]
    places = _apart([d.y(height) for *_, height in rows], [9.0 if below else 6.0 for _, below, *_ in rows])
    for (name, below, radius, height), y in zip(rows, places, strict=True):
        pen.lead(name, edge, y, (d.x(radius), d.y(height)))
        if below:
            for k, part in enumerate(_lines(below)):
                pen.name(part, edge, y - 3.3 * (k + 1))
    for height in (ball_top, s.stop):
        pen.line((d.x(-0.25 * s.ball), d.y(height)), (d.x(0.25 * s.ball), d.y(height)), width=1.2)


def _lines(names: str) -> list[str]:
    """Names of many shims on two lines."""
    parts = names.split("+")
    if len(parts) <= 7:
        return [names]
    return ["+".join(parts[:7]) + "+", "+".join(parts[7:])]


def _apart(wanted: list[float], room: list[float]) -> list[float]:
    """Places from the top down, as near to the wanted ones as their room lets them; none above the first."""
    places = [wanted[0]]
    for place, space in zip(wanted[1:], room[:-1], strict=True):
        places.append(min(place, places[-1] - space))
    low = places[-1]
    for k in range(len(places) - 1, -1, -1):  # up again where they left the drawing
        low = max(places[k], 0.0 if k == len(places) - 1 else low + room[k])
        places[k] = low
    return places
