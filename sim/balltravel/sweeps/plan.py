"""Which cases a sweep has: keys and their values, from which each case is made when it is asked for."""

import copy
import hashlib
import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import compress
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.files.swept import MOST_CASES
from balltravel.scenario.arguments import refused, scenario_given
from balltravel.scenario.changes import LISTS, Sound, Variations
from balltravel.scenario.model import Scenario, ScenarioError, not_swept, with_values
from balltravel.scenario.rules.all import Fault
from balltravel.scenario.shims import travels_of
from balltravel.sweeps.values import MOST_LISTED, Read, Values, are_readings, label_of, taken
from balltravel.sweeps.with_density import (
    DENSITY,
    VISCOSITY,
    all_kinematic,
    at_its_density,
    keys_with_density,
)
from balltravel.units import kind_of, shown

CASE = "case"
"""The dimension along which samples lie."""

AT_ONCE = 1000
"""Cases whose changes are made at once where all are looked at."""

_GRID = '{"material.viscosity": [0.1, 1.0]}'


def keyword(key: str) -> str:
    """A dotted key as a name that Python takes for a keyword: ``material_viscosity``."""
    return key.replace(".", "_")


class Plan:
    """The cases of a sweep, made on demand: each of the samples with each combination of the grid's values.

    scenario: what all cases start from. grid: dotted key -> one value or many; samples: dotted key -> one
    value a case, all equally many. Values are SI numbers, text with units, choices or tuples, in whatever
    numpy, pandas and xarray have them. Without either, all travels that the shims give. What was written in
    cSt goes with the density of each case. Raises ScenarioError with the faults of all values and
    combinations. ``shape`` and ``dims``: of the result, the samples first.
    """

    def __init__(self, scenario: Scenario, grid: object = None, samples: object = None) -> None:
        self.scenario = scenario_given(scenario)
        self.grid: dict[str, Values] = {}
        self.samples: dict[str, Values] = {}
        if grid is None and samples is None:
            grid = {"shims.below": [arrangement.below for arrangement in travels_of(scenario)]}
        faults = Faults()
        columns, rows = _columns("samples", samples, faults), _columns("grid", grid, faults)
        for key in [key for key in columns if key in rows]:
            del rows[key]
            faults.extend([Fault(key, "given in samples and in the grid", "each key in one of them")])
        # A kinematic viscosity does not know which density, where that is swept; a sample goes with its own.
        swept = DENSITY in {*columns, *rows}
        self._kinematic = swept and all_kinematic(columns.get(VISCOSITY))
        density = None if swept else scenario.material.density
        self._take_samples(columns, density, faults)
        self._take_grid(rows, density, faults)
        if len(self) > MOST_CASES:
            given = f"{len(self)} combinations given"
            raise ScenarioError(
                [*faults.listed, Fault("grid", given, f"at most {MOST_CASES}", "fewer values")]
            )
        faults.join(faults_of(self))
        if faults.listed:
            raise faults.error()

    def _take_samples(self, columns: Mapping[str, Any], density: float | None, faults: "Faults") -> None:
        """Samples of which all values are sound."""
        at_likely = {VISCOSITY: self.scenario.material.density} if self._kinematic else {}
        reads = {key: Read(key, given, at_likely.get(key, density)) for key, given in columns.items()}
        for read in reads.values():
            faults.extend(read.faults, read.unlisted)
        counts = {key: read.count for key, read in reads.items() if read.count}
        if len(set(counts.values())) > 1:
            told = ", ".join(f"{count} of {key}" for key, count in counts.items())
            faults.extend([Fault("samples", f"{told} given", "equally many values of each key, one a case")])
        elif reads and len(counts) == len(reads):
            sound = np.logical_and.reduce([read.sound for read in reads.values()])
            if sound.any():
                self.samples = {key: _at(read.values, sound[read.sound]) for key, read in reads.items()}

    def _take_grid(self, rows: Mapping[str, Any], density: float | None, faults: "Faults") -> None:
        for key, given in rows.items():
            read = Read(key, given, density)
            faults.extend(read.faults, read.unlisted)
            if len(read.values):
                self.grid[key] = read.values

    @property
    def dims(self) -> tuple[str, ...]:
        """Names of the dimensions: ``case``, then the keys of the grid as keywords."""
        return (*((CASE,) if self.samples else ()), *map(keyword, self.grid))

    @property
    def shape(self) -> tuple[int, ...]:
        """How many values lie along each of them."""
        cases = (len(next(iter(self.samples.values()))),) if self.samples else ()
        return (*cases, *map(len, self.grid.values()))

    def __len__(self) -> int:
        return math.prod(self.shape)

    def changes(self, start: int, stop: int) -> Sound:
        """What is changed in the cases ``start`` to ``stop - 1``, the last dimension running fastest: dotted
        key -> SI value, None where a key is left out."""
        cases = np.arange(start, min(stop, len(self)))
        along = list(np.unravel_index(cases, self.shape)) if self.shape else []
        of_samples = along[:1] * len(self.samples)
        places = [*of_samples, *along[bool(self.samples) :]]
        table = {**self.samples, **self.grid}
        if not table:
            return Sound({} for _ in cases)
        columns = [taken(values, place) for values, place in zip(table.values(), places, strict=True)]
        rows = (dict(zip(table, row, strict=True)) for row in zip(*columns, strict=True))
        keys = self.with_density
        return Sound(at_its_density(self.scenario, keys, row) for row in rows) if keys else Sound(rows)

    @property
    def with_density(self) -> tuple[str, ...]:
        """Keys whose value goes with the density of each case."""
        return keys_with_density(self.scenario, self.samples, self.grid, self._kinematic)

    def only(self, keys: Sequence[str]) -> "Plan":
        """The part of the plan that these keys span, all others as in the scenario."""
        part = copy.copy(self)
        part.samples = {key: values for key, values in self.samples.items() if key in keys}
        part.grid = {key: values for key, values in self.grid.items() if key in keys}
        return part

    def digest(self) -> str:
        """SHA-256 of scenario, keys and values: the same for the same cases in the same order, however they
        were given."""
        values = {"samples": dict(sorted(self.samples.items())), "grid": self.grid}
        head = {
            "scenario": self.scenario.model_dump(mode="json"),
            "set": self.scenario.model_dump(mode="json", exclude_unset=True),
            **{name: [[key, len(items)] for key, items in table.items()] for name, table in values.items()},
            **({"kinematic": VISCOSITY} if self._kinematic else {}),
        }
        found = hashlib.sha256(json.dumps(head, sort_keys=True).encode())
        for table in values.values():
            for items in table.values():
                found.update(_canonical(items))
        return found.hexdigest()

    def described(self) -> dict[str, tuple[str, str]]:
        """Dotted key -> its values in some words, and a digest of them."""
        return {
            key: (_in_words(values), hashlib.sha256(_canonical(values)).hexdigest())
            for key, values in {**self.samples, **self.grid}.items()
        }


