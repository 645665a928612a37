"""One cycle as plain arrays: what moves, flows and presses over time, the events, and the sizes of the lower
that the metrics need."""

from dataclasses import dataclass, fields
from functools import cache
from typing import Annotated, Any, NamedTuple, get_type_hints

import numpy as np
from numpy.typing import NDArray

from balltravel.core.events import Event
from balltravel.core.parameters import Parameters
from balltravel.core.readings import Sizes, sizes_of
from balltravel.core.recording import COLUMNS
from balltravel.core.records import as_record
from balltravel.setup.runs import Run

Array = NDArray[np.float64]

ROW, BOTH, EVENT, CHECK, ONCE = ("time",), ("time", "check"), ("event",), ("check",), ()
"""Dimensions of a variable: over the rows; over the rows for each check; over the events; for each check; one
number."""


class About(NamedTuple):
    """What a variable is: its dimensions, its units, its meaning."""

    dims: tuple[str, ...]
    units: str
    text: str


@dataclass(frozen=True)
class Motion:
    """The last cycle of a run, SI units. Rows are the accepted steps, uneven in time, and stand twice where
    something jumps; columns of ``BOTH`` and ``CHECK`` are the inlet check and the piston check."""

    time: Annotated[Array, About(ROW, "s", "time since the reversal at bottom dead centre")]
    piston_position: Annotated[Array, About(ROW, "m", "piston above bottom dead centre")]
    piston_speed: Annotated[Array, About(ROW, "m s-1", "piston speed, upwards positive")]
    line_flow: Annotated[Array, About(ROW, "m3 s-1", "flow in the suction line")]
    outlet_flow: Annotated[Array, About(ROW, "m3 s-1", "flow out of the outlet")]
    port_pressure: Annotated[Array, About(ROW, "Pa", "absolute pressure at the inlet port")]
    lower_pressure: Annotated[Array, About(ROW, "Pa", "absolute pressure in the lower chamber")]
    upper_pressure: Annotated[Array, About(ROW, "Pa", "absolute pressure in the upper chamber")]
    port_surplus: Annotated[Array, About(ROW, "m3", "contents less volume at the inlet port")]
    lower_surplus: Annotated[Array, About(ROW, "m3", "contents less volume of the lower chamber")]
    upper_surplus: Annotated[Array, About(ROW, "m3", "contents less volume of the upper chamber")]
    delivered_volume: Annotated[Array, About(ROW, "m3", "net volume out of the outlet since the cycle began")]
    line_volume: Annotated[
        Array, About(ROW, "m3", "net volume through the suction line since the cycle began")
    ]
    position_integral: Annotated[Array, About(ROW, "m", "piston position, integrated like the volumes")]
    packing_volume: Annotated[
        Array, About(ROW, "m3", "net volume past the piston packing, downwards, since the cycle began")
    ]
    rod_volume: Annotated[Array, About(ROW, "m3", "net volume past the rod packing since the cycle began")]
    sprayed_volume: Annotated[Array, About(ROW, "m3", "net volume through the tip since the cycle began")]
    tip_pressure: Annotated[Array, About(ROW, "Pa", "absolute pressure before the tip; 0 without one")]
    tip_flow: Annotated[Array, About(ROW, "m3 s-1", "flow through the tip; 0 without one")]
    lift: Annotated[Array, About(BOTH, "m", "lift of the ball above its seat")]
    ball_speed: Annotated[Array, About(BOTH, "m s-1", "ball speed in its cage, upwards")]
    flow: Annotated[Array, About(BOTH, "m3 s-1", "flow through the check, its open direction positive")]
    passed_volume: Annotated[Array, About(BOTH, "m3", "net volume through since the cycle began")]
    contact: Annotated[Array, About(BOTH, "1", "0 on its seat, 1 free, 2 on its stop")]
    void_volume: Annotated[Array, About(ROW, "m3", "gas and vapour beyond the free gas's own volume")]
    event_kind: Annotated[
        Array, About(EVENT, "1", "kind of event: " + ", ".join(f"{e.value} {e.name}" for e in Event))
    ]
    event_check: Annotated[Array, About(EVENT, "1", "0 inlet check, 1 piston check")]
    event_time: Annotated[Array, About(EVENT, "s", "time of the event")]
    event_value: Annotated[Array, About(EVENT, "1", "speed of the ball [m s-1], or sign after the event")]
    swept_volume: Annotated[float, About(ONCE, "m3", "bore area times stroke")]
    bore_area: Annotated[float, About(ONCE, "m2", "bore area")]
    annulus_area: Annotated[float, About(ONCE, "m2", "bore area less rod area")]
    stroke: Annotated[float, About(ONCE, "m", "stroke")]
    period: Annotated[float, About(ONCE, "s", "time of a cycle")]
    top_dead_centre: Annotated[float, About(ONCE, "s", "time of the reversal at the top")]
    outlet_pressure: Annotated[float, About(ONCE, "Pa", "absolute outlet pressure")]
    barometric_pressure: Annotated[float, About(ONCE, "Pa", "pressure at which volumes count")]
    vapour_pressure: Annotated[float, About(ONCE, "Pa", "absolute vapour pressure")]
    travel: Annotated[Array, About(CHECK, "m", "ball travel")]
    landing_gap: Annotated[Array, About(CHECK, "m", "lift where landing speed is taken")]
    moving_mass: Annotated[Array, About(CHECK, "kg", "ball with the liquid that it moves")]


