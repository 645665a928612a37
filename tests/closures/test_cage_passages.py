"""Passages between ball and cage: eccentric circles and ribs, against limits and an independent solve."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.closures.passages import (
    annulus_conductance,
    equivalent_radius,
    off_axis_gain,
    ribbed_conductance,
    ribbed_equivalent,
)

from ..helpers.fem import NEEDS_FEM


def test_concentric_circles_are_those_of_the_textbook():
    """pi/8 (a^4 - b^4 - (a^2 - b^2)^2/ln(a/b)); to the whole pipe for b = 0, slowly; to a slot for b = a."""
    assert annulus_conductance(2.0, 1.0) == pytest.approx(
        math.pi / 8 * (15.0 - 9.0 / math.log(2.0)), rel=1e-12
    )
    assert annulus_conductance(1.0, 1e-300) == pytest.approx(math.pi / 8, rel=2e-3)
    narrow = 1e-3
    assert annulus_conductance(1.0 + narrow, 1.0) == pytest.approx(math.pi * narrow**3 / 6, rel=1e-3)


@pytest.mark.parametrize("e", [0.1, 0.5, 0.9, 0.99, 1.0])
def test_a_narrow_eccentric_annulus_passes_1_plus_one_and_a_half_e_squared(agree, e):
    wide = 1e-3
    gain = annulus_conductance(1.0 + wide, 1.0, e * wide) / annulus_conductance(1.0 + wide, 1.0)
    agree(gain, 1.0 + 1.5 * e * e, 2e-3)


@given(st.floats(0.05, 0.97), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_the_farther_off_the_axis_the_more_passes(inner, first, second):
    near, far = sorted((first, second))
    low, high = (annulus_conductance(1.0, inner, e * (1.0 - inner)) for e in (near, far))
    assert low <= high * (1.0 + 1e-6)


def test_the_series_and_the_limit_of_touching_circles_meet():
    for inner in (0.2, 0.5, 0.9):
        close, touching = (annulus_conductance(1.0, inner, e * (1.0 - inner)) for e in (1.0 - 2e-6, 1.0))
        assert close == pytest.approx(touching, rel=1e-5)
        centred, near = (annulus_conductance(1.0, inner, e * (1.0 - inner)) for e in (0.0, 2e-6))
        assert near == pytest.approx(centred, rel=1e-6)


@pytest.mark.parametrize("circles", [(1.0, 1.0, 0.0), (1.0, 0.5, 0.6), (1.0, 0.5, -0.1), (1.0, 0.0, 0.0)])
def test_circles_that_do_not_hold_each_other_are_refused(circles):
    with pytest.raises(ValueError, match="one must hold the other"):
        annulus_conductance(*circles)


def test_a_touching_ball_in_a_narrow_cage_passes_twice_as_much():
    """Between sectors that exchange nothing, the mean of (1 + cos)^(5/2) = 16 sqrt(32)/(15 pi) = 1.92, and an
    even pressure around each section, the exact ratio of two integrals over the gap h = 1 + y^2."""
    y = np.linspace(0.0, 40.0, 400_001)
    h = 1.0 + y * y
    bound = np.trapezoid(h**-3, y) / np.trapezoid(1.0 / (h**3 + 1.5 * h), y)
    assert bound == pytest.approx(2.0, rel=0.01)
    assert off_axis_gain(0.99, 1.0, 0.01) == pytest.approx(bound, rel=2e-3)
    assert off_axis_gain(0.99, 1.0, 0.01) > 16.0 * math.sqrt(32.0) / (15.0 * math.pi)
    assert off_axis_gain(0.7, 1.0, 1e-9) == pytest.approx(1.0, rel=1e-9)


@given(st.floats(0.1, 0.97), st.floats(0.0, 1.0))
def test_no_ball_passes_more_than_the_annulus_of_its_largest_section_would(ball, share):
    offset = share * (1.0 - ball)
    widest = annulus_conductance(1.0, ball, offset) / annulus_conductance(1.0, ball)
    assert 1.0 - 1e-9 <= off_axis_gain(ball, 1.0, offset) <= widest * (1.0 + 1e-9)


def solved_section(ball, guide, housing, count, rib):
    """Poisson's equation of half an opening by scikit-fem's quadratic elements in the plane itself."""
    from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri, condense, solve
    from skfem.helpers import dot, grad

    half = math.pi / count
    edge = half - 0.5 * rib / guide
    radii = np.concatenate([np.linspace(ball, guide, 13), np.linspace(guide, housing, 17)[1:]])
    angles = np.concatenate([np.linspace(0.0, edge, 25), np.linspace(edge, half, 13)[1:]])
    mesh = MeshTri.init_tensor(radii, angles)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.remove_elements(np.flatnonzero((middle[0] > guide) & (middle[1] > edge)))
    mesh = mesh.refined(2)
    polar = mesh.p.copy()
    on_sides = np.isclose(polar[1], 0.0) | (np.isclose(polar[1], half) & (polar[0] < guide - 1e-9))
    mesh = type(mesh)(np.stack([polar[0] * np.cos(polar[1]), polar[0] * np.sin(polar[1])]), mesh.t)
    basis = Basis(mesh, ElementTriP2())

    @BilinearForm
    def laplace(u, v, _):
        return dot(grad(u), grad(v))

    @LinearForm
    def one(v, _):
        return v

    still = [facet for facet in mesh.boundary_facets() if not on_sides[mesh.facets[:, facet]].all()]
    A, f = laplace.assemble(basis), one.assemble(basis)
    u = solve(*condense(A, f, D=basis.get_dofs(np.array(still))))
    return 2 * count * float(f @ u)


@NEEDS_FEM
@pytest.mark.parametrize("case", [(1.0, 1.2, 1.6, 3, 0.6), (1.0, 1.05, 1.4, 4, 0.4), (1.0, 1.5, 1.8, 6, 1.0)])
def test_ribs_agree_with_an_independent_solve_of_the_section(agree, case):
    found, solved = ribbed_conductance(*case), solved_section(*case)
    agree(found, solved, 3e-3)


def test_ribs_lie_between_the_bores_of_their_faces_and_of_the_housing():
    bores = [annulus_conductance(radius, 1.0) for radius in (1.2, 1.6)]
    found = [ribbed_conductance(1.0, 1.2, 1.6, 3, width) for width in (0.01, 0.5, 1.0, 2.0, 2.5)]
    assert (np.diff(found) < 0.0).all()
    assert bores[0] < found[-1] < found[0] < bores[1]
    assert found[-1] == pytest.approx(bores[0], rel=0.05)


@pytest.mark.parametrize(
    ("case", "least"), [((1.0, 1.02, 1.3, 3, 1.9), 3.0), ((1.0, 1.05, 1.5, 3, 1.5), 1.0)]
)
def test_the_equivalent_bore_passes_as_much_and_the_one_of_equal_area_does_not(case, least):
    """Openings beside a close guide: the bore of equal area passes several times too little."""
    ball, guide, housing, count, rib = case
    radius = ribbed_equivalent(*case)
    assert annulus_conductance(radius, 1.0) == pytest.approx(ribbed_conductance(*case), rel=1e-9)
    opening = 2.0 * math.pi - count * rib / guide
    area = math.pi * (guide**2 - ball**2) + 0.5 * opening * (housing**2 - guide**2)
    by_area = math.sqrt(1.0 + area / math.pi)
    factor = annulus_conductance(by_area, 1.0) / ribbed_conductance(*case)
    print(f"{case}: equal area passes {factor:.2f} times as much")
    assert 1.0 / factor > least


def test_a_bore_is_its_own_equivalent():
    assert equivalent_radius(annulus_conductance(1.37, 1.0), 1.0) == pytest.approx(1.37, rel=1e-9)
    assert equivalent_radius(annulus_conductance(9.0, 1.0), 1.0) == pytest.approx(9.0, rel=1e-9)


@pytest.mark.parametrize(
    "case",
    [(1.0, 0.9, 1.6, 3, 0.5), (1.0, 1.2, 1.1, 3, 0.5), (1.0, 1.2, 1.6, 3, 2.6), (1.0, 1.2, 1.6, 3, 0.0)],
)
def test_ribs_that_cannot_be_are_refused(case):
    with pytest.raises(ValueError, match="openings between the ribs"):
        ribbed_conductance(*case)
