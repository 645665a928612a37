# mypy: disallow-untyped-calls=False, disallow-untyped-decorators=False
"""The same kernels on a GPU (extra ``gpu``: numba-cuda): a thread a case, and the next case when it is done.

Every pass of a thread is one attempt of a step, so that the threads of a warp stay together; those whose cases
are alike take the same turns as well.
"""

from functools import cache
from typing import Any

import numpy as np

from balltravel.core import jit
from balltravel.core.cycles import begin
from balltravel.core.march import advance


@cache
def _cuda() -> Any:
    """numba's CUDA target, which knows our kernels."""
    from numba import cuda
    from numba.cuda.extending import intrinsic, overload, typeof_impl
    from numba.cuda.np.numpy_support import from_dtype
    from numba.cuda import types

    @cache
    def compiled(called: Any) -> Any:
        return cuda.jit(device=True)(called.plain)

    @cache
    def looked_up(shape: tuple[int, ...]) -> Any:
        record = from_dtype(np.dtype([("rows", np.float64, shape)]))

        @intrinsic
        def record_at(typing_context: Any, address: Any) -> Any:  # noqa: ARG001 - numba gives them
            def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
                return builder.inttoptr(arguments[0], context.get_value_type(signature.return_type))

            return record(types.int64), code

        return cuda.jit(device=True)(lambda handle: record_at(handle).rows)

    for kind in (jit._Kernel, jit._Formula):
        typeof_impl.register(kind)(lambda called, context: typeof_impl(compiled(called), context))
    typeof_impl.register(jit.Lookup)(lambda called, context: typeof_impl(looked_up(called.shape), context))
    return cuda


def make_kernel(work_type: Any, contact_type: Any) -> Any:
    cuda = _cuda()
    from numba.cuda.np.numpy_support import from_dtype

    work_t, contact_t = from_dtype(work_type), from_dtype(contact_type)

    def many(parameters, control, order, rows, row_bytes, events, event_bytes, taken, numbers, delivered):
        thread = cuda.grid(1)
        works = cuda.local.array(1, work_t)
        contacts = cuda.local.array(1, contact_t)
        work, contact = works[0], contacts[0]
        work.rows = rows + thread * row_bytes
        work.events = events + thread * event_bytes
        i = -1
        work.march.status = 0
        while True:
            if work.march.status >= 0:
                if i >= 0:
                    numbers[i, 0] = work.march.status
                    numbers[i, 1] = work.march.cycles
                    numbers[i, 2] = work.number[0]
                    numbers[i, 3] = work.march.steps
                    delivered[i, 0] = work.march.delivered
                    delivered[i, 1] = work.march.drift
                at = cuda.atomic.add(taken, 0, 1)
                if at >= order.shape[0]:
                    break
                i = order[at]
                begin(parameters[i], control[i], contact, work)
            else:
                advance(parameters[i], control[i], contact, work)

    return cuda, many
