"""The table of a ball off its axis (M5k) at places that it has no rows of, against own solves in space that
were made for this alone (``tests/off_axis_fresh.py``)."""

import csv
from pathlib import Path

import numpy as np
import pytest

from ..helpers.off_axis_rows import off_table

DATA = Path(__file__).parents[1] / "data" / "own_solves_off_axis.csv"


def errors(use):
    """Relative errors of Rqq, Rqw, Rww, S, (place, spin, 4), at the places of a use."""
    lines = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows = [row for row in csv.DictReader(lines) if row.pop("use") == use]
    rows = [{name: float(value) for name, value in row.items()} for row in rows]
    found = np.array([[off_table(row, spin) for spin in ("held", "free")] for row in rows])
    print(f"{use}: {len(rows)} places, largest {np.round(100.0 * abs(found).max(axis=(0, 1)), 2)} %")
    return found


@pytest.mark.parametrize(
    ("use", "places", "most"),
    [("drawn", 20, 0.03), ("near the meeting", 10, 0.031), ("other balls", 6, 0.02)],
)
def test_fresh_solves_are_met(use, places, most):
    found = errors(use)
    assert len(found) == places
    assert abs(found).max() < most
    assert np.median(abs(found)) < 0.005
