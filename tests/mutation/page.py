"""What became of the mutants, as docs/mutation.md and docs/mutation_survivors.md tell it."""

import contextlib
import sqlite3
import tomllib
from collections import Counter
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from cosmic_ray.work_db import WorkDB, use_db

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
PAGE, LIST = ROOT / "docs" / "mutation.md", ROOT / "docs" / "mutation_survivors.md"
SOURCES = "sim/balltravel"

# The first letter of the server's answer; without one the server was gone and nothing is known.
OUTCOMES = {"K": "killed", "T": "timeout", "S": "survived"}

KINDS = {
    "equivalent": "the change cannot change a result",
    "one value": "differs at one exact value only: where a comparison meets its bound",
    "method": "a search or a grid: another way to the same number, within what is promised",
    "text": "what is said, not what is computed",
    "other tests": "killed by tests that take too long here",
    "not tested": "a test is missing",
}


@dataclass
class Mutant:
    """One change of one line, what became of it and, for a survivor, why it lives."""

    module: str
    line: int
    before: str
    after: str
    outcome: str
    kind: str = ""
    reason: str = ""


def reasons() -> list[dict[str, Any]]:
    """Why survivors live."""
    return tomllib.loads((HERE / "survivors.toml").read_text(encoding="utf-8")).get("survivor", [])


def changed(diff: str) -> tuple[int, str, str]:
    """Line number, old and new text of a one-line change."""
    number, before, after = 0, "", ""
    for line in diff.splitlines():
        if line.startswith("@@"):
            number = int(line.split()[1].split(",")[0].lstrip("-"))
        elif line.startswith("-") and not line.startswith("---") and not before:
            before = line[1:].strip()
        elif line.startswith("+") and not line.startswith("+++") and not after:
            after = line[1:].strip()
        elif not before:
            number += bool(number)
    return number, before, after


def mutants_of(session: Path) -> list[Mutant]:
    """What became of a module's mutants, but for those of which nothing is known."""
    found = []
    with use_db(str(session), WorkDB.Mode.open) as database:
        for item, result in database.completed_work_items:
            outcome = OUTCOMES.get((result.output or "")[:1])
            if outcome:
                module = item.mutations[0].module_path.relative_to(SOURCES).as_posix()
                found.append(Mutant(module, *changed(result.diff or ""), outcome))
    for mutant in found:
        if mutant.outcome == "survived":
            mutant.kind, mutant.reason = reason_for(mutant)
    return sorted(found, key=lambda mutant: (mutant.module, mutant.line, mutant.after))


def reason_for(mutant: Mutant) -> tuple[str, str]:
    """Kind and reason from survivors.toml: by module, old line and, where given, new line."""
    for entry in reasons():
        same = entry["module"] == mutant.module and entry["before"] == mutant.before
        if same and mutant.after in entry.get("after", [mutant.after]):
            return entry["kind"], entry["reason"]
    return "", ""


def possible(session: Path) -> int:
    """How many mutants there are of a module, of which a sample may have been run."""
    with contextlib.closing(sqlite3.connect(session)) as database:
        return int(database.execute("PRAGMA user_version").fetchone()[0])


def score_row(name: str, there_are: int, mutants: list[Mutant]) -> str:
    """A module's row."""
    count = Counter(mutant.outcome for mutant in mutants)
    dead = count["killed"] + count["timeout"]
    numbers = (there_are, len(mutants), count["killed"], count["timeout"], count["survived"])
    return f"| {name} | {' | '.join(map(str, numbers))} | {100.0 * dead / max(len(mutants), 1):.0f} % |"


def scores(found: dict[str, tuple[int, list[Mutant]]]) -> str:
    """Module by module, and all."""
    lines = [
        "| module | mutants | run | killed | timeout | survived | score |",
        "|---|---|---|---|---|---|---|",
    ]
    lines += [score_row(module, there_are, mutants) for module, (there_are, mutants) in found.items()]
    every = [mutant for _, mutants in found.values() for mutant in mutants]
    lines.append(score_row("**all**", sum(there_are for there_are, _ in found.values()), every))
    return "\n".join(lines) + "\n"


def summary(found: dict[str, tuple[int, list[Mutant]]]) -> str:
    """All of it in a sentence or two."""
    there_are = sum(number for number, _ in found.values())
    ran = [mutant for _, own in found.values() for mutant in own]
    alive = sum(mutant.outcome == "survived" for mutant in ran)
    most = max(len(own) for _, own in found.values())
    return (
        f"**{100.0 * (1.0 - alive / len(ran)):.1f} %** of {len(ran)} mutants died, a sample (at most "
        f"{most} of a module) of {there_are}; {alive} survived."
    )


def kinds_table(survivors: list[Mutant]) -> str:
    """How many survivors live for which kind of reason."""
    count = Counter(mutant.kind for mutant in survivors)
    lines = ["| kind | survivors | what it means |", "|---|---|---|"]
    lines += [f"| {kind} | {count[kind]} | {meaning} |" for kind, meaning in KINDS.items()]
    return "\n".join(lines) + "\n"


def survivors_table(survivors: list[Mutant]) -> str:
    """Each survivor with its reason."""
    lines = ["| where | mutation | kind | why it survives |", "|---|---|---|---|"]
    for mutant in survivors:
        change = f"`{mutant.before}` → `{mutant.after}`".replace("|", "\\|")
        why = f"{mutant.kind} | {mutant.reason}" if mutant.reason else "| NOT EXPLAINED"
        lines.append(f"| {mutant.module}:{mutant.line} | {change} | {why} |")
    return "\n".join(lines) + "\n"


def write_pages(found: dict[str, tuple[int, list[Mutant]]], left_out: dict[str, str], command: str) -> None:
    """docs/mutation.md and the list beside it."""
    survivors = [m for _, mutants in found.values() for m in mutants if m.outcome == "survived"]
    rows = "\n".join(f"| `{pattern}` | {why} |" for pattern, why in left_out.items())
    PAGE.write_text(
        (HERE / "head.md").read_text(encoding="utf-8")
        + f"\n## Scores\n\n{summary(found)}\n\nMade on {date.today()} by `{command}`;\n"
        + f"how many mutants were drawn of a module (N) is in the column *run*.\n\n{scores(found)}"
        + "\n## Why survivors live\n\nEach with its line and its reason is in "
        + f"[mutation_survivors.md](mutation_survivors.md).\n\n{kinds_table(survivors)}"
        + f"\n## Not mutated\n\n| modules | why |\n|---|---|\n{rows}\n",
        encoding="utf-8",
    )
    LIST.write_text(
        "# Surviving mutants\n\nMade with [mutation.md](mutation.md), which says what they are.\n\n"
        + survivors_table(survivors),
        encoding="utf-8",
    )
