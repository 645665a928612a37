"""Creeping flow past a ball off its axis: the resistance matrix of a check in space by finite elements (M5k).

Stokes flow on half a check, Taylor and Hood's elements (cubic velocity, quadratic pressure). Velocities are
given on every wall, so the viscous term may be that of three separate Laplacians, two of which are the same:
two small factorisations serve four motions. The pressure comes by conjugate gradients. Lengths in seat
radii, viscosity 1. Needs NGSolve (extra ``fem``).
"""

import math
from collections.abc import Iterator
from itertools import combinations_with_replacement
from typing import Any, NamedTuple

import ngsolve as ng
import numpy as np
from numpy.typing import NDArray

from balltravel.closures.fem.half_check import ORDER, RUN, HalfCheck, mesh_of

Array = NDArray[np.float64]

FLOW, FALL, ASIDE, SPIN = range(4)
"""The motions: unit flow past a ball at rest; the ball at unit speed up, aside (along its offset), or turning
about the horizontal axis across its offset (right-handed), without flow."""

TOLERANCE = 1e-5
"""Residual of continuity at which a pressure is taken, over the first; the matrix errs by its square."""

MOST_STEPS = 300

_STILL = "ball|wall|inlet|outlet"


class NoPressureError(RuntimeError):
    """Conjugate gradients did not come to the pressure."""


class Motions(NamedTuple):
    """Resistance of a check whose ball is off its axis. ``matrix`` (4, 4), symmetric, in the order of FLOW,
    FALL, ASIDE, SPIN:

        dp = M00 Q - M01 w - M02 v - M03 s
        F_up, F_aside, torque = M0i Q - Mi1 w - Mi2 v - Mi3 s  with i = 1, 2, 3

    with flow Q, speeds w up and v aside, spin s; dp less Poiseuille of the bore up to the seat plane and of
    the cage from the ball's top on. ``reciprocity``: Rqw from the port pressures of the moving ball over that
    of the matrix, which is the force on the held one, less 1. ``elements``: of the mesh.
    """

    matrix: Array
    reciprocity: float
    elements: int


def motions(check: HalfCheck, fineness: float) -> Motions:
    """Of a check off its axis; 0.4 to 1 for ``fineness``. Raises NoPressureError."""
    mesh = mesh_of(check, fineness)
    flow = _Stokes(mesh)
    solved = [flow.solve(flow.boundary(check, motion)) for motion in (FLOW, FALL, ASIDE, SPIN)]
    work = np.empty((4, 4))
    for i, j in combinations_with_replacement(range(4), 2):
        work[i, j] = work[j, i] = flow.work(solved[i][0], solved[j][0])
    straight = 8.0 / math.pi * (RUN + RUN * check.cage / check.cage**4)
    work[FLOW, FLOW] -= straight
    # The work of viscosity has the gradient's transpose as well: of a turning ball 8/3 pi R^3, else nothing.
    work[SPIN, SPIN] += 8.0 / 3.0 * math.pi * check.ball**3
    work[FLOW, 1:] *= -1.0
    work[1:, FLOW] *= -1.0
    drop = flow.drop(check, solved[FALL][1])
    return Motions(work, -drop / work[FLOW, FALL] - 1.0, mesh.ne)


def free(matrix: Array, motion: int) -> Array:
    """The matrix of the other motions where nothing holds the ball in this one: a ball that is free to turn
    (SPIN), or to drift (ASIDE) as far as nothing stops it."""
    rest = np.delete(np.arange(len(matrix)), motion)
    along = matrix[rest, motion]
    return np.asarray(matrix[np.ix_(rest, rest)] - np.outer(along, along) / matrix[motion, motion])


