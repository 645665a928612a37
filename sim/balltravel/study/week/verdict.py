"""One arrangement of the shims for the week, over draws of all that is not known."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from balltravel.estimate.suction_losses import feed_excess
from balltravel.files.week import WeekMaterial
from balltravel.scenario.arguments import SEED, draws_checked
from balltravel.scenario.shims import Arrangement
from balltravel.scenario.unknowns import spreads_of
from balltravel.setup.parameters import MAX_CYCLES
from balltravel.study.travel.trials import Choice, possible_travels
from balltravel.study.verdict.choice import Reach, all_equal, chosen
from balltravel.study.verdict.deciding import WhatDecides
from balltravel.study.verdict.draws import FIRST, Draws, draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.recommend import DRAWS
from balltravel.study.verdict.runs import RUN, Runs, run_draws
from balltravel.study.verdict.verdict import (
    counted,
    first_look,
    made,
    next_count,
    of_choice,
    of_deciding,
    only,
    prospects_of,
    reach_of,
)
from balltravel.study.week.deciding import week_decides, week_inputs
from balltravel.study.week.reach import WeekReach, week_reach
from balltravel.study.week.recommend import Week
from balltravel.study.week.recommend import recommend_week as recommend_at_likely
from balltravel.study.week.record import MaterialOutlook, WeekVerdict
from balltravel.sweeps.cases import Progress

Places = NDArray[np.intp]

OF_FLUSH = ("landing", RUN)
"""All that is asked of a flush."""

FLUSH_CYCLES = 8
"""Cycles of a flush that does not repeat, as thin ones seldom do. Of 96 runs of a solvent 86 land within
0.02 m/s of where they do after 30 cycles, and the landings that 5, 50 and 95 of 100 stay below differ by at
most 0.013 m/s; 30 cycles take 3.9 times as long (measured)."""


def recommend_week(
    materials: Sequence[WeekMaterial],
    *,
    draws: int = DRAWS,
    seed: int = 0,
    progress: Progress | None = None,
    workers: int | None = None,
    tell: Callable[[str], object] | None = None,
) -> Week:
    """Simulate every arrangement of the shims with every material on ``draws`` seeded draws of all that is
    not known, and choose one for all.

    ``materials``: one lower with different materials (``balltravel.read_week``), one of them at least no
    flush. ``verdict`` of what comes back says what to choose, how surely, what it is with each material and
    which of them decides; all else is the choice at the likely values alone. In a draw the lower, its drive,
    hoses and site are the same for all materials; what is the material's own is drawn for each by itself.

    Chosen is the one that costs least in the half of the draws where it does worst: in each draw what the
    material gives up that gives up most against its own best arrangement, and avoidable misses.
    ``draws``: a power of two, 32 to 4096, or 0, which draws nothing and leaves ``verdict`` None; twice as
    many are run near a tie. ``progress`` is called with (runs done, runs in all), a search for a cycle rate
    being one; ``workers``: how many threads, all cores by default; ``tell`` gets a sentence after a first
    look. Raises ScenarioError, also for materials that do not share a lower.
    """
    if not draws_checked(draws):
        return recommend_at_likely(materials, progress=progress)
    told = _Told(progress)
    week = recommend_at_likely(materials, progress=told.next())
    looks = _Looks(materials, SEED.checked(seed), workers)
    if not looks.arrangements:
        told.finish()
        return week
    most = draws if looks.anything_drawn else 1
    count, further = 0, min(FIRST, most)
    while further:
        told.expect(max(further, most) * len(looks.arrangements) * len(materials))
        count, reach = further, looks.look(further, told)
        further = next_count(reach, count, most, looks.seed) or 0
        if tell is not None and further == most:
            tell(first_look(reach, looks.choices, count))
    told.finish()
    return replace(week, verdict=_verdict(looks, reach, early=count < most))


class _Told:
    """One progress for the runs at the likely values and those of all looks."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress
        self._done = self._size = self._likely = self._expected = 0

    def expect(self, of_draws: int) -> None:
        """How many runs the draws take in all, as far as is known."""
        self._likely = self._likely or self._size
        self._expected = self._likely + of_draws

    def next(self) -> Progress | None:
        """The progress of the next part by itself."""
        self._done, self._size = self._done + self._size, 0
        return None if self._progress is None else self._tell

    def _tell(self, done: int, size: int) -> None:
        assert self._progress is not None
        self._size = size
        self._progress(self._done + done, max(self._done + size, self._expected))

    def finish(self) -> None:
        """What was expected and is not run is left out."""
        done = self._done + self._size
        if self._progress is not None and self._expected > done:
            self._progress(done, done)


