"""What the plan, the set-up and the result of a sweep cost, from a hundred cases to a million:

    python tests/benchmarks/many_cases.py COUNT           # prints one line of JSON

Each count runs in a process of its own, so that its memory is its own. The compiled call is replaced by one
that gives every case the outcome of the first: what is left is everything else that ``sweep`` does.
"""

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tables import Table, number

COUNTS = (100, 1000, 10_000, 100_000, 1_000_000)
PATIENCE = 120.0
"""Seconds within which a sweep of real cases has to be over."""

MEGABYTE = 2**20


def peak() -> float:
    """Largest memory of this process so far [bytes]."""
    import resource  # which Windows does not have

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return float(most if sys.platform == "darwin" else 1024 * most)


def stand_in_run(count: int) -> dict[str, float]:
    """A sweep of so many cases without their integration: CPU time [s], memory beyond that of a small one and
    of the result [bytes]."""
    from own_engine import samples_of, scenario_of

    from balltravel import sweep
    from balltravel.setup.runs import run_cases
    from balltravel.sweeps import columns

    scenario = scenario_of("primer")
    first: Any = None

    def stand_in(cases: Any) -> Any:
        nonlocal first
        if first is None:
            first = run_cases(cases._replace(parameters=cases.parameters[:1]))
        return first.repeat(len(cases.parameters))

    with patch.object(columns, "run_cases", stand_in):
        sweep(scenario, samples=samples_of(scenario, 10), workers=1)
        samples = samples_of(scenario, count)
        before, began = peak(), time.process_time()
        result = sweep(scenario, samples=samples, workers=1)
        seconds = time.process_time() - began
    assert result.sizes["case"] == count
    assert not result["status"].any()
    return {"count": count, "seconds": seconds, "memory": peak() - before, "result": float(result.nbytes)}


def in_own_process(count: int) -> dict[str, float]:
    """The same in a process of its own."""
    command = [sys.executable, str(Path(__file__)), str(count)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    answer: dict[str, float] = json.loads(done.stdout)
    return answer


def stand_in_table(most: int) -> Table:
    """All counts up to ``most``."""
    rows = []
    for count in (count for count in COUNTS if count <= most):
        run = in_own_process(count)
        rows.append(
            [
                f"{count:,}",
                number(run["seconds"]),
                number(1e6 * run["seconds"] / count),
                number(run["memory"] / MEGABYTE),
                number(run["memory"] / count),
                number(run["result"] / count),
            ]
        )
    return Table(
        "A sweep without its integration: plan, set-up, result",
        ["cases", "CPU s", "us a case", "memory MiB", "bytes a case", "of the result"],
        rows,
        [
            "The compiled call is replaced by one that gives every case the outcome of the first. Memory: "
            "the largest of the process, less its largest after a sweep of ten cases. Part of the result "
            "lies in what the process had used and freed before, so the result may be larger."
        ],
    )


def real_table(most: int) -> Table:
    """Real cases on all cores, as many as are over in time."""
    from own_engine import samples_of, scenario_of

    from balltravel import sweep

    scenario, rows, each = scenario_of("primer"), [], 0.0
    sweep(scenario, samples=samples_of(scenario, 10))
    for count in (count for count in COUNTS if count <= most):
        if count * each > PATIENCE:
            break
        samples = samples_of(scenario, count)
        began, used = time.perf_counter(), time.process_time()
        sweep(scenario, samples=samples)
        wall, used = time.perf_counter() - began, time.process_time() - used
        each = wall / count
        rows.append([f"{count:,}", number(wall), number(1e3 * each), number(1e3 * used / count)])
    return Table(
        "A sweep of real cases about primer on all cores",
        ["cases", "wall s", "wall ms a case", "CPU ms a case"],
        rows,
        [f"Counts that would take more than {PATIENCE:.0f} s are left out."],
    )


if __name__ == "__main__":
    print(json.dumps(stand_in_run(int(sys.argv[1]))))
