"""What it costs to set a case up, from its values to its records: python tests/benchmarks/setup.py [SCENARIO]

One thread; every case has values that no case had before. "alone": with_values, core_parameters, control_for
and both records of one case by itself. "in a batch": the same by CaseMaker, validation included, of which
"copy" are the bytes of the scenario's own record, most of them tables. Microseconds of CPU time a case, the
least of five runs.
"""

import argparse
import cProfile
import math
import pstats
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import qmc

from balltravel.core.records import as_record
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario, flat, with_values
from balltravel.setup.cases import CaseMaker
from balltravel.setup.parameters import control_for, core_parameters

PRIMER = Path(__file__).parents[2] / "scenarios" / "primer.toml"
CASES, RUNS = 256, 5
KEYS = (
    "material.viscosity",
    "drive.cycle_rate",
    "suction.hose_length",
    "suction.hose_diameter",
    "suction.lift",
    "outlet.gauge_pressure",
    "inlet_check.spring_preload",
    "material.density",
    "material.vapour_pressure",
    "shims.below",
)
FOURS = (KEYS[:4], KEYS[4:8], ("material.viscosity", "material.density", "drive.cycle_rate", "suction.lift"))
SPREAD = 0.1
"""Half the range of a sample, over the value that the scenario has."""

Changes = list[dict[str, Any]]


class Sample:
    """Values about those of a scenario, never the same twice."""

    def __init__(self, scenario: Scenario, keys: Sequence[str]) -> None:
        self._now, self._keys = flat(scenario), keys
        self._sobol = qmc.Sobol(len(keys), seed=1)
        self._below = [tuple(range(1, count + 1)) for count in range(len(scenario.shims.thicknesses) + 1)]

    def next(self) -> Changes:
        """As many more cases as a batch has."""
        points = self._sobol.random(CASES)
        return [{key: self._value(key, x) for key, x in zip(self._keys, row, strict=True)} for row in points]

    def _value(self, key: str, x: float) -> Any:
        if key == "shims.below":
            return self._below[int(x * len(self._below))]
        now = self._now[key]
        return (now or 1.0) * (1.0 + SPREAD * (2.0 * float(x) - 1.0))


def alone(scenario: Scenario, changes: Changes) -> None:
    """Each case by itself."""
    for values in changes:
        p = core_parameters(with_values(scenario, values))
        as_record(p), as_record(control_for(p))


def least(run: Callable[[Changes], object], sample: Sample) -> float:
    """Microseconds a case, the least of some runs."""
    best = math.inf
    for _ in range(RUNS):
        changes = sample.next()
        began = time.process_time()
        run(changes)
        best = min(best, time.process_time() - began)
    return 1e6 * best / CASES


def copied(scenario: Scenario) -> Callable[[Changes], object]:
    """What copies a scenario's own record into as many records as there are changes."""
    own = as_record(core_parameters(scenario))

    def copy(changes: Changes) -> None:
        records = np.empty(len(changes), dtype=own.dtype)
        records[:] = own

    return copy


def main() -> None:
    """Print the cost of each key and of some fours, then where the time of one of these goes."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("scenario", nargs="?", default=PRIMER)
    scenario = read_scenario(parser.parse_args().scenario)
    maker = CaseMaker(scenario)
    print(f"{scenario.title}, us a case\n{'changed keys':62}{'alone':>9}{'in a batch':>12}{'copy':>8}")
    for keys in (*((key,) for key in KEYS), *FOURS):
        sample = Sample(scenario, keys)
        assert not maker.make(sample.next()).errors
        times = [least(run, sample) for run in (lambda c: alone(scenario, c), maker.make, copied(scenario))]
        names = ", ".join(keys) if len(keys) == 1 else ", ".join(key.split(".")[1] for key in keys)
        print(f"{names:62}{times[0]:9.0f}{times[1]:12.0f}{times[2]:8.0f}")
    sample = Sample(scenario, FOURS[-1])
    profile = cProfile.Profile()
    profile.runcall(maker.make, sample.next())
    pstats.Stats(profile).sort_stats("tottime").print_stats(12)


if __name__ == "__main__":
    main()
