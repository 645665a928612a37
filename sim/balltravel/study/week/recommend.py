"""One arrangement of the shims for several materials: the worst case over them, and what each gives up."""

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from itertools import count
from typing import TYPE_CHECKING, Any

from balltravel.core.status import Status
from balltravel.estimate.cautions import warnings_for
from balltravel.estimate.suction_losses import feed_excess
from balltravel.files.week import DIFFERS, WeekMaterial
from balltravel.scenario.arguments import progress_given, refused
from balltravel.scenario.model import Scenario, with_shims_below
from balltravel.study.travel.port_compliance import port_caution, port_tries
from balltravel.study.travel.reservations import default_missed
from balltravel.study.travel.trials import (
    EQUAL_SHORTFALL,
    NO_DELIVERY,
    Choice,
    TargetCheck,
    Trial,
    by_nearness,
    landing_missed,
    missed,
    possible_travels,
    ranked,
    run_trials,
)
from balltravel.study.week.rate_limit import RateLimit, largest_rate
from balltravel.sweeps.cases import Progress, in_threads
from balltravel.units import kind_of, shown
from balltravel.units.spread import Spread

if TYPE_CHECKING:
    from balltravel.study.week.record import WeekVerdict

__all__ = ["MaterialMiss", "MaterialResult", "Week", "WorstCase", "recommend_week"]


@dataclass(frozen=True)
class MaterialMiss:
    """A target that one material misses, in words."""

    material: str
    text: str


@dataclass(frozen=True)
class WorstCase:
    """One arrangement over all materials: the least delivery (over swept, flushes apart) and the material
    that has it; the most that a material gives up against its own best arrangement, and which; the fastest
    landing [m/s] over its target, flushes included, and in which; what is missed, material by material.

    ``shortfall``: the sum over the materials of what is missing of each target, over the target, failed runs
    apart; ``failed``: materials whose run failed. Numbers are None where no run was complete.
    """

    shims_below: tuple[int, ...]
    shims_above: tuple[int, ...]
    ball_travel: float
    least_delivery: float | None
    least_in: str | None
    gives_up: float | None
    gives_up_in: str | None
    highest_landing: float | None
    landing_over_target: float | None
    landing_in: str | None
    unmet: tuple[MaterialMiss, ...]
    shortfall: float
    failed: tuple[str, ...]

    @property
    def choice(self) -> Choice:
        """Where its shims go."""
        return Choice(self.shims_below, self.shims_above, self.ball_travel)

    @property
    def complete(self) -> bool:
        """Whether it was simulated to the end with every material."""
        return not self.failed

    @property
    def assured(self) -> float:
        """What the worst case keeps of its own best: 0 where nothing is given up, else less."""
        return 0.0 if self.gives_up is None else -self.gives_up

    @property
    def landing(self) -> float:
        """The fastest landing over its target."""
        return self.landing_over_target or 0.0


