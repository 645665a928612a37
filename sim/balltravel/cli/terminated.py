"""The signal with which systems end a process, heard as an interrupt."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def terminated_as_interrupted() -> Iterator[None]:
    """While it lasts, the first SIGTERM is a KeyboardInterrupt; the second one ends the process as usual."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    usual: Any = signal.getsignal(signal.SIGTERM)

    def interrupt(*_: Any) -> None:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, usual if usual is not None else signal.SIG_DFL)
