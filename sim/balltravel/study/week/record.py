"""The verdict of a week as a record: that of one arrangement for all materials, and what it is with each."""

from dataclasses import dataclass
from typing import Any

from balltravel.study.travel.trials import Choice
from balltravel.study.verdict.record import ALL, Prospect, Verdict


@dataclass(frozen=True)
class MaterialOutlook:
    """A material of the week over all draws.

    ``any_meets``: share of draws in which some arrangement meets its targets; ``alone``: what would be
    named for it alone on the same draws, None for a flush; ``without``: what would be named for the others
    without it, None where nothing else is pumped; ``prospects``: what each arrangement promises with it, in
    the order of travel (of a flush of its landing and its runs alone); ``landings``: landing speeds of the
    inlet ball [m/s] that 5, 50 and 95 of 100 draws stay below, one an arrangement.
    """

    name: str
    flush: bool
    any_meets: float
    alone: Choice | None
    without: Choice | None
    prospects: tuple[Prospect, ...]
    landings: tuple[tuple[float, float, float], ...]

    def promised(self, choice: Choice) -> Prospect:
        """What an arrangement promises with it."""
        return next(prospect for prospect in self.prospects if prospect.choice == choice)


@dataclass(frozen=True)
class WeekVerdict(Verdict):
    """A verdict on one arrangement for all materials.

    What is said of a draw is of all of them. Met: all targets of all materials; avoidable: a miss where
    another arrangement meets every target that any meets. Given up: the most that a material gives up
    against its own best arrangement of the draw; delivery: the least of all; flushes apart, both over swept.
    ``holds``: share of draws in which no other arrangement gives up less by more than ``within``, and no
    miss is avoidable; ``best``: the same within what counts as equal, misses apart. ``chance`` of a prospect
    is by material, ``all`` of them last. Inputs of a material have its name in theirs and before their key.
    ``materials``: each by itself.
    """

    materials: tuple[MaterialOutlook, ...]

    @property
    def decided_by(self) -> tuple[str, ...]:
        """Materials without which another arrangement would be named, the one that is met least first."""
        named = [outlook for outlook in self.materials if outlook.without and outlook.without != self.chosen]
        return tuple(outlook.name for outlook in sorted(named, key=self._met_and_kept))

    def _met_and_kept(self, outlook: MaterialOutlook) -> tuple[float, float]:
        assert self.chosen is not None
        promise = outlook.promised(self.chosen)
        return promise.chance[ALL], -promise.regret_95

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units, as of a verdict, with ``decided_by``."""
        return {**super().as_dict(), "decided_by": list(self.decided_by)}
