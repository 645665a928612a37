"""Half of a check whose ball stands off its axis, meshed in space. Lengths in seat radii, x along the offset.

The plane through axis and ball's centre is one of symmetry: meshed is the half with y >= 0. Tetrahedra of the
third order, whose size is a share of the distances to ball and wall together, at the ball of its radius at
most, and in the bores of theirs; at the sharp edge they are split once more across the edge, where the flow
is singular. Needs NGSolve (extra ``fem``).
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import netgen.occ as occ
import ngsolve
import numpy as np
from netgen.meshing import MeshingParameters
from numpy.typing import NDArray

Array = NDArray[np.float64]

ORDER = 3
"""Of the velocity and of the curved elements; the pressure has one less."""

RUN = 2.0
"""Straight bore below the seat and cage above the ball, in their radii: what the ball disturbs fades there to
some 1e-4 (exp(-4.47 x/r) on the axis)."""

IN_BORES = 0.33
"""Largest element in bore and cage over their radius, at elements of half the local width; it falls with
them."""

AT_EDGE = 0.7
"""Elements at the sharp edge over those of the local width, before they are split."""

SPLIT = 0.2
"""Where the elements at the sharp edge are split, as a share of their size."""

GRADING = 0.15
"""How much larger an element may be than its neighbour, as the mesher has it."""


@dataclass(frozen=True)
class HalfCheck:
    """A ball over the edge of a bore in a flat plate, ``offset`` off the axis of its cage."""

    ball: float
    cage: float
    lift: float
    offset: float

    @property
    def centre(self) -> float:
        """Height of the ball's centre over the edge."""
        return math.sqrt(self.ball**2 - 1.0) + self.lift

    @property
    def top(self) -> float:
        """Height of the cage's end."""
        return self.centre + self.ball + RUN * self.cage

    def to_ball(self, x: Array, y: Array, z: Array) -> Array:
        """Distance to the ball of points outside."""
        away = np.sqrt((x - self.offset) ** 2 + y**2 + (z - self.centre) ** 2)
        return np.abs(away - self.ball)

    def to_wall(self, x: Array, y: Array, z: Array) -> Array:
        """Distance to bore, plate or cage of points inside."""
        r = np.hypot(x, y)
        bore = np.where(z < 0.0, np.abs(1.0 - r), np.hypot(np.maximum(1.0 - r, 0.0), z))
        cage = np.where(z < 0.0, np.inf, self.cage - r)
        return np.minimum(bore, np.maximum(cage, 0.0))


def mesh_of(check: HalfCheck, fineness: float) -> ngsolve.Mesh:
    """Mesh with boundaries named inlet, outlet, wall, ball and symmetry; ``fineness``: size of the elements
    over the local width."""
    parameters = MeshingParameters(
        maxh=2.0 * IN_BORES * fineness * check.cage,
        grading=GRADING,
        curvaturesafety=0.5,
        segmentsperedge=0.2,
    )
    for x, y, z, size in _sizes(check, fineness):
        for place in zip(x.ravel(), y.ravel(), z.ravel(), size.ravel(), strict=True):
            parameters.RestrictH(*map(float, place))
    mesh = ngsolve.Mesh(occ.OCCGeometry(_solid(check)).GenerateMesh(mp=parameters))
    mesh.RefineHP(1, factor=SPLIT)
    mesh.Curve(ORDER)
    return mesh


def _solid(check: HalfCheck) -> occ.TopoDS_Shape:
    """The liquid, its faces named and its sharp edge marked to be split."""
    bore = occ.Cylinder(occ.Pnt(0, 0, -RUN), occ.Z, 1.0, RUN)
    cage = occ.Cylinder(occ.Pnt(0, 0, 0), occ.Z, check.cage, check.top)
    ball = occ.Sphere(occ.Pnt(check.offset, 0, check.centre), check.ball)
    wide = 2.0 * check.cage
    half = occ.Box(occ.Pnt(-wide, 0, -2.0 * RUN), occ.Pnt(wide, wide, 2.0 * check.top))
    solid = ((bore + cage) - ball) * half
    for face in solid.faces:
        low, high = face.bounding_box
        face.name = _name(check, low, high)
    for edge in solid.edges:
        if abs(edge.mass - math.pi) < 1e-6 and abs(edge.center.z) < 1e-6:
            edge.hpref = 1
    return solid


def _name(check: HalfCheck, low: occ.gp_Pnt, high: occ.gp_Pnt) -> str:
    near = 1e-4
    if high.y < near:
        return "symmetry"
    if high.z < near - RUN:
        return "inlet"
    if low.z > check.top - near:
        return "outlet"
    of_ball = low.z > check.centre - check.ball - near and high.z < check.centre + check.ball + near
    return "ball" if of_ball and high.z > near else "wall"


def _sizes(check: HalfCheck, fineness: float) -> Iterator[tuple[Array, Array, Array, Array]]:
    """Points on ball, walls and edge, and in the bore, with the size of an element there."""
    turn = np.linspace(0.0, math.pi, 201)
    # Rings of the ball, closer where its section is level with the edge, and its equator.
    level = math.acos(-check.centre / check.ball) if check.centre < check.ball else math.pi
    polar = np.concatenate((np.linspace(0.0, math.pi, 301), level + np.linspace(-0.1, 0.1, 81)))
    u, v = np.meshgrid(turn, np.clip(polar, 0.0, math.pi))
    ball = (
        check.offset + check.ball * np.sin(v) * np.cos(u),
        check.ball * np.sin(v) * np.sin(u),
        check.centre + check.ball * np.cos(v),
    )
    yield *ball, fineness * np.minimum(check.to_wall(*ball), check.ball)
    for radius, height in _profile(check):
        u, r = np.meshgrid(turn, radius)
        wall = r * np.cos(u), r * np.sin(u), np.broadcast_to(height[:, None], u.shape)
        yield *wall, fineness * check.to_ball(*wall)
    turn = np.linspace(0.0, math.pi, 2001)
    edge = np.cos(turn), np.sin(turn), np.zeros(turn.size)
    yield *edge, AT_EDGE * fineness * check.to_ball(*edge)
    x, z = np.meshgrid(np.linspace(-1.0, 1.0, 21), np.linspace(-RUN, 0.0, 41))
    yield x, np.zeros(x.shape), z, np.full(x.shape, 2.0 * IN_BORES * fineness)


def _profile(check: HalfCheck) -> Iterator[tuple[Array, Array]]:
    """Radius and height along bore, plate and cage."""
    along = np.linspace(0.0, 1.0, 201)
    yield np.ones(along.size), -RUN * along
    yield 1.0 + (check.cage - 1.0) * along, np.zeros(along.size)
    yield np.full(along.size, check.cage), check.top * along
