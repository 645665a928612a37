"""From all arrangements of the shims to one: the order of preference, the reasons, what binds."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from balltravel.accuracy import Band, numerical_band
from balltravel.cautions import PARTICLE_CLEARANCE, seat_gap, warnings_for
from balltravel.core.status import Status
from balltravel.metrics import Metrics
from balltravel.scenario import Scenario, ScenarioError, with_shims_below, with_values
from balltravel.shims import Arrangement, arrangements
from balltravel.suction_losses import SuctionLosses, suction_losses
from balltravel.sweeps import Case, Progress, run_case, run_cases
from balltravel.units import to_text
from balltravel.validity import Excursion, is_indication

EQUAL_DELIVERY = 0.005
"""Deliveries within this share of the swept volume count as equal."""

EQUAL_LANDING = 1.05
"""Landing speeds up to this many times the gentlest count as equal (our choice)."""

PROBE = 1.5
"""How far beyond the longest travel the shims allow one looks, to see whether more would help."""

__all__ = ["Choice", "Recommendation", "Trial", "recommend", "warnings_for"]


@dataclass(frozen=True)
class Choice:
    """Where the shims go (numbers counted from 1) and the ball travel that follows [m]."""

    shims_below: tuple[int, ...]
    shims_above: tuple[int, ...]
    ball_travel: float


@dataclass(frozen=True)
class Trial:
    """An arrangement that was simulated: how that ended, which targets it does not meet, and which closures
    it takes outside their range."""

    shims_below: tuple[int, ...]
    shims_above: tuple[int, ...]
    ball_travel: float
    status: str
    metrics: Metrics | None
    unmet: tuple[str, ...]
    excursions: tuple[Excursion, ...] = ()
    scatter: float = 0.0

    @property
    def is_indication(self) -> bool:
        """Whether closures are outside their range for so long that its numbers are an indication only."""
        return is_indication(self.excursions)

    @property
    def choice(self) -> Choice:
        """Where its shims go."""
        return Choice(self.shims_below, self.shims_above, self.ball_travel)


@dataclass(frozen=True)
class Recommendation:
    """The chosen arrangement, or None where none meets the targets, with all that were tried.

    ``indication``: its numbers rest on closures outside their range; ``band``: its numerical band.
    """

    recommended: Choice | None
    runner_up: Choice | None
    best_available: Choice | None
    arrangements: tuple[Trial, ...]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    indication: bool
    band: Band

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return asdict(self)


def unmet_targets(scenario: Scenario, metrics: Metrics) -> tuple[str, ...]:
    """The targets that a case does not meet, each with its number and the target's."""
    target, found = scenario.target, []
    if metrics.fill_fraction < target.fill_fraction:
        found.append(f"fill {100 * metrics.fill_fraction:.1f} % (target {100 * target.fill_fraction:g} %)")
    fastest = metrics.inlet.landing_speed
    if fastest > target.landing_speed:
        found.append(f"landing {fastest:.2f} m/s (target {target.landing_speed:g} m/s)")
    gap = seat_gap(scenario.inlet_check, scenario.inlet_travel)
    needed = PARTICLE_CLEARANCE * scenario.material.largest_particle
    if gap < needed:
        found.append(f"gap {to_text(gap, 'length')} (three particles: {to_text(needed, 'length')})")
    return tuple(found)


def _try_out(scenario: Scenario, found: Sequence[Arrangement], progress: Progress | None) -> list[Trial]:
    """Simulate every arrangement; one that leaves no travel is listed and not run."""
    possible: list[Arrangement] = []
    scenarios: list[Scenario] = []
    for one in found:
        try:
            scenarios.append(with_shims_below(scenario, one.below))
            possible.append(one)
        except ScenarioError:
            continue
    cases = run_cases(scenarios, progress=progress)
    by_shims = {one.below: (s, case) for one, s, case in zip(possible, scenarios, cases, strict=True)}
    trials = []
    for one in found:
        place = (one.below, one.above, one.travel)
        if one.below not in by_shims:
            trials.append(Trial(*place, "not_possible", None, ("no travel",)))
            continue
        s, case = by_shims[one.below]
        unmet = unmet_targets(s, case.metrics) if case.metrics is not None else ("the run failed",)
        found_outside = (case.excursions, case.scatter)
        trials.append(Trial(*place, case.status.name.lower(), case.metrics, unmet, *found_outside))
    return trials


