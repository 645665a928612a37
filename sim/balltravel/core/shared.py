"""Large arrays that many cases share: a record holds a handle of 8 bytes, the address, and not the array.

Whoever makes the handle keeps the array for as long as a kernel may read it; ``records.as_record`` does so.
"""

from typing import Annotated, Any
from weakref import WeakValueDictionary

import numpy as np
from numpy.typing import NDArray

from balltravel.core.jit import Lookup

SHARED = "shared"
Shared = Annotated[NDArray[np.float64], SHARED]
"""A field of a group of which the record has the handle alone."""

_AT: WeakValueDictionary[int, NDArray[np.float64]] = WeakValueDictionary()


def handle_of(array: NDArray[np.float64]) -> int:
    """The handle of an array, which must be kept; the array must lie in one piece, as float64."""
    if not array.flags.c_contiguous or array.dtype != np.float64:
        raise TypeError(
            f"a shared table is one piece of float64, not {array.dtype} in strides {array.strides}"
        )
    address = int(array.__array_interface__["data"][0])
    _AT[address] = array
    return address


def behind(handle: Any) -> NDArray[np.float64]:
    """The array of a handle, or the array itself where a group in plain Python has it."""
    return handle if isinstance(handle, np.ndarray) else _AT[int(handle)]


def lookup(*shape: int) -> Lookup:
    """What gives a kernel the array of a handle, as one of this shape; the first length is not looked at."""
    return Lookup(shape, behind)
