"""How often a diagnosis names a fault that it was not told, cause by cause; some minutes each.

    python tests/diagnose_confused.py --count 195 --seed 4
    python tests/diagnose_confused.py --viscosity 5
    python tests/diagnose_confused.py --sound --count 60     # sound lowers alone
    python tests/diagnose_confused.py --wrong viscosity      # of a scenario that is wrong; or thinning
    python tests/diagnose_confused.py --two                  # two faults at once

Each lower has everything that is not known drawn anew and one fault of any size (or none), is run and is
read with errors. Counted are sound lowers, and faults whose effect on what was read, against the same lower
without it, is three standard deviations of all that is not known or more.
"""

import argparse
import os
import sys
from collections import Counter
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # of small matrices more threads only wait for each other

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
from tests.helpers.synthetic_bench import PRESSURE, Bench, observations

from balltravel.bench.causes import NONE
from balltravel.bench.diagnose import FAULT, SOUND, UNEXPLAINED, judged
from balltravel.bench.fit import Model, rows_of
from balltravel.bench.signs import CYCLE_SIGNS, SIGNS, run_cycles, run_stalls

STRONG = 3.0

SEVEN = (
    "cycle_rate", "tip_pressure", "upstroke_time", "downstroke_time", "vacuum_at_inlet",
    "seconds_per_stroke_up", "seconds_per_stroke_down",
)  # fmt: skip

THICKER, NARROWER = 1.3, 1.0 / 1.08
"""Viscosity and bore of the suction hose over those of a scenario that is wrong."""

EXPONENT, THINNED_AT = 0.7, 30.0
"""A thinning that the scenario does not tell, and the shear rate [1/s] at which it has the scenario's
viscosity: about that in the hose and the bores of the lower."""


def truth_of(wrong, bench):
    """How the true lower differs from the scenario."""
    material, hose = bench.scenario.material, bench.scenario.suction.hose_diameter
    if wrong == "thinning":
        consistency = material.viscosity * THINNED_AT ** (1.0 - EXPONENT)
        law = {"material.flow": "power law", "material.thinning_exponent": EXPONENT}
        return law | {"material.viscosity": consistency}
    return {"material.viscosity": THICKER * material.viscosity, "suction.hose_diameter": NARROWER * hose}


def truths(bench, count, sound_only=False):
    """Name, changes with the fault and without, of so many lowers."""
    drawn = []
    while len(drawn) < count:
        place = len(drawn) % (len(bench.causes) + 1)
        if sound_only or place == len(bench.causes):
            changes = bench.unknowns()
            drawn.append((NONE, changes, changes))
            continue
        cause = bench.causes[place]
        worn = bench.with_fault(cause, cause.size(bench.rng.uniform(0.05, 1.0)))
        if worn:
            drawn.append((cause.name, *worn))
    return drawn


def signs_of(bench, changes):
    """Signs of true lowers, one dictionary each."""
    values = run_cycles(bench.truth, changes) | run_stalls(bench.truth, changes, PRESSURE)
    return [{key: column[i] for key, column in values.items()} for i in range(len(changes))]


def effect(bench, observed, with_it, without):
    """Of a fault on what was read, in standard deviations of all that is not known."""
    rows = rows_of(observed, bench.scenario.lower.stroke)
    model = Model(rows, bench.answers)
    moved = np.array([row.scaled(with_it[row.key]) - row.scaled(without[row.key]) for row in rows])
    return float(np.sqrt(moved @ np.linalg.solve(model.covariance, moved)))


def diagnoses(bench, drawn, signs, keys, on_a_good_day):
    """Name of the true fault and what is made of it, of all that are strong enough to count."""
    for i, (name, _, _) in enumerate(drawn):
        today, before = ({key: signs[n][key] for key in keys} for n in (i, i + len(drawn)))
        read = bench.read(today)
        good = bench.read({key: value for key, value in before.items() if key in on_a_good_day})
        if name == NONE or effect(bench, observations(read), today, before) >= STRONG:
            yield name, judged(bench.scenario, observations(read, good), bench.causes, bench.answers)


