"""How far the check's law is from steady solves of liquids that thin and have inertia, past a held ball.

``python tests/thinning_and_inertia_compared.py`` prints tables from the stored solves, without the extra
``fem``. ``--solve FILE`` makes solves: it adds those that are missing in FILE and goes on where it ended; all
of them take some fifteen minutes of CPU time. ``--finer`` solves three rows again with smaller elements.
"""

import argparse
import sys
from collections import defaultdict
from itertools import product
from pathlib import Path

import numpy as np
from helpers.edge_alone import Place
from helpers.thinning_inertia import COLUMNS, DATA, liquid_at, misses, place_of_row, read
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

LINES, LIFTS = ((1.25, 0.6), (1.5, 0.85)), (0.2, 0.5, 0.07, 1.2)
PLACES = tuple(Place(*line, lift) for lift, line in product(LIFTS, LINES))
LIQUIDS = (
    ("Newtonian", 1.0), ("power law", 0.6), ("power law", 0.4), ("Carreau", 0.4), ("Herschel-Bulkley", 0.6),
)  # fmt: skip
REYNOLDS = (10.0, 30.0, 100.0, 200.0, 300.0)
FINER = (
    ("1.25", "0.6", "0.2", "1", "0.4"),
    ("1.5", "0.85", "0.2", "-1", "0.4"),
    ("1.5", "0.85", "0.5", "1", "0.4"),
)
"""Ball, ratio, lift, way and exponent of power laws."""


def solve(path):
    """The rows that are missing in a file, a place and a way at a time."""
    from helpers.thinning_inertia_solves import HeldFlow, NotConvergedError  # only with the extra fem

    if not path.exists():
        path.write_text(",".join(COLUMNS) + "\n", encoding="utf-8")
    there = {
        (*place_of_row(row), float(row["way"]), row["liquid"], float(row["exponent"])) for row in read(path)
    }
    for place, way in product(PLACES, (1.0, -1.0)):
        held = None
        for name, n in LIQUIDS:
            if (*place, way, name, n) in there:
                continue
            held = held or HeldFlow(place, way)
            row = liquid_at(place, name, n)
            try:
                rows = [(*place, way, *row.values(), *numbers) for numbers in held.rising(row, REYNOLDS)]
            except NotConvergedError as error:
                print(f"{place} {name}: {error}", file=sys.stderr)
                continue
            with path.open("a", encoding="utf-8") as file:
                file.writelines(
                    ",".join(f"{x:.9g}" if x is not name else name for x in line) + "\n" for line in rows
                )
            print(f"{place} {'up' if way > 0.0 else 'back'}, {name}", file=sys.stderr, flush=True)


def finer():
    """Three power laws again, at Re 100, with elements of 0.3 of the local width and of 0.2."""
    from helpers.thinning_inertia_solves import HeldFlow

    print("\n| ball, ratio, lift, way | Re | dp at 0.2 over that at 0.3 | F |\n|---|---|---|---|")
    for *place, way, n in FINER:
        row = liquid_at(Place(*map(float, place)), "power law", float(n))
        both = []
        for size in (0.3, 0.2):
            held = HeldFlow(Place(*map(float, place)), float(way), size)
            both.append(np.array(list(held.rising(row, (100.0,)))))
        for coarse, fine in zip(*both, strict=True):
            dp, F = 100.0 * (fine[1:] / coarse[1:] - 1.0)
            print(f"| {', '.join([*place, way])} | {fine[0]:g} | {dp:+.2f} % | {F:+.2f} % |")


def table(title, rows):
    """``rows``: (group, errors of dp and F, where)."""
    groups = defaultdict(list)
    for group, both, where in rows:
        groups[group].append((*both, where))
    print(
        f"\n| {title} | solves | dp: median, 90 %, worst | at | F: median, 90 %, worst | at |\n{'|---' * 6}|"
    )
    for group, found in groups.items():
        cells = []
        for which in (0, 1):
            size = 100.0 * np.abs([one[which] for one in found])
            at = found[int(np.argmax(size))]
            three = (np.median(size), np.quantile(size, 0.9), size.max())
            cells += [", ".join(f"{x:.1f}" for x in three), at[2]]
        print(f"| {group} | {len(found)} | {' | '.join(cells)} |")


def same_coefficient(rows):
    """Near the seat: the Reynolds number over that at which a Newtonian liquid has the same K_p; above the
    last one solved K_p over that one's."""
    lost = defaultdict(dict)
    for row in rows:
        if float(row["lift"]) < 0.1:
            key = (row["ball"], row["way"], f"{row['liquid']} {row['exponent']}")
            lost[key][float(row["reynolds"])] = float(row["dp"])
    K_p = {
        key: {Re: (dp - found[0.0]) / Re for Re, dp in sorted(found.items()) if Re}
        for key, found in lost.items()
    }
    print(f"\n| near the seat | {' | '.join(f'Re {Re:g}' for Re in REYNOLDS[1:])} |\n{'|---' * 5}|")
    for (ball, way, liquid), found in K_p.items():
        known = K_p.get((ball, way, "Newtonian 1"), {})
        if liquid.startswith("Newtonian") or len(known) < 4:
            continue
        over, ends = PchipInterpolator(np.log([*known]), np.log([*known.values()])), np.log([*known])[[0, -1]]
        cells = [
            f"J {Re / np.exp(brentq(lambda x, K=found[Re], o=over: o(x) - np.log(K), *ends)):.2f}"
            if found[Re] < [*known.values()][-1]
            else f"K_p {found[Re] / [*known.values()][-1]:.2f}"
            for Re in REYNOLDS[1:]
        ]
        print(f"| ball {ball}, {'up' if float(way) > 0.0 else 'back'}, {liquid} | {' | '.join(cells)} |")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--solve", type=Path, metavar="FILE")
    parser.add_argument("--finer", action="store_true")
    asked = parser.parse_args()
    if asked.solve:
        solve(asked.solve)
    found = []
    for row, both in misses(read(asked.solve or DATA)):
        place = f"ball {row['ball']}, ratio {row['ratio']}, lift {row['lift']}"
        way = "up" if float(row["way"]) > 0.0 else "back"
        found.append((row, both, f"{place}, {way}, {row['liquid']} {row['exponent']}, Re {row['reynolds']}"))
    thin = [one for one in found if one[0]["liquid"] != "Newtonian"]
    table("liquid", [(f"{one[0]['liquid']} {one[0]['exponent']}", *one[1:]) for one in found])
    table("liquids that thin, Re", [(one[0]["reynolds"], *one[1:]) for one in thin])
    table("liquids that thin, lift", [(one[0]["lift"], *one[1:]) for one in thin])
    table("Newtonian, lift", [(one[0]["lift"], *one[1:]) for one in found if one not in thin])
    table("use", [(one[0]["use"], *one[1:]) for one in thin if "use" in one[0]])
    same_coefficient(read(asked.solve or DATA))
    if asked.finer:
        finer()


if __name__ == "__main__":
    main()
