"""What it costs to set cases up: python tests/benchmarks/setup.py [SCENARIO] [--part PART] [--cases N]

keys: one case, from its values to its records, in one thread; every case has values that no case had before.
"alone": with_values, core_parameters, control_for and both records of one case by itself. "in a batch": the
same by CaseMaker, validation included, of which "copy" are the bytes of the scenario's own record.
Microseconds of CPU time a case, the least of five runs.

many: from a plan to records, N cases in one thread, each combination looked at: a grid, and a sample of which
every case has values of its own, but for its travel. Microseconds of CPU time a case, once, and the memory at
its peak.

threads: N real cases, in batches as a sweep has them: CPU and wall time of the compiled core on the records
alone, and of compute, which sets up as well, in one thread and in two.
"""

import argparse
import cProfile
import math
import pstats
import resource
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import qmc

from balltravel.core.records import as_record
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario, flat, with_values
from balltravel.scenario.shims import travels_of
from balltravel.setup.cases import CaseMaker
from balltravel.setup.parameters import control_for, core_parameters
from balltravel.setup.runs import run_cases
from balltravel.sweeps.columns import compute
from balltravel.sweeps.plan import Plan

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
MANY = ("material.viscosity", "drive.cycle_rate", "suction.hose_length")
BATCH = 512
"""Cases of a batch, about as many as a chunk of a sweep of the primer has."""

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


def costs_of_keys(scenario: Scenario) -> None:
    """Print the cost of each key and of some fours, then where the time of one of these goes."""
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


def tables(scenario: Scenario, count: int) -> dict[str, tuple[Any, Any]]:
    """A grid and samples, as a plan takes them, of about so many cases."""
    low = np.array([0.2, 0.6, 0.7])
    now = np.array([flat(scenario)[key] for key in MANY])
    shims = [arrangement.below for arrangement in travels_of(scenario)]
    steps = max(2, round((count / len(shims)) ** (1 / 3)))
    ends = [(low * now)[i] + (1.4 * now - low * now)[i] * np.linspace(0.0, 1.0, steps) for i in range(3)]
    grid = {MANY[0]: ends[0], MANY[1]: ends[1], "shims.below": shims, MANY[2]: ends[2]}
    points = qmc.Sobol(4, seed=1).random_base2(max(1, round(math.log2(count))))
    samples: dict[str, Any] = {key: now[i] * (low[i] + 0.7 * points[:, i]) for i, key in enumerate(MANY)}
    samples["shims.below"] = [shims[int(x * len(shims))] for x in points[:, 3]]
    return {"grid": (grid, None), "sample": (None, samples)}


def costs_of_many(scenario: Scenario, count: int) -> None:
    """Print what a plan and its records cost a case."""
    maker = CaseMaker(scenario)
    print(f"{'':10}{'cases':>9}{'plan us':>9}{'records us':>12}{'sum us':>8}{'peak MB':>9}")
    for name, given in tables(scenario, count).items():
        began = time.process_time()
        plan = Plan(scenario, *given)
        planned = time.process_time()
        for start in range(0, len(plan), BATCH):
            assert not maker.make(plan.changes(start, start + BATCH), sound=True).errors
        done = time.process_time()
        each = [1e6 * span / len(plan) for span in (planned - began, done - planned, done - began)]
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{name:10}{len(plan):9}{each[0]:9.2f}{each[1]:12.1f}{each[2]:8.1f}{peak:9.0f}")


def costs_in_threads(scenario: Scenario, count: int) -> None:
    """Print what setting up adds to the core's time, and what a second thread brings."""
    plan = Plan(scenario, *tables(scenario, count)["sample"])
    batches = [plan.changes(start, start + BATCH) for start in range(0, len(plan), BATCH)]
    maker = CaseMaker(scenario)
    made = [maker.make(batch, sound=True) for batch in batches]
    run_cases(made[0])
    compute(scenario, batches[0][:2])
    print(f"{len(plan)} cases{'':14}{'CPU s':>8}{'wall s':>8}")
    for name, workers, work, items in (
        ("the core alone", 1, run_cases, made),
        ("compute", 1, partial(compute, scenario), batches),
        ("compute, 2 threads", 2, partial(compute, scenario), batches),
    ):
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(lambda _: compute(scenario, batches[0][:2]), range(2 * workers)))
            began = time.process_time(), time.perf_counter()
            list(pool.map(work, items))
            print(f"{name:24}{time.process_time() - began[0]:8.2f}{time.perf_counter() - began[1]:8.2f}")


def main() -> None:
    """Print the part that is asked for, or all."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("scenario", nargs="?", default=PRIMER)
    parser.add_argument("--part", choices=("keys", "many", "threads"))
    parser.add_argument("--cases", type=int)
    given = parser.parse_args()
    scenario = read_scenario(given.scenario)
    if given.part in (None, "keys"):
        costs_of_keys(scenario)
    if given.part in (None, "many"):
        costs_of_many(scenario, given.cases or 1_000_000)
    if given.part in (None, "threads"):
        costs_in_threads(scenario, given.cases or 4096)


if __name__ == "__main__":
    main()
