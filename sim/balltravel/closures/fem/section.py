"""The meridian half-plane of a check, meshed: bore, seat, ball at a lift, cage. Lengths in seat radii.

Needs gmsh (extra ``fem``). Second-order triangles, whose edges bend with the ball; the size follows the
local width between ball and wall, and falls towards corners where the flow is singular.
"""

import math
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import pairwise

import gmsh
import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri, MeshTri2

Array = NDArray[np.float64]
Point = tuple[float, float]

RUN = 3.0
"""Straight bore below the seat and cage above the ball, in their radii: a disturbance fades as exp(-4.47 x/r)
(first eigenvalue of creeping flow in a tube), to 2e-6."""

CORNER = 2e-3
"""Smallest element at a sharp corner, over the gap there."""


@dataclass(frozen=True)
class Arc:
    """A part of the seat that is lapped to the ball: centre on the axis at a height, radius, end."""

    centre: float
    end: Point


@dataclass(frozen=True)
class Section:
    """Ball radius, cage radius, height of the ball's centre, and the seat's profile: points from the bore's
    end (1, 0) to the cage wall, straight lines or arcs between them. ``run_in``, ``run_out``: straight bore
    below the seat and cage above the ball, in their radii; ``widest``: largest element, in the cage's radius;
    ``near``: width that counts at the ball, in its radius, for a ball so far from any wall that its own size
    decides."""

    ball: float
    cage: float
    centre: float
    seat: tuple[Point | Arc, ...]
    run_in: float = RUN
    run_out: float = RUN
    widest: float = math.inf
    near: float = math.inf

    @property
    def top(self) -> float:
        """Height of the cage's end."""
        return self.centre + self.ball + self.run_out * self.cage


def sharp_edge(ball: float, cage: float, lift: float) -> Section:
    """A ball over the edge of a bore in a flat plate."""
    return Section(ball, cage, math.sqrt(ball * ball - 1.0) + lift, ((1.0, 0.0), (cage, 0.0)))


def tube(ratio: float) -> Section:
    """A ball on the axis of a straight tube of radius 1, from ``RUN`` below its lowest point on."""
    return Section(ratio, 1.0, ratio, ((1.0, 0.0),))


def cone(
    ball: float, cage: float, lift: float, half_angle: float, mouth: float, land: float = 0.0
) -> Section:
    """A ball over a cone from the bore (radius 1) to a mouth; ``land``: width of a band lapped to the ball.

    ``half_angle`` [rad] is between axis and cone.
    """
    s, c = math.sin(half_angle), math.cos(half_angle)
    beta = math.asin(0.5 * land / ball)
    seated = (ball * math.cos(beta) - c) / s
    top = (mouth - 1.0) / math.tan(half_angle)
    parts: list[Point | Arc] = [(1.0, 0.0)]
    if land > 0.0:
        low, high = half_angle + beta, half_angle - beta
        parts.append((ball * math.cos(low), seated - ball * math.sin(low)))
        parts.append(Arc(seated, (ball * math.cos(high), seated - ball * math.sin(high))))
    parts.append((mouth, top))
    if cage > mouth * (1.0 + 1e-9):
        parts.append((cage, top))
    return Section(ball, cage, seated + lift, tuple(parts))


def _end(part: Point | Arc) -> Point:
    return part.end if isinstance(part, Arc) else part


def corners(section: Section) -> list[Point]:
    """Corners at which the fluid's angle is more than a straight one: there stresses are singular."""
    points = [(1.0, -1.0), *(_end(part) for part in section.seat), (section.cage, 1e3)]
    singular = []
    for before, here, after in zip(points[:-2], points[1:-1], points[2:], strict=True):
        a = (here[0] - before[0], here[1] - before[1])
        b = (after[0] - here[0], after[1] - here[1])
        if a[0] * b[1] - a[1] * b[0] < -1e-9:  # the wall turns away from the axis
            singular.append(here)
    return singular


class Sizes:
    """Element size at a point: a share of the distances to ball and wall together, which in a narrow gap is
    its width; less near sharp corners. Plain Python: gmsh asks some ten thousand times, point by point."""

    def __init__(self, section: Section, fineness: float) -> None:
        self.ball, self.centre, self.fineness = section.ball, section.centre, fineness
        self.widest = section.widest * section.cage / fineness
        self.near = section.near * section.ball
        points = [(1.0, -1e3), *map(_end, section.seat), (section.cage, 1e3)]
        self.lines, self.arcs = [], []
        for ((x, y), (x1, y1)), part in zip(pairwise(points), (*section.seat, None), strict=True):
            if isinstance(part, Arc):
                self.arcs.append((part.centre, x, x1))
                continue
            length = math.hypot(x1 - x, y1 - y)
            self.lines.append((x, y, (x1 - x) / length, (y1 - y) / length, length))
        self.corners = []
        for x, y in corners(section):
            gap = abs(math.hypot(x, y - section.centre) - section.ball)
            self.corners.append((x, y, CORNER * gap / fineness))

    def __call__(self, _dim: int, _tag: int, x: float, y: float, _z: float, _lc: float) -> float:
        wall = math.inf
        for x0, y0, along, up, length in self.lines:
            t = min(max((x - x0) * along + (y - y0) * up, 0.0), length)
            wall = min(wall, math.hypot(x - x0 - t * along, y - y0 - t * up))
        for centre, low, high in self.arcs:
            away = math.hypot(x, y - centre)
            if low <= self.ball * x / max(away, 1e-12) <= high:
                wall = min(wall, abs(away - self.ball))
        away = abs(math.hypot(x, y - self.centre) - self.ball)
        width = min(away + wall, away + self.near, self.widest)
        for x0, y0, least in self.corners:
            width = min(width, math.hypot(x - x0, y - y0) + least)
        return self.fineness * width


