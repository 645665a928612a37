"""How well the leaks of a pump's history come back: bands, growth as a trend, leaks taken for others.

    python tests/history_bands.py --pumps 30

Of each leak so many pumps, everything that is not known drawn once for each, five entries over which its gap
grows from none to a fifth of the largest tried, read with the usual errors.
"""

import argparse
import os
import sys
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # of small matrices more threads only wait for each other


sys.path.insert(0, str(Path(__file__).parent.parent))
from tests.bench.test_history_leaks import ENTRIES, SEED, Bench, histories_of

from balltravel.bench.causes import SOUND_GAP
from balltravel.bench.history.entries import LEAKS
from balltravel.bench.history.trends import trend


def course(points, leak):
    """The line through what counts of a leak."""
    fits = [(point.place, point.leaks[leak]) for point in points if leak in point.leaks]
    kept = [(place, fit.size) for place, fit in fits if fit.learnt and fit.explains]
    return trend([place for place, _ in kept], [size for _, size in kept])


def row(leak, gaps, found):
    """A row of the table of docs/log.md."""
    points, others = found.points, [other for other in LEAKS if other != leak]
    pumps = [points[i : i + ENTRIES] for i in range(0, len(points), ENTRIES)]
    lines = [course(each, leak) for each in pumps]
    true = (gaps[ENTRIES - 1] - gaps[0]) / (points[ENTRIES - 1].place - points[0].place)
    fits = [point.leaks[leak] for point in points]
    counts = (
        [f.low - 0.05 * SOUND_GAP <= gap <= f.high for gap, f in zip(gaps, fits, strict=True)],
        [carried(line) and line.slope > 0.0 for line in lines],
        [line is not None and abs(line.slope / true - 1.0) < 0.5 for line in lines],
        [point.leaks[other].explains for point in points for other in others],
        [carried(course(each, other)) for each in pumps for other in others],
    )
    return [leak, *(f"{sum(flags)} of {len(flags)}" for flags in counts)]


def carried(line):
    return line is not None and line.carried


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pumps", type=int, default=30)
    arguments = parser.parse_args()
    bench = Bench(SEED)
    for leak, (gaps, found) in histories_of(bench, arguments.pumps).items():
        print("|", " | ".join(row(leak, gaps, found)), "|", flush=True)


if __name__ == "__main__":
    main()
