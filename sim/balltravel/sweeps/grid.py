"""A scenario times whatever of its keys somebody wants to see varied, as one Dataset."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from balltravel.scenario.arguments import WORKERS, progress_given, scenario_given
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import RTOL
from balltravel.setup.runs import TOLERANCE
from balltravel.sweeps.cases import Progress
from balltravel.sweeps.dataset import to_dataset
from balltravel.sweeps.devices import device_given
from balltravel.sweeps.engine import run_plan
from balltravel.sweeps.into_folder import sweep_into
from balltravel.sweeps.plan import Plan

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd
    import xarray as xr


def sweep(
    scenario: Scenario,
    grid: "Mapping[str, Any] | None" = None,
    *,
    samples: "Mapping[str, Any] | pd.DataFrame | xr.Dataset | None" = None,
    rtol: float = RTOL,
    workers: int | None = None,
    progress: Progress | None = None,
    device: str = "cpu",
    folder: "str | Path | None" = None,
    executor: Any = None,
    client: Any = None,
    scheduler: str | None = None,
) -> "xr.Dataset":
    """Run a scenario once for every case of a grid, of samples, or of both.

    grid: dotted key -> its values, all combinations of which are run (``{"material.viscosity": [0.1, 1.0],
    "drive.cycle_rate": linear("10 /min", "40 /min", 7), "shims.below": [(), (1, 2)]}``); samples: dotted key
    -> one value a case, all equally many, also a DataFrame or a Dataset. Values: lists, ranges and arrays of
    SI numbers (an array with ``attrs["units"]`` is taken in those units), text with units, choices, tuples of
    shim numbers; None leaves a key out; one value stands for a list of it. Without either, all arrangements
    of the shims. rtol: 1e-9 to 1e-3; workers: 1 to 1024 threads, all cores by default; progress: called with
    (cases done, cases in all); device: "cpu", or "gpu" for all NVIDIA GPUs of this machine (extra ``gpu``).
    folder: where every finished part is kept, so that the same call goes on after an interrupt; the Dataset
    is then read from its ``result.nc`` when it is asked for. executor, client, scheduler: in the place of
    threads, one of them: an executor of concurrent.futures, a Client of dask or the address of its scheduler.

    Returns a Dataset over ``case`` (samples) and the keys of the grid as keywords
    (``material_viscosity``): a variable for each metric (SI, dots in its name as underscores; nan where a
    case failed), ``inlet_flags``, ``piston_flags``, ``status``, ``outside_range``, ``scatter``,
    ``cycles``, ``error``, and the coordinate ``ball_travel`` [m] where shims or travel vary. Every case is
    validated before the first runs: raises ScenarioError with all faults, and runs nothing, if one cannot
    be.
    """
    where: dict[str, Any] = {"executor": executor, "client": client, "scheduler": scheduler}
    if folder is not None:
        how: dict[str, Any] = {"rtol": rtol, "workers": workers, "progress": progress, "device": device}
        return sweep_into(folder, scenario, grid, samples=samples, **how, **where)
    scenario, rtol = scenario_given(scenario), TOLERANCE.checked(rtol)
    workers = None if workers is None else WORKERS.checked(workers)
    progress_given(progress)
    on = device_given(device, workers, *where.values())
    plan = Plan(scenario, grid, samples)
    columns = run_plan(plan, rtol, on.workers, progress, compute=on.compute, block=on.block, **where)
    return to_dataset(plan, columns, rtol)
