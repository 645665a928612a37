"""Where the compiled core is kept, and whether it is there."""

import hashlib
import os
import tempfile
from functools import cache
from importlib.metadata import version
from pathlib import Path

ENTRY = "cycles.run-*.nbi"
"""numba's index of the kernel that compiles last: it calls all others."""


def _sources_digest() -> str:
    """Digest of the core, where all kernels are.

    numba's disk cache does not see an edit in another file than the one that holds the kernel.
    """
    digest = hashlib.sha256(version("numba").encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


@cache
def cache_folder() -> Path:
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


def is_compiled() -> bool:
    """Whether a run starts at once: the core lies compiled in its folder, or is not to be compiled at all."""
    import numba

    return bool(getattr(numba.config, "DISABLE_JIT", 0)) or any(cache_folder().rglob(ENTRY))
