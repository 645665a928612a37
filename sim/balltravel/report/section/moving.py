"""Where everything in a section is at chosen times of a cycle, from the run's own trajectory."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from balltravel.cycle.motion import Motion
from balltravel.report.section.shapes import Moves

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Places:
    """What a picture needs at each of some times, arrays of equal length, SI units.

    ``void``: share of the lower chamber that is void, 0 to 1; ``drawn`` and ``passed``: net volume through
    the inlet check and the piston check since bottom dead centre; ``most_drawn``: the most that ``drawn`` was
    so far; flows upwards positive.
    """

    time: Array
    piston: Array
    inlet_lift: Array
    piston_lift: Array
    void: Array
    drawn: Array
    passed: Array
    most_drawn: Array
    inlet_flow: Array
    piston_flow: Array

    def up(self, instant: int) -> dict[Moves, float]:
        """How far what moves is above where it is drawn at bottom dead centre, balls seated [m]."""
        piston = float(self.piston[instant])
        return {
            Moves.PISTON: piston,
            Moves.INLET_BALL: float(self.inlet_lift[instant]),
            Moves.PISTON_BALL: piston + float(self.piston_lift[instant]),
        }

    def at(self, instant: int) -> dict[str, float]:
        """All values of one instant by name."""
        return {part.name: float(getattr(self, part.name)[instant]) for part in fields(self)}


def places_at(m: Motion, times: Array, dead_volume: float) -> Places:
    """The places at times since bottom dead centre [s], taken modulo the period; straight lines between rows.

    dead_volume: of the lower chamber at bottom dead centre [m3].
    """
    within = np.mod(times, m.period)
    # Rows stand twice where something jumps: what holds from then on is the later one.
    last = np.append(np.diff(m.time) > 0.0, True)

    def read(values: Array) -> Array:
        return np.asarray(np.interp(within, m.time[last], values[last]), float)

    piston = read(m.piston_position)
    chamber = dead_volume + m.bore_area * piston
    return Places(
        time=np.asarray(times, float),
        piston=piston,
        inlet_lift=read(m.lift[:, 0]),
        piston_lift=read(m.lift[:, 1]),
        void=np.clip(read(m.void_volume) / chamber, 0.0, 1.0),
        drawn=read(m.passed_volume[:, 0]),
        passed=read(m.passed_volume[:, 1]),
        most_drawn=read(np.maximum.accumulate(m.passed_volume[:, 0])),
        inlet_flow=read(m.flow[:, 0]),
        piston_flow=read(m.flow[:, 1]),
    )
