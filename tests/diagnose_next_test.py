"""How often the next test that a diagnosis names tells a choked hose from a ball that hangs; some minutes.

    python tests/diagnose_next_test.py --count 60 --viscosity 5

Lowers with one of both faults are read by a few signs; all other causes are taken to be ruled out. Where the
two then come before none, the test that is named is made (the same lower is run so), read with errors, and
the diagnosis is asked again with it. With ``--elsewhere`` another setting is tried even where one more
reading would do.
"""

import argparse
import math
import sys
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
from tests.helpers.synthetic_bench import PRESSURE, Bench, observations

from balltravel.bench.diagnose import judged
from balltravel.bench.fit import Model, rows_of
from balltravel.bench.next_test import Rivals, other_setting
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.runs import answers_of, at_work
from balltravel.bench.signs import CYCLE_SIGNS, POUNDING, run_cycles, run_stalls
from balltravel.scenario.model import with_values

TWO = ("choked", "hanging ball")

FEW = (
    ("cycle_rate",),
    ("cycle_rate", "tip_pressure"),
    ("cycle_rate", "weighed_per_cycle"),
    ("cycle_rate", "tip_pressure", "weighed_per_cycle"),
    ("cycle_rate", "tip_pressure", "dip_at_top"),
    ("cycle_rate", "tip_pressure", "upstroke_time", "downstroke_time"),
)
"""Signs that are read at first."""


def lowers(bench, count):
    """Name of the fault and changes of so many lowers."""
    by_name = {cause.name: cause for cause in bench.causes}
    drawn = []
    while len(drawn) < count:
        name = TWO[len(drawn) % 2]
        worn = bench.with_fault(by_name[name], by_name[name].size(bench.rng.uniform(0.2, 1.0)))
        drawn += [(name, worn[0])] if worn else []
    return drawn


class Made:
    """A next test as somebody makes it on a lower."""

    def __init__(self, bench):
        self.bench, self.elsewhere = bench, {}
        self.causes = [cause for cause in bench.causes if cause.name in TWO]

    def again(self, observed, test, worn):
        """The diagnosis with the test's outcome beside what was read before."""
        answers, keys = self.bench.answers, {*next(iter(test.outcomes.values()))}
        signs = self._signs(worn, test.changes)
        read = {key: self._read(key, signs[key]) for key in keys}
        first = observed.seen[0]
        if not test.changes:
            more = observations({**first.readings, **observed.stall, **read})
            return judged(self.bench.scenario, more, self.causes, answers)
        more = Observations((first, Condition(test.changes, read)), (), PRESSURE, observed.stall)
        answers = answers | {"seen 2": self._answers(test.changes)}
        return judged(self.bench.scenario, more, self.causes, answers)

    def _signs(self, worn, changes):
        there = {**worn, **self._over(worn, changes)}
        values = run_cycles(self.bench.truth, [there]) | run_stalls(self.bench.truth, [worn], PRESSURE)
        return {key: float(column[0]) for key, column in values.items()}

    def _over(self, worn, changes):
        """A tip or rate that is a factor of that of the scenario is one of the true one."""
        factors = {"outlet.tip_diameter": self.bench.scenario.outlet.tip_diameter}
        return {key: value / factors[key] * worn.get(key, factors[key]) for key, value in changes.items()}

    def _read(self, key, value):
        if key != "pounding":
            return self.bench.read({key: value})[key]
        heard = value * math.exp(CYCLE_SIGNS[key].sd * self.bench.rng.normal())
        word = min(POUNDING, key=lambda word: abs(math.log((heard + 0.05) / (POUNDING[word] + 0.05))))
        return Reading(POUNDING[word])

    def _answers(self, changes):
        name = str(changes)
        if name not in self.elsewhere:
            there = with_values(self.bench.scenario, changes)
            self.elsewhere[name] = answers_of(there, self.causes, at_work(None, None))
        return self.elsewhere[name]


def next_test(bench, observed, causes, elsewhere):
    """The test that is named of the causes that are left, None where the two are not the first two."""
    found = judged(bench.scenario, observed, causes, bench.answers)
    if {cause.name for cause in found.causes[:2]} != {*TWO}:
        return None
    if not elsewhere:
        return judged(bench.scenario, observed, causes, bench.answers, 0, at_work(None, None)).next_test
    model = Model(rows_of(observed, bench.scenario.lower.stroke), bench.answers)
    rivals = Rivals(bench.scenario, model, TWO, model.fits(TWO))
    return other_setting(rivals, {cause.name: cause for cause in causes}, at_work(None, None))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--viscosity", type=float, default=5.0, help="Pa s")
    parser.add_argument("--elsewhere", action="store_true")
    arguments = parser.parse_args()
    bench = Bench(arguments.seed, arguments.viscosity)
    made, counts, hows, told = Made(bench), Counter(), Counter(), []
    drawn = lowers(bench, arguments.count)
    values = run_cycles(bench.truth, [worn for _, worn in drawn])
    for i, (name, worn) in enumerate(drawn):
        for few in FEW:
            observed = observations(bench.read({key: values[key][i] for key in few}))
            test = next_test(bench, observed, made.causes, arguments.elsewhere)
            counts["diagnosed"] += 1
            counts["are the first two"] += test is not None
            if test is None or not test.clear:
                continue
            ranked = [cause.name for cause in made.again(observed, test, worn).causes]
            right = min(TWO, key=lambda which: ranked.index(which) if which in ranked else 99) == name
            hows[test.how, right] += 1
            told.append((test.apart, right))
    print(dict(counts))
    print(f"{len(told)} tests that settle it, right {np.mean([right for _, right in told]):.3f}")
    for low, high in ((2, 3), (3, 4), (4, 6), (6, 1e9)):
        of = [right for apart, right in told if low <= apart < high]
        if of:
            print(f"  {low} to {high:g} standard deviations apart: {len(of)}, right {np.mean(of):.3f}")
    for (how, right), count in sorted(hows.items()):
        print(f"  {count:4d} {'right' if right else 'wrong'}: {how}")


if __name__ == "__main__":
    main()
