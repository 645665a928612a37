"""Priming: from a suction hose and a lower full of air until material stands at the inlet check (M10).

A model of its own beside the core: air, ideal and at one temperature, behind a column of material that rises
in the hose. The checks are ideal in air: shut below their cracking pressure, at that pressure when open.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from balltravel.core.parameters import pieces
from balltravel.core.stroke import motion
from balltravel.scenario.rules.rule import STANDARD_GRAVITY
from balltravel.site.air import SeatLeak
from balltravel.study.site.priming_setup import AirCheck, PrimingLimits, PrimingSetup, priming_limits

Array = NDArray[np.float64]
Outcome = Literal["reached", "gas-locked", "lift too high", "leak too large", "too slow"]

MOST_CYCLES = 400
STALLED, HOPELESS = 1e-5, 1e-3
"""A cycle that changes column and air of the hose by less than this share of the whole hose goes nowhere; the
second where M10f says that it cannot (our choice)."""

END_CORRECTION = 0.3
"""Length of liquid that moves before the end of a hose, in diameters: 0.61 radii of an unflanged pipe (Levine
and Schwinger 1948, from memory). Without it a column of no length has no mass."""

RTOL = 1e-8
NOISE = 1e-9
"""Pressure and flow of air below which a check does not change, as a share of their scales."""

MOST_SWITCHES = 2000
"""Of checks in one cycle; more are a fault of this program."""


class PrimingError(RuntimeError):
    """The integration failed; the message says when and how."""


@dataclass(frozen=True)
class Priming:
    """What became of it. ``time``: until the column stands at the end of the hose [s], nan where it never
    does; ``cycles``: the same in cycles; ``to_fill``: further cycles, at least, until lower and upper chamber
    are full. A row for each cycle, the last one perhaps not whole: ``filled`` length of the hose and
    ``climbed`` height over the surface at its end [m], ``port`` pressure at its end and ``lowest`` in it
    [Pa], ``expelled``: air that left through the piston check in it [m3 at barometric pressure]. ``trace``:
    shape (4, steps): time [s], filled [m], port and lower pressure [Pa]. ``residual``: air lost by the
    integration, over that of the start."""

    outcome: Outcome
    time: float
    cycles: float
    to_fill: float
    filled: Array
    climbed: Array
    port: Array
    lowest: Array
    expelled: Array
    limits: PrimingLimits
    trace: Array
    residual: float


# --- the equations


class _Mode(NamedTuple):
    """Which checks are open, and whether air bubbles out of the hose's far end."""

    inlet: bool = False
    piston: bool = False
    bubbling: bool = False


class _Flows(NamedTuple):
    """Air through both checks and out of the hose's end [J/s], slopes of both pressures [Pa/s]."""

    inlet: float
    piston: float
    end: float
    port_slope: float
    lower_slope: float


FILLED, SPEED, PORT, LOWER, EXPELLED, BUBBLED = range(6)


def _flows(s: PrimingSetup, mode: _Mode, y: Any, x: float, v: float) -> _Flows:
    """M10b to M10d: pressures of two volumes of air whose checks are open or shut."""
    length, speed, port, lower = y[FILLED], y[SPEED], y[PORT], y[LOWER]
    V_h = max(s.hose_area * (s.hose_length - length) + s.port, 0.1 * s.port)
    V_L = s.dead + s.bore_area * x
    squeezed, pushed = port * s.hose_area * speed, -lower * s.bore_area * v  # -p dV/dt of both
    into = s.inlet.leak.flow(port, lower)
    out = s.piston.leak.flow(lower, s.outlet)
    if mode.inlet and mode.piston:
        into = squeezed  # the port stands at the outlet's pressure and both balls'
    elif mode.inlet:
        # Both pressures rise alike, for the open check keeps their difference.
        into = (squeezed / V_h - (pushed - out) / V_L) / (1.0 / V_h + 1.0 / V_L)
    if mode.piston:
        out = into + pushed
    end = -into if mode.bubbling else 0.0
    return _Flows(into, out, end, (squeezed - into - end) / V_h, (into - out + pushed) / V_L)


def _acceleration(s: PrimingSetup, y: Any) -> float:
    """M10a: of the column [m/s2]."""
    length, speed = max(y[FILLED], 0.0), y[SPEED]
    head = s.density * STANDARD_GRAVITY * s.rise * length / s.hose_length
    entering = 0.5 * s.density * max(speed, 0.0) ** 2
    force = s.tank - head - y[PORT] - s.loss(length, speed) - entering
    return float(force / (s.density * (length + END_CORRECTION * s.hose_diameter)))


