"""A range as one writes it, in a file or in Python, to a law of chance; and the scenario that has it."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from balltravel.scenario.arguments import plain, scenario_given, table_given
from balltravel.scenario.model import FIELDS, Scenario, quantity_of, unknown_key, with_choices, with_values
from balltravel.scenario.rules.ranges import EXAMPLE, choices_of, example_range, faults_of, no_range
from balltravel.scenario.rules.rule import Fault, ScenarioError
from balltravel.scenario.tables import INSTEAD, NEEDED, TYPICAL, example_of, flat, given_keys, replaced_by
from balltravel.scenario.unknowns import changes_of
from balltravel.units import UnitError, amount_to_si, is_kinematic, shown, to_si, to_text
from balltravel.units.spread import Spread, log_even

UNKNOWN, EXACTLY = "unknown", "exactly"
FORMS = (
    "low and high, with or without likely; likely and within; exactly; or distribution with its parameters"
)
WORDS = ("low", "likely", "high", "within", EXACTLY, "distribution")
_SHARE = re.compile(r"\s*(-?[0-9.]+\s*%)\s*")
_FACTOR = re.compile(r"\s*x\s*/?\s*([0-9.]+)\s*")


def is_range(key: str, raw: Any) -> bool:
    """Whether what was written for a key is no plain value: a table, "unknown", a list of names where a key
    takes one."""
    if isinstance(raw, dict):
        return key != "material.readings" or not raw.keys().isdisjoint(WORDS)  # a reading is a table too
    if raw == UNKNOWN:
        return True
    return isinstance(raw, list) and key in FIELDS and bool(choices_of(key))


def names_written(raw: Any) -> list[Any]:
    """The choices that were written for a key: one, or several of which the first is the likely one."""
    exact = raw.get(EXACTLY, raw) if isinstance(raw, dict) else raw
    return exact if isinstance(exact, list) and exact else [exact]


def range_of(key: str, raw: Any, density: float | None = None, si: bool = False) -> Spread | None:
    """The law of chance that was written for a key; None for an unknown value that has a default, which then
    stands with its typical range.

    ``density`` [kg/m3]: for kinematic viscosities; ``si``: whether plain numbers are in SI, as in Python.
    Raises ScenarioError with all its faults.
    """
    fault = no_range(key)
    if fault:
        raise ScenarioError([fault])
    if isinstance(raw, str) and raw == UNKNOWN:
        return _unknown(key)
    if isinstance(raw, list):
        return _sound(key, Spread("choices", choices=tuple(raw)))
    return _Written(key, dict(raw), density, si).spread()


def _unknown(key: str) -> Spread | None:
    mark = TYPICAL.get(key)
    if mark and mark.unknown:
        return mark.of_unknown()
    if mark and has_default(key):
        return None
    allowed = _INSTEAD_OF_UNKNOWN.get(key, "a value or a range: no range is usual for it everywhere")
    if key.startswith("material.") and key not in _INSTEAD_OF_UNKNOWN:
        allowed += "; docs/materials.md has what is common for a kind of material"
    raise ScenarioError([Fault(key, '"unknown" given', allowed, example_of(key))])


_INSTEAD_OF_UNKNOWN = {
    "material.flow": "a law of flow, several of them in an array, or no flow at all: how far the material "
    "thins is then drawn",
    "material.temperature_law": 'a law, or "Andrade" with activation_energy = "unknown"',
}
"""What to write of a choice that nobody knows."""


def has_default(key: str) -> bool:
    """Whether a key that is left out has a value wherever it plays a part."""
    needed, instead, made = NEEDED.get(key), INSTEAD.get(key), FIELDS[key]
    if made.is_required() or (needed and needed.choices) or (instead and instead.required):
        return False
    return made.default is not None


def _sound(key: str, spread: Spread) -> Spread:
    """The spread; raises ScenarioError with all that is wrong with it."""
    faults = list(faults_of(key, spread))
    if faults:
        raise ScenarioError(faults)
    return spread


@dataclass
class _Written:
    """A table of a range with what was wrong with it so far."""

    key: str
    raw: dict[str, Any]
    density: float | None
    si: bool
    faults: list[Fault] = field(default_factory=list)

    def spread(self) -> Spread:
        """Its law; raises ScenarioError."""
        quantity, names = quantity_of(FIELDS[self.key]), choices_of(self.key)
        if self.raw.keys() == {EXACTLY} and names:
            return _sound(self.key, Spread("choices", choices=(self.raw[EXACTLY],)))
        make = self._form()
        if make is None or quantity is None:
            given = f"{' and '.join(map(str, self.raw))[:60] or 'a table with nothing in it'} given"
            allowed, example = FORMS, example_range(self.key)
            if quantity is None:
                allowed, example = "a name, or several in an array", shown(list(names[:2]))
            raise ScenarioError([Fault(self.key, given, allowed, example)])
        made = make()
        if self.faults:
            raise ScenarioError(self.faults)
        return _sound(self.key, with_density(made, *self.raw.values()))

    def _form(self) -> Callable[[], Spread] | None:
        """What makes a law of the names that were written."""
        if "distribution" in self.raw:
            return self._distribution
        forms: dict[frozenset[str], Callable[[], Spread]] = {
            frozenset(("low", "high")): self._even,
            frozenset(("low", "likely", "high")): self._triangle,
            frozenset(("likely", "within")): self._about,
            frozenset((EXACTLY,)): lambda: Spread("exact", (self._value(EXACTLY),)),
        }
        return forms.get(frozenset(self.raw))

    def _even(self) -> Spread:
        low, high = self._value("low"), self._value("high")
        return Spread("even", (low, high), logarithmic=log_even(low, high))

    def _triangle(self) -> Spread:
        low, likely, high = (self._value(name) for name in ("low", "likely", "high"))
        return Spread("triangle", (low, likely, high), logarithmic=log_even(low, high))

    def _about(self) -> Spread:
        """A normal law, of the logarithm where a share or a factor was written."""
        likely, within = self._value("likely"), self.raw["within"]
        factor = self._factor(within)
        if factor is None:
            return Spread("normal", (likely, self._value("within", amount_to_si)))
        return Spread("normal", (likely, factor), logarithmic=True)

    def _factor(self, within: Any) -> float | None:
        """A share or a factor as a factor; None for an amount."""
        if not isinstance(within, str):
            return None
        share, factor = _SHARE.fullmatch(within), _FACTOR.fullmatch(within)
        try:
            if share:
                size = to_si(share[1], "fraction")
                if 0.0 <= size < 1.0:
                    return 1.0 + size
                allowed = "a share from 0 up to, not including, 100 %, or a factor"
                self.faults.append(
                    Fault(self.key, f'within "{within[:40]}" given', allowed, 'within = "x 2"')
                )
            return float(factor[1]) if factor else 1.0 if share else None
        except (UnitError, ValueError):
            self.faults.append(
                Fault(
                    self.key,
                    f'within "{within[:40]}" given',
                    "a share, a factor or an amount",
                    'within = "20 %"',
                )
            )
            return 1.0

    def _distribution(self) -> Spread:
        """Of scipy.stats by name; its loc and scale have the key's unit, its shape parameters are bare."""
        numbers: dict[str, float] = {}
        for name, raw in self.raw.items():
            if name == "distribution":
                continue
            if name in ("loc", "scale"):
                numbers[name] = self._value(name, amount_to_si if name == "scale" else to_si)
            elif isinstance(raw, bool) or not isinstance(raw, int | float):
                given = f"{name[:40]} = {shown(raw)} given"
                self.faults.append(
                    Fault(self.key, given, "a bare number: a shape parameter", f"{name[:40]} = 0.3")
                )
            else:
                numbers[name] = float(raw)
        name = self.raw["distribution"]
        return Spread(
            "scipy", name=name if isinstance(name, str) else shown(name), shape=tuple(numbers.items())
        )

    def _value(self, name: str, read: Callable[..., float] = to_si) -> float:
        """One of its numbers [SI]; nan with a fault of one that is none."""
        raw, quantity = self.raw[name], quantity_of(FIELDS[self.key])
        assert quantity is not None
        if self.si and isinstance(raw, int | float) and not isinstance(raw, bool):
            return float(raw)
        try:
            return read(raw, quantity.dimension, self.density)
        except UnitError as error:
            self.faults.append(Fault(self.key, f"{name}: {error.given}", error.allowed, error.example))
            return float("nan")


