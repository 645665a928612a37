"""The one place where numba is configured.

Kernels are plain Python functions wrapped by :func:`kernel`, so that they run unchanged with
``NUMBA_DISABLE_JIT=1`` for coverage and mutation testing. numba is loaded when the first of them is called:
who only reads a scenario does not wait for a compiler.
"""

import functools
import gc
import sys
import threading
from collections.abc import Callable
from typing import Any, TypeVar, cast

from balltravel.core.cache import cache_folder

_Function = TypeVar("_Function", bound=Callable[..., object])

_LOCK = threading.RLock()


class _Kernel:
    """A function that numba compiles when it is first called, from Python or from another kernel."""

    def __init__(self, function: Callable[..., object]) -> None:
        functools.update_wrapper(self, function)
        self.plain = function
        self._compiled: Any = None
        self._inner: Any = None

    @property
    def compiled(self) -> Any:
        """numba's dispatcher for calls from Python, kept on disk; one for all threads."""
        if self._compiled is None:
            with _LOCK:
                if self._compiled is None:
                    self._compiled = _compiler()(self.plain)
        return self._compiled

    @property
    def inner(self) -> Any:
        """numba's dispatcher for calls from other kernels; one for all threads."""
        if self._inner is None:
            from balltravel.core.parts import part

            with _LOCK:
                if self._inner is None:
                    self._inner = part(self.plain)
        return self._inner

    def __call__(self, *arguments: object) -> object:
        return self.compiled(*arguments)


class Lookup:
    """What gives a kernel an array by its address, a handle (see ``shared``); in plain Python ``behind``."""

    def __init__(self, shape: tuple[int, ...], behind: Callable[[Any], Any]) -> None:
        self.shape, self._behind = shape, behind

    def __call__(self, handle: Any) -> Any:
        return self._behind(handle)

    @functools.cached_property
    def compiled(self) -> Any:
        """numba's type of it."""
        from balltravel.core.parts import array_at

        return array_at(self.shape)


class _Formula(_Kernel):
    """A kernel so small that Python calls it as it stands for as long as nothing has loaded numba."""

    def __call__(self, *arguments: object) -> object:
        return (self.compiled if "numba" in sys.modules else self.plain)(*arguments)


def _uncollected(compile_for: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """A compiler that Python's collector of garbage does not look into: it would take an eighth of the time,
    for numba makes millions of small things and keeps most of them."""

    def compile_uncollected(signature: Any) -> Any:
        collects = gc.isenabled()
        gc.disable()
        try:
            return compile_for(signature)
        finally:
            if collects:
                gc.enable()

    return compile_uncollected


@functools.cache
def _compiler() -> Callable[[Callable[..., object]], Any]:
    """numba's compiler: kept on disk, releasing the interpreter's lock. No ``fastmath``: it makes ``isnan``
    return False."""
    import numba
    from numba.extending import typeof_impl

    # What a kernel calls, numba meets as a global of its module: to it a kernel is its dispatcher.
    for kind in KINDS:
        typeof_impl.register(kind)(lambda called, context: typeof_impl(called.inner, context))
    typeof_impl.register(Lookup)(lambda called, context: called.compiled)  # noqa: ARG005
    njit = numba.njit(nogil=True, error_model="numpy")

    def compiled(function: Callable[..., object]) -> Any:
        dispatcher: Any = njit(function)
        dispatcher.compile = _uncollected(dispatcher.compile)
        return dispatcher

    if getattr(numba.config, "DISABLE_JIT", 0):
        return cast(Callable[[Callable[..., object]], Any], njit)
    folder = cache_folder()
    if folder is None:
        return compiled
    from balltravel.core.kept_code import keep_code

    setattr(numba.config, "CACHE_DIR", str(folder))  # noqa: B010 - not in numba's own types
    return lambda function: keep_code(compiled(function), folder)


def kernel(function: _Function) -> _Function:
    """``function``, compiled to machine code when it is first needed."""
    return cast(_Function, _Kernel(function))


def formula(function: _Function) -> _Function:
    """A kernel that gives the same bits as plain Python does: it calls formulas only, and its whole powers
    are products. Until numba is loaded Python runs it as it stands."""
    return cast(_Function, _Formula(function))


KINDS = (_Kernel, _Formula)
"""What a compiler meets as a kernel."""
