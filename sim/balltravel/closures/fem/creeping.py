"""Creeping flow past a ball over its seat: the resistance matrix of a check by finite elements (M5).

Axisymmetric Stokes flow, Taylor and Hood's elements (quadratic velocity, linear pressure), one factorisation
for two solves: unit flow past a ball that is held, and a ball that moves at unit speed without net flow.
Lengths in seat radii, viscosity 1.
"""

import math
from typing import Any, NamedTuple

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.linalg import splu
from skfem import (
    Basis,
    BilinearForm,
    ElementTriP1,
    ElementTriP2,
    ElementVector,
    FacetBasis,
    Functional,
    MeshTri2,
)
from skfem.helpers import ddot, div, sym_grad

from balltravel.closures.fem.section import Section, mesh_of

Array = NDArray[np.float64]
QUADRATURE = 6


class Resistance(NamedTuple):
    """dp = Rqq Q - Rqw w, F = Rwq Q - Rww w; S = Rww - Rqw Rwq/Rqq from the dissipation of the flow at zero
    pressure drop. Rqw comes from the port pressures of the moving ball, Rwq from the force on the held one.
    """

    Rqq: float
    Rqw: float
    Rwq: float
    Rww: float
    S: float


@BilinearForm
def _viscous(u: Any, v: Any, w: Any) -> Any:
    r = w.x[0]
    return 2.0 * math.pi * (2.0 * ddot(sym_grad(u), sym_grad(v)) * r + 2.0 * u[0] * v[0] / r)


@BilinearForm
def _continuity(u: Any, q: Any, w: Any) -> Any:
    r = w.x[0]
    return -2.0 * math.pi * q * (div(u) * r + u[0])


@Functional
def _section_mean(w: Any) -> Any:
    return 2.0 * math.pi * w["p"] * w.x[0]


class Flow:
    """The discrete problem on a mesh of a section."""

    def __init__(self, mesh: MeshTri2, section: Section) -> None:
        self.mesh, self.section = mesh, section
        self.u = Basis(mesh, ElementVector(ElementTriP2()), intorder=QUADRATURE)
        self.p = Basis(mesh, ElementTriP1(), intorder=QUADRATURE)
        self.A = _viscous.assemble(self.u).tocsr()
        self.B = _continuity.assemble(self.u, self.p).tocsr()
        self.K = sparse.csc_array(sparse.bmat([[self.A, self.B.T], [self.B, None]]))
        self.fixed = self._fixed()
        self.free = np.setdiff1d(np.arange(self.K.shape[0]), self.fixed)
        self.solver = splu(sparse.csc_array(self.K[self.free][:, self.free]))

    def _dofs(self, name: str, component: str) -> NDArray[np.int64]:
        return np.asarray(self.u.get_dofs(name).all([component]))

    def _fixed(self) -> NDArray[np.int64]:
        both = [self._dofs(name, f"u^{k}") for name in ("inlet", "outlet", "wall", "ball") for k in (1, 2)]
        velocity = np.unique(np.concatenate([*both, self._dofs("axis", "u^1")]))
        # The pressure is fixed at one point: only its differences count.
        return np.append(velocity, self.A.shape[0])

    def solve(self, through: float, speed: float) -> Array:
        """Velocity and pressure for a net flow and a speed of the ball."""
        x = np.zeros(self.K.shape[0])
        for name, radius, sign in (("inlet", 1.0, 1.0), ("outlet", self.section.cage, 1.0)):
            dofs = self._dofs(name, "u^2")
            r = self.u.doflocs[0, dofs]
            x[dofs] = sign * through * 2.0 / (math.pi * radius**2) * (1.0 - (r / radius) ** 2)
        x[self._dofs("ball", "u^2")] = speed
        right = -(self.K[self.free][:, self.fixed] @ x[self.fixed])
        y = self.solver.solve(right)
        y += self.solver.solve(right - self.K[self.free][:, self.free] @ y)
        x[self.free] = y
        return x

    def force(self, x: Array) -> float:
        """Upward force of the flow on the ball: the residual of the momentum balance at its points."""
        dofs = self._dofs("ball", "u^2")
        return float(-(self.K[dofs] @ x).sum())

    def pressure_drop(self, x: Array) -> float:
        """Mean pressure at the inlet less that at the outlet."""
        means = []
        for name, radius in (("inlet", 1.0), ("outlet", self.section.cage)):
            basis = FacetBasis(self.mesh, ElementTriP1(), facets=self.mesh.boundaries[name])
            p = x[self.A.shape[0] :]
            means.append(_section_mean.assemble(basis, p=basis.interpolate(p)) / (math.pi * radius**2))
        return float(means[0] - means[1])

    def dissipation(self, x: Array) -> float:
        """Rate of work by viscosity."""
        v = x[: self.A.shape[0]]
        return float(v @ (self.A @ v))


def poiseuille(section: Section) -> float:
    """Loss of unit flow in the bore up to the seat plane and in the cage from the ball's top on."""
    return 8.0 / math.pi * (section.run_in + section.run_out * section.cage / section.cage**4)


def resistance(section: Section, fineness: float) -> Resistance:
    """Resistance matrix of a section; 0.1 to 0.3 for ``fineness``, the error falls with its fourth power."""
    flow = Flow(mesh_of(section, fineness), section)
    past, moved = flow.solve(1.0, 0.0), flow.solve(0.0, 1.0)
    straight = poiseuille(section)
    Rqq = flow.pressure_drop(past) - straight
    Rqw, Rwq, Rww = -flow.pressure_drop(moved), flow.force(past), -flow.force(moved)
    through = Rqw / Rqq
    level = moved + through * past
    S = flow.dissipation(level) - straight * through**2
    return Resistance(Rqq, Rqw, Rwq, Rww, S)