def with_density(spread: Spread, *written: Any) -> Spread:
    """The spread of what was written; of kinematic viscosities it goes with the density."""
    return replace(spread, follows="material.density") if any(map(is_kinematic, written)) else spread


def belongs_elsewhere(key: str, chosen: Mapping[str, Any], ranges: Mapping[str, Spread]) -> bool:
    """Whether a key belongs to another than the likely choice of a key that has several; ``chosen``: the
    likely choices by dotted key."""
    mark = NEEDED.get(key)
    several = ranges.get(mark.selector) if mark else None
    if mark is None or several is None:
        return False
    fitting = {*mark.choices, *mark.free}
    return chosen.get(mark.selector) not in fitting and bool(fitting.intersection(several.choices))


def exact(value: Any) -> Spread:
    """The law of a value that is known."""
    return Spread("choices", choices=(value,)) if isinstance(value, str) else Spread("exact", (float(value),))


def with_ranges(scenario: Scenario, ranges: Mapping[str, Any]) -> Scenario:
    """The scenario with ranges of what is not known exactly; each key holds its likely value.

    ``ranges``: dotted key -> ``(low, high)`` or ``(low, likely, high)``, numbers in SI or texts with units; a
    table as in a file (``{"likely": "5 Pa.s", "within": "20 %"}``); a frozen distribution of scipy.stats, in
    SI; a ``Spread``; a list of names; ``"unknown"``; ``"exactly"``: its value is known; None: no range of
    its own, the typical one holds. Raises ScenarioError with all faults.
    """
    scenario_given(scenario)
    asked = table_given("ranges", ranges, '{"material.viscosity": ("2 Pa.s", "5 Pa.s", "9 Pa.s")}')
    faults = [unknown_key(key) for key in asked if key not in FIELDS and key != "title"]
    laws: dict[str, Spread | None] = {}
    for key, given in asked.items():
        try:
            if given is not None and (key in FIELDS or key == "title"):
                laws[key] = _law(scenario, key, given)
        except ScenarioError as error:
            faults += error.faults
    if faults:
        raise ScenarioError(faults)
    return _ranged(scenario, asked, laws)


