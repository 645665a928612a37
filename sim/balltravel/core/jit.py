"""The one place where numba is configured.

Kernels are plain Python functions wrapped by :func:`kernel`, so that they run unchanged with
``NUMBA_DISABLE_JIT=1`` for coverage and mutation testing.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar, cast

import numba

_Function = TypeVar("_Function", bound=Callable[..., object])


def _sources_digest() -> str:
    """Digest of this file and the core, where all kernels are.

    numba's disk cache does not see an edit in another file than the one that holds the kernel.
    """
    digest = hashlib.sha256(numba.__version__.encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> Path:
    """First folder that can be written: numba's, if one is asked for, the user's cache, or the system's
    temporary one; in it one for these sources."""
    asked = os.environ.get("NUMBA_CACHE_DIR")
    wanted = Path(asked or os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    user = os.getuid() if hasattr(os, "getuid") else 0
    for root in (wanted, Path(tempfile.gettempdir()) / f"cache-{user}"):
        folder = root / "balltravel" / _sources_digest()
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return Path(tempfile.mkdtemp(prefix="balltravel-"))


setattr(numba.config, "CACHE_DIR", str(_cache_folder()))  # noqa: B010 - not in numba's own types


def kernel(function: _Function) -> _Function:
    """Compile ``function`` to machine code, cached on disk, releasing the interpreter's lock.

    No ``fastmath``: it makes ``isnan`` return False.
    """
    return cast(_Function, numba.njit(cache=True, nogil=True, error_model="numpy")(function))
