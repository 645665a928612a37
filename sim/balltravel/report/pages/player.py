"""The data that ``templates/player.js`` places: a run at the times of a film's pictures, in millimetres."""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.cycle.run import Cycle
from balltravel.report.section.film import Film
from balltravel.report.section.lower import LowerSizes, lower_sizes
from balltravel.report.section.marks import bubble_radius, most_flow, ways_of
from balltravel.report.section.moving import Places, places_at

Array = NDArray[np.float64]


def places_in(cycle: Cycle, film: Film) -> Places:
    """Where everything is in each picture of a film."""
    return places_at(cycle.motion, film.share * cycle.motion.period, cycle.scenario.lower.lower_dead_volume)


def film_data(film: Film) -> dict[str, Any]:
    """``film`` of the player."""
    return {
        "shown": _list(1e3 * film.shown, 1),
        "stops": [stop._asdict() for stop in film.stops],
    }


def lower_data(cycle: Cycle, places: Places) -> dict[str, Any]:
    """``lower`` of the player, with what bars and words need: ``drawn`` and ``back`` [% of swept], ``time``
    [s since bottom dead centre]."""
    sizes, swept = lower_sizes(cycle.scenario), cycle.motion.swept_volume
    height = sizes.piston_at_bottom + places.piston - sizes.floor
    return {
        "up": {
            "piston": _list(1e3 * places.piston, 3),
            "inlet-ball": _list(1e3 * places.inlet_lift, 3),
            "piston-ball": _list(1e3 * (places.piston + places.piston_lift), 3),
        },
        "bubble": _list(1e3 * bubble_radius(places.void, sizes.bore, height), 2),
        "arrows": _arrows(sizes, places),
        "time": _list(places.time, 5),
        "drawn": _list(100.0 * places.most_drawn / swept, 2),
        "back": _list(100.0 * (places.most_drawn - places.drawn) / swept, 2),
    }


def _arrows(sizes: LowerSizes, places: Places) -> dict[str, Any]:
    """How far the arrows are along their way, and their size; both checks on one scale."""
    most = most_flow(places)
    arrows = {}
    for way in ways_of(sizes):
        inlet = way.check == "inlet"
        flow = places.inlet_flow if inlet else places.piston_flow
        volume = places.drawn if inlet else places.passed
        size = np.sign(flow) * np.sqrt(np.abs(flow) / most if most > 0.0 else 0.0 * flow)
        arrows[way.check] = {
            "at": _list(1e3 * np.mod(volume / (math.pi * way.bore**2), way.spacing), 2),
            "size": _list(size, 2),
        }
    return arrows


def _list(values: Array, decimals: int) -> list[float]:
    """As short as it goes: without a minus before nought."""
    return [float(value) + 0.0 for value in np.round(values, decimals) + 0.0]