@dataclass(frozen=True)
class MaterialResult:
    """One material: its own best arrangement and whether that meets its targets (None for a flush, of which
    only the landing is asked), all its trials, and its result in the chosen arrangement: its trial there,
    what it gives up (over swept), its largest cycle rate there and its warnings."""

    name: str
    flush: bool
    own_best: Choice | None
    own_meets: bool | None
    arrangements: tuple[Trial, ...]
    there: Trial | None = None
    gives_up: float | None = None
    rate: RateLimit | None = None
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Week:
    """The chosen arrangement for all materials, or None where none meets the targets in all of them.

    ``indication``: names of materials whose numbers in the chosen arrangement rest on closures outside their
    range. ``spare``: materials without which an arrangement would meet the targets of all others;
    ``verdict``: what holds over all that is not known, None where nothing was drawn.
    """

    recommended: Choice | None
    runner_up: Choice | None
    best_available: Choice | None
    materials: tuple[MaterialResult, ...]
    arrangements: tuple[WorstCase, ...]
    indication: tuple[str, ...]
    spare: tuple[str, ...] = ()
    verdict: "WeekVerdict | None" = None

    @property
    def chosen(self) -> Choice | None:
        """The arrangement that is recommended, or else the nearest."""
        return self.recommended or self.best_available

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units; with a verdict it is there too."""
        values = asdict(replace(self, verdict=None))
        del values["verdict"]
        return values if self.verdict is None else {**values, "verdict": self.verdict.as_dict()}


def recommend_week(materials: Sequence[WeekMaterial], *, progress: Progress | None = None) -> Week:
    """Simulate every arrangement of the shims with every material at its likely values and choose one for
    all.

    ``materials``: one lower with different materials (``balltravel.read_week``), one of them at least no
    flush. Order: meets the targets in all materials; then the least that any material but the flushes gives
    up, where 0.5 % of swept counts as equal; then the gentler landing over its target, the fastest of all
    materials, where 5 % count as equal and so does all below half; then the shorter travel: the order of
    ``recommend``, which it is with one material. What a material gives up is what it is sure of (the lesser
    delivery at its viscosity and at 20 % more) in the arrangement that ``recommend`` names for it alone, less
    that here; it may be negative by what counts as equal. Raises ScenarioError for materials that do not
    share a lower. ``progress`` is called with (runs done, runs in all), a search for a cycle rate being one.
    """
    _check_one_lower(materials)
    step = _counter(materials, progress)
    results = [_trials_of(material, step) for material in materials]
    rows = tuple(_worst_case(materials, results, i) for i in range(len(results[0].arrangements)))
    meeting = ranked([row for row in rows if not row.unmet], 1.0)
    pumping = _pumping(materials, meeting or _by_nearness(rows))
    first = pumping[0] if pumping else None
    if first is not None:
        results = _in_arrangement(materials, results, rows.index(first), step)
    elif progress is not None:
        done = runs_of(materials)  # the searches for a cycle rate fall away
        progress(done, done)
    return Week(
        recommended=meeting[0].choice if meeting else None,
        runner_up=pumping[1].choice if len(pumping) > 1 else None,
        best_available=first.choice if first is not None and not meeting else None,
        materials=tuple(results),
        arrangements=rows,
        indication=tuple(
            result.name for result in results if result.there is not None and result.there.is_indication
        ),
        spare=() if meeting else _spare(materials, rows),
    )


def check_of(material: WeekMaterial) -> TargetCheck:
    """What is asked of a material: of a flush the landing alone."""
    return landing_missed if material.flush else missed


def _check_one_lower(materials: Sequence[WeekMaterial]) -> None:
    """Raise ScenarioError unless all materials share a lower, have a name each, and one is no flush."""
    given, example = None, 'balltravel.read_week("scenarios/week_of_a_coater.toml")'
    if not isinstance(materials, list | tuple):
        given = f"{shown(materials)} given" if isinstance(materials, str) else kind_of(materials)
    elif not all(isinstance(material, WeekMaterial) for material in materials):
        given = kind_of(next(item for item in materials if not isinstance(item, WeekMaterial)))
    if given:
        raise refused("materials", given, "a list of WeekMaterial, as balltravel.read_week makes it", example)
    names = [material.name for material in materials]
    if all(material.flush for material in materials):
        raise refused("materials", "no material but flushes", "one at least that is pumped", example)
    if len(set(names)) < len(names):
        raise refused("materials", f"names {names}", "each once", example)
    first = materials[0].scenario
    for material in materials[1:]:
        scenario = material.scenario
        same = {key: value for key, value in scenario if key not in (*DIFFERS, "title", "shims", "ranges")}
        other = [key for key, value in same.items() if value != getattr(first, key)]
        if _ranges_of_lower(scenario) != _ranges_of_lower(first):
            other.append("range")
        if other or scenario.shims.thicknesses != first.shims.thicknesses:
            difference = f"another {', '.join(other) or 'set of shims'}"
            raise refused(material.name, difference, "one lower", example)


def _ranges_of_lower(scenario: Scenario) -> dict[str, Spread]:
    """Stated ranges of what is the same all week."""
    return {key: spread for key, spread in scenario.ranges.items() if key.split(".")[0] not in DIFFERS}


def _counter(materials: Sequence[WeekMaterial], progress: Progress | None) -> Callable[[], None]:
    """Counts one more run as done."""
    progress_given(progress)
    if progress is None:
        return lambda: None
    done, total = count(1), runs_of(materials) + len(materials)
    return lambda: progress(next(done), total)


def runs_of(materials: Sequence[WeekMaterial]) -> int:
    """Runs of all arrangements with all materials."""
    travels = len(possible_travels(materials[0].scenario))
    return sum(travels * (1 if material.flush else 2) for material in materials)


def _trials_of(material: WeekMaterial, step: Callable[[], None]) -> MaterialResult:
    """All arrangements with one material, and the one that it would have for itself."""
    trials = run_trials(
        material.scenario, lambda _done, _total: step(), check_of(material), heavier=not material.flush
    )
    if material.flush:
        return MaterialResult(material.name, True, None, None, tuple(trials))
    meeting = ranked([trial for trial in trials if not trial.unmet], material.scenario.target.landing_speed)
    order = meeting or by_nearness(trials)
    best = order[0].choice if order else None
    return MaterialResult(material.name, False, best, bool(meeting), tuple(trials))


def best_trial(result: MaterialResult) -> Trial | None:
    """A material's trial in the arrangement that it would have for itself."""
    return next((trial for trial in result.arrangements if trial.choice == result.own_best), None)


