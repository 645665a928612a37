"""How far each input may go by itself before a target is missed, or must go until all hold."""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from threading import Lock
from typing import Any

from balltravel.core.status import Status
from balltravel.cycle.validity import is_indication
from balltravel.material.model import material_model
from balltravel.scenario.model import FIELDS, Scenario, ScenarioError, flat, quantity_of, with_values
from balltravel.study.limits.inputs import INPUTS, Input
from balltravel.study.limits.search import Found, Verdict, search
from balltravel.study.limits.sensitivities import Sensitivities, sensitivities
from balltravel.study.travel.recommend import best_of
from balltravel.study.travel.trials import Choice, missed, try_out
from balltravel.sweeps.cases import Case, Progress, in_threads, run_case
from balltravel.units import to_si

Reader = Callable[[Sequence[str]], Scenario]
"""The scenario with more settings, as --set gives them; raises ScenarioError."""


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
class Arrangement:
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

    arrangements: tuple[Arrangement, ...]
    sensitivities: Sensitivities

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return asdict(self)


def reader_of(scenario: Scenario) -> Reader:
    """A reader for a scenario that did not come from a file."""

    def read(settings: Sequence[str]) -> Scenario:
        changes: dict[str, Any] = {}
        for text in settings:
            key, _, value = text.partition("=")
            quantity = quantity_of(FIELDS[key])
            if quantity is not None:
                changes[key] = to_si(value, quantity.dimension)
            elif key == "shims.below":
                changes[key] = tuple(int(number) for number in value.strip("[]").split(",") if number)
            else:
                changes[key] = value
        return with_values(scenario, changes)

    return read


@dataclass
class Site:
    """One arrangement: reads scenarios with more settings, runs them, and knows what it ran.

    The reader is used by one thread at a time; cases are run by many.
    """

    read: Reader
    settings: tuple[str, ...]
    lock: Lock
    scenario: Scenario = field(init=False)
    case: Case = field(init=False)

    def __post_init__(self) -> None:
        self.scenario = self.read(self.settings)
        self.case = run_case(self.scenario)

    def given(self, settings: Sequence[str]) -> Scenario:
        """The scenario with more settings; raises ScenarioError."""
        with self.lock:
            return self.read((*self.settings, *settings))


def _verdict(scenario: Scenario, case: Case) -> Verdict:
    m, target = case.metrics, scenario.target
    if m is None:
        return Verdict(("run",))
    margins = {"fill": m.fill_fraction - target.fill_fraction}
    if target.delivery:
        margins["delivery"] = m.volumetric_efficiency - target.delivery
    return Verdict(tuple(miss.target for miss in missed(scenario, m)), margins)


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


def limits_of(site: Site, one: Input) -> list[Limit]:
    """The limits of one input: on the harder side where the targets hold, else on the easier one, and on the
    other where that has none; on both sides of an input that is hard at either end."""
    meets = not _verdict(site.scenario, site.case).misses
    if one.harder == 0:
        found = [_limit(site, one, way) for way in (-1, 1)]
        return [limit for limit in found if limit is not None]
    way = int(one.harder or 1) * (1 if meets else -1)
    first = _limit(site, one, way)
    if meets or (first is not None and first.holds is not None):
        return [first] if first is not None else []
    other = _limit(site, one, -way)
    if other is not None and (first is None or other.holds is not None):
        return [other]
    return [first] if first is not None else []


def _limit(site: Site, one: Input, way: int) -> Limit | None:
    """The limit on one side; None where there is no room on it."""
    now = one.now(site.scenario)
    start = one.scale.rounded(now)
    ran: dict[float, tuple[Scenario, Case]] = {}
    if start == now:
        ran[start] = (site.scenario, site.case)

    def judge(value: float) -> Verdict:
        if value not in ran:
            scenario = site.given(one.settings(site.scenario, value))
            ran[value] = (scenario, run_case(scenario))
        return _verdict(*ran[value])

    def allowed(value: float) -> bool:
        try:
            there = site.given(one.settings(site.scenario, value))
        except ScenarioError:
            return False
        return one.fits(there) or not one.fits(site.scenario)

    end = one.ends()[way > 0]
    if not allowed(start) or way * (end - start) <= 0.0:
        return None
    found = search(judge, allowed, one.scale, start, way, end)
    if found.last == start:
        return None
    return _told(site, one, way, found, ran)


def _told(site: Site, one: Input, way: int, found: Found, ran: dict[float, tuple[Scenario, Case]]) -> Limit:
    def there(value: float | None) -> Point | None:
        return None if value is None else point(one, *ran[value], one.settings(site.scenario, value))

    start = next(iter(found.tried))
    holds, beyond = there(found.good), there(found.bad)
    end = one.ends()[way > 0]
    return Limit(
        key=one.key,
        words=one.words,
        unit=one.unit,
        now=_present(one, site.scenario),
        meets_now=found.tried[start].meets,
        upward=way > 0,
        holds=holds,
        beyond=beyond,
        limited_by=beyond.missed if beyond else (),
        searched=point(one, *ran[found.last], one.settings(site.scenario, found.last)),
        to_the_end=found.refused or found.last == end,
        scatters=found.scatters or any(one is not None and not one.repeats for one in (holds, beyond)),
        runs=len(ran),
        failed_runs=sum(case.metrics is None for _, case in ran.values()),
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
    sites = [Site(read, settings, lock) for _, settings in places.values()]
    sought = [
        (number, one)
        for number, site in enumerate(sites)
        for one in inputs
        if one.harder is not None and one.plays(site.scenario)
    ]
    tasks = [lambda number=number, one=one: limits_of(sites[number], one) for number, one in sought]
    found = in_threads(tasks, len(tasks), workers, progress)
    arrangements = []
    for number, (choice, (names, settings)) in enumerate(places.items()):
        own = [
            limit for (where, _), some in zip(sought, found, strict=True) if where == number for limit in some
        ]
        here = point(None, sites[number].scenario, sites[number].case, settings)
        arrangements.append(Arrangement(names, choice, settings, here, tuple(own)))
    last = sites[-1]
    matter = sensitivities(last.scenario, last.case, last.given, inputs, workers)
    return LimitsReport(tuple(arrangements), matter)
