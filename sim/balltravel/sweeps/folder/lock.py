"""One run at a time in a folder. The system lets go of the lock when the process ends, however it ends."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NAME = ".lock"

_held: set[str] = set()
"""Folders locked by this process: the system tells apart processes, not the threads of one."""


class HeldError(Exception):
    """Another run holds the folder."""


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold a folder; raises HeldError, or OSError where the lock's file cannot be made. Its file stays.

    Where a file system knows no locks none is held: two runs then do the same work twice and write the same.
    """
    place = os.path.realpath(folder)
    if place in _held:
        raise HeldError
    descriptor = os.open(folder / NAME, os.O_RDWR | os.O_CREAT, 0o666)
    _held.add(place)
    try:
        _take(descriptor)
        yield
    finally:
        _held.discard(place)
        os.close(descriptor)


def _take(descriptor: int) -> None:
    """Lock the file for this process alone: a forked child must not hold it after this process is killed."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.lockf(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        raise HeldError from None
    except (ImportError, OSError):
        return
