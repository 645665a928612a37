# mypy: disallow-untyped-calls=False, disallow-untyped-decorators=False
# mypy: disable-error-code="import-untyped,attr-defined,call-arg"
"""The same kernels on a GPU (extra ``gpu``: numba-cuda): a thread a case, a warp of threads the next cases.

Every pass of a thread is one attempt of a step, and the threads of a warp begin, measure and end their cases
together. Those whose cases are alike take about the same turns, which is why cases are sorted. Two batches
share a GPU: while one waits for its last cases, the other's threads work.
"""

import ctypes
import math
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache, partial
from queue import Queue
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core import jit
from balltravel.core.batch import conclude
from balltravel.core.cycles import begin
from balltravel.core.march import make_ready, step_on
from balltravel.core.recording import COLUMNS, EVENT_COLUMNS
from balltravel.core.records import record_type
from balltravel.core.shared import behind
from balltravel.core.workspace import MOST_EVENTS, make_contact, make_workspace

THREADS_A_BLOCK = 64
REGISTERS, BATCHES_AT_ONCE, THREADS_AT_ONCE = 128, 2, 256
"""Registers of a thread at most; batches that share a GPU, and threads of each on a multiprocessor, which
holds 512 at once with so many registers."""

WHOLE_WARP = 0xFFFFFFFF
"""All threads of a warp are asked."""

CALLED = frozenset(
    [
        "moment",
        "check_at",
        "line_loss",
        "narrow_flow",
        "respond",
        "keep_row",
        "measure",
        "measure_check",
        "excursions",
        "hold",
        "begin",
        "conclude",
        "guards",
        "assemble",
        "derivatives",
    ]
)
"""Kernels that are called and not copied to where they are called from: a GPU reads its instructions more
slowly than it carries them out."""

MOST_ROWS_KEPT = 2048
"""Rows of a cycle that a thread has room for; a case with more is left to the host."""

SHARE_OF_MEMORY = 0.7
"""Of a GPU's free memory, for rows and events (our choice)."""

ROW_BYTES, EVENT_BYTES = 8 * len(COLUMNS), 8 * EVENT_COLUMNS


_MAKING = threading.Lock()


class NoGpuError(Exception):
    """There is no GPU that can be used; the message says why and what to do."""


@cache
def _cuda() -> Any:
    """numba's CUDA target, which knows our kernels and our handles of tables."""
    try:
        from numba import cuda
        from numba.cuda import types
        from numba.cuda.descriptor import cuda_target
        from numba.cuda.extending import intrinsic, typeof_impl
        from numba.cuda.np.arrayobj import populate_array
    except ImportError as error:
        raise NoGpuError("numba-cuda is not installed: pip install 'balltravel[gpu]'") from error

    @cache
    def compiled(called: Any) -> Any:
        dispatcher = cuda.jit(device=True)(called.plain)
        if called.__name__ in CALLED:
            _keep_apart(dispatcher)
        return dispatcher

    @cache
    def looked_up(shape: tuple[int, ...]) -> Any:
        kind = types.Array(types.float64, len(shape), "C")
        strides = [8 * math.prod(shape[k + 1 :]) for k in range(len(shape))]

        @intrinsic
        def rows_at(typing_context: Any, handle: Any) -> Any:  # noqa: ARG001 - numba gives them
            def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:  # noqa: ARG001
                array, number = (
                    context.make_array(kind)(context, builder),
                    partial(context.get_constant, types.intp),
                )
                populate_array(
                    array,
                    data=builder.inttoptr(arguments[0], array.data.type),
                    shape=[number(length) for length in shape],
                    strides=[number(stride) for stride in strides],
                    itemsize=number(8),
                    meminfo=None,
                )
                return array._getvalue()

            return kind(types.int64), code

        cuda_target.typing_context.refresh()
        return cuda_target.typing_context.resolve_value_type(rows_at)

    for kind in jit.KINDS:
        typeof_impl.register(kind)(lambda called, context: typeof_impl(compiled(called), context))
    typeof_impl.register(jit.Lookup)(lambda called, context: looked_up(called.shape))  # noqa: ARG005
    return cuda


def _keep_apart(dispatcher: Any) -> None:
    """See to it that a kernel is called and not copied."""
    compile_device = dispatcher.compile_device

    def compile_apart(*arguments: Any) -> Any:
        result = compile_device(*arguments)
        for function in result.library._module.functions:
            if not function.is_declaration:
                function.attributes.add("noinline")
        return result

    dispatcher.compile_device = compile_apart


