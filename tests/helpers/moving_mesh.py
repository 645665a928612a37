"""The liquid around a ball that moves over its seat, on a mesh that moves with it.

Axisymmetric Navier-Stokes, lengths in seat radii: bore, sharp-edged seat, ball in a plain cage. Nothing of
the core or of the tables is used. Needs NGSolve (extra ``fem``). Quadratic velocity and linear pressure
(Taylor and Hood) on triangles that bend with the ball; between two meshings the points follow the ball by a
smooth share of its lift.
"""

import math
from dataclasses import replace
from typing import NamedTuple

import netgen.meshing
import ngsolve as ng
import numpy as np
from scipy.spatial import cKDTree

from balltravel.closures.fem.section import Sizes, mesh_of, sharp_edge

NAMES = ("inlet", "outlet", "axis", "ball", "wall")
TAU = 2.0 * math.pi


class MovedMesh:
    """A mesh made at one lift, ``made_at``, that serves lifts around it. Points move up by their ``share`` of
    the change of lift: 1 at the ball, 0 at the walls, between them as in a solid that is the stiffer the
    smaller its elements are."""

    def __init__(self, size, lift, fineness):
        self.made_at = lift
        section = replace(
            sharp_edge(size.ball, size.cage, lift),
            run_in=size.run_in,
            run_out=size.run_out,
            widest=size.widest,
        )
        drawn = mesh_of(section, fineness)
        self.mesh = ng.Mesh(_netgen(drawn))
        self.nodes = Nodes(self.mesh)
        space = ng.VectorH1(self.mesh, order=2)
        self.placed = ng.GridFunction(space)
        middle = drawn.doflocs[:, drawn.dofs.facet_dofs[0]]
        ends = drawn.facets
        order = self.nodes.matching(ends)
        straight = 0.5 * (drawn.p[:, ends[0]] + drawn.p[:, ends[1]])
        bend = np.zeros((2, self.nodes.count))
        bend[:, self.nodes.points + order] = middle - straight
        self.bend = self.nodes.coefficients(bend).ravel()
        self.placed.vec.FV().NumPy()[:] = self.bend
        self.mesh.SetDeformation(self.placed)
        self.share = self._share(section, fineness)
        self.rise = np.zeros_like(self.bend)
        self.rise[self.nodes.count : self.nodes.count + self.nodes.points] = self.share.vec.FV().NumPy()
        self.straight = np.array([p.point for p in self.mesh.vertices]).T
        self.at = lift

    def _share(self, section, fineness):
        sizes = Sizes(section, fineness)
        space = ng.H1(self.mesh, order=1, dirichlet="ball|wall|inlet|outlet")
        u, v = space.TnT()
        stiff = ng.GridFunction(ng.L2(self.mesh, order=0))
        middles = np.array(
            [np.mean([self.mesh[w].point for w in e.vertices], axis=0) for e in self.mesh.Elements()]
        )
        stiff.vec.FV().NumPy()[:] = [sizes(0, 0, x, y, 0.0, 0.0) ** -2 for x, y in middles]
        form = ng.BilinearForm(stiff * ng.grad(u) * ng.grad(v) * ng.dx).Assemble()
        share = ng.GridFunction(space)
        share.Set(1.0, definedon=self.mesh.Boundaries("ball"))
        right = -(form.mat * share.vec).Evaluate()
        share.vec.data += form.mat.Inverse(space.FreeDofs(), "sparsecholesky") * right
        return share

    def move(self, lift):
        """Points to where they are at a lift."""
        self.placed.vec.FV().NumPy()[:] = self.bend + (lift - self.made_at) * self.rise
        self.at = lift

    def places(self):
        """Where the nodes are, (2, nodes): corners, then middles of edges."""
        moved = self.nodes.values(self.placed.vec.FV().NumPy().reshape(2, -1))
        still = np.hstack([self.straight, 0.5 * self.straight[:, self.nodes.edges].sum(axis=1)])
        return still + moved

    def worst(self):
        """Smallest ratio, over elements, of twice the inscribed radius to the circumscribed one, on corners;
        negative for an element that is turned over."""
        a, b, c = (self.places()[:, self.nodes.corners[k]] for k in range(3))
        la, lb, lc = (np.hypot(*(p - q)) for p, q in ((b, c), (c, a), (a, b)))
        area = 0.5 * ((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])
        return float(np.min(area / (la * lb * lc) * 16.0 * np.abs(area) / (la + lb + lc)))


