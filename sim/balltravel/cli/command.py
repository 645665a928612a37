"""What a command is, as data: ``commands`` has them all, ``run`` runs one."""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    import xarray as xr

    from balltravel.files.read_write import ScenarioFile
    from balltravel.scenario.model import Scenario
    from balltravel.sweeps.cases import Progress


class Option(NamedTuple):
    """An option of a command line: its name and what argparse needs of it."""

    flag: str
    settings: dict[str, Any]


class Job(NamedTuple):
    """What a command works on: its arguments, the file it was given (None where it does without), and whom to
    tell how far it is."""

    arguments: argparse.Namespace
    file: "ScenarioFile | None"
    progress: "Progress | None"

    @property
    def scenario(self) -> "Scenario":
        """The scenario of the file, which must have been given."""
        assert self.file is not None
        return self.file.scenario


class Failures(NamedTuple):
    """How many cases failed, of how many."""

    failed: int
    cases: int


@dataclass(frozen=True)
class Command:
    """A command as a row of data.

    ``work`` makes the answer: a tuple of values (say, the scenario and a report) that is handed to ``text``,
    ``json`` and ``figure``, which are named ``module:function`` and loaded when they are asked for, and to
    ``dataset``. ``card``: the same that makes pages to print, as bytes; ``report``: what makes the page of a
    job, of the answer and the source of its scenario; ``draws``: what the figure
    shows; ``animation``: what makes the film; ``writes``: what goes into a file of results; ``folder``:
    whether ``--out`` may name a folder instead, which ``work`` then fills by itself; ``counts``: what its
    progress counts, empty where it has none; ``compiled``: whether it needs the compiled core; ``care``:
    whether its answer closes with the cautions; ``failures``: of an answer; ``file``: argparse's ``nargs`` of
    the scenario file; ``reads``: whether that is read before, and ``reads_with``: by which further settings;
    ``variant``: another row in this one's
    place, by the arguments.
    """

    name: str
    about: str
    work: Callable[[Job], tuple[Any, ...]]
    text: str
    json: str
    figure: str = ""
    card: str = ""
    report: str = ""
    draws: str = ""
    animation: str = ""
    dataset: "Callable[..., xr.Dataset] | None" = None
    writes: str = ""
    folder: bool = False
    options: tuple[Option, ...] = ()
    examples: tuple[str, ...] = ()
    counts: str = ""
    compiled: bool = True
    care: bool = True
    failures: Callable[..., Failures] = lambda *_: Failures(0, 1)
    file: str | None = None
    reads: bool = True
    reads_with: tuple[str, ...] = ()
    variant: "Callable[[argparse.Namespace], Command | None]" = lambda _: None


def option(flag: str, **settings: Any) -> Option:
    """An option, written as one writes it for argparse."""
    return Option(flag, settings)


def all_options(command: Command) -> Sequence[Option]:
    """Its own options, and those that follow from what it can draw and write."""
    shared = []
    if command.writes:
        help_text = f"write {command.writes} as netCDF"
        if command.folder:
            help_text += "; into a folder, so that the same command goes on after an interrupt"
        metavar = "FILE.nc|FOLDER" if command.folder else "FILE.nc"
        shared.append(option("--out", metavar=metavar, help=help_text))
    if command.draws:
        help_text = f"draw {command.draws} (png, pdf or svg)"
        shared.append(option("--figure", metavar="FILE.png", help=help_text))
    if command.card:
        help_text = "write a card for the job, front and back, to print (.pdf or .html)"
        shared.append(option("--card", metavar="CARD.pdf", help=help_text))
    if command.report:
        help_text = "write one page with all that is known of the job, to mail or print (.html)"
        shared.append(option("--report", metavar="JOB.html", help=help_text))
    if command.animation:
        help_text = "animate one cycle (html: a page without a network; mp4 needs ffmpeg)"
        shared.append(option("--animate", metavar="FILE.html|FILE.gif|FILE.mp4", help=help_text))
    return [*command.options, *shared]
