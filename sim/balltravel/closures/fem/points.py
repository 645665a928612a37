"""The points of the shipped tables of the ball over a sharp edge, and how one is solved.

Lengths in seat radii. Needs the extra ``fem``.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.fem.creeping import resistance
from balltravel.closures.fem.liquids import Liquid
from balltravel.closures.fem.potential import inertia
from balltravel.closures.fem.section import cone, sharp_edge
from balltravel.closures.fem.steady import FlowState, NotConvergedError, SteadyFlow
from balltravel.closures.table.off_axis_grid import meeting, reach
from balltravel.material.flow_laws import PowerLaw

FINE, COARSE = 0.15, 0.212
"""Size of the elements over the local width; the error falls with about its fourth power."""

LIFTS = (
    0.001, 0.002, 0.005, 0.01, 0.014, 0.02, 0.03, 0.045, 0.065, 0.09, 0.125, 0.17, 0.23,
    0.31, 0.42, 0.57, 0.78, 1.05, 1.4, 1.9, 2.5, 3.0,
)  # fmt: skip
BALLS = (1.12, 1.2, 1.3, 1.42, 1.58, 1.8)
RATIOS = (0.5, 0.58, 0.66, 0.74, 0.81, 0.87, 0.9, 0.93, 0.95)

WIDE_BALLS, WIDE_RATIOS = (1.12, 1.4, 1.8), (0.5, 0.7, 0.85, 0.95)
WIDE_LIFTS = (0.02, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.0)
"""The coarser grid of inertia and shear thinning."""

REYNOLDS = (10, 30, 60, 100, 150, 200, 300)
"""Reynolds numbers of the bore, 4 rho Q/(pi d_s mu), at which inertia is solved."""

EXPONENTS = (0.8, 0.6, 0.45, 0.3)
MEDIUM = 0.25
"""Size of the elements of the coarser grid: within 0.5 % of those of 0.15 at Re 200 (three points)."""

LEANS = (0.0, 0.35, 0.65, 0.9)
"""Offsets of a ball off its axis, as a share of that at which it touches edge or cage."""

OFF_AXIS_BALLS, OFF_AXIS_RATIOS = (1.4, 1.2, 1.7), (0.7, 0.5, 0.8)
OFF_AXIS_PARTS = ((1.0, 0.65, 1.5), (2.5, 0.8), (0.45, 5.0))
"""The grid of a ball off its axis, in the order of solving, with lifts over that at which a ball aside meets
edge and cage at once: a whole table of three lifts comes first."""

OFF_AXIS_CLOSER, OFF_AXIS_CLOSER_WIDE = (0.1, 0.2, 0.28, 0.4, 0.57, 0.8), (0.2, 0.28, 0.4)
"""Further lifts of the first ball and ratio, and of the wide cage, where the factors peak higher."""

IN_SPACE, HIGH_UP, HIGH = 0.6, 0.4, 1.0
"""Size of the elements in space over the local width; and from this lift on, where there would be few."""

CONE_ANGLES, CONE_RATIOS = (45.0, 30.0, 55.0), (0.75, 0.55, 0.92, 0.65, 0.84)
"""Half angles of a conical seat [degrees] and R/R_c, in the order of solving: the commonest come first."""

CONE_NEAR = 0.01
"""Lift up to which only a cross is solved, whose arms meet in the first angle and ratio: so near the seat the
changes along both add up."""

CONE_BORES = (0.64, 0.8, 0.9, 0.96)
CONE_MOUTHS = (0.03, 0.09, 0.25, 0.6, 1.0)
"""Bore of a cone over its circle of contact, and how far its mouth lies from there to the cage."""

CONE_LIFTS = (0.003, 0.008, 0.018, 0.036, 0.065, 0.11, 0.18, 0.3, 0.5, 0.85, 1.15, 1.5, 2.0, 2.6)

ON_CONE = 0.4
"""Size of the elements over a cone: within 0.1 % of those of 0.15 (four places)."""

DEVELOP = 12.0
"""Straight part in radii behind the ball in which a jet may spread, 1.5 times that in the bore."""

Array = NDArray[np.float64]
Row = tuple[float, ...]


class Kind(NamedTuple):
    """A table: what stands on top, its columns, how many of them are the place, all places in the order of
    solving, a solve, what it is solved by, and the digits written of a number."""

    about: tuple[str, ...]
    columns: tuple[str, ...]
    keys: int
    places: tuple[tuple[float, ...], ...]
    solve: Callable[..., Row]
    elements: str = "axisymmetric finite elements"
    tools: tuple[str, ...] = ("scikit-fem", "gmsh", "scipy")
    digits: int = 7


def solve_resistance(ball: float, ratio: float, lift: float) -> Row:
    """Numbers of the finer mesh, and how far the coarser one's are from them."""
    section = sharp_edge(ball, ball / ratio, lift)
    fine, coarse = resistance(section, FINE), resistance(section, COARSE)
    off = (abs(getattr(coarse, name) / getattr(fine, name) - 1.0) for name in ("Rqq", "Rqw", "S"))
    return (ball, ratio, lift, fine.Rqq, fine.Rqw, fine.Rww, fine.S, *off, abs(fine.Rwq / fine.Rqw - 1.0))


