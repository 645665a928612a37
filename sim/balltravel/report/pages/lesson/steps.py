"""The six steps of a lesson: a question each, and the answer that the runs of this lower give."""

from collections.abc import Callable
from typing import NamedTuple

from balltravel.core.events import Event
from balltravel.cycle.metrics import Metrics
from balltravel.cycle.run import Cycle
from balltravel.estimate.suction_losses import suction_losses
from balltravel.report.pages.lesson.words import (
    LIMITS,
    MORE,
    back_of,
    compared_with_best,
    landing_of,
    limit_of,
    material_of,
    percent,
    travel_of,
)
from balltravel.report.tables import bench
from balltravel.scenario.model import with_shims_below
from balltravel.study.lesson.lesson import Lesson, Taught
from balltravel.study.travel.trials import EQUAL_DELIVERY, EQUAL_LANDING, Trial
from balltravel.units import to_text
from balltravel.units.display import fixed
from balltravel.units.systems import unit_in_use

STANDING = 0.0005
"""Speed of the piston [m/s] below which it stands, as 0.000 m/s shows."""

SEEN = 0.001
"""A share of swept below which a difference is none that a class would see (our choice)."""


class Step(NamedTuple):
    """A step: its place among the materials, what it is about, a question, and what holds in this lower."""

    place: int
    about: str
    question: str
    answer: str


def steps_in_words(lesson: Lesson) -> tuple[Step, ...]:
    """The six steps; every number in an answer is of a run of this lesson, and what an answer claims holds in
    them."""
    thin, *_, heavy = (lesson.materials[place] for place in lesson.steps)
    told: tuple[tuple[str, str, Callable[[Taught], str]], ...] = (
        ("Thin", "How much does the travel matter here?", _thin),
        ("Medium", "What does a longer travel cost?", _cost_of_longer),
        ("Heavier", "Why not always take the shortest travel?", _shortest_starves),
        ("Heavy", "Is longer always better in heavy material?", _longest),
        ("Very heavy", "Can heavier material land harder?", lambda taught: _landing(thin, taught)),
        ("Too heavy", "Which travel fills the chamber now?", _too_heavy),
    )
    assert heavy is lesson.materials[lesson.steps[-1]]
    return tuple(
        Step(place, about, question, answer(lesson.materials[place]))
        for place, (about, question, answer) in zip(lesson.steps, told, strict=True)
    )


def _pumped(taught: Taught) -> list[Trial]:
    """The travels that were run to their end, the shortest first."""
    return [trial for trial in taught.trials if trial.metrics is not None]


def _metrics(trial: Trial) -> Metrics:
    assert trial.metrics is not None
    return trial.metrics


def _named(taught: Taught) -> Trial:
    """The best travel, or the one that delivers most where nothing is named."""
    return taught.best or max(_pumped(taught), key=lambda trial: trial.delivery)


def _deliveries(trial: Trial, best: Trial) -> str:
    first, second = percent(trial.delivery), percent(best.delivery)
    return f"{travel_of(trial)} delivers {first} of swept, {travel_of(best)} {second}"


def _thin(taught: Taught) -> str:
    trials = _pumped(taught)
    worst, best = (end(trials, key=lambda trial: trial.delivery) for end in (min, max))
    low, high = percent(worst.delivery), percent(best.delivery)
    if best.delivery - worst.delivery <= EQUAL_DELIVERY:
        span = f"{travel_of(trials[0])} to {travel_of(trials[-1])}"
        back = max(back_of(_metrics(trial)) for trial in trials)
        seats = f"before more than {percent(back)} of swept has flowed back"
        if percent(back) == percent(0.0):
            seats = "in time: next to nothing flows back"
        return (
            f"Hardly at all: at every travel from {span} the lower delivers "
            f"{high if low == high else f'{low} to {high}'} of swept. Material this thin gets past the ball "
            f"at any travel, and the ball seats {seats}."
        )
    return f"It matters even here: {_deliveries(best, worst)}."


def _cost_of_longer(taught: Taught) -> str:
    trials = _pumped(taught)
    short, long = trials[0], trials[-1]
    back, more = back_of(_metrics(short)), back_of(_metrics(long))
    told = (
        f"At {travel_of(long)} {percent(more)} of swept flows back past the ball, at {travel_of(short)} "
        f"{percent(back)}"
    )
    if more - back < SEEN:
        return f"In this lower next to nothing: {told[:1].lower()}{told[1:]}."
    late, later = (_metrics(trial).inlet.ball_lag for trial in (short, long))
    lag = ""
    if later > late:
        now, then = to_text(later, "time", 2), to_text(late, "time", 2)
        lag = f" It seats {now} after the flow turns, instead of {then}."
    return (
        f"{told}. The ball has farther to fall, and until it seats the piston pushes material back past "
        f"it.{lag}"
    )


