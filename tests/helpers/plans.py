"""Plans of many cases, and what computes them in no time, for the tests of sweeps."""

import hashlib
import os
from pathlib import Path

import numpy as np

from balltravel.files.read_write import read_scenario
from balltravel.scenario.changes import Sound
from balltravel.setup.cases import CaseMaker
from balltravel.sweeps.columns import empty

SCENARIOS = Path(__file__).parents[2] / "scenarios"

FATAL = 3.0
"""Viscosity at which a stand-in meets what it cannot bear."""


class Viscosities:
    """So many viscosities [Pa s], from ``first`` on in steps of ``step``."""

    def __init__(self, count, first=1.0, step=0.25, scenario=None):
        self.scenario = scenario or read_scenario(SCENARIOS / "mastic.toml")
        self.count, self.first, self.step = count, first, step

    def __len__(self):
        return self.count

    def changes(self, start, stop):
        cases = range(start, min(stop, self.count))
        return [{"material.viscosity": self.first + self.step * i} for i in cases]

    def digest(self):
        return hashlib.sha256(repr((self.count, self.first, self.step)).encode()).hexdigest()

    def described(self):
        return {}


def stand_in(_, changes, rtol):
    """Columns that are soon made and differ from case to case in every number, with a text now and then."""
    columns = empty(len(changes))
    for i, values in enumerate(changes):
        viscosity = values["material.viscosity"]
        for n, column in enumerate(columns.values()):
            if column.dtype == np.float64:
                column[i] = np.sin(viscosity + n) * rtol
        columns["status"][i] = int(viscosity) % 8
        columns["error"][i] = f'µ = {viscosity} went "wrong"' if columns["status"][i] > 1 else ""
    return columns


def sets_up_only(scenario, changes, rtol):
    """Cases as the core takes them, and none of them run: one number of each that differs."""
    cases = CaseMaker(scenario, rtol).make(changes, isinstance(changes, Sound))
    assert not cases.errors
    columns = empty(len(changes))
    columns["fill_fraction"][:] = cases.control["scale"][:, 1]
    return columns


def fails_at_three(scenario, changes, rtol):
    """An error that nobody foresaw, at one case."""
    if any(values["material.viscosity"] == FATAL for values in changes):
        raise ZeroDivisionError("nobody foresaw this")
    return stand_in(scenario, changes, rtol)


def kills_its_worker_at_three(scenario, changes, rtol):
    """As a case that makes the system end the process that computes it."""
    if any(values["material.viscosity"] == FATAL for values in changes):
        os._exit(1)
    return stand_in(scenario, changes, rtol)


def same_bits(some, others):
    """Whether two sets of columns have the same bits, texts among them; others may be a Dataset of them."""
    for name, column in some.items():
        other = np.asarray(getattr(others[name], "values", others[name])).ravel()
        if column.dtype == object:
            same = column.tolist() == other.tolist()
        else:
            same = column.dtype == other.dtype and column.tobytes() == other.tobytes()
        if not same:
            return False
    return True
