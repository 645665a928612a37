"""A grid of a scenario's keys, swept into a folder."""

import hashlib
import json
import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from balltravel.core.notices import notice
from balltravel.cycle.dataset import provenance
from balltravel.scenario.arguments import scenario_given
from balltravel.scenario.model import Scenario, with_values
from balltravel.setup.parameters import RTOL
from balltravel.setup.runs import TOLERANCE
from balltravel.sweeps.cases import Progress
from balltravel.sweeps.folder.resumable import run_plan_into
from balltravel.sweeps.grid import _checked, _coordinate, shim_grid


class GridPlan:
    """Every combination of values, made when it is asked for; the last key runs fastest."""

    def __init__(self, scenario: Scenario, grid: Mapping[str, Sequence[Any]]) -> None:
        self.scenario, self.grid = scenario, grid
        self.sizes = tuple(len(values) for values in grid.values())

    def __len__(self) -> int:
        return math.prod(self.sizes)

    def changes(self, start: int, stop: int) -> list[dict[str, Any]]:
        """Dotted key -> SI value, of the cases from ``start`` to before ``stop``."""
        places = np.transpose(np.unravel_index(np.arange(start, min(stop, len(self))), self.sizes)).tolist()
        return [
            {key: values[i] for (key, values), i in zip(self.grid.items(), place, strict=True)}
            for place in places
        ]

    def digest(self) -> str:
        """Of keys and values in their order."""
        return hashlib.sha256(json.dumps(list(self.grid.items())).encode()).hexdigest()


def sweep_into(
    folder: str | Path,
    scenario: Scenario,
    grid: Mapping[str, Sequence[Any]] | None = None,
    *,
    rtol: float = RTOL,
    workers: int | None = None,
    executor: Any = None,
    client: Any = None,
    scheduler: str | None = None,
    progress: Progress | None = None,
    tell: Callable[[str], object] = notice,
    attributes: Mapping[str, Any] | None = None,
) -> xr.Dataset:
    """As grid.sweep, into a folder that keeps every finished chunk; see folder.resumable.run_plan_into."""
    scenario, rtol = scenario_given(scenario), TOLERANCE.checked(rtol)
    plan = GridPlan(scenario, shim_grid(scenario) if grid is None else _checked(grid))
    for case in range(len(plan)):  # every combination is validated before the first runs
        with_values(scenario, plan.changes(case, case + 1)[0])
    return run_plan_into(
        plan,
        folder,
        _frame(plan, rtol, attributes or {}),
        dict(zip(plan.grid, plan.sizes, strict=True)),
        rtol=rtol,
        workers=workers,
        executor=executor,
        client=client,
        scheduler=scheduler,
        progress=progress,
        tell=tell,
    )


def _frame(plan: GridPlan, rtol: float, attributes: Mapping[str, Any]) -> xr.Dataset:
    """Coordinates and attributes of the result, as grid.sweep has them."""
    coordinates = {key: _coordinate(key, values) for key, values in plan.grid.items()}
    frame = xr.Dataset(coords=coordinates, attrs={**provenance(plan.scenario, rtol), **attributes})
    if "shims.below" not in plan.grid:
        return frame
    whole = range(len(plan))
    travel = [with_values(plan.scenario, plan.changes(i, i + 1)[0]).inlet_travel for i in whole]
    about = {"units": "m", "long_name": "ball travel of the inlet check"}
    return frame.assign_coords(
        ball_travel=xr.Variable(tuple(plan.grid), np.reshape(travel, plan.sizes), about)
    )
