"""How far each input may go by itself before a target is missed, or must go until all hold."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from threading import Lock
from typing import Any

from balltravel.core.status import Status
from balltravel.cycle.validity import is_indication
from balltravel.material.model import material_model
from balltravel.scenario.model import Scenario, flat
from balltravel.study.limits.sensitivities import Sensitivities, sensitivities
from balltravel.study.search.inputs import INPUTS, Input
from balltravel.study.search.walk import Base, Reader, Walk, walks
from balltravel.study.travel.recommend import best_of
from balltravel.study.travel.trials import Choice, missed, try_out
from balltravel.sweeps.cases import Case, Progress, in_threads


@dataclass(frozen=True)
class Point:
    """A value as one gives it to --set (every text), and what a run of exactly that gave: fill, delivery (of
    swept), landing speed [m/s] of the inlet ball, targets missed in words, whether closures are so far
    outside their range that it is an indication, whether the cycle repeats itself, and the material's
    viscosity [Pa s] in the lower (as other printouts have it). Numbers are None where the run failed."""

    settings: tuple[str, ...]
    value: float
    fill: float | None
    delivery: float | None
    landing: float | None
    missed: tuple[str, ...]
    indication: bool
    repeats: bool
    viscosity: float


@dataclass(frozen=True)
class Limit:
    """The end of an input that keeps, or makes, all targets hold.

    ``now``: present value [SI]; ``meets_now``: whether the targets hold there; ``upward``: which way was
    looked; ``holds``: the last (or the first) value that meets them, None where nothing in the range changes
    the verdict; ``beyond``: its neighbour of four digits that does not; ``limited_by``: what is missed there;
    ``searched``: how far was looked; ``to_the_end``: as far as the scenario's rules, the input's range or the
    cage go; ``scatters``: near the limit the verdict goes to and fro, or the cycle does not repeat itself;
    ``runs``, ``failed_runs``: how many.
    """

    key: str
    words: str
    unit: str
    now: float
    meets_now: bool
    upward: bool
    holds: Point | None
    beyond: Point | None
    limited_by: tuple[str, ...]
    searched: Point
    to_the_end: bool
    scatters: bool
    runs: int
    failed_runs: int

    @property
    def at_most(self) -> bool:
        """Whether ``holds`` is an upper end."""
        return self.upward == self.meets_now


@dataclass(frozen=True)
class ArrangementLimits:
    """An arrangement of the shims with the limits there: ``names`` are ``now`` and ``recommended`` or
    ``nearest``; ``settings``: how one gets it."""

    names: tuple[str, ...]
    choice: Choice
    settings: tuple[str, ...]
    here: Point
    limits: tuple[Limit, ...]


@dataclass(frozen=True)
class LimitsReport:
    """What else would help: limits of the arrangement that is there and of the best, and which inputs matter
    most in the best (in the one that is there, where none is named)."""

    arrangements: tuple[ArrangementLimits, ...]
    sensitivities: Sensitivities

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return asdict(self)


def point(one: Input | None, scenario: Scenario, case: Case, settings: tuple[str, ...]) -> Point:
    """What a case says."""
    m = case.metrics
    failed = f"the run failed ({case.status.name.lower()})"
    texts = (failed,) if m is None else tuple(miss.text for miss in missed(scenario, m))
    return Point(
        settings,
        float("nan") if one is None else _present(one, scenario),
        None if m is None else m.fill_fraction,
        None if m is None else m.volumetric_efficiency,
        None if m is None else m.inlet.landing_speed,
        texts,
        is_indication(case.excursions),
        case.status == Status.OK,
        material_model(scenario.material).nominal_viscosity(scenario.material.temperature),
    )


def _present(one: Input, scenario: Scenario) -> float:
    return float(one.present(scenario) if one.present else flat(scenario)[one.key])


def limits_of(base: Base, item: Input) -> list[Limit]:
    """The limits of one input; see walks."""
    return [_limit(base, walked) for walked in walks(base, item)]


def _limit(base: Base, walked: Walk) -> Limit:
    item, crossing = walked.input, walked.crossing

    def there(value: float | None) -> Point | None:
        settings = () if value is None else item.settings(base.scenario, value)
        return None if value is None else point(item, *walked.runs[value], settings)

    holds, beyond, searched = there(crossing.good), there(crossing.bad), there(crossing.last)
    assert searched is not None
    return Limit(
        key=item.key,
        words=item.words,
        unit=item.unit,
        now=_present(item, base.scenario),
        meets_now=walked.meets_now,
        upward=walked.upward,
        holds=holds,
        beyond=beyond,
        limited_by=beyond.missed if beyond else (),
        searched=searched,
        to_the_end=walked.to_the_end,
        scatters=crossing.scatters or any(end is not None and not end.repeats for end in (holds, beyond)),
        runs=len(walked.runs),
        failed_runs=sum(case.metrics is None for _, case in walked.runs.values()),
    )


def _sites(read: Reader) -> dict[Choice, tuple[tuple[str, ...], tuple[str, ...]]]:
    """Choice -> its names and settings: what is there now, and the best of the shims."""
    scenario = read(())
    trials = try_out(scenario)
    best = best_of(scenario, trials)
    below = tuple(sorted(scenario.shims.below))
    above = tuple(n for n in range(1, len(scenario.shims.thicknesses) + 1) if n not in below)
    here = Choice(below, above, scenario.inlet_travel)
    word = "recommended" if best is not None and not best.unmet else "nearest"
    if best is None:
        return {here: (("now",), ())}
    if abs(best.ball_travel - scenario.inlet_travel) <= 1e-9 * scenario.inlet_travel:
        return {here: (("now", word), ())}
    chosen = f"shims.below=[{', '.join(map(str, best.shims_below))}]"
    return {here: (("now",), ()), best.choice: ((word,), (chosen,))}


def find_limits(
    read: Reader,
    *,
    inputs: Sequence[Input] | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> LimitsReport:
    """Limits of each input by itself, in the arrangement that the scenario has and in the best of its shims,
    and the effect of each input.

    read: the scenario with settings (files.reader, or reader_of a scenario). Every value told was run as the
    text that is told. A failed run counts as one that does not meet the targets. Raises ScenarioError if the
    scenario itself cannot be.
    """
    lock, inputs = Lock(), INPUTS if inputs is None else inputs
    places = _sites(read)
    bases = [Base(read, settings, lock) for _, settings in places.values()]
    sought = [
        (number, item)
        for number, base in enumerate(bases)
        for item in inputs
        if item.harder is not None and item.plays(base.scenario)
    ]
    tasks = [lambda number=number, item=item: limits_of(bases[number], item) for number, item in sought]
    found = in_threads(tasks, len(tasks), workers, progress)
    arrangements = []
    for number, (choice, (names, settings)) in enumerate(places.items()):
        own = [
            limit for (where, _), some in zip(sought, found, strict=True) if where == number for limit in some
        ]
        here = point(None, bases[number].scenario, bases[number].case, settings)
        arrangements.append(ArrangementLimits(names, choice, settings, here, tuple(own)))
    last = bases[-1]
    matter = sensitivities(last.scenario, last.case, last.given, inputs, workers)
    return LimitsReport(tuple(arrangements), matter)
