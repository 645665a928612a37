"""The printed handout: three stills, a table to fill in, the questions; answers on a page of their own."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from balltravel.report.pages.lesson.steps import Step
from balltravel.report.pages.lesson.words import back_of, material_of, percent, travel_of
from balltravel.report.tables import both
from balltravel.study.lesson.lesson import Lesson

COST, STARVING = 1, 4
"""Steps of which stills are shown: where longer travel costs, and where the shortest starves."""


class Still(NamedTuple):
    """A picture of a run: places of its material, its travel and the picture in its film; what it shows."""

    material: int
    travel: int
    picture: int
    about: str


def handout_of(lesson: Lesson, steps: Sequence[Step], data: dict[str, Any]) -> dict[str, Any]:
    """What the template prints."""
    return {
        "stills": [still._asdict() for still in stills(lesson, data)],
        "rows": [_row(lesson, step) for step in steps],
    }


def stills(lesson: Lesson, data: dict[str, Any]) -> list[Still]:
    """Upstroke in lighter material, the top of the stroke at the shortest travel in heavy material, and the
    ball on its way down at the longest travel."""
    light, heavy, last = lesson.steps[COST], lesson.steps[STARVING], len(lesson.travels) - 1
    seen = [(light, last, 0.5, False), (heavy, 0, 1.0, False), (light, last, 1.0, True)]
    told = []
    for place, travel, stroke, falling in seen:
        material = lesson.materials[place]
        cycle = material.cycles[lesson.travels[travel].below]
        if cycle.metrics is None:
            continue
        m = cycle.motion
        time = stroke * m.top_dead_centre
        if falling and cycle.metrics.inlet.closing_lag > 0.0:
            time += 0.6 * cycle.metrics.inlet.closing_lag
        share = np.asarray(data["materials"][place]["film"]["share"])
        picture = int(np.argmin(np.abs(share - time / m.period)))
        where = f"{material_of(material)}, travel {both(lesson.travels[travel].travel, 'length')}"
        told.append(Still(place, travel, picture, f"{_moment(cycle, stroke, falling)} ({where})."))
    return told


def _moment(cycle: Any, stroke: float, falling: bool) -> str:
    if falling:
        return "Just after the turn: the ball is still on its way down, and material flows back"
    if stroke < 1.0:
        return "Upstroke: the piston rises, the ball is up, and material comes in past it"
    if cycle.metrics.void_volume > 0.0:
        return "Top of the stroke: the gap under the ball is too narrow, and the chamber is not full"
    return "Top of the stroke: the piston turns"


def _row(lesson: Lesson, step: Step) -> dict[str, str]:
    material = lesson.materials[step.place]
    best = material.best
    if best is None or best.metrics is None:
        filled = ("-", "-", "-", "-")
    else:
        m = best.metrics
        filled = (
            travel_of(best), percent(m.fill_fraction), percent(back_of(m)), percent(m.volumetric_efficiency),
        )  # fmt: skip
    names = ("travel", "drawn", "back", "delivered")
    return {"material": material_of(material), **dict(zip(names, filled, strict=True))}