def _netgen(drawn):
    """The straight triangles for NGSolve, boundaries named."""
    mesh = netgen.meshing.Mesh(dim=2)
    points = [mesh.Add(netgen.meshing.MeshPoint(netgen.meshing.Pnt(x, y, 0.0))) for x, y in drawn.p.T]
    mesh.Add(netgen.meshing.FaceDescriptor(surfnr=1, domin=1, bc=1))
    mesh.SetMaterial(1, "liquid")
    for corners in _turned_left(drawn.p, drawn.t).T:
        mesh.Add(netgen.meshing.Element2D(1, [points[i] for i in corners]))
    for number, name in enumerate(NAMES, start=1):
        mesh.Add(netgen.meshing.FaceDescriptor(surfnr=number, domin=1, bc=number))
        mesh.SetBCName(number - 1, name)
        for facet in drawn.boundaries[name]:
            a, b = drawn.facets[:, facet]
            mesh.Add(netgen.meshing.Element1D([points[a], points[b]], index=number))
    return mesh


def _turned_left(p, t):
    """Corners of triangles in mathematical order."""
    (ax, ay), (bx, by) = p[:, t[1]] - p[:, t[0]], p[:, t[2]] - p[:, t[0]]
    return np.where(ax * by - ay * bx > 0.0, t, t[[0, 2, 1]])


class Nodes:
    """Corners and middles of edges of a mesh, and the ways between values there and NGSolve's coefficients,
    whose edge functions are bubbles."""

    def __init__(self, mesh):
        self.points, self.count = mesh.nv, mesh.nv + mesh.nedge
        self.edges = np.array([[v.nr for v in e.vertices] for e in mesh.edges]).T
        self.corners = np.array([[v.nr for v in e.vertices] for e in mesh.Elements()]).T
        ends = np.sort(self.edges, axis=0)
        number = {tuple(pair): k for k, pair in enumerate(ends.T)}
        c = self.corners
        self.middles = np.array(
            [
                [number[(min(i, j), max(i, j))] for i, j in zip(c[a], c[b], strict=True)]
                for a, b in ((0, 1), (1, 2), (2, 0))
            ]
        )
        self.bubble = _bubble(mesh)

    def matching(self, facets):
        """NGSolve's number of the edge between two points each."""
        number = {tuple(pair): k for k, pair in enumerate(np.sort(self.edges, axis=0).T)}
        return np.array([number[tuple(pair)] for pair in np.sort(facets, axis=0).T])

    def coefficients(self, values):
        """NGSolve's coefficients of a quadratic function with these values at the nodes (..., nodes)."""
        out = values.copy()
        out[..., self.points :] -= 0.5 * values[..., self.edges].sum(axis=-2)
        out[..., self.points :] /= self.bubble
        return out

    def values(self, coefficients):
        """The reverse."""
        out = coefficients.copy()
        out[..., self.points :] *= self.bubble
        out[..., self.points :] += 0.5 * coefficients[..., self.edges].sum(axis=-2)
        return out


def _bubble(mesh):
    """Value in the middle of an edge of its own function."""
    space = ng.H1(mesh, order=2)
    f = ng.GridFunction(space)
    edge = next(e for e in mesh.edges)
    f.vec[mesh.nv + edge.nr] = 1.0
    x, y = np.mean([mesh[v].point for v in edge.vertices], axis=0)
    return float(f(mesh(float(x), float(y))))


