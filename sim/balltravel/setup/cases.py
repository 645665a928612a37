"""Many cases of one scenario, as arrays of the records that the core takes.

A case costs what its changed keys reach: a group of Parameters (``setup/parameters.py:GROUPS``) that reads
none of them has the bytes of the scenario as it stands. The records are those of ``core_parameters`` and
``control_for``, bit for bit (tests/setup/test_cases.py).
"""

from collections.abc import Mapping, Sequence
from functools import cache, partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.excursions import Ranges
from balltravel.core.parameters import Array, Control, Parameters
from balltravel.core.records import as_record, record_type, shared_arrays
from balltravel.core.shared import handle_of
from balltravel.scenario.changes import Variations
from balltravel.scenario.model import Scenario, with_values
from balltravel.setup.parameters import (
    GROUPS,
    MAX_CYCLES,
    MOST_STEPS,
    RTOL,
    Rate,
    control_for,
    core_parameters,
)
from balltravel.setup.ranges import ranges_parameters
from balltravel.setup.reads import keys_read

Records = NDArray[Any]


class Cases(NamedTuple):
    """Records of Parameters, Control and Ranges, one a case in the order of the changes; by their number the
    errors of those that cannot be, whose records are those of the scenario as it stands; the tables that
    the records have handles of; and the parameters that the records are made like."""

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
        self._control_of = partial(control_for, rtol=rtol, max_cycles=max_cycles, most_steps=most_steps)
        self._parameters = core_parameters(scenario)
        control = self._control_of(self._parameters)
        self._ranges = ranges_parameters(scenario)
        self._records = as_record(self._parameters), as_record(control), as_record(self._ranges)
        self._tables = shared_arrays(self._parameters)
        self._types = record_type(self._parameters), record_type(control), record_type(self._ranges)
        self._keys_of_ranges = keys_read(ranges_parameters, scenario)
        self._reads = {name: keys_read(partial(_made, name), scenario) for name in GROUPS}
        self._touched = cache(self._groups_reading)

    def make(self, changes: Sequence[Mapping[str, Any]]) -> Cases:
        """The cases of these changes: dotted key -> SI value; None takes the key out. What happens to one
        case touches no other."""
        count, errors = len(changes), dict[int, Exception]()
        parameters, control, ranges = (np.empty(count, dtype=kind) for kind in self._types)
        parameters[:], control[:], ranges[:] = self._records
        whole = _Fields(parameters, self._parameters)
        columns = [control[name] for name in Control._fields]
        for i, values in enumerate(changes):
            try:
                made, within = self._case(values)
                run = self._control_of(made)
            except Exception as error:  # whatever it is, it is told of and the others go on
                errors[i] = error
                continue
            whole.write(i, made, self._parameters)
            for column, value in zip(columns, run, strict=True):
                column[i] = value
            if within is not self._ranges:
                ranges[i] = as_record(within)
        return Cases(parameters, control, ranges, errors, (*self._tables, *whole.tables()), self._parameters)

    def _case(self, values: Mapping[str, Any]) -> tuple[Parameters, Ranges]:
        """What the core takes of a case; groups that nothing touches are those of the scenario as it
        stands."""
        changed = self._variations.changed(values) if isinstance(values, dict) else None
        if changed is None:
            scenario = with_values(self._scenario, values)
            return core_parameters(scenario), ranges_parameters(scenario)
        scenario, keys = changed
        rate = Rate(scenario)
        touched = {name: GROUPS[name](scenario, rate) for name in self._touched(keys)}
        within = ranges_parameters(scenario) if keys & self._keys_of_ranges else self._ranges
        return self._parameters._replace(**touched), within

    def _groups_reading(self, keys: frozenset[str]) -> tuple[str, ...]:
        return tuple(name for name, read in self._reads.items() if read & keys)


def _made(name: str, scenario: Scenario) -> object:
    """A group by itself, with whatever it asks of the scenario."""
    return GROUPS[name](scenario, Rate(scenario))


class _Fields:
    """The fields of a group in an array of records."""

    def __init__(self, block: Records, group: Any) -> None:
        self._arrays, self._numbers, self._groups = [], [], []
        self._tables: dict[int, Array] = {}
        for k, (name, item) in enumerate(zip(group._fields, group, strict=True)):
            if isinstance(item, np.ndarray):
                self._arrays.append((k, block[name]))
            elif isinstance(item, tuple):
                self._groups.append((k, _Fields(block[name], item)))
            else:
                self._numbers.append((k, block[name]))

    def write(self, i: int, made: Any, before: Any) -> None:
        """Write a group into record ``i``, which has the bytes of the one ``before``."""
        for k, handles in self._arrays:
            if made[k] is not before[k]:
                handles[i] = handle_of(made[k])
                self._tables[handles[i]] = made[k]
        for k, column in self._numbers:
            column[i] = made[k]
        for k, fields in self._groups:
            if made[k] is not before[k]:
                fields.write(i, made[k], before[k])

    def tables(self) -> list[Array]:
        """All shared arrays that were written as handles."""
        return [*self._tables.values(), *(table for _, fields in self._groups for table in fields.tables())]
