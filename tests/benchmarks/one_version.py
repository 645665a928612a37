"""One version of the program, measured for ``speed.py --against``: run in a process of its own with
PYTHONPATH on that version's ``sim`` and a cache folder of its own; prints one line of JSON.

    python tests/benchmarks/one_version.py SCENARIOS ROUNDS

Uses only what old versions have as well: the scenarios of this version, ``core_parameters``, ``control_for``
and ``run_core``.
"""

import json
import math
import sys
import time
from pathlib import Path
from typing import Any

from balltravel.core.status import Status
from balltravel.files.read_write import read_scenario
from balltravel.setup.parameters import RTOL, control_for, core_parameters
from balltravel.setup.runs import run_core

TIGHT = 1e-10


def delivered(run: Any) -> float:
    """Volume delivered in the last cycle [m3]."""
    from balltravel.core.recording import COLUMNS

    return float(run.rows[-1, COLUMNS.index("delivered_volume")])


def case(path: Path, rounds: int) -> dict[str, float]:
    """CPU time of a case [s], its steps, and its error against a tight run of as many cycles."""
    p = core_parameters(read_scenario(path))
    control = control_for(p, RTOL)
    run = run_core(p, control)
    assert run.status == Status.OK
    best = math.inf
    for _ in range(rounds):
        began = time.process_time()
        run_core(p, control)
        best = min(best, time.process_time() - began)
    tight = run_core(p, control_for(p, TIGHT, run.cycles)._replace(periodic_tolerance=-1.0))
    error = abs(delivered(run) / delivered(tight) - 1.0)
    return {"seconds": best, "steps": run.cycles * len(run.rows), "error": error}


def main() -> None:
    """The first run compiles, unless the cache has the code; the others are timed."""
    paths, rounds = sys.argv[1].split(","), int(sys.argv[2])
    p = core_parameters(read_scenario(paths[0]))
    began = time.process_time()
    run_core(p, control_for(p))
    first = time.process_time() - began
    print(
        json.dumps({"first": first, "cases": {Path(path).stem: case(Path(path), rounds) for path in paths}})
    )


if __name__ == "__main__":
    main()
