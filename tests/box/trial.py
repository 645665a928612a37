"""One case of the box: run, look at every number, and for some run again at a tighter tolerance."""

from typing import NamedTuple

import numpy as np
from box.scenarios_at_random import scenario_number

from balltravel.core.recording import COLUMNS
from balltravel.core.workspace import MOST_ROWS
from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS, RTOL, control_for, core_parameters
from balltravel.setup.runs import run_core

PRESSURES = [COLUMNS.index(name) for name in ("port_pressure", "lower_pressure", "upper_pressure")]
VOLUMES = [COLUMNS.index(name) for name in ("drawn_volume", "passed_volume", "delivered_volume")]
TIGHTER, ALLOWED = 1e-2, 1e-4
"""Tolerance of the second run over the first's, and how far its volumes may differ: of swept, or of what
passed, if that is more."""


class Outcome(NamedTuple):
    """How a case ended, whether every number of it is finite and every pressure above the vapour's, and the
    second run: its status and the largest difference of a volume (nan where there was none)."""

    number: int
    status: str
    finite: bool
    again: str = ""
    difference: float = float("nan")

    @property
    def is_silent_difference(self) -> bool:
        """Said to be right, and other than a tighter run says."""
        return self.status == "OK" and self.again == "OK" and self.difference > ALLOWED


def try_out(
    seed: int, number: int, cycles: int = MAX_CYCLES, most_steps: int = MOST_STEPS, twice: bool = False
) -> Outcome:
    """Run scenario ``number`` of a seed; ``twice``: and again at a hundred times tighter tolerance."""
    p = core_parameters(scenario_number(seed, number))
    first = run_core(p, control_for(p, RTOL, cycles, most_steps))
    finite = bool(np.isfinite(first.rows).all() and np.isfinite(first.events).all())
    # A run that failed ends with the instant that shows why, of one row or two.
    ends = first.rows[:, 0] == first.rows[-1, 0]
    kept = first.rows[~ends] if first.status.failed else first.rows
    finite = finite and bool((kept[:, PRESSURES] >= p.material.vapour_pressure).all())
    if not twice:
        return Outcome(number, first.status.name, finite)
    second = run_core(p, control_for(p, TIGHTER * RTOL, cycles, MOST_ROWS))
    found, exact = first.rows[-1, VOLUMES], second.rows[-1, VOLUMES]
    size = max(p.lower.area * p.drive.stroke, float(np.abs(exact).max()))
    return Outcome(
        number, first.status.name, finite, second.status.name, float(np.abs(found - exact).max()) / size
    )
