"""What the choice hangs on: inputs whose knowledge would save something, where another arrangement is better,
and what is worth measuring."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.material.flow_laws import ANY_RATE
from balltravel.material.model import is_newtonian
from balltravel.study.travel.trials import Choice
from balltravel.study.verdict.draws import Draws
from balltravel.study.verdict.inputs import Drawn
from balltravel.study.verdict.knowing import Known, Saving, saving
from balltravel.study.verdict.measurements import (
    RATES,
    TOOLS,
    VISCOSITY_ERROR,
    WORTH,
    Offer,
    Tool,
    judged,
    with_error,
)
from balltravel.study.verdict.record import Change, Deciding, Measurement
from balltravel.study.verdict.thresholds import Threshold, threshold

Array = NDArray[np.float64]

VISCOSITY = "material.viscosity"

OF_FLOW = (
    "material.viscosity",
    "material.readings",
    "material.flow",
    "material.thinning",
    "material.least_viscosity",
    "material.yield_stress",
    "material.temperature",
    "material.activation_energy",
)
"""How the keys begin that make a material's viscosity in the lower."""

MOST_TOLD = 3
"""Thresholds that are told."""

LOGARITHMIC = 3.0
"""Numbers above 0 of which 90 of 100 lie within less than this factor are cut midway between two of them;
others midway between their logarithms (our choice)."""


class Candidate(NamedTuple):
    """Something on which the choice may hang: key, name, dimension, and what it is in each draw."""

    key: str
    name: str
    dimension: str
    values: Known


class WhatDecides(NamedTuple):
    """All that is found of it, each list by what it saves, the most first; ``ranked``: numbers whose
    knowledge would save more than chance would show, told or not; ``most``: the input whose knowledge would
    save most, be it too little to count; None where that is no more than chance would show."""

    deciding: tuple[Deciding, ...]
    thresholds: tuple[Change, ...]
    measurements: tuple[Measurement, ...]
    ranked: tuple[Candidate, ...]
    most: Deciding | None = None


def what_decides(
    draws: Draws, loss: Array, choices: Sequence[Choice], total: float, seed: int
) -> WhatDecides:
    """Of draws that made a scenario, with what each arrangement costs in each [draw, arrangement]; ``total``:
    what the chosen one costs on average, beyond which nothing is saved."""
    inputs = [Candidate(d.key, d.name, d.dimension, values_of(draws, d)) for d in draws.drawn]
    saved = [(input_, saving(loss, input_.values, seed)) for input_ in inputs]
    thick = [(whole, saving(loss, whole.values, seed)) for whole in thicknesses(draws)]
    thick = [max(thick, key=lambda pair: pair[1].saved)] if thick else []
    alone = [pair for pair in saved if not thick or not pair[0].key.startswith(OF_FLOW)]
    ranked = sorted([*thick, *alone], key=lambda pair: -pair[1].saved)
    told = [pair for pair in ranked if counts(pair[1])]
    changes = [change for pair in told for change in _change(*pair, loss, choices, total, seed)]
    changes.sort(key=lambda change: -change.saved)
    return WhatDecides(
        _deciding(saved, thick, total),
        tuple(changes[:MOST_TOLD]),
        judged([*_offers(draws, seed)], loss, choices, total, seed),
        tuple(c for c, found in ranked if c.values.dtype != object and found.saved > found.noise),
        _most(ranked, total),
    )


def _most(ranked: Sequence[tuple[Candidate, Saving]], total: float) -> Deciding | None:
    """The first of them, if it is clear of chance: one behind it that is clear says nothing of what those
    before it would save."""
    for candidate, found in ranked[:1]:
        if found.is_clear:
            return Deciding(candidate.key, candidate.name, min(found.saved, total), found.noise)
    return None


def counts(found: Saving) -> bool:
    """Whether a saving is more than chance would show, and changes an answer."""
    return found.is_clear and found.saved >= WORTH


def values_of(draws: Draws, item: Drawn) -> Known:
    """What an input is in each draw; of a choice its names."""
    column = draws.column(item.key)
    names = np.array(item.spread.choices, object)
    return names[column.astype(int)] if len(names) else column


def thicknesses(draws: Draws) -> Iterator[Candidate]:
    """Viscosity in the lower at the shear rates at which it could be measured, where something of it is
    drawn; of a Newtonian material one."""
    if not any(item.key.startswith(OF_FLOW) for item in draws.drawn):
        return
    if _is_newtonian(draws):
        yield Candidate(VISCOSITY, "viscosity in the lower", "viscosity", draws.viscosity(ANY_RATE))
        return
    for rate in RATES:
        name = f"viscosity in the lower at {rate:.0f} 1/s"
        yield Candidate(VISCOSITY, name, "viscosity", draws.viscosity(rate))


