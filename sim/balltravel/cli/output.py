"""What the command gives out: files, results on the standard output, words on the standard error output."""

import contextlib
import os
import sys
import textwrap
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TextIO

from balltravel.core.notices import KERNELS, compiled_listeners
from balltravel.units.printable import WIDTH, printable

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.files.read_write import ScenarioFile

DONE, NOT_WRITTEN, BAD_INPUT, SOME_FAILED, INTERRUPTED = 0, 1, 2, 3, 130
"""Exit codes."""


@dataclass
class SoFar:
    """What a command has given out, for the words that whoever interrupts it reads."""

    written: list[str] = field(default_factory=list)
    under_way: str = ""
    printing: bool = False

    def tell(self, path: str) -> None:
        """A file is whole."""
        self.written.append(path)
        self.under_way = ""
        say(f"{path}: written")

    def interrupted(self) -> str:
        """What an interrupt leaves."""
        parts = [f"{path} was written" for path in self.written]
        if self.under_way:
            parts.append(f"{self.under_way} was being written: it is whole, or as it was before")
        if self.printing:
            parts.append("the printed result may be cut short")
        return f"interrupted: {'; '.join(parts) or 'nothing was written'}"


def with_provenance(data: "xr.Dataset", given: "ScenarioFile") -> "xr.Dataset":
    return data.assign_attrs(scenario_text=given.text, scenario_sha256=given.sha256)


def write(data: "xr.Dataset", path: str, so_far: SoFar) -> int:
    from balltravel.files.read_write import FileError, write_dataset

    so_far.under_way = path
    try:
        write_dataset(data, path)
    except FileError as error:
        so_far.under_way = ""
        say(str(error))
        return NOT_WRITTEN
    so_far.tell(path)
    return DONE


def draw(make: Callable[[], Any], path: str, so_far: SoFar) -> int:
    """Draw a figure into a file; None is of a run that failed and has none."""
    from balltravel.report.figures.plain import plain_settings

    with plain_settings():
        from balltravel.report.figures.style import as_bytes

        def drawn() -> bytes | None:
            figure = make()
            return None if figure is None else as_bytes(figure, path)

        return write_bytes(drawn, path, so_far)


def write_bytes(make: Callable[[], bytes | None], path: str, so_far: SoFar) -> int:
    """Write what is made into a file, whole or not at all; None is of a run that failed."""
    from balltravel.files.read_write import write_whole

    try:
        data = make()
        if data is None:
            say(f"{path}: not drawn, for a run failed")
            return DONE
        so_far.under_way = path
        write_whole(data, path)
    except OSError as error:
        so_far.under_way = ""
        say(f"{path}: cannot be written: {error.strerror or error}")
        return NOT_WRITTEN
    so_far.tell(path)
    return DONE


def print_json(value: Any, so_far: SoFar) -> int:
    import json

    from balltravel.report.json import strict

    return print_text(json.dumps(strict(value), indent=2, allow_nan=False), so_far)


