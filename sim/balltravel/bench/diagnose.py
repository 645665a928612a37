"""What is wrong with a pump: every cause simulated, held against what was seen."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from balltravel.bench.causes import NONE, TITLES, Cause, causes_of
from balltravel.bench.fit import Fitted, Model, Row, rows_of
from balltravel.bench.next_test import NextTest, Rivals, back, further_reading, other_setting
from balltravel.bench.observed import Observations
from balltravel.bench.read_observed import read_observations
from balltravel.bench.runs import Answers, Runner, answers_of, at_stall, at_work, unknown_changes
from balltravel.bench.signs import BEFORE_THE_TIP, SIGNS
from balltravel.bench.twins import with_twins
from balltravel.estimate.suction_losses import outlet_load
from balltravel.scenario.arguments import refused, scenario_given
from balltravel.scenario.model import Scenario, with_values
from balltravel.sweeps.cases import Batches, Progress

SEEN_EFFECT = 2.0
"""Effect, in standard deviations of all that is not known, below which a cause cannot be told (our choice; of
synthetic faults below it nearly none is named rightly, docs/diagnose.md)."""

MAY_BE_SOUND = 0.03
"""Probability of a sound lower from which on nothing is called a fault (our choice): with a dozen causes some
one fits a sound lower better by chance, and the fault that is missed is one that hardly shows."""

MISFIT = 0.01
"""Chance below which what was seen is taken to be explained by nothing here (our choice)."""

FAULT, SOUND, CANNOT_TELL, UNEXPLAINED = "fault", "sound", "cannot tell", "unexplained"


@dataclass(frozen=True)
class CauseFound:
    """A cause, its probability, the size that fits best (None of none) with what it is, how well it fits
    (chi-square) and its effect, in standard deviations of all that is not known."""

    name: str
    title: str
    probability: float
    size: float | None
    what: str
    dimension: str
    chi_square: float
    effect: float


@dataclass(frozen=True)
class SignSeen:
    """A sign: what was seen, what a sound lower and each cause of the list would show [SI], and how many
    standard deviations of all that is not known seen and sound are apart. Creep in seconds a stroke, without
    end where nothing was seen; ``none_in``: for how long that was watched [s]."""

    key: str
    name: str
    situation: str
    good_day: bool
    seen: float
    sound: float
    expected: dict[str, float]
    off: float
    none_in: float | None = None


@dataclass(frozen=True)
class Diagnosis:
    """What is wrong: the verdict (``fault``, ``sound``, ``cannot tell``, ``unexplained``), causes by
    probability, signs, chi-square of the best fit and the chance of a larger one, causes whose largest size
    moves no sign that was read, the next test, the number of runs, notes, and of a single [[seen]] what was
    set other than in the scenario (dotted key -> SI)."""

    verdict: str
    causes: tuple[CauseFound, ...]
    signs: tuple[SignSeen, ...]
    chi_square: float
    chance: float
    unseen: tuple[str, ...]
    next_test: NextTest | None
    runs: int
    notes: tuple[str, ...]
    changes: Mapping[str, Any] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units."""
        return asdict(self)


