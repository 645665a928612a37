"""Clift, Grace and Weber (1978), table 5.2: drag coefficient of a sphere in open liquid.

Referees: the same correlation in the library ``fluids``, and own finite-element solves.
"""

import numpy as np
import pytest

from balltravel.closures.drag import DRAG_REYNOLDS_MAX, sphere_drag_coefficient

BRANCHES_MEET = (0.01, 20.0, 260.0, 1500.0, 1.2e4, 4.4e4)


def test_the_drag_agrees_with_an_independent_library(agree):
    """1e-12: one formula written twice. Below Re 0.01 the library keeps another first term."""
    fluids = pytest.importorskip("fluids")
    for reynolds in np.geomspace(0.010001, 0.999999 * DRAG_REYNOLDS_MAX, 2000):
        agree(sphere_drag_coefficient(reynolds), fluids.drag.Clift(reynolds), rel=1e-12)


def test_the_drag_agrees_with_the_tabulated_correlation(table, agree):
    """1e-6: the column carries eight digits. At Re 20 the library is on the upper branch, the book on the
    lower one."""
    rows = [row for row in table("sphere_drag_correlations.csv") if row["Re"] > 0.01 and row["Re"] != 20]
    assert len(rows) == 21
    for row in rows:
        expected = row["CliftGraceWeber(fluids.Clift)"]
        agree(sphere_drag_coefficient(row["Re"]), expected, rel=1e-6)


def test_creeping_flow_has_the_correction_of_oseen(table, agree):
    """1e-6: the column carries six digits (24004.5)."""
    row = table("sphere_drag_correlations.csv")[0]
    assert row["Re"] == 0.001
    agree(sphere_drag_coefficient(0.001), row["Oseen"], rel=1e-6)


def test_the_drag_agrees_with_finite_elements(table, agree):
    """1.6 %: the largest difference is 1.5 % (Re 5). Rinf 300: the outer boundary matters below Re 0.5."""
    rows = [row for row in table("fe_sphere_Cd_unbounded.csv") if row["Rinf"] == 300]
    assert len(rows) == 12
    for row in rows:
        agree(sphere_drag_coefficient(row["Re"]), row["Cd"], rel=0.016)


def test_the_steps_where_branches_meet_are_small():
    """0.8 %, the step at Re 20; a step down in drag, below 0.02 %."""
    for reynolds in BRANCHES_MEET:
        below = sphere_drag_coefficient(reynolds * (1 - 1e-9))
        above = sphere_drag_coefficient(reynolds * (1 + 1e-9))
        assert -2e-4 < above / below - 1 < 8e-3