def _gives_up(result: MaterialResult, i: int) -> float | None:
    """What a material is sure of in its own best arrangement less that in the i-th; None without a run."""
    best, trial = best_trial(result), result.arrangements[i]
    return best.assured - trial.assured if best is not None and trial.complete else None


def _worst_case(materials: Sequence[WeekMaterial], results: Sequence[MaterialResult], i: int) -> WorstCase:
    """The i-th arrangement over all materials."""
    arrangement = results[0].arrangements[i]
    pairs = zip(materials, results, strict=True)
    complete = [(material, result) for material, result in pairs if result.arrangements[i].complete]
    pumped = [result for _, result in complete if not result.flush]
    least = min(pumped, key=lambda result: result.arrangements[i].delivery, default=None)
    given_up = {result.name: lost for result in pumped if (lost := _gives_up(result, i)) is not None}
    worst = max(given_up, key=lambda name: given_up[name], default=None)
    landings = {result.name: result.arrangements[i].landing for _, result in complete}
    ratios = {
        result.name: landings[result.name] / material.scenario.target.landing_speed
        for material, result in complete
    }
    hardest = max(ratios, key=lambda name: ratios[name], default=None)
    shortfalls = [result.arrangements[i].shortfall for result in results]
    return WorstCase(
        *(arrangement.shims_below, arrangement.shims_above, arrangement.ball_travel),
        least_delivery=least.arrangements[i].delivery if least else None,
        least_in=least.name if least else None,
        gives_up=given_up[worst] if worst else None,
        gives_up_in=worst,
        highest_landing=landings[hardest] if hardest else None,
        landing_over_target=ratios[hardest] if hardest else None,
        landing_in=hardest,
        unmet=tuple(
            MaterialMiss(result.name, text) for result in results for text in result.arrangements[i].unmet
        ),
        shortfall=math.fsum(short for short in shortfalls if math.isfinite(short)),
        failed=tuple(result.name for result in results if not result.arrangements[i].complete),
    )


def _by_nearness(rows: Sequence[WorstCase]) -> list[WorstCase]:
    """Arrangements that miss a target, the nearest first: fewest failed runs; then the least shortfall in
    sum; then what gives up least; then the shorter travel."""

    def key(row: WorstCase) -> tuple[int, int, float, float]:
        steps = round(math.log1p(row.shortfall) / EQUAL_SHORTFALL)
        return len(row.failed), steps, -row.assured, row.ball_travel

    return sorted(rows, key=key)


def _pumping(materials: Sequence[WeekMaterial], order: Sequence[WorstCase]) -> list[WorstCase]:
    """Those in which every material but the flushes was run to the end and delivers something; none where
    one runs through by itself."""
    pumped = [material for material in materials if not material.flush]
    if any(feed_excess(material.scenario) > 0.0 for material in pumped):
        return []
    names = {material.name for material in pumped}
    return [
        row for row in order if not names & set(row.failed) and (row.least_delivery or 0.0) >= NO_DELIVERY
    ]


def _spare(materials: Sequence[WeekMaterial], rows: Sequence[WorstCase]) -> tuple[str, ...]:
    """Materials without which an arrangement would meet the targets of all others, if there are others."""
    blamed = [{miss.material for miss in row.unmet} for row in rows]
    return tuple(material.name for material in materials if len(materials) > 1 and {material.name} in blamed)


def _in_arrangement(
    materials: Sequence[WeekMaterial], results: Sequence[MaterialResult], i: int, step: Callable[[], None]
) -> list[MaterialResult]:
    """Each material in the i-th arrangement, its largest cycle rate there among it."""
    below = results[0].arrangements[i].shims_below

    def evaluate(pair: tuple[WeekMaterial, MaterialResult]) -> MaterialResult:
        material, result = pair
        scenario, trial = with_shims_below(material.scenario, below), result.arrangements[i]
        status = Status[trial.status.upper()]
        evaluated = MaterialResult(
            *(result.name, result.flush, result.own_best, result.own_meets, result.arrangements),
            there=trial,
            gives_up=None if result.flush else _gives_up(result, i),
            rate=largest_rate(scenario, check_of(material)),
            warnings=(
                *default_missed(trial),
                *warnings_for(scenario, trial.metrics, status),
                *port_caution(scenario, port_tries(scenario, trial.metrics)),
            ),
        )
        step()
        return evaluated

    pairs = list(zip(materials, results, strict=True))
    return in_threads([partial(evaluate, pair) for pair in pairs], len(pairs))
