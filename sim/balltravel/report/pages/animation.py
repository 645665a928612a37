"""A cycle as one page for a browser: film, strip of lifts, bars, moments; several lowers on one clock."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any, NamedTuple

from balltravel.core.status import Status
from balltravel.cycle.run import Cycle
from balltravel.report.care import CARE, COMPUTED
from balltravel.report.pages.markup import markup
from balltravel.report.pages.player import film_data, lower_data, places_in
from balltravel.report.pages.section import Frame, section_svg
from balltravel.report.section.film import Film, film_of, scale_in_words
from balltravel.report.section.lower import LowerSizes, close_up, lower_shapes, lower_sizes, whole
from balltravel.report.section.moving import Places
from balltravel.report.section.titles import one_clock, titles_of
from balltravel.report.tables import bench

PICTURES_PER_SECOND = 25.0

_WIDE, _HIGH = 1000.0, 100.0
"""Units of the strip's drawing, whatever size it is shown at."""

_LETTER = 0.6
"""Width that a letter of a part's words takes [% of the strip]: words that do not fit are left out, uncut."""


class Part(NamedTuple):
    """A part of the strip: from where to where [% of its width], and what holds there."""

    left: float
    width: float
    words: str
    slow: bool


def animation_html(cycles: Sequence[Cycle], names: Sequence[str] = (), notes: Sequence[str] = ()) -> str:
    """The page of one cycle, or of several side by side at the same share of their own cycles.

    ``names``: what to call them where their scenarios do not tell them apart; ``notes``: sentences for its
    foot. Not of failed runs.
    """
    film = film_of(cycles, PICTURES_PER_SECOND)
    places = [places_in(cycle, film) for cycle in cycles]
    titles = titles_of(cycles, names)
    most = max(float(cycle.motion.travel.max()) for cycle in cycles)
    shown = zip(cycles, places, titles.each, titles.sides, strict=True)
    lowers = [_lower(*each, most) for each in shown]
    data = {
        "film": film_data(film),
        "scale": [scale_in_words(slowed) for slowed in film.slowed],
        "periods": [cycle.motion.period for cycle in cycles],
        "lowers": [lower_data(cycle, place) for cycle, place in zip(cycles, places, strict=True)],
    }
    return markup(
        "animation.html", title=titles.whole, about=titles.about, lowers=lowers, data=data,
        parts=_parts(film), marks=_marks(film), stops=_stops(film, cycles[0].motion.period, titles.sides),
        clock=one_clock(cycles), notes=(*_ends(cycles, titles.sides), *notes), computed=COMPUTED,
        care=" ".join(CARE), most=bench(most, "length", 3),
    )  # fmt: skip


def _ends(cycles: Sequence[Cycle], names: Sequence[str]) -> list[str]:
    """What is odd about how the runs ended."""
    ends = []
    for cycle, name in zip(cycles, names, strict=True):
        if cycle.status != Status.OK:
            ends.append(f"{name + ': ' if name else ''}{cycle.status.advice}")
    return ends


def _lower(cycle: Cycle, places: Places, title: Sequence[str], side: str, most: float) -> dict[str, Any]:
    """What the template shows of one lower."""
    sizes = lower_sizes(cycle.scenario)
    of = f"{side}: " if side else ""
    return {
        "title": title,
        "side": side,
        "whole": _view(sizes, whole(sizes), f"{of}the whole lower in section"),
        "close": _view(sizes, close_up(sizes), f"{of}the foot valve in section, larger"),
        "swept": bench(cycle.motion.swept_volume, "volume", 3),
        "inlet": _line(places.inlet_lift / most),
        "piston": _line(places.piston_lift / most),
    }


def _view(sizes: LowerSizes, frame: Frame, label: str) -> dict[str, Any]:
    svg = section_svg(lower_shapes(sizes), frame, label, marks=sizes)
    return {"svg": svg, "ratio": round((frame.right - frame.left) / (frame.top - frame.bottom), 4)}


def _line(heights: Any) -> str:
    """Points of a line across the strip."""
    last = len(heights) - 1
    return " ".join(
        f"{_WIDE * k / last:.1f},{_HIGH * (1.0 - 0.94 * height):.1f}" for k, height in enumerate(heights)
    )


def _parts(film: Film) -> list[Part]:
    """The parts of the strip by the scale of time."""
    parts, begin, last = [], 0, len(film.share) - 1
    for slowed, together in groupby(film.slowed):
        end = min(begin + len(list(together)), last)
        left, width = 100.0 * begin / last, 100.0 * (end - begin) / last
        words = scale_in_words(slowed)
        fits = width >= _LETTER * len(words)
        parts.append(Part(round(left, 3), round(width, 3), words if fits else "", slowed > 1.0))
        begin = end
    return parts


def _marks(film: Film) -> list[float]:
    """Where the moments are on the strip [%]."""
    last = len(film.share) - 1
    return [round(100.0 * picture / last, 3) for picture in sorted({stop.picture for stop in film.stops})]


def _stops(film: Film, period: float, sides: Sequence[str]) -> list[dict[str, Any]]:
    """The moments as a list to choose from; what happens in all lowers at once is one of them."""
    stops = []
    for (picture, said), same in groupby(film.stops, key=lambda stop: (stop.picture, stop.said)):
        of = [sides[stop.lower] for stop in same]
        time = f"{film.share[picture] * period:.3f} s"
        side = "Both" if len(of) > 1 else of[0]
        stops.append({"picture": picture, "time": time, "said": said, "side": side})
    return stops
