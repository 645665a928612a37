"""The box at length: ``python tests/box/soak.py --count 100000 --journal box.csv``.

Prints a table; exit code 1 on a failure.

Every hundredth case is run again at a hundred times tighter tolerance. A case that failed is named by its
number: ``balltravel`` finds it again from seed and number (tests/box/scenarios_at_random.py). Outcomes are
added to the journal as they come; the same command goes on from there.
"""

import argparse
import csv
import sys
import time
from collections import Counter
from collections.abc import Iterator
from functools import partial
from multiprocessing import Pool
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from box.trial import Outcome, try_out

from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS

Timed = tuple[Outcome, float]


def one(seed: int, cycles: int, steps: int, every: int, number: int) -> Timed:
    """A case and the processor time it took [s]."""
    began = time.process_time()
    found = try_out(seed, number, cycles, steps, twice=number % every == 0)
    return found, time.process_time() - began


def journal_row(found: Outcome, seconds: float) -> list[object]:
    return [*found._replace(finite=int(found.finite)), round(seconds, 4)]


def read_journal(path: Path) -> Iterator[Timed]:
    """Outcomes of an earlier run; a last line that was cut off by a kill counts as not there."""
    if not path.exists():
        return
    whole = path.read_text()
    path.write_text(whole[: whole.rfind("\n") + 1])
    for number, status, finite, again, difference, seconds in csv.reader(path.read_text().splitlines()):
        yield Outcome(int(number), status, finite == "1", again, float(difference)), float(seconds)


def report(outcomes: list[Outcome], slowest: float) -> bool:
    """Print what came out; whether all is well."""
    statuses = Counter(one.status.lower() for one in outcomes)
    twice = [one for one in outcomes if one.again]
    compared = [one for one in twice if one.status == one.again == "OK"]
    silent = [one for one in outcomes if one.is_silent_difference]
    broken = [one for one in outcomes if not one.finite]
    print(f"cases: {len(outcomes)}")
    for status, count in statuses.most_common():
        print(f"{status}: {count} ({100 * count / len(outcomes):.2f} %)")
    print(f"not finite: {len(broken)} {[one.number for one in broken[:20]]}")
    worst = max((one.difference for one in compared), default=0.0)
    print(f"run again: {len(twice)}, both ok: {len(compared)}, largest difference {worst:.1e}")
    pairs = Counter((one.status.lower(), one.again.lower()) for one in twice)
    for pair, count in pairs.most_common():
        print(f"  {pair[0]} -> {pair[1]}: {count}")
    print(f"silent differences: {len(silent)} {[(one.number, one.difference) for one in silent]}")
    print(f"slowest case: {slowest:.1f} s of processor time")
    return not broken and not silent


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--first", type=int, default=0, help="number of the first case")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cycles", type=int, default=MAX_CYCLES, help="cycles at most")
    parser.add_argument("--steps", type=int, default=MOST_STEPS, help="steps of a cycle at most")
    parser.add_argument("--every", type=int, default=100, help="one in so many is run twice")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--journal", type=Path, default=Path("box.csv"), help="where outcomes are kept")
    return parser.parse_args()


def main() -> int:
    given = arguments()
    timed = list(read_journal(given.journal))
    done = {found.number for found, _ in timed}
    numbers = [i for i in range(given.first, given.first + given.count) if i not in done]
    began = time.monotonic()
    work = partial(one, given.seed, given.cycles, given.steps, given.every)
    with Pool(given.workers) as pool, given.journal.open("a", buffering=1, newline="") as kept:
        journal = csv.writer(kept)
        for count, (found, seconds) in enumerate(pool.imap_unordered(work, numbers, chunksize=20), 1):
            journal.writerow(journal_row(found, seconds))
            timed.append((found, seconds))
            if count % 1000 == 0:
                rate = count / (time.monotonic() - began)
                print(f"{count} of {len(numbers)}, {rate:.1f} a second", file=sys.stderr, flush=True)
    slowest = max(seconds for _, seconds in timed)
    return 0 if report([found for found, _ in timed], slowest) else 1


if __name__ == "__main__":
    sys.exit(main())