class _Stokes:
    """The discrete problem on a mesh: Laplacians, their factors, divergence."""

    def __init__(self, mesh: ng.Mesh) -> None:
        self.mesh = mesh
        self.u = ng.H1(mesh, order=ORDER, dirichlet=_STILL)
        self.p = ng.H1(mesh, order=ORDER - 1)
        (u, v), (p, q) = self.u.TnT(), self.p.TnT()
        self.laplace = ng.BilinearForm(ng.grad(u) * ng.grad(v) * ng.dx, symmetric=True).Assemble().mat
        self.mass = ng.BilinearForm(p * q * ng.dx, symmetric=True).Assemble().mat
        self.divergence = [self._part(ng.grad(u)[k] * q * ng.dx) for k in range(3)]
        self.transposed = [part.CreateTranspose() for part in self.divergence]
        level = ng.H1(mesh, order=ORDER, dirichlet=f"{_STILL}|symmetry")
        along = self.laplace.Inverse(self.u.FreeDofs(), "sparsecholesky")
        across = self.laplace.Inverse(level.FreeDofs(), "sparsecholesky")
        self.factors = (along, across, along)
        self.nearby = self.mass.Inverse(inverse="sparsecholesky")
        self.even = ng.GridFunction(self.p)
        self.even.Set(1.0)
        self.even_mass = (self.mass * self.even.vec).Evaluate()
        self.volume = ng.InnerProduct(self.even_mass, self.even.vec)

    def _part(self, along: Any) -> Any:
        """A component's share of the velocity's divergence, held against pressures."""
        form = ng.BilinearForm(trialspace=self.u, testspace=self.p)
        form += along
        return form.Assemble().mat

    def boundary(self, check: HalfCheck, motion: int) -> list[ng.GridFunction]:
        """Velocities on the boundary, each component as a function that is 0 inside."""
        parts = [ng.GridFunction(self.u) for _ in range(3)]
        if motion == FLOW:
            radii = {"inlet": 1.0, "outlet": check.cage}
            shapes = {name: 1.0 - (ng.x**2 + ng.y**2) / r**2 for name, r in radii.items()}
            # What flows through each end on this mesh is 1, of the whole check.
            for _ in range(2):
                parts[2].Set(self.mesh.BoundaryCF(shapes, default=0.0), ng.BND)
                flows = {name: 2.0 * self._over(parts[2], name) for name in shapes}
                shapes = {name: shape / flows[name] for name, shape in shapes.items()}
            return parts
        at_ball = self.mesh.BoundaryCF({"ball": 1.0}, default=0.0)
        moves = {
            FALL: {2: at_ball},
            ASIDE: {0: at_ball},
            SPIN: {0: (ng.z - check.centre) * at_ball, 2: -(ng.x - check.offset) * at_ball},
        }
        for k, speed in moves[motion].items():
            parts[k].Set(speed, ng.BND)
        return parts

    def _over(self, function: Any, name: str) -> float:
        return float(ng.Integrate(function, self.mesh, order=8, definedon=self.mesh.Boundaries(name)))

    def solve(self, boundary: list[ng.GridFunction]) -> tuple[list[ng.GridFunction], ng.GridFunction]:
        """Velocity and pressure: A u = B^T p inside, B u = 0, hence B A^-1 B^T p = -B u0 with the u0 of no
        pressure."""
        velocity, pressure = boundary, ng.GridFunction(self.p)
        lacks = self.mass.CreateColVector()
        lacks[:] = 0.0
        for part, factor, divergence in zip(velocity, self.factors, self.divergence, strict=True):
            part.vec.data -= (factor @ self.laplace * part.vec).Evaluate()
            lacks.data -= divergence * part.vec
        lacks.data -= (ng.InnerProduct(lacks, self.even.vec) / self.volume) * self.even_mass
        for step in self._towards(pressure.vec, lacks):
            if step > MOST_STEPS:
                raise NoPressureError(f"no pressure after {MOST_STEPS} steps, {self.mesh.ne} elements")
        for part, factor, back in zip(velocity, self.factors, self.transposed, strict=True):
            part.vec.data += (factor @ back * pressure.vec).Evaluate()
        return velocity, pressure

    def _towards(self, pressure: Any, residual: Any) -> Iterator[int]:
        """Conjugate gradients with the mass for a preconditioner; the step's number after each."""
        through = self.mass.CreateColVector()
        here = self._near(residual)
        way, size = here.CreateVector(), ng.InnerProduct(residual, here)
        way.data = here
        step, enough = 0, TOLERANCE**2 * size
        while size > enough:
            through[:] = 0.0
            for factor, divergence, back in zip(self.factors, self.divergence, self.transposed, strict=True):
                through.data += (divergence @ factor @ back * way).Evaluate()
            length = size / ng.InnerProduct(way, through)
            pressure.data += length * way
            residual.data -= length * through
            here = self._near(residual)
            before, size = size, ng.InnerProduct(residual, here)
            way *= size / before
            way.data += here
            step += 1
            yield step

    def _near(self, residual: Any) -> Any:
        """A pressure without a mean that has about this residual."""
        here = (self.nearby * residual).Evaluate()
        here.data -= (ng.InnerProduct(here, self.even_mass) / self.volume) * self.even.vec
        return here

    def work(self, first: list[ng.GridFunction], second: list[ng.GridFunction]) -> float:
        """Gradient by gradient, over the whole check."""
        parts = zip(first, second, strict=True)
        return 2.0 * sum(float(ng.InnerProduct(a.vec, (self.laplace * b.vec).Evaluate())) for a, b in parts)

    def drop(self, check: HalfCheck, pressure: ng.GridFunction) -> float:
        """Mean pressure at the inlet less that at the outlet."""
        areas = {"inlet": 0.5 * math.pi, "outlet": 0.5 * math.pi * check.cage**2}
        at_inlet, at_outlet = (self._over(pressure, name) / area for name, area in areas.items())
        return float(at_inlet - at_outlet)