def solve_cone(
    degrees: float, bore: float, mouth: float, ratio: float, lift: float, fineness: float = ON_CONE
) -> Row:
    """The matrix over a cone in radii of its circle of contact; ``mouth``: how far it lies from there to the
    cage."""
    angle = math.radians(degrees)
    ball = 1.0 / math.cos(angle)
    wide = 1.0 + mouth * (ball / ratio - 1.0)
    # The section's own length is the radius of the bore.
    section = cone(ball / bore, ball / ratio / bore, lift / bore, angle, wide / bore)
    here = resistance(section, fineness)
    matrix = (here.Rqq / bore**3, here.Rqw / bore, here.S * bore)
    return (degrees, bore, mouth, ratio, lift, *matrix, abs(here.Rwq / here.Rqw - 1.0))


def solve_mass(ball: float, ratio: float, lift: float) -> Row:
    """Inertia of the liquid on the finer mesh, and how far the coarser one's is from it."""
    section = sharp_edge(ball, ball / ratio, lift)
    fine, coarse = inertia(section, FINE), inertia(section, COARSE)
    off = max(abs(b / a - 1.0) for a, b in zip(fine, coarse, strict=True))
    return (ball, ratio, lift, *fine, off)


def solve_off_axis(ball: float, ratio: float, lift: float, lean: float, fineness: float | None = None) -> Row:
    """The matrix of a ball off its axis by the order of its columns, and what the solve says of itself;
    ``fineness``: other elements than the table's."""
    import time

    from balltravel.closures.fem.half_check import HalfCheck
    from balltravel.closures.fem.off_axis import motions

    begun = time.process_time()
    offset = lean * float(reach(ball, ratio, lift))
    size = fineness or (HIGH_UP if lift >= HIGH else IN_SPACE)
    solve = motions(HalfCheck(ball, ball / ratio, lift, offset), size)
    above = solve.matrix[np.triu_indices(4)]
    spent = round(time.process_time() - begun)
    return (ball, ratio, lift, lean, offset, *above, solve.reciprocity, solve.elements, spent)


def with_inertia(ball: float, ratio: float, lift: float, way: float, fineness: float = MEDIUM) -> SteadyFlow:
    """The discrete problem with room for a jet to spread: up the cage (``way`` 1) or down the bore (-1)."""
    cage = ball / ratio
    runs = (3.0, DEVELOP) if way > 0.0 else (1.5 * DEVELOP, 3.0)
    widest = 0.35 if way > 0.0 else 0.35 / cage
    section = replace(sharp_edge(ball, cage, lift), run_in=runs[0], run_out=runs[1], widest=widest)
    return SteadyFlow(section, fineness)


def solve_inertia(ball: float, ratio: float, lift: float, way: float, fineness: float = MEDIUM) -> Row:
    """Loss of total pressure and force on the held ball over their creeping values, at each of REYNOLDS; nan
    from the first on at which no steady flow was found."""
    flow = with_inertia(ball, ratio, lift, way, fineness)
    base = flow.solve(way, 0.0)
    straight = abs(flow.straight(way))
    creeping = abs(base.power) - straight
    over_creeping: list[float] = []
    last, here = base, 0.0
    for reynolds in REYNOLDS:
        try:
            while here < reynolds:
                last, here = _onward(flow, way, last, here, float(reynolds))
        except NotConvergedError:
            break
        over_creeping += [(abs(last.power) - straight) / creeping, last.force / base.force]
    unknown = [math.nan] * (2 * len(REYNOLDS) - len(over_creeping))
    return (ball, ratio, lift, way, *over_creeping, *unknown)


