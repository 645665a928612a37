"""A long sweep as a user meets it: broken off and gone on with, into the result of one in a single go."""

import os
import re
import signal
import subprocess
import sys
import time

import pytest
import xarray as xr

RATES = "drive.cycle_rate=[{}]".format(", ".join(f'"{20 + i} /min"' for i in range(20)))
GRID = (
    "--over",
    RATES,
    "--over",
    'material.viscosity=["4 Pa.s", "5 Pa.s"]',
    "--over",
    "shims.below=[[], [1, 2]]",
)


def started(*argv):
    """The command in a process of its own; a shell's background job is born deaf to the key."""
    code = (
        "import signal, sys\nsignal.signal(signal.SIGINT, signal.default_int_handler)\n"
        f"from balltravel.cli.main import main\nsys.exit(main({[str(word) for word in argv]!r}))"
    )
    return subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_a_sweep_that_is_ended_says_how_to_go_on_and_the_same_command_does(run, scenarios, tmp_path, by):
    folder, single = tmp_path / "sweep", tmp_path / "single.nc"
    assert run("sweep", scenarios / "mastic.toml", *GRID, "--out", single)[0] == 0
    argv = ("sweep", scenarios / "mastic.toml", *GRID, "--out", folder, "--workers", 1)
    process = started(*argv)
    while len(list(folder.glob("cases_*.npz"))) < 2:
        assert process.poll() is None
        time.sleep(0.01)
    os.kill(process.pid, by)
    out, err = process.communicate(timeout=120)
    assert (process.returncode, out) == (130, "")
    said = err.splitlines()[-1]
    kept = re.fullmatch(rf"interrupted: (\d+) of 80 cases are in {folder}, the same command goes on", said)
    assert 2 <= int(kept[1]) < 80
    code, out, err = run(*argv)
    assert code == 0
    there = re.search(rf"{folder}: (\d+) of 80 cases are there already", err)
    assert int(kept[1]) <= int(there[1]) < 80
    assert "One lower, mastic" in out
    with (
        xr.open_dataset(folder / "result.nc", engine="h5netcdf") as data,
        xr.open_dataset(single, engine="h5netcdf") as whole,
    ):
        assert data.equals(whole)
        assert data.attrs["scenario_sha256"] == whole.attrs["scenario_sha256"]


def test_a_folder_of_another_sweep_is_refused_with_what_differs(run, scenarios, tmp_path):
    few = (
        "--over",
        "shims.below=[[]]",
        "--over",
        'material.viscosity=["4 Pa.s"]',
        "--out",
        tmp_path / "sweep",
    )
    assert run("sweep", scenarios / "mastic.toml", *few)[0] == 0
    code, out, err = run("sweep", scenarios / "mastic.toml", *few, "--set", "drive.cycle_rate=31 /min")
    assert (code, out) == (2, "")
    assert "it holds another study: drive.cycle_rate 0.5 there, 0.516" in " ".join(err.split())


def test_an_address_without_a_folder_is_refused(run, scenarios):
    code, out, err = run("sweep", scenarios / "mastic.toml", "--scheduler", "tcp://127.0.0.1:1")
    assert (code, out) == (2, "")
    assert "allowed: it with --out FOLDER" in err
