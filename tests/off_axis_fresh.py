"""The table of a ball off its axis against fresh solves in space at places that it has no rows of.

``python tests/off_axis_fresh.py FILE [--count 20] [--within 0.65 1.5] [--balls 1.2 1.7]`` (extra ``fem``)
draws places among the balls, ratios and offsets of the table, at lifts over that of the meeting of edge and
cage, solves them one after the other into FILE, goes on where it stopped, and says how far Rqq, Rqw, Rww and
S are off, of a ball held from turning and of one that is free. Some minutes to hours.
"""

import argparse
import csv
from pathlib import Path

import numpy as np
from helpers.off_axis_rows import off_table

from balltravel.closures.table.off_axis_gains import gains
from balltravel.closures.table.off_axis_grid import meeting

SEED = 20
LEAST, MOST = 0.2, 0.9
"""Offsets over that at which the ball touches."""

COLUMNS = (
    *("ball", "ratio", "lift", "lean", "offset", "Rqq", "Rqw", "Rqv", "Rqs", "Rww", "Rwv", "Rws"),
    *("Rvv", "Rvs", "Rss", "reciprocity", "elements", "seconds"),
)


def places(count, low, high, balls):
    """Ball, ratio, lift and lean, drawn evenly (the lift in its logarithm); a longer list begins with a
    shorter one."""
    known, dice = gains(), np.random.default_rng(SEED)
    for _ in range(count):
        ball, ratio = (dice.uniform(nodes[0], nodes[-1]) for nodes in (balls, known.ratio))
        share = low * (high / low) ** dice.uniform()
        yield tuple(
            float(f"{x:.4g}") for x in (ball, ratio, share * meeting(ball, ratio), dice.uniform(LEAST, MOST))
        )


def solved(file, asked):
    """Rows of the asked places, those that are not in the file yet solved and added."""
    from balltravel.closures.fem.points import solve_off_axis

    rows = list(csv.reader(file.open())) if file.exists() else []
    known = {tuple(map(float, row[:4])): [*map(float, row)] for row in rows}
    for place in asked:
        if place not in known:
            known[place] = [*solve_off_axis(*place)]
            with file.open("a") as out:
                csv.writer(out).writerow([f"{x:.7g}" for x in known[place]])
        yield dict(zip(COLUMNS, known[place], strict=True))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("file", type=Path)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--within", type=float, nargs=2, default=gains().shares)
    parser.add_argument("--balls", type=float, nargs=2, default=gains().ball[[0, -1]])
    given = parser.parse_args()
    errors = []
    print(" ball  ratio    lift   lean | held: Rqq, Rqw, Rww, S [%]   | free to turn")
    for row in solved(given.file, places(given.count, *given.within, given.balls)):
        errors.append([off_table(row, spin) for spin in ("held", "free")])
        numbers = " | ".join(" ".join(f"{100.0 * x:6.2f}" for x in of_spin) for of_spin in errors[-1])
        print("{ball:5g} {ratio:6g} {lift:7g} {lean:6g}".format(**row), "|", numbers, flush=True)
    worst = " | ".join(" ".join(f"{100.0 * x:6.2f}" for x in of) for of in abs(np.array(errors)).max(axis=0))
    print(f"worst of {len(errors):2d}                   | {worst}")