def _onward(
    flow: SteadyFlow, way: float, near: FlowState, here: float, there: float
) -> tuple[FlowState, float]:
    """A steady flow nearer to a Reynolds number, in one step or a shorter one."""
    step = there - here
    while True:
        try:
            density = 0.5 * math.pi * (here + step)
            return flow.solve(way, 0.0, density=density, start=near.x, most_steps=9), here + step
        except NotConvergedError:
            step *= 0.5
            if step < 12.0:
                raise


def solve_thinning(ball: float, ratio: float, lift: float, fineness: float = MEDIUM) -> Row:
    """For each of EXPONENTS: k_q of the flow past the held ball, its F/dp over that of a Newtonian liquid,
    and k_w of a ball that moves at unit speed with the flow that needs no pressure drop by that F/dp."""
    flow = SteadyFlow(sharp_edge(ball, ball / ratio, lift), fineness)
    held = flow.solve(1.0, 0.0)
    Rqq = held.static - flow.straight(1.0)
    alpha = held.force / Rqq
    moved = flow.solve(alpha, 1.0)
    S = -(moved.force - alpha * (moved.static - flow.straight(alpha)))
    row: list[float] = []
    x, y = held.x, moved.x
    for n in EXPONENTS:
        liquid = Liquid(PowerLaw(1.0, n))
        thin = _patient(flow, 1.0, 0.0, liquid, x)
        drop = thin.static - flow.straight(1.0, liquid)
        leans = thin.force / drop
        ball_moves = _patient(flow, leans, 1.0, liquid, y)
        film = -(ball_moves.force - leans * (ball_moves.static - flow.straight(leans, liquid)))
        row += [(drop / Rqq) ** (1.0 / (n - 1.0)), leans / alpha, (film / S) ** (1.0 / (n - 1.0))]
        x, y = thin.x, ball_moves.x
    return (ball, ratio, lift, *row)


def _patient(flow: SteadyFlow, through: float, speed: float, liquid: Liquid, start: Array) -> FlowState:
    """A flow of a thinning liquid; where Newton's method strays, after more steps that keep the viscosity."""
    for fixed_point in (3, 8, 16):
        try:
            return flow.solve(through, speed, liquid=liquid, start=start, fixed_point=fixed_point)
        except NotConvergedError:
            continue
    return flow.solve(through, speed, liquid=liquid, start=start, fixed_point=60, most_steps=90)


def _off_axis_places() -> tuple[tuple[float, ...], ...]:
    lines = tuple(product(OFF_AXIS_BALLS, OFF_AXIS_RATIOS))
    closer = [(*lines[0], lift) for lift in OFF_AXIS_CLOSER]
    wide = [(*lines[1], lift) for lift in OFF_AXIS_CLOSER_WIDE]
    spread = (
        (*line, float(f"{part * meeting(*line):.4g}"))
        for some in (lines[:3], lines[3:])
        for parts in OFF_AXIS_PARTS
        for line, part in product(some, parts)
    )
    return tuple((*place, lean) for place in (*closer[1:], *wide, *spread, closer[0]) for lean in LEANS)


def _cone_places() -> tuple[tuple[float, ...], ...]:
    places = product(CONE_ANGLES, CONE_RATIOS, CONE_BORES, CONE_MOUTHS, CONE_LIFTS)
    return tuple(
        (degrees, bore, mouth, ratio, lift)
        for degrees, ratio, bore, mouth, lift in places
        if lift > CONE_NEAR or degrees == CONE_ANGLES[0] or ratio == CONE_RATIOS[0]
    )


_PLACE = "ball: R/r_s; ratio: R/R_c; lengths in seat radii"
_FULL = tuple(product(BALLS, RATIOS, LIFTS))
_WIDE = tuple(product(WIDE_BALLS, WIDE_RATIOS, WIDE_LIFTS))

