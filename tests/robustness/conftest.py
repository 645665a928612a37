"""Siblings are imported as ``robustness.law``; soaks run by ``-m soak`` only; counts are told at the end."""

import gc
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from robustness.tally import COUNTS, SLOWEST

HERE = Path(__file__).parent
IN_THE_SUITE = (
    "test_bad_arguments.py",
    "test_mutated_scenarios.py",
    "test_mutated_settings.py",
    "test_hostile_files.py",
    "test_swept_at_random.py",
)


def pytest_collection_modifyitems(items):
    """What kills, fills and damages runs by ``pytest tests/robustness`` alone, soaks by ``-m soak``."""
    alone = all(HERE in item.path.parents for item in items)
    skip = pytest.mark.skip(reason="run by itself: pytest tests/robustness")
    for item in items:
        if HERE in item.path.parents and item.path.name not in IN_THE_SUITE and not alone:
            item.add_marker(skip)


def pytest_terminal_summary(terminalreporter):
    if COUNTS or SLOWEST:
        terminalreporter.section("robustness")
    for name, count in sorted(COUNTS.items()):
        terminalreporter.write_line(f"{name}: {count}")
    for name, (size, which) in sorted(SLOWEST.items()):
        terminalreporter.write_line(f"{name}: {size:.3g} ({which})")


@pytest.fixture
def folder(tmp_path):
    """A folder in memory where there is one: thousands of files are written here."""
    memory = Path("/dev/shm")
    if not memory.is_dir():
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as name:
        yield Path(name)


@pytest.fixture(scope="session", autouse=True)
def _libraries_are_no_garbage():
    """Spare the collector the libraries, through which it would go again and again."""
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


def _result(version: int, length: int = 3000) -> xr.Dataset:
    chance = np.random.default_rng(version)
    time = xr.DataArray(np.linspace(0.0, 1.0, length), dims="time", attrs={"units": "s"})
    lift = xr.DataArray(chance.random(length), dims="time", attrs={"units": "m", "long_name": "lift"})
    count = xr.DataArray(np.array([-3, 7, version]), dims="case", attrs={"flag_values": [1, 2]})
    name = xr.DataArray(["a", "bc", "µ"], dims="case")
    coords = {"time": time, "name": name, "open": ("time", lift.values > 0.5)}
    return xr.Dataset({"lift": lift, "count": count}, coords, {"title": f"invented {version}"})


@pytest.fixture
def result():
    """Version -> a Dataset of all kinds of contents: numbers, whole numbers, truth values, text."""
    return _result


@pytest.fixture
def small_disk(tmp_path):
    """A file system of 96 kB of its own."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0 or not shutil.which("mount"):
        pytest.skip("only the superuser can mount a file system")
    folder = tmp_path / "disk"
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=96k", "tmpfs", str(folder)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("this machine lets nobody mount a file system")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)
