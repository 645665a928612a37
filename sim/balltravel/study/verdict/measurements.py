"""Measurements that somebody in a shop can make, how well each tells its quantity, and what it would save.

How well: common practice without a source, all of them. An input without a line here can decide, and yet
nothing is offered that would settle it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.study.travel.trials import Choice
from balltravel.study.verdict.knowing import Known, Saving, saving
from balltravel.study.verdict.record import Measurement, Outcome
from balltravel.study.verdict.thresholds import pieces

Array = NDArray[np.float64]

RATES = (10.0, 100.0, 1000.0)
"""Shear rates [1/s] at which a viscosity could be measured."""

VISCOSITY_ERROR = 0.1
"""Relative standard deviation of a careful reading in a shop: 5 % of the instrument, 15 % where nobody is
used to it (no source)."""

MOST_OUTCOMES = 3

WORTH = 0.0025
"""Saving on average, over swept, from which an answer is said to change (our choice)."""


@dataclass(frozen=True)
class Tool:
    """How a key is measured: in words, and the standard deviation of what it then says, relative and in its
    own unit [SI]; both 0 for what is seen or read off."""

    how: str
    relative: float = 0.0
    absolute: float = 0.0


_CALIPER = Tool("with a micrometer or caliper, three times", absolute=2e-5)

TOOLS = {
    "material.density": Tool("weigh a litre of it, without bubbles", relative=0.005),
    "material.free_gas_fraction": Tool(
        "weigh a litre as it is pumped, and again when the bubbles have risen", relative=0.2
    ),
    "material.temperature": Tool("thermometer in the material where it enters the lower", absolute=0.5),
    "inlet_check.seat": Tool("look at the seat in good light: a sharp edge, or a cone"),
    "piston_check.seat": Tool("look at the seat in good light: a sharp edge, or a cone"),
    "inlet_check.base_travel": Tool("depth gauge on the ball, every shim above the cage", absolute=2e-5),
    "piston_check.travel": Tool("depth gauge on the ball", absolute=2e-5),
    "drive.cycle_rate": Tool("count the cycles of two minutes", relative=0.005),
    "drive.dwell_time": Tool("film the rod in slow motion, with a clock in the picture", relative=0.15),
    "drive.ramp_time": Tool("film the rod in slow motion, with a clock in the picture", relative=0.15),
    "suction.lift": Tool("tape, from the surface to the inlet check", absolute=0.01),
    "suction.loss_coefficient": Tool("vacuum gauge at the inlet at two cycle rates", relative=0.2),
    "suction.port_compliance": Tool("close the hose, draw 10 cc out of it and read the vacuum", relative=0.2),
    "suction.hose_flexing": Tool("close the hose, draw 10 cc out of it and read the vacuum", relative=0.2),
    "suction.hose_diameter": Tool("caliper in the cut end of the hose", absolute=2e-4),
    "outlet.hose_compliance": Tool("close the hose, push 10 cc in and read the pressure", relative=0.2),
    "outlet.tip_discharge_coefficient": Tool(
        "weigh what the tip passes in a minute at a known pressure", relative=0.03
    ),
    "outlet.gauge_pressure": Tool("gauge at the outlet", relative=0.02),
    "lower.lower_dead_volume": Tool("fill it with oil from a measuring cylinder", relative=0.03),
    "lower.upper_dead_volume": Tool("fill it with oil from a measuring cylinder", relative=0.03),
    **dict.fromkeys(
        (
            "lower.bore",
            "lower.rod",
            "inlet_check.ball_diameter",
            "inlet_check.seat_diameter",
            "inlet_check.cage_diameter",
            "piston_check.ball_diameter",
            "piston_check.seat_diameter",
            "piston_check.cage_diameter",
        ),
        _CALIPER,
    ),
}
"""Dotted key -> how it is measured."""


class Offer(NamedTuple):
    """A measurement that could be made: what and how in words, keys that it tells of, dimension, what it
    would say in each draw, its error included, and the shear rate [1/s], 0 for none."""

    what: str
    how: str
    keys: tuple[str, ...]
    dimension: str
    says: Known
    rate: float = 0.0


def with_error(values: Known, tool: Tool, seed: int) -> Known:
    """What an instrument would say of values."""
    if values.dtype == object or not (tool.relative or tool.absolute):
        return values
    rng = np.random.default_rng(seed)
    first, second = rng.standard_normal((2, len(values)))
    exact = np.asarray(values, np.float64)
    return np.asarray(exact * np.exp(tool.relative * first) + tool.absolute * second)


def judged(
    offers: Sequence[Offer], loss: Array, choices: Sequence[Choice], total: float, seed: int
) -> tuple[Measurement, ...]:
    """The offers that are worth making, the best first: of one kind of measurement the best rate alone."""
    savings = [(offer, saving(loss, offer.says, seed)) for offer in offers]
    clear = [(offer, found) for offer, found in savings if found.is_clear and found.saved >= WORTH]
    clear.sort(key=lambda pair: -pair[1].saved)
    first: dict[str, Measurement] = {}
    for offer, found in clear:
        if offer.what not in first:
            first[offer.what] = _measurement(offer, found, loss, choices, total)
    return tuple(first.values())


def _measurement(
    offer: Offer, found: Saving, loss: Array, choices: Sequence[Choice], total: float
) -> Measurement:
    return Measurement(
        offer.what,
        offer.how,
        offer.keys,
        offer.dimension,
        min(found.saved, total),
        found.noise,
        tuple(_outcomes(offer.says, loss, choices)),
        offer.rate,
    )


def _outcomes(says: Known, loss: Array, choices: Sequence[Choice]) -> Iterator[Outcome]:
    """What to choose for each part of what it may say."""
    if says.dtype == object:
        yield from _by_name(says, loss, choices)
        return
    x = np.asarray(says, np.float64)
    policy = pieces(loss, x, MOST_OUTCOMES, WORTH / 2.0)
    ends = (float(x.min()), *policy.cuts, float(x.max()))
    for low, high, place in zip(ends, ends[1:], policy.places, strict=False):
        share = float(np.mean((x > low) & (x <= high))) if low != ends[0] else float(np.mean(x <= high))
        yield Outcome(low, high, share, choices[place])


def _by_name(says: Known, loss: Array, choices: Sequence[Choice]) -> Iterator[Outcome]:
    best: dict[int, list[str]] = {}
    for name in dict.fromkeys(says.tolist()):
        best.setdefault(int(np.argmin(loss[says == name].mean(axis=0))), []).append(str(name))
    for place, names in best.items():
        share = float(np.mean(np.isin(says.astype(str), names)))
        yield Outcome(float("nan"), float("nan"), share, choices[place], tuple(names))
