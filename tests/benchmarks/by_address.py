"""Kernels by the address of the block that they work in: other solvers take a function of numbers and arrays,
and numba takes ten times as long to hand over a record as a number.
"""

from typing import Any

import numba
import numpy as np
from numba import types
from numba.extending import intrinsic

FROM_C = types.void(types.double, types.CPointer(types.double), types.CPointer(types.double), types.voidptr)
"""Time, states, their rates, and the address of what else is needed: what solvers in C call."""


@intrinsic
def pointer(typing_context: Any, address: Any) -> Any:  # noqa: ARG001 - numba gives them
    """An address as a pointer."""

    def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return builder.inttoptr(arguments[0], context.get_value_type(signature.return_type))

    return types.voidptr(types.int64), code


def address_of(block: Any) -> int:
    """Where a block lies, which must be kept."""
    return int(block.__array_interface__["data"][0])


def from_python(kernel: Any, kind: np.dtype[Any]) -> Any:
    """A kernel of (record of that kind, time, states, out) as a function of (address, time, states, out)."""

    @numba.njit(nogil=True, error_model="numpy")
    def call(address: int, t: float, u: Any, out: Any) -> None:
        kernel(numba.carray(pointer(address), (1,), kind)[0], t, u, out)

    return call


def from_c(kernel: Any, kind: np.dtype[Any], states: int) -> Any:
    """The same for a solver in C; its ``address`` is what that is given."""

    @numba.cfunc(FROM_C, error_model="numpy")
    def call(t: float, u: Any, out: Any, address: Any) -> None:
        record = numba.carray(address, (1,), kind)[0]
        kernel(record, t, numba.carray(u, (states,)), numba.carray(out, (states,)))

    return call
