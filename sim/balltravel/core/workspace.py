"""The arrays that one run works in, allocated once."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.model import SIZE, STATES, WHOLE, Moment
from balltravel.core.parameters import MOST_SEGMENTS, Array
from balltravel.core.recording import COLUMNS
from balltravel.core.rosenbrock import STAGES

GUARDS = 11
EVENT_COLUMNS = 4
MOST_EVENTS = 10_000
MOST_ROWS = 200_000


class Contact(NamedTuple):
    """How each ball (inlet, piston) stands: mode, whether its release is armed (1) and from when it may be
    released in any case [s], and on which side of zero each guard was last seen."""

    mode: NDArray[np.int64]
    armed: NDArray[np.int64]
    hold: Array
    side: Array


class Workspace(NamedTuple):
    """The instant last looked at, scratch for the steps, the trajectory's state ``y``, rows and events of the
    cycle in hand with their counts, and when its segments began and the last ended [s] (``clock``)."""

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
    guard_kept: Array
    tolerance: Array
    rows: Array
    events: Array
    number: NDArray[np.int64]
    clock: Array


def make_contact() -> Contact:
    """Both balls on their seats."""
    return Contact(np.zeros(2, dtype=np.int64), np.ones(2, dtype=np.int64), np.zeros(2), np.ones(GUARDS))


def make_workspace() -> Workspace:
    """Arrays for one run."""
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
        np.zeros((MOST_ROWS, len(COLUMNS))),
        np.zeros((MOST_EVENTS, EVENT_COLUMNS)),
        np.zeros(2, dtype=np.int64),
        np.zeros(MOST_SEGMENTS + 1),
    )
