"""On what was measured: processor, versions, and what else the machine was doing."""

import os
import platform
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from balltravel.core import device

PACKAGES = ("numpy", "numba", "scipy", "numbalsoda")
BUSY = 0.5
"""Load before the first run from which on a machine counts as busy."""


def processor() -> str:
    """The processor's name, where the system tells."""
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        for line in cpuinfo.read_text().splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def load() -> float:
    """Load of the last minute; nan where the system does not tell."""
    return os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")


def gpu_there() -> bool:
    """Whether the core says that there is a GPU that it can use; no as long as it cannot say."""
    ask = getattr(device, "gpu_there", None)
    return bool(ask and ask())


def described(load_before: float) -> list[str]:
    """Lines on machine, versions and load; ``load_before``: that before the first run."""
    count = cores()
    unit = "core" if count == 1 else "cores"
    python = f"Python {platform.python_version()}"
    versions = ", ".join([python, *(f"{name} {_version(name)}" for name in PACKAGES)])
    told = f"Load {load_before:.1f} before the first run, {load():.1f} after the last (this program adds 1)."
    if load_before > BUSY:
        told += " Measured on a busy machine: other programs were running."
    return [f"{processor()}, {count} {unit}, {platform.system()}.", f"{versions}.", told]


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"
