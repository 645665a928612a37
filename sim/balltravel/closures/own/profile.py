"""Seat and cage of a check from a drawing: points of the wall in a CSV text, and how a ball sits in it.

The wall is a chain of straight lines from the bore below the seat to the cage; both go on straight from its
ends. A fault is one sentence: what was given, what is allowed, an example.
"""

import math
import re
from collections.abc import Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from balltravel.units import UnitError, to_si, to_text

Point = tuple[float, float]

LEAST_POINTS, MOST_POINTS = 3, 200
HEADER = "r (mm), z (mm)"
EXAMPLE = "10.5, 0"
NARROWEST, WIDEST = 0.5e-3, 0.25
"""Radii of a wall that are accepted [m]; beyond, the unit in the header is surely a slip."""

STRAIGHT = 1e-9
"""Sine of an angle below which two lines are one."""


class Seat(NamedTuple):
    """Where a ball sits in a wall: height of its centre [m], radius of the circle of contact [m], and the
    cone that it touches: half angle [rad], 0 at a corner, and the radii between which it lies [m]."""

    centre: float
    contact: float
    half_angle: float
    bore: float
    mouth: float


def begins_as_profile(text: str) -> bool:
    """Whether a text's header names the columns of a wall, be its units and points sound or not."""
    lines = (line for line in text.splitlines() if line.strip() and not line.startswith("#"))
    return re.match(r"\s*[rd]\b[^,]*,\s*z\b[^,]*$", next(lines, "")) is not None


