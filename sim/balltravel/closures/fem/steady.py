"""Steady flow past a ball over its seat with inertia and a viscosity that depends on the shear rate.

Axisymmetric Navier-Stokes by Newton's method on the meshes of creeping flow. The liquid enters developed
through one end and leaves freely through the other. Lengths in seat radii. Needs the extra ``fem``.
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
    LinearForm,
)
from skfem.helpers import ddot, dot, grad, mul, sym_grad

from balltravel.closures.fem.creeping import QUADRATURE, _continuity, _section_mean
from balltravel.closures.fem.liquids import NEWTONIAN, Liquid
from balltravel.closures.fem.section import Section, mesh_of

Array = NDArray[np.float64]

TOLERANCE = 1e-8
"""Change of the velocity in the last step of Newton's method, over the largest velocity."""

MOST_STEPS = 30


class NotConvergedError(RuntimeError):
    """Newton's method found no steady flow from where it began."""


class FlowState(NamedTuple):
    """A steady flow: difference of the mean static pressures between bore and cage, power that the ends give
    to the liquid (pressure and kinetic energy), upward force on the ball, dissipation, velocity and pressure
    at the nodes, and steps taken."""

    static: float
    power: float
    force: float
    dissipation: float
    x: Array
    steps: int


@BilinearForm
def _viscous_tangent(u: Any, v: Any, w: Any) -> Any:
    r, a = w.x[0], w["a"]
    E, Eu, Ev = sym_grad(a), sym_grad(u), sym_grad(v)
    along_u = ddot(E, Eu) + a[0] * u[0] / r**2
    along_v = ddot(E, Ev) + a[0] * v[0] / r**2
    plain = 2.0 * w["eta"] * (ddot(Eu, Ev) + u[0] * v[0] / r**2)
    return 2.0 * math.pi * r * (plain + 4.0 * w["slope"] * along_u * along_v)


@LinearForm
def _viscous_force(v: Any, w: Any) -> Any:
    r, a = w.x[0], w["a"]
    return 4.0 * math.pi * r * w["eta"] * (ddot(sym_grad(a), sym_grad(v)) + a[0] * v[0] / r**2)


@BilinearForm
def _inertial_tangent(u: Any, v: Any, w: Any) -> Any:
    a = w["a"]
    turned = dot(mul(grad(u), a), v) + dot(mul(grad(a), u), v)
    return 2.0 * math.pi * w.x[0] * w["density"] * turned


@LinearForm
def _inertial_force(v: Any, w: Any) -> Any:
    a = w["a"]
    return 2.0 * math.pi * w.x[0] * w["density"] * dot(mul(grad(a), a), v)


@Functional
def _dissipation(w: Any) -> Any:
    r, a = w.x[0], w["a"]
    E = sym_grad(a)
    return 4.0 * math.pi * r * w["eta"] * (ddot(E, E) + (a[0] / r) ** 2)


@Functional
def _power(w: Any) -> Any:
    u = w["u"]
    return 2.0 * math.pi * w.x[0] * (w["p"] + 0.5 * w["density"] * dot(u, u)) * u[1]


