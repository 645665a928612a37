"""Which viscosities a lesson shows: from where any travel does to where no travel fills the chamber."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.scenario.arguments import refused
from balltravel.scenario.model import FIELDS, Scenario, flat, quantity_of
from balltravel.scenario.shims import Arrangement
from balltravel.study.travel.trials import EQUAL_DELIVERY, HEAVIER
from balltravel.sweeps.cases import Progress
from balltravel.sweeps.grid import sweep

VISCOSITY, FACTOR = "material.viscosity", "material.viscosity_factor"

THINNEST, HEAVIEST = 100.0, 1000.0
"""How many times as thin and as heavy as its own material a lower is tried."""

NEAR = 10.0
"""How many times as heavy it is tried first: far heavier runs take long, and are seldom asked for."""

SCANNED = 11
"""Viscosities of the first look, two to a decade."""

CLOSER = 2
"""Further ones between the last at which the chamber fills and the first at which it does not."""

THIN, HEAVY = 4, 11
"""Viscosities on the page below and above that at which longer travel begins to pay."""

THIN_BY_MOTOR, HEAVY_BY_MOTOR = 2, 6
"""The same of a lower with a motor, whose runs take many times as long."""

STEPS = 6


class Look(NamedTuple):
    """A first look over viscosities: the values of the key, and at each the share delivered and drawn in,
    shape (values, travels), the shortest travel first."""

    values: NDArray[np.float64]
    delivered: NDArray[np.float64]
    filled: NDArray[np.float64]


def key_of(scenario: Scenario) -> str:
    """The key that makes the material thinner or heavier: its viscosity if that is all there is to it."""
    material = scenario.material
    return VISCOSITY if material.viscosity is not None and material.flow == "Newtonian" else FACTOR


def look_over(scenario: Scenario, travels: Sequence[Arrangement], progress: Progress | None = None) -> Look:
    """Run these travels at viscosities two to a decade, the heaviest only where lighter ones still fill the
    chamber, then closer about where they no longer do; values at which a run fails are left out."""
    key, needed, done = key_of(scenario), scenario.target.fill_fraction, 0
    values, own = _values(scenario, key), flat(scenario)[key]

    def look(of: Sequence[float]) -> Look:
        nonlocal done
        before = done
        done += len(of) * len(travels)
        return _looked(scenario, key, of, travels, None if progress is None else part(progress, before))

    def part(tell: Progress, before: int) -> Progress:
        return lambda runs, _: tell(before + runs, 0)

    wide = look([value for value in values if value <= NEAR * own])
    rest = [value for value in values if value > NEAR * own]
    if rest and bool((wide.filled.max(axis=1) >= needed).all()):
        wide = _together(wide, look(rest))
    starving = _leading(wide.filled.max(axis=1) >= needed)
    if not 0 < starving < len(wide.values):
        return wide
    ends = wide.values[starving - 1], wide.values[starving]
    between = {_short(value) for value in np.geomspace(*ends, CLOSER + 2)[1:-1]} - {*wide.values}
    return _together(wide, look(sorted(between)))


def _together(a: Look, b: Look) -> Look:
    """Both looks as one, by rising value."""
    order = np.argsort(np.concatenate([a.values, b.values]))
    return Look(*(np.concatenate(columns)[order] for columns in zip(a, b, strict=True)))


def _looked(
    scenario: Scenario,
    key: str,
    values: Sequence[float],
    travels: Sequence[Arrangement],
    progress: Progress | None,
) -> Look:
    below = [arrangement.below for arrangement in travels]
    data = sweep(scenario, {key: list(values), "shims.below": below}, progress=progress)
    delivered, filled = (
        np.asarray(data[name].transpose(key.replace(".", "_"), "shims_below"))
        for name in ("volumetric_efficiency", "fill_fraction")
    )
    whole = np.isfinite(delivered).all(axis=1)
    return Look(np.asarray(values)[whole], delivered[whole], filled[whole])


def _values(scenario: Scenario, key: str) -> list[float]:
    quantity = quantity_of(FIELDS[key])
    assert quantity is not None
    now = flat(scenario)[key]
    most = quantity.high if key == VISCOSITY else quantity.high / HEAVIER
    wanted = now * np.geomspace(1.0 / THINNEST, HEAVIEST, SCANNED)
    return sorted({_short(value) for value in wanted if quantity.low <= _short(value) <= most})


def _short(value: float) -> float:
    """To two digits, so that a value can be said and typed."""
    return float(f"{value:.2g}")


class Reach(NamedTuple):
    """The ends of a lesson: the heaviest value at which any travel does, the heaviest at which the shortest
    is the best, and the lightest at which no travel fills the chamber."""

    thin: float
    turning: float
    heavy: float


def reach_of(look: Look, needed: float) -> Reach:
    """Where a lesson begins, turns and ends; ``needed``: the fill that counts as filled. Where a lower has no
    such end, the end of what was tried stands for it. Raises ScenarioError where too little could be run."""
    if len(look.values) < STEPS:
        raise refused(
            "lesson", f"only {len(look.values)} viscosities could be run to their end",
            f"a lower that runs at {STEPS} or more, thinner and heavier than its own material",
            "balltravel simulate FILE shows how its own run ends",
        )  # fmt: skip
    full = look.filled.max(axis=1) >= needed
    last = int(np.argmin(full)) if not full.all() else len(full) - 1
    alike = np.ptp(look.delivered, axis=1) <= EQUAL_DELIVERY
    first = _leading(alike[:last]) - 1
    if last == 0:  # full at none of them: the lesson is of what thinner material gains
        last = len(full) - 1
    shortest = look.delivered[:, 0] >= look.delivered.max(axis=1) - EQUAL_DELIVERY
    turning = max(_leading(shortest[:last]) - 1, first, 0)
    return Reach(float(look.values[max(first, 0)]), float(look.values[turning]), float(look.values[last]))


def _leading(holds: NDArray[np.bool_]) -> int:
    """How many of the first ones hold."""
    return len(holds) if holds.all() else int(np.argmin(holds))


def values_between(reach: Reach, own: float, by_motor: bool = False) -> list[float]:
    """Values of the key for the page, rising, few where little happens; its own among them."""
    light, more = (THIN_BY_MOTOR, HEAVY_BY_MOTOR) if by_motor else (THIN, HEAVY)
    thin = np.geomspace(reach.thin, reach.turning, light + 1) if reach.thin < reach.turning else [reach.thin]
    heavy = np.geomspace(reach.turning, reach.heavy, more + 1)
    values = sorted({_short(value) for value in (*thin, *heavy)})
    if values[0] <= own <= values[-1]:
        nearest = min(values[1:-1], key=lambda value: abs(np.log(value / own)))
        values.remove(nearest)
    return sorted({*values, own})


def steps_of(
    values: Sequence[float], best: Sequence[float], fills: Sequence[bool], reach: Reach, own: float
) -> tuple[int, ...]:
    """Places of the six steps among rising values: the thin end, where it turns, the heavy end, and three
    between that fill and at which the best travels [m] differ as evenly as they can, its own if it may be."""
    first, turning, last = (
        min(range(len(values)), key=lambda i: abs(np.log(values[i] / value))) for value in reach
    )
    if turning in (first, last):
        turning = first + max(1, (last - first) // (STEPS - 1))
    between, wanted = list(range(turning + 1, last)), STEPS - 3
    longer = [i for i in between if best[i] != best[turning] and fills[i]]
    groups = [[i for i in longer if best[i] == travel] for travel in dict.fromkeys(best[i] for i in longer)]
    if len(groups) < wanted:
        groups = [[i] for i in (longer if len(longer) >= wanted else between)]
    chosen = [groups[round((k + 0.5) * len(groups) / wanted - 0.5)] for k in range(wanted)]
    place = values.index(own)
    middle = (place if place in group else group[len(group) // 2] for group in chosen)
    return (first, turning, *middle, last)
