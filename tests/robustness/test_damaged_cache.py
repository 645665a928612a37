"""The compiled core on disk is damaged: the command says so, compiles it anew and gives the same result."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from robustness.mutants import SCENARIOS

from balltravel.core.cache import cache_folder, is_compiled

pytestmark = pytest.mark.skipif(os.environ.get("NUMBA_DISABLE_JIT") == "1", reason="nothing is compiled")


@pytest.fixture
def kept(tmp_path):
    """A copy of the compiled core in a folder of its own, and what runs the command with it."""

    def simulate():
        command = [sys.executable, "-m", "balltravel.cli", "simulate", str(SCENARIOS[2])]
        environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
        done = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout, done.stderr

    if is_compiled():
        folder = cache_folder()
        shutil.copytree(folder, tmp_path / "balltravel" / folder.name)
    simulate()
    return tmp_path, simulate


@pytest.mark.parametrize("pattern", ["*.nbi", "*.nbc"])
def test_a_damaged_core_is_compiled_anew(kept, pattern):
    folder, simulate = kept
    good, err = simulate()
    assert err == ""
    files = sorted(Path(folder).rglob(pattern))
    assert len(files) > 50
    for number, path in enumerate(files):
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 2] if number % 2 else b"")
    out, err = simulate()
    assert out == good
    assert (
        err == "the compiled core on disk is damaged: it is compiled anew, in ten seconds to a minute ...\n"
    )
    assert simulate() == (good, "")
