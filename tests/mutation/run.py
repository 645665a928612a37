"""Mutation testing of every module that computes, by one command.

    python tests/mutation/run.py --folder FOLDER                   # all modules
    python tests/mutation/run.py --folder FOLDER core/check.py     # some modules
    python tests/mutation/run.py --folder FOLDER --each 60 --workers 4 --page

Clones the repository's last commit (``--here`` takes the working tree's sources and tests with it) into the
folder, lets cosmic-ray make each mutant there and runs the tests that ``tests.toml`` names for its module:
those of the core in plain Python (NUMBA_DISABLE_JIT=1), the others with the compiled core. Each module has a
session of its own, named by its text: the same command goes on with what is not done yet, runs survivors
again, and begins anew with a module that has changed. ``survivors.toml`` says of survivors why they live.
``--page`` writes docs/mutation.md, with ``--told`` from what was run before. Exit code 1 if the sound sources
fail their tests, the score is below 90 % or a survivor is not explained.
"""

import argparse
import compileall
import contextlib
import hashlib
import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import threading
import tomllib
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

from page import HERE, ROOT, SOURCES, mutants_of, possible, scores, survivors_table, write_pages

# One or two replacements an operator, of all the pairs that cosmic-ray knows; numbers go up and down by 1.
OPERATORS = re.compile(
    "core/("
    "ReplaceBinaryOperator_(Add_Sub|Sub_Add|Mul_Div|Div_Mul|Pow_Mul|FloorDiv_Mul|Mod_Mul|BitAnd_BitOr|BitOr_BitAnd)"
    "|ReplaceComparisonOperator_(Eq_NotEq|NotEq_Eq|Lt_LtE|Lt_GtE|LtE_Lt|LtE_Gt|Gt_GtE|Gt_LtE|GtE_Gt|GtE_Lt)"
    "|ReplaceComparisonOperator_(Is_IsNot|IsNot_Is)|ReplaceUnaryOperator_Delete_(USub|Not|Invert)"
    "|ReplaceTrueWithFalse|ReplaceFalseWithTrue|ReplaceAndWithOr|ReplaceOrWithAnd|AddNot"
    "|ReplaceBreakWithContinue|ReplaceContinueWithBreak|ZeroIterationForLoop|NumberReplacer|ExceptionReplacer"
    ")$"
)
TIMEOUT, SEED = 300.0, 20
LEAST_SCORE = 0.9


def configuration(module: str, wire: Path) -> str:
    """What cosmic-ray is to do."""
    command = f"{sys.executable} -I -S {HERE / 'client.py'} {wire}"
    return (
        f'[cosmic-ray]\nmodule-path = "{SOURCES}/{module}"\n'
        f"timeout = {TIMEOUT}\nexcluded-modules = []\n"
        f"test-command = '{command}'\n[cosmic-ray.distributor]\nname = \"local\"\n"
    )


def clone(folder: Path, here: bool) -> None:
    """The repository in a folder of its own: the tool edits sources in place."""
    subprocess.run(["git", "clone", "-q", ROOT, folder], check=True)
    if here:
        for part in ("sim", "tests"):
            ignored = shutil.ignore_patterns("__pycache__")
            shutil.copytree(ROOT / part, folder / part, dirs_exist_ok=True, ignore=ignored)
    # Compiled files of sources that look old can never be taken for those of a mutant.
    for path in folder.rglob("*.py"):
        os.utime(path, (1e9, 1e9))
    compileall.compile_dir(folder / "sim", quiet=2)
    compileall.compile_dir(folder / "tests", quiet=2)


