"""The runs of a lesson: every travel in materials from thin to too heavy, and the best in each."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

from balltravel.cycle.run import Cycle, run_cycle
from balltravel.material.model import material_model
from balltravel.scenario.arguments import progress_given, refused, scenario_given
from balltravel.scenario.model import Scenario, flat, with_shims_below, with_value
from balltravel.scenario.shims import Arrangement
from balltravel.study.lesson.materials import (
    CLOSER,
    SCANNED,
    key_of,
    look_over,
    reach_of,
    steps_of,
    values_between,
)
from balltravel.study.travel.recommend import best_of
from balltravel.study.travel.reservations import limit_beyond_travel
from balltravel.study.travel.trials import Trial, possible_travels, run_trials
from balltravel.sweeps.cases import Progress, in_threads

MOST_TRAVELS = 40
"""Travels of the shims up to which all are tried in every material."""

MOST_SHOWN = 12
"""Travels that a class chooses from; of more, the best ones and others evenly spread."""

MOST_LOOKED = 8


@dataclass(frozen=True)
class Taught:
    """A material of a lesson: the value of the key that makes it, its viscosity [Pa s], the scenario, every
    travel tried, the cycles of the travels that are shown by the shims below the cage, the best travel as
    ``recommend --exactly`` names it (None where nothing is pumped), and, where no travel fills the chamber,
    what limits it: ``hose``, ``cage`` or ``travel``, else empty."""

    value: float
    viscosity: float
    scenario: Scenario
    trials: tuple[Trial, ...]
    cycles: Mapping[tuple[int, ...], Cycle]
    best: Trial | None
    limit: str

    def trial(self, below: tuple[int, ...]) -> Trial:
        """What came of an arrangement."""
        return next(trial for trial in self.trials if trial.shims_below == below)


@dataclass(frozen=True)
class Lesson:
    """A lower in materials from thin to too heavy. ``key``: what makes them; ``travels``: the arrangements
    that are shown, by rising travel; ``all_travels``: how many there are; ``steps``: places of the six steps
    among ``materials``; ``own``: the place of the scenario's own material."""

    scenario: Scenario
    key: str
    travels: tuple[Arrangement, ...]
    all_travels: int
    materials: tuple[Taught, ...]
    steps: tuple[int, ...]
    own: int

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units: every run, without its trajectory."""
        return {
            "key": self.key,
            "travels": [asdict(arrangement) for arrangement in self.travels],
            "steps": list(self.steps),
            "own": self.own,
            "materials": [
                {
                    "value": material.value,
                    "viscosity": material.viscosity,
                    "limit": material.limit,
                    "best": None if material.best is None else asdict(material.best.choice),
                    "arrangements": [asdict(material.trial(a.below)) for a in self.travels],
                }
                for material in self.materials
            ],
        }


def lesson_of(scenario: Scenario, progress: Progress | None = None) -> Lesson:
    """Run a lesson. ``progress`` is called with (runs done, runs in all). Raises ScenarioError for what is no
    scenario, for a lower with one travel or with more than can be shown, and where too few could be run."""
    scenario_given(scenario)
    progress_given(progress)
    travels = tuple(possible_travels(scenario))
    if not 2 <= len(travels) <= MOST_TRAVELS:
        raise refused(
            "lesson", f"{len(travels)} ball {'travel' if len(travels) == 1 else 'travels'} of these shims",
            f"2 to {MOST_TRAVELS}", 'thicknesses = ["1 mm", "2 mm", "4 mm"]',
        )  # fmt: skip
    looked = _spread(travels, MOST_LOOKED)
    before = (SCANNED + CLOSER) * len(looked)
    look = look_over(scenario, looked, _part_of(progress, 0, 4 * before))
    reach = reach_of(look, scenario.target.fill_fraction)
    key = key_of(scenario)
    own = flat(scenario)[key]
    values = values_between(reach, own, scenario.drive.profile == "motor")
    whole = before + len(values) * (2 * len(travels) + min(len(travels), MOST_SHOWN))
    taught: list[Taught] = []
    for value in values:
        taught.append(_tried(with_value(scenario, key, value), value, _part_of(progress, before, whole)))
        before += 2 * len(travels)
    shown = _shown(travels, taught)
    materials = _with_cycles(taught, shown, _part_of(progress, before, whole))
    best = [material.best.ball_travel if material.best else 0.0 for material in taught]
    fills = [not material.limit for material in taught]
    steps = steps_of(values, best, fills, reach, own)
    return Lesson(scenario, key, shown, len(travels), materials, steps, values.index(own))


def _part_of(progress: Progress | None, before: int, whole: int) -> Progress | None:
    """The progress of a batch, ``before`` runs of ``whole`` having been done."""
    if progress is None:
        return None
    tell = progress
    return lambda done, _: tell(before + done, whole)


def _tried(scenario: Scenario, value: float, progress: Progress | None) -> Taught:
    """Every travel in one material, without the cycles."""
    trials = tuple(trial for trial in run_trials(scenario, progress) if trial.status != "not_possible")
    best = best_of(scenario, trials)
    limit = ""
    if best is not None:
        at = with_shims_below(scenario, best.shims_below)
        limit = limit_beyond_travel(at, trials)
    viscosity = material_model(scenario.material).nominal_viscosity(scenario.material.temperature)
    return Taught(value, viscosity, scenario, trials, {}, best, limit)


def _spread(travels: Sequence[Arrangement], most: int) -> tuple[Arrangement, ...]:
    """At most so many travels, evenly spread, both ends among them."""
    if len(travels) <= most:
        return tuple(travels)
    return tuple(travels[round(i * (len(travels) - 1) / (most - 1))] for i in range(most))


def _shown(travels: Sequence[Arrangement], taught: Sequence[Taught]) -> tuple[Arrangement, ...]:
    """The travels that a class chooses from: every best one, and others between."""
    best = {material.best.shims_below for material in taught if material.best is not None}
    chosen = [arrangement for arrangement in travels if arrangement.below in best]
    rest = [arrangement for arrangement in travels if arrangement.below not in best]
    room = max(MOST_SHOWN - len(chosen), 2)
    return tuple(sorted([*chosen, *_spread(rest, room)], key=lambda arrangement: arrangement.travel))


def _with_cycles(
    taught: Sequence[Taught], shown: Sequence[Arrangement], progress: Progress | None
) -> tuple[Taught, ...]:
    """The same with the cycles of the travels that are shown."""
    places = [(material, arrangement) for material in taught for arrangement in shown]
    tasks = (partial(run_cycle, with_shims_below(m.scenario, a.below)) for m, a in places)
    cycles = in_threads(tasks, len(places), progress=progress)
    by_material: dict[float, dict[tuple[int, ...], Cycle]] = {material.value: {} for material in taught}
    for (material, arrangement), cycle in zip(places, cycles, strict=True):
        by_material[material.value][arrangement.below] = cycle
    return tuple(
        Taught(m.value, m.viscosity, m.scenario, m.trials, by_material[m.value], m.best, m.limit)
        for m in taught
    )