class _Looks:
    """The draws of all materials and their runs, more with each look."""

    def __init__(self, materials: Sequence[WeekMaterial], seed: int, workers: int | None) -> None:
        self.materials, self.seed, self._workers = materials, seed, workers
        self.arrangements: list[Arrangement] = [*possible_travels(materials[0].scenario)]
        self.choices = tuple(Choice(a.below, a.above, a.travel) for a in self.arrangements)
        self._inputs = [inputs_of(m.scenario, spreads_of(m.scenario)) for m in materials]
        self._runs: list[Runs] = []

    @property
    def anything_drawn(self) -> bool:
        """Whether something is not known exactly."""
        return any(inputs.drawn for inputs in self._inputs)

    def look(self, count: int, told: _Told) -> WeekReach:
        """Run so many draws, of which those of the last look are known."""
        known: Sequence[Runs | None] = self._runs or [None] * len(self.materials)
        self._runs = [
            run_draws(
                draw(inputs, count, self.seed, material.name if len(self.materials) > 1 else ""),
                self.arrangements,
                told.next(),
                self._workers,
                known=before,
                max_cycles=FLUSH_CYCLES if material.flush else MAX_CYCLES,
            )
            for material, inputs, before in zip(self.materials, self._inputs, known, strict=True)
        ]
        return self.reach_in(self.places)

    @property
    def count(self) -> int:
        """How many draws there are."""
        return len(self._runs[0])

    @property
    def places(self) -> Places:
        """The draws that count with every material."""
        return reduce(np.intersect1d, [counted(runs.draws) for runs in self._runs])

    @property
    def made(self) -> Places:
        """The draws that make a scenario with every material."""
        return reduce(np.intersect1d, [made(runs.draws) for runs in self._runs])

    @property
    def draws(self) -> dict[str, Draws]:
        """All draws, by material."""
        return {m.name: runs.draws for m, runs in self._pairs}

    def reach_in(self, places: Places) -> WeekReach:
        """What is reached in some draws."""
        reached = {m.name: self._reach(m, runs, places) for m, runs in self._pairs}
        return week_reach(reached, frozenset(m.name for m in self.materials if m.flush))

    @property
    def landings(self) -> dict[str, NDArray[np.float64]]:
        """Landing speeds of the inlet ball [m/s] in those draws, by material: [draw, arrangement]."""
        return {m.name: runs.landing[self.places] for m, runs in self._pairs}

    @property
    def _pairs(self) -> list[tuple[WeekMaterial, Runs]]:
        return [*zip(self.materials, self._runs, strict=True)]

    def _reach(self, material: WeekMaterial, runs: Runs, places: Places) -> Reach:
        reached = reach_of(runs, places)
        if not material.flush:
            return reached
        return Reach(reached.delivered, {n: met for n, met in reached.met.items() if n in OF_FLUSH})


def _verdict(looks: _Looks, reach: WeekReach, early: bool) -> WeekVerdict:
    """All that the runs say."""
    count, choices = len(reach.delivered), looks.choices
    fed = any(feed_excess(m.scenario) > 0.0 for m in looks.materials if not m.flush)
    place = chosen(reach) if count and not fed else None
    equal = count > 0 and all_equal(reach)
    decides = WhatDecides((), (), (), ())
    sound = looks.reach_in(looks.made)
    if place is not None and not equal:
        known = {name: only(draws, looks.made) for name, draws in looks.draws.items()}
        total = float(sound.loss[:, place].mean())
        decides = week_decides(known, sound.loss, choices, total, looks.seed)
    return WeekVerdict(
        **of_choice(reach, sound, choices, place),
        **of_deciding(decides),
        all_equal=equal,
        inputs=week_inputs(looks.draws),
        draws=looks.count,
        refused=count - len(looks.made),
        impossible=looks.count - count,
        seed=looks.seed,
        early=early,
        materials=tuple(_outlook(looks, reach, sound, each, fed) for each in looks.materials) * (count > 0),
    )


def _any(flags: NDArray[np.bool_]) -> float:
    """In which share of draws this is so of some arrangement."""
    return float(flags.any(axis=1).mean()) if len(flags) else 0.0


def _outlook(
    looks: _Looks, reach: WeekReach, sound: WeekReach, material: WeekMaterial, fed: bool
) -> MaterialOutlook:
    """A material by itself, and the others without it."""
    own, others = reach.materials[material.name], reach.without(material.name)

    def named(of: Reach | None) -> Choice | None:
        place = None if of is None or fed else chosen(of)
        return None if place is None else looks.choices[place]

    return MaterialOutlook(
        name=material.name,
        flush=material.flush,
        any_meets=_any(own.meets),
        alone=None if material.flush else named(own),
        without=named(others),
        prospects=prospects_of(own, sound.materials[material.name], looks.choices),
        landings=tuple(map(_levels, looks.landings[material.name].T)),
    )


def _levels(values: NDArray[np.float64]) -> tuple[float, float, float]:
    """Below which 5, 50 and 95 of 100 lie; nan where no run came to an end."""
    known = values[np.isfinite(values)]
    low, middle, high = np.quantile(known, [0.05, 0.5, 0.95]).tolist() if len(known) else (np.nan,) * 3
    return low, middle, high
