"""Which arrangement of the shims, over all that is not known: for people who call it from Python."""

from dataclasses import replace

from balltravel.scenario.arguments import SEED, draws_checked
from balltravel.scenario.model import Scenario
from balltravel.study.travel.recommend import Recommendation
from balltravel.study.travel.recommend import recommend as recommend_at_likely
from balltravel.study.verdict.record import Answer
from balltravel.sweeps.cases import Progress

DRAWS = 128
"""Draws by default: a chance is then known to 1 or 2 of 100 (measured on six jobs)."""


def recommend(
    scenario: Scenario,
    *,
    draws: int = DRAWS,
    seed: int = 0,
    progress: Progress | None = None,
    workers: int | None = None,
) -> Recommendation:
    """Simulate every arrangement of the shims on ``draws`` seeded draws of all that is not known, and judge.

    ``verdict`` of what comes back says what to choose, how surely, what would change it and what is worth
    measuring; all else is the recommendation at the likely values alone. ``draws``: a power of two, 32 to
    4096, or 0, which draws nothing and leaves ``verdict`` None. ``progress`` is called with (runs done, runs
    in all); ``workers``: how many threads, all cores by default. Raises ScenarioError.
    """
    if not draws_checked(draws):
        return recommend_at_likely(scenario, progress=progress)
    from balltravel.study.verdict.verdict import recommend_over

    answer: Answer = recommend_over(
        scenario, draws=draws, seed=SEED.checked(seed), progress=progress, workers=workers
    )
    return replace(answer.recommendation, verdict=answer.verdict)
