"""A sweep into a folder, which keeps every finished chunk."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import xarray as xr

from balltravel.core.notices import notice
from balltravel.scenario.arguments import scenario_given
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import RTOL
from balltravel.setup.runs import TOLERANCE
from balltravel.sweeps.cases import Progress
from balltravel.sweeps.dataset import frame_of
from balltravel.sweeps.devices import device_given
from balltravel.sweeps.folder.resumable import run_plan_into
from balltravel.sweeps.plan import Plan


def sweep_into(
    folder: str | Path,
    scenario: Scenario,
    grid: Mapping[str, Any] | None = None,
    *,
    samples: Any = None,
    rtol: float = RTOL,
    workers: int | None = None,
    executor: Any = None,
    client: Any = None,
    scheduler: str | None = None,
    progress: Progress | None = None,
    tell: Callable[[str], object] = notice,
    attributes: Mapping[str, Any] | None = None,
    device: str = "cpu",
) -> xr.Dataset:
    """As grid.sweep with a ``folder``: see folder.resumable.run_plan_into. ``tell`` gets a line for what is
    found in the folder; ``attributes`` are added to those of the result."""
    scenario, rtol = scenario_given(scenario), TOLERANCE.checked(rtol)
    on = device_given(device, workers, executor, client, scheduler)
    plan = Plan(scenario, grid, samples)
    return run_plan_into(
        plan,
        folder,
        frame_of(plan, rtol).assign_attrs(attributes or {}),
        dict(zip(plan.dims, plan.shape, strict=True)),
        rtol=rtol,
        workers=on.workers,
        executor=executor,
        client=client,
        scheduler=scheduler,
        progress=progress,
        tell=tell,
        compute=on.compute,
        block=on.block,
        device=device,
    )