def print_text(text: str, so_far: SoFar) -> int:
    """Write a result to the standard output; a reader that went away is no fault."""
    if sys.stdout is None:
        say("standard output: cannot be written: it is closed")
        return NOT_WRITTEN
    reconfigure = getattr(sys.stdout, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    so_far.printing = True
    code = flush_output("".join(f"{printable(line)}\n" for line in text.split("\n")))
    so_far.printing = False
    return code


def flush_output(text: str = "") -> int:
    """Let the text, and all before it, leave the process; a reader that went away is no fault."""
    if sys.stdout is None:
        return DONE
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _drop(sys.stdout)
    except OSError as error:
        say(f"standard output: cannot be written: {error.strerror or error}")
        _drop(sys.stdout)
        return NOT_WRITTEN
    return DONE


def _drop(stream: TextIO) -> None:
    """Let the flush at exit go nowhere, so that it raises no second error."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def say(text: str) -> None:
    """A line on the standard error output, if there is one."""
    if sys.stderr is None:
        return
    try:
        print(printable(text), file=sys.stderr, flush=True)
    except OSError:
        _drop(sys.stderr)


def hold_closed_streams() -> None:
    """Give the numbers of standard streams that are closed to nothing, or the next file opened would get one
    of them, and what a library says of itself would land in it."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)


def say_errors(errors: Iterable[str]) -> None:
    """Say errors, each broken at the page's width; a path or a key is never broken."""
    for error in errors:
        for line in textwrap.wrap(
            printable(error), WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False
        ):
            say(line)


def announce_compilation() -> None:
    """Say why nothing seems to happen: the first run on a machine compiles the core."""
    from balltravel.core.cache import is_compiled

    if not is_compiled():
        say("compiling the core, once after each installation: this takes ten seconds to a minute ...")
        if sys.stderr is not None and sys.stderr.isatty():
            compiled_listeners.append(_show_compiled)


def _show_compiled(number: int) -> None:
    """Keep a line up to date that says how far the compiler is; the last kernel takes it away."""
    share = min(99, 100 * number // KERNELS)
    sys.stderr.write(f"\r\x1b[Kcompiling the core: {share} %\r")
    if share == 99:
        sys.stderr.write("\x1b[K")
    sys.stderr.flush()


PROGRESS_INTERVAL = 20.0
"""Seconds between two lines of progress where there is no terminal for a bar."""


class Pace:
    """How fast a long run goes, counted from its first news: before that lies what a former run had done and
    what had to be loaded or compiled."""

    def __init__(self) -> None:
        self._first: tuple[float, int] | None = None
        self._whole, self._too_few = 0, ""

    def words(self, done: int, whole: int) -> str:
        """Why there are more than before, rate and time left, as they follow ``3 of 7 cases``; empty while
        they are not known."""
        now = time.monotonic()
        if whole > self._whole > 0:
            self._too_few = f" ({self._whole} were not enough)"
        self._whole = whole
        if self._first is None:
            self._first = now, done
        begun, before = self._first
        if done <= before or now <= begun or done == whole:
            return self._too_few
        rate = (done - before) / (now - begun)
        return f"{self._too_few}, {rate_in_words(rate)}, about {time_in_words((whole - done) / rate)} left"


def rate_in_words(rate: float) -> str:
    """So many a second, or a minute where that is a small number."""
    return f"{rate:.3g} a second" if rate >= 1.0 else f"{60.0 * rate:.3g} a minute"


def time_in_words(seconds: float) -> str:
    """A time as one tells it: seconds, minutes, hours or days."""
    for unit, size in (("days", 86400.0), ("h", 3600.0), ("min", 60.0)):
        if seconds >= 2.0 * size:
            return f"{seconds / size:.0f} {unit}"
    return f"{seconds:.0f} s"


def _progress_lines(what: str) -> Callable[[int, int], None]:
    """Says now and then how far a long run is."""
    last, begun, pace = time.monotonic(), False, Pace()

    def tell(done: int, whole: int) -> None:
        nonlocal last, begun
        words = pace.words(done, whole)
        if not done:
            say(f"about {whole} {what} to make")
            return
        if time.monotonic() - last >= PROGRESS_INTERVAL or (begun and done == whole):
            last, begun = time.monotonic(), True
            say(f"{done} of {whole} {what}{words}")

    return tell


def _rising(tell: Callable[[int, int], None]) -> Callable[[int, int], None]:
    """Passes on no count that is older than the last: threads may overtake each other."""
    most, lock = -1, threading.Lock()

    def tell_rising(done: int, whole: int) -> None:
        nonlocal most
        with lock:
            if done > most:
                most = done
                tell(done, whole)

    return tell_rising


@contextlib.contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on a terminal, a line now and then elsewhere; nothing where nothing is counted."""
    if not what:
        yield None
        return
    if sys.stderr is None or not sys.stderr.isatty():
        yield _rising(_progress_lines(what))
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[pace]}"),
    )
    pace = Pace()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None, pace="")

        def tell(done: int, whole: int) -> None:
            words = pace.words(done, whole).removeprefix(", ")
            bar.update(task, completed=done, total=whole, pace=words)

        yield _rising(tell)
