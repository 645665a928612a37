"""The box at length: ``python tests/box/soak.py --count 100000``. Prints a table; exit code 1 on a failure.

Every hundredth case is run again at a hundred times tighter tolerance. A case that failed is named by its
number: ``balltravel`` finds it again from seed and number (tests/box/scenarios_at_random.py).
"""

import argparse
import sys
import time
from collections import Counter
from functools import partial
from multiprocessing import Pool
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from box.trial import Outcome, try_out


def one(seed: int, cycles: int, every: int, number: int) -> tuple[Outcome, float]:
    """A case and the processor time it took [s]."""
    began = time.process_time()
    found = try_out(seed, number, cycles, twice=number % every == 0)
    return found, time.process_time() - began


def report(outcomes: list[Outcome], slowest: float) -> bool:
    """Print what came out; whether all is well."""
    statuses = Counter(one.status.lower() for one in outcomes)
    twice = [one for one in outcomes if one.again]
    compared = [one for one in twice if one.status == one.again == "OK"]
    silent = [one for one in outcomes if one.is_silent_difference]
    broken = [one for one in outcomes if not one.finite]
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


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--first", type=int, default=0, help="number of the first case, to go on from")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cycles", type=int, default=30, help="cycles at most")
    parser.add_argument("--every", type=int, default=100, help="one in so many is run twice")
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    numbers = range(given.first, given.first + given.count)
    outcomes, slowest, began = [], 0.0, time.monotonic()
    with Pool(given.workers) as pool:
        work = partial(one, given.seed, given.cycles, given.every)
        for found, seconds in pool.imap_unordered(work, numbers, chunksize=20):
            outcomes.append(found)
            slowest = max(slowest, seconds)
            if len(outcomes) % 1000 == 0:
                rate = len(outcomes) / (time.monotonic() - began)
                print(f"{len(outcomes)} of {given.count}, {rate:.1f} a second", file=sys.stderr, flush=True)
    return 0 if report(outcomes, slowest) else 1


if __name__ == "__main__":
    sys.exit(main())