def _in_words(values: Values) -> str:
    numbers = isinstance(values, np.ndarray)
    first, last = (f"{values[i]:.6g}" if numbers else str(label_of(values[i], False)) for i in (0, -1))
    return f"{len(values)} values from {first} to {last}" if len(values) > 1 else f"at {first}"


def _at(values: Values, kept: NDArray[np.bool_]) -> Values:
    """Those of the values that are kept."""
    if kept.all():
        return values
    return values[kept] if isinstance(values, np.ndarray) else tuple(compress(values, kept))


def _canonical(values: Values) -> bytes:
    if isinstance(values, np.ndarray):
        return (values + 0.0).astype("<f8").tobytes()  # no zero has a sign
    return json.dumps(values).encode()


class Faults:
    """Faults of a plan, each listed once, the first of them; how many more there are is counted."""

    def __init__(self) -> None:
        self.listed: dict[Fault, None] = {}
        self.more = 0

    def extend(self, faults: Iterable[Fault], more: int = 0) -> None:
        """Take faults, and so many that nobody listed."""
        for fault in faults:
            if fault not in self.listed and len(self.listed) < MOST_LISTED:
                self.listed[fault] = None
            elif fault not in self.listed:
                self.more += 1
        self.more += more

    def join(self, other: "Faults") -> None:
        """Take those of another."""
        self.extend(other.listed, other.more)

    def error(self) -> ScenarioError:
        """The error that tells all of them."""
        allowed = f"none; the first {MOST_LISTED} are listed"
        more = [Fault("", f"and {self.more} more", allowed)] if self.more else []
        return ScenarioError([*self.listed, *more])