def entry() -> Callable[..., None]:
    """The function that a GPU runs: each warp takes the next cases in ``order`` until none is left."""
    cuda = _cuda()
    from numba.cuda.np.numpy_support import from_dtype

    work_type, contact_type = (from_dtype(record_type(make())) for make in (_small_workspace, make_contact))

    def run_cases(
        parameters: Any, control: Any, ranges: Any, order: Any, taken: Any, rows: int, events: int,
        most_rows: int, outcomes: Any,
    ) -> None:  # fmt: skip
        works, contacts = cuda.local.array(1, work_type), cuda.local.array(1, contact_type)
        work, contact, thread = works[0], contacts[0], cuda.grid(1)
        work.rows = rows + thread * most_rows * ROW_BYTES
        work.events = events + thread * MOST_EVENTS * EVENT_BYTES
        while True:
            place = cuda.atomic.add(taken, 0, 1)
            has_case = place < order.shape[0]
            if not cuda.any_sync(WHOLE_WARP, has_case):
                break
            case = order[place] if has_case else 0
            work.march.status = 0
            if has_case:
                begin(parameters[case], control[case], contact, work)
            # All threads of the warp make their attempts together, end them together, and measure together:
            # one that measured alone would keep the others waiting for longer than its cases differ.
            while cuda.any_sync(WHOLE_WARP, work.march.status < 0):
                if work.march.status < 0:
                    make_ready(parameters[case], control[case], contact, work)
                cuda.syncwarp()
                if work.march.status < 0:
                    step_on(parameters[case], control[case], contact, work)
                cuda.syncwarp()
            if has_case:
                conclude(parameters[case], ranges[case], work, outcomes[case])
            cuda.syncwarp()

    return run_cases


def _small_workspace() -> Any:
    return make_workspace(1, 1)


class _Room:
    """Arrays on a GPU for what a batch brings along. They are kept for the next batch: to give memory back
    waits for all that the GPU is doing."""

    def __init__(self) -> None:
        self._kept: dict[str, Any] = {}

    def filled(self, name: str, values: NDArray[Any], stream: Any) -> Any:
        """The array of a name with these values; ``values`` must last until the stream has come so far."""
        kept = self._kept.get(name)
        if kept is None or kept.dtype != values.dtype or kept.size < values.size:
            kept = self._kept[name] = _cuda().device_array(values.size, values.dtype)
        part = kept[: values.size]
        part.copy_to_device(values, stream=stream)
        return part


class _Share(NamedTuple):
    """A batch's share of a GPU: the kernel, the order of its work, and the room that its threads have."""

    number: int
    kernel: Any
    stream: Any
    threads: int
    most_rows: int
    rows: Any
    events: Any
    room: _Room


@cache
def _shares() -> "Queue[_Share]":
    """The shares of this machine's GPUs, each in use by one batch at a time, those of one GPU not in turn."""
    count, cuda, free = gpus(), _cuda(), Queue[_Share]()
    kernel = cuda.jit(max_registers=REGISTERS)(entry())
    each = MOST_ROWS_KEPT * ROW_BYTES + MOST_EVENTS * EVENT_BYTES
    room_for = []
    for number in range(count):
        with cuda.gpus[number]:
            memory = SHARE_OF_MEMORY / BATCHES_AT_ONCE * cuda.current_context().get_memory_info()[0]
            most = THREADS_AT_ONCE * cuda.get_current_device().MULTIPROCESSOR_COUNT
            threads = min(most, int(memory / each))
            room_for.append(threads - threads % THREADS_A_BLOCK)
    for number in [*range(count)] * BATCHES_AT_ONCE:
        with cuda.gpus[number]:
            threads = room_for[number]
            rows = cuda.device_array(threads * MOST_ROWS_KEPT * len(COLUMNS))
            events = cuda.device_array(threads * MOST_EVENTS * EVENT_COLUMNS)
            stream = cuda.stream()
            free.put(_Share(number, kernel, stream, threads, MOST_ROWS_KEPT, rows, events, _Room()))
    return free


