"""Why an arrangement of the shims is recommended, or none: sentences from the trials' numbers."""

from collections.abc import Sequence

from balltravel.core.status import Status
from balltravel.estimate.suction_losses import SuctionLosses, feed_excess, suction_losses
from balltravel.scenario.model import Scenario, ScenarioError, with_shims_below, with_values
from balltravel.study.travel.trials import EQUAL_DELIVERY, HEAVIER, NO_DELIVERY, Trial, equals_of
from balltravel.sweeps.cases import Case, run_case
from balltravel.units import to_text, to_texts
from balltravel.units.display import fixed
from balltravel.units.systems import unit_in_use

LEAST_LOSS = 5e-4
"""Losses below this share of swept are not named: they would read 0.0 %."""

SEE_LIMITS = (
    "`balltravel limits FILE` shows what else would help: how far cycle rate, viscosity, temperature, lift "
    "and other inputs may go, each alone, and which inputs matter most."
)

PROBE_RATIO = 1.5
"""How far beyond the longest travel the shims allow one looks, to see whether more would help."""


def reasons(scenario: Scenario, trials: Sequence[Trial], order: Sequence[Trial], met: bool) -> list[str]:
    """Why the first of ``order`` is named: of those that meet the targets (``met``), else of all, the nearest
    first."""
    if not order:
        ends = {trial.status for trial in trials} - {"not_possible"}
        why = " ".join(status.advice for status in Status if status.name.lower() in ends)
        return [f"No arrangement could be simulated to the end. {why}".strip()]
    if feed_excess(scenario) > 0.0:
        return [
            "The feed pressure is above the outlet pressure: material runs through the lower, and ball "
            "travel makes no difference."
        ]
    if order[0].delivery < NO_DELIVERY:
        nothing = f"No arrangement delivers a useful amount (less than {100 * NO_DELIVERY:g} % of swept)."
        return [nothing, *_suction(scenario, order[0], trials), SEE_LIMITS]
    best = order[0]
    only = len(trials) == 1
    sentences = _why_only(best) if only else _why(order) if met else _why_nearest(order)
    if met and not only:
        sentences += _nearly_starving(best, trials) + _better_but_missing(best, trials)
    sentences.append(_losses(best))
    if not only and _spread(trials) <= EQUAL_DELIVERY:
        rest = "; the choice rests on landing and travel alone" if met else ""
        same = f"all arrangements deliver within {100 * EQUAL_DELIVERY:g} % of swept"
        sentences.append(f"Travel hardly matters here: {same}{rest}.")
    else:
        sentences += _beyond(scenario, best, trials)
    return sentences + _suction(scenario, best, trials) + ([] if met else [SEE_LIMITS])


def _suction(scenario: Scenario, best: Trial, trials: Sequence[Trial]) -> list[str]:
    """What takes the suction pressure, unless the ball never lifts or there is pressure to spare."""
    losses = suction_losses(with_shims_below(scenario, best.shims_below))
    assert best.metrics is not None
    if "never_lifts" in best.metrics.inlet.flags or best.metrics.vapour_margin > 0.5 * losses.available:
        return []
    needed = scenario.target.fill_fraction
    filled = any(trial.metrics.fill_fraction >= needed for trial in trials if trial.metrics is not None)
    return _limit(losses, filled)


def _percent(share: float) -> str:
    return f"{round(100.0 * share, 1) + 0.0:.1f} %"


def _heavier(trial: Trial) -> str:
    return "not known" if trial.heavier is None else _percent(trial.heavier)


def _travel(trial: Trial) -> str:
    return to_text(trial.ball_travel, "length")


def _spread(trials: Sequence[Trial]) -> float:
    values = [trial.delivery for trial in trials if trial.metrics is not None]
    return max(values) - min(values) if values else 0.0


def _why_only(trial: Trial) -> list[str]:
    """Where there are no loose shims, there is nothing to choose."""
    targets = f"misses its targets: {'; '.join(trial.unmet)}" if trial.unmet else "meets its targets"
    return [
        f"There is only one arrangement, because there are no loose shims: it {targets}. It delivers "
        f"{_percent(trial.delivery)} of swept."
    ]


def _why(order: Sequence[Trial]) -> list[str]:
    """Why the first, against the others that no target refuses."""
    chosen, equals = order[0], equals_of(order)
    # What misses a default is not refused, but does not meet "the targets" that stand above the table.
    that = "" if any(trial.below_default for trial in order) else " that meet the targets"
    share = _percent(chosen.delivery)
    if len(order) == 1:
        only = that.replace("meet", "meets") or " left"
        return [f"It is the only arrangement{only}; it delivers {share} of swept."]
    more = f"at {100 * (HEAVIER - 1):.0f} % more viscosity"
    if len(equals) == 1:
        second = max(order[1:], key=lambda trial: trial.assured)
        return [
            f"Of the arrangements{that} it delivers most, taking the lower of delivery "
            f"now and {more}: {share} of swept and {_heavier(chosen)}; the next best, {_travel(second)}, "
            f"delivers {_percent(second.delivery)} and {_heavier(second)}."
        ]
    text = (
        f"{len(equals)} arrangements{that} deliver the same within "
        f"{100 * EQUAL_DELIVERY:g} % of swept, taking the lower of delivery now and {more} (here {share} and "
        f"{_heavier(chosen)}); "
    )
    landing = f"{fixed(chosen.landing, 'velocity', 'm/s', 2)} {unit_in_use('m/s')}"
    if chosen.ball_travel <= min(trial.ball_travel for trial in equals):
        return [f"{text}of these it has the shortest travel, and its ball lands gently enough ({landing})."]
    return [f"{text}its ball lands more gently ({landing}) than at any shorter travel of these."]


