"""Where the compiled core is kept, and whether it is there."""

import hashlib
import os
import re
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from importlib.metadata import version
from pathlib import Path

from balltravel.core.notices import notice

ENTRY = "batch.run_batch-*.nbi"
"""numba's index of the kernel that runs cases, in which all others are."""

UNUSED_DAYS = 30
"""Days after which code compiled from other sources, which nobody has used meanwhile, is removed."""

OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH


def _sources_digest() -> str:
    """Digest of the core, where all kernels are.

    numba's disk cache does not see an edit in another file than the one that holds the kernel.
    """
    digest = hashlib.sha256(version("numba").encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _places() -> Iterator[Path]:
    """Where the program may have its folder: in numba's, if one is asked for, or the user's cache; else in
    the system's temporary place, where anybody may have made a folder of that name before."""
    asked = os.environ.get("NUMBA_CACHE_DIR") or os.environ.get("XDG_CACHE_HOME")
    with suppress(RuntimeError):  # a user without a home
        yield Path(asked or Path.home() / ".cache") / "balltravel"
    user = os.getuid() if hasattr(os, "getuid") else "user"
    with suppress(OSError):  # none that can be written, as on a full disk
        yield Path(tempfile.gettempdir()) / f"balltravel-{user}"


def _make_own(folder: Path) -> None:
    """Make the folder, for this user alone, unless it is there. Raises OSError for one to which somebody else
    may write: numba executes what lies in it."""
    with suppress(FileExistsError):
        folder.mkdir(mode=0o700)
    there = folder.lstat()
    if not stat.S_ISDIR(there.st_mode):
        raise OSError(0, "it is a link" if stat.S_ISLNK(there.st_mode) else "it is no folder")
    # Windows has neither users by number nor these rights; both places lie in the user's own profile there.
    if hasattr(os, "getuid") and there.st_uid != os.getuid():
        raise OSError(0, "it belongs to another user")
    if hasattr(os, "getuid") and there.st_mode & OTHERS_WRITE:
        raise OSError(0, "others may write to it")
    if not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
        raise OSError(0, "it cannot be read and written")


def _remove_unused(place: Path) -> None:
    """Remove code of other sources that was not used for UNUSED_DAYS."""
    oldest = time.time() - 86400.0 * UNUSED_DAYS
    for other in place.iterdir():
        with suppress(OSError):
            if re.fullmatch("[0-9a-f]{16}", other.name) and other.lstat().st_mtime < oldest:
                shutil.rmtree(other, ignore_errors=True)


@cache
def cache_folder() -> Path | None:
    """Folder of the user's own for code that is compiled from these sources, made if need be.

    None where there is none; that is said once, and the core is then compiled anew in every run.
    """
    reasons = []
    for place in _places():
        folder = place / _sources_digest()
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
            _make_own(place)
            is_new = not folder.exists()
            _make_own(folder)
            os.utime(folder)
            if is_new:
                _remove_unused(place)
        except OSError as error:
            reasons.append(f"{place}: {error.strerror}")
        else:
            return folder
    notice(f"the compiled core cannot be kept, every run compiles it anew ({'; '.join(reasons)})")
    return None


def is_compiled() -> bool:
    """Whether a run starts at once: the core lies compiled in its folder, or is not to be compiled at all."""
    import numba

    if getattr(numba.config, "DISABLE_JIT", 0):
        return True
    folder = cache_folder()
    return folder is not None and any(folder.rglob(ENTRY))