def _ranged(scenario: Scenario, asked: Mapping[str, Any], laws: Mapping[str, Spread | None]) -> Scenario:
    """The scenario with these laws, None for a default; without those of all other keys that are asked."""
    new = {key: law for key, law in laws.items() if law is not None}
    chosen = {**flat(scenario), **{key: law.likely for key, law in new.items()}}
    apart = {key for key in new if belongs_elsewhere(key, chosen, new)}
    changes = {key: law.likely for key, law in new.items() if key not in apart and asked[key] != EXACTLY}
    changes |= {key: None for key, law in laws.items() if law is None and key in given_keys(scenario)}
    dropped = {key for key in replaced_by(changes) if key in given_keys(scenario) and key not in new}
    spare = {
        key: scenario.ranges.get(key) or exact(flat(scenario)[key])
        for key in dropped
        if belongs_elsewhere(key, chosen, new)
    }
    made = with_choices(scenario, changes)
    kept = {key: law for key, law in made.ranges.items() if key not in asked}
    ranges = {**kept, **spare, **new}
    ranged = made.model_copy(update={"ranges": ranges})
    faults = impossible(ranged, {*new})
    if faults:
        raise ScenarioError(faults)
    return ranged


def _law(scenario: Scenario, key: str, given: Any) -> Spread | None:
    """The law that Python code gives for a key; raises ScenarioError."""
    fault = no_range(key)
    if fault:
        raise ScenarioError([fault])
    given = plain(given)
    if isinstance(given, Spread):
        return _sound(key, given)
    if callable(getattr(given, "ppf", None)) and hasattr(given, "dist"):
        return _sound(key, _of_scipy(given))
    if isinstance(given, str) and given == EXACTLY:
        value = flat(scenario)[key]
        if value is None or value != value:
            raise ScenarioError([Fault(key, '"exactly" given for a key without a value', "a value", EXAMPLE)])
        return exact(value)
    if isinstance(given, tuple | list) and len(given) in (2, 3) and not choices_of(key):
        names = ("low", "likely", "high") if len(given) == 3 else ("low", "high")
        given = dict(zip(names, given, strict=True))
    given = list(given) if isinstance(given, tuple) else given
    if not is_range(key, given):
        allowed = (
            '(low, high), (low, likely, high), a frozen distribution, a Spread, a list of names, "unknown", '
        )
        raise ScenarioError(
            [Fault(key, f"{shown(given)} given", allowed + '"exactly" or None', '("2 Pa.s", "9 Pa.s")')]
        )
    return range_of(key, given, scenario.material.density, si=True)


def _of_scipy(frozen: Any) -> Spread:
    """A frozen distribution of scipy.stats as a record."""
    names = [*(frozen.dist.shapes or "").replace(" ", "").split(","), "loc", "scale"]
    numbers = dict(zip((name for name in names if name), map(float, frozen.args), strict=False))
    numbers |= {name: float(value) for name, value in frozen.kwds.items()}
    return Spread("scipy", name=frozen.dist.name, shape=tuple(numbers.items()))


def impossible(scenario: Scenario, keys: "set[str]") -> list[Fault]:
    """What contradicts the rest of the scenario at an end of the stated ranges of these keys, or with another
    of their choices."""
    faults: list[Fault] = []
    for key in sorted(keys & scenario.ranges.keys()):
        for value, words in _extremes(key, scenario.ranges[key]):
            try:
                with_values(scenario, changes_of(scenario, {key: value}))
            except ScenarioError as error:
                faults += [_of_end(key, words, fault) for fault in error.faults]
    return faults


def _extremes(key: str, spread: Spread) -> list[tuple[Any, str]]:
    """Values at which a range must be possible, with what they are in words."""
    if spread.law == "choices":
        return [(name, f'with {key.split(".")[1]} = "{name}"') for name in spread.choices]
    quantity = quantity_of(FIELDS[key])
    if spread.law not in ("even", "triangle") or quantity is None:
        return []
    return [
        (value, f"at {to_text(value, quantity.dimension)}, the {name} end of its range")
        for value, name in zip(spread.ends, ("lower", "upper"), strict=True)
    ]


def _of_end(key: str, words: str, fault: Fault) -> Fault:
    """A fault at the key that it is of; of a number at that which has the range."""
    if words.startswith("with"):
        return Fault(fault.key, f"{fault.given} {words}", fault.allowed, fault.example)
    other = "" if fault.key == key else f"{fault.key}: "
    return Fault(key, f"{words}: {other}{fault.given}", fault.allowed, fault.example)
