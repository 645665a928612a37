"""What may be wrong with a lower, as changes of its scenario with a size each."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from balltravel.core.check import Law, law
from balltravel.core.records import as_record
from balltravel.estimate.suction_losses import (
    drop_at,
    outlet_load,
    peak_flow,
    suction_losses,
    viscosity_in_lower,
)
from balltravel.scenario.model import Scenario
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.outlet import has_tip
from balltravel.setup.parameters import core_parameters

MOST_LEAK = 0.5
"""Leak over the full flow up to which a worn place is tried (our choice): who loses more looks inside."""

LEAK_RATE = 1e3
"""Shear rate [1/s] at which material is taken to pass a worn place, for the size that is tried only."""

MUCH_AIR = 0.15
"""Free gas that is tried at most (our choice)."""

HARDLY_HELD, MOST_HELD = 0.7, 3.0
"""Force that holds a ball up: over its weight in the material, below which it does nothing in any material;
over the drag of the full flow, with its weight, where it is largest (our choice)."""

STARVED = 3.0
"""Losses of a choked hose at the full flow over the pressure that there is, at most (our choice)."""

SHARES = (1.0 / 3.0, 2.0 / 3.0, 1.0)
"""Sizes of a cause that are run, as shares of the largest; with none of it they make its curve."""

CLOSELY = (0.4, 0.6, 0.75, 0.85, 0.93, 1.0)
"""The same of one that does little up to a size from which on it does much."""

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
    shares: tuple[float, ...] = SHARES

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
    "air": "air stirred in, or drawn in at a joint of the suction",
    "choked": "suction hose or strainer choked",
    "hanging ball": "foot-valve ball hangs, slow to seat",
    "short supply": "motor short of supply: low, or sagging under flow",
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
        _factor("choked", _most_choked(s), "bore of the hose times", "suction.hose_diameter"),
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
    return _cause(
        name,
        now,
        min(now + most, 1e-3),
        "leaks like a gap all round of",
        "length",
        lambda _, size: {key: size},
    )


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


def _most_choked(scenario: Scenario) -> float:
    """Bore of the hose that is tried at least, over the scenario's: one that starves the lower. Losses go at
    least with its fourth power."""
    losses = suction_losses(scenario)
    starving = (losses.hose / (STARVED * max(losses.available, 1e3))) ** 0.25
    return float(np.clip(starving, 0.05, 0.5))


def _hanging(scenario: Scenario) -> Cause:
    """A ball held up by a steady force: by strings in the seat, by what has hardened on the stop. Below the
    largest share of its weight that is sure to be there nothing shows, however thin the material is; above
    its weight and the drag of the whole flow back it stays open for good."""
    check = core_parameters(scenario).inlet
    weight = max(check.net_weight, 0.0) + scenario.inlet_check.spring_preload
    none = max(scenario.inlet_check.holding_force, HARDLY_HELD * weight, 1e-3)
    most = weight + MOST_HELD * _drag(scenario)
    return Cause(
        "hanging ball", TITLES["hanging ball"], none, max(most, 1.5 * none), "held open with", "force",
        lambda _, size: {"inlet_check.holding_force": size}, CLOSELY,
    )  # fmt: skip


def _drag(scenario: Scenario) -> float:
    """Force [N] of the full flow on the inlet ball at its stop."""
    p, out = core_parameters(scenario), as_record(Law())
    drop, _ = drop_at(p.inlet, p.material, p.inlet.travel, peak_flow(p))
    law(as_record(p.inlet), as_record(p.material), p.inlet.travel, 0.0, drop, out)
    return float(out.force)


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
