"""The verdict over all that is not known: runs in steps, the choice, and how sure it is."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.estimate.suction_losses import feed_excess
from balltravel.scenario.model import Scenario
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.travel.recommend import recommend
from balltravel.study.travel.trials import Choice, possible_travels
from balltravel.study.verdict.choice import WITHIN, WORSE, Reach, all_equal, chosen, in_the_worst, regret_95
from balltravel.study.verdict.deciding import Candidate, WhatDecides, what_decides
from balltravel.study.verdict.draws import FIRST, Draws, draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.record import ALL, Answer, Prospect, Verdict, VerdictPoints
from balltravel.study.verdict.runs import Runs, run_draws
from balltravel.sweeps.cases import Batches, Progress
from balltravel.units.display import in_unit
from balltravel.units.systems import unit_in_use

Array = NDArray[np.float64]

CLOSE = 0.9
"""Share of resamples of the draws in which the rule must name the same arrangement or its neighbour; else
twice as many are run."""

RESAMPLES = 100
"""Resamples that are asked."""

Tell = Callable[[str], object]


def recommend_over(
    scenario: Scenario,
    *,
    draws: int = 128,
    seed: int = 0,
    progress: Progress | None = None,
    workers: int | None = None,
    tell: Tell | None = None,
) -> Answer:
    """Recommend at the likely values, and judge all arrangements on ``draws`` draws of all that is not known.

    The first look is at 32 draws; where all arrangements are equal then, it ends there. Where the rule is
    near a tie between arrangements that are no neighbours, twice as many are run. ``tell`` gets a sentence
    after the first look. ``progress`` as of ``recommend``. Raises ScenarioError.
    """
    batches = Batches(progress, 2)
    single = recommend(scenario)
    everything = inputs_of(scenario, spreads_of(scenario))
    most = draws if everything.drawn else 1
    runs: Runs | None = None
    count = min(FIRST, most)
    arrangements = [*possible_travels(scenario)]
    if not arrangements:
        batches.finish()
        return Answer(single, None, None)
    while True:
        runs = run_draws(draw(everything, count, seed), arrangements, batches.next(), workers, known=runs)
        reach = reach_of(runs, counted(runs.draws))
        further = next_count(reach, count, most, seed)
        if further is None:
            break
        if tell is not None and count < most:
            tell(first_look(reach, runs.choices, count))
        count = further
    batches.finish()
    verdict, points = _verdict(scenario, runs, seed, early=count < most)
    return Answer(replace(single, verdict=verdict), verdict, points)


def next_count(reach: Reach, count: int, most: int, seed: int) -> int | None:
    """How many draws to run after ``count`` of them, of which ``most`` are asked for; None: these do. Of one
    arrangement alone all are run: it is equal to none, and its chances are the answer."""
    several = reach.delivered.shape[1] > 1
    if count >= 2 * most or (count >= FIRST and several and all_equal(reach)):
        return None
    if count >= most and (most == 1 or _settled(reach, seed)):
        return None
    return most if count < most else 2 * most


def reach_of(runs: Runs, places: NDArray[np.intp]) -> Reach:
    """Of these draws. What runs through by the feed's pressure is not delivered by the lower."""
    met = {name: flags[places] for name, flags in runs.met.items() if name != ALL}
    runs_through = runs.feed[places, None] > 0.0
    return Reach(np.where(runs_through, 0.0, runs.delivery[places]), met)


def counted(draws: Draws) -> NDArray[np.intp]:
    """The places of the draws that count: all but those whose machine cannot be."""
    return np.array([i for i in range(len(draws)) if i not in draws.impossible], int)


def made(draws: Draws) -> NDArray[np.intp]:
    """The places of the draws that made a scenario."""
    return np.array([i for i, scenario in enumerate(draws.scenarios) if scenario is not None], int)


def _settled(reach: Reach, seed: int) -> bool:
    """Whether the rule names about the same arrangement whatever draws there are."""
    rng, count, own = np.random.default_rng(seed), len(reach.delivery), chosen(reach)
    if own is None:
        return True
    picks = [chosen(reach.of(rng.integers(0, count, count))) for _ in range(RESAMPLES)]
    return sum(pick is not None and abs(pick - own) <= 1 for pick in picks) >= CLOSE * RESAMPLES


def first_look(reach: Reach, choices: Sequence[Choice], count: int) -> str:
    """A sentence for who waits."""
    place = chosen(reach)
    if place is None:
        return f"First look ({count} draws): nothing pumps; going on"
    travel = f"{in_unit(choices[place].ball_travel, 'length', 'mm'):.3g} {unit_in_use('mm')}"
    holds = round(100.0 * float(reach.holds[:, place].mean()))
    return f"First look ({count} draws): {travel}, holds in about {holds} of 100; going on"


