"""Causes that look like another one at a single setting, and differ from it between settings.

Air that is stirred in is the same share of what is pumped at any rate and tip; air that a joint draws in goes
with the vacuum there. A supply that is low is low at any rate; one that sags does so under flow. What a twin
does at a setting is what the other does there at another size, so that it needs no runs of its own.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from balltravel.bench.causes import Cause
from balltravel.bench.runs import Answers
from balltravel.bench.signs import Array

STALL, FIRST = "stall", "seen 1"


@dataclass(frozen=True)
class Twin:
    """A cause that looks like the cause ``of`` at the first setting. ``grows``: how far it is from none at
    another setting, over the same at the first one, by the signs of a sound lower there and here, and by
    whether the lower is stalled. Titles of both where they are told apart."""

    name: str
    of: str
    title: str
    title_of_other: str
    grows: Callable[[Mapping[str, float], Mapping[str, float], bool], float]


def _drawn_in(first: Mapping[str, float], here: Mapping[str, float], stalled: bool) -> float:
    """Air through a hole goes with the root of the vacuum; what is pumped dilutes it. At a stall the lower
    holds what was drawn in before."""
    if stalled:
        return 1.0
    now, then = (_drawn(signs) / _pumped(signs) for signs in (here, first))
    return now / then if then > 0.0 else 0.0


def _drawn(signs: Mapping[str, float]) -> float:
    """Air that a hole lets in, in some unit."""
    return math.sqrt(max(-signs["vacuum_at_inlet"], 0.0))


def _pumped(signs: Mapping[str, float]) -> float:
    """Material in some time [m3/s]."""
    return max(signs["weighed_per_cycle"] * signs["cycle_rate"], 1e-12)


def _sagging(first: Mapping[str, float], here: Mapping[str, float], stalled: bool) -> float:
    """Losses of a supply line go with the square of its flow, as those of turbulent flow do."""
    return 0.0 if stalled else (here["cycle_rate"] / first["cycle_rate"]) ** 2


TWINS = (
    Twin("drawn in", "air", "air drawn in at a joint of the suction", "air stirred in", _drawn_in),
    Twin("sagging supply", "short supply", "motor's supply sags under flow", "motor's supply low", _sagging),
)


def with_twins(
    causes: Sequence[Cause], answers: Mapping[str, Answers]
) -> tuple[tuple[Cause, ...], dict[str, Answers]]:
    """Causes and answers with the twins of those that are there; as they are where only one setting was
    seen, at which twins look alike."""
    all_causes, all_answers = list(causes), dict(answers)
    if sum(name != STALL for name in answers) < 2:
        return tuple(all_causes), all_answers
    for twin in TWINS:
        for place, cause in enumerate(causes):
            if cause.name == twin.of:
                all_causes[place] = replace(cause, title=twin.title_of_other)
                all_causes.append(replace(cause, name=twin.name, title=twin.title))
                all_answers = {
                    name: _with(twin, cause, each, answers[FIRST], name == STALL)
                    for name, each in all_answers.items()
                }
    return tuple(all_causes), all_answers


def _with(twin: Twin, cause: Cause, here: Answers, first: Answers, stalled: bool) -> Answers:
    """What a situation says, the twin with it."""
    grown = twin.grows(first.sound, here.sound, stalled)
    shares = np.array([_share(cause, share, grown) for share in cause.shares])
    values = {
        key: _at(np.array([0.0, *cause.shares]), np.array([here.sound[key], *column]), shares)
        for key, column in here.causes[cause.name].items()
    }
    return replace(here, causes={**here.causes, twin.name: values})


def _share(cause: Cause, share: float, grown: float) -> float:
    """Share of the largest size at which a cause is as many times farther from none as at a share."""
    size = cause.start + grown * (cause.size(share) - cause.start)
    if cause.start > 0.0 and cause.end > 0.0:
        whole = math.log(cause.end / cause.start)
        return float(np.clip(math.log(max(size, 1e-12) / cause.start) / whole, 0.0, 1.0))
    return float(np.clip((size - cause.start) / (cause.end - cause.start), 0.0, 1.0))


def _at(at: Array, nodes: Array, shares: Array) -> Array:
    """Readings at shares, by those at none and at the sizes that could be run."""
    from scipy.interpolate import PchipInterpolator

    whole = np.isfinite(nodes)
    until = len(whole) if whole.all() else int(np.argmin(whole))
    if until < 2:
        return np.full(len(shares), np.nan)
    return np.asarray(PchipInterpolator(at[:until], nodes[:until], extrapolate=False)(shares))