def faults_of(plan: Plan) -> Faults:
    """What cannot be among the combinations of a plan's values. Of most keys a rule reads one or two: it is
    asked once for each of their combinations, and not for each of all."""
    table = {**plan.samples, **plan.grid}
    if plan.with_density or any(_needs_the_whole(key, values) for key, values in table.items()):
        return _faults_case_by_case(plan)
    faults, variations = Faults(), Variations(plan.scenario)
    for part in variations.parts([*plan.samples, *plan.grid]):
        for values in _cases_of(plan.only(part.keys)):
            told = variations.faults(part, values)
            if told is None:
                return _faults_case_by_case(plan)
            faults.extend(told)
    return faults


def _needs_the_whole(key: str, values: Values) -> bool:
    """Whether values ask for the whole validation: where a key is left out now and then, which others may
    stand in for it hangs on it; how long a list may be the table itself says."""
    return not isinstance(values, np.ndarray) and (None in values or key in LISTS)


def _faults_case_by_case(plan: Plan) -> Faults:
    """The same by every combination, none of which is kept."""
    faults = Faults()
    for changes in _cases_of(plan):
        try:
            with_values(plan.scenario, changes)
        except ScenarioError as error:
            faults.extend(error.faults)
    return faults


def _cases_of(plan: Plan) -> Iterator[dict[str, Any]]:
    for start in range(0, len(plan), AT_ONCE):
        yield from plan.changes(start, start + AT_ONCE)


def _columns(where: str, given: object, faults: Faults) -> dict[str, Any]:
    """Dotted key -> its values as they were given, of a mapping, a DataFrame or a Dataset; keys that have no
    place in a sweep go among the faults. Raises ScenarioError for what is no table."""
    if given is None:
        return {}
    table: Any = given
    is_table = isinstance(given, Mapping) or hasattr(given, "columns")
    names = getattr(given, "variables", table if is_table else ())
    columns: dict[Any, Any] = {name: table[name] for name in names}
    if hasattr(given, "data_vars"):  # of a Dataset's coordinates those that say which key they are
        columns = {n: v for n, v in columns.items() if n in table.data_vars or "key" in v.attrs}
    odd = [name for name in columns if not isinstance(name, str)]
    if odd or not is_table:
        what = f"the key {odd[0]!r} given" if odd else _told(given)
        raise refused(where, what, "a dictionary whose keys are texts like material.viscosity", _GRID)
    if not columns:
        allowed = "a key and its values, one or more; None for all arrangements of the shims"
        raise refused(where, "no key given", allowed, _GRID)
    named = {getattr(values, "attrs", {}).get("key", name): values for name, values in columns.items()}
    lists = {key: values for key, values in named.items() if isinstance(values, list) and values}
    drawn = {key for key, values in lists.items() if are_readings(key, values[0])}
    unfit = {key: fault for key in named if key not in drawn and (fault := not_swept(key))}
    faults.extend(unfit.values())
    return {key: values for key, values in named.items() if key not in unfit}


def _told(given: object) -> str:
    return f"{shown(given)} given" if isinstance(given, str | int | float | list | tuple) else kind_of(given)