@cache
def variables() -> tuple[tuple[str, About], ...]:
    """Name of every variable of a motion, in order, and what it is."""
    hints = get_type_hints(Motion, include_extras=True)
    return tuple((part.name, hints[part.name].__metadata__[0]) for part in fields(Motion))


CHECKS = ("inlet", "piston")
"""The two checks, in the order of the columns."""

_OF_BOTH_CHECKS = {
    "lift": ("inlet_lift", "piston_lift"),
    "ball_speed": ("inlet_ball_speed", "piston_ball_speed"),
    "flow": ("inlet_flow", "piston_flow"),
    "passed_volume": ("drawn_volume", "passed_volume"),
    "contact": ("inlet_mode", "piston_mode"),
}
"""Variable -> its two columns of the core."""


def motion_of(p: Parameters, run: Run) -> Motion:
    """The last cycle of a run of the core; parameters as a tuple or as the record that was run."""
    columns = dict(zip(COLUMNS, run.rows.T, strict=True))
    values: dict[str, Any] = {name: columns[name] for name, about in variables() if about.dims == ROW}
    for name, pair in _OF_BOTH_CHECKS.items():
        values[name] = np.stack([columns[column] for column in pair], 1)
    events = ("event_kind", "event_check", "event_time", "event_value")
    values |= dict(zip(events, run.events.T, strict=True))
    return Motion(**values, **_sizes(p, run.clock))


def _sizes(p: Parameters, clock: Array) -> dict[str, Any]:
    record, sizes, both = as_record(p), as_record(Sizes()), (p.inlet, p.piston)
    sizes_of(record, clock, sizes)
    return {
        "swept_volume": float(sizes.swept),
        "bore_area": float(sizes.bore),
        "annulus_area": float(sizes.annulus),
        "stroke": float(sizes.stroke),
        "period": float(sizes.period),
        "top_dead_centre": float(sizes.top),
        "outlet_pressure": float(p.outlet_pressure),
        "barometric_pressure": float(sizes.barometric),
        "vapour_pressure": float(sizes.vapour),
        "travel": np.array([check.travel for check in both]),
        "landing_gap": np.array([check.landing_gap for check in both]),
        "moving_mass": np.array([sizes.inlet_mass, sizes.piston_mass]),
    }


def rows_in(m: Motion) -> Array:
    """The rows of a motion as the core has them, shape (rows, COLUMNS); columns that a motion lacks are 0."""
    pairs = {column: (name, k) for name, pair in _OF_BOTH_CHECKS.items() for k, column in enumerate(pair)}
    rows = np.zeros((len(m.time), len(COLUMNS)))
    for i, column in enumerate(COLUMNS):
        if column in pairs:
            name, k = pairs[column]
            rows[:, i] = getattr(m, name)[:, k]
        else:
            rows[:, i] = getattr(m, column, 0.0)
    return rows


def events_in(m: Motion) -> Array:
    """The events of a motion as the core has them, shape (events, EVENT_COLUMNS)."""
    return np.stack([m.event_kind, m.event_check, m.event_time, m.event_value], 1).astype(float)
