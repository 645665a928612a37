"""What the tests of this folder counted, told at the end of the run and quoted in docs/robustness.md."""

from collections import Counter

COUNTS: Counter[str] = Counter()
SLOWEST: dict[str, tuple[float, str]] = {}


def largest(name: str, size: float, which: str) -> None:
    """Keep the largest value of that name, and what caused it."""
    if size > SLOWEST.get(name, (-1.0, ""))[0]:
        SLOWEST[name] = size, which
