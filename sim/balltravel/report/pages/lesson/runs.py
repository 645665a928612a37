"""The computed runs of a lesson as its page holds them: one film a material, what moves packed into bytes."""

import base64
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

import numpy as np

from balltravel.cycle.run import Cycle
from balltravel.report.pages.player import lower_data, places_in
from balltravel.report.section.film import Film, film_of, reading_time, scale_in_words
from balltravel.scenario.shims import Arrangement
from balltravel.study.lesson.lesson import Taught

MOST_PICTURES = 30_000
"""Pictures of all runs together, so that the page stays small."""

PICTURES_PER_SECOND, FEWEST_PER_SECOND = 24.0, 8.0

FILM_LENGTH = 12.0
"""About how long a film is [s], stops apart (``section.film``)."""


class Sayings:
    """Sentences of a page, each kept once."""

    def __init__(self) -> None:
        self._places: dict[str, int] = {}

    def place(self, said: str) -> int:
        """Where a sentence is in the list."""
        return self._places.setdefault(said, len(self._places))

    def as_data(self) -> list[dict[str, Any]]:
        """All of them, and how long [ms] a film stops to have one read."""
        return [{"said": said, "ms": round(1e3 * reading_time(said))} for said in self._places]


def pace_of(runs: int) -> float:
    """Pictures a second of the films of so many runs."""
    most = MOST_PICTURES / (runs * FILM_LENGTH)
    return max(FEWEST_PER_SECOND, min(PICTURES_PER_SECOND, most))


def films(
    material: Taught, travels: Sequence[Arrangement], pace: float, sayings: Sayings
) -> tuple[dict[str, Any], list[dict[str, Any] | None]]:
    """The film of a material, common to its travels, and for each travel where everything is in its pictures;
    None for a run that failed."""
    cycles = {a.below: material.cycles[a.below] for a in travels}
    whole = {below: cycle for below, cycle in cycles.items() if cycle.metrics is not None}
    if not whole:
        return {"shown": [1000.0], "share": [0.0], "scale": [[0, ""]]}, [None] * len(cycles)
    film = film_of(list(whole.values()), pace, stopping=False)
    runs: dict[tuple[int, ...], dict[str, Any]] = {}
    for number, (below, cycle) in enumerate(whole.items()):
        said = [[stop.picture, sayings.place(stop.said)] for stop in film.stops if stop.lower == number]
        runs[below] = {**moving(cycle, film), "stops": said}
    return _film(film), [runs.get(below) for below in cycles]


def _film(film: Film) -> dict[str, Any]:
    scale, k = [], 0
    for slowed, together in groupby(film.slowed):
        scale.append([k, scale_in_words(slowed)])
        k += len(list(together))
    shown = [round(1e3 * shown, 1) for shown in film.shown]
    return {"shown": shown, "share": [round(share, 4) for share in film.share], "scale": scale}


def moving(cycle: Cycle, film: Film) -> dict[str, Any]:
    """What the player places, packed: of ``up`` two bytes a picture, of the marks one."""
    data = lower_data(cycle, places_in(cycle, film))
    return {
        "up": {name: packed(values, np.uint16) for name, values in data["up"].items()},
        "bubble": packed(data["bubble"], np.uint8),
        "arrows": {
            check: {name: packed(values, np.uint8) for name, values in arrows.items()}
            for check, arrows in data["arrows"].items()
        },
    }


def packed(values: Iterable[float], kind: type[np.unsignedinteger[Any]]) -> list[Any]:
    """The lowest value, the step, and for each value how many steps it lies above, in base64, little-endian;
    no text where all are the same."""
    numbers = np.asarray(list(values), float)
    low, high = float(numbers.min()), float(numbers.max())
    if high == low:
        return [low, 0.0, ""]
    step = (high - low) / float(np.iinfo(kind).max)
    steps = np.round((numbers - low) / step).astype(np.dtype(kind).newbyteorder("<"))
    return [low, float(f"{step:.9g}"), base64.b64encode(steps.tobytes()).decode()]
