# mypy: disallow-untyped-calls=False, disallow-untyped-decorators=False
# mypy: disable-error-code="import-untyped,assignment,call-overload,call-arg"
"""Compiles kernels that only other kernels call: their code is linked and optimised once, in the kernel that
Python calls.

numba makes machine code of every kernel, and optimises all that it calls along with it, at each level anew:
for some two hundred small kernels on ten levels that doubles the time of a first start.
"""

from collections.abc import Callable, Iterator
from itertools import count
from typing import Any

import llvmlite.binding as llvm
import numba
import numpy as np
from numba.core import types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import register_pass
from numba.core.lowering import Lower
from numba.core.typed_passes import BaseNativeLowering, NativeLowering
from numba.extending import intrinsic, overload
from numba.np.numpy_support import from_dtype

from balltravel.core.notices import compiled_listeners

_NUMBERS = count(1)


class _Part(JITCodeLibrary):
    """Code that waits to be linked, with all that it calls, into that of a kernel that Python calls."""

    def finalize(self) -> None:
        self._finalize_dynamic_globals()
        self._finalized = True

    def _called(self, seen: set[Any]) -> Iterator[Any]:
        for library in self._linking_libraries:
            if library not in seen:
                seen.add(library)
                yield library
                if isinstance(library, _Part):
                    yield from library._called(seen)

    def _get_module_for_linking(self) -> Any:
        if self._shared_module is None:
            whole = self._final_module.clone()
            for library in self._called({self}):
                self._reload_init.update(library._reload_init)
                own = (
                    library._final_module if isinstance(library, _Part) else library._get_module_for_linking()
                )
                whole.link_in(own, preserve=True)
            for function in whole.functions:
                if not function.is_declaration and function.linkage == llvm.Linkage.external:
                    function.linkage = "linkonce_odr"
            self._shared_module = whole
        return self._shared_module


@register_pass(mutates_CFG=True, analysis_only=False)
class _PartLowering(BaseNativeLowering):
    """numba's last step but for the machine code."""

    _name = "part_lowering"

    @property
    def lowering_class(self) -> type[Lower]:
        return Lower

    def run_pass(self, state: Any) -> bool:
        state.library = _Part(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        state.flags.no_compile = True
        changed: bool = super().run_pass(state)
        # numba knows a kernel by its entry point: any built-in function of its own will do, nobody calls it.
        nobody = list[Any]().append
        state.targetctx.insert_user_function(nobody, state["cr"].fndesc, [state.library])
        state.library.finalize()
        state["cr"] = state["cr"]._replace(cfunc=nobody)
        number = next(_NUMBERS)
        for listen in compiled_listeners:
            listen(number)
        return changed


class _PartCompiler(CompilerBase):
    """numba's compiler with that last step."""

    def define_pipelines(self) -> list[Any]:
        manager = DefaultPassBuilder.define_nopython_pipeline(self.state)
        manager.passes = [
            (_PartLowering if step is NativeLowering else step, text) for step, text in manager.passes
        ]
        manager.finalize()
        return [manager]


def part(function: Callable[..., object]) -> Any:
    """A dispatcher of a kernel for calls from other kernels."""
    wrappers = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    if getattr(numba.config, "DISABLE_JIT", 0):
        return function
    return numba.njit(nogil=True, error_model="numpy", pipeline_class=_PartCompiler, **wrappers)(function)


def array_at(shape: tuple[int, ...]) -> Any:
    """A kernel from an address to the float64 array of a shape that lies there; an array stays what it is."""
    record = from_dtype(np.dtype([("rows", np.float64, shape)]))

    @intrinsic
    def record_at(typing_context: Any, address: Any) -> Any:  # noqa: ARG001 - numba gives them
        def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            return builder.inttoptr(arguments[0], context.get_value_type(signature.return_type))

        return record(types.int64), code

    def rows(handle: Any) -> Any:
        raise NotImplementedError("a name for what follows")

    @overload(rows)
    def rows_of_kind(handle: Any) -> Any:
        def of_address(handle: Any) -> Any:
            return record_at(handle).rows

        def of_array(handle: Any) -> Any:
            return handle

        return of_address if isinstance(handle, types.Integer) else of_array

    return part(lambda handle: rows(handle))
