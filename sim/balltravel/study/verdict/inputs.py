"""What of a scenario is drawn: every input that is not known exactly, with its law of chance."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from balltravel.material.model import material_model
from balltravel.scenario.model import FIELDS, Scenario, flat, quantity_of
from balltravel.scenario.tables import TYPICAL, given_keys
from balltravel.scenario.unknowns import changes_of, spreads_of
from balltravel.study.verdict.materials import FLOW, READINGS, by_keys, of_material
from balltravel.units.spread import Spread
from balltravel.units.typical import ORIGIN

_OF = {"inlet_check": " of the inlet check", "piston_check": " of the piston check"}
_BEFORE = {"suction.hose": "suction ", "outlet.hose": "outlet "}


_FOLLOWS: dict[str, Any] = {key: made.default_factory for key, made in FIELDS.items() if made.default_factory}
"""Keys whose default follows from others of their table -> how."""


@dataclass(frozen=True)
class Drawn:
    """An input that is drawn: its dotted key (a reading has its number behind it, counted from 1:
    ``material.readings[2]``), its name in words, its law of chance and the dimension of its values."""

    key: str
    name: str
    spread: Spread
    dimension: str

    @property
    def origin(self) -> str:
        """Where its range is from; empty where the user gave it."""
        return TYPICAL[self.key].source if self.spread.origin == ORIGIN else self.spread.origin


@dataclass(frozen=True)
class Inputs:
    """All inputs of a scenario that are drawn, in the order of its keys, readings in the place of theirs;
    values that are the same in every draw and others than the scenario's; and what is to be told of what is
    not drawn."""

    scenario: Scenario
    drawn: tuple[Drawn, ...]
    fixed: Mapping[str, Any] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @cached_property
    def _following(self) -> tuple[str, ...]:
        """Inputs that nobody wrote and that follow from other keys, with a spread of their own about it."""
        given = {*given_keys(self.scenario)}
        return tuple(item.key for item in self.drawn if item.key in _FOLLOWS and item.key not in given)

    @cached_property
    def _in_proportion(self) -> dict[str, str]:
        """Stated values that are in proportion to that of another key, drawn or known exactly -> that key."""
        return {key: law.follows for key, law in self.scenario.ranges.items() if law.follows}

    def followed(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Drawn values (key of an input -> SI value), of which those that nobody wrote go with what they
        follow from: a dead volume is as many times that of the likely bore as it is times its own. A
        viscosity that was written in cSt goes with the density."""
        moved, now = dict(values), flat(self.scenario) if self._following or self._in_proportion else {}
        own = {**now, **self.fixed, **values}
        for key, other in self._in_proportion.items():
            if own[key] is not None and own[other] != now[other]:
                moved[key] = _within(key, own[key] * own[other] / now[other])
        for key in self._following:
            table = key.split(".")[0]
            before, after = (
                _FOLLOWS[key](
                    {name.split(".")[1]: v for name, v in of.items() if name.startswith(f"{table}.")}
                )
                for of in (now, own)
            )
            if before > 0.0:
                moved[key] = _within(key, values[key] * after / before)
        return moved

    def changes(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """What a draw (key of an input -> SI value) changes: dotted key of the scenario -> SI value, None
        where a key goes that belongs to another choice than the drawn one."""
        whole = {**self.fixed, **values}
        return changes_of(self.scenario, by_keys(self.scenario, whole))


def _within(key: str, value: float) -> float:
    """The value, or the limit of its key that it lies beyond."""
    quantity = quantity_of(FIELDS[key])
    return min(max(value, quantity.low), quantity.high) if quantity else value


def _name(scenario: Scenario, key: str) -> str:
    """A key in words; the viscosity of a thinning material with the shear rate at which it holds."""
    if key != "material.viscosity":
        return in_words(key)
    return f"{in_words(key)} {material_model(scenario.material).key_stated}".strip()


def inputs_of(scenario: Scenario, spreads: Mapping[str, Spread] | None = None) -> Inputs:
    """The inputs that are drawn: by the ``spreads`` of keys (all that are not known exactly, ``spreads_of``)
    and by what the material's readings say; one that can have but one value is not drawn."""
    spreads = spreads_of(scenario) if spreads is None else spreads
    of_readings, notes = of_material(scenario, spreads)
    both = {**spreads, **of_readings}
    order = {key: place for place, key in enumerate(FIELDS)}
    keys = sorted(both, key=lambda key: (order[key.partition("[")[0]], len(key), key))
    drawn = (
        Drawn(key, _name(scenario, key), both[key], dimension_of(key))
        for key in keys
        if not both[key].is_exact
    )
    now = flat(scenario)
    sure = {key: both[key].likely for key in keys if key in now and both[key].is_exact}
    fixed = {key: value for key, value in sure.items() if value != now[key]}
    return Inputs(scenario, tuple(drawn), fixed, notes)


def dimension_of(key: str) -> str:
    """The dimension of an input's values; empty for names."""
    if key.startswith(READINGS):
        return "viscosity"
    quantity = quantity_of(FIELDS[key])
    return quantity.dimension if quantity else ""


def in_words(key: str) -> str:
    """An input's name for people: ``seat diameter of the inlet check``."""
    if key.startswith(READINGS):
        return f"viscosity of reading {key.partition('[')[2].rstrip(']')}"
    if key == FLOW:
        return "law of flow"
    table, name = key.split(".")
    before = next((word for start, word in _BEFORE.items() if key.startswith(start)), "")
    return f"{before}{name.replace('_', ' ')}{_OF.get(table, '')}"