def _efficiency(trial: Trial) -> float:
    return trial.metrics.volumetric_efficiency if trial.metrics is not None else float("-inf")


def _landing(trial: Trial) -> float:
    return trial.metrics.inlet.landing_speed if trial.metrics is not None else float("inf")


def ranked(trials: Sequence[Trial]) -> list[Trial]:
    """Trials in order of preference: delivery, where what is within 0.5 % of swept of the best counts as
    equal; then the gentler landing, where 5 % count as equal; then the shorter travel. Repeated on the rest:
    the order is total."""
    rest = [trial for trial in trials if trial.metrics is not None]
    order: list[Trial] = []
    while rest:
        best = max(_efficiency(trial) for trial in rest)
        equals = [trial for trial in rest if _efficiency(trial) >= best - EQUAL_DELIVERY]
        gentlest = min(_landing(trial) for trial in equals)
        gentle = [trial for trial in equals if _landing(trial) <= EQUAL_LANDING * gentlest]
        first = min(gentle, key=lambda trial: trial.ball_travel)
        order.append(first)
        rest.remove(first)
    return order


def _spread(trials: Sequence[Trial]) -> float:
    values = [_efficiency(trial) for trial in trials if trial.metrics is not None]
    return max(values) - min(values) if values else 0.0


def _why(chosen: Trial, order: Sequence[Trial], met: bool) -> list[str]:
    """Why this one, against the others that it was compared with: those that meet the targets, if any."""
    best = max(_efficiency(trial) for trial in order)
    equals = [trial for trial in order if _efficiency(trial) >= best - EQUAL_DELIVERY]
    percent = 100.0 * _efficiency(chosen)
    if len(equals) == 1:
        if len(order) == 1:
            only = "meets the targets" if met else "could be simulated"
            return [f"It is the only one that {only}; it delivers {percent:.1f} % of swept."]
        second = 100.0 * max(_efficiency(trial) for trial in order[1:])
        among = "Of those that meet the targets it" if met else "It"
        return [f"{among} delivers most: {percent:.1f} % of swept, the next best {second:.1f} %."]
    return [
        f"{len(equals)} arrangements deliver the same within {100 * EQUAL_DELIVERY:g} % of swept (best "
        f"{100 * best:.1f} %, this one {percent:.1f} %); of these it has the shortest travel "
        f"whose ball lands as gently as any within 5 %, at {to_text(_landing(chosen), 'velocity', 2)}."
    ]


def _what_costs(chosen: Trial) -> str:
    """The largest parts of the loss budget of an arrangement."""
    assert chosen.metrics is not None
    budget = chosen.metrics.loss_budget
    parts = {
        "underfill": budget.underfill,
        "inlet backflow": budget.inlet_backflow,
        "piston-check backflow": budget.piston_backflow,
        "leak": budget.leak,
        "compression and gas": budget.compression_and_gas,
    }
    largest = sorted(parts.items(), key=lambda part: -part[1])[:3]
    shares = ", ".join(f"{name} {100 * part / budget.swept:.1f} %" for name, part in largest)
    return f"What is lost of the swept volume there: {shares}."


def _probe(scenario: Scenario, travel: float) -> Case | None:
    """The same lower with a travel that the shims do not give."""
    try:
        return run_case(with_values(scenario, {"inlet_check.base_travel": travel, "shims.below": ()}))
    except ScenarioError:
        return None


def _beyond(scenario: Scenario, best: Trial, trials: Sequence[Trial]) -> list[str]:
    """Whether the best sits at an end of what the shims allow, and what lies beyond it."""
    travels = [trial.ball_travel for trial in trials if trial.metrics is not None]
    if len(set(travels)) < 2 or min(travels) < best.ball_travel < max(travels):
        return []
    longest = best.ball_travel >= max(travels)
    travel = best.ball_travel * PROBE if longest else best.ball_travel / PROBE
    case = _probe(scenario, travel)
    word = "longest" if longest else "shortest"
    if case is None or case.metrics is None:
        return [f"It is the {word} travel that the shims allow."]
    gain = case.metrics.volumetric_efficiency - _efficiency(best)
    text = (
        f"It is the {word} travel that the shims allow; {to_text(travel, 'length', 3)} would deliver "
        f"{100 * case.metrics.volumetric_efficiency:.1f} % of swept ({100 * gain:+.1f} %)"
    )
    return [text + ("." if abs(gain) > EQUAL_DELIVERY else ", so there is little beyond it.")]


