"""A heavy lower with motor and tip of which only a few inputs are not known, and what is read of one."""

import math

import numpy as np

from balltravel.bench.calibrate.unknowns import unknowns_of
from balltravel.bench.causes import GAP_KEYS
from balltravel.bench.fit import CREEP
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.signs import SIGNS, SLOWEST, STALL_SIGNS, run_cycles, run_stalls
from balltravel.scenario.model import with_values
from balltravel.scenario.ranges import with_ranges
from balltravel.scenario.unknowns import spreads_of

from .lowers import scenario
from .synthetic_bench import MOTOR, PRESSURE, TIP

SETTINGS = ({}, {"drive.supply_gauge_pressure": 8e6})
STATED = {
    "material.viscosity": {"likely": 10.0, "within": "x 1.63"},
    "suction.hose_diameter": {"likely": 0.038, "within": "x 1.22"},
    "material.free_gas_fraction": {"likely": 0.005, "within": "x 3"},
}


def known_lower(leaks=False):
    """The lower; with ``leaks`` the gaps of foot valve and rod packing are not known either."""
    made = scenario(material={"viscosity": 10.0}, drive=MOTOR, outlet=TIP)
    sure = {key: "exactly" for key in (*spreads_of(made), *GAP_KEYS) if key not in STATED}
    kept = ("inlet_check.leak_gap", "lower.rod_packing_gap") if leaks else ()
    return with_ranges(made, STATED | {key: how for key, how in sure.items() if key not in kept})


def unknowns(lower):
    return unknowns_of(lower, SETTINGS)


def read_of(lower, point, rng=None, changes=None, stalled=False):
    """What is read of the lower at a point of its unknowns, exactly or with errors of a generator;
    ``changes``: what it has beside, of which the scenario does not know."""
    known, conditions = unknowns(lower), []
    for number, setting in enumerate(SETTINGS, 1):
        own = known.changes(point, number) | (changes or {})
        values = run_cycles(with_values(lower, setting), [own], 1)
        read = {key: _reading(key, float(value[0]), rng, lower) for key, value in values.items()}
        conditions.append(Condition(setting, {key: r for key, r in read.items() if r and key != "pounding"}))
    if not stalled:
        return Observations(tuple(conditions))
    values = run_stalls(lower, [known.changes(point) | (changes or {})], PRESSURE, 1)
    stall = {key: _reading(key, float(values[key][0]), rng, lower) for key in STALL_SIGNS}
    return Observations(tuple(conditions), (), PRESSURE, stall)


def _reading(key, value, rng, lower):
    sign, error = SIGNS[key], 0.0 if rng is None else rng.normal()
    if not math.isfinite(value):
        return None
    if key in CREEP:
        if value < 1e-3 / SLOWEST:
            return Reading(SLOWEST, None, True)
        return Reading(lower.lower.stroke / value * math.exp(error * sign.sd))
    if sign.share:
        return Reading((value + sign.floor) * math.exp(error * sign.sd) - sign.floor)
    return Reading(value + error * sign.sd)


def point_of(lower, **coordinates):
    """A point at coordinates of inputs, by the last part of their keys; all others in the middle."""
    names = [unknown.key.rpartition(".")[2] for unknown in unknowns(lower).each]
    point = np.zeros(len(names))
    for name, value in coordinates.items():
        point[names.index(name)] = value
    return point
