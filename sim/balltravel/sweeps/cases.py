"""Many cases at once: a scenario times a grid of its keys, on all cores."""

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from functools import partial
from itertools import product
from typing import Any, NamedTuple, TypeVar

import numpy as np
import xarray as xr

from balltravel import __version__
from balltravel.core.status import Status
from balltravel.cycle.metrics import Metrics, cycle_metrics, describe
from balltravel.cycle.simulate import simulate
from balltravel.cycle.validity import Excursion, from_json
from balltravel.scenario.model import FIELDS, Scenario, quantity_of, with_values
from balltravel.scenario.shims import arrangements, distinct_travels
from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS, RTOL
from balltravel.units import DIMENSIONS

Progress = Callable[[int, int], None]

T = TypeVar("T")

_DELIMITER = "+"


class Case(NamedTuple):
    """How one case ended: its status, its metrics unless it failed, closures outside their range, and how
    much delivery changed over the last cycle, over swept."""

    status: Status
    metrics: Metrics | None
    excursions: tuple[Excursion, ...] = ()
    scatter: float = 0.0

    @property
    def outside_range(self) -> float:
        """Largest share of the cycle that a closure spends outside its range; nan for a failed case."""
        if self.metrics is None:
            return float("nan")
        return max((one.share for one in self.excursions), default=0.0)


def run_case(
    scenario: Scenario, rtol: float = RTOL, most_steps: int = MOST_STEPS, max_cycles: int = MAX_CYCLES
) -> Case:
    """Simulate one scenario and keep its numbers, not its trajectory."""
    data = simulate(scenario, rtol, max_cycles, most_steps)
    status = Status(data.attrs["status_code"])
    metrics = None if status.failed else cycle_metrics(data)
    return Case(status, metrics, from_json(data.attrs["excursions"]), float(data.attrs["delivered_change"]))


def run_cases(
    scenarios: Sequence[Scenario],
    *,
    rtol: float = RTOL,
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[Case]:
    """Run scenarios on ``workers`` threads (all cores by default); results in the order given.

    A case is a single thread's work from end to end, so that the results do not depend on their number.
    ``progress`` is called with (cases done, cases in all). An interrupt drops what has not begun.
    """
    tasks = (partial(run_case, one, rtol) for one in scenarios)
    return in_threads(tasks, len(scenarios), workers, progress)


def in_threads(
    tasks: Iterable[Callable[[], T]], total: int, workers: int | None = None, progress: Progress | None = None
) -> list[T]:
    """Results of ``total`` independent tasks in their order, by ``workers`` threads (all cores by default).

    ``progress`` is called with (tasks done, tasks in all). An interrupt drops what has not begun.
    """
    results: dict[int, T] = {}
    with ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool:
        waiting: dict[Future[T], int] = {}
        try:
            # Here too an interrupt must drop what waits: to hand out a thousand cases takes a while.
            for i, task in enumerate(tasks):
                waiting[pool.submit(task)] = i
            for future in as_completed(waiting):
                results[waiting[future]] = future.result()
                if progress is not None:
                    progress(len(results), total)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return [results[i] for i in range(total)]


def shim_grid(scenario: Scenario) -> dict[str, list[tuple[int, ...]]]:
    """The grid of all travels that a scenario's shims give, each by the fewest shims below."""
    found = distinct_travels(arrangements(scenario.shims.thicknesses, scenario.inlet_check.base_travel))
    return {"shims.below": [one.below for one in found]}


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
    some = next((case.metrics for case in cases if case.metrics is not None), None)
    rows = [case.metrics.flat() if case.metrics is not None else {} for case in cases]
    variables: dict[str, xr.Variable] = {}
    for name in some.flat() if some is not None else ():
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
        travel = np.array([one.inlet_travel for one in scenarios]).reshape(data["status"].shape)
        attributes = {"units": "m", "long_name": "ball travel of the inlet check"}
        data = data.assign_coords(ball_travel=xr.Variable(data["status"].dims, travel, attributes))
    return data