def _nearly_starving(chosen: Trial, trials: Sequence[Trial]) -> list[str]:
    """A shorter travel that delivers as much now, and was not taken because it would starve next."""
    shorter = [t for t in trials if t.ball_travel < chosen.ball_travel and not t.unmet]
    equal = [t for t in shorter if t.delivery >= chosen.delivery - EQUAL_DELIVERY > t.assured]
    if not equal:
        return []
    candidate = equal[-1]
    return [
        f"{_travel(candidate)} would deliver as much now, {_percent(candidate.delivery)}, but is close to "
        f"starving: {_percent(candidate.assured)} at {100 * (HEAVIER - 1):.0f} % more viscosity."
    ]


def _better_but_missing(chosen: Trial, trials: Sequence[Trial]) -> list[str]:
    """An arrangement that would deliver more and misses a target."""
    most = max(trials, key=lambda trial: trial.delivery)
    if not most.unmet or most.delivery - chosen.delivery <= EQUAL_DELIVERY:
        return []
    missing = "; ".join(most.unmet)
    return [f"{_travel(most)} would deliver more, {_percent(most.delivery)}, but misses: {missing}."]


def _why_nearest(order: Sequence[Trial]) -> list[str]:
    """Why the first is the nearest, where none meets the targets."""
    chosen, most = order[0], max(order, key=lambda trial: trial.delivery)
    missing = "; ".join(chosen.unmet)
    if len(order) == 1:
        return [
            "The only arrangement that could be simulated does not meet the targets: "
            f"{missing}. It delivers {_percent(chosen.delivery)} of swept."
        ]
    text = (
        f"No arrangement of these shims meets the targets; {_travel(chosen)} comes nearest (smallest sum of "
        f"the relative shortfalls): {missing}. It delivers {_percent(chosen.delivery)} of swept"
    )
    if most.delivery - chosen.delivery > EQUAL_DELIVERY:
        return [f"{text}; {_travel(most)} would deliver more, {_percent(most.delivery)}."]
    return [f"{text}."]


def _losses(chosen: Trial) -> str:
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
    named = [(name, part / budget.swept) for name, part in largest if part > LEAST_LOSS * budget.swept]
    shares = ", ".join(f"{name} {_percent(share)}" for name, share in named)
    return f"Losses at {_travel(chosen)}, of swept volume: {shares or 'next to nothing'}."


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
    travel = best.ball_travel * PROBE_RATIO if longest else best.ball_travel / PROBE_RATIO
    case = _probe(scenario, travel)
    word = "longest" if longest else "shortest"
    if case is None or case.metrics is None:
        return [f"It is the {word} travel that the shims allow."]
    gain = case.metrics.volumetric_efficiency - best.delivery
    text = (
        f"It is the {word} travel that the shims allow; {to_text(travel, 'length', 3)} would deliver "
        f"{100 * case.metrics.volumetric_efficiency:.1f} % of swept ({100 * gain:+.1f} %)"
    )
    return [text + ("." if abs(gain) > EQUAL_DELIVERY else ", so going further changes little.")]


def _limit(losses: SuctionLosses, filled: bool) -> list[str]:
    """Names what takes the suction pressure where there is not enough of it; a static estimate, so it gives
    way to what the simulations say of the fill (``filled``: some arrangement reaches the target)."""
    if not losses.unfilled_by(losses.total):
        return []
    hose, passage, gap, available = to_texts(losses, "pressure", 3)
    shares = (
        f"at full piston speed the hose would take {hose}, cage and bore of the inlet check {passage}, "
        f"the gap at its seat {gap}; {available} is available"
    )
    if losses.gap >= max(losses.hose, losses.passage):
        return [f"The gap at the seat, which travel sets, takes the largest share of the suction: {shares}."]
    if losses.starved_by:
        late = "Hose and cage alone would take more suction than is available, most of it the"
        end = "the chamber lags behind the piston as it fills" if filled else "no travel fills the chamber"
        return [f"{late} {losses.starved_by}: {end}; {shares}."]
    culprit = "hose" if losses.hose > losses.passage else "cage"
    return [f"The {culprit} takes more of the suction than the gap that travel sets: {shares}."]
