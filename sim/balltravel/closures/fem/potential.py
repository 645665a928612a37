"""The liquid's inertia around a ball over its seat: potential flow by finite elements (M6).

Kinetic energy of the liquid, density 1 and lengths in seat radii: 1/2 (Mqq Q^2 + 2 Mqw Q w + Mww w^2).
Needs the extra ``fem``.
"""

import math
from typing import Any, NamedTuple

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementTriP2, FacetBasis, LinearForm
from skfem.helpers import dot, grad

from balltravel.closures.fem.creeping import QUADRATURE
from balltravel.closures.fem.section import Section, mesh_of

Array = NDArray[np.float64]


class Inertia(NamedTuple):
    """Entries of the liquid's inertia; Mqq less that of uniform flow in the bore up to the seat plane and in
    the cage from the ball's top on."""

    Mqq: float
    Mqw: float
    Mww: float


@BilinearForm
def _kinetic(u: Any, v: Any, w: Any) -> Any:
    return 2.0 * math.pi * w.x[0] * dot(grad(u), grad(v))


@LinearForm
def _through(v: Any, w: Any) -> Any:
    return 2.0 * math.pi * w.x[0] * v


def _pushed(basis: Basis) -> Array:
    """What a ball that rises at unit speed puts on each node: 2 pi r n_z along its half-circle, by hand, for
    the library cannot find its way back from the smallest elements at a corner."""
    mesh = basis.mesh
    facets = mesh.boundaries["ball"]
    dofs = np.vstack([basis.nodal_dofs[0, mesh.facets[:, facets]], basis.facet_dofs[0, facets]])
    t, weight = (
        0.5 * (x + shift) for x, shift in zip(np.polynomial.legendre.leggauss(4), (1.0, 0.0), strict=True)
    )
    shape = np.array([(1.0 - t) * (1.0 - 2.0 * t), t * (2.0 * t - 1.0), 4.0 * t * (1.0 - t)])
    slope = np.array([4.0 * t - 3.0, 4.0 * t - 1.0, 4.0 - 8.0 * t])
    r, along = (np.einsum("if,iq->fq", mesh.doflocs[0, dofs], by) for by in (shape, slope))
    z = np.einsum("if,iq->fq", mesh.doflocs[1, dofs], shape)
    # Out of the liquid is into the ball: up below its middle.
    middle = 0.5 * (mesh.doflocs[1, dofs].max() + mesh.doflocs[1, dofs].min())
    load = np.einsum("fq,iq,q->if", 2.0 * math.pi * r * np.abs(along) * np.sign(middle - z), shape, weight)
    out = np.zeros(basis.N)
    np.add.at(out, dofs, load)
    return out


def inertia(section: Section, fineness: float) -> Inertia:
    """The liquid's inertia in a section, by quadratic elements; ``fineness`` as for the resistance."""
    mesh = mesh_of(section, fineness)
    element = ElementTriP2()
    basis = Basis(mesh, element, intorder=QUADRATURE)
    side = {
        name: FacetBasis(mesh, element, facets=mesh.boundaries[name], intorder=QUADRATURE)
        for name in ("inlet", "outlet")
    }
    bore, cage = math.pi, math.pi * section.cage**2
    flow = _through.assemble(side["outlet"]) / cage - _through.assemble(side["inlet"]) / bore
    moved = _pushed(basis)
    L = _kinetic.assemble(basis).tocsr()
    # The potential is fixed at one point: only its differences count.
    solver = splu(sparse.csc_array(L[1:][:, 1:]))
    of_flow, of_ball = (np.concatenate(([0.0], solver.solve(f[1:]))) for f in (flow, moved))
    straight = section.run_in / bore + section.run_out * section.cage / cage
    Mqq = float(of_flow @ flow) - straight
    return Inertia(Mqq, float(of_flow @ moved), float(of_ball @ moved))
