"""Added mass of a sphere in a tube: own finite-element solves, and the image of a dipole as referee."""

import math
from itertools import pairwise

import pytest
from scipy.integrate import quad
from scipy.special import i1e, k1e

from balltravel.closures import tube


def test_the_added_mass_agrees_with_finite_elements(table, agree):
    """1e-7: the spline passes through the table, seven digits."""
    for row in table("fe_added_mass_tube.csv"):
        agree(tube.added_mass_coefficient(row["lambda"]), row["Cm_n48"], rel=1e-7)


def test_a_solve_left_out_of_the_table_is_met_by_interpolation(monkeypatch, agree):
    """2e-5, and 1e-4 at the last interior node (0.9)."""
    nodes = tube._ADDED_MASS
    try:
        for i, (lam, coefficient) in enumerate(nodes[:-1]):
            monkeypatch.setattr(tube, "_ADDED_MASS", nodes[:i] + nodes[i + 1 :])
            tube._added_mass_spline.cache_clear()
            tolerance = 2e-5 if lam < 0.9 else 1e-4
            agree(tube.added_mass_coefficient(lam), coefficient, rel=tolerance)
    finally:
        tube._added_mass_spline.cache_clear()


def test_a_small_ball_feels_the_image_of_its_dipole(table, agree):
    """C_m = 3/(2 (1 - kappa lambda^3/2)) - 1: exact but for the image's curvature."""
    kappa = 2 / math.pi * quad(lambda k: k**2 * k1e(k) / i1e(k) * math.exp(-2 * k), 0, 40, epsabs=1e-13)[0]
    for row in table("fe_added_mass_tube.csv")[:4]:
        image = 1.5 / (1 - 0.5 * kappa * row["lambda"] ** 3) - 1
        agree(row["Cm_n48"], image, rel=1e-4)
        agree(tube.added_mass_coefficient(row["lambda"]), image, rel=1e-4)


def test_open_liquid_gives_one_half_and_the_added_mass_rises_with_the_ball():
    values = [tube.added_mass_coefficient(0.95 * i / 400) for i in range(401)]
    assert values[0] == 0.5
    assert all(later > earlier for earlier, later in pairwise(values))


@pytest.mark.parametrize("lam", [-0.01, 0.951, math.nan])
def test_a_radius_ratio_outside_the_range_is_refused_with_the_range(lam):
    with pytest.raises(ValueError, match=r"allowed 0\.0 to 0\.95, for example"):
        tube.added_mass_coefficient(lam)