def confusion(title, found):
    """Print how often faults were named first and among two, by cause, and how sure."""
    found = list(found)
    faults = [(name, [cause.name for cause in d.causes]) for name, d in found if name != NONE]
    verdicts = Counter(d.verdict for name, d in found if name == NONE)
    if faults:
        first = np.mean([name == ranked[0] for name, ranked in faults])
        two = np.mean([name in ranked[:2] for name, ranked in faults])
        print(f"\n{title}: {len(faults)} faults, first {first:.3f}, among two {two:.3f}")
    print(f"sound: {verdicts[SOUND]} of {verdicts.total()} called sound, {verdicts[FAULT]} a fault")
    told = [d.causes[0].probability for _, d in found]
    right = [d.causes[0].name == name for name, d in found]
    for low, high in ((0.0, 0.5), (0.5, 0.9), (0.9, 1.01), (0.0, 1.01)):
        of = [i for i, chance in enumerate(told) if low <= chance < high]
        if of:
            shares = np.mean([told[i] for i in of]), np.mean([right[i] for i in of])
            print(f"said {low:g} to {min(high, 1):g}: {len(of)}, {shares[0]:.2f} said, {shares[1]:.2f} right")
    named = Counter((name, d.causes[0].name) for name, d in found)
    for name in sorted({true for true, _ in named}):
        taken = ", ".join(f"{other} {n}" for (true, other), n in named.most_common() if true == name)
        print(f"  {name:16s} {taken}")


def pairs(bench, count):
    """Two causes' names, and the changes of the lower with neither, the first, the second and both."""
    drawn = []
    while len(drawn) < count:
        places = bench.rng.choice(len(bench.causes), 2, replace=False)
        first, second = (bench.causes[place] for place in places)
        worn = bench.with_fault(first, first.size(bench.rng.uniform(0.05, 1.0)))
        if worn is None:
            continue
        both, alone = bench.also(worn[0], second, bench.rng.uniform(0.05, 1.0), worn[1])
        if both is not None:
            drawn.append(((first.name, second.name), (worn[1], worn[0], alone, both)))
    return drawn


def two_at_once(bench, count):
    """Print how often two faults were told by misfit, and how often one of them was named."""
    drawn = pairs(bench, count)
    signs = signs_of(bench, [changes for _, four in drawn for changes in four])
    counts = Counter()
    for i, (names, _) in enumerate(drawn):
        neither, first, second, both = signs[4 * i : 4 * i + 4]
        observed = observations(bench.read(both))
        if min(effect(bench, observed, one, neither) for one in (first, second)) < STRONG:
            continue
        found = judged(bench.scenario, observed, bench.causes, bench.answers)
        ranked = [cause.name for cause in found.causes]
        counts["count"] += 1
        counts["misfit"] += found.verdict == UNEXPLAINED
        counts["one of them first"] += ranked[0] in names
        counts["one among two"] += bool({*names} & {*ranked[:2]})
        counts["both are the two"] += {*names} == {*ranked[:2]}
    print(dict(counts))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=195)
    parser.add_argument("--seed", type=int, default=4)
    parser.add_argument("--viscosity", type=float, default=10.0, help="Pa s")
    parser.add_argument("--wrong", choices=("viscosity", "thinning"))
    parser.add_argument("--sound", action="store_true")
    parser.add_argument("--two", action="store_true")
    arguments = parser.parse_args()
    bench = Bench(arguments.seed, arguments.viscosity)
    if arguments.wrong:
        bench.differs(truth_of(arguments.wrong, bench))
    if arguments.two:
        two_at_once(bench, arguments.count)
        return
    drawn = truths(bench, arguments.count, arguments.sound)
    signs = signs_of(bench, [worn for _, worn, _ in drawn] + [before for _, _, before in drawn])
    for title, keys, good in (
        ("all signs", SIGNS, ()), ("seven signs", SEVEN, ()),
        ("a good day at work", SIGNS, CYCLE_SIGNS), ("a good day and its stall", SIGNS, SIGNS),
        ("seven signs, and all of them on a good day", SEVEN, SEVEN),
    ):  # fmt: skip
        confusion(title, diagnoses(bench, drawn, signs, list(keys), good))


if __name__ == "__main__":
    main()
