"""How far the rule for liquids that thin or have a yield stress is from direct solves.

``python tests/thinning_compared.py`` prints tables; ``--solve`` solves every row again beforehand, half an
hour, and needs the extra ``fem``.
"""

import argparse
import csv
import sys
from collections import defaultdict
from pathlib import Path
from typing import NamedTuple

import numpy as np
from helpers.boxes import thin
from helpers.edge_alone import EdgeLaw, Place

DATA = Path(__file__).parent / "data" / "own_solves_of_thinning.csv"


class Solve(NamedTuple):
    """A row: place, liquid, motion, flow, speed, pressure drop, force; whether the rule was fitted to it."""

    place: Place
    liquid: str
    motion: str
    Q: float
    w: float
    dp: float
    F: float
    fitted: bool
    row: dict[str, str]


def read(path):
    """Rows of a table of tests/data, by name of column."""
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return csv.DictReader(lines)


def rows_of():
    """All rows of the table."""
    for row in read(DATA):
        place = Place(*(float(row[name]) for name in ("ball", "ratio", "lift")))
        numbers = (float(row[name]) for name in ("Q", "w", "dp", "F"))
        yield Solve(place, row["liquid"], row["motion"], *numbers, row["use"] == "fitted", row)


def law_of(one):
    """The compiled law with a row's liquid at its place."""
    names = ("viscosity", "exponent", "onset", "yield_stress", "blunt")
    viscosity, n, onset, tau, blunt = (float(one.row[name]) for name in names)
    # A power law and a Carreau liquid are smooth at rest already.
    floor = blunt if tau > 0.0 else 1e-2 * onset
    return EdgeLaw(one.place, thin(viscosity, n, onset, tau, floor))


def misses(solve, law):
    """Errors of dp and F given the flow, and of Q and F given the drop, over their terms; of a ball that no
    force acts on the flow's alone."""
    if solve.motion == "carried":
        return {"Q/w": law.carried() * solve.w / solve.Q - 1.0}
    dp, F = law.given_flow(solve.Q, solve.w)
    drop, force = law.terms(solve.Q, solve.w)
    Q, F2 = law.given_drop(solve.dp, solve.w)
    own = abs(solve.Q) + abs(solve.w) * law.alpha
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


def solved(rows):
    """The same rows, solved again; a row that does not converge is told and left out."""
    from helpers.thinning_solves import ThinSolves  # only with the extra fem

    places = {}
    for number, one in enumerate(rows, 1):
        if one.place not in places:
            places[one.place] = ThinSolves(one.place)
        try:
            dp, F, _ = places[one.place].at(one.row, one.Q, one.w)
        except RuntimeError as error:
            print(f"\n{one.place} {one.liquid} {one.motion}: {error}", file=sys.stderr)
            continue
        print(f"\r{number} of {len(rows)} solves", end="", file=sys.stderr, flush=True)
        yield one._replace(dp=dp, F=F)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--solve", action="store_true")
    rows = list(rows_of())
    if parser.parse_args().solve:
        rows = list(solved(rows))
    laws, found = {}, []
    for one in rows:
        key = (one.place, one.liquid)
        if key not in laws:
            laws[key] = law_of(one)
        p = one.place
        where = f"ball {p.ball:g}, ratio {p.ratio:g}, lift {p.lift:g}, {one.liquid}, {one.motion}"
        found += [(one, name, error, where) for name, error in misses(one, laws[key]).items()]
    unseen = [row for row in found if not row[0].fitted]
    table("liquid, not fitted", [(one.liquid, *rest) for one, *rest in unseen])
    table("liquid, fitted", [(one.liquid, *rest) for one, *rest in found if one.fitted])
    table("motion, not fitted", [(one.motion, *rest) for one, *rest in unseen])
    table("lift, not fitted", sorted((one.place.lift, *rest) for one, *rest in unseen))


if __name__ == "__main__":
    main()