def diagnose(
    scenario: Scenario,
    observed: Observations | str | Path,
    *,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Diagnosis:
    """Which cause fits what was seen.

    ``observed``: observations, or the name of their file (docs/diagnose.md). About 80 runs of the pump at
    work for each condition in it, and as many of a stall, on ``workers`` threads (all cores by default);
    ``progress`` is called with (runs done, runs in all). Raises ScenarioError for a file or arguments that
    cannot be, and where the scenario as it stands does not run.
    """
    scenario_given(scenario)
    if not isinstance(observed, Observations):
        observed = read_observations(observed, scenario)
    causes = causes_of(scenario)
    answers, runs = _all_answers(scenario, observed, causes, workers, progress)
    return judged(scenario, observed, causes, answers, runs, at_work(workers, None))


def _all_answers(
    scenario: Scenario,
    observed: Observations,
    causes: Sequence[Cause],
    workers: int | None,
    progress: Progress | None,
) -> tuple[dict[str, Answers], int]:
    """What the runs of each situation say, and how many there are."""
    if progress is not None:  # before the first runs, which take the longest, are done
        each = 1 + sum(len(cause.shares) for cause in causes) + len(unknown_changes(scenario))
        progress(0, each * (len(observed.seen) + 1))
    batches = Batches(progress, len(observed.seen) + 1)
    answers = {}
    for number, condition in enumerate(observed.seen, 1):
        as_set = with_values(scenario, condition.changes)
        answers[f"seen {number}"] = answers_of(as_set, causes, at_work(workers, batches.next()))
    # A stall that nobody tried is simulated too: it may be the next test.
    pressure = observed.stall_pressure or max(outlet_load(scenario), 1e5)
    answers["stall"] = answers_of(scenario, causes, at_stall(pressure, workers, batches.next()))
    batches.finish()
    made = (1 + sum(map(_runs, a.causes.values())) + len(a.unknowns) for a in answers.values())
    return answers, sum(made)


def _runs(values: Mapping[str, Any]) -> int:
    return int(np.isfinite(np.array([*values.values()])).any(axis=0).sum())


def judged(
    scenario: Scenario,
    observed: Observations,
    causes: Sequence[Cause],
    answers: Mapping[str, Answers],
    runs: int = 0,
    run: Runner | None = None,
) -> Diagnosis:
    """The same of runs that are there; ``run``: where one more reading does not separate the first two
    causes, how to run the pump at other settings."""
    simulated = {cause.name: cause for cause in causes}
    causes, answers = with_twins(causes, answers)
    rows, notes = _readable(rows_of(observed, scenario.lower.stroke), answers)
    model = Model(rows, answers)
    fits = model.fits([cause.name for cause in causes])
    unseen = [name for name, fit in fits.items() if name and fit.largest_effect < SEEN_EFFECT]
    for name in unseen:
        del fits[name]
    ranked = _ranked(fits, causes)
    best = min(fit.chi_square for fit in fits.values())
    chance = _chance(best, model.freedom)
    notes += observed.notes
    if observed.ball_fall:
        notes.append("[ball_fall] is not used here: it says how the ball sits in its cage, not what is worn")
    return Diagnosis(
        _verdict(ranked, chance),
        ranked,
        tuple(_sign_seen(model, i, fits, scenario.lower.stroke) for i in range(len(rows))),
        best,
        chance,
        tuple(cause.title for cause in causes if cause.name in unseen),
        _next_test(scenario, observed, model, ranked, fits, simulated, run),
        runs,
        tuple(notes),
        observed.seen[0].changes if len(observed.seen) == 1 else {},
    )


def _readable(rows: Sequence[Row], answers: Mapping[str, Answers]) -> tuple[list[Row], list[str]]:
    """Readings that the scenario can say something of, and notes of the others."""
    kept = [row for row in rows if math.isfinite(answers[row.situation].sound[row.key])]
    if not kept:
        given = "nothing that was seen can be compared: the scenario does not run, or has no such sign"
        raise refused("scenario", given, "one whose simulate ends well", "balltravel simulate FILE")
    left = sorted({row.key for row in rows if row not in kept}, key=lambda key: SIGNS[key].name)
    return kept, [f"{SIGNS[key].name}: not compared, {_why_none(key)}" for key in left]


def _why_none(key: str) -> str:
    if key in BEFORE_THE_TIP:
        return "the scenario's outlet has no tip: give outlet.form and its sizes (docs/scenario.md)"
    return "the scenario has none"


def _ranked(fits: Mapping[str, Fitted], causes: Sequence[Cause]) -> tuple[CauseFound, ...]:
    """All causes by their probability; each is as likely as another before anything is seen."""
    top = max(fit.evidence for fit in fits.values())
    total = sum(math.exp(fit.evidence - top) for fit in fits.values())
    by_name = {cause.name: cause for cause in causes}
    ranked = []
    for name, fit in fits.items():
        probability = math.exp(fit.evidence - top) / total
        if not name:
            ranked.append(
                CauseFound(NONE, TITLES[NONE], probability, None, "", "", fit.chi_square, fit.effect)
            )
            continue
        c, size = by_name[name], by_name[name].size(fit.share)
        fitting = fit.chi_square, fit.effect
        ranked.append(CauseFound(name, c.title, probability, size, c.what, c.dimension, *fitting))
    return tuple(sorted(ranked, key=lambda cause: -cause.probability))


def _chance(chi_square: float, freedom: int) -> float:
    """Chance of a larger chi-square."""
    from scipy.special import chdtrc

    return float(chdtrc(freedom, chi_square))


def _verdict(ranked: Sequence[CauseFound], chance: float) -> str:
    if chance < MISFIT:
        return UNEXPLAINED
    if next(cause.probability for cause in ranked if cause.name == NONE) >= MAY_BE_SOUND:
        return SOUND
    return FAULT if ranked[0].effect >= SEEN_EFFECT else CANNOT_TELL


def _sign_seen(model: Model, i: int, fits: Mapping[str, Fitted], stroke: float) -> SignSeen:
    row, sound = model.rows[i], float(model.sound[i])
    off = row.value - float(model.seen(model.sound)[i])
    return SignSeen(
        row.key,
        SIGNS[row.key].name,
        row.situation,
        row.good,
        math.inf if row.at_most else back(row, row.value, stroke),
        back(row, sound, stroke),
        {name or NONE: back(row, float(fit.expected[i]), stroke) for name, fit in fits.items()},
        float(off / math.sqrt(model.covariance[i, i])),
        row.none_in,
    )


def _next_test(
    scenario: Scenario,
    observed: Observations,
    model: Model,
    ranked: Sequence[CauseFound],
    fits: Mapping[str, Fitted],
    simulated: Mapping[str, Cause],
    run: Runner | None,
) -> NextTest | None:
    """One more reading if that separates the first two causes, else the better of it and another setting."""
    if len(ranked) < 2:
        return None
    first, second = ("" if cause.name == NONE else cause.name for cause in ranked[:2])
    # Other settings differ from that of the first condition, which is where the next reading is taken.
    rivals = Rivals(with_values(scenario, observed.seen[0].changes), model, (first, second), fits)
    reading = further_reading(rivals)
    if run is None or (reading is not None and reading.clear):
        return reading
    setting = other_setting(rivals, simulated, run)
    return max((test for test in (reading, setting) if test), key=lambda test: test.apart, default=None)
