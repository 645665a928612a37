"""Own solves in space of a ball off its axis, as they lie in ``tests/data``, and the rule at their places."""

import csv
from itertools import groupby
from pathlib import Path

import numpy as np

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import seat_and_cage

DATA = Path(__file__).parents[1] / "data" / "own_solves_off_the_axis.csv"


def rows():
    """Each a mapping of its columns to numbers."""
    text = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return [{name: float(value) for name, value in row.items()} for row in csv.DictReader(text)]


def beside_centred():
    """Each row off the axis after that on the axis at the same ball, cage and lift."""
    for _, line in groupby(rows(), lambda row: (row["ball"], row["ratio"], row["lift"])):
        centred, *off = line
        assert centred["lean"] == 0.0
        yield from ((centred, row) for row in off)


def matrix(row, spin="held"):
    """Rqq, Rqw and S of a row whose ball is held from turning or free to turn."""
    freed = 1.0 if spin == "free" else 0.0
    Rqq, Rqw, Rww = (
        row[f"R{a}{b}"] - freed * row[f"R{a}s"] * row[f"R{b}s"] / row["Rss"] for a, b in ("qq", "qw", "ww")
    )
    return np.array([Rqq, Rqw, Rww - Rqw**2 / Rqq])


def check_of(row, offset):
    """The check of a row, its ball as far off the axis."""
    cage = row["ball"] / row["ratio"]
    return CheckGeometry(1.0, 0.0, row["ball"], cage, 0.0, 0.7, 1e-9, offset=offset, family="tabulated")


def by_rule(row):
    """What the rule makes of Rqq and Rqw on the axis, as factors."""
    lift = np.array([row["lift"]])
    on, off = (seat_and_cage(check_of(row, offset), lift) for offset in (0.0, row["offset"]))
    return np.array([off.Rqq[0] / on.Rqq[0], off.Rqw[0] / on.Rqw[0]])