class _PrimingRun:
    """One priming: state, mode, and what is recorded of it."""

    def __init__(self, s: PrimingSetup) -> None:
        self.s, self.mode = s, _Mode()
        start = min(
            s.barometric, s.tank
        )  # air at more than the tank's pressure bubbled out when it was dipped
        self.y = np.array([0.0, 0.0, start, s.barometric, 0.0, 0.0])
        self.air = self.air_in(self.y, 0.0)
        flow = s.barometric * s.swept / s.drive.period
        self.noise = NOISE * s.barometric, NOISE * flow
        self.atol = np.array([1e-9 * s.hose_length, 1e-7, 1e-3, 1e-3, 1e-9 * self.air, 1e-9 * self.air])
        self.trace: list[Array] = []
        self.last_time = 0.0

    def air_in(self, y: Array, x: float) -> float:
        """Air in hose, port and lower chamber [J]."""
        s = self.s
        hose = s.hose_area * (s.hose_length - y[FILLED]) + s.port
        return float(y[PORT] * hose + y[LOWER] * (s.dead + s.bore_area * x))

    def stretch(self, segment: int, begin: float, end: float) -> tuple[float, bool]:
        """Integrates to the end of a segment of the stroke, or to an event; the time there, and whether the
        column has reached the end of the hose."""
        s, mode = self.s, self.mode

        def rhs(t: float, y: Array) -> list[float]:
            x, v, _, _ = motion(s.drive, segment, t)
            f = _flows(s, mode, y, x, v)
            held = mode.bubbling
            speed, a = (0.0, 0.0) if held else (y[SPEED], _acceleration(s, y))
            return [speed, a, f.port_slope, f.lower_slope, f.piston, f.end]

        solution = _integrated(
            rhs, (begin, end), self.y, self.events(segment), self.atol, s.drive.period / 20.0
        )
        self.y = solution.y[:, -1].copy()
        self.last_time = float(solution.t[-1])
        self.trace.append(np.vstack([solution.t, solution.y[[FILLED, PORT, LOWER]]]))
        hits = [i for i, times in enumerate(solution.t_events or ()) if len(times)]
        if hits:
            self.switch(hits[0])
        return self.last_time, hits[:1] == [0]

    def events(self, segment: int) -> list[Any]:
        """In the order of `switch`: column at the hose's end, inlet check, piston check, far end."""
        s, mode = self.s, self.mode
        dp, dJ = self.noise

        def flows(t: float, y: Array) -> _Flows:
            x, v, _, _ = motion(s.drive, segment, t)
            return _flows(s, mode, y, x, v)

        # A check shuts when what passes it falls to what its seat would leak.
        def inlet_flow(t: float, y: Array) -> float:
            return flows(t, y).inlet - s.inlet.leak.flow(y[PORT], y[LOWER]) + dJ

        def piston_flow(t: float, y: Array) -> float:
            return flows(t, y).piston - s.piston.leak.flow(y[LOWER], s.outlet) + dJ

        reached = _event(lambda _, y: y[FILLED] - s.hose_length, 1.0)
        inlet = (
            _event(inlet_flow, -1.0)
            if mode.inlet
            else _event(lambda _, y: y[PORT] - y[LOWER] - s.inlet.cracking - dp, 1.0)
        )
        piston = (
            _event(piston_flow, -1.0)
            if mode.piston
            else _event(lambda _, y: y[LOWER] - s.outlet - s.piston.cracking - dp, 1.0)
        )
        end = (
            _event(lambda t, y: flows(t, y).inlet - dJ, 1.0)
            if mode.bubbling
            else _event(lambda _, y: y[FILLED] + NOISE * s.hose_length, -1.0)
        )
        return [reached, inlet, piston, end]

    def switch(self, event: int) -> None:
        """Changes the mode at an event."""
        if event == 1:
            self.mode = self.mode._replace(inlet=not self.mode.inlet, bubbling=False)
        elif event == 2:
            self.mode = self.mode._replace(piston=not self.mode.piston)
        elif event == 3 and self.mode.bubbling:
            self.mode = self.mode._replace(bubbling=False)
        elif event == 3:
            # The column is out of the hose; what is above the tank's pressure bubbles through the material.
            s = self.s
            self.y[FILLED] = self.y[SPEED] = 0.0
            excess = self.y[PORT] - s.tank
            if excess > 0.0:
                self.y[PORT], self.y[BUBBLED] = s.tank, self.y[BUBBLED] + excess * s.hose_volume
            self.mode = self.mode._replace(bubbling=excess >= 0.0)

    def cycle(self) -> bool:
        """One cycle; whether the column has reached the end of the hose in it."""
        starts = pieces(self.s.drive.start)
        stretches = 0
        for segment in range(int(self.s.drive.segments)):
            t, end = float(starts[segment]), float(starts[segment + 1])
            while t < end:
                t, reached = self.stretch(segment, t, end)
                if reached:
                    return True
                stretches += 1
                if stretches > MOST_SWITCHES:
                    raise PrimingError(f"priming: more than {MOST_SWITCHES} switches of checks in a cycle")
        return False