def _shortest_starves(taught: Taught) -> str:
    short, best = _pumped(taught)[0], _named(taught)
    told = _deliveries(short, best)
    if short.shims_below == best.shims_below:
        still = "In this lower the shortest travel is still the best here"
        return f"{still}: it delivers {percent(best.delivery)} of swept."
    fills = [percent(_metrics(trial).fill_fraction) for trial in (short, best)]
    drawn = f"it draws in {fills[0]} instead of {fills[1]}"
    if best.delivery - short.delivery > EQUAL_DELIVERY:
        empty = _metrics(short).void_volume / _metrics(short).loss_budget.swept
        void = f"; {percent(empty)} is void (cavitation) at the top" if empty >= SEEN else ""
        narrow = "The gap under the ball is too narrow for material this heavy"
        return f"It starves: {told}. {narrow}: {drawn}{void}."
    if best.assured - short.assured > EQUAL_DELIVERY and None not in (short.heavier, best.heavier):
        return (
            f"It is close to starving: now {told}; at {MORE} it is {percent(short.heavier or 0.0)} and "
            f"{percent(best.heavier or 0.0)}. Material thickens as it cools, so leave a reserve."
        )
    return f"In this lower the shortest travel loses nothing here: {told}."


def _longest(taught: Taught) -> str:
    long, best = _pumped(taught)[-1], _named(taught)
    if long.shims_below == best.shims_below:
        return f"Of these shims, yes: the longest travel, {travel_of(long)}, is the best here."
    less = best.delivery - long.delivery
    told = _deliveries(long, best)
    backs = back_of(_metrics(best)), back_of(_metrics(long))
    if less >= SEEN and backs[1] > backs[0]:
        gain = _metrics(long).fill_fraction - _metrics(best).fill_fraction
        fills = "no better" if gain < SEEN else f"{percent(gain)} better"
        return (
            f"No: {told}. The longer travel fills the chamber {fills}, but more flows back: "
            f"{percent(backs[1])} of swept instead of {percent(backs[0])}. The best travel is where starving "
            "ends; beyond it only flowing back grows."
        )
    return f"Not in this lower: {told}. {compared_with_best(long, best)}"


def _landing(thin: Taught, taught: Taught) -> str:
    best = _named(taught)
    light = next(trial for trial in thin.trials if trial.shims_below == best.shims_below)
    if light.metrics is None:
        return f"At {travel_of(best)} the ball lands at {landing_of(_metrics(best))}; the thin run failed."
    a, b = light.metrics, _metrics(best)
    told = (
        f"at {travel_of(best)} the inlet ball lands at {landing_of(a)} in {material_of(thin)} and at "
        f"{landing_of(b)} in {material_of(taught)}"
    )
    if b.inlet.landing_speed <= EQUAL_LANDING * a.inlet.landing_speed:
        return f"In this lower it does not: {told}."
    return f"Yes: {told}.{_why_harder(*(m.cycles.get(best.shims_below) for m in (thin, taught)))}"


def _why_harder(light: Cycle | None, heavy: Cycle | None) -> str:
    """What the piston does meanwhile; empty where that does not explain it."""
    slow, fast = piston_speed_at_seating(light), piston_speed_at_seating(heavy)
    if slow is None or fast is None or fast <= slow:
        return ""
    speed, other = (f"{fixed(v, 'velocity', 'm/s', 3)} {unit_in_use('m/s')}" for v in (fast, slow))
    instead = f"instead of {other}" if slow >= STANDING else "and in the thin one it still stands"
    return (
        f" Heavier material holds the ball up for longer: when it seats, the piston already moves down at "
        f"{speed}, {instead}. The material that flows back drives the ball onto its seat."
    )


def piston_speed_at_seating(cycle: Cycle | None) -> float | None:
    """How fast the piston moves down [m/s] when the inlet ball first seats in the downstroke; None where it
    does not."""
    if cycle is None or cycle.metrics is None:
        return None
    m = cycle.motion
    times = m.event_time[(m.event_kind == Event.SEATED) & (m.event_check == 0)]
    since = (times - m.top_dead_centre) % m.period
    near = since[since < 0.5 * m.period]
    if near.size == 0:
        return None
    at = (m.top_dead_centre + near.min()) % m.period
    row = min(int(m.time.searchsorted(at)), len(m.time) - 1)
    return float(max(-m.piston_speed[row], 0.0))


def _too_heavy(taught: Taught) -> str:
    best = _named(taught)
    fills = percent(_metrics(best).fill_fraction)
    if not taught.limit:
        none = "No material that was tried is too heavy for this lower."
        return f"{travel_of(best)} still fills it: {fills} of swept. {none}"
    limit = limit_of(taught)
    none = f"None: even the best, {travel_of(best)}, draws in only {fills} of swept. {LIMITS[limit]}"
    if limit == "target":
        return none
    if limit == "motor":
        fast = float(taught.cycles[best.shims_below].motion.piston_speed.max())
        speed = f"{fixed(fast, 'velocity', 'm/s', 2)} {unit_in_use('m/s')}"
        return f"{none} It moves at up to {speed}. What helps: thinner or warmer material."
    losses = suction_losses(with_shims_below(taught.scenario, best.shims_below))
    hose, passage, gap, available = (bench(loss, "pressure", 3) for loss in losses)
    helps = {
        "hose": "a wider or shorter hose or a feed",
        "cage": "a wider cage",
        "travel": "a longer travel",
    }[limit]
    return (
        f"{none} At full piston speed the hose would take {hose}, cage and bore of the check {passage}, the "
        f"gap at the seat {gap}; there is {available}. What helps: {helps}, thinner or warmer material, a "
        "lower cycle rate."
    )
