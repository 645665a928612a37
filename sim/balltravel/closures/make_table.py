"""Makes the table of the ball over a sharp edge: ``python -m balltravel.closures.make_table FILE``.

Needs the extra ``fem``. Each point is solved on two meshes; their difference stands beside the finer one's
numbers. Points are added to the file as they come, and the same command goes on from there.
"""

import argparse
import csv
import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from importlib.metadata import version
from itertools import product
from pathlib import Path

from balltravel.closures.creeping import resistance
from balltravel.closures.section import sharp_edge

FINE, COARSE = 0.15, 0.212
"""Size of the elements over the local width; the error falls with about its fourth power."""

LIFTS = (
    0.001, 0.002, 0.005, 0.01, 0.014, 0.02, 0.03, 0.045, 0.065, 0.09, 0.125, 0.17, 0.23,
    0.31, 0.42, 0.57, 0.78, 1.05, 1.4, 1.9, 2.5, 3.0,
)  # fmt: skip
BALLS = (1.12, 1.2, 1.3, 1.42, 1.58, 1.8)
RATIOS = (0.5, 0.58, 0.66, 0.74, 0.81, 0.87, 0.9, 0.93, 0.95)

COLUMNS = ("ball", "ratio", "lift", "Rqq", "Rqw", "Rww", "S", "Rqq_unc", "Rqw_unc", "S_unc", "reciprocity")
Row = tuple[float, ...]
Place = tuple[float, float, float]


def solve(ball: float, ratio: float, lift: float) -> Row:
    """A row of the table: numbers of the finer mesh, and how far the coarser one's are from them."""
    section = sharp_edge(ball, ball / ratio, lift)
    fine, coarse = resistance(section, FINE), resistance(section, COARSE)
    off = (abs(getattr(coarse, name) / getattr(fine, name) - 1.0) for name in ("Rqq", "Rqw", "S"))
    return (ball, ratio, lift, fine.Rqq, fine.Rqw, fine.Rww, fine.S, *off, abs(fine.Rwq / fine.Rqw - 1.0))


def head() -> list[str]:
    """What the table is and where it comes from."""
    tools = ", ".join(f"{name} {version(name)}" for name in ("scikit-fem", "gmsh", "scipy"))
    return [
        "# Creeping flow past a ball over a sharp-edged seat in a plain cage; lengths in seat radii,",
        "# viscosity 1. ball: R/r_s; ratio: R/R_c; dp = Rqq Q - Rqw w less Poiseuille of the bore up to the",
        "# seat plane and of the cage from the ball's top on; F = Rqw Q - Rww w; S = Rww - Rqw^2/Rqq, from",
        f"# the dissipation at dp = 0. *_unc: change from elements of {COARSE} to {FINE} of the local width;",
        "# reciprocity: Rwq/Rqw - 1, from the force on the held ball and the pressures of the moving one.",
        f"# Own axisymmetric finite elements ({tools}): python -m balltravel.closures.make_table FILE",
    ]


def written(row: Row) -> list[str]:
    """Seven digits, as the meshes are good for five."""
    return [
        *(f"{value:g}" for value in row[:3]),
        *(f"{value:.7g}" for value in row[3:7]),
        *(f"{v:.1e}" for v in row[7:]),
    ]


def read(path: Path) -> dict[Place, list[str]]:
    """Rows that are there, by ball, ratio and lift; a last line that was cut off counts as not there."""
    if not path.exists():
        return {}
    whole = path.read_text(encoding="utf-8")
    lines = [line for line in whole[: whole.rfind("\n") + 1].splitlines() if not line.startswith("#")]
    rows = list(csv.reader(lines))[1:]
    return {(float(row[0]), float(row[1]), float(row[2])): row for row in rows}


def write(path: Path, rows: dict[Place, list[str]]) -> None:
    """The whole file, in order."""
    lines = [*head(), ",".join(COLUMNS), *(",".join(rows[place]) for place in sorted(rows))]
    part = path.with_suffix(".part")
    part.write_text("\n".join(lines) + "\n", encoding="utf-8")
    part.replace(path)


def solved(places: Sequence[Place], workers: int) -> Iterator[Row]:
    """Rows as they come."""
    with ProcessPoolExecutor(workers) as pool:
        for future in as_completed([pool.submit(solve, *place) for place in places]):
            yield future.result()


def main(argv: Sequence[str] | None = None) -> int:
    """Make the table, or the rest of it."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("file", type=Path)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args(argv)
    rows = read(asked.file)
    missing = [place for place in product(BALLS, RATIOS, LIFTS) if place not in rows]
    write(asked.file, rows)
    for done, row in enumerate(solved(missing, asked.workers), 1):
        rows[row[:3]] = written(row)  # type: ignore[index]
        with asked.file.open("a", encoding="utf-8") as file:
            file.write(",".join(rows[row[:3]]) + "\n")  # type: ignore[index]
        print(f"\r{done} of {len(missing)} points", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    write(asked.file, rows)
    return 0


if __name__ == "__main__":
    sys.exit(main())
