"""The arrays that one run works in, allocated once."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.model import SIZE, STATES, WHOLE, Moment
from balltravel.core.parameters import MOST_SEGMENTS, Array
from balltravel.core.readings import Sizes
from balltravel.core.recording import COLUMNS, EVENT_COLUMNS
from balltravel.core.rosenbrock import STAGES
from balltravel.core.shared import Shared

GUARDS = 11
MOST_EVENTS = 10_000
MOST_ROWS = 200_000


@dataclass
class March:
    """Where a run stands: ``status`` (-1 while it goes on), what it goes on ``until``, cycles ended, steps in
    them, the change of delivery over the last and what it delivered; the segment, the time in the cycle, the
    segment's end and the end that steps may not pass; the length to try next and that of the last attempt,
    whether it reaches the end; whether a step is under way and ``work.now`` is the present instant, the
    attempt's purpose; and the bracket on the way to an event, with the weights of its ends."""

    status: int = -1
    until: int = 0
    cycles: int = 0
    steps: int = 0
    drift: float = 0.0
    delivered: float = 0.0
    segment: int = 0
    tripped: int = 0
    t: float = 0.0
    end: float = 0.0
    stop: float = 0.0
    h: float = 0.0
    step: float = 0.0
    whole: int = 0
    under_way: int = 0
    seen: int = 0
    purpose: int = 0
    rounds: int = 0
    high_moved: int = 0
    low: float = 0.0
    high: float = 0.0
    weight_low: float = 1.0
    weight_high: float = 1.0


class Contact(NamedTuple):
    """How each ball (inlet, piston) stands: mode, whether its release is armed (1) and from when it may be
    released in any case [s], and on which side of zero each guard was last seen."""

    mode: NDArray[np.int64]
    armed: NDArray[np.int64]
    hold: Array
    side: Array


class Workspace(NamedTuple):
    """The instant last looked at, scratch for the steps, the trajectory's state ``y``, rows and events of
    the cycle in hand with their counts, and when its segments began and the last ended [s] (``clock``);
    where the run stands; and scratch for what it says at its end."""

    now: Moment
    y: Array
    y_start: Array
    trial: Array
    stage: Array
    rates: Array
    by_time: Array
    jacobian: Array
    matrix: Array
    order: Array
    whole_jacobian: Array
    whole_matrix: Array
    whole_order: Array
    increments: Array
    guard: Array
    guard_low: Array
    guard_trial: Array
    guard_high: Array
    tolerance: Array
    rows: Shared
    events: Shared
    number: NDArray[np.int64]
    clock: Array
    march: March
    sizes: Sizes
    mask: NDArray[np.int8]


def make_contact() -> Contact:
    """Both balls on their seats."""
    return Contact(np.zeros(2, dtype=np.int64), np.ones(2, dtype=np.int64), np.zeros(2), np.ones(GUARDS))


def make_workspace(most_rows: int = MOST_ROWS, most_events: int = MOST_EVENTS) -> Workspace:
    """Arrays for one run after the other, with room for so many rows and events of a cycle."""
    return Workspace(
        Moment(),
        np.zeros(SIZE),
        np.zeros(SIZE),
        np.zeros(SIZE),
        np.zeros(SIZE),
        np.zeros(SIZE),
        np.zeros(SIZE),
        np.zeros((SIZE, STATES)),
        np.zeros((STATES, STATES)),
        np.zeros(STATES),
        np.zeros((SIZE, WHOLE)),
        np.zeros((WHOLE, WHOLE)),
        np.zeros(WHOLE),
        np.zeros((STAGES, SIZE)),
        np.zeros(GUARDS),
        np.zeros(GUARDS),
        np.zeros(GUARDS),
        np.zeros(GUARDS),
        np.zeros(GUARDS),
        np.zeros((most_rows, len(COLUMNS))),
        np.zeros((most_events, EVENT_COLUMNS)),
        np.zeros(2, dtype=np.int64),
        np.zeros(MOST_SEGMENTS + 1),
        March(),
        Sizes(),
        np.zeros(1, dtype=np.int8),
    )
