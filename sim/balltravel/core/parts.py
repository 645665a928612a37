# mypy: disallow-untyped-calls=False, disallow-untyped-decorators=False
# mypy: disable-error-code="import-untyped,assignment,call-overload,call-arg"
"""Compiles kernels that only other kernels call: their code is linked and optimised once, in the kernel that
Python calls.

numba makes machine code of every kernel, and optimises all that it calls along with it, at each level anew:
for some two hundred small kernels on ten levels that doubles the time of a first start.
"""

import math
from collections.abc import Callable, Iterator
from functools import partial
from itertools import count
from typing import Any

import llvmlite.binding as llvm
import numba
from numba.core import types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import register_pass
from numba.core.imputils import impl_ret_borrowed
from numba.core.lowering import Lower
from numba.core.registry import cpu_target
from numba.core.typed_passes import BaseNativeLowering, NativeLowering
from numba.extending import intrinsic
from numba.np.arrayobj import populate_array

from balltravel.core.notices import compiled_listeners

_NUMBERS = count(1)

_LEFT_OUT = frozenset(
    [
        "WithLifting",
        "InlineClosureLikes",
        "RewriteDynamicRaises",
        "MakeFunctionToJitFunction",
        "InlineInlinables",
        "FindLiterallyCalls",
        "LiteralUnroll",
        "LiteralPropagationSubPipelinePass",
        "InlineOverloads",
        "NopythonRewrites",
        "AnnotateTypes",
        "DumpParforDiagnostics",
    ]
)
"""Passes of numba's compiler for what no kernel has: closures, formulas of whole arrays, ``with``, ``raise``,
loops over tuples of mixed kinds. Each of them looks at the whole kernel anew."""


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
            (_PartLowering if step is NativeLowering else step, text)
            for step, text in manager.passes
            if step.__name__ not in _LEFT_OUT
        ]
        manager.finalize()
        return [manager]


def part(function: Callable[..., object]) -> Any:
    """A dispatcher of a kernel for calls from other kernels. None of them makes an array, so none counts
    references."""
    if getattr(numba.config, "DISABLE_JIT", 0):
        return function
    left_out = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True, "_nrt": False}
    njit = numba.njit(nogil=True, error_model="numpy", pipeline_class=_PartCompiler, **left_out)
    dispatcher = njit(function)
    dispatcher.get_call_template = partial(_for_any_number, dispatcher.get_call_template)
    return dispatcher


def _for_any_number(template: Callable[..., Any], given: tuple[Any, ...], named: dict[str, Any]) -> Any:
    """How numba comes to the kernel for arguments of these types: one for all whole numbers, and not another
    for each that stands in the code."""
    return template(tuple(map(_any_number, given)), {name: _any_number(kind) for name, kind in named.items()})


def _any_number(kind: Any) -> Any:
    return types.unliteral(kind) if isinstance(kind, types.IntegerLiteral) else kind


def array_at(shape: tuple[int, ...]) -> Any:
    """numba's type of what kernels call to come from an address to the float64 array of a shape that lies
    there; an array stays what it is."""
    strides = [8 * math.prod(shape[k + 1 :]) for k in range(len(shape))]

    @intrinsic
    def rows_at(typing_context: Any, handle: Any) -> Any:  # noqa: ARG001 - numba gives them
        def there(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            array, number = (
                context.make_array(signature.return_type)(context, builder),
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

        def itself(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            return impl_ret_borrowed(context, builder, signature.return_type, arguments[0])

        if isinstance(handle, types.Array):
            return handle(handle), itself
        return types.NestedArray(types.float64, shape)(types.int64), there

    known = cpu_target.typing_context
    known.refresh()
    return known.resolve_value_type(rows_at)
