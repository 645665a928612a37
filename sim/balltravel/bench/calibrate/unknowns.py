"""What is fitted: every number that is not known exactly, small leaks, and what one setting alone has."""

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from balltravel.bench.causes import GAP_KEYS
from balltravel.scenario.model import FIELDS, Scenario, quantity_of, with_values
from balltravel.scenario.tables import flat
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.verdict.inputs import Inputs, dimension_of, in_words, inputs_of
from balltravel.units.spread import Spread

LEAK_FACTOR = 10.0
SOUND_SEAT, SOUND_PACKING = 0.5e-6, 3e-6
"""Even gap [m] through which a sound seat and a sound packing may leak, and within which factor 95 of 100 do
(our choice: from what nobody sees to what a worn one leaks; a packing is a thousand times as long)."""

LEAKS = "small leaks; our choice, no source"


@dataclass(frozen=True)
class Unknown:
    """An unknown: its key, its name in words, its law of chance before [SI], its dimension, and the
    conditions (counted from 1) whose setting it is of; none of an input that all share."""

    key: str
    name: str
    spread: Spread
    dimension: str
    only: tuple[int, ...] = ()

    def value(self, coordinate: float) -> float:
        """Its value [SI] at a coordinate in which its law is the standard normal one."""
        from scipy.special import ndtr

        return float(self.spread.at(float(ndtr(coordinate))))


@dataclass(frozen=True)
class Unknowns:
    """All unknowns of a scenario and of what was set in each condition (dotted key -> SI)."""

    scenario: Scenario
    inputs: Inputs
    each: tuple[Unknown, ...]
    settings: tuple[Mapping[str, Any], ...]

    def __len__(self) -> int:
        return len(self.each)

    @property
    def leaks(self) -> np.ndarray[Any, np.dtype[np.bool_]]:
        """Which of them are gaps."""
        return np.array([unknown.key in GAP_KEYS for unknown in self.each], bool)

    def changes(self, point: Sequence[float], condition: int = 0) -> dict[str, Any]:
        """What a point changes of the scenario; in a condition (from 1), of that as it was set."""
        setting = self.settings[condition - 1] if condition else {}
        values = {u.key: u.value(z) for u, z in zip(self.each, point, strict=True) if not u.only}
        gaps = {key: values.pop(key) for key in GAP_KEYS if key in values}
        changed = {**self.inputs.changes(self.inputs.followed(values)), **gaps}
        own = {
            u.key: u.value(z)
            for u, z in zip(self.each, point, strict=True)
            if condition and condition in u.only
        }
        return {key: value for key, value in changed.items() if key not in setting} | own

    def only(self, keys: Set[str]) -> "Unknowns":
        """Those of these keys alone; all others stay as the scenario has them."""
        drawn = tuple(item for item in self.inputs.drawn if item.key in keys)
        return replace(
            self,
            inputs=replace(self.inputs, drawn=drawn),
            each=tuple(unknown for unknown in self.each if unknown.key in keys),
        )


def unknowns_of(
    scenario: Scenario,
    settings: Sequence[Mapping[str, Any]] = (),
    spreads: Mapping[str, Spread] | None = None,
) -> Unknowns:
    """The unknowns of a scenario, names left out; ``spreads``: others than its own, by key."""
    laws = {**spreads_of(scenario), **(spreads or {})}
    inputs = inputs_of(scenario, laws)
    inputs = replace(inputs, drawn=tuple(item for item in inputs.drawn if item.spread.numbers_only))
    shared = [Unknown(item.key, item.name, item.spread, item.dimension) for item in inputs.drawn]
    known = {unknown.key for unknown in shared}
    shared += [_leak(scenario, key) for key in GAP_KEYS if key not in known and not _is_exact(scenario, key)]
    return Unknowns(scenario, inputs, (*shared, *_own(scenario, settings)), tuple(settings))


def _is_exact(scenario: Scenario, key: str) -> bool:
    return key in scenario.ranges and scenario.ranges[key].is_exact


def _leak(scenario: Scenario, key: str) -> Unknown:
    """A gap about that of the scenario, or where that has none about a small one."""
    middle = flat(scenario)[key] or (SOUND_SEAT if key.endswith("leak_gap") else SOUND_PACKING)
    spread = Spread("normal", (middle, LEAK_FACTOR), logarithmic=True, origin=LEAKS)
    quantity = quantity_of(FIELDS[key])
    assert quantity is not None
    return Unknown(key, in_words(key), spread.within(quantity.low, quantity.high), "length")


def _own(scenario: Scenario, settings: Sequence[Mapping[str, Any]]) -> list[Unknown]:
    """What was set otherwise than in the scenario and is not known exactly: once for each value."""
    own: dict[tuple[str, Any], list[int]] = {}
    for number, setting in enumerate(settings, 1):
        for key, value in setting.items():
            if isinstance(value, float) and value != flat(scenario)[key]:
                own.setdefault((key, value), []).append(number)
    made = []
    for (key, _), numbers in own.items():
        spread = spreads_of(with_values(scenario, settings[numbers[0] - 1])).get(key)
        if spread is not None:
            where = ", ".join(map(str, numbers))
            name = f"{in_words(key)} as set in seen {where}"
            made.append(Unknown(key, name, spread, dimension_of(key), tuple(numbers)))
    return made
