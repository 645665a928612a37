"""A file that only grows: what is added is there whole, or leaves at most a cut end that its reader knows."""

import contextlib
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from balltravel.files.read_write import file_error, reach_the_disk
from balltravel.scenario.arguments import refused

LARGEST = 4 * 1024 * 1024
"""Bytes that such a file may hold."""

_FAR = 1 << 30
"""Where Windows locks a byte: nothing is there, so that others may read."""


def appended_bytes(path: Path) -> bytes:
    """What the file holds; empty where there is none. Raises ScenarioError for what is no plain file, cannot
    be read or is too large."""
    allowed = f"a text file of at most {LARGEST // 1024**2} MB"
    try:
        if not os.path.lexists(path):
            return b""
        if not path.is_file():
            raise refused(str(path), "not a plain file", allowed, "primer.log.toml")
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        given = getattr(error, "strerror", None) or str(error)
        raise refused(str(path), given, allowed, "primer.log.toml") from None
    if len(data) > LARGEST:
        raise refused(str(path), f"larger than {LARGEST // 1024**2} MB", allowed, "primer.log.toml")
    return data


def append(path: Path, made: Callable[[bytes], bytes]) -> None:
    """Add to a file what ``made`` makes of its bytes, which no other process changes meanwhile.

    What ``made`` raises leaves the file as it was, and a file that is not there unmade. Raises FileError, too
    with the file as it was.
    """
    if not appended_bytes(path):
        made(b"")
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o666)
    except (OSError, ValueError) as error:
        raise file_error("written", path, error) from None
    try:
        with _held(descriptor):
            _add(descriptor, made(appended_bytes(path)))
        reach_the_disk(path.resolve().parent)
    except OSError as error:
        raise file_error("written", path, error) from None
    finally:
        os.close(descriptor)


def _add(descriptor: int, data: bytes) -> None:
    """Write at the end in one go; where there is no room for all of it, take back what was written."""
    before = os.fstat(descriptor).st_size
    try:
        written = 0
        while written < len(data):
            written += os.write(descriptor, data[written:])
        os.fsync(descriptor)
    except OSError:
        with contextlib.suppress(OSError):
            os.ftruncate(descriptor, before)
        raise


@contextlib.contextmanager
def _held(descriptor: int) -> Iterator[None]:
    """Hold the file until the block ends; the system lets go of it when the process ends, however it ends.

    Where a file system knows no locks none is held: what two processes add is still there, for each is
    written in one go at the end.
    """
    try:
        if sys.platform == "win32":
            import msvcrt

            os.lseek(descriptor, _FAR, os.SEEK_SET)
            msvcrt.locking(descriptor, msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX)
    except (ImportError, OSError):
        pass
    yield
