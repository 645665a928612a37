"""This engine by itself: a case, a batch on threads, a sweep over the core's own time, and a GPU if there is
one."""

import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from clock import least_of_turns
from machine import cores, gpu_there
from problem import MATERIALS, SCENARIOS
from tables import Table, number

from balltravel import sweep
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario, flat
from balltravel.setup.cases import CaseMaker
from balltravel.setup.runs import run_cases
from balltravel.sweeps.columns import compute

ALIKE, BATCH = 16, 400
"""Cases of a call where one case is timed, and of a sweep."""

SPREAD = 0.3
"""Half the range of a sample, over the value that the scenario has."""

KEYS = ("material.viscosity", "drive.cycle_rate", "suction.hose_length")

TARGET = 1.15
"""What a case of a sweep may cost, over the core's own time."""


def scenario_of(name: str) -> Scenario:
    """A shipped scenario."""
    return read_scenario(SCENARIOS / f"{name}.toml")


def samples_of(scenario: Scenario, count: int) -> dict[str, Any]:
    """Values about those of a scenario, the same at every call."""
    now, random = flat(scenario), np.random.default_rng(1)
    return {key: now[key] * random.uniform(1 - SPREAD, 1 + SPREAD, count) for key in KEYS}


def changes_of(samples: dict[str, Any]) -> list[dict[str, Any]]:
    """The same, case by case."""
    return [dict(zip(samples, values, strict=True)) for values in zip(*samples.values(), strict=True)]


def case_table(rounds: int) -> Table:
    """A case in the compiled core, metrics and ranges included: from rest until the cycle repeats."""
    cases = {name: CaseMaker(scenario_of(name)).make([{}] * ALIKE) for name in MATERIALS}
    outcomes = {name: run_cases(of) for name, of in cases.items()}
    times = least_of_turns({name: partial(run_cases, of) for name, of in cases.items()}, rounds)
    rows = []
    for name in MATERIALS:
        seconds, outcome = times[name] / ALIKE, outcomes[name][0]
        step = number(1e6 * seconds / outcome["steps"])
        rows.append([name, str(outcome["cycles"]), str(outcome["steps"]), number(1e3 * seconds), step])
    return Table(
        "One case, one thread",
        ["", "cycles", "steps", "ms a case", "us a step"],
        rows,
        [
            "CPU time in the compiled core at rtol 1e-6, metrics and ranges included. Steps: those of the "
            "last cycle, times the cycles."
        ],
    )


def batch_table(rounds: int) -> Table:
    """A sweep on 1, 2 and all threads."""
    scenario, count = scenario_of("primer"), cores()
    samples = samples_of(scenario, BATCH)
    threads = sorted({1, 2, count})
    runs: dict[int, Callable[[], object]] = {
        n: partial(sweep, scenario, samples=samples, workers=n) for n in threads
    }
    times = least_of_turns(runs, rounds, time.perf_counter)
    rows = [
        [str(n), number(1e3 * times[n] / BATCH), number(BATCH / times[n]), number(times[1] / (n * times[n]))]
        for n in threads
    ]
    return Table(
        f"A sweep of {BATCH} cases about primer, by wall time",
        ["threads", "ms a case", "cases a second", "efficiency T1/(n Tn)"],
        rows,
        ["By wall time, so other programs on the machine count against it."],
    )


def sweep_table(rounds: int) -> Table:
    """What a case of a sweep costs beside the core: plan, set-up, columns, Dataset."""
    rows = []
    for name in MATERIALS:
        scenario = scenario_of(name)
        samples = samples_of(scenario, BATCH)
        cases = CaseMaker(scenario).make(changes_of(samples))
        times = least_of_turns(
            {
                "core": partial(run_cases, cases),
                "sweep": partial(sweep, scenario, samples=samples, workers=1),
            },
            rounds,
            time.process_time,
        )
        core, whole = times["core"], times["sweep"]
        rows.append([name, number(1e3 * core / BATCH), number(1e3 * whole / BATCH), f"{whole / core:.3f}"])
    return Table(
        f"A sweep of {BATCH} cases over the core's own time, one thread",
        ["", "core, ms a case", "sweep, ms a case", "ratio"],
        rows,
        [f"CPU time; the target is a ratio of at most {TARGET}. Three keys vary: {', '.join(KEYS)}."],
    )


def gpu_table(rounds: int) -> Table | None:
    """The same batch on a GPU and on one thread, by wall time; None where there is no GPU."""
    if not gpu_there():
        return None
    scenario = scenario_of("primer")
    changes = changes_of(samples_of(scenario, BATCH))
    on_gpu: Any = partial(compute, device="gpu")
    runs: dict[str, Callable[[], object]] = {
        "one thread": partial(compute, scenario, changes),
        "GPU": partial(on_gpu, scenario, changes),
        "GPU, ten times as many": partial(on_gpu, scenario, changes * 10),
    }
    times = least_of_turns(runs, rounds, time.perf_counter)
    counts = dict(zip(runs, (BATCH, BATCH, 10 * BATCH), strict=True))
    each = {name: times[name] / counts[name] for name in runs}
    rows = [[name, number(1e3 * each[name]), number(each["one thread"] / each[name])] for name in runs]
    return Table(
        f"{BATCH} cases about primer on a GPU, by wall time", ["", "ms a case", "times as fast"], rows
    )
