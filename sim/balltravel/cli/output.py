"""What the command gives out: files, results on the standard output, words on the standard error output."""

import contextlib
import os
import sys
import textwrap
import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.files.read_write import ScenarioFile

DONE, NOT_WRITTEN, BAD_INPUT, SOME_FAILED, INTERRUPTED = 0, 1, 2, 3, 130
"""Exit codes."""


def with_provenance(data: "xr.Dataset", given: "ScenarioFile") -> "xr.Dataset":
    return data.assign_attrs(scenario_text=given.text, scenario_sha256=given.sha256)


def write(data: "xr.Dataset", path: str | None) -> int:
    if not path:
        return DONE
    from balltravel.files.read_write import FileError, write_dataset

    try:
        write_dataset(data, path)
    except FileError as error:
        say(str(error))
        return NOT_WRITTEN
    say(f"{path}: written")
    return DONE


def draw(make: Callable[[], Any], path: str) -> int:
    """Draw a figure into a file; None is a run that failed and has none."""
    from balltravel.report.figures.style import save

    figure = make()
    if figure is None:
        say(f"{path}: not drawn, for the run failed")
        return DONE
    try:
        save(figure, path)
    except OSError as error:
        say(f"{path}: cannot be written: {error.strerror or error}")
        return NOT_WRITTEN
    say(f"{path}: written")
    return DONE


def print_json(value: Any) -> int:
    import json

    from balltravel.report.json import strict

    return print_text(json.dumps(strict(value), indent=2, allow_nan=False))


def print_text(text: str) -> int:
    """Write a result to the standard output; a reader that went away is no fault."""
    reconfigure = getattr(sys.stdout, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    try:
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_output()
    except OSError as error:
        say(f"standard output: cannot be written: {error.strerror or error}")
        _drop_output()
        return NOT_WRITTEN
    return DONE


def _drop_output() -> None:
    """Let the flush at exit go nowhere, so that it raises no second error."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def say(text: str) -> None:
    with contextlib.suppress(OSError):
        print(text, file=sys.stderr, flush=True)


WIDTH = 100
"""Columns at which errors are broken."""


def say_errors(text: str) -> None:
    """Say errors, each line broken at the page's width; a path or a key is never broken."""
    errors = (
        textwrap.fill(line, WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)
        for line in text.splitlines()
    )
    say("\n".join(errors))


def announce_compilation() -> None:
    """Say why nothing seems to happen: the first run on a machine compiles the core."""
    from balltravel.core.cache import is_compiled

    if not is_compiled():
        say("compiling the core, once after each installation: this takes ten seconds to two minutes ...")


PROGRESS_INTERVAL = 20.0
"""Seconds between two lines of progress where there is no terminal for a bar."""


def _progress_lines(what: str) -> Callable[[int, int], None]:
    """Says now and then how far a long run is."""
    last = time.monotonic()

    def tell(done: int, whole: int) -> None:
        nonlocal last
        if time.monotonic() - last >= PROGRESS_INTERVAL:
            last = time.monotonic()
            say(f"{done} of {whole} {what}")

    return tell


@contextlib.contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on a terminal, a line now and then elsewhere; nothing where nothing is counted."""
    if not what:
        yield None
        return
    if not sys.stderr.isatty():
        yield _progress_lines(what)
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)