class SteadyFlow:
    """The discrete problem on a mesh of a section."""

    def __init__(self, section: Section, fineness: float) -> None:
        self.section, self.mesh = section, mesh_of(section, fineness)
        self.u = Basis(self.mesh, ElementVector(ElementTriP2()), intorder=QUADRATURE)
        self.p = Basis(self.mesh, ElementTriP1(), intorder=QUADRATURE)
        self.B = _continuity.assemble(self.u, self.p).tocsr()
        self.r = np.asarray(self.u.global_coordinates())[0]
        self.size = self.u.N + self.p.N

    def _dofs(self, name: str, component: str) -> NDArray[np.int64]:
        return np.asarray(self.u.get_dofs(name).all([component]))

    def rate(self, a: Any) -> Array:
        """Shear rate sqrt(2 E:E) where the forms are evaluated."""
        E = sym_grad(a)
        return np.asarray(np.sqrt(2.0 * (ddot(E, E) + (np.asarray(a)[0] / self.r) ** 2)))

    def solve(
        self,
        through: float,
        speed: float,
        density: float = 0.0,
        liquid: Liquid = NEWTONIAN,
        start: Array | None = None,
        wall_speed: float = 0.0,
        fixed_point: int = 0,
        most_steps: int = MOST_STEPS,
    ) -> FlowState:
        """Steady flow at a net flow and a speed of the ball.

        ``start``: nodes of a flow nearby, else creeping flow of viscosity 1; ``wall_speed`` of a straight
        tube that slides along a ball, the liquid with it; ``fixed_point``: first steps that keep the
        viscosity.
        Raises NotConvergedError.
        """
        x, free = self._boundary(through, speed, liquid, start, wall_speed)
        creeping = start is None
        for step in range(1, most_steps + 1):
            a = self.u.interpolate(x[: self.u.N])
            eta, slope = (np.ones_like(self.r), 0.0) if creeping else liquid.viscosity(self.rate(a))
            if step <= fixed_point:
                slope = 0.0 * eta
            tangent, force = self._momentum(a, eta, slope * np.ones_like(eta), 0.0 if creeping else density)
            residual = np.concatenate([force + self.B.T @ x[self.u.N :], self.B @ x[: self.u.N]])
            K = sparse.csc_array(sparse.bmat([[tangent, self.B.T], [self.B, None]]).tocsr()[free][:, free])
            solver = splu(K)
            change = -solver.solve(residual[free])
            change -= solver.solve(K @ change + residual[free])
            x[free] += change
            size = np.abs(change[free < self.u.N]).max() / np.abs(x[: self.u.N]).max()
            if not size < 1e6 or (size > 0.7 and step > max(3, fixed_point + 2)):
                break
            if size < TOLERANCE and not creeping:
                return self._state(x, density, liquid, step)
            creeping = False
        raise NotConvergedError(f"no steady flow at density {density:g} for {self.section}")

    def _boundary(
        self, through: float, speed: float, liquid: Liquid, start: Array | None, wall_speed: float
    ) -> tuple[Array, NDArray[np.int64]]:
        x = np.zeros(self.size) if start is None else start.copy()
        way_in, radius = ("inlet", 1.0) if through >= 0.0 else ("outlet", self.section.cage)
        both = [self._dofs(name, f"u^{k}") for name in (way_in, "wall", "ball") for k in (1, 2)]
        straight = [self._dofs(name, "u^1") for name in ("axis", "inlet", "outlet")]
        entering = self._dofs(way_in, "u^2")
        x[entering] = liquid.developed(through, radius)[0](self.u.doflocs[0, entering]) + wall_speed
        x[self._dofs("wall", "u^2")] = wall_speed
        x[self._dofs("ball", "u^2")] = speed
        return x, np.setdiff1d(np.arange(self.size), np.unique(np.concatenate(both + straight)))

    def _momentum(self, a: Any, eta: Array, slope: Array, density: float) -> tuple[Any, Array]:
        tangent = _viscous_tangent.assemble(self.u, a=a, eta=eta, slope=slope)
        force = _viscous_force.assemble(self.u, a=a, eta=eta)
        if density:
            tangent = tangent + _inertial_tangent.assemble(self.u, a=a, density=density)
            force = force + _inertial_force.assemble(self.u, a=a, density=density)
        return tangent, force

    def _state(self, x: Array, density: float, liquid: Liquid, steps: int) -> FlowState:
        a = self.u.interpolate(x[: self.u.N])
        eta, slope = liquid.viscosity(self.rate(a))
        momentum = self._momentum(a, eta, slope, density)[1] + self.B.T @ x[self.u.N :]
        means, powers = [], []
        for name, radius in (("inlet", 1.0), ("outlet", self.section.cage)):
            facets = self.mesh.boundaries[name]
            basis = FacetBasis(self.mesh, self.u.elem, facets=facets, intorder=QUADRATURE)
            beside = FacetBasis(self.mesh, self.p.elem, facets=facets, intorder=QUADRATURE)
            p, u = beside.interpolate(x[self.u.N :]), basis.interpolate(x[: self.u.N])
            means.append(_section_mean.assemble(beside, p=p) / (math.pi * radius**2))
            powers.append(_power.assemble(basis, p=p, u=u, density=density))
        force = -float(momentum[self._dofs("ball", "u^2")].sum())
        lost = float(_dissipation.assemble(self.u, a=a, eta=eta))
        return FlowState(float(means[0] - means[1]), float(powers[0] - powers[1]), force, lost, x, steps)

    def straight(self, through: float, liquid: Liquid = NEWTONIAN) -> float:
        """Loss of developed flow in the bore up to the seat plane and in the cage from the ball's top on."""
        s = self.section
        bore, cage = liquid.developed(through, 1.0)[1], liquid.developed(through, s.cage)[1]
        return s.run_in * bore + s.run_out * s.cage * cage
