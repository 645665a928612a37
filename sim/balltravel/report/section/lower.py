"""A whole lower in section, to scale: hose, foot valve with its shims, cylinder, piston with its check, rod.

Heights are above the bore edge of the inlet seat, radii from the axis. Bores, rod, stroke, hose, both checks
and the shims are the scenario's; walls, clearances and the throat packing are as they look well.
"""

from dataclasses import dataclass

from balltravel.report.section.check import CheckSizes, check_shapes, sizes_of
from balltravel.report.section.shapes import Frame, Moves, Part, Shape, box, raised, ring
from balltravel.scenario.model import Scenario


@dataclass(frozen=True)
class LowerSizes:
    """Sizes of the whole [m]."""

    inlet: CheckSizes
    piston: CheckSizes
    bore: float
    rod: float
    stroke: float
    hose: float
    wall: float

    @property
    def outside(self) -> float:
        """Radius of the cylinder's and the foot valve's outside."""
        return max(self.bore, self.inlet.outside) + self.wall

    @property
    def widest(self) -> float:
        """Radius of the whole: a hose may be wider than what it leads to."""
        return max(self.outside, self.hose + 0.5 * self.wall)

    @property
    def floor(self) -> float:
        """Lower end of the cylinder: the top of the foot valve with its shims."""
        return self.inlet.top

    @property
    def rim(self) -> float:
        """Radius out to which the piston reaches; from there to the cylinder is its packing."""
        return max(0.9 * self.bore, self.piston.outside)

    @property
    def piston_at_bottom(self) -> float:
        """Height of the piston's lower end at bottom dead centre."""
        return self.floor + 0.15 * self.bore

    @property
    def piston_height(self) -> float:
        """From the lower end of the piston to where its rod begins."""
        return self.piston.seat_length + self.piston.cage_top + 4.0 * self.piston.pins

    @property
    def ceiling(self) -> float:
        """Upper end of the cylinder."""
        return self.piston_at_bottom + self.stroke + self.piston_height + 0.45 * self.bore

    @property
    def bottom(self) -> float:
        """Lower end of the drawing: some hose."""
        return -self.inlet.seat_length - 1.1 * self.bore

    @property
    def top(self) -> float:
        """Upper end of the drawing: the rod at top dead centre."""
        return self.ceiling + 0.75 * self.bore + self.stroke


def lower_sizes(scenario: Scenario) -> LowerSizes:
    """The sizes of a scenario's lower as its shims are set."""
    shims, check = scenario.shims, scenario.inlet_check
    named = [(str(number), height) for number, height in enumerate(shims.thicknesses, 1)]
    below = [named[number - 1] for number in shims.below]
    above = [shim for number, shim in enumerate(named, 1) if number not in shims.below]
    travel = check.base_travel + sum(height for _, height in below)
    bore = scenario.lower.bore / 2.0
    return LowerSizes(
        inlet=sizes_of(check, travel, below, above),
        piston=sizes_of(scenario.piston_check, scenario.piston_check.travel, room=bore),
        bore=bore,
        rod=scenario.lower.rod / 2.0,
        stroke=scenario.lower.stroke,
        hose=scenario.suction.hose_diameter / 2.0,
        wall=0.14 * bore,
    )


def whole(s: LowerSizes) -> Frame:
    """The whole lower, its rod cut above the head."""
    left, right = s.widest + 0.1 * s.bore, max(s.outside + 0.5 * s.bore, s.widest + 0.1 * s.bore)
    return Frame(-left, s.bottom, right, s.ceiling + 0.55 * s.bore)


def close_up(s: LowerSizes) -> Frame:
    """The foot valve, and what is just below and above it."""
    return Frame(
        -s.outside,
        -s.inlet.seat_length - 0.3 * s.bore,
        s.outside,
        max(s.floor + 0.1 * s.bore, s.piston_at_bottom),
    )


def lower_shapes(s: LowerSizes) -> tuple[Shape, ...]:
    """All shapes, those behind first; the piston at bottom dead centre, both balls on their seats."""
    return (*_liquid(s), *_housing(s), *check_shapes(s.inlet, s.outside, Moves.INLET_BALL), *_piston(s))


def foot_valve_shapes(s: LowerSizes) -> tuple[Shape, ...]:
    """The foot valve alone, for a drawing at a larger scale."""
    return (
        *ring(Part.METAL, s.inlet.outside, s.outside, s.inlet.mouth_height, s.floor),
        *check_shapes(s.inlet, s.outside, Moves.INLET_BALL),
    )


def piston_check_shapes(s: LowerSizes) -> tuple[Shape, ...]:
    """The piston check alone, at rest on its own height."""
    return check_shapes(s.piston, s.bore, Moves.PISTON_BALL)


def _liquid(s: LowerSizes) -> tuple[Shape, ...]:
    port = -s.inlet.seat_length
    end, low, high = port - 0.5 * s.bore, s.ceiling - 0.4 * s.bore, s.ceiling - 0.12 * s.bore
    return (
        box(Part.LIQUID, -s.hose, s.hose, s.bottom, end),
        box(Part.LIQUID, -s.inlet.cage, s.inlet.cage, end, port),
        box(Part.LIQUID, -s.bore, s.bore, s.floor, s.ceiling),
        box(Part.LIQUID, s.bore, s.outside + 0.5 * s.bore, low, high),
    )


def _housing(s: LowerSizes) -> tuple[Shape, ...]:
    """Cylinder, foot valve's housing, hose, head with the throat packing; the outlet on the right."""
    port, out = -s.inlet.seat_length, s.outside + 0.5 * s.bore
    end, low, high = port - 0.5 * s.bore, s.ceiling - 0.4 * s.bore, s.ceiling - 0.12 * s.bore
    return (
        *ring(Part.METAL, s.hose, s.hose + 0.5 * s.wall, s.bottom, end),
        *ring(Part.METAL, min(s.hose, s.inlet.cage), s.widest, end - s.wall, end),
        *ring(Part.METAL, s.inlet.cage, s.outside, end, port),
        *ring(Part.METAL, s.inlet.outside, s.outside, s.inlet.mouth_height, s.floor),
        box(Part.METAL, -s.outside, -s.bore, s.floor, s.ceiling),
        box(Part.METAL, s.bore, s.outside, s.floor, low),
        box(Part.METAL, s.bore, s.outside, high, s.ceiling),
        box(Part.METAL, s.outside, out, low - s.wall, low),
        box(Part.METAL, s.outside, out, high, high + s.wall),
        *ring(Part.METAL, 1.35 * s.rod, s.outside, s.ceiling, s.ceiling + 0.45 * s.bore),
        *ring(Part.SEAL, s.rod, 1.35 * s.rod, s.ceiling, s.ceiling + 0.45 * s.bore),
    )


def _piston(s: LowerSizes) -> tuple[Shape, ...]:
    """Seat and packing, cage with its windows, rod."""
    base = s.piston_at_bottom + s.piston.seat_length
    check = check_shapes(s.piston, s.rim, Moves.PISTON_BALL, Moves.PISTON)
    top = s.piston_at_bottom + s.piston_height
    wide = s.piston.outside
    return (
        box(Part.METAL, -s.rod, s.rod, top, s.top - 0.15 * s.bore - s.stroke, Moves.PISTON),
        box(Part.METAL, -max(wide, s.rod), max(wide, s.rod), top - 2.0 * s.piston.pins, top, Moves.PISTON),
        *ring(Part.SEAL, s.rim, s.bore, s.piston_at_bottom, base, Moves.PISTON),
        *raised(check, base),
    )
