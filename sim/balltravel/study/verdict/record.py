"""The verdict as a record: what is chosen, how surely, what would change it, what is worth measuring."""

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from balltravel.study.travel.trials import Choice

if TYPE_CHECKING:
    from balltravel.study.travel.recommend import Recommendation

Array = NDArray[np.float64]

ALL = "all"
"""The name of all targets that were set, together."""


@dataclass(frozen=True)
class Input:
    """What is not known well: its dotted key, its name in words, where its range is from (empty: given by
    the user) and the values below which 5, 50 and 95 of 100 draws lie [SI]; of a choice its names."""

    key: str
    name: str
    origin: str
    dimension: str
    low: float | str
    middle: float | str
    high: float | str


@dataclass(frozen=True)
class Prospect:
    """What an arrangement promises over all draws.

    ``chance``: target -> share of draws in which it is met, ``all`` of them last; ``chance_error``: standard
    deviation of the last one by the number of draws; delivery over swept that 5, 50 and 95 of 100 draws stay
    below; ``best``: share of draws in which nothing delivers more; ``regret_mean``, ``regret_95``: delivery
    given up against the best arrangement of each draw, over swept; ``avoidable``: share of draws in which it
    misses a target that another meets; ``failed``: share of draws whose run failed; ``worse_half``: what it
    costs on average in the half of the draws where it does worst, over swept (delivery given up, and 0.08
    for each avoidable miss), by which an arrangement is named.
    """

    choice: Choice
    chance: dict[str, float]
    chance_error: float
    delivery_5: float
    delivery_50: float
    delivery_95: float
    best: float
    regret_mean: float
    regret_95: float
    avoidable: float
    failed: float
    worse_half: float


@dataclass(frozen=True)
class Change:
    """An input above which another arrangement is better: where [SI], where it lies in 90 of 100 resamples
    of the draws, both arrangements, and what choosing by it saves on average, over swept. Of a choice of
    names ``names`` are those of ``above`` and the numbers are nan."""

    key: str
    name: str
    dimension: str
    at: float
    low: float
    high: float
    below: Choice
    above: Choice
    saved: float
    names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Deciding:
    """An input on which the choice hangs: what knowing it would save on average, over swept, and what chance
    alone would show in 95 of 100."""

    key: str
    name: str
    saved: float
    noise: float


@dataclass(frozen=True)
class Outcome:
    """A part of what a measurement may say, from low to high [SI], how likely it is, and what to choose
    then. ``names``: of a choice of names those that belong to it."""

    low: float
    high: float
    share: float
    choice: Choice
    names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Measurement:
    """A measurement that would help: what and how in words, the keys that it tells of, the dimension of what
    it says, what it would save on average, over swept, and what chance alone would show, and what the answer
    would be for each outcome. ``rate``: the shear rate [1/s] at which to measure a viscosity; 0: none."""

    what: str
    how: str
    keys: tuple[str, ...]
    dimension: str
    saved: float
    noise: float
    outcomes: tuple[Outcome, ...]
    rate: float = 0.0


@dataclass(frozen=True)
class Verdict:
    """What holds over all that is not known.

    ``chosen``: the arrangement, None where none pumps in any draw; ``holds``: share of draws in which it
    gives up at most ``within`` of swept and misses no target that another meets, with its standard deviation
    ``holds_error``; ``any_meets``: share of draws in which some arrangement meets all targets; ``changes``:
    whether something decides; ``deciding``: inputs whose knowledge would save something, the first one the
    most; ``thresholds``: where another arrangement is better; ``measurements``: what is worth measuring, the
    best first; ``all_equal``: whether the arrangements differ by nothing that counts; ``draws`` that were
    run, of them ``refused`` that the model refused, which count as targets not met, and ``impossible`` ones,
    whose lower cannot be, which are left out of every share; ``seed``; ``early``: whether it stopped since
    all were equal; ``prospects``: one an arrangement, in the order of travel; ``saves_most``: the input whose
    knowledge would save most, be it too little to count, None where that is not clear of chance.
    """

    chosen: Choice | None
    holds: float
    holds_error: float
    within: float
    any_meets: float
    changes: bool
    deciding: tuple[Deciding, ...]
    thresholds: tuple[Change, ...]
    measurements: tuple[Measurement, ...]
    all_equal: bool
    regret_mean: float
    prospects: tuple[Prospect, ...]
    inputs: tuple[Input, ...]
    draws: int
    refused: int
    seed: int
    early: bool
    impossible: int = field(default=0, kw_only=True)
    saves_most: Deciding | None = field(default=None, kw_only=True)

    @property
    def counted(self) -> int:
        """Draws of which its shares are."""
        return self.draws - self.impossible

    @property
    def next_measurement(self) -> Measurement | None:
        """The measurement that is worth most; None where nothing is worth measuring."""
        return self.measurements[0] if self.measurements else None

    @property
    def prospect(self) -> Prospect | None:
        """What the chosen arrangement promises."""
        return None if self.chosen is None else self.promised(self.chosen)

    def promised(self, choice: Choice) -> Prospect | None:
        """What an arrangement promises; None of one that leaves no travel."""
        return next((prospect for prospect in self.prospects if prospect.choice == choice), None)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units: the record, with ``deciding`` as keys
        alone (``worth_knowing`` has them with their numbers) and ``next_measurement``."""
        return {
            **asdict(self),
            "deciding": [known.key for known in self.deciding],
            "worth_knowing": [asdict(known) for known in self.deciding],
            "next_measurement": self.next_measurement and asdict(self.next_measurement),
        }


@dataclass(frozen=True)
class VerdictPoints:
    """The draws themselves, for a map over the two inputs that decide most.

    ``keys``, ``names``, ``dimensions`` of both inputs; ``values``: their values [SI], shape (draws, 2), of a
    choice of names the places in ``choices`` (empty for a number); ``best``: the ball travel that costs least
    [m], shape (draws,), nan where none pumps; ``loss``: what each arrangement costs against the best one of
    the draw, over swept, shape (draws, arrangements in the order of travel).
    """

    keys: tuple[str, str]
    names: tuple[str, str]
    dimensions: tuple[str, str]
    values: Array
    best: Array
    loss: Array
    choices: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())


@dataclass(frozen=True)
class Answer:
    """The single run's recommendation at the likely values, the verdict over all that is not known, and its
    draws; the latter two are None where nothing was drawn, the draws also where fewer than two inputs are
    not known."""

    recommendation: "Recommendation"
    verdict: Verdict | None
    points: VerdictPoints | None = None