class Values:
    """Quadratic functions on a moved mesh, to be had at any point: where it lies in which bent triangle by
    Newton's method, the best of those whose middles are nearest."""

    NEAREST = 24

    def __init__(self, moved):
        self.nodes = moved.nodes
        self.local = np.vstack([self.nodes.corners, self.nodes.points + self.nodes.middles])
        self.x = moved.places()[:, self.local]

    def at(self, points, functions):
        """Functions (n, nodes) at points (2, m)."""
        middles = self.x[:, :3].mean(axis=1)
        near = cKDTree(middles.T).query(points.T, self.NEAREST)[1]
        out = np.empty((len(functions), points.shape[1]))
        miss = np.full(points.shape[1], np.inf)
        for k in range(self.NEAREST):
            todo = np.flatnonzero(miss > 1e-9)
            if not todo.size:
                break
            element = near[todo, k]
            local = self._local(points[:, todo], self.x[:, :, element])
            off = np.maximum(0.0, -np.minimum(local.min(axis=0), 1.0 - local.sum(axis=0)))
            better = off < miss[todo]
            todo, element, local = todo[better], element[better], local[:, better]
            out[:, todo] = np.einsum(
                "inm,im->nm", functions[:, self.local[:, element]].swapaxes(0, 1), _shapes(local)
            )
            miss[todo] = off[better]
        return out

    @staticmethod
    def _local(points, x):
        local = np.full((2, points.shape[1]), 1.0 / 3.0)
        for _ in range(6):
            off = np.einsum("dim,im->dm", x, _shapes(local)) - points
            J = np.einsum("dim,ikm->dkm", x, _slopes(local))
            det = J[0, 0] * J[1, 1] - J[0, 1] * J[1, 0]
            step = np.stack([J[1, 1] * off[0] - J[0, 1] * off[1], J[0, 0] * off[1] - J[1, 0] * off[0]]) / det
            local = np.clip(local - step, -2.0, 3.0)
        return local


def _shapes(local):
    """Of corners and middles (6, m) at (2, m)."""
    b, c = local
    a = 1.0 - b - c
    return np.stack([a * (2 * a - 1), b * (2 * b - 1), c * (2 * c - 1), 4 * a * b, 4 * b * c, 4 * c * a])


def _slopes(local):
    """Their slopes (6, 2, m)."""
    b, c = local
    a, zero = 1.0 - b - c, np.zeros_like(b)
    by_b = [1 - 4 * a, 4 * b - 1, zero, 4 * (a - b), 4 * c, -4 * c]
    by_c = [1 - 4 * a, zero, 4 * c - 1, -4 * b, 4 * b, 4 * (a - c)]
    return np.stack([np.stack(by_b), np.stack(by_c)], axis=1)


class Part(NamedTuple):
    """A flow: coefficients, upward force on the ball, pressure at the bore's end less that at the cage's."""

    x: np.ndarray
    force: float
    drop: float

    def times(self, share):
        return Part(*(share * value for value in self))

    def plus(self, other):
        return Part(*(a + b for a, b in zip(self, other, strict=True)))


