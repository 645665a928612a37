"""What delivery over ball travel says, in one sentence, and where it falls off a cliff."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from balltravel.report.tables import bench
from balltravel.study.travel.recommend import Recommendation
from balltravel.study.travel.trials import EQUAL_DELIVERY
from balltravel.study.verdict.record import Verdict

CLIFF = 0.05
"""Of swept: loss from one travel to the next shorter one, from which on that is a cliff (our choice)."""


class Point(NamedTuple):
    """A travel [m], what it delivers, and what it delivers surely, both over swept: at the likely values and
    at 20 % more viscosity if that is less, or of draws the middle one and what 95 of 100 of them reach."""

    travel: float
    delivered: float
    surely: float


def points_of_run(recommendation: Recommendation) -> list[Point]:
    """Of the runs at the likely values that came to their end."""
    trials = [trial for trial in recommendation.arrangements if trial.metrics is not None]
    return [Point(trial.ball_travel, trial.delivery, trial.assured) for trial in trials]


def points_of_draws(verdict: Verdict) -> list[Point]:
    """Over all draws."""
    return [
        Point(prospect.choice.ball_travel, prospect.delivery_50, prospect.delivery_5)
        for prospect in verdict.prospects
    ]


def cliffs(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    """Neighbours of which the shorter surely delivers less by CLIFF or more."""
    return [(short, long) for short, long in pairwise(points) if long.surely - short.surely >= CLIFF]


def travel_message(points: Sequence[Point]) -> str:
    """The one thing to see."""
    if not points:
        return "No travel could be run"
    low, high = (pick(each.delivered for each in points) for pick in (min, max))
    if len(points) == 1:
        return f"The only travel delivers {_percent(high)} %"
    best = max(points, key=lambda each: each.surely)
    rest, steps = _beyond(points, best), cliffs(points)
    if steps:
        short, long = steps[-1]
        fall = f"{_percent(long.surely)} to {_percent(short.surely)} %"
        return f"Shorter than {_travel(long)} it may starve: delivery can fall from {fall}{rest}"
    if high - low <= EQUAL_DELIVERY:
        ends = dict.fromkeys(map(_percent, (low, high)))
        return f"Travel hardly matters here: any delivers {' to '.join(ends)} %"
    if rest:
        return f"{_travel(best)} delivers {_percent(best.delivered)} %{rest}"
    return f"{_travel(best)} delivers most, {_percent(best.delivered)} %, and none falls off a cliff"


def _beyond(points: Sequence[Point], best: Point) -> str:
    """What the longest travel costs, or that it is not long enough."""
    last, before = points[-1], points[-2]
    cost = best.delivered - last.delivered
    if cost > EQUAL_DELIVERY:
        return f"; {_travel(last)} gives up {_percent(cost)} % by closing late"
    if best == last and last.surely - before.surely > EQUAL_DELIVERY:
        return f"; even {_travel(last)} is not enough"
    return ""


def _travel(point: Point) -> str:
    return bench(point.travel, "length")


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f}"
