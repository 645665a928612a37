"""How fast it is, by ratios measured side by side in one run:

    python tests/benchmarks/speed.py                     # all parts, some fifteen minutes
    python tests/benchmarks/speed.py --parts own         # own, rivals, many: some of them
    python tests/benchmarks/speed.py --against FOLDER    # also a checkout of an older version against this
    python tests/benchmarks/speed.py --page              # writes docs/speed.md and its figure

Times are CPU times after a warm-up, the least of several rounds in which contenders take turns, unless a
table says otherwise. Nothing is asserted. numbalsoda takes part where it can be imported.
"""

import argparse
import subprocess
import sys
import textwrap
import warnings
from collections.abc import Iterator
from pathlib import Path

import many_cases
import own_engine
import page
import penalties
import precision
from machine import described, gpu_there, load
from old_and_new import compared
from precision_figure import draw, finding
from solvers import lsoda
from tables import WIDTH, Table, as_text

PARTS = ("own", "rivals", "many")


def own(rounds: int) -> Iterator[Table]:
    """This engine by itself."""
    yield own_engine.case_table(rounds)
    yield own_engine.batch_table(rounds)
    yield own_engine.sweep_table(rounds)
    if (table := own_engine.gpu_table(rounds)) is not None:
        yield table


def rivals(rounds: int, figure: Path) -> Iterator[Table]:
    """Other solvers; the figure is drawn on the way."""
    # scipy's Radau overflows in the factors of its differences where a rate does not depend on a state.
    warnings.filterwarnings("ignore", "overflow encountered", RuntimeWarning)
    curves, known = precision.measured(rounds)
    draw(curves, figure, finding(curves))
    yield precision.ratio_table(curves)
    yield precision.reference_table(known)
    yield precision.point_table(curves)
    yield penalties.penalty_table(rounds)


def many(most: int) -> Iterator[Table]:
    """Many cases."""
    yield many_cases.stand_in_table(most)
    yield many_cases.real_table(most)


def versions(old: Path, rounds: int) -> Iterator[Table]:
    """An older version."""
    table = compared(old, rounds)
    asked = ["git", "-C", str(old), "rev-parse", "--short", "HEAD"]
    commit = subprocess.run(asked, capture_output=True, text=True).stdout.strip()
    yield table._replace(title=f"{table.title} (old: {commit or 'not in git'})")


def shown(tables: Iterator[Table]) -> list[Table]:
    """Tables, each printed as soon as it is there."""
    kept = []
    for table in tables:
        print(f"{as_text(table)}\n", flush=True)
        kept.append(table)
    return kept


def arguments() -> argparse.Namespace:
    """What the user asks for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--parts", default=",".join(PARTS), help="own, rivals, many; with commas between")
    parser.add_argument("--against", type=Path, help="a checkout of an older version")
    parser.add_argument("--rounds", type=int, default=5, help="of which the least counts (default 5)")
    parser.add_argument("--most", type=int, default=1_000_000, help="cases at most (default 1000000)")
    parser.add_argument("--figure", type=Path, default=Path("work_precision.png"), help="file to draw into")
    parser.add_argument("--page", action="store_true", help="write docs/speed.md and its figure")
    given = parser.parse_args()
    given.parts = given.parts.split(",")
    if wrong := set(given.parts) - set(PARTS):
        parser.error(f"no part {', '.join(sorted(wrong))}: allowed are {', '.join(PARTS)}")
    if given.page and set(given.parts) != set(PARTS):
        parser.error("--page needs all parts")
    if given.page:
        given.figure = page.FIGURE
    return given


def main() -> None:
    """Measure and print, part by part."""
    given, before = arguments(), load()
    if lsoda is None:
        print("numbalsoda cannot be imported here and is left out.\n")
    if not gpu_there():
        print("No GPU that the core can use: left out.\n")
    made = {
        "own": shown(own(given.rounds)) if "own" in given.parts else [],
        "rivals": shown(rivals(given.rounds, given.figure)) if "rivals" in given.parts else [],
        "many": shown(many(given.most)) if "many" in given.parts else [],
        "versions": shown(versions(given.against, given.rounds)) if given.against else [],
    }
    lines = described(before)
    print("\n".join(textwrap.fill(line, WIDTH) for line in lines))
    if given.page:
        words = [word if word != str(given.against) else "FOLDER" for word in sys.argv[1:]]
        command = " ".join(["python", "tests/benchmarks/speed.py", *words])
        page.write(page.Measured(command, lines, **made))


if __name__ == "__main__":
    main()
