# mypy: disallow-untyped-calls=False
"""Compiled kernels on disk: numba's cache, in which damage and a full disk stop no run.

numba lets both through as they come, a damaged file as whatever its bytes make of the loader. Here every file
of machine code ends in the digest of its bytes, so that none of it runs that is not as it was written.
"""

import hashlib
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from numba.core.caching import (
    CompileResultCacheImpl,
    FunctionCache,
    IndexDataCacheFile,
    UserProvidedCacheLocator,
)

from balltravel.core.notices import notice

DAMAGED = "the compiled core on disk is damaged: it is compiled anew, in ten seconds to a minute ..."
_DIGEST = 32


class _Place(CompileResultCacheImpl):
    """The folder that was chosen; numba would look for others, in which anybody may write."""

    _locator_classes: list[type[object]] = [UserProvidedCacheLocator]  # noqa: RUF012 - as numba has it


class _SealedFiles(IndexDataCacheFile):
    """numba's files, each with the digest of its pickle behind it, which a loader does not look at."""

    def _dump(self, obj: Any) -> bytes:
        pickled: bytes = super()._dump(obj)
        return pickled + hashlib.sha256(pickled).digest()

    def _load_data(self, name: str) -> Any:
        data = Path(self._data_path(name)).read_bytes()
        if hashlib.sha256(data[:-_DIGEST]).digest() != data[-_DIGEST:]:
            raise ValueError("its bytes do not match their digest")
        return super()._load_data(name)


class _KeptCode(FunctionCache):
    """The compiled code of a kernel on disk, if it is sound."""

    _impl_class = _Place

    def __init__(self, function: Callable[..., object]) -> None:
        super().__init__(function)
        numbas: Any = self._cache_file
        self._cache_file = _SealedFiles(self._cache_path, self._impl.filename_base, numbas._source_stamp)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        try:
            return super().load_overload(sig, target_context)
        except Exception:  # damaged bytes raise anything
            notice(DAMAGED)
            with suppress(OSError):
                Path(self._cache_file._index_path).unlink()
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        try:
            super().save_overload(sig, data)
        except Exception as error:
            self.disable()
            tell_not_kept(self._cache_path, error)


def tell_not_kept(folder: str | Path, error: BaseException) -> None:
    """Say why the core is compiled anew next time."""
    reason = getattr(error, "strerror", None) or type(error).__name__
    notice(f"the compiled core cannot be kept, every run compiles it anew ({folder}: {reason})")


def keep_code(dispatcher: Any, folder: Path) -> Any:
    """The kernel, whose code is kept in the folder (that of ``numba.config``) as far as that can be done."""
    try:
        dispatcher._cache = _KeptCode(dispatcher.py_func)
    except Exception as error:  # numba cannot write there, or is another than the one known here
        tell_not_kept(folder, error)
    return dispatcher
