"""What every command prints on every shipped scenario, so that a change can show that it moves no number.

    python tests/printed.py FOLDER                    # a file a command line; what is there is kept
    python tests/printed.py FOLDER check simulate     # some commands
    python tests/printed.py --compare BEFORE AFTER    # every number that differs; exit code 1 if one does

Runs ``python -m balltravel.cli`` of the Python that runs this script, two at a time, with --json and as text
(``limits`` with --json alone). Some ten minutes on two idle cores.
"""

import json
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

SCENARIOS = Path(__file__).parents[1] / "scenarios"
COMMANDS = ("check", "material", "simulate", "resistance", "prime", "suction", "recommend", "wear", "limits")


def command_lines(commands: tuple[str, ...]) -> Iterator[list[str]]:
    """Arguments of every run."""
    for command in commands:
        for path in sorted(SCENARIOS.glob("*.toml")):
            yield [command, path.name, "--json"]
            if command != "limits":
                yield [command, path.name]
    if "recommend" in commands:
        for path in sorted(SCENARIOS.glob("*.toml")):
            yield ["recommend", path.name, "--exactly", "--json"]
            yield ["recommend", path.name, "--exactly"]
        yield ["recommend", "week_of_a_coater.toml", "--week", "--json"]
        yield ["recommend", "week_of_a_coater.toml", "--week"]
        yield ["recommend", "week_of_a_coater.toml", "--week", "--exactly", "--json"]
        yield ["recommend", "week_of_a_coater.toml", "--week", "--exactly"]


def keep(folder: Path, arguments: list[str]) -> None:
    """Run one and keep what it prints on the standard output and its exit code."""
    command, scenario, *options = arguments
    form = "json" if "--json" in options else "txt"
    week = "-week" if "--week" in options else ""
    exactly = "-exactly" if "--exactly" in options else ""
    path = folder / f"{command}{week}{exactly}.{Path(scenario).stem}.{form}"
    if path.exists():
        return
    line = [sys.executable, "-m", "balltravel.cli", *arguments]
    done = subprocess.run(line, cwd=SCENARIOS, capture_output=True, text=True, check=False)
    path.write_text(f"{done.stdout}exit {done.returncode}\n", encoding="utf-8")
    print(path.name, flush=True)


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Path and value of everything in a JSON value that holds nothing further."""
    if isinstance(value, dict | list):
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for key, item in items:
            yield from leaves(item, f"{path}.{key}")
    else:
        yield path, value


def differences(before: str, after: str) -> list[str]:
    """Numbers of two JSON printouts that differ, with their paths; texts are left out."""
    (first, _, end), (second, _, other_end) = (text.rpartition("exit ") for text in (before, after))
    if end != other_end:
        return [f"exit code {end.strip()} -> {other_end.strip()}"]
    if not first.strip() or not second.strip():
        return [] if first.strip() == second.strip() else ["printed one time, not the other"]
    old, new = dict(leaves(json.loads(first))), dict(leaves(json.loads(second)))
    both_texts = lambda key: isinstance(old.get(key), str) and isinstance(new.get(key), str)  # noqa: E731
    changed = (
        key for key in {**old, **new} if old.get(key, "-") != new.get(key, "-") and not both_texts(key)
    )
    return [f"{key}: {old.get(key, '-')} -> {new.get(key, '-')}" for key in changed]


def compare(before: Path, after: Path) -> int:
    """Print every number that differs; 1 if one does."""
    files, different = sorted(after.glob("*.json")), 0
    for path in files:
        old = before / path.name
        lines = differences(old.read_text(), path.read_text()) if old.exists() else ["only in the second"]
        different += bool(lines)
        for line in lines:
            print(f"{path.name}: {line}")
    print(f"{len(files)} printouts compared, {different} differ")
    return int(different > 0)


def main(arguments: list[str]) -> int:
    if not arguments or arguments[0] in ("-h", "--help"):
        print(__doc__)
        return 2
    if arguments[0] == "--compare":
        return compare(Path(arguments[1]), Path(arguments[2]))
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(lambda line: keep(folder, line), command_lines(tuple(arguments[1:]) or COMMANDS)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
