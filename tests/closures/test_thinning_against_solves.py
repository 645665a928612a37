"""Liquids that thin or have a yield stress in a check: the compiled law, with a viscosity at the edge and one
in the cage, against direct solves at places and in liquids to which its numbers were not fitted."""

import csv
from pathlib import Path

import numpy as np
import pytest

from ..helpers.boxes import thin
from ..helpers.edge_alone import EdgeLaw, Place
from ..helpers.fem import MISSING, NEEDS_FEM

if not MISSING:
    from ..helpers.thinning_solves import ThinSolves

DATA = Path(__file__).parents[1] / "data" / "own_solves_of_thinning.csv"


def rows():
    lines = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return [row for row in csv.DictReader(lines) if row["use"] == "held back" and row["motion"] != "carried"]


def law_of(row):
    names = ("viscosity", "exponent", "onset", "yield_stress", "blunt")
    viscosity, n, onset, tau, blunt = (float(row[name]) for name in names)
    place = Place(*(float(row[name]) for name in ("ball", "ratio", "lift")))
    return EdgeLaw(place, thin(viscosity, n, onset, tau, blunt if tau > 0.0 else 1e-2 * onset))


def off(row):
    """Errors of dp and of F given flow and speed, over the sizes of the terms."""
    law = law_of(row)
    Q, w, dp, F = (float(row[name]) for name in ("Q", "w", "dp", "F"))
    (found, force), (drop_size, force_size) = law.given_flow(Q, w), law.terms(Q, w)
    return (found - dp) / drop_size, (force - F) / force_size


@pytest.fixture(scope="module")
def errors():
    """Liquid -> (solves, 2)."""
    found = {}
    for row in rows():
        found.setdefault(row["liquid"], []).append(off(row))
    return {liquid: np.abs(np.array(one)) for liquid, one in found.items()}


@pytest.mark.parametrize(
    ("liquid", "solves"), [("power law", 105), ("Carreau", 135), ("Herschel-Bulkley", 135)]
)
def test_drop_and_force_are_those_of_direct_solves_within_ten_per_cent(within, errors, liquid, solves):
    """Everywhere solved, and 5 % in the median; tests/thinning_compared.py names the worst places."""
    assert errors[liquid].shape == (solves, 2)
    for name, column in zip(("dp", "F"), errors[liquid].T, strict=True):
        print(f"{liquid}, {name}: median {100 * np.median(column):.1f} %, worst {100 * column.max():.1f} %")
        within(column, 0.10)
        assert np.median(column) < 0.05


@NEEDS_FEM
@pytest.mark.parametrize("liquid", ["power law", "Carreau", "Herschel-Bulkley"])
def test_the_solves_are_those_of_the_finite_elements(liquid):
    """Two rows of the table solved again: 1e-3, the mesh is the same."""
    here = [row for row in rows() if (row["liquid"], row["ball"], row["ratio"]) == (liquid, "1.5", "0.78")]
    for row in here[:2]:
        place = Place(*(float(row[name]) for name in ("ball", "ratio", "lift")))
        dp, F, _ = ThinSolves(place).at(row, float(row["Q"]), float(row["w"]))
        assert dp == pytest.approx(float(row["dp"]), rel=1e-3)
        assert pytest.approx(float(row["F"]), rel=1e-3) == F


def test_given_flow_and_given_drop_are_the_same_law():
    """What the core asks for, solved for the other way: 1e-9."""
    law = EdgeLaw(Place(1.5, 0.78, 0.15), thin(1.0, 0.4, 36.0, blunt=1e-2))
    for Q, w in ((1.0, 0.0), (0.0, 0.3), (-0.4, 0.3)):
        dp, F = law.given_flow(Q, w)
        assert law.given_drop(dp, w) == pytest.approx((Q, F), rel=1e-9, abs=1e-9)
