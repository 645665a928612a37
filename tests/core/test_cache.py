"""Where the compiled core is kept."""

import os
import stat
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from balltravel.core import cache
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
    kept = Path(folder) / "core_0"
    kept.mkdir()
    (kept / ENTRY.replace("*", "1.py311")).touch()
    assert told(NUMBA_CACHE_DIR=str(tmp_path), NUMBA_DISABLE_JIT="0") == [folder, "True"]


def test_plain_python_has_nothing_to_compile(tmp_path):
    assert told(NUMBA_CACHE_DIR=str(tmp_path), NUMBA_DISABLE_JIT="1")[1] == "True"


def test_a_folder_that_cannot_be_made_is_passed_over(tmp_path):
    (tmp_path / "file").touch()
    folder, _ = told(NUMBA_CACHE_DIR=str(tmp_path / "file"), TMPDIR=str(tmp_path))
    assert folder.startswith(str(tmp_path / "balltravel-"))


@pytest.fixture
def nowhere_but_temporary(tmp_path, monkeypatch):
    """The user's cache cannot be had; returns where the folder in the temporary place would be."""
    (tmp_path / "file").touch()
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "file"))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path / f"balltravel-{os.getuid()}"


@pytest.fixture
def notices(monkeypatch):
    """What the core says of itself."""
    said = []
    monkeypatch.setattr(cache, "notice", said.append, raising=False)
    return said


ask = cache_folder.__wrapped__
ON_POSIX = pytest.mark.skipif(not hasattr(os, "getuid"), reason="rights as Windows has them")


@ON_POSIX
def test_the_folder_in_the_temporary_place_is_for_its_user_alone(nowhere_but_temporary, notices):
    folder = ask()
    assert folder.parent == nowhere_but_temporary
    assert stat.S_IMODE(folder.stat().st_mode) == stat.S_IMODE(folder.parent.stat().st_mode) == 0o700
    assert notices == []
    assert ask() == folder


@ON_POSIX
@pytest.mark.parametrize("kind", ["link", "file", "others may write", "another user"])
def test_a_folder_that_is_not_the_users_own_is_not_used(nowhere_but_temporary, notices, monkeypatch, kind):
    """numba executes what lies in it, and anybody may make a folder in the temporary place."""
    place = nowhere_but_temporary
    if kind == "link":
        (place.parent / "elsewhere").mkdir(mode=0o700)
        place.symlink_to(place.parent / "elsewhere")
    elif kind == "file":
        place.touch()
    else:
        place.mkdir()
        place.chmod(0o777 if kind == "others may write" else 0o700)
    if kind == "another user":
        user = os.getuid() + 1
        monkeypatch.setattr(os, "getuid", lambda: user)
        place.rename(place.with_name(f"balltravel-{user}"))
    assert ask() is None
    assert len(notices) == 1
    assert "cannot be kept" in notices[0]
    assert {"link": "a link", "file": "no folder"}.get(kind, kind) in notices[0]


def test_code_of_other_sources_goes_when_nobody_has_used_it_for_a_month(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    month_ago = time.time() - 31 * 86400
    place = tmp_path / "balltravel"
    for name, used in {"0123456789abcdef": month_ago, "fedcba9876543210": time.time()}.items():
        (place / name / "core_0").mkdir(parents=True)
        (place / name / "core_0" / "x.nbi").touch()
        os.utime(place / name, (used, used))
    (place / "not ours").mkdir()
    os.utime(place / "not ours", (month_ago, month_ago))
    folder = ask()
    assert sorted(path.name for path in place.iterdir()) == sorted(
        [folder.name, "fedcba9876543210", "not ours"]
    )


def test_code_that_is_in_use_stays(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    folder = ask()
    os.utime(folder, (0, 0))
    ask()
    assert folder.stat().st_mtime > time.time() - 3600


def test_numba_writes_where_the_cache_says(story):
    """After a run the kernel that calls all others lies there, whoever compiled it."""
    from balltravel.cycle.dataset import simulate

    simulate(story("primer"), max_cycles=1)
    assert is_compiled()
    assert any(cache_folder().rglob(ENTRY)) or os.environ.get("NUMBA_DISABLE_JIT", "0") != "0"
