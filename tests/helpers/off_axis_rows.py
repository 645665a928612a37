"""Own solves in space of a ball off its axis: each beside that on the axis, and the table beside others."""

from itertools import groupby

import numpy as np

from balltravel.closures.table.off_axis_gains import factors
from balltravel.closures.table.off_axis_grid import matrix, solves
from balltravel.closures.table.tabulated import edge_matrix, gap_of_lift


def beside_centred():
    """Each row off the axis after that on the axis at the same ball, cage and lift."""
    rows = sorted(solves(), key=lambda row: [row[name] for name in ("ball", "ratio", "lift", "lean")])
    for _, line in groupby(rows, lambda row: (row["ball"], row["ratio"], row["lift"])):
        centred, *off = line
        assert centred["lean"] == 0.0
        yield from ((centred, row) for row in off)


def off_table(row, spin):
    """Relative errors of the table: Rqq, Rqw, Rww, S."""
    ball, ratio, lift = (row[name] for name in ("ball", "ratio", "lift"))
    on_axis = np.ravel(edge_matrix(ball, ratio, gap_of_lift(ball, np.array([lift]))))
    Rqq, Rqw, S = on_axis * factors(ball, ratio, lift, row["offset"], spin)
    solve = matrix(row, spin)
    found = np.array([Rqq, Rqw, S + Rqw**2 / Rqq, S])
    return found / [solve[0], solve[1], solve[2] + solve[1] ** 2 / solve[0], solve[2]] - 1.0
