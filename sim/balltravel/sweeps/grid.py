"""A scenario times a grid of its keys, as one Dataset."""

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any

import numpy as np
import xarray as xr

from balltravel import __version__
from balltravel.core.status import Status
from balltravel.cycle.metrics import describe
from balltravel.scenario.model import FIELDS, Scenario, quantity_of, with_values
from balltravel.scenario.shims import travels_of
from balltravel.setup.parameters import RTOL
from balltravel.sweeps.cases import Case, Progress, run_cases
from balltravel.units import DIMENSIONS

_DELIMITER = "+"


def shim_grid(scenario: Scenario) -> dict[str, list[tuple[int, ...]]]:
    """The grid of all travels that a scenario's shims give, each by the fewest shims below."""
    return {"shims.below": [arrangement.below for arrangement in travels_of(scenario)]}


def _label(value: Any) -> Any:
    """Coordinate of a grid value: numbers as they are, arrangements as ``1+2``, others as text."""
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, tuple | list):
        return _DELIMITER.join(str(item) for item in value) or "none"
    return str(value)


def _coordinate(key: str, values: Sequence[Any]) -> xr.Variable:
    quantity = quantity_of(FIELDS[key]) if key in FIELDS else None
    attributes = {"long_name": key.replace("_", " ")}
    if quantity is not None:
        attributes["units"] = DIMENSIONS[quantity.dimension].si or "1"
    return xr.Variable((key,), [_label(value) for value in values], attributes)


def _to_dataset(scenario: Scenario, grid: Mapping[str, Sequence[Any]], cases: Sequence[Case]) -> xr.Dataset:
    """Cases in grid order as one dataset; a failed case is nan and says so in ``status``."""
    dims, shape = tuple(grid), tuple(len(values) for values in grid.values())
    sample = next((case.metrics for case in cases if case.metrics is not None), None)
    rows = [case.metrics.flat() if case.metrics is not None else {} for case in cases]
    variables: dict[str, xr.Variable] = {}
    for name in sample.flat() if sample is not None else ():
        units, text = describe(name)
        values = np.array([row.get(name, np.nan) for row in rows]).reshape(shape)
        variables[name.replace(".", "_")] = xr.Variable(dims, values, {"units": units, "long_name": text})
    codes = np.array([int(case.status) for case in cases]).reshape(shape)
    meanings = {
        "flag_values": [int(s) for s in Status],
        "flag_meanings": " ".join(s.name.lower() for s in Status),
        "long_name": "how the case ended",
    }
    variables["status"] = xr.Variable(dims, codes, meanings)
    shares = np.array([case.outside_range for case in cases]).reshape(shape)
    about = {"units": "1", "long_name": "largest share of the cycle that a closure is outside its range"}
    variables["outside_range"] = xr.Variable(dims, shares, about)
    coordinates = {key: _coordinate(key, values) for key, values in grid.items()}
    attributes = {
        "Conventions": "CF-1.11",
        "title": scenario.title,
        "source": f"balltravel {__version__}",
        "scenario": scenario.model_dump_json(),
    }
    return xr.Dataset(variables, coordinates, attributes)


def sweep(
    scenario: Scenario,
    grid: Mapping[str, Sequence[Any]] | None = None,
    *,
    rtol: float = RTOL,
    workers: int | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Run a scenario over every combination of values of its keys.

    grid: dotted key -> SI values (``{"material.viscosity": [0.1, 1.0], "shims.below": [(), (1, 2)]}``);
    without one, all arrangements of the shims. Returns a Dataset whose dimensions are the keys, a variable
    for each metric (SI, dots in its name as underscores) and ``status``. Every combination is validated
    before the first runs: raises ScenarioError and runs nothing if one cannot be.
    """
    grid = dict(grid) if grid else shim_grid(scenario)
    combinations = list(product(*grid.values()))
    scenarios = [with_values(scenario, dict(zip(grid, values, strict=True))) for values in combinations]
    cases = run_cases(scenarios, rtol=rtol, workers=workers, progress=progress)
    data = _to_dataset(scenario, grid, cases)
    if "shims.below" in grid:
        travel = np.array([case.inlet_travel for case in scenarios]).reshape(data["status"].shape)
        attributes = {"units": "m", "long_name": "ball travel of the inlet check"}
        data = data.assign_coords(ball_travel=xr.Variable(data["status"].dims, travel, attributes))
    return data
