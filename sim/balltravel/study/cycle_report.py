"""One cycle with what its user should know beside the numbers."""

from dataclasses import dataclass

from balltravel.cycle.found_rate import Progress
from balltravel.cycle.run import Cycle, run_cycle
from balltravel.estimate.cautions import warnings_for
from balltravel.scenario.model import Scenario
from balltravel.study.travel.dives import dive_caution


@dataclass(frozen=True)
class CycleReport:
    """A cycle and its warnings."""

    cycle: Cycle
    warnings: tuple[str, ...]


def cycle_report(scenario: Scenario, progress: Progress | None = None) -> CycleReport:
    """Run a scenario; warnings are those of the scenario as it was given. ``progress``: see run_cycle."""
    cycle = run_cycle(scenario, progress=progress)
    warnings = warnings_for(scenario, cycle.metrics, cycle.status)
    return CycleReport(cycle, (*warnings, *dive_caution(scenario, cycle.metrics)))
