"""An older version of the program against this one: both in processes of their own, in turn."""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from problem import MATERIALS, SCENARIOS
from tables import Table, number

NEW = Path(__file__).parents[2]
TURNS = 2

Answer = dict[str, Any]


def measured(root: Path, cache: Path, rounds: int) -> Answer:
    """A version with a cache folder, which is filled if it is fresh."""
    paths = ",".join(str(SCENARIOS / f"{name}.toml") for name in MATERIALS)
    command = [sys.executable, str(Path(__file__).with_name("one_version.py")), paths, str(rounds)]
    kept = {name: value for name, value in os.environ.items() if name != "NUMBA_CACHE_DIR"}
    kept |= {"PYTHONPATH": str(root / "sim"), "XDG_CACHE_HOME": str(cache)}
    done = subprocess.run(command, capture_output=True, text=True, env=kept)
    if done.returncode:
        raise SystemExit(f"{root} cannot be measured:\n{done.stderr[-2000:]}")
    answer: Answer = json.loads(done.stdout)
    return answer


def in_turn(old: Path, rounds: int) -> dict[str, list[Answer]]:
    """Old, new, old, new, each with a fresh cache folder, then once more each with a full one."""
    answers: dict[str, list[Answer]] = {"old": [], "new": []}
    with tempfile.TemporaryDirectory() as folder:
        for turn in range(2 * TURNS):
            for name, root in (("old", old), ("new", NEW)):
                # Compilation counts in the first turns, steps in all.
                cache = Path(folder) / f"{name}{turn % TURNS}"
                cache.mkdir(exist_ok=True)
                answers[name].append(measured(root, cache, rounds))
    return answers


def compared(old: Path, rounds: int) -> Table:
    """Ratios of old to new."""
    answers = in_turn(old, rounds)
    first = {name: min(answer["first"] for answer in of[:TURNS]) for name, of in answers.items()}
    warm = {name: min(answer["first"] for answer in of[TURNS:]) for name, of in answers.items()}
    rows = [
        _row("first run, empty cache [CPU s]", first["old"], first["new"]),
        _row("first run, code in the cache [CPU s]", warm["old"], warm["new"]),
    ]
    for material in MATERIALS:
        of = {name: [answer["cases"][material] for answer in given] for name, given in answers.items()}
        seconds = {name: min(case["seconds"] for case in given) for name, given in of.items()}
        steps = {name: given[0]["steps"] for name, given in of.items()}
        error = {name: given[0]["error"] for name, given in of.items()}
        each = {name: 1e6 * seconds[name] / steps[name] for name in of}
        rows += [
            _row(f"{material}: us a step", each["old"], each["new"]),
            _row(f"{material}: ms a case", 1e3 * seconds["old"], 1e3 * seconds["new"]),
            _row(f"{material}: steps", steps["old"], steps["new"]),
            _row(f"{material}: error", error["old"], error["new"]),
        ]
    return Table(
        "An older version against this one",
        ["", "old", "new", "old/new"],
        rows,
        [
            "Least CPU time of four processes each, which took turns. Error: of the volume delivered at rtol "
            "1e-6, against the version's own run at 1e-10 over as many cycles."
        ],
    )


def _row(name: str, old: float, new: float) -> list[str]:
    return [name, number(old), number(new), number(old / new) if new else "-"]
