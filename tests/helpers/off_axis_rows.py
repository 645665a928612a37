"""Own solves in space of a ball off its axis, each beside that on the axis."""

from itertools import groupby

from balltravel.closures.table.off_axis_grid import solves


def beside_centred():
    """Each row off the axis after that on the axis at the same ball, cage and lift."""
    rows = sorted(solves(), key=lambda row: [row[name] for name in ("ball", "ratio", "lift", "lean")])
    for _, line in groupby(rows, lambda row: (row["ball"], row["ratio"], row["lift"])):
        centred, *off = line
        assert centred["lean"] == 0.0
        yield from ((centred, row) for row in off)
