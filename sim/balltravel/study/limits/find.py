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
from balltravel.study.travel.trials import Choice, missed, run_trials
from balltravel.sweeps.cases import Case, Progress, in_threads


@dataclass(frozen=True)
class TriedValue:
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

    ``now``: present value [SI]; ``meets_now``: whether the targets hold there; ``upward``: direction of the
    search; ``holds``: the last (or the first) value that meets them, None where nothing in the range changes
    the verdict; ``beyond``: its neighbour of four digits that does not; ``limited_by``: what is missed there;
    ``searched``: end of the search; ``to_the_end``: whether that is where the scenario's rules, the input's
    range or the cage end; ``scatters``: near the limit the verdict changes more than once, or the cycle does
    not repeat itself; ``runs``, ``failed_runs``: how many.
    """

    key: str
    words: str
    unit: str
    now: float
    meets_now: bool
    upward: bool
    holds: TriedValue | None
    beyond: TriedValue | None
    limited_by: tuple[str, ...]
    searched: TriedValue
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
    here: TriedValue
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


def tried_value(item: Input | None, scenario: Scenario, case: Case, settings: tuple[str, ...]) -> TriedValue:
    """What a case says."""
    m = case.metrics
    failed = f"the run failed ({case.status.name.lower()})"
    texts = (failed,) if m is None else tuple(miss.text for miss in missed(scenario, m))
    return TriedValue(
        settings,
        float("nan") if item is None else _present(item, scenario),
        None if m is None else m.fill_fraction,
        None if m is None else m.volumetric_efficiency,
        None if m is None else m.inlet.landing_speed,
        texts,
        is_indication(case.excursions),
        case.status == Status.OK,
        material_model(scenario.material).nominal_viscosity(scenario.material.temperature),
    )


def _present(item: Input, scenario: Scenario) -> float:
    return float(item.present(scenario) if item.present else flat(scenario)[item.key])


def limits_of(base: Base, item: Input) -> list[Limit]:
    """The limits of one input; see walks."""
    return [_limit(base, walked) for walked in walks(base, item)]


def _limit(base: Base, walked: Walk) -> Limit:
    item, crossing = walked.input, walked.crossing

    def run_at(value: float | None) -> TriedValue | None:
        settings = () if value is None else item.settings(base.scenario, value)
        return None if value is None else tried_value(item, *walked.runs[value], settings)

    holds, beyond, searched = run_at(crossing.good), run_at(crossing.bad), run_at(crossing.last)
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


def _fitted_and_best(read: Reader) -> dict[Choice, tuple[tuple[str, ...], tuple[str, ...]]]:
    """Choice -> its names and settings: what is there now, and the best of the shims."""
    scenario = read(())
    trials = run_trials(scenario)
    best = best_of(scenario, trials)
    below = tuple(sorted(scenario.shims.below))
    above = tuple(n for n in range(1, len(scenario.shims.thicknesses) + 1) if n not in below)
    fitted = Choice(below, above, scenario.inlet_travel)
    name = "recommended" if best is not None and not best.unmet else "nearest"
    if best is None:
        return {fitted: (("now",), ())}
    if abs(best.ball_travel - scenario.inlet_travel) <= 1e-9 * scenario.inlet_travel:
        return {fitted: (("now", name), ())}
    chosen = f"shims.below=[{', '.join(map(str, best.shims_below))}]"
    return {fitted: (("now",), ()), best.choice: ((name,), (chosen,))}


def find_limits(
    read: Reader,
    *,
    inputs: Sequence[Input] | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> LimitsReport:
    """Limits of each input by itself, in the arrangement that the scenario has and in the best of its shims,
    and the effect of each input.

    read: the scenario with settings (files.read_write.reader_of_file, or reader_of a scenario). Every value
    reported was run as the text that is reported. A failed run counts as one that does not meet the targets.
    Raises ScenarioError if the scenario itself cannot be.
    """
    lock, inputs = Lock(), INPUTS if inputs is None else inputs
    choices = _fitted_and_best(read)
    bases = [Base(read, settings, lock) for _, settings in choices.values()]
    searches = [
        (number, item)
        for number, base in enumerate(bases)
        for item in inputs
        if item.harder is not None and item.is_active(base.scenario)
    ]
    tasks = [lambda number=number, item=item: limits_of(bases[number], item) for number, item in searches]
    by_base: list[list[Limit]] = [[] for _ in bases]
    for (number, _), limits in zip(searches, in_threads(tasks, len(tasks), workers, progress), strict=True):
        by_base[number] += limits
    arrangements = []
    for base, limits, (choice, (names, settings)) in zip(bases, by_base, choices.items(), strict=True):
        now = tried_value(None, base.scenario, base.case, settings)
        arrangements.append(ArrangementLimits(names, choice, settings, now, tuple(limits)))
    last = bases[-1]
    effects = sensitivities(last.scenario, last.case, last.with_settings, inputs, workers)
    return LimitsReport(tuple(arrangements), effects)
