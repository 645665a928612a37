"""Parameters and workspaces as numpy records, large arrays that cases share as their handles (``shared``).

A kernel takes a record as one pointer; a tuple of a hundred numbers and arrays it would take apart at every
call, which made runs half as fast and compilation longer. Attributes read the same on both, so kernels are
annotated with the tuple and the types of their fields stay checked.
"""

import dataclasses
from functools import cache
from typing import Annotated, Any, TypeVar, cast, get_args, get_origin, get_type_hints

import numpy as np

from balltravel.core.shared import SHARED, handle_of

_Group = TypeVar("_Group")


def _items(value: Any) -> list[tuple[str, Any]]:
    """Names and values of a named tuple or a dataclass."""
    names = getattr(value, "_fields", None) or [field.name for field in dataclasses.fields(value)]
    return [(name, getattr(value, name)) for name in names]


def _is_group(item: object) -> bool:
    return isinstance(item, tuple) or dataclasses.is_dataclass(item)


def _kind_of(value: object) -> Any:
    return type(value)


@cache
def _shared_fields(kind: Any) -> frozenset[str]:
    """Names of the fields whose arrays are shared."""
    hints = get_type_hints(kind, include_extras=True)
    marked = [name for name, hint in hints.items() if get_origin(hint) is Annotated]
    return frozenset(name for name in marked if SHARED in get_args(hints[name]))


class _Kept(np.recarray[Any, Any]):
    """Records, with the shared arrays that they have handles of."""

    arrays: tuple[Any, ...] = ()


def shared_arrays(value: object) -> list[Any]:
    """All shared arrays of a group and the groups in it."""
    own = _shared_fields(_kind_of(value))
    arrays = []
    for name, item in _items(value):
        if _is_group(item):
            arrays += shared_arrays(item)
        elif name in own:
            arrays.append(item)
    return arrays


def handles_in(block: Any, value: object) -> list[Any]:
    """The columns of handles in an array of records made of groups like this one, in the order of
    ``shared_arrays``."""
    own = _shared_fields(_kind_of(value))
    columns = []
    for name, item in _items(value):
        if _is_group(item):
            columns += handles_in(block[name], item)
        elif name in own:
            columns.append(block[name])
    return columns


def record_type(value: object) -> np.dtype[Any]:
    """Record type of a named tuple or dataclass of numbers, arrays and such groups; arrays keep their shape,
    shared ones are handles."""
    fields: list[Any] = []
    own = _shared_fields(_kind_of(value))
    for name, item in _items(value):
        if name in own:
            fields.append((name, np.int64))
        elif _is_group(item):
            fields.append((name, record_type(item)))
        elif isinstance(item, np.ndarray):
            fields.append((name, item.dtype, item.shape))
        else:
            fields.append((name, np.int64 if isinstance(item, int) else np.float64))
    # Aligned: a GPU would read what may lie anywhere byte by byte.
    return np.dtype((np.record, np.dtype(fields, align=True)))


def _fill(record: Any, value: object) -> None:
    own = _shared_fields(_kind_of(value))
    for name, item in _items(value):
        if _is_group(item):
            _fill(record[name], item)
        else:
            record[name] = handle_of(item) if name in own else item


def as_record(value: _Group) -> _Group:
    """A copy of a group as one block of memory, with the same attributes; it keeps the shared arrays. What is
    a record already stays itself."""
    if isinstance(value, np.record):
        return cast(_Group, value)
    return cast(_Group, as_block(value)[0])


def as_block(value: object) -> Any:
    """The same as an array of one record, of which the fields can be looked at where they lie."""
    block = np.zeros(1, dtype=record_type(value)).view(_Kept)
    block.arrays = tuple(shared_arrays(value))
    _fill(block[0], value)
    return block
