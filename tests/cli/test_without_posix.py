"""Nothing needs what Python has on POSIX alone: modules and functions that Windows lacks are taken away."""

import subprocess
import sys
from pathlib import Path

import pytest

from balltravel.files.read_write import name_on_windows

ROOT = Path(__file__).parents[2]

TAKE_AWAY = """
import os, signal, sys
for module in ("fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "syslog", "readline", "_curses"):
    sys.modules[module] = None
import platformdirs  # asks what system this is, and believes it
for name in (
    "getuid", "geteuid", "getgid", "setuid", "fchmod", "fchown", "chown", "fork", "mkfifo",
    "sched_getaffinity", "sched_setaffinity", "O_DIRECTORY", "O_NOFOLLOW", "O_CLOEXEC", "O_NONBLOCK",
    "killpg", "setsid", "getpgid", "pathconf", "nice", "statvfs", "sysconf", "wait4", "getloadavg",
):
    if hasattr(os, name):
        delattr(os, name)
for name in ("SIGHUP", "SIGPIPE", "SIGKILL", "SIGUSR1", "SIGXFSZ", "SIGALRM", "pthread_kill", "alarm"):
    if hasattr(signal, name):
        delattr(signal, name)
plain_open = os.open
def open_no_folder(path, *arguments, **named):
    if not isinstance(path, int) and os.path.isdir(path):
        raise PermissionError(13, "Permission denied", path)
    return plain_open(path, *arguments, **named)
os.open = open_no_folder
"""

EVERY_MODULE = """
import importlib, pkgutil
import balltravel
for module in pkgutil.walk_packages(balltravel.__path__, "balltravel."):
    if not module.name.startswith("balltravel.closures.fem") and not module.name.endswith("__main__"):
        importlib.import_module(module.name)
print("all imported")
"""

JOB = """
from balltravel.cli.main import main
job = ["simulate", sys.argv[1], "--out", "a.nc", "--figure", "a.png"]
sys.exit(main(job) or main(job))
"""


def python(code, *arguments, folder):
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)],
        capture_output=True, text=True, check=False, cwd=folder,
    )  # fmt: skip


def test_every_module_is_imported(tmp_path):
    done = python(TAKE_AWAY + EVERY_MODULE, folder=tmp_path)
    assert done.stdout == "all imported\n", done.stderr


def test_a_small_job_runs_and_writes_its_files_over_older_ones(tmp_path):
    done = python(TAKE_AWAY + JOB, ROOT / "scenarios" / "primer.toml", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("loss budget") == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.nc", "a.png"]


SWEEP = """
from balltravel.cli.main import main
grid = ["--over", "shims.below=[[], [1]]", "--over", 'material.viscosity=["5 Pa.s"]']
job = ["sweep", sys.argv[1], *grid, "--out", "swept"]
sys.exit(main(job) or main(job))
"""


def test_a_sweep_goes_into_a_folder_and_on_in_it(tmp_path):
    done = python(TAKE_AWAY + SWEEP, ROOT / "scenarios" / "primer.toml", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stderr.count("swept: 2 of 2 cases are there already\n") == 1
    assert (tmp_path / "swept" / "result.nc").exists()


@pytest.mark.parametrize(
    "name", ["nul.nc", "CON", "com1.png", "a:b.nc", "what?.nc", "a.nc ", "a.", "lpt\u00b9.nc"]
)
def test_a_name_that_windows_cannot_have_is_known(name):
    assert not name_on_windows(name)


@pytest.mark.parametrize(
    "name", ["a.nc", "null.nc", "console.png", "com10.nc", "with blank.nc", "\u00b5m.nc"]
)
def test_a_name_that_windows_can_have_is_known(name):
    assert name_on_windows(name)


def test_no_text_is_read_in_the_encoding_of_the_machine(tmp_path):
    """Windows reads text in a code page of its own unless it is told which one it is."""
    code = (
        "import sys, warnings\n"
        "warnings.filterwarnings('error', category=EncodingWarning, module='balltravel')\n"
        "from balltravel.cli.main import main\n"
        "sys.exit(main(['check', sys.argv[1]]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-X", "warn_default_encoding", "-c", code, ROOT / "scenarios" / "primer.toml"],
        capture_output=True, text=True, check=False, cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