def _limit(losses: SuctionLosses, filled: bool) -> list[str]:
    """Names what takes the suction pressure where there is not enough of it; a static estimate, so it gives
    way to what the simulations say of the fill (``filled``: some arrangement reaches the target)."""
    if not losses.unfilled_by(losses.total):
        return []
    hose, passage, gap, available = (to_text(value, "pressure", 3) for value in losses)
    shares = (
        f"at full piston speed the hose would take {hose}, the inlet check's cage and bore {passage}, "
        f"the gap at its seat {gap}; there are {available}"
    )
    if losses.gap >= max(losses.hose, losses.passage):
        return [f"The gap at the seat, which travel sets, takes the largest share of the suction: {shares}."]
    culprit = "hose" if losses.hose > losses.passage else "cage"
    if losses.unfilled_by(losses.hose, losses.passage):
        if filled:
            late = f"Hose and cage alone would take more suction than there is, most of it the {culprit}"
            return [f"{late}: the chamber fills behind the piston, not with it; {shares}."]
        return [
            f"The {culprit}, not travel, is the limit: none of these travels fills the chamber; {shares}."
        ]
    return [f"The {culprit} takes more of the suction than the gap that travel sets: {shares}."]


def _reasons(scenario: Scenario, trials: Sequence[Trial], order: Sequence[Trial], met: bool) -> list[str]:
    if not order:
        return ["No arrangement could be simulated to the end."]
    best = order[0]
    found: list[str] = []
    if not met:
        found.append(
            "No arrangement of these shims meets the targets; the nearest by delivery misses: "
            + "; ".join(best.unmet)
            + "."
        )
    found += _why(best, order, met)
    found.append(_what_costs(best))
    if _spread(trials) <= EQUAL_DELIVERY:
        found.append(
            "Travel hardly matters here: all arrangements deliver within "
            f"{100 * EQUAL_DELIVERY:g} % of swept; the choice rests on targets and landing alone."
        )
    else:
        found += _beyond(scenario, best, trials)
    needed = scenario.target.fill_fraction
    filled = any(trial.metrics.fill_fraction >= needed for trial in trials if trial.metrics is not None)
    return found + _limit(suction_losses(with_shims_below(scenario, best.shims_below)), filled)


HONESTY = (
    "No open measurements of closing lag against viscosity for free balls are known: the model is verified "
    "against exact cases and component data, not against a pump. Timing the real ball's fall in its real "
    "check in a known oil is a cheap test of the closures (see `balltravel check`)."
)


def recommend(scenario: Scenario, *, progress: Progress | None = None) -> Recommendation:
    """Simulate every arrangement of the shims and choose one.

    Order: meets the targets (fill, landing speed, gap at least three times the largest particle: common
    practice, no source); then delivery, where differences within 0.5 % of swept count as equal; then the
    gentler landing, where 5 % count as equal; then the shorter travel. ``recommended`` is None where none
    meets the targets; ``best_available`` is then the best of the rest. The scenario's own ``shims.below``
    plays no part.
    """
    found = arrangements(scenario.shims.thicknesses, scenario.inlet_check.base_travel)
    trials = _try_out(scenario, found, progress)
    meeting = ranked([trial for trial in trials if not trial.unmet])
    order = meeting or ranked(trials)
    chosen = order[0] if order else None
    warnings: tuple[str, ...] = ()
    band = Band({}, "no run was complete")
    if chosen is not None:
        there, status = with_shims_below(scenario, chosen.shims_below), Status[chosen.status.upper()]
        warnings = warnings_for(there, chosen.metrics, status)
        band = numerical_band(there, Case(status, chosen.metrics, chosen.excursions, chosen.scatter))
    return Recommendation(
        recommended=meeting[0].choice if meeting else None,
        runner_up=order[1].choice if len(order) > 1 else None,
        best_available=None if meeting or chosen is None else chosen.choice,
        arrangements=tuple(trials),
        reasons=tuple(_reasons(scenario, trials, order, bool(meeting))),
        warnings=(*warnings, HONESTY),
        indication=chosen is not None and chosen.is_indication,
        band=band,
    )
