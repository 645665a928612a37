"""How far the rule for liquids that thin or have a yield stress is from direct solves.

``python tests/thinning_compared.py`` prints tables; about half an hour. ``--keep FILE`` writes every solve,
``--from FILE`` reads them instead of solving. Needs the extra ``fem``.
"""

import argparse
import csv
import itertools
import sys
from collections import defaultdict
from typing import NamedTuple

import numpy as np
from physics.edge_alone import EdgeLaw, Place, creeping
from physics.thinning_solves import LIQUIDS, MOTIONS, ThinSolves, liquids_of

# Off the grids of the fit: every lift with each ball and each ratio, not all at once.
PLACES = [
    Place(ball, ratio, lift)
    for (i, ball), (j, ratio), (k, lift) in itertools.product(
        enumerate((1.25, 1.5, 1.65)), enumerate((0.6, 0.78, 0.9)), enumerate((0.07, 0.15, 0.3, 0.6, 1.2))
    )
    if (i + j + k) % 3 == 0
]


class Solve(NamedTuple):
    """One direct solve: place, liquid, motion, flow, speed, pressure drop, force."""

    place: Place
    liquid: str
    motion: str
    Q: float
    w: float
    dp: float
    F: float


def solved(place):
    """All motions in all liquids at a place."""
    solves = ThinSolves(place)
    for name in LIQUIDS:
        for motion in MOTIONS:
            # A power law's solves at a tenth of the flow are those at the whole.
            if name == "power law" and "tenth" in motion:
                continue
            try:
                yield Solve(place, name, motion, *solves.motion(name, motion))
            except RuntimeError as error:
                print(f"\n{place} {name} {motion}: {error}", file=sys.stderr)
        try:
            yield Solve(place, name, "carried", *solves.carried(name))
        except RuntimeError as error:
            print(f"\n{place} {name} carried: {error}", file=sys.stderr)


def misses(solve, law):
    """Errors of dp and F given the flow, and of Q and F given the drop, over their terms; of a ball that no
    force acts on the flow's alone."""
    if solve.motion == "carried":
        return {"Q/w": law.carried() * solve.w / solve.Q - 1.0}
    dp, F = law.given_flow(solve.Q, solve.w)
    drop, force = law.terms(solve.Q, solve.w)
    alpha = creeping(solve.place).alpha
    Q, F2 = law.given_drop(solve.dp, solve.w)
    own = abs(solve.Q) + alpha * abs(solve.w)
    share = abs(solve.dp) / drop
    return {
        "dp": (dp - solve.dp) / drop,
        "F": (F - solve.F) / force,
        "Q, given dp": (Q - solve.Q) / own,
        "F, given dp": (F2 - solve.F) / (force * max(share, 1.0)),
    }


def table(title, rows):
    """``rows``: (group, name of the error, error, place)."""
    groups = defaultdict(list)
    for group, name, error, where in rows:
        groups[group, name].append((abs(error), error, where))
    print(f"\n| {title} | of | solves | median | 90 % | worst | at |\n{'|---' * 7}|")
    for (group, name), found in groups.items():
        size = 100.0 * np.array([one[0] for one in found])
        _, error, where = max(found)
        print(
            f"| {group} | {name} | {size.size} | {np.median(size):.1f} % | {np.quantile(size, 0.9):.1f} % "
            f"| {100.0 * error:+.1f} % | {where} |"
        )


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep")
    parser.add_argument("--from", dest="kept")
    asked = parser.parse_args()
    if asked.kept:
        with open(asked.kept, encoding="utf-8", newline="") as file:
            rows = [[*map(float, row[:3]), *row[3:5], *map(float, row[5:])] for row in csv.reader(file)]
        solves = [Solve(Place(*row[:3]), *row[3:]) for row in rows]
    else:
        solves = []
        for number, place in enumerate(PLACES, 1):
            solves += solved(place)
            print(f"\r{number} of {len(PLACES)} places", end="", file=sys.stderr, flush=True)
            if asked.keep:
                with open(asked.keep, "w", encoding="utf-8", newline="") as file:
                    csv.writer(file).writerows([*one.place, *one[1:]] for one in solves)
    laws = {}
    rows = []
    for one in solves:
        key = (one.place, one.liquid)
        if key not in laws:
            laws[key] = EdgeLaw(one.place, liquids_of(one.place)[one.liquid].rheology)
        for name, error in misses(one, laws[key]).items():
            p = one.place
            where = f"ball {p.ball:g}, ratio {p.ratio:g}, lift {p.lift:g}, {one.liquid}, {one.motion}"
            rows.append((one, name, error, where))
    table("liquid", [(one.liquid, *rest) for one, *rest in rows])
    table("motion", [(one.motion, *rest) for one, *rest in rows])
    table("lift", sorted((one.place.lift, *rest) for one, *rest in rows))


if __name__ == "__main__":
    main()
