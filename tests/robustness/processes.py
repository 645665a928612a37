"""Forked children that are killed, limited or watched."""

import os
import signal
import sys
import time
import traceback
from collections.abc import Callable

import pytest

NEEDS_FORK = pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
CRASHED = 99


def fork(work: Callable[[], int]) -> int:
    """Process number of a child that does ``work`` and ends with the code that it returns."""
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child:
        return child
    code = CRASHED
    try:
        code = work()
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)


def ended(child: int) -> int:
    """Exit code of a child, or minus the signal that ended it."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def kill_after(child: int, seconds: float) -> int:
    """Kill -9 after a time; how the child ended."""
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    return ended(child)
