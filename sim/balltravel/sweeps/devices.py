"""On what the cases of a sweep are computed: the processor or a GPU."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from balltravel.scenario.arguments import refused
from balltravel.scenario.model import Scenario
from balltravel.sweeps.columns import Columns, compute
from balltravel.sweeps.engine import Compute

DEVICES = ("cpu", "gpu")

GPU_CHUNK = 1 << 16
"""Cases of a chunk on a GPU: enough that all its threads have some, few enough for the host's memory."""

CHUNKS_A_GPU = 3
"""Threads of the host for each GPU: one prepares cases while those of two others share the GPU."""


class Device(NamedTuple):
    """What computes a chunk, cases of a chunk and threads of the host; None as the engine chooses."""

    compute: Compute
    block: int | None
    workers: int | None


def compute_on_gpu(scenario: Scenario, changes: Sequence[Mapping[str, Any]], rtol: float) -> Columns:
    """As columns.compute, on a GPU."""
    return compute(scenario, changes, rtol, device="gpu")


def device_given(name: object, workers: int | None, *elsewhere: object) -> Device:
    """The device of a name; raises ScenarioError for another name, where there is no GPU to use, and for a
    GPU while the cases are to go elsewhere (an executor, a client or a scheduler, or None)."""
    if name not in DEVICES:
        raise refused("device", f"{name!r} given", " or ".join(DEVICES), 'device="cpu"')
    if name == "cpu":
        return Device(compute, None, workers)
    if any(place is not None for place in elsewhere):
        raise refused("device", "gpu with processes or a cluster", "the GPUs of this machine", 'device="gpu"')
    from balltravel.core.device import NoGpuError, gpus

    try:
        count = gpus()
    except NoGpuError as error:
        given, allowed = f"gpu, but {error}", 'a machine with an NVIDIA GPU, or "cpu"'
        raise refused("device", given, allowed, 'device="cpu"') from None
    return Device(compute_on_gpu, GPU_CHUNK, workers or CHUNKS_A_GPU * count)