def gpus() -> int:
    """How many GPUs this machine has; raises NoGpuError where none can be used."""
    if not _has_driver():
        raise NoGpuError("no NVIDIA GPU with a driver is found on this machine")
    cuda = _cuda()
    if not cuda.is_available():
        raise NoGpuError("the driver of this machine's NVIDIA GPU does not do for CUDA 13")
    return len(cuda.gpus)


def _has_driver() -> bool:
    """Whether the driver's library is there: without it there is nothing to install for."""
    try:
        ctypes.CDLL("nvcuda.dll" if sys.platform == "win32" else "libcuda.so.1")
    except OSError:
        return False
    return True


def gpu_there() -> bool:
    """Whether this machine has a GPU that can be used."""
    try:
        return gpus() > 0
    except NoGpuError:
        return False


@contextmanager
def _one_share() -> Iterator[_Share]:
    with _MAKING:
        free = _shares()
    share = free.get()
    try:
        with _cuda().gpus[share.number]:
            yield share
    finally:
        free.put(share)


def alike(parameters: NDArray[Any]) -> NDArray[np.int64]:
    """An order in which neighbours are alike: the same tables, then about the same viscosity, rate and
    travel."""
    checks, material = parameters["inlet"], parameters["material"]
    return np.lexsort(
        (
            checks["travel"],
            parameters["drive"]["period"],
            material["rheology"]["viscosity"],
            parameters["piston"]["table"],
            checks["table"],
            material["rheology"]["table"],
            parameters["more"],
        )
    ).astype(np.int64)


def _with_tables(
    parameters: NDArray[Any], handles: Callable[[NDArray[Any]], list[NDArray[np.int64]]], share: _Share
) -> tuple[NDArray[Any], NDArray[np.float64]]:
    """The records with handles of the tables on the GPU, and those tables, which go there in one piece."""
    moved = parameters.copy()
    columns = handles(moved)
    given = np.stack(columns)
    addresses, where = np.unique(given, return_inverse=True)
    tables = [behind(address).ravel() for address in addresses]
    starts = np.concatenate(([0], np.cumsum([table.size for table in tables])))
    in_one = np.concatenate(tables)
    at = _address(share.room.filled("tables", in_one, share.stream)) + 8 * starts[:-1]
    for column, places in zip(columns, where.reshape(given.shape), strict=True):
        column[:] = at[places]
    return moved, in_one


def _address(array: Any) -> int:
    return int(array.__cuda_array_interface__["data"][0])


def run_batch(
    parameters: NDArray[Any],
    control: NDArray[Any],
    ranges: NDArray[Any],
    handles: Callable[[NDArray[Any]], list[NDArray[np.int64]]],
    outcomes: NDArray[Any],
) -> NDArray[np.bool_]:
    """As ``batch.run_batch``, on a GPU that is free; where the result is True the case did not fit there and
    is left to the host. ``handles``: the columns of an array of parameters that are handles. Raises
    NoGpuError.
    """
    order = alike(parameters)
    with _one_share() as share:
        moved, tables = _with_tables(parameters, handles, share)
        short = control.copy()
        # A step onto an event keeps one row more.
        short["most_rows"] = np.minimum(control["most_rows"], share.most_rows - 1)
        brought = {
            "parameters": moved,
            "control": short,
            "ranges": ranges,
            "order": order,
            "taken": np.zeros(1, np.int64),
            "outcomes": outcomes,
        }
        *given, out = (share.room.filled(name, values, share.stream) for name, values in brought.items())
        blocks = min(share.threads // THREADS_A_BLOCK, -(-order.size // THREADS_A_BLOCK))
        share.kernel[blocks, THREADS_A_BLOCK, share.stream](
            *given, _address(share.rows), _address(share.events), share.most_rows, out
        )
        out.copy_to_host(outcomes, stream=share.stream)
        share.stream.synchronize()
        del tables  # the stream is done with them
    return left_to_host(control, outcomes, share.most_rows - 1)


def left_to_host(control: NDArray[Any], outcomes: NDArray[Any], most_rows: int) -> NDArray[np.bool_]:
    """Where a case ended for want of room, or of steps that it may have by the room."""
    from balltravel.core.status import Status

    status, limited = outcomes["status"], control["most_rows"] > most_rows
    ended = (status == Status.NOT_PERIODIC) & (outcomes["cycles"] < control["max_cycles"])
    full = (status == Status.TOO_MANY_STEPS) | (status == Status.TOO_MANY_EVENTS)
    return np.asarray(limited & (full | ended))
