"""Motions by hand."""

from typing import Any

import numpy as np

from balltravel.cycle.motion import BOTH, CHECK, EVENT, ROW, Motion, variables


def motion(time: Any, events: Any = (), **given: Any) -> Motion:
    """A cycle at these times with these events (kind, check, time, value), all else 0 but what is given."""
    columns = np.array(events, dtype=float).reshape(-1, 4).T
    marked = dict(zip(("event_kind", "event_check", "event_time", "event_value"), columns, strict=True))
    sizes = {ROW: (len(time),), BOTH: (len(time), 2), CHECK: (2,), EVENT: (columns.shape[1],)}
    nothing = {name: np.zeros(sizes[dims]) if dims else 0.0 for name, (dims, _, _) in variables()}
    return Motion(**{**nothing, **marked, **given, "time": np.array(time, dtype=float)})
