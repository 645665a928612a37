"""Makes the shipped tables of the ball over a sharp edge: ``python -m balltravel.closures.fem.make_table``.

Needs the extra ``fem``. ``--kind`` names the table; points are added to the file as they come, and the same
command goes on from there.
"""

import argparse
import csv
import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from importlib.metadata import version
from pathlib import Path

from balltravel.closures.fem.points import KINDS, Kind

Row = tuple[float, ...]
GridPoint = tuple[float, ...]


def head(name: str, kind: Kind) -> list[str]:
    """What the table is and where it comes from."""
    tools = ", ".join(f"{tool} {version(tool)}" for tool in kind.tools)
    asked = "FILE" if name == "resistance" else f"FILE --kind {name}"
    made = f"Own {kind.elements} ({tools}): python -m balltravel.closures.fem.make_table {asked}"
    return [f"# {line}" for line in (*kind.about, made)]


def written(row: Row, kind: Kind) -> list[str]:
    """Two digits more than the meshes are good for; two of what says how far off they are (below 0.01)."""
    return [f"{value:g}" for value in row[: kind.keys]] + [
        f"{value:.1e}" if abs(value) < 1e-2 else f"{value:.{kind.digits}g}" for value in row[kind.keys :]
    ]


def read(path: Path, keys: int) -> dict[GridPoint, list[str]]:
    """Rows that are there, by their point of the grid; a last line that was cut off counts as not there."""
    if not path.exists():
        return {}
    whole = path.read_text(encoding="utf-8")
    lines = [line for line in whole[: whole.rfind("\n") + 1].splitlines() if not line.startswith("#")]
    rows = list(csv.reader(lines))[1:]
    return {tuple(float(value) for value in row[:keys]): row for row in rows}


def write(path: Path, name: str, kind: Kind, rows: dict[GridPoint, list[str]]) -> None:
    """The whole file, in order."""
    lines = [*head(name, kind), ",".join(kind.columns), *(",".join(rows[place]) for place in sorted(rows))]
    part = path.with_suffix(".part")
    part.write_text("\n".join(lines) + "\n", encoding="utf-8")
    part.replace(path)


def solved(name: str, places: Sequence[GridPoint], workers: int) -> Iterator[Row]:
    """Rows as they come."""
    with ProcessPoolExecutor(workers) as pool:
        futures = [pool.submit(KINDS[name].solve, *place) for place in places]
        try:
            for future in as_completed(futures):
                yield future.result()
        finally:
            # A solve that failed ends the run: without this the others would be made and lost.
            pool.shutdown(wait=False, cancel_futures=True)


def main(argv: Sequence[str] | None = None) -> int:
    """Make the table, or the rest of it."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("file", type=Path)
    parser.add_argument("--kind", choices=sorted(KINDS), default="resistance")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args(argv)
    kind = KINDS[asked.kind]
    rows = read(asked.file, kind.keys)
    missing = [place for place in kind.places if place not in rows]
    write(asked.file, asked.kind, kind, rows)
    for done, row in enumerate(solved(asked.kind, missing, asked.workers), 1):
        rows[row[: kind.keys]] = written(row, kind)
        with asked.file.open("a", encoding="utf-8") as file:
            file.write(",".join(rows[row[: kind.keys]]) + "\n")
        print(f"\r{done} of {len(missing)} points", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    write(asked.file, asked.kind, kind, rows)
    return 0


if __name__ == "__main__":
    sys.exit(main())
