"""Parameters and workspaces as numpy records.

A kernel takes a record as one pointer; a tuple of a hundred numbers and arrays it would take apart at every
call, which made runs half as fast and compilation longer. Attributes read the same on both, so kernels are
annotated with the tuple and the types of their fields stay checked.
"""

import dataclasses
from typing import Any, TypeVar, cast

import numpy as np

_Group = TypeVar("_Group")


def _items(value: Any) -> list[tuple[str, Any]]:
    """Names and values of a named tuple or a dataclass."""
    names = getattr(value, "_fields", None) or [field.name for field in dataclasses.fields(value)]
    return [(name, getattr(value, name)) for name in names]


def _is_group(item: object) -> bool:
    return isinstance(item, tuple) or dataclasses.is_dataclass(item)


def record_type(value: object) -> np.dtype[Any]:
    """Record type of a named tuple or dataclass of numbers, arrays and such groups; arrays keep shape."""
    fields: list[Any] = []
    for name, item in _items(value):
        if _is_group(item):
            fields.append((name, record_type(item)))
        elif isinstance(item, np.ndarray):
            fields.append((name, item.dtype, item.shape))
        else:
            fields.append((name, np.int64 if isinstance(item, int) else np.float64))
    return np.dtype((np.record, fields))


def _fill(record: Any, value: object) -> None:
    for name, item in _items(value):
        if _is_group(item):
            _fill(record[name], item)
        else:
            record[name] = item


def as_record(value: _Group) -> _Group:
    """A copy of a group as one block of memory, with the same attributes."""
    record = np.zeros(1, dtype=record_type(value)).view(np.recarray)[0]
    _fill(record, value)
    return cast(_Group, record)
