"""How far the check's law with inertia is from steady solves: the shipped table's rows, and fresh solves.

``python tests/inertia_compared.py`` prints tables; ``--fresh`` solves off the grid too, some minutes. Needs
the extra ``fem``.
"""

import argparse
import sys

import numpy as np
from helpers.edge_alone import Place, inertia_misses, table_misses

FRESH = (
    Place(1.25, 0.6, 0.3),
    Place(1.6, 0.78, 0.14),
    Place(1.5, 0.9, 0.6),
    Place(1.25, 0.8, 1.2),
    Place(1.65, 0.6, 0.07),
)
REYNOLDS = (10.0, 30.0, 60.0, 100.0, 200.0)


def where(row):
    place, way = row
    return f"ball {place.ball:g}, ratio {place.ratio:g}, lift {place.lift:g}, {'back' if way < 0 else 'up'}"


def line(title, errors, rows):
    """A row of a table: errors of shape (rows, Reynolds numbers, 2)."""
    cells = []
    for which in range(2):
        size = np.abs(errors[..., which])
        known = 100.0 * size[~np.isnan(size)]
        at = np.unravel_index(int(np.nanargmax(size)), size.shape)
        cells += [
            f"{np.median(known):.1f}",
            f"{np.quantile(known, 0.95):.1f}",
            f"{100.0 * errors[(*at, which)]:+.1f} ({where(rows[at[0]])})",
        ]
    print(f"| {title} | {known.size} | {' | '.join(cells)} |")


def table(title, rows, reynolds, errors):
    head = (title, "solves", "dp, median %", "95 %", "worst", "F, median %", "95 %", "worst")
    print(f"\n| {' | '.join(head)} |\n{'|---' * 8}|")
    for k, number in enumerate(reynolds):
        line(f"Re {number:g}", errors[:, k : k + 1], rows)
    lifts = np.array([place.lift for place, _ in rows])
    for low, high in ((0.0, 0.15), (0.15, 0.5), (0.5, 1.0), (1.0, 4.0)):
        inside = (lifts > low) & (lifts <= high)
        if inside.any():
            line(
                f"lift {low:g} to {high:g}",
                errors[inside],
                [r for r, i in zip(rows, inside, strict=True) if i],
            )
    line("all", errors, rows)


def fresh():
    from helpers.inertia_solves import loss_and_force

    rows, errors = [], []
    for place in FRESH:
        for way in (1.0, -1.0):
            found = np.full((len(REYNOLDS), 2), np.nan)
            solved = np.array(list(loss_and_force(place, way, REYNOLDS)))
            found[: len(solved)] = inertia_misses(place, way, REYNOLDS[: len(solved)], *solved.T)
            rows.append((place, way))
            errors.append(found)
            print(f"\r{len(rows)} of {2 * len(FRESH)}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return rows, REYNOLDS, np.array(errors)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fresh", action="store_true")
    table("rows of the table", *table_misses())
    if parser.parse_args().fresh:
        table("fresh solves off the grid", *fresh())


if __name__ == "__main__":
    main()
