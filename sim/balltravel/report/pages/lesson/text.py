"""What the command lesson prints: the page, and the materials of its steps with their best travels."""

from pathlib import Path

from balltravel.report.pages.lesson.steps import steps_in_words
from balltravel.report.pages.lesson.words import back_of, material_of, percent, travel_of, where_limited
from balltravel.report.tables import filled, plain, table
from balltravel.scenario.model import Scenario
from balltravel.study.lesson.lesson import Lesson


def lesson_text(scenario: Scenario, lesson: Lesson, page: Path, size: int) -> str:
    """Title, where the page is, its six steps."""
    rows = []
    for number, step in enumerate(steps_in_words(lesson), 1):
        material = lesson.materials[step.place]
        best = material.best
        shares = ["-"] * 4
        if best is not None and best.metrics is not None:
            m = best.metrics
            numbers = (m.fill_fraction, back_of(m), m.volumetric_efficiency)
            shares = [travel_of(best), *(percent(share).removesuffix(" %") for share in numbers)]
        rows.append([str(number), material_of(material), *shares])
    head = ("step", "material", "best travel", "drawn in %", "flowed back %", "delivered %")
    limited = where_limited(lesson)
    runs = len(lesson.materials) * len(lesson.travels)
    open_it = "Open it in a browser; it needs no network."
    return "\n".join(
        [
            plain(scenario.title),
            filled(f"{plain(str(page))}: a page of {size / 1000:.0f} kB that shows {runs} runs. {open_it}"),
            "",
            table(head, rows, right=(0, 3, 4, 5)),
            "",
            filled(f"Shares are of swept, at the best travel. {limited[:1].upper()}{limited[1:]}".strip()),
        ]
    )
