"""What may be wrong with a lower, as changes of its scenario with a size each."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from balltravel.estimate.suction_losses import outlet_load, viscosity_in_lower
from balltravel.scenario.model import Scenario
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.outlet import has_tip

MOST_LEAK = 0.5
"""Leak over the full flow up to which a worn place is tried (our choice): who loses more looks inside."""

LEAK_RATE = 1e3
"""Shear rate [1/s] at which material is taken to pass a worn place, for the size that is tried only."""

MUCH_AIR, LIGHT = 0.15, 1.05
"""Free gas that is tried at most; density of a ball that barely sinks, over that of the material (our
choice)."""

Changes = dict[str, Any]


@dataclass(frozen=True)
class Cause:
    """A cause: a name, its size where there is nothing of it and the largest that is tried, what the size is
    in words, its dimension, and the changes of a scenario that a size makes.

    A size goes from ``start`` to ``end`` evenly in its logarithm where both are above zero, else evenly.
    """

    name: str
    title: str
    start: float
    end: float
    what: str
    dimension: str
    changes: Callable[[Scenario, float], Changes]
    note: str = ""

    def size(self, share: float) -> float:
        """The size at a share of the way from none (0) to the largest (1)."""
        if self.start > 0.0 and self.end > 0.0:
            return float(self.start * (self.end / self.start) ** share)
        return self.start + share * (self.end - self.start)


NONE = "none"

TITLES = {
    NONE: "none of these: sound",
    "foot valve": "worn or dirty foot valve (inlet check)",
    "piston": "piston seat or lower packing worn (they look alike)",
    "rod packing": "worn throat packing (rod packing)",
    "shorter travel": "ball travel shorter than believed",
    "longer travel": "ball travel longer than believed",
    "thicker": "material thicker or colder than believed",
    "thinner": "material thinner or warmer than believed",
    "air": "air stirred or drawn in",
    "choked": "suction hose or strainer choked",
    "hanging ball": "foot-valve ball hangs, slow to seat",
    "short supply": "motor short of supply",
    "worn tip": "spray tip worn",
}


def causes_of(scenario: Scenario) -> tuple[Cause, ...]:
    """The causes that can be in a scenario: a motor that is short of supply needs a motor, a tip a tip."""
    leak = _Leak(scenario)
    travel, s = scenario.inlet_travel, scenario
    made = [
        _gap("foot valve", "inlet_check.leak_gap", s.inlet_check.leak_gap, leak.seat(s.inlet_check)),
        _gap("piston", "piston_check.leak_gap", s.piston_check.leak_gap, leak.seat(s.piston_check)),
        _gap("rod packing", "lower.rod_packing_gap", s.lower.rod_packing_gap, leak.rod_packing()),
        _cause("shorter travel", travel, 0.3 * travel, "ball travel", "length", _with_travel),
        _cause("longer travel", travel, 2.5 * travel, "ball travel", "length", _with_travel),
        _factor("thicker", 3.0, "viscosity times", "material.viscosity_factor"),
        _factor("thinner", 1.0 / 3.0, "viscosity times", "material.viscosity_factor"),
        _air(s.material.free_gas_fraction),
        _factor("choked", 0.5, "bore of the hose times", "suction.hose_diameter"),
        _hanging(s),
    ]  # fmt: skip
    if s.drive.profile == "motor":
        made.append(_factor("short supply", 0.5, "supply times", "drive.supply_gauge_pressure"))
    if has_tip(s.outlet):
        made.append(_factor("worn tip", 1.35, "tip bore times", "outlet.tip_diameter"))
    return tuple(made)


def _cause(name: str, start: float, end: float, what: str, dimension: str, changes: Any) -> Cause:
    return Cause(name, TITLES[name], start, end, what, dimension, changes)


def _gap(name: str, key: str, now: float, most: float) -> Cause:
    """An even gap that leaks as much, beside the one that is there."""
    return _cause(name, now, min(now + most, 1e-3), "even gap", "length", lambda _, size: {key: size})


def _factor(name: str, end: float, what: str, key: str) -> Cause:
    """A value of the scenario times a factor."""
    table, field = key.split(".")

    def changes(scenario: Scenario, size: float) -> Changes:
        return {key: size * getattr(getattr(scenario, table), field)}

    return _cause(name, 1.0, end, what, "number", changes)


def _with_travel(_: Scenario, travel: float) -> Changes:
    """Another ball travel, however the shims lie."""
    return {"shims.below": (), "inlet_check.base_travel": travel}


def _air(now: float) -> Cause:
    """More free gas, from hardly any."""
    end = min(max(MUCH_AIR, 3.0 * now), 0.5)
    key = "material.free_gas_fraction"
    return _cause("air", max(now, 1e-3), end, "free gas", "fraction", lambda _, size: {key: size})


def _hanging(scenario: Scenario) -> Cause:
    """The model has no key for a ball that sticks: nearest is one that weighs less in the material, so that
    it hangs in the flow and comes down late."""
    heavy, light = scenario.inlet_check.ball_density, LIGHT * scenario.material.density
    note = "the model has no stickiness: a ball that hangs is taken as one that weighs less"
    return Cause(
        "hanging ball", TITLES["hanging ball"], heavy, min(light, 0.99 * heavy), "as a ball of", "density",
        lambda _, size: {"inlet_check.ball_density": size}, note,
    )  # fmt: skip


class _Leak:
    """Sizes of gaps that pass a share of the full flow at the outlet's pressure, by hand formulas: they only
    say how far to try."""

    def __init__(self, scenario: Scenario) -> None:
        lower = scenario.lower
        self.flow = MOST_LEAK * math.pi / 4.0 * lower.bore**2 * lower.stroke * cycle_rate_of(scenario)
        self.pressure = max(outlet_load(scenario), 1e5)
        self.viscosity = viscosity_in_lower(scenario, LEAK_RATE)
        self.scenario = scenario

    def seat(self, check: Any) -> float:
        """At a seat [m]: a slit about as long as it is high, or an orifice, whichever needs more gap."""
        around = math.pi * check.contact_diameter
        slit = math.sqrt(20.0 * self.flow * self.viscosity / (around * self.pressure))
        speed = math.sqrt(2.0 * self.pressure / self.scenario.material.density)
        return max(slit, float(self.flow / (0.6 * around * speed)))

    def rod_packing(self) -> float:
        """Around the rod [m]: Q = pi D h^3 dp/(12 mu L)."""
        lower = self.scenario.lower
        passed = 12.0 * self.flow * self.viscosity * lower.rod_packing_length
        return float((passed / (math.pi * lower.rod * self.pressure)) ** (1.0 / 3.0))


GAP_KEYS = (
    "inlet_check.leak_gap", "piston_check.leak_gap", "lower.piston_packing_gap", "lower.rod_packing_gap",
)  # fmt: skip
"""Where a sound lower may leak a little."""

SOUND_GAP = 2e-6
"""Even gap that a sound seat or packing may leak through [m], at most: as wide as a lapped face is rough (our
choice)."""


def described(scenario: Scenario) -> Mapping[str, Cause]:
    """The causes of a scenario by name."""
    return {cause.name: cause for cause in causes_of(scenario)}
