"""What of a scenario is drawn: every input that is not known exactly, with its law of chance."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from balltravel.scenario.model import FIELDS, Scenario, flat, quantity_of
from balltravel.scenario.tables import TYPICAL
from balltravel.scenario.unknowns import changes_of, spreads_of
from balltravel.study.verdict.materials import FLOW, READINGS, by_keys, of_material
from balltravel.units.spread import Spread
from balltravel.units.typical import ORIGIN

_OF = {"inlet_check": " of the inlet check", "piston_check": " of the piston check"}
_BEFORE = {"suction.hose": "suction ", "outlet.hose": "outlet "}


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

    def changes(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """What a draw (key of an input -> SI value) changes: dotted key of the scenario -> SI value, None
        where a key goes that belongs to another choice than the drawn one."""
        whole = {**self.fixed, **values}
        return changes_of(self.scenario, by_keys(self.scenario, whole))


def inputs_of(scenario: Scenario, spreads: Mapping[str, Spread] | None = None) -> Inputs:
    """The inputs that are drawn: by the ``spreads`` of keys (all that are not known exactly, ``spreads_of``)
    and by what the material's readings say; one that can have but one value is not drawn."""
    spreads = spreads_of(scenario) if spreads is None else spreads
    of_readings, notes = of_material(scenario, spreads)
    both = {**spreads, **of_readings}
    order = {key: place for place, key in enumerate(FIELDS)}
    keys = sorted(both, key=lambda key: (order[key.partition("[")[0]], len(key), key))
    drawn = (
        Drawn(key, in_words(key), both[key], dimension_of(key)) for key in keys if not both[key].is_exact
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
        return f"reading {key.partition('[')[2].rstrip(']')}"
    if key == FLOW:
        return "law of flow"
    table, name = key.split(".")
    before = next((word for start, word in _BEFORE.items() if key.startswith(start)), "")
    return f"{before}{name.replace('_', ' ')}{_OF.get(table, '')}"
