"""What the second solver gives back of a cycle: its events, clock, volumes and motion."""

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from referee.model import VOLUMES, Model


class Event(NamedTuple):
    """Time since the cycle began [s], what, which check ('' for none), and speed or sign."""

    time: float
    kind: str
    check: str
    value: float


class Piece(NamedTuple):
    """One step: dense output (scaled states) from start to end."""

    start: float
    end: float
    dense: object
    segment: object
    modes: tuple


@dataclass
class Cycle:
    """One cycle: events in order, when its segments began and the last one ended, the state at its end, and
    its motion."""

    model: Model
    stalled: bool = False
    clock: list = field(default_factory=list)
    events: list = field(default_factory=list)
    pieces: list = field(default_factory=list)
    end_state: object = None
    seconds: float = 0.0
    evaluations: int = 0

    @property
    def steps(self):
        """Number of accepted steps."""
        return len(self.pieces)

    @property
    def volumes(self):
        """V_i, V_p, V_o, V_s and the others at the end of the cycle [m3]; X [m]."""
        return {name: float(self.end_state[self.model.place[name]]) for name in VOLUMES}

    def _at(self, t):
        ends = [p.end for p in self.pieces]
        piece = self.pieces[min(int(np.searchsorted(ends, t)), len(ends) - 1)]
        return piece, piece.dense(t) * self.model.scales

    def sample(self, times):
        """The states at these times: shape (n, states)."""
        return np.array([self._at(t)[1] for t in np.atleast_1d(times)])

    def instants(self, times):
        """Everything of the model (rates, pressures, flows, forces) at these times: a list of Instant."""
        found = ((t, *self._at(t)) for t in np.atleast_1d(times))
        return [self.model.instant(t, y, piece.segment, piece.modes) for t, piece, y in found]

    def pressures(self, times):
        """p_p, p_L, p_U at these times [Pa]: shape (n, 3)."""
        return np.array([instant.pressures for instant in self.instants(times)])


@dataclass
class Result:
    """The cycles in order."""

    model: Model
    cycles: list
