"""From a scenario to the cycle it settles into: one run as a plain record."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from balltravel.core.records import as_record
from balltravel.core.status import Status
from balltravel.cycle.found_rate import Progress, find_rate
from balltravel.cycle.metrics import Metrics, metrics_from
from balltravel.cycle.motion import Motion, motion_of
from balltravel.cycle.validity import Excursion, RangeCheck, check_ranges
from balltravel.scenario.arguments import scenario_given
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS, RTOL, control_for, core_parameters
from balltravel.setup.runs import CYCLES, STEPS, TOLERANCE, run_core


@dataclass(frozen=True)
class Cycle:
    """One run: the scenario as it was run (at the cycle rate found, where that is a result), how the run
    ended and after how many cycles, how much delivery changed over the last one (over swept), the motion, its
    metrics (None of a failed run), the rows where a closure is outside its range, all such excursions, the
    tolerance of the run, and about how many steps it took, the search for its rate included."""

    scenario: Scenario
    status: Status
    cycles: int
    delivered_change: float
    motion: Motion
    metrics: Metrics | None
    outside_range: NDArray[np.bool_]
    excursions: tuple[Excursion, ...]
    rtol: float
    steps: int = 0


def run_cycle(
    scenario: Scenario,
    rtol: float = RTOL,
    max_cycles: int = MAX_CYCLES,
    most_steps: int = MOST_STEPS,
    progress: Progress | None = None,
) -> Cycle:
    """Run a scenario until its cycle repeats. Where the tip and its pressure are given and not the cycle
    rate, at the rate that is found; ``progress`` is called with (rates run, rates at most).

    rtol: 1e-9 to 1e-3; max_cycles: 1 to 10 000; most_steps: 1 to 200 000. A failed run has the rows it got
    to, and no metrics; one whose rate is not found has those of a single cycle at the rate that came nearest.
    Raises ScenarioError for arguments that cannot be.
    """
    scenario_given(scenario)
    rtol = TOLERANCE.checked(rtol)
    max_cycles, most_steps = CYCLES.checked(max_cycles), STEPS.checked(most_steps)
    found, steps = True, 0
    if scenario.outlet.form == "tip at pressure":
        scenario, found, steps = find_rate(scenario, progress, max(rtol, RTOL))
    sizes = core_parameters(scenario)
    p = as_record(sizes)
    run = run_core(p, control_for(sizes, rtol, max_cycles if found else 1, most_steps))
    if not found:
        run = run._replace(status=Status.RATE_NOT_FOUND)
    motion, failed = motion_of(p, run), run.status.failed
    ranges = RangeCheck(np.zeros(motion.time.size, bool), ()) if failed else check_ranges(scenario, motion, p)
    return Cycle(
        scenario,
        run.status,
        run.cycles,
        run.delivered_change,
        motion,
        None if failed else metrics_from(run.measures, run.flags),
        ranges.outside,
        ranges.excursions,
        rtol,
        steps + run.cycles * len(run.rows),
    )