@contextmanager
def _quiet_gmsh() -> Iterator[None]:
    gmsh.initialize(interruptible=False)
    _keep_broken_pipes_an_error()
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        for name in ("FromPoints", "FromCurvature", "ExtendFromBoundary"):
            gmsh.option.setNumber(f"Mesh.MeshSize{name}", 0)
        yield
    finally:
        gmsh.finalize()


def _keep_broken_pipes_an_error() -> None:
    """gmsh lets the system end the program, without a word, that writes into a pipe nobody reads any more.
    Python ignores that signal, and so knows it; only its first thread may set it again."""
    if hasattr(signal, "SIGPIPE") and threading.current_thread() is threading.main_thread():
        known = signal.getsignal(signal.SIGPIPE)
        if known is not None:
            signal.signal(signal.SIGPIPE, known)


def mesh_of(section: Section, fineness: float) -> MeshTri2:
    """Mesh with boundaries named inlet, outlet, axis, ball and wall; ``fineness``: size of the elements over
    the local width."""
    with _quiet_gmsh():
        _draw(section)
        gmsh.model.mesh.setSizeCallback(Sizes(section, fineness))
        gmsh.model.mesh.generate(2)
        tags, places, _ = gmsh.model.mesh.getNodes()
        _, nodes = gmsh.model.mesh.getElementsByType(2)
    used, corners_of = np.unique(nodes, return_inverse=True)
    rows = np.searchsorted(tags, used, sorter=np.argsort(tags))
    points = places.reshape(-1, 3)[np.argsort(tags)[rows], :2]
    return _bent(
        MeshTri(np.ascontiguousarray(points.T), np.ascontiguousarray(corners_of.reshape(-1, 3).T)), section
    )


def _draw(section: Section) -> None:
    geo, R, zb = gmsh.model.geo, section.ball, section.centre

    def point(x: float, y: float) -> int:
        return int(geo.addPoint(x, y, 0.0))

    first, here = point(0.0, -section.run_in), point(1.0, -section.run_in)
    outline = [geo.addLine(first, here)]
    for part in section.seat:
        there = point(*_end(part))
        if isinstance(part, Arc):
            outline.append(geo.addCircleArc(here, point(0.0, part.centre), there))
        else:
            outline.append(geo.addLine(here, there))
        here = there
    for there in (point(section.cage, section.top), point(0.0, section.top), point(0.0, zb + R)):
        outline.append(geo.addLine(here, there))
        here = there
    side, below, centre = point(R, zb), point(0.0, zb - R), point(0.0, zb)
    outline += [geo.addCircleArc(here, centre, side), geo.addCircleArc(side, centre, below)]
    outline.append(geo.addLine(below, first))
    geo.addPlaneSurface([geo.addCurveLoop(outline)])
    geo.synchronize()


def _bent(straight: MeshTri, section: Section) -> MeshTri2:
    """Second-order mesh: the middles of edges on ball and lapped band lie on their circles."""
    facets = straight.boundary_facets()
    ends = straight.p[:, straight.facets[:, facets]]
    x, y = ends.mean(axis=1)
    bottom, top = -section.run_in, section.top
    ball = _on_circle(ends, section.centre, section.ball)
    sides = {"inlet": y < bottom + 1e-9, "outlet": y > top - 1e-9, "axis": x < 1e-9, "ball": ball}
    rest = ~np.any(list(sides.values()), axis=0)
    named = {name: facets[mask] for name, mask in {**sides, "wall": rest}.items()}
    mesh = MeshTri2.from_mesh(straight)
    places = mesh.doflocs.copy()
    dofs = mesh.dofs.facet_dofs[0]
    circles = [(section.centre, ball)]
    circles += [
        (part.centre, rest & _on_circle(ends, part.centre, section.ball))
        for part in section.seat
        if isinstance(part, Arc)
    ]
    for centre, mask in circles:
        middle = places[:, dofs[facets[mask]]]
        middle[1] -= centre
        middle *= section.ball / np.hypot(*middle)
        middle[1] += centre
        places[:, dofs[facets[mask]]] = middle
    return replace(mesh, doflocs=places, _boundaries=named)


def _on_circle(ends: Array, centre: float, radius: float) -> NDArray[np.bool_]:
    """Edges whose ends both lie on a circle around a point of the axis."""
    return np.asarray((np.abs(np.hypot(ends[0], ends[1] - centre) - radius) < 1e-9 * radius).all(axis=0))