def environment(kernels: Path, compiled: bool) -> dict[str, str]:
    """One thread; the core as plain Python, or compiled once into a folder of its own."""
    jit = {"NUMBA_CACHE_DIR": str(kernels)} if compiled else {"NUMBA_DISABLE_JIT": "1"}
    threads = {f"{name}_NUM_THREADS": "1" for name in ("OMP", "OPENBLAS", "MKL")}
    own = {"PYTHONDONTWRITEBYTECODE": "1", "MPLBACKEND": "agg", "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    return {**os.environ, **jit, **threads, **own}


class Worker(threading.Thread):
    """Some modules in a clone of their own, with a test server."""

    def __init__(self, folder: Path, modules: list[str], here: bool, each: int) -> None:
        super().__init__()
        self.folder, self.modules, self.here, self.each = folder, modules, here, each
        self.sessions: dict[str, Path] = {}
        self.failed = ""

    def run(self) -> None:
        repository = self.folder / "repository"
        shutil.rmtree(repository, ignore_errors=True)
        clone(repository, self.here)
        core = [module for module in self.modules if module.startswith("core/")]
        others = [module for module in self.modules if module not in core]
        self.run_with_server(repository, core, compiled=False)
        self.run_with_server(repository, others, compiled=True)

    def run_with_server(self, repository: Path, modules: list[str], compiled: bool) -> None:
        """Mutate modules one after the other while a server of their tests runs."""
        if not modules or self.failed:
            return
        wire, variables = self.folder / "wire", environment(self.folder / "kernels", compiled)
        wire.unlink(missing_ok=True)
        server = subprocess.Popen(
            [sys.executable, HERE / "server.py", wire, HERE / "tests.toml", *modules],
            cwd=repository,
            env=variables,
            stdout=subprocess.PIPE,
            text=True,
        )
        try:
            assert server.stdout
            told = server.stdout.readline()
            self.failed = "" if told == "ready\n" else told + server.stdout.read()
            if not self.failed:
                self.sessions |= {module: self.mutate(repository, wire, module) for module in modules}
        except subprocess.CalledProcessError as error:
            self.failed = f"{error}; go on with the same command"
        finally:
            server.kill()
            server.wait()

    def mutate(self, repository: Path, wire: Path, module: str) -> Path:
        """All mutants of a module; the session in which they are."""
        settings, session = self.folder / "session.toml", session_of(self.folder.parent, repository, module)
        settings.write_text(configuration(module, wire), encoding="utf-8")
        tool = Path(sys.executable).parent / "cosmic-ray"
        if session.exists():
            forget(session)
        else:
            subprocess.run([tool, "init", settings, session], cwd=repository, check=True)
            choose(session, repository / SOURCES / module, self.each)
        subprocess.run([tool, "exec", settings, session], cwd=repository, check=True)
        return session


def session_of(folder: Path, repository: Path, module: str) -> Path:
    """File of a module's mutants, as the module is now."""
    digest = hashlib.sha256((repository / SOURCES / module).read_bytes()).hexdigest()[:12]
    return folder / f"{module.removesuffix('.py').replace('/', '.')}.{digest}.sqlite"


def choose(session: Path, source: Path, each: int) -> None:
    """Leave the mutants of our operators outside decorators and, of these, so many by a seeded choice.

    Deleted, not skipped one by one: cosmic-ray's own filter takes minutes for some ten thousand.
    """
    lines = source.read_text(encoding="utf-8").splitlines()
    columns = "start_pos_row, start_pos_col, operator_name, occurrence, job_id"
    with contextlib.closing(sqlite3.connect(session)) as database, database:
        rows = database.execute(f"SELECT {columns} FROM mutation_specs ORDER BY {columns}").fetchall()
        decorated = {number for number, line in enumerate(lines, 1) if line.lstrip().startswith("@")}
        wanted = [row[4] for row in rows if OPERATORS.match(row[2]) and row[0] not in decorated]
        database.execute(f"PRAGMA user_version = {len(wanted)}")
        chosen = set(wanted if len(wanted) <= each else random.Random(SEED).sample(wanted, each))
        others = [(row[4],) for row in rows if row[4] not in chosen]
        for table in ("mutation_specs", "work_items"):
            database.executemany(f"DELETE FROM {table} WHERE job_id = ?", others)


def forget(session: Path) -> None:
    """Let survivors, and what is not known, be run again; with more tests the dead stay dead."""
    known = "substr(coalesce(output, ''), 1, 1) IN ('K', 'T')"
    with contextlib.closing(sqlite3.connect(session)) as database, database:
        database.execute(f"DELETE FROM work_results WHERE worker_outcome <> 'SKIPPED' AND NOT {known}")


def unlisted(tests: dict[str, Any], left_out: dict[str, str]) -> list[str]:
    """Modules of the package of which tests.toml says nothing."""
    package = ROOT / SOURCES
    modules = [path.relative_to(package).as_posix() for path in sorted(package.rglob("*.py"))]
    return [name for name in modules if name not in tests and not any(fnmatch(name, p) for p in left_out)]


def run_all(workers: list[Worker]) -> list[str]:
    """Let workers work beside each other; what failed."""
    for worker in workers:
        worker.folder.mkdir(parents=True, exist_ok=True)
        worker.start()
    for worker in workers:
        worker.join()
    return [worker.failed for worker in workers if worker.failed]


def main() -> int:
    listed = tomllib.loads((HERE / "tests.toml").read_text(encoding="utf-8"))
    tests, left_out = listed["tests"], listed["left_out"]
    if new := unlisted(tests, left_out):
        print(f"neither tested nor left out in tests.toml: {', '.join(new)}")
        return 1
    parser = argparse.ArgumentParser(description="Mutation testing; see the top of this file.")
    parser.add_argument("modules", nargs="*", default=list(tests), help="such as core/check.py")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--each", type=int, default=sys.maxsize, help="a sample: so many of each module")
    parser.add_argument("--here", action="store_true", help="with the working tree's changes")
    parser.add_argument("--folder", type=Path, required=True, help="clones and sessions; goes on with these")
    parser.add_argument("--told", action="store_true", help="run nothing: what was run before")
    parser.add_argument("--page", action="store_true", help="write docs/mutation.md and the survivors' list")
    asked = parser.parse_args()
    folder = asked.folder.resolve()
    sessions = {module: session_of(folder, ROOT, module) for module in asked.modules}
    if not asked.told:
        workers = [
            Worker(folder / str(k), asked.modules[k :: asked.workers], asked.here, asked.each)
            for k in range(asked.workers)
        ]
        if failed := run_all(workers):
            print("\n".join(failed))
            return 1
        sessions = {module: path for worker in workers for module, path in worker.sessions.items()}
    if missing := [module for module in asked.modules if not sessions[module].exists()]:
        print(f"not run yet: {', '.join(missing)}")
    known = [module for module in asked.modules if module not in missing]
    found = {module: (possible(sessions[module]), mutants_of(sessions[module])) for module in known}
    mutants = [mutant for _, own in found.values() for mutant in own]
    alive = [mutant for mutant in mutants if mutant.outcome == "survived"]
    print(scores(found), survivors_table([mutant for mutant in alive if not mutant.reason]), sep="\n")
    if asked.page:
        each = "N" if asked.told else asked.each
        sample = f" --each {each}" if each != sys.maxsize else ""
        not_run = dict.fromkeys(missing, "not run yet")
        write_pages(found, not_run | left_out, f"python tests/mutation/run.py --folder FOLDER{sample} --page")
    bad = len(alive) > (1.0 - LEAST_SCORE) * len(mutants) or any(not mutant.reason for mutant in alive)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
