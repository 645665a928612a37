"""How often a diagnosis names a fault that it was not told, cause by cause; some minutes.

    python tests/diagnose_confused.py --count 195 --seed 4

Each lower has everything that is not known drawn anew and one fault of any size (or none), is run and is
read with errors. Counted are sound lowers, and faults whose effect on what was read, against the same lower
without it, is three standard deviations of all that is not known or more.
"""

import argparse
import sys
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
from tests.helpers.synthetic_bench import PRESSURE, Bench, observations

from balltravel.bench.causes import NONE
from balltravel.bench.diagnose import SOUND, judged
from balltravel.bench.fit import Model, rows_of
from balltravel.bench.signs import SIGNS, run_cycles, run_stalls

SEVEN = (
    "cycle_rate", "tip_pressure", "upstroke_time", "downstroke_time", "vacuum_at_inlet",
    "seconds_per_stroke_up", "seconds_per_stroke_down",
)  # fmt: skip


def truths(bench, count):
    """Name, changes with the fault and without, of so many lowers."""
    drawn = []
    while len(drawn) < count:
        place = len(drawn) % (len(bench.causes) + 1)
        if place == len(bench.causes):
            changes = bench.unknowns()
            drawn.append((NONE, changes, changes))
            continue
        cause = bench.causes[place]
        worn = bench.with_fault(cause, cause.size(bench.rng.uniform(0.05, 1.0)))
        if worn:
            drawn.append((cause.name, *worn))
    return drawn


def effect(bench, observed, with_it, without):
    """Of a fault on what was read, in standard deviations of all that is not known."""
    rows = rows_of(observed, bench.scenario.lower.stroke)
    model = Model(rows, bench.answers)
    moved = [SIGNS[row.key].scaled(with_it[row.key], row.floor) for row in rows]
    moved = np.array(moved) - [SIGNS[row.key].scaled(without[row.key], row.floor) for row in rows]
    return float(np.sqrt(moved @ np.linalg.solve(model.covariance, moved)))


def confusion(bench, drawn, values, keys, with_good_day):
    """Counts by cause: how many, first, among two, called sound; and what was named first; how sure."""
    named, counts, sure = Counter(), Counter(), []
    for i, (name, _, _) in enumerate(drawn):
        signs = {key: values[key][i] for key in keys}
        before = {key: values[key][i + len(drawn)] for key in keys}
        read = bench.read(signs)
        observed = observations(read, bench.read(before) if with_good_day else None)
        alone = observations(read)
        if name != NONE and effect(bench, alone, signs, before) < 3.0:
            continue
        found = judged(bench.scenario, observed, bench.causes, bench.answers)
        ranked = [cause.name for cause in found.causes]
        counts[name, "count"] += 1
        counts[name, "first"] += ranked[0] == name
        counts[name, "two"] += name in ranked[:2]
        counts[name, "sound"] += found.verdict == SOUND
        named[name, ranked[0]] += 1
        sure.append((found.causes[0].probability, ranked[0] == name))
    return counts, named, np.mean(np.array(sure, float), axis=0)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=195)
    parser.add_argument("--seed", type=int, default=4)
    arguments = parser.parse_args()
    bench = Bench(arguments.seed)
    drawn = truths(bench, arguments.count)
    changes = [worn for _, worn, _ in drawn] + [before for _, _, before in drawn]
    values = run_cycles(bench.scenario, changes) | run_stalls(bench.scenario, changes, PRESSURE)
    for title, keys, good in (
        ("all signs", SIGNS, False),
        ("seven signs", SEVEN, False),
        ("good day", SIGNS, True),
    ):
        counts, named, (said, right) = confusion(bench, drawn, values, list(keys), good)
        names = [cause.name for cause in bench.causes]
        total = {what: sum(counts[name, what] for name in names) for what in ("count", "first", "two")}
        print(f"\n{title}: {total['count']} faults, {total['first']} first, {total['two']} among two")
        print(f"sound: {counts[NONE, 'sound']} of {counts[NONE, 'count']} called sound")
        print(f"said {said:.2f}, right {right:.2f}")
        for name in (*names, NONE):
            taken = ", ".join(f"{other} {n}" for (true, other), n in sorted(named.items()) if true == name)
            print(f"  {name:16s} {counts[name, 'count']:3d}: {taken}")


if __name__ == "__main__":
    main()
