"""Solves of one check over its lifts: creeping flow and the liquid's inertia. Needs the extra ``fem``."""

from balltravel.closures.fem.creeping import resistance
from balltravel.closures.fem.points import COARSE
from balltravel.closures.fem.potential import inertia
from balltravel.closures.fem.section import RUN, Section, cone, sharp_edge
from balltravel.closures.own.shape import Shape

Row = tuple[float, ...]


def section_of(shape: Shape, lift: float) -> Section:
    """The section at a lift over the radius of the circle of contact; its own length is the bore's radius."""
    b = shape.bore
    ball, cage = shape.ball / b, shape.cage / b
    if not shape.wall:
        if not shape.half_angle:
            return sharp_edge(ball, cage, lift / b)
        return cone(ball, cage, lift / b, shape.half_angle, shape.mouth / b, shape.land / b)
    wall = tuple((r / b, z / b) for r, z in shape.wall)
    centre = (shape.seated + lift) / b
    # The straight bores begin where the wall ends, and where the ball does.
    below, above = max(ball - centre - 1.0, 0.0), max(wall[-1][1] - centre - ball, 0.0)
    return Section(ball, cage, centre, wall, run_in=RUN + below, run_out=RUN + above / cage)


def solve_own(shape: Shape, lift: float, fineness: float = COARSE) -> Row:
    """A row of CheckTable at a lift over the radius of the circle of contact."""
    section, b = section_of(shape, lift), shape.bore
    flow, mass = resistance(section, fineness), inertia(section, fineness)
    creeping = (flow.Rqq / b**3, flow.Rqw / b, flow.S * b)
    return (lift, *creeping, mass.Mqq / b, mass.Mqw * b, mass.Mww * b**3)
