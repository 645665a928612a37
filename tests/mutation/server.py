"""Runs tests in forks of one warm process, so that a mutant costs a fork and its tests, not the imports.

Listens on a Unix socket; who connects asks for the tests of the module that is mutated now, the answer is a
letter (``K`` tests failed, ``S`` they passed, ``T`` they ran out of their time) and what pytest printed. The
package itself is never imported here: each fork reads the mutated source.
"""

import contextlib
import gc
import importlib
import io
import os
import resource
import socket
import sys
import tempfile
import tomllib
from pathlib import Path

SOURCES = Path("sim/balltravel")

CPU_SECONDS = 40
"""Processor time of a mutant's tests at most; the sound sources need less than 15."""

COMPILING = 600
"""The same for the sound sources, which may have to compile the core."""

MEMORY = 6 << 30

PRELOADED = (
    "chemicals", "csv", "difflib", "fluids", "fractions", "h5netcdf", "hypothesis", "hypothesis.strategies",
    "numba", "numpy", "pint", "pydantic.main", "pytest", "resource", "rich.progress", "scipy.integrate",
    "scipy.interpolate", "scipy.optimize", "scipy.special", "xarray",
)  # fmt: skip

OPTIONS = ["-x", "-q", "-s", "--tb=line", "--assert=plain", "--rootdir=."]
# Two of them collect garbage of the whole process at the end, which takes longer than the tests.
UNUSED = ["cacheprovider", "unraisableexception", "threadexception", "faulthandler", "doctest", "junitxml"]
OPTIONS += [f"-pno:{name}" for name in UNUSED]

WARM = """import pytest

@pytest.fixture(scope="module")
def two(): return 2

@pytest.mark.parametrize("x", [1, 2])
def test_warm(two, x): assert x == pytest.approx(x)
def test_fails(): assert 1 == pytest.approx(2)
"""


def preload() -> None:
    """Import all that the tests need beside the package, and run pytest once."""
    for name in PRELOADED:
        importlib.import_module(name)
    import pytest

    with contextlib.redirect_stdout(io.StringIO()), tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "test_warm.py").write_text(WARM, encoding="utf-8")
        pytest.main([folder, *OPTIONS])
    gc.collect()
    gc.disable()
    gc.freeze()


def run_tests(files: list[str], out: int, seconds: int) -> None:
    """In a fork: run the tests with what they print going to ``out``, and end the process."""
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    os.dup2(out, 1)
    os.dup2(out, 2)
    import pytest

    code = int(pytest.main([*files, *OPTIONS]))
    sys.stdout.flush()
    os._exit(0 if code == 0 else 1)


def answer(files: list[str], seconds: int = CPU_SECONDS) -> bytes:
    """Letter and output of one mutant's tests."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        run_tests(files, write, seconds)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        output = pipe.read()
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return b"T" + output
    return (b"S" if os.WEXITSTATUS(status) == 0 else b"K") + output


def mutated(sound: dict[str, bytes]) -> str:
    """The module that is not as it was."""
    return next(name for name, text in sound.items() if (SOURCES / name).read_bytes() != text)


def serve(path: str, tests: dict[str, list[str]]) -> None:
    """Answer requests until the process is ended, if the sound sources pass their tests."""
    verdicts = {name: answer(files, COMPILING) for name, files in tests.items()}
    failed = {name: verdict.decode() for name, verdict in verdicts.items() if not verdict.startswith(b"S")}
    for name, verdict in failed.items():
        print(f"the tests of {name} fail on the sound source:\n{verdict}", flush=True)
    if failed:
        return
    sound = {name: (SOURCES / name).read_bytes() for name in tests}
    listener = socket.socket(socket.AF_UNIX)
    listener.bind(path)
    listener.listen(1)
    print("ready", flush=True)
    while True:
        connection, _ = listener.accept()
        with connection, contextlib.suppress(BrokenPipeError):
            connection.sendall(answer(tests[mutated(sound)]))


if __name__ == "__main__":
    sys.dont_write_bytecode = True
    sys.path.insert(0, str(Path("sim").resolve()))
    preload()
    told = tomllib.loads(Path(sys.argv[2]).read_text(encoding="utf-8"))["tests"]
    serve(sys.argv[1], {name: told[name] for name in sys.argv[3:]})