def _verdict(scenario: Scenario, runs: Runs, seed: int, early: bool) -> tuple[Verdict, VerdictPoints | None]:
    """All that the runs say."""
    places = counted(runs.draws)
    reach = reach_of(runs, places)
    place = chosen(reach) if len(places) and feed_excess(scenario) <= 0.0 else None
    equal = len(places) > 0 and all_equal(reach)
    decides = WhatDecides((), (), (), ())
    sound = reach_of(runs, made(runs.draws))
    if place is not None and not equal:
        total = float(sound.loss[:, place].mean())
        decides = what_decides(only(runs.draws, made(runs.draws)), sound.loss, runs.choices, total, seed)
    verdict = Verdict(
        **of_choice(reach, sound, runs.choices, place),
        **of_deciding(decides),
        all_equal=equal,
        inputs=runs.draws.rows,
        draws=len(runs),
        refused=len(runs.draws.refused) - len(runs.draws.impossible),
        impossible=len(runs.draws.impossible),
        seed=seed,
        early=early,
    )
    return verdict, _points(sound, runs, decides.ranked)


def of_choice(reach: Reach, sound: Reach, choices: Sequence[Choice], place: int | None) -> dict[str, Any]:
    """Of a verdict what all draws say of the arrangement that is chosen, by its place, and of all others;
    ``sound``: of those that the model did not refuse."""
    count = len(reach.delivered)
    share = float(reach.holds[:, place].mean()) if place is not None else 0.0
    return {
        "chosen": None if place is None else choices[place],
        "holds": share,
        "holds_error": error_of(share, count if place is not None else 0),
        "within": WITHIN,
        "any_meets": float(reach.meets.any(axis=1).mean()) if count else 0.0,
        "regret_mean": float(reach.loss[:, place].mean()) if place is not None else 0.0,
        "prospects": prospects_of(reach, sound, choices),
    }


def of_deciding(decides: WhatDecides) -> dict[str, Any]:
    """Of a verdict what the choice hangs on."""
    return {
        "changes": bool(decides.thresholds or decides.deciding or decides.measurements),
        "deciding": decides.deciding,
        "thresholds": decides.thresholds,
        "measurements": decides.measurements,
        "saves_most": decides.most,
    }


def only(draws: Draws, places: NDArray[np.intp]) -> Draws:
    """These draws alone, each of which made a scenario."""
    if len(places) == len(draws):
        return draws
    scenarios = tuple(draws.scenarios[i] for i in places)
    changes = tuple(draws.changes[i] for i in places)
    return Draws(draws.inputs, draws.seed, draws.shares[places], draws.values[places], changes, scenarios)


def error_of(share: float, count: int) -> float:
    """Standard deviation of a share of so many draws that were drawn at random; these err by less."""
    return math.sqrt(share * (1.0 - share) / count) if count else math.nan


def prospects_of(reach: Reach, sound: Reach, choices: Sequence[Choice]) -> tuple[Prospect, ...]:
    """What each arrangement promises, by all draws; runs that fail are those of ``sound`` ones alone."""
    count = len(reach.delivery)
    if not count:
        return ()
    chance = {name: flags.mean(axis=0) for name, flags in reach.met.items()} | {ALL: reach.meets.mean(axis=0)}
    levels = np.quantile(reach.delivery, [0.05, 0.5, 0.95], axis=0)
    tail, worse = regret_95(reach), in_the_worst(reach, WORSE)
    failed = np.isnan(sound.delivered).sum(axis=0) / count
    return tuple(
        Prospect(
            choice=choice,
            chance={name: float(shares[k]) for name, shares in chance.items()},
            chance_error=error_of(float(chance[ALL][k]), count),
            delivery_5=float(levels[0, k]),
            delivery_50=float(levels[1, k]),
            delivery_95=float(levels[2, k]),
            best=float(reach.best[:, k].mean()),
            regret_mean=float(reach.regret[:, k].mean()),
            regret_95=float(tail[k]),
            avoidable=float(reach.avoidable[:, k].mean()),
            failed=float(failed[k]),
            worse_half=float(worse[k]),
        )
        for k, choice in enumerate(choices)
    )


def _points(reach: Reach, runs: Runs, ranked: Sequence[Candidate]) -> VerdictPoints | None:
    """The draws over the two inputs on which the choice hangs most, for a map."""
    if len(ranked) < 2:
        return None
    travels = np.array([choice.ball_travel for choice in runs.choices])
    return VerdictPoints(
        keys=(ranked[0].key, ranked[1].key),
        names=(ranked[0].name, ranked[1].name),
        dimensions=(ranked[0].dimension, ranked[1].dimension),
        values=np.column_stack([candidate.values for candidate in ranked[:2]]),
        best=travels[np.argmin(reach.loss, axis=1)],
        loss=reach.loss,
    )
