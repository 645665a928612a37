"""A group of many cases, made once for each set of values that it reads, and written as columns.

A group is made from a scenario in which those of the changed keys alone have values that the group is known
to read. One that asks for another, for its way may depend on a value, is made anew with more of them: so no
two cases share a group that is not the same for both.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.parameters import Array
from balltravel.core.shared import handle_of
from balltravel.scenario.changes import Partly, Variations
from balltravel.scenario.model import Scenario
from balltravel.setup.reads import keys_read

Records = NDArray[Any]
Columns = Mapping[str, Sequence[Any]]
"""Key -> its values, one a case."""

Rate = Callable[[], float]
"""Gives the cycle rate [1/s] of a case to who asks for it."""


class Group(NamedTuple):
    """A group, what makes it of a scenario and a function that gives its cycle rate, what it is in the
    scenario as it stands, and the keys that it reads of that."""

    name: str
    make: Callable[[Scenario, Rate], Any]
    own: Any
    read: frozenset[str]


class Spread(NamedTuple):
    """What was made of the values of ``keys``: each group once, an exception where it cannot be, and which
    one each case has."""

    keys: tuple[str, ...]
    made: list[Any]
    place: NDArray[np.intp]

    def of(self, case: int) -> Any:
        """What a case has; raises the exception if it is one."""
        made = self.made[self.place[case]]
        if isinstance(made, Exception):
            raise made
        return made

    def failed(self) -> NDArray[np.bool_]:
        """Of which cases it cannot be made."""
        return np.array([isinstance(made, Exception) for made in self.made])[self.place]


class Form:
    """Cases in which the same ``keys`` have other values, of which those ``gone`` are taken out."""

    def __init__(self, variations: Variations, keys: tuple[str, ...], gone: frozenset[str]) -> None:
        self._with = partial(Partly, variations, keys, gone)
        self._whole = self._with(frozenset(keys))
        self._known: dict[str, Partly] = {}

    def touches(self, group: Group) -> bool:
        """Whether a group may be another in these cases."""
        return bool(group.read & self._whole.changed)

    def spread(self, group: Group, columns: Columns, rates: Spread) -> Spread:
        """A group of all cases, which have these cycle rates."""
        if group.name not in self._known:
            self._known[group.name] = self._with(group.read)
        while True:
            partly = self._known[group.name]
            rows = _rows(columns, partly.keys, len(rates.place))
            first: dict[tuple[Any, ...], int] = {}
            for case, row in enumerate(rows):
                first.setdefault(row, case)
            made: list[Any] = []
            for row, case in first.items():
                try:
                    made.append(group.make(partly.scenario(row), _rate(rates, case, partly)))
                except Exception as error:  # whatever it is, it is told of and the others go on
                    if isinstance(error, AttributeError) and partly is not self._whole:
                        self._learn(group, columns, rates, case)
                        break
                    made.append(error)
            else:
                number = {row: i for i, row in enumerate(first)}
                return Spread(partly.keys, made, np.array([number[row] for row in rows], np.intp))

    def _learn(self, group: Group, columns: Columns, rates: Spread, case: int) -> None:
        """Find out which keys a group reads in a case, beside those known; all, where that brings nothing."""
        known, whole = self._known[group.name], self._whole
        scenario = whole.scenario([columns[key][case] for key in whole.keys])
        try:
            read = keys_read(lambda s: group.make(s, lambda: float(rates.of(case))), scenario)
        except Exception:  # it will fail in this case and be told then
            read = frozenset()
        more = self._with(read | {*known.keys, *rates.keys})
        self._known[group.name] = more if {*more.keys} - {*known.keys} else whole


def _rows(columns: Columns, keys: Sequence[str], count: int) -> list[tuple[Any, ...]]:
    """The values of some keys, case by case."""
    return list(zip(*(columns[key] for key in keys), strict=True)) if keys else [()] * count


def _rate(rates: Spread, case: int, partly: Partly) -> Rate:
    """What gives a group its cycle rate, if all that this hangs on is among what the group reads."""

    def rate() -> float:
        if not {*rates.keys} <= {*partly.keys}:
            raise AttributeError("cycle rate")
        return float(rates.of(case))

    return rate


def write(block: Records, groups: Sequence[Any], tables: dict[int, Array]) -> None:
    """Write groups into as many records, column by column; shared arrays go into ``tables`` by handle."""
    names = getattr(groups[0], "_fields", None)
    if names is None:
        block[...] = groups
        return
    for k, name in enumerate(names):
        items = [group[k] for group in groups]
        if isinstance(items[0], tuple):
            write(block[name], items, tables)
        elif isinstance(items[0], np.ndarray) and block[name].ndim == 1:
            arrays = {id(item): item for item in items}
            handles = {of: handle_of(item) for of, item in arrays.items()}
            tables.update((handles[of], item) for of, item in arrays.items())
            block[name] = [handles[id(item)] for item in items]
        else:
            block[name] = items