def _integrated(
    rhs: Callable[[float, Array], list[float]],
    span: tuple[float, float],
    start: Array,
    events: list[Any],
    atol: Array,
    longest: float,
) -> Any:
    """solve_ivp up to an event. LSODA is fast; its dense output may miss the sign that an event had at the
    ends of a step, which the slower Radau's does not."""
    message = ""
    for method in ("LSODA", "Radau"):
        try:
            solution = solve_ivp(
                rhs, span, start, method=method, rtol=RTOL, atol=atol, events=events, max_step=longest
            )
        except ValueError as error:
            message = str(error)
            continue
        if solution.status >= 0:
            return solution
        message = solution.message
    raise PrimingError(f"priming: the integration failed at {span[0]:g} s in a cycle: {message}")


def _event(function: Callable[[float, Array], float], direction: float) -> Any:
    """A terminal event of solve_ivp."""
    event: Any = function
    event.terminal, event.direction = True, direction
    return event


# --- the run


def prime(s: PrimingSetup) -> Priming:
    """Cycles from bottom dead centre until the column stands at the end of the hose, or nothing changes any
    more, or MOST_CYCLES are over. Raises PrimingError where the integration fails."""
    run, bounds, reached = _PrimingRun(s), priming_limits(s), False
    rows, traces = [], []
    hopeless = s.rise >= bounds.lift
    for cycle in range(MOST_CYCLES):
        before, run.trace = run.y.copy(), []
        reached = run.cycle()
        trace = np.hstack(run.trace)
        rows.append((run.y[FILLED], run.y[PORT], trace[2].min(), run.y[EXPELLED] - before[EXPELLED]))
        trace[0] += cycle * s.drive.period
        traces.append(trace)
        if reached or _change(s, before, run.y) < (HOPELESS if hopeless else STALLED):
            break
    trace = np.hstack(traces)
    filled, port, lowest, expelled = np.array(rows).T
    x = _position(s, run.last_time) if reached else 0.0
    left = run.air_in(run.y, x) + run.y[EXPELLED] + run.y[BUBBLED]
    time = float(trace[0, -1]) if reached else math.nan
    return Priming(
        outcome="reached" if reached else _why(s, bounds),
        time=time,
        cycles=time / s.drive.period,
        to_fill=(s.port + s.dead + s.upper) / s.swept if reached else math.nan,
        filled=filled,
        climbed=filled * s.rise / s.hose_length,
        port=port,
        lowest=lowest,
        expelled=expelled / s.barometric,
        limits=bounds,
        trace=trace,
        residual=left / run.air - 1.0,
    )


def _position(s: PrimingSetup, t: float) -> float:
    """Piston position [m] at a time within a cycle."""
    starts = pieces(s.drive.start)[1 : int(s.drive.segments)]
    return float(motion(s.drive, int(np.searchsorted(starts, t)), t)[0])


def _change(s: PrimingSetup, before: Array, after: Array) -> float:
    """Of column and air in the hose over a cycle, over that of the whole hose."""
    risen = abs(after[FILLED] - before[FILLED]) / s.hose_length

    def air(y: Array) -> float:
        return float(y[PORT] * (s.hose_volume - s.hose_area * y[FILLED]))

    return float(max(risen, abs(air(after) - air(before)) / (s.barometric * s.hose_volume)))


def _why(s: PrimingSetup, bounds: PrimingLimits) -> Outcome:
    """Why a column that did not come did not."""
    if bounds.ratio <= bounds.needed:
        return "gas-locked"
    if s.rise >= bounds.lift:
        return "lift too high"
    if s.inlet.leak == s.piston.leak == SeatLeak():
        return "too slow"
    tight = replace(s, inlet=AirCheck(s.inlet.cracking), piston=AirCheck(s.piston.cracking))
    return "leak too large" if prime(tight).outcome == "reached" else "too slow"