class Flow:
    """The discrete problem on one mesh: ``density`` and ``viscosity`` of the liquid; velocities at both ends
    are those of developed flow."""

    def __init__(self, size, moved, density, viscosity):
        self.size, self.moved, self.density, self.viscosity = size, moved, density, viscosity
        self.u = ng.VectorH1(moved.mesh, order=2)
        self.p = ng.H1(moved.mesh, order=1)
        self.space = self.u * self.p
        n = moved.nodes
        self.N = n.count
        self._boundaries()
        self.before, self.drift = ng.GridFunction(self.u), ng.GridFunction(self.u)
        self.carried = ng.GridFunction(self.u)
        self.rate = ng.Parameter(0.0)
        self._forms()

    def _forms(self):
        (u, p), (v, q) = self.space.TnT()
        r, dx = ng.x, ng.dx(bonus_intorder=2)
        strain = 0.5 * (ng.Grad(u) + ng.Grad(u).trans)
        tested = 0.5 * (ng.Grad(v) + ng.Grad(v).trans)
        grow, grown = ng.Grad(u)[0, 0] + ng.Grad(u)[1, 1], ng.Grad(v)[0, 0] + ng.Grad(v)[1, 1]
        viscous = 2.0 * self.viscosity * (ng.InnerProduct(strain, tested) * r + u[0] * v[0] / r)
        volume = -p * (grown * r + v[0]) - q * (grow * r + u[0])
        form = viscous + volume
        if self.density:
            turned = ng.Grad(u) * (self.carried - self.drift)
            form += self.density * (self.rate * u + turned) * v * r
        self.form = ng.BilinearForm(self.space)
        self.form += TAU * form * dx
        self.load = ng.LinearForm(self.space)
        if self.density:
            self.load += TAU * self.density * self.before * v * r * dx

    def _boundaries(self):
        mesh, N = self.moved.mesh, self.N
        free = self.space.FreeDofs()
        held = np.zeros(self.space.ndof, dtype=bool)
        on = {name: np.zeros(N, dtype=bool) for name in NAMES}
        for e in mesh.Elements(ng.BND):
            mine = on[NAMES[e.index if isinstance(e.index, int) else e.index.nr]]
            mine[[w.nr for w in e.vertices]] = True
            mine[[mesh.nv + s.nr for s in e.edges]] = True
        for name in ("inlet", "outlet", "wall", "ball"):
            held[:N] |= on[name]
            held[N : 2 * N] |= on[name]
        held[:N] |= on["axis"]
        held[2 * N] = True  # of the pressure only differences count
        for k in range(held.size):
            free[k] = not held[k]
        self.free, self.on, self.held = free, on, held
        self.ball = np.zeros(self.space.ndof)
        corners = np.arange(N) < mesh.nv
        self.ball[N : 2 * N] = on["ball"] & corners
        self.through = self._ends()

    def _ends(self):
        """Coefficients of developed unit flow through both ends, at rest elsewhere."""
        r = self.moved.places()[0]
        values = np.zeros((2, self.N))
        for name, radius in (("inlet", 1.0), ("outlet", self.size.cage)):
            at = self.on[name]
            values[1, at] = 2.0 / (math.pi * radius**2) * (1.0 - (r[at] / radius) ** 2)
        at = self.on["inlet"] | self.on["outlet"]
        out = np.zeros(self.space.ndof)
        out[self.N : 2 * self.N][at] = self.moved.nodes.coefficients(values)[1, at]
        return out

    def solve(self, carried, drift, before, rate):
        """The three parts of which the next flow is made: with the ball at rest and no flow through the ends,
        and what a unit of the ball's speed and of flow add. ``carried``, ``drift``: velocities (2, nodes) of
        liquid and mesh in what carries momentum; ``rate`` and ``before``: du/dt = rate u - before."""
        n = self.moved.nodes
        for f, values in ((self.carried, carried), (self.drift, drift), (self.before, before)):
            f.vec.FV().NumPy()[:] = n.coefficients(values).ravel()
        self.rate.Set(rate)
        self.form.Assemble()
        self.load.Assemble()
        inverse = self.form.mat.Inverse(self.free, "umfpack")
        load = self.load.vec.FV().NumPy().copy()
        none = np.zeros_like(load)
        return [
            self._part(inverse, *given) for given in ((none, load), (self.ball, none), (self.through, none))
        ]

    def _part(self, inverse, known, load):
        x, right, out = (self.form.mat.CreateColVector() for _ in range(3))
        x.FV().NumPy()[:] = known
        for _ in range(2):
            self.form.mat.Mult(x, out)
            right.FV().NumPy()[:] = load - out.FV().NumPy()
            x.data += inverse * right
        self.form.mat.Mult(x, out)
        given = out.FV().NumPy() - load
        return Part(x.FV().NumPy().copy(), -float(self.ball @ given), float(self.through @ given))

    def velocity(self, x):
        """Values at the nodes (2, nodes)."""
        return self.moved.nodes.values(x[: 2 * self.N].reshape(2, -1))
