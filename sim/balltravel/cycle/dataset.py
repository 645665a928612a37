"""A cycle as an xarray Dataset and back: the form in which people and files have it."""

import json
from dataclasses import asdict
from importlib.metadata import version
from typing import Any

import numpy as np
import xarray as xr

from balltravel import __version__
from balltravel.core.status import Status
from balltravel.cycle.metrics import Metrics, metrics_of
from balltravel.cycle.motion import BOTH, CHECK, ROW, Motion, variables
from balltravel.cycle.run import Cycle, run_cycle
from balltravel.cycle.validity import Excursion
from balltravel.scenario.model import Scenario, from_result
from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS, RTOL

CHECKS = ["inlet", "piston"]


def simulate(
    scenario: Scenario, rtol: float = RTOL, max_cycles: int = MAX_CYCLES, most_steps: int = MOST_STEPS
) -> xr.Dataset:
    """Run a scenario until its cycle repeats, and return that cycle as a Dataset; see run_cycle.

    Over ``time`` [s] (accepted steps, uneven, twice where something jumps), ``check`` (inlet, piston) and
    ``event``; SI units in the attributes. ``attrs["status"]`` names how the run ended, ``attrs["advice"]``
    says it in a sentence, ``attrs["scenario"]`` is the scenario as it was run, ``attrs["excursions"]`` (JSON)
    has the closures outside their range (see validity).
    """
    return to_dataset(run_cycle(scenario, rtol, max_cycles, most_steps))


def _variable(dims: tuple[str, ...], values: object, units: str, long_name: str) -> xr.Variable:
    return xr.Variable(dims, values, {"units": units, "long_name": long_name})


def to_dataset(cycle: Cycle) -> xr.Dataset:
    """A cycle with its events, SI units in the attributes; see simulate."""
    data = {name: _variable(about[0], getattr(cycle.motion, name), *about[1:]) for name, about in variables()}
    mask = cycle.outside_range.astype(np.int8)
    data["outside_range"] = _variable(ROW, mask, "1", "1 where a closure is outside its range")
    coordinates = {"time": data.pop("time"), "check": xr.Variable(CHECK, CHECKS)}
    return xr.Dataset(data, coordinates, _attributes(cycle))


def _attributes(cycle: Cycle) -> dict[str, Any]:
    return {
        "Conventions": "CF-1.11",
        "title": cycle.scenario.title,
        "source": f"balltravel {__version__}",
        "scenario": cycle.scenario.model_dump_json(),
        "status": cycle.status.name.lower(),
        "status_code": int(cycle.status),
        "advice": cycle.status.advice,
        "cycles": cycle.cycles,
        "delivered_change": cycle.delivered_change,
        "rtol": cycle.rtol,
        "versions": f"numpy {np.__version__}, numba {version('numba')}, xarray {xr.__version__}",
        "excursions": json.dumps([asdict(excursion) for excursion in cycle.excursions]),
    }


def motion_in(data: xr.Dataset) -> Motion:
    """The motion that a Dataset of simulate carries."""
    values: dict[str, Any] = {}
    for name, about in variables():
        values[name] = data[name].values if about.dims else float(data[name])
        if about.dims in (BOTH, CHECK) and values[name].shape[-1] != len(CHECKS):
            raise ValueError(f"{name}: {values[name].shape[-1]} checks given; allowed: {', '.join(CHECKS)}")
    return Motion(**values)


def cycle_metrics(data: xr.Dataset) -> Metrics:
    """All metrics of one cycle, as :func:`balltravel.simulate` returns it."""
    return metrics_of(motion_in(data))


def cycle_of(data: xr.Dataset) -> Cycle:
    """The cycle that a Dataset of :func:`balltravel.simulate` carries, one read from a file among them."""
    motion, status = motion_in(data), Status(int(data.attrs["status_code"]))
    return Cycle(
        from_result(data.attrs["scenario"]),
        status,
        int(data.attrs["cycles"]),
        float(data.attrs["delivered_change"]),
        motion,
        None if status.failed else metrics_of(motion),
        data["outside_range"].values.astype(bool),
        tuple(Excursion(**values) for values in json.loads(data.attrs["excursions"])),
        float(data.attrs["rtol"]),
    )
