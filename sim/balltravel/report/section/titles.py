"""What cycles shown together are called: their common title, and each by what tells it apart."""

from collections.abc import Sequence
from typing import NamedTuple

from balltravel.cycle.run import Cycle
from balltravel.report.tables import conditions, travel_set


class Titles(NamedTuple):
    """Of the whole, what holds for all of them, and each one's own lines (none where there is but one)."""

    whole: str
    about: tuple[str, ...]
    each: tuple[tuple[str, ...], ...]

    @property
    def sides(self) -> tuple[str, ...]:
        """What to call each in a word: ``Left``, ``Right``; nothing where there is but one."""
        return ("",) if len(self.each) == 1 else ("Left", "Right")


def titles_of(cycles: Sequence[Cycle], names: Sequence[str] = ()) -> Titles:
    """Titles of cycles side by side; ``names``: for those whose scenarios look the same in words."""
    rows = [
        (cycle.scenario.title, _capital(travel_set(cycle.scenario)), conditions(cycle.scenario))
        for cycle in cycles
    ]
    alike = [len(set(facts)) == 1 for facts in zip(*rows, strict=True)]
    common = [fact for fact, same in zip(rows[0], alike, strict=True) if same]
    each = [tuple(fact for fact, same in zip(row, alike, strict=True) if not same) for row in rows]
    if len(cycles) > 1 and all(alike):
        each = [(name,) for name in names]
    whole = rows[0][0] if alike[0] else "Two lowers on one clock"
    return Titles(whole, tuple(fact for fact in common if fact != whole), tuple(each))


def one_clock(cycles: Sequence[Cycle]) -> str:
    """A sentence on the clock of cycles that do not take equally long; empty where they do."""
    periods = [cycle.motion.period for cycle in cycles]
    if max(periods) - min(periods) <= 1e-6 * max(periods):
        return ""
    rates = " and ".join(f"{60.0 / period:.3g}" for period in periods)
    return (
        f"Cycle rates differ ({rates} cycles/min): both are shown at the same share of their cycle. "
        "The scale of time is that of the first."
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
