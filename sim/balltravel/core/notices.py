"""What the core says of itself beside its results."""

import functools
import logging
from collections.abc import Callable


@functools.cache
def notice(text: str) -> None:
    """Say it once in a process: in one line of the standard error output, unless the program that uses the
    package has handlers of its own for its messages."""
    logging.getLogger("balltravel").warning("%s", text)


KERNELS = 186
"""About how many kernels a first run compiles."""

compiled_listeners: list[Callable[[int], None]] = []
"""Called with the number of kernels compiled so far, each time one is."""