def _is_newtonian(draws: Draws) -> bool:
    return all(is_newtonian(scenario.material) for scenario in draws.scenarios if scenario is not None)


def _deciding(
    saved: Sequence[tuple[Candidate, Saving]], thick: Sequence[tuple[Candidate, Saving]], total: float
) -> tuple[Deciding, ...]:
    """Inputs on which the choice hangs, readings as one. All that makes the viscosity in the lower is told by
    one measurement: where that counts, the input of these that saves most stands for it, with what the
    viscosity saves, though no single one be clear."""
    ranked = sorted(saved, key=lambda pair: -pair[1].saved)
    by_key: dict[str, Deciding] = {}
    for whole, found in thick:
        first = next((c.key for c, _ in ranked if c.key.startswith(OF_FLOW)), "")
        if counts(found) and first:
            key = first.partition("[")[0]
            by_key[key] = Deciding(key, whole.name, min(found.saved, total), found.noise)
    for candidate, found in ranked:
        key = candidate.key.partition("[")[0]
        if counts(found) and key not in by_key:
            by_key[key] = Deciding(key, candidate.name, min(found.saved, total), found.noise)
    return tuple(sorted(by_key.values(), key=lambda known: -known.saved))


def _change(
    candidate: Candidate, found: Saving, loss: Array, choices: Sequence[Choice], total: float, seed: int
) -> Iterator[Change]:
    """Where another arrangement is better, if somewhere."""
    if candidate.values.dtype == object:
        yield from _change_of_names(candidate, loss, choices, total)
        return
    cut = worthwhile_cut(np.asarray(candidate.values, np.float64), found, loss, seed)
    if cut is not None:
        arrangements = choices[cut.below], choices[cut.above]
        saves = min(float(loss.mean(axis=0).min()) - cut.loss, total)
        yield Change(*candidate[:3], cut.at, cut.low, cut.high, *arrangements, saves)


def worthwhile_cut(x: Array, found: Saving, loss: Array, seed: int) -> Threshold | None:
    """The value of numbers x, one a draw, above which another arrangement is better; None where to choose by
    it saves nothing that counts, or no more than chance would show."""
    ends = np.quantile(x, [0.05, 0.95])
    logarithmic = bool(x.min() > 0.0 and ends[1] > LOGARITHMIC * ends[0])
    cut = threshold(loss, x, logarithmic, seed)
    if cut is None:
        return None
    saves = float(loss.mean(axis=0).min()) - cut.loss
    return cut if saves >= WORTH and saves > found.noise else None


def _change_of_names(
    candidate: Candidate, loss: Array, choices: Sequence[Choice], total: float
) -> Iterator[Change]:
    """The same for a choice: of each name what is best, against that of the name that is drawn most."""
    names = candidate.values.astype(str)
    known, counts = np.unique(names, return_counts=True)
    best = {name: int(np.argmin(loss[names == name].mean(axis=0))) for name in known.tolist()}
    first = best[str(known[np.argmax(counts)])]
    others = tuple(name for name, place in best.items() if place != first)
    if not others:
        return
    costs = sum(float(loss[names == name, place].sum()) for name, place in best.items()) / len(names)
    saves = min(float(loss.mean(axis=0).min()) - costs, total)
    if saves >= WORTH:
        nowhere = (np.nan, np.nan, np.nan)
        above = choices[best[others[0]]]
        same = tuple(name for name in others if best[name] == best[others[0]])
        yield Change(*candidate[:3], *nowhere, choices[first], above, saves, same)


def _offers(draws: Draws, seed: int) -> Iterator[Offer]:
    """Measurements that could be made of what is drawn."""
    keys = tuple(dict.fromkeys(d.key.partition("[")[0] for d in draws.drawn if d.key.startswith(OF_FLOW)))
    instrument = Tool("", relative=VISCOSITY_ERROR)
    for k, candidate in enumerate(thicknesses(draws)):
        rate = 0.0 if _is_newtonian(draws) else RATES[k]
        how = "with a viscometer, at the temperature in the lower, 10 % or better"
        says = with_error(candidate.values, instrument, seed)
        yield Offer("viscosity", how, keys, "viscosity", says, rate)
    for k, item in enumerate(draws.drawn, 1):
        tool = TOOLS.get(item.key)
        if tool is not None:
            says = with_error(values_of(draws, item), tool, seed + k)
            yield Offer(item.name, tool.how, (item.key,), item.dimension, says)
