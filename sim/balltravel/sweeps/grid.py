"""A scenario times a grid of its keys, as one Dataset."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from operator import attrgetter
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from balltravel.core.status import Status
from balltravel.cycle.dataset import CHECKS, provenance
from balltravel.cycle.metrics import describe, metric_names
from balltravel.files.document import MOST_CASES, MOST_SWEEP_VALUES
from balltravel.scenario.arguments import refused, scenario_given, table_given
from balltravel.scenario.model import FIELDS, Scenario, ScenarioError, not_swept, quantity_of, with_values
from balltravel.scenario.rules.all import Fault
from balltravel.scenario.shims import travels_of
from balltravel.setup.parameters import RTOL
from balltravel.setup.runs import TOLERANCE
from balltravel.sweeps.cases import Case, Progress, run_cases
from balltravel.units import DIMENSIONS, shown
from balltravel.units.keys import names_of

_DELIMITER = "+"
_EXAMPLE = '{"material.viscosity": [0.1, 1.0]}'

FLAGS = ("none", "early", "never_seats", "never_lifts", "no_cycle")
"""What may be odd about a check's ball, as CheckMetrics has it; the last of a failed case."""


def shim_grid(scenario: Scenario) -> dict[str, list[tuple[int, ...]]]:
    """The grid of all travels that a scenario's shims give, each by the fewest shims below."""
    return {"shims.below": [arrangement.below for arrangement in travels_of(scenario)]}


def _label(value: Any, numeric: bool) -> Any:
    """Coordinate of a grid value: numbers as they are, arrangements as ``1+2``, others as text; nan where a
    quantity is left out."""
    if isinstance(value, int | float) or (numeric and value is None):
        return float("nan") if value is None else float(value)
    if isinstance(value, tuple | list):
        return _DELIMITER.join(str(item) for item in value) or "none"
    return str(value)


def _coordinate(key: str, values: Sequence[Any]) -> xr.Variable:
    quantity = quantity_of(FIELDS[key])
    attributes = {"long_name": key.replace("_", " ")}
    if quantity is not None:
        attributes["units"] = DIMENSIONS[quantity.dimension].si or "1"
    return xr.Variable((key,), [_label(value, quantity is not None) for value in values], attributes)


def _flagged(
    codes: Sequence[int], meanings: Sequence[str], text: str
) -> tuple[NDArray[np.int8], dict[str, Any]]:
    """Codes and what they mean, by the CF conventions."""
    values = np.arange(len(meanings), dtype=np.int8)
    attributes = {"flag_values": values, "flag_meanings": " ".join(meanings), "long_name": text}
    return np.array(codes, np.int8), attributes


def _flag(case: Case, check: str) -> int:
    """What is odd about how a check's ball moves, as an index of FLAGS."""
    if case.metrics is None:
        return FLAGS.index("no_cycle")
    flags = getattr(case.metrics, check).flags
    return FLAGS.index(flags[0]) if flags else 0


def _columns(cases: Sequence[Case]) -> Iterator[tuple[str, Any, dict[str, Any]]]:
    """Name, values in grid order and attributes of every variable; numbers of a failed case are nan."""
    for name in metric_names():
        units, text = describe(name)
        values = [np.nan if case.metrics is None else attrgetter(name)(case.metrics) for case in cases]
        yield name.replace(".", "_"), values, {"units": units, "long_name": text}
    for check in CHECKS:
        codes = [_flag(case, check) for case in cases]
        yield f"{check}_flags", *_flagged(codes, FLAGS, f"what is odd about the ball ({check} check)")
    names = [status.name.lower() for status in Status]
    yield "status", *_flagged([int(case.status) for case in cases], names, "how the case ended")
    for name, text in (
        ("outside_range", "largest share of the cycle that a closure is outside its range"),
        ("scatter", "change of the delivered volume over the last cycle, over swept volume"),
    ):
        yield name, [getattr(case, name) for case in cases], {"units": "1", "long_name": text}


def _to_dataset(
    scenario: Scenario, grid: Mapping[str, Sequence[Any]], cases: Sequence[Case], rtol: float
) -> xr.Dataset:
    """Cases in grid order as one dataset; a failed case is nan and says so in ``status``."""
    dims, shape = tuple(grid), tuple(len(values) for values in grid.values())
    variables = {
        name: xr.Variable(dims, np.array(values).reshape(shape), attributes)
        for name, values, attributes in _columns(cases)
    }
    coordinates = {key: _coordinate(key, values) for key, values in grid.items()}
    return xr.Dataset(variables, coordinates, provenance(scenario, rtol))


def _checked(grid: object) -> dict[str, list[Any]]:
    """A grid of lists of plain values; raises ScenarioError with every fault but those of the values."""
    tables = table_given("grid", grid, _EXAMPLE)
    if not tables:
        allowed = "a key and its values, one or more; None for all arrangements of the shims"
        raise refused("grid", "no key given", allowed, _EXAMPLE)
    faults = [fault for key, values in tables.items() if (fault := _grid_fault(key, values))]
    cases = 1 if faults else math.prod(len(values) for values in tables.values())
    if cases > MOST_CASES:
        faults = [Fault("grid", f"{cases} combinations given", f"at most {MOST_CASES}", "fewer values")]
    if faults:
        raise ScenarioError(faults)
    return {key: list(values) for key, values in tables.items()}


def _grid_fault(key: str, values: object) -> Fault | None:
    """What is wrong with a key of a grid and its list of values, if anything is."""
    if not_swept(key):
        return not_swept(key)
    if isinstance(values, list | tuple | range) and 1 <= len(values) <= MOST_SWEEP_VALUES:
        return None
    quantity, names = quantity_of(FIELDS[key]), names_of(FIELDS[key])
    example = quantity.in_si() if quantity else f'"{names.allowed[0]}"' if names else "..."
    allowed = f"a list of 1 to {MOST_SWEEP_VALUES} values"
    return Fault(key, f"{shown(values)} given", allowed, f'{{"{key}": [{example}]}}')


def sweep(
    scenario: Scenario,
    grid: Mapping[str, Sequence[Any]] | None = None,
    *,
    rtol: float = RTOL,
    workers: int | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Run a scenario over every combination of values of its keys.

    grid: dotted key -> a list or an array of SI values (``{"material.viscosity": [0.1, 1.0], "shims.below":
    [(), (1, 2)]}``); without one, all arrangements of the shims. rtol: 1e-9 to 1e-3; workers: 1 to 1024
    threads, all cores by default. Returns a Dataset whose dimensions are the keys, a variable for each metric
    (SI, dots in its name as underscores), ``status``, ``inlet_flags``, ``piston_flags``, ``outside_range``
    and ``scatter``. Every combination is validated before the first runs: raises ScenarioError and runs
    nothing if one cannot be.
    """
    scenario, rtol = scenario_given(scenario), TOLERANCE.checked(rtol)
    values = shim_grid(scenario) if grid is None else _checked(grid)
    scenarios = [
        with_values(scenario, dict(zip(values, combination, strict=True)))
        for combination in product(*values.values())
    ]
    cases = run_cases(scenarios, rtol=rtol, workers=workers, progress=progress)
    data = _to_dataset(scenario, values, cases, rtol)
    if "shims.below" in values:
        travel = np.array([case.inlet_travel for case in scenarios]).reshape(data["status"].shape)
        attributes = {"units": "m", "long_name": "ball travel of the inlet check"}
        data = data.assign_coords(ball_travel=xr.Variable(data["status"].dims, travel, attributes))
    return data
