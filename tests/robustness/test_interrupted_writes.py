"""kill -9 at any instant leaves a whole file under the final name, the old one or the new one, or none."""

import os
import re
import subprocess
import sys
import time

import numpy as np
import pytest
from matplotlib.figure import Figure
from robustness.mutants import SCENARIOS
from robustness.processes import NEEDS_FORK, fork, kill_after
from robustness.tally import COUNTS

from balltravel.files.read_write import read_dataset, write_dataset
from balltravel.report.figures.style import save

pytestmark = NEEDS_FORK

LEFTOVER = re.compile(r"\.run\.(nc|png)\..+\.part")
SOAK = pytest.mark.soak


def seconds_of(action):
    """The shortest of three times that an action takes: the first warms caches."""
    times = []
    for _ in range(3):
        begun = time.perf_counter()
        action()
        times.append(time.perf_counter() - begun)
    return min(times)


def leftovers(folder, target):
    """Number of temporary files left; they are told from results by their names, and removed."""
    others = [path for path in folder.iterdir() if path != target]
    assert all(LEFTOVER.fullmatch(path.name) for path in others), others
    assert [path for path in folder.glob(f"*{target.suffix}") if path != target] == []
    for path in others:
        path.unlink()
    return len(others)


def written_in_turn(write, versions, told):
    """A child's work without end: one version over the other; a byte tells of each that is done."""
    while True:
        for version in range(versions):
            write(version)
            os.write(told, b".")


def killed(write, target, seed, kills, versions):
    """Kill a child that writes over a good file, at a random instant of its second to fourth write; yields
    after each. Writes are counted by what the child tells: on a busy machine a child may start late."""
    span = seconds_of(lambda: write(0))
    chance = np.random.default_rng(seed)
    for number in range(kills):
        done, told = os.pipe()
        child = fork(lambda told=told: written_in_turn(write, versions, told))
        os.close(told)
        for _ in range(chance.integers(1, 4)):
            assert os.read(done, 1) == b"."
        assert kill_after(child, float(chance.uniform(0.0, 1.2 * span))) == -9
        os.close(done)
        COUNTS[f"kills while a {target.suffix} was written"] += 1
        COUNTS[f"kills that left a temporary {target.suffix}"] += leftovers(target.parent, target)
        yield f"seed {seed}, kill {number}"


@pytest.mark.parametrize(("seed", "kills"), [(1, 20), pytest.param(2, 300, marks=SOAK)])
def test_a_killed_writer_leaves_one_of_the_results_that_it_wrote(tmp_path, result, seed, kills):
    target = tmp_path / "run.nc"
    versions = [result(version, 10_000) for version in range(3)]
    seen = set()
    for which in killed(lambda version: write_dataset(versions[version], target), target, seed, kills, 3):
        found = read_dataset(target)
        version = int(found["count"][-1])
        assert found.identical(versions[version]), which
        seen.add(version)
    assert len(seen) > 1  # the kills came before and after a change of name


@pytest.mark.parametrize(("seed", "kills"), [(3, 10), pytest.param(4, 100, marks=SOAK)])
def test_a_killed_drawer_leaves_one_of_the_whole_pictures(tmp_path, seed, kills):
    target = tmp_path / "run.png"

    def draw(version):
        figure = Figure()
        figure.subplots().plot([0, version])
        save(figure, target)

    whole = {}
    for version in range(3):
        draw(version)
        whole[target.read_bytes()] = version
    assert len(whole) == 3
    for which in killed(draw, target, seed, kills, 3):
        assert target.read_bytes() in whole, which


def sweep_command(target):
    rates = 'drive.cycle_rate=["20 /min", "30 /min"]'
    grid = ["--over", rates, "--over", "shims.below=[[], [1]]", "--over", 'material.viscosity=["5 Pa.s"]']
    return [
        sys.executable,
        "-m",
        "balltravel.cli",
        "sweep",
        str(SCENARIOS[2]),
        *grid,
        "--out",
        str(target),
    ]


@pytest.mark.parametrize(("seed", "kills"), [(5, 3), pytest.param(6, 30, marks=SOAK)])
def test_a_killed_sweep_leaves_no_result_or_a_whole_one(tmp_path, seed, kills):
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    reference, target = tmp_path / "reference" / "run.nc", tmp_path / "run.nc"
    reference.parent.mkdir()
    subprocess.run(sweep_command(reference), check=True, **quiet)  # compiles the core if need be
    whole = read_dataset(reference)
    begun = time.perf_counter()
    subprocess.run(sweep_command(reference), check=True, **quiet)
    span = time.perf_counter() - begun
    reference.unlink()
    reference.parent.rmdir()
    chance = np.random.default_rng(seed)
    for number in range(kills):
        child = subprocess.Popen(sweep_command(target), **quiet)
        time.sleep(float(chance.uniform(0.3, 1.1)) * span)
        child.kill()
        child.wait()
        there = target.exists()
        COUNTS[f"sweeps killed, result {'whole' if there else 'absent'}"] += 1
        COUNTS["sweeps killed that left a temporary file"] += leftovers(tmp_path, target)
        if there:
            assert read_dataset(target).identical(whole), f"seed {seed}, kill {number}"
            os.unlink(target)
