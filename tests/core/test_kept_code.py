"""Compiled code on disk that is damaged, or finds no room, stops no run."""

import os
import subprocess
import sys

import pytest

pytestmark = pytest.mark.skipif(os.environ.get("NUMBA_DISABLE_JIT") == "1", reason="nothing is compiled")

SMALL = """
import sys
if len(sys.argv) > 1:
    import resource, signal
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]),) * 2)

from balltravel.core.jit import kernel

@kernel
def third(x):
    return x / 3.0

@kernel
def sixth(x):
    return third(x) / 2.0

print(sixth(12.0))
"""


@pytest.fixture
def small(tmp_path):
    """Runs a program with two kernels of its own; returns the lines that it said beside its result."""
    (tmp_path / "small.py").write_text(SMALL, encoding="utf-8")
    (tmp_path / "tmp").mkdir()
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path), "TMPDIR": str(tmp_path / "tmp")}

    def run(*arguments):
        command = [sys.executable, tmp_path / "small.py", *arguments]
        done = subprocess.run(command, capture_output=True, text=True, env=environment)
        assert (done.returncode, done.stdout) == (0, "2.0\n"), done.stderr
        return done.stderr.splitlines()

    return run


def files(folder, name):
    found = list((folder / "balltravel").rglob(name))
    assert found
    return found


def emptied(path):
    path.write_bytes(b"")


def halved(path):
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def with_a_flipped_bit(path):
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 4
    path.write_bytes(data)


@pytest.mark.parametrize("damage", [emptied, halved, with_a_flipped_bit])
def test_damaged_machine_code_is_dropped_and_compiled_anew(small, tmp_path, damage):
    assert small() == []
    for path in files(tmp_path, "*.nbc"):
        damage(path)
    (line,) = small()
    assert "damaged" in line
    assert small() == []


@pytest.mark.parametrize("damage", [emptied, halved])
def test_a_damaged_index_is_dropped_and_its_kernel_compiled_anew(small, tmp_path, damage):
    assert small() == []
    for path in files(tmp_path, "*.nbi"):
        damage(path)
    (line,) = small()
    assert "damaged" in line
    assert small() == []


def test_a_folder_in_an_index_s_place_is_told_and_the_kernel_is_compiled_all_the_same(small, tmp_path):
    small()
    for path in files(tmp_path, "*.nbi"):
        path.unlink()
        path.mkdir()
    assert 1 <= len(small()) <= 2


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the size of files")
@pytest.mark.parametrize("room", ["0", "2000"])
def test_code_that_finds_no_room_is_compiled_and_not_kept(small, room):
    (line,) = small(room)
    assert "cannot be kept" in line
    assert "File too large" in line
    assert small() == []


def test_a_file_where_numba_wants_a_folder_is_told_and_nothing_is_kept(small, tmp_path):
    small()
    (kept,) = {path.parent for path in files(tmp_path, "*.nbi")}
    for path in kept.iterdir():
        path.unlink()
    kept.rmdir()
    kept.touch()
    (line,) = small()
    assert "cannot be kept" in line
    assert not list(tmp_path.rglob("*.nbi"))


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs to become another user")
def test_a_folder_that_may_not_be_read_is_passed_over(tmp_path):
    """As a user without rights, for the superuser may read everything."""
    (tmp_path / "balltravel").mkdir(mode=0)
    tmp_path.chmod(0o755)
    os.chown(tmp_path / "balltravel", 65534, 65534)
    code = (
        "import os, pathlib\n"
        "from balltravel.core.cache import _make_own\n"
        "os.setgid(65534); os.setuid(65534)\n"
        "try: _make_own(pathlib.Path('balltravel'))\n"
        "except OSError as error: print(error.strerror)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path)
    assert done.stdout == "it cannot be read and written\n", done.stderr
