"""Where the compiled core is kept."""

import os
import subprocess
import sys

from balltravel.core.cache import ENTRY, cache_folder, is_compiled

TOLD = "from balltravel.core.cache import cache_folder, is_compiled\nprint(cache_folder(), is_compiled())"


def told(**environment):
    """Folder and answer of a fresh process with other environment variables."""
    done = subprocess.run(
        [sys.executable, "-c", TOLD],
        capture_output=True, text=True, check=True, env={**os.environ, **environment},
    )  # fmt: skip
    return done.stdout.split()


def test_a_core_that_was_never_compiled_is_told_so_until_its_last_kernel_lies_there(tmp_path):
    folder, compiled = told(NUMBA_CACHE_DIR=str(tmp_path), NUMBA_DISABLE_JIT="0")
    assert folder.startswith(str(tmp_path / "balltravel"))
    assert compiled == "False"
    kept = tmp_path / "balltravel" / folder.rpartition("/")[2] / "core_0"
    kept.mkdir()
    (kept / ENTRY.replace("*", "1.py311")).touch()
    assert told(NUMBA_CACHE_DIR=str(tmp_path), NUMBA_DISABLE_JIT="0") == [folder, "True"]


def test_plain_python_has_nothing_to_compile(tmp_path):
    assert told(NUMBA_CACHE_DIR=str(tmp_path), NUMBA_DISABLE_JIT="1")[1] == "True"


def test_a_folder_that_cannot_be_made_is_passed_over(tmp_path):
    (tmp_path / "file").touch()
    folder, _ = told(NUMBA_CACHE_DIR=str(tmp_path / "file"), TMPDIR=str(tmp_path))
    assert folder.startswith(str(tmp_path / "cache-"))


def test_numba_writes_where_the_cache_says(story):
    """After a run the kernel that calls all others lies there, whoever compiled it."""
    from balltravel.cycle.dataset import simulate

    simulate(story("primer"), max_cycles=1)
    assert is_compiled()
    assert any(cache_folder().rglob(ENTRY)) or os.environ.get("NUMBA_DISABLE_JIT", "0") != "0"
