"""matplotlib as it comes, whatever the settings of the user or of the current folder ask of it."""

import contextlib
import importlib.util
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType


@contextlib.contextmanager
def plain_settings() -> Iterator[None]:
    """Figures that are made and saved within it look the same everywhere: no ``matplotlibrc`` and no
    ``MPLBACKEND`` changes them, or stops them."""
    matplotlib = _loaded()
    defaults = {key: value for key, value in matplotlib.rcParamsDefault.items() if key != "backend"}
    with matplotlib.rc_context(defaults):
        yield


def _loaded() -> ModuleType:
    """matplotlib, loaded from the folder of its own defaults: it reads the settings of the current folder
    before all others, and a broken one, or a backend that is not there, would stop it."""
    if "matplotlib" not in sys.modules:
        spec = importlib.util.find_spec("matplotlib")
        asked = os.environ.pop("MPLBACKEND", None)
        try:
            with contextlib.ExitStack() as stack:
                # Where the current folder is gone, there are no settings in it either.
                with contextlib.suppress(OSError):
                    if spec is not None and spec.origin is not None:
                        stack.enter_context(contextlib.chdir(Path(spec.origin).parent / "mpl-data"))
                return importlib.import_module("matplotlib")
        finally:
            if asked is not None:
                os.environ["MPLBACKEND"] = asked
    return sys.modules["matplotlib"]