KINDS = {
    "resistance": Kind(
        (
            "Creeping flow past a ball over a sharp-edged seat in a plain cage; lengths in seat radii,",
            "viscosity 1. ball: R/r_s; ratio: R/R_c; dp = Rqq Q - Rqw w less Poiseuille of the bore up to "
            "the",
            "seat plane and of the cage from the ball's top on; F = Rqw Q - Rww w; S = Rww - Rqw^2/Rqq, from",
            f"the dissipation at dp = 0. *_unc: change from elements of {COARSE} to {FINE} of the local "
            "width;",
            "reciprocity: Rwq/Rqw - 1, from the force on the held ball and the pressures of the moving one.",
        ),
        ("ball", "ratio", "lift", "Rqq", "Rqw", "Rww", "S", "Rqq_unc", "Rqw_unc", "S_unc", "reciprocity"),
        3,
        _FULL,
        solve_resistance,
    ),
    "cone": Kind(
        (
            "Creeping flow past a ball over a conical seat in a plain cage; lengths in radii of the circle "
            "of",
            "contact, viscosity 1. half_angle: degrees between axis and cone; bore: where the cone begins; "
            "mouth:",
            "share of the way from the circle of contact to the cage at which it ends; ratio: R/R_c; dp less",
            "Poiseuille of the bore up to the cone and of the cage from the ball's top on; else as over an "
            "edge.",
            f"Elements of {ON_CONE} of the local width, good for three digits.",
        ),
        ("half_angle", "bore", "mouth", "ratio", "lift", "Rqq", "Rqw", "S", "reciprocity"),
        5,
        _cone_places(),
        solve_cone,
        digits=5,
    ),
    "mass": Kind(
        (
            "Inertia of the liquid around a ball over a sharp-edged seat in a plain cage: potential flow.",
            f"{_PLACE}; kinetic energy 1/2 (Mqq Q^2 + 2 Mqw Q w + Mww w^2) at density 1, Mqq less uniform "
            "flow",
            "in the bore up to the seat plane and in the cage from the ball's top on.",
            f"unc: largest change of the three from elements of {COARSE} to {FINE} of the local width.",
        ),
        ("ball", "ratio", "lift", "Mqq", "Mqw", "Mww", "unc"),
        3,
        tuple(product(BALLS, RATIOS, LIFTS[::2] + LIFTS[-1:])),
        solve_mass,
    ),
    "inertia": Kind(
        (
            "Steady laminar flow past a held ball over a sharp-edged seat in a plain cage.",
            f"{_PLACE}; way: 1 from bore to cage, -1 back. dp_N: loss of total pressure at Re N over that of",
            "creeping flow, F_N: force over that of creeping flow; both less the straight parts as in "
            "creeping",
            "flow. Re = 4 rho Q/(pi d_s mu) in the bore. nan: no steady flow found.",
        ),
        ("ball", "ratio", "lift", "way", *(f"{x}_{n}" for n in REYNOLDS for x in ("dp", "F"))),
        4,
        tuple((*place, way) for place in _WIDE if place[2] > 0.04 for way in (1.0, -1.0)),
        solve_inertia,
    ),
    "thinning": Kind(
        (
            "Creeping flow of power-law liquids, stress = rate^n, past a ball over a sharp-edged seat.",
            f"{_PLACE}. kq_n: (dp_n/dp_1)^(1/(n-1)) at unit flow past the held ball; lean_n: its F/dp over",
            "that at n = 1; kw_n: the same of S = alpha dp - F for a ball at unit speed and Q = F/dp of "
            "before.",
        ),
        ("ball", "ratio", "lift", *(f"{x}_{n:g}" for n in EXPONENTS for x in ("kq", "lean", "kw"))),
        3,
        _WIDE,
        solve_thinning,
    ),
    "off_axis": Kind(
        (
            "Creeping flow past a ball off the axis of its cage, over a sharp-edged seat; viscosity 1.",
            f"{_PLACE}; lean: offset over that at which the ball touches edge or cage.",
            "dp = Rqq Q - Rqw w - Rqv v - Rqs s; force up = Rqw Q - Rww w - Rwv v - Rws s; outward =",
            "Rqv Q - Rwv w - Rvv v - Rvs s; torque = Rqs Q - Rws w - Rvs v - Rss s: flow Q, speeds w up and",
            "v outward, spin s (right-handed about up x outward); dp less Poiseuille of the bore up to the",
            "seat plane and of the cage from the ball's top on. reciprocity: Rqw from the port pressures of",
            f"the moving ball over the force on the held one, less 1. Elements of {IN_SPACE} of the local",
            "width; seconds of one core.",
        ),
        (
            *("ball", "ratio", "lift", "lean", "offset", "Rqq", "Rqw", "Rqv", "Rqs", "Rww", "Rwv", "Rws"),
            *("Rvv", "Rvs", "Rss", "reciprocity", "elements", "seconds"),
        ),
        4,
        _off_axis_places(),
        solve_off_axis,
        "finite elements in space",
        ("ngsolve",),
    ),
}
