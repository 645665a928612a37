"""Where another arrangement is better: the best policy in pieces over something that can be known.

A scan along one input with all others at their middle answers another question than the one asked: what to
choose, knowing this one alone. So the pieces are sought over the draws, all of them.
"""

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

RESAMPLES = 200
"""Resamples of the draws by which the band of a threshold is found."""

BAND = (0.05, 0.95)

LEAST = 0.08
"""Least share of the draws in a piece (our choice): of 128 ten, of fewer nobody knows."""


AT_ONCE = 2**23
"""Numbers of resamples that are looked at together, 64 MB: twelve shims have 4096 arrangements."""


class Pieces(NamedTuple):
    """A policy in pieces of x: values where one ends (one fewer than pieces), the arrangement of each by its
    place, and the mean loss."""

    cuts: tuple[float, ...]
    places: tuple[int, ...]
    loss: float


class Threshold(NamedTuple):
    """The best policy in two pieces, with the band of its cut."""

    at: float
    low: float
    high: float
    below: int
    above: int
    loss: float


def threshold(loss: Array, x: Array, logarithmic: bool, seed: int = 0) -> Threshold | None:
    """Of losses [draw, arrangement] over numbers x, one a draw; None where one arrangement is best on both
    sides. The cut lies midway between two draws, of a logarithm in that."""
    order = np.argsort(x, kind="stable")
    sorted_loss, values = loss[order], np.log(x[order]) if logarithmic else x[order]
    weights = np.ones((1, len(x)))
    at, below, above, mean = (part[0] for part in _two_pieces(sorted_loss, values, weights))
    if below == above or np.isnan(at):
        return None
    rng = np.random.default_rng(seed)
    counts = rng.multinomial(len(x), np.full(len(x), 1.0 / len(x)), size=RESAMPLES).astype(float)
    some = max(1, AT_ONCE // sorted_loss.size)
    parts = [_two_pieces(sorted_loss, values, counts[i : i + some]) for i in range(0, RESAMPLES, some)]
    cuts, lower, upper = (np.concatenate(part) for part in list(zip(*parts, strict=True))[:3])
    moved = cuts[(lower != upper) & ~np.isnan(cuts)]
    low, high = np.quantile(moved, BAND) if len(moved) else (at, at)
    turn = np.exp if logarithmic else float
    return Threshold(
        float(turn(at)),
        float(turn(min(low, at))),
        float(turn(max(high, at))),
        int(below),
        int(above),
        float(mean),
    )


def _two_pieces(
    loss: Array, values: Array, weights: Array
) -> tuple[Array, NDArray[np.intp], NDArray[np.intp], Array]:
    """Cut, arrangements below and above it and mean loss, of each line of weights; losses and values sorted
    by value. A cut stands only between two different values; nan where there is none."""
    count = len(values)
    first = max(1, int(np.ceil(LEAST * count)))
    ends = np.arange(first, count - first + 1)
    ends = ends[values[ends - 1] < values[ends]] if len(ends) else ends
    total = weights.sum(axis=1)
    if not len(ends):
        nothing = np.full(len(weights), np.nan)
        best = np.argmin(weights @ loss, axis=1)
        return nothing, best, best, np.min(weights @ loss, axis=1) / total
    below = np.cumsum(weights[:, :, None] * loss, axis=1)
    under, over = below[:, ends - 1], below[:, -1:] - below[:, ends - 1]
    cost = under.min(axis=2) + over.min(axis=2)
    place = np.argmin(cost, axis=1)
    line = np.arange(len(weights))
    cut = 0.5 * (values[ends - 1] + values[ends])[place]
    lower, upper = under[line, place].argmin(axis=1), over[line, place].argmin(axis=1)
    return cut, lower, upper, cost[line, place] / total


def pieces(loss: Array, x: Array, most: int, worth: float) -> Pieces:
    """The best policy in up to ``most`` pieces of x, as many as each save at least ``worth`` more."""
    order = np.argsort(x, kind="stable")
    values, sums = x[order], np.vstack([np.zeros(loss.shape[1]), np.cumsum(loss[order], axis=0)])
    count = len(values)
    least = max(1, int(np.ceil(LEAST * count)))
    ends = [0, *(j for j in range(least, count - least + 1) if values[j - 1] < values[j]), count]
    # cost[i][j]: of one piece between two ends, by its own best arrangement
    place = np.array([(sums[ends] - sums[start]).argmin(axis=1) for start in ends])
    cost = np.array([(sums[ends] - sums[start]).min(axis=1) for start in ends])
    short = np.array(ends)[None, :] - np.array(ends)[:, None] < least
    cost = np.where(short, np.inf, cost)
    reached, came_from = [cost[0]], [np.zeros(len(ends), int)]
    for _ in range(most - 1):
        through = reached[-1][:, None] + cost
        reached.append(through.min(axis=0))
        came_from.append(through.argmin(axis=0))
    use = 0
    for more in range(1, most):
        if reached[use][-1] - reached[more][-1] >= worth * count * (more - use):
            use = more
    path, at = [len(ends) - 1], len(ends) - 1
    for k in range(use, 0, -1):
        at = int(came_from[k][at])
        path.append(at)
    path = [0, *reversed(path)]
    cuts = tuple(float(0.5 * (values[ends[i] - 1] + values[ends[i]])) for i in path[1:-1])
    chosen = tuple(int(place[i, j]) for i, j in pairwise(path))
    return Pieces(cuts, chosen, float(reached[use][-1]) / count)
