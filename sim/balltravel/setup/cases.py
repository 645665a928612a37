"""Many cases of one scenario, as arrays of the records that the core takes.

A case costs what its changed keys reach: a group of Parameters (``setup/parameters.py:GROUPS``) that reads
none of them has the bytes of the scenario as it stands, and one that reads some is made once for each set of
their values (``setup/spread.py``). Nothing is kept beyond the cases made at once. The records are those of
``core_parameters``, ``control_for`` and ``ranges_parameters``, bit for bit (tests/setup/test_cases.py).
"""

import math
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache, partial
from typing import Any, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from balltravel.core.parameters import Array, Control, Parameters
from balltravel.core.records import as_record, record_type, shared_arrays
from balltravel.scenario.changes import Variations
from balltravel.scenario.model import FIELDS, Scenario, with_values
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.parameters import (
    GROUPS,
    MAX_CYCLES,
    MOST_STEPS,
    RTOL,
    Rate,
    control_for,
    controls_for,
    core_parameters,
)
from balltravel.setup.ranges import ranges_parameters
from balltravel.setup.reads import keys_read
from balltravel.setup.spread import Form, Group, Spread, write

Records = NDArray[Any]


class Cases(NamedTuple):
    """Records of Parameters, Control and Ranges, one a case in the order of the changes; by their number the
    errors of those that cannot be, whose records are those of the scenario as it stands; the tables that the
    records have handles of; and the parameters that the records are made like."""

    parameters: Records
    control: Records
    ranges: Records
    errors: dict[int, Exception]
    tables: tuple[Array, ...]
    like: Parameters


class CaseMaker:
    """A scenario of which cases are made: with other values of some keys, any number of times."""

    def __init__(
        self,
        scenario: Scenario,
        rtol: float = RTOL,
        max_cycles: int = MAX_CYCLES,
        most_steps: int = MOST_STEPS,
    ) -> None:
        self._scenario, self._variations = scenario, Variations(scenario)
        self._controls_of = partial(controls_for, rtol=rtol, max_cycles=max_cycles, most_steps=most_steps)
        self._groups = [_group(name, make, scenario) for name, make in GROUPS.items()]
        self._ranges = _group("ranges", lambda s, _: ranges_parameters(s), scenario)
        self._rates = _group("rate", lambda s, _: cycle_rate_of(s), scenario)
        parameters = Parameters(**{group.name: group.own for group in self._groups})
        control = control_for(parameters, rtol, max_cycles, most_steps)
        self._like = parameters
        self._records = as_record(parameters), as_record(control), as_record(self._ranges.own)
        self._types = record_type(parameters), record_type(control), record_type(self._ranges.own)
        self._tables = shared_arrays(parameters)
        self._form = lru_cache(maxsize=64)(partial(Form, self._variations))

    def make(self, changes: Sequence[Mapping[str, Any]], sound: bool = False) -> Cases:
        """The cases of these changes: dotted key -> SI value; None takes the key out. What happens to one
        case touches no other. ``sound``: whether each is known to make a scenario, and its values are such as
        a scenario has."""
        count, errors = len(changes), dict[int, Exception]()
        parameters, control, ranges = (np.empty(count, dtype=kind) for kind in self._types)
        parameters[:], control[:], ranges[:] = self._records
        cases, tables = Cases(parameters, control, ranges, errors, (), self._like), dict[int, Array]()
        for (keys, gone), alike in self._by_form(changes, sound, errors).items():
            numbers = np.array([*alike])
            columns = {key: [values[key] for values in alike.values()] for key in keys}
            odd = self._write(cases, self._form(keys, gone), numbers, columns, tables)
            for i in numbers[odd]:
                self._write_alone(cases, int(i), changes[i], tables)
        with np.errstate(all="ignore"):
            run = self._controls_of(cast(Parameters, parameters.view(np.recarray)))
        for name, values in zip(Control._fields, run, strict=True):
            control[name] = values
        return cases._replace(tables=(*self._tables, *tables.values()))

    def _by_form(
        self, changes: Sequence[Mapping[str, Any]], sound: bool, errors: dict[int, Exception]
    ) -> dict[tuple[tuple[str, ...], frozenset[str]], dict[int, Mapping[str, Any]]]:
        """The cases, by which keys have other values and which are taken out; those that cannot be go among
        the errors."""
        forms: dict[Any, dict[int, Mapping[str, Any]]] = {}
        for i, values in enumerate(changes):
            try:
                held = values if sound else self._held(values)
            except Exception as error:  # whatever it is, it is told of and the others go on
                errors[i] = error
                continue
            gone = [key for key, value in held.items() if value is None] if None in held.values() else ()
            forms.setdefault((tuple(held), frozenset(gone)), {})[i] = held
        return forms

    def _held(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Values as a scenario has them; raises ScenarioError."""
        changed = self._variations.changed(values) if isinstance(values, dict) else None
        scenario = changed[0] if changed else with_values(self._scenario, values)
        places = {key: key.split(".") for key, value in values.items() if value is not None and key in FIELDS}
        held = {key: getattr(getattr(scenario, table), name) for key, (table, name) in places.items()}
        return {key: held.get(key) for key in values if key in FIELDS}

    def _write(
        self,
        cases: Cases,
        form: Form,
        numbers: NDArray[np.intp],
        columns: Mapping[str, Sequence[Any]],
        tables: dict[int, Array],
    ) -> NDArray[np.bool_]:
        """Write what of a form's cases may be other than in the scenario as it stands; which of them cannot
        be made so."""
        odd = _zeros_with_a_sign(columns, len(numbers))
        rates = Spread((), [self._rates.own], np.zeros_like(numbers))
        if form.touches(self._rates):
            rates = form.spread(self._rates, columns, rates)
        for group in [*self._groups, self._ranges]:
            if not form.touches(group):
                continue
            whole = cases.ranges if group is self._ranges else cases.parameters[group.name]
            spread = form.spread(group, columns, rates)
            odd |= spread.failed()
            block = np.empty(len(spread.made), whole.dtype)
            write(block, [group.own if isinstance(made, Exception) else made for made in spread.made], tables)
            whole[numbers] = block[spread.place]
        return odd

    def _write_alone(self, cases: Cases, i: int, values: Mapping[str, Any], tables: dict[int, Array]) -> None:
        """Write a case that is made by itself, or why it cannot be."""
        cases.parameters[i], cases.ranges[i] = self._records[0], self._records[2]
        try:
            scenario = with_values(self._scenario, values)
            made, within = core_parameters(scenario), ranges_parameters(scenario)
        except Exception as error:  # whatever it is, it is told of and the others go on
            cases.errors[i] = error
            return
        write(cases.parameters[i : i + 1], [made], tables)
        write(cases.ranges[i : i + 1], [within], tables)


def _group(name: str, make: Callable[[Scenario, Callable[[], float]], Any], scenario: Scenario) -> Group:
    """A group, with what it reads of a scenario."""
    return Group(name, make, make(scenario, Rate(scenario)), keys_read(lambda s: make(s, Rate(s)), scenario))


def _zeros_with_a_sign(columns: Mapping[str, Sequence[Any]], count: int) -> NDArray[np.bool_]:
    """In which cases a value is -0.0: it counts as the same as 0.0 and has other bits."""
    odd = np.zeros(count, bool)
    for column in columns.values():
        if 0.0 in column:
            odd |= [value == 0.0 and math.copysign(1.0, value) < 0.0 for value in column]
    return odd
