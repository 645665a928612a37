"""A cycle as an xarray Dataset and back: the form in which people and files have it."""

import json
import platform
from dataclasses import asdict
from importlib.metadata import version
from typing import Any

import numpy as np
import xarray as xr

from balltravel import __version__
from balltravel.core.status import Status
from balltravel.cycle.metrics import Metrics, metrics_of
from balltravel.cycle.motion import BOTH, CHECK, CHECKS, ROW, Array, Motion, variables
from balltravel.cycle.run import Cycle, run_cycle
from balltravel.cycle.validity import Excursion
from balltravel.scenario.arguments import refused
from balltravel.scenario.model import Scenario, ScenarioError, from_result
from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS, RTOL
from balltravel.units import kind_of, shown

_ATTRIBUTES = ("scenario", "cycles", "delivered_change", "excursions", "rtol")
"""Attributes without which a Dataset is no cycle."""


def simulate(
    scenario: Scenario, rtol: float = RTOL, max_cycles: int = MAX_CYCLES, most_steps: int = MOST_STEPS
) -> xr.Dataset:
    """Run a scenario until its cycle repeats, and return that cycle as a Dataset; see run_cycle.

    Over ``time`` [s] (accepted steps, uneven; where something jumps the row after it stands at the next
    representable number), ``check`` (inlet, piston) and ``event``; SI units in the attributes.
    ``attrs["status"]`` names how the run ended, ``attrs["advice"]`` says it in a sentence,
    ``attrs["scenario"]`` is the scenario as it was run, ``attrs["excursions"]`` (JSON) has the closures
    outside their range (see validity).
    """
    return to_dataset(run_cycle(scenario, rtol, max_cycles, most_steps))


def _variable(dims: tuple[str, ...], values: object, units: str, long_name: str) -> xr.Variable:
    return xr.Variable(dims, values, {"units": units, "long_name": long_name})


def to_dataset(cycle: Cycle) -> xr.Dataset:
    """A cycle with its events, SI units in the attributes; see simulate."""
    data = {name: _variable(about[0], getattr(cycle.motion, name), *about[1:]) for name, about in variables()}
    mask = cycle.outside_range.astype(np.int8)
    data["outside_range"] = _variable(ROW, mask, "1", "1 where a closure is outside its range")
    coordinates = {"time": data.pop("time").copy(data=apart(cycle.motion.time))}
    coordinates["check"] = xr.Variable(CHECK, list(CHECKS))
    return xr.Dataset(data, coordinates, _attributes(cycle))


def apart(time: Array) -> Array:
    """Rising times of which equal ones are set one representable number after another, so that an index over
    them finds each row; see together."""
    out = time.copy()
    for i in range(1, out.size):
        if out[i] <= out[i - 1]:
            out[i] = np.nextafter(out[i - 1], np.inf)
    return out


def together(time: Array) -> Array:
    """The reverse of apart: times that are neighbours as numbers are the same instant."""
    out = time.copy()
    for i in range(1, out.size):
        if time[i] <= np.nextafter(time[i - 1], np.inf):
            out[i] = out[i - 1]
    return out


def provenance(scenario: Scenario, rtol: float) -> dict[str, Any]:
    """Attributes of every result: what it was made of, at which tolerance, and by which versions."""
    versions = {"python": platform.python_version(), "numpy": np.__version__}
    versions |= {"numba": version("numba"), "xarray": xr.__version__}
    return {
        "Conventions": "CF-1.11",
        "title": scenario.title,
        "source": f"balltravel {__version__}",
        "scenario": scenario.model_dump_json(),
        "rtol": rtol,
        "versions": ", ".join(f"{name} {number}" for name, number in versions.items()),
    }


def _attributes(cycle: Cycle) -> dict[str, Any]:
    return {
        **provenance(cycle.scenario, cycle.rtol),
        "status": cycle.status.name.lower(),
        "status_code": int(cycle.status),
        "advice": cycle.status.advice,
        "cycles": cycle.cycles,
        "delivered_change": cycle.delivered_change,
        "excursions": json.dumps([asdict(excursion) for excursion in cycle.excursions]),
    }


def motion_in(data: xr.Dataset) -> Motion:
    """The motion that a Dataset of simulate carries; raises ScenarioError for anything else."""
    if not isinstance(data, xr.Dataset):
        raise _no_result(f"{shown(data)} given" if isinstance(data, str) else kind_of(data))
    values: dict[str, Any] = {}
    for name, about in variables():
        if name not in data.variables or data[name].ndim != len(about.dims):
            raise _no_result(f"a Dataset without {name} given")
        values[name] = data[name].values if about.dims else float(data[name])
        if about.dims in (BOTH, CHECK) and values[name].shape[-1:] != (len(CHECKS),):
            raise refused(name, f"{values[name].shape[-1]} checks given", ", ".join(CHECKS), _EXAMPLE)
    return Motion(**{**values, "time": together(values["time"])})


_EXAMPLE = "balltravel.simulate(scenario)"


def _no_result(given: str) -> ScenarioError:
    return refused("data", given, "a Dataset of one cycle, as balltravel.simulate makes it", _EXAMPLE)


def cycle_metrics(data: xr.Dataset) -> Metrics:
    """All metrics of one cycle, as :func:`balltravel.simulate` returns it.

    Raises ScenarioError for a run that failed, a part of a cycle and what is no cycle.
    """
    motion = motion_in(data)
    status = _status_in(data)
    if status.failed:
        given = f"a run that ended with {status.name.lower()} given ({status.advice})"
        raise refused("data", given, "a run that did not fail", 'data.attrs["status"] == "ok"')
    return _metrics_of_whole(motion)


def _status_in(data: xr.Dataset) -> Status:
    try:
        return Status(int(data.attrs["status_code"]))
    except (KeyError, ValueError, TypeError):
        raise _no_result(f"status_code {data.attrs.get('status_code')!r} given") from None


def _metrics_of_whole(motion: Motion) -> Metrics:
    time = motion.time
    if not time.size or time[0] > 0.0 or time[-1] < motion.period:
        span = f"{time[0]:.4g} to {time[-1]:.4g} s" if time.size else "no row"
        allowed = f"all rows of the cycle, 0 to {motion.period:.4g} s"
        raise refused("data", f"{span} given", allowed, _EXAMPLE)
    return metrics_of(motion)


def cycle_of(data: xr.Dataset) -> Cycle:
    """The cycle that a Dataset of :func:`balltravel.simulate` carries, one read from a file among them.

    Raises ScenarioError for a part of a cycle and what is no cycle.
    """
    motion = motion_in(data)
    status = _status_in(data)
    missing = [name for name in _ATTRIBUTES if name not in data.attrs]
    missing += [name for name in ("outside_range",) if name not in data]
    if missing:
        raise _no_result(f"a Dataset without {missing[0]} given")
    return Cycle(
        from_result(data.attrs["scenario"]),
        status,
        int(data.attrs["cycles"]),
        float(data.attrs["delivered_change"]),
        motion,
        None if status.failed else _metrics_of_whole(motion),
        data["outside_range"].values.astype(bool),
        tuple(Excursion(**values) for values in json.loads(data.attrs["excursions"])),
        float(data.attrs["rtol"]),
    )