def read_profile(text: str) -> tuple[Point, ...]:
    """Radii and heights [m] of a wall, from the bore to the cage: a header that names the units, then a row a
    point; ``d`` instead of ``r`` for diameters. Lines that begin with # are remarks. Raises UnitError.
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.startswith("#")
    ]
    if not lines:
        raise UnitError("an empty file", f"a header and {LEAST_POINTS} points or more", HEADER)
    share, units = _header(lines[0][1])
    if not LEAST_POINTS <= len(lines) - 1 <= MOST_POINTS:
        given = f"number of points {len(lines) - 1}"
        raise UnitError(given, f"{LEAST_POINTS} to {MOST_POINTS}, from the bore to the cage", EXAMPLE)
    points = [_point(number, line, units) for number, line in lines[1:]]
    return checked_wall([(share * r, z) for r, z in points])


def _header(line: str) -> tuple[float, tuple[str, str]]:
    """The share of a radius that the first column is, and both units."""
    allowed = "two columns with a comma between, r (or d) and z, each with its unit of length in brackets"
    given = f"{line.strip()[:60]!r} as header"
    columns = [column.strip() for column in line.split(",")]
    shares = {"r": 1.0, "d": 0.5}
    if len(columns) != 2 or not all(c.endswith(")") and "(" in c for c in columns):
        raise UnitError(given, allowed, HEADER)
    names, units = zip(*(column[:-1].split("(", 1) for column in columns), strict=True)
    if names[0].strip() not in shares or names[1].strip() != "z":
        raise UnitError(given, allowed, HEADER)
    try:
        for unit in units:
            to_si(f"1 {unit.strip()}", "length")
    except UnitError:
        raise UnitError(f"{given}: no unit of length", allowed, HEADER) from None
    return shares[names[0].strip()], (units[0].strip(), units[1].strip())


def _point(number: int, line: str, units: tuple[str, str]) -> Point:
    cells = [cell.strip() for cell in line.split(",")]
    try:
        if len(cells) != 2:
            raise UnitError(f"{line.strip()[:60]!r}", "a radius and a height, with a comma between", EXAMPLE)
        return to_si(f"{cells[0]} {units[0]}", "length"), to_si(f"{cells[1]} {units[1]}", "length")
    except UnitError as error:
        raise UnitError(f"line {number}: {error.given}", error.allowed, EXAMPLE) from None


def checked_wall(points: Sequence[Point]) -> tuple[Point, ...]:
    """The wall without its straight ends and without points on a straight line, from the bore upward. Raises
    UnitError for one that is no wall."""
    numbers = [number for point in points for number in point]
    if not all(map(math.isfinite, numbers)):
        raise UnitError("a point that is no number", "finite radii and heights", EXAMPLE)
    low, high = min(r for r, _ in points), max(r for r, _ in points)
    if low < NARROWEST or high > WIDEST:
        wrong = to_text(low if low < NARROWEST else high, "length")
        allowed = (
            f"radii of {to_text(NARROWEST, 'length')} to {to_text(WIDEST, 'length')}: is the unit in the "
            "header right?"
        )
        raise UnitError(f"a radius of {wrong}", allowed, HEADER)
    if points[0][0] > points[-1][0] and points[0][1] > points[-1][1]:
        points = points[::-1]
    wall = _without_straight(points)
    if wall[0][0] >= wall[-1][0]:
        allowed = "a wall from the bore below the seat to the cage, which is wider"
        raise UnitError("the profile is open: it does not widen from bore to cage", allowed, HEADER)
    _refuse_crossing(wall)
    return wall


def _without_straight(points: Sequence[Point]) -> tuple[Point, ...]:
    """Its corners alone: the bore goes on down from the first, the cage up from the last."""
    rest = list(dict.fromkeys(points))
    while len(rest) > 1 and rest[1][0] == rest[0][0] and rest[1][1] > rest[0][1]:
        del rest[0]
    while len(rest) > 1 and rest[-2][0] == rest[-1][0] and rest[-2][1] < rest[-1][1]:
        del rest[-1]
    corners = rest[:1]
    for here, after in pairwise(rest[1:]):
        if _turns(corners[-1], here, after):
            corners.append(here)
    return (*corners, *rest[1:][-1:])


def _turns(before: Point, here: Point, after: Point) -> bool:
    """Whether two lines that meet at a point are not one."""
    a, b = (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
    length = math.hypot(*a) * math.hypot(*b)
    return abs(a[0] * b[1] - a[1] * b[0]) > STRAIGHT * length or a[0] * b[0] + a[1] * b[1] < 0.0


def _refuse_crossing(wall: Sequence[Point]) -> None:
    far = 10.0 * max(abs(number) for point in wall for number in point)
    lines = [*pairwise([(wall[0][0], -far), *wall, (wall[-1][0], far)])]
    for (i, first), (k, second) in combinations(enumerate(lines), 2):
        if not _meet(first, second, k == i + 1):
            continue
        if i == 0 or k == len(lines) - 1:
            end = "bore" if i == 0 else "cage"
            given = f"the profile is open: the {end}, which goes on straight from its end, meets the wall"
            raise UnitError(
                given, "a wall between two straight ends, the bore below and the cage above", HEADER
            )
        corner = f"r {to_text(second[0][0], 'length')}, z {to_text(second[0][1], 'length')}"
        raise UnitError(f"the profile crosses itself near {corner}", "a wall that never meets itself", HEADER)


def _meet(first: tuple[Point, Point], second: tuple[Point, Point], next_to: bool) -> bool:
    """Whether two lines have a point in common, other than the corner of neighbours."""
    (a, b), (c, d) = first, second

    def side(p: Point, q: Point, x: Point) -> float:
        return (q[0] - p[0]) * (x[1] - p[1]) - (q[1] - p[1]) * (x[0] - p[0])

    if next_to:  # neighbours meet at their corner; one that turns right back lies on the other
        back = (b[0] - a[0]) * (d[0] - c[0]) + (b[1] - a[1]) * (d[1] - c[1]) < 0.0
        return back and abs(side(a, b, d)) <= STRAIGHT * math.dist(a, b) * math.dist(c, d)
    apart = side(a, b, c) * side(a, b, d) > 0.0 or side(c, d, a) * side(c, d, b) > 0.0
    boxes = all(
        max(min(a[k], b[k]), min(c[k], d[k])) <= min(max(a[k], b[k]), max(c[k], d[k])) for k in (0, 1)
    )
    return boxes and not apart


def seat_in(wall: Sequence[Point], ball: float) -> Seat:
    """Where a ball [radius, m] that comes down from the cage sits. Raises UnitError where it does not."""
    size = to_text(2.0 * ball, "length")
    if wall[-1][0] <= ball:
        cage = to_text(2.0 * wall[-1][0], "length")
        raise UnitError(
            f"a ball of {size} cannot pass into a cage of {cage}", "a cage wider than the ball", HEADER
        )
    if min(r for r, _ in wall) >= ball:
        narrow = to_text(2.0 * min(r for r, _ in wall), "length")
        given = f"a ball of {size} falls through: the narrowest place has {narrow}"
        raise UnitError(
            given, "a seat narrower than the ball (r in the header is a radius, d a diameter)", HEADER
        )
    touched = [
        _touched(*line, ball) for line in pairwise((wall[0], *wall)) if min(line[0][0], line[1][0]) < ball
    ]
    seat = max(touched, key=lambda seat: seat.centre)
    if any(r > ball and z < seat.centre for r, z in _before(wall, seat)):
        throat = to_text(2.0 * seat.contact, "length")
        given = f"a ball of {size} cannot pass in: it stops at a throat of {throat} above a wider place"
        raise UnitError(given, "a way from the cage to the seat that is wider than the ball", HEADER)
    return seat


def _before(wall: Sequence[Point], seat: Seat) -> list[Point]:
    """The corners below the circle of contact, on the way from the bore."""
    reached = [i for i, (r, _) in enumerate(wall) if r in (seat.contact, seat.mouth)]
    return list(wall[: reached[0]]) if reached else []


def _touched(start: Point, end: Point, ball: float) -> Seat:
    """Where a ball from above touches a line: in between, where its flank has the ball's slope, or an end."""
    (r0, z0), (r1, z1) = start, end
    if r1 > r0 and z1 > z0:
        slope = (z1 - z0) / (r1 - r0)
        radius = ball * slope / math.hypot(1.0, slope)
        if r0 < radius < r1:
            half_angle = math.atan2(r1 - r0, z1 - z0)
            height = z0 + slope * (radius - r0)
            centre = height + math.sqrt(ball * ball - radius * radius)
            return Seat(centre, radius, half_angle, r0, r1)
    ends = [(z + math.sqrt(ball * ball - r * r), r) for r, z in (start, end) if r < ball]
    centre, radius = max(ends)
    return Seat(centre, radius, 0.0, radius, radius)
