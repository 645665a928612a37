"""A cycle as an animation in a file: ``.gif``, ``.mp4`` or ``.html``, by the ending of its name."""

from collections.abc import Callable, Sequence
from pathlib import Path

from balltravel.cycle.run import Cycle, run_cycle
from balltravel.files.read_write import ScenarioFile, write_whole
from balltravel.report.care import invented
from balltravel.report.section.film import film_of
from balltravel.scenario.arguments import path_given, progress_given, refused, scenario_given
from balltravel.scenario.model import Scenario
from balltravel.study.cycle_report import CycleReport

Progress = Callable[[int, int], None]

ENDINGS = (".gif", ".mp4", ".html")


def animate(
    scenario: Scenario,
    path: str | Path,
    compare: Scenario | None = None,
    progress: Progress | None = None,
) -> None:
    """Run a scenario and write one cycle of it as an animation: ``.gif``, ``.mp4`` (needs the program ffmpeg)
    or ``.html`` (a page that needs no network).

    ``compare``: another scenario beside it, at the same share of its cycle; ``progress`` is called with
    (pictures drawn, pictures in all). Raises ScenarioError for arguments that cannot be, ValueError if a run
    fails, OSError if the file cannot be written.
    """
    scenario_given(scenario)
    path = path_given(path, '"ball.html"')
    progress_given(progress)
    fault = ending_fault(path.suffix)
    if fault:
        given, _, allowed = fault.partition("; allowed")
        raise refused("path", f'"{path.name}": {given}', allowed.partition(": ")[2], '"ball.html"')
    others = () if compare is None else (scenario_given(compare),)
    cycles = [run_cycle(each) for each in (scenario, *others)]
    write_whole(animation(cycles, path.suffix, ("as given", "compared"), (), progress), path)


def ending_fault(ending: str) -> str:
    """Why a file of such a name cannot be written, and what is allowed; empty where it can."""
    if ending.lower() not in ENDINGS:
        return "not a kind of animation; allowed: a name ending in .gif, .mp4 or .html"
    if ending.lower() == ".mp4":
        from balltravel.report.figures.film.encode import ffmpeg

        missing = "needs the program ffmpeg, which is not on this machine"
        return "" if ffmpeg() else f"{missing}; allowed here: a name ending in .gif or .html"
    return ""


def animation(
    cycles: Sequence[Cycle],
    ending: str,
    names: Sequence[str] = (),
    notes: Sequence[str] = (),
    progress: Progress | None = None,
) -> bytes:
    """The bytes of an animation of cycles side by side; ``names``: for those whose scenarios look the same in
    words; ``notes``: sentences for its foot. Raises ValueError for a cycle that failed."""
    for cycle in cycles:
        if cycle.metrics is None:
            raise ValueError(f"the run failed: {cycle.status.advice} Allowed: cycles that end well")
    if ending.lower() == ".html":
        from balltravel.report.pages.animation import animation_html

        return animation_html(cycles, names, notes).encode()
    return _film(cycles, ending.lower(), names, notes, progress)


def animation_of_report(
    file: ScenarioFile, _: Scenario, report: CycleReport, ending: str, progress: Progress | None
) -> bytes | None:
    """The bytes of an animation of a report's cycle and of the one compared with it; None of a failed run."""
    cycles = (report.cycle, *report.compared)
    if any(cycle.metrics is None for cycle in cycles):
        return None
    notes = [note for note in (invented(file.text),) if note]
    return animation(cycles, ending, ("as given", "compared"), notes, progress)


def _film(
    cycles: Sequence[Cycle],
    ending: str,
    names: Sequence[str],
    notes: Sequence[str],
    progress: Progress | None,
) -> bytes:
    """The bytes of a GIF or MP4 file."""
    from balltravel.report.figures.plain import plain_settings

    with plain_settings():
        from balltravel.report.figures.film.encode import PACE, gif, mp4, told
        from balltravel.report.figures.film.pictures import COLOURS, Animation

        film = film_of(cycles, PACE[ending])
        pictures = Animation(cycles, film, names, notes).pictures()
        drawn = told(pictures, len(film.share), progress)
        return mp4(drawn, film.shown) if ending == ".mp4" else gif(list(drawn), film.shown, COLOURS)
