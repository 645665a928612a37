"""One cycle with what its user should know beside the numbers."""

from dataclasses import dataclass

from balltravel.cycle.run import Cycle, run_cycle
from balltravel.estimate.cautions import warnings_for
from balltravel.scenario.model import Scenario
from balltravel.study.travel.dives import dive_caution
from balltravel.study.travel.port_compliance import PortTry, port_caution, port_tries


@dataclass(frozen=True)
class CycleReport:
    """A cycle, its warnings, and what other port compliances give where the lower starves and the scenario
    gives none."""

    cycle: Cycle
    warnings: tuple[str, ...]
    port: tuple[PortTry, ...] = ()


def cycle_report(scenario: Scenario) -> CycleReport:
    """Run a scenario; warnings are those of the scenario as it was given."""
    cycle = run_cycle(scenario)
    warnings = warnings_for(scenario, cycle.metrics, cycle.status)
    port = port_tries(scenario, cycle.metrics)
    more = (*dive_caution(scenario, cycle.metrics), *port_caution(scenario, port))
    return CycleReport(cycle, (*warnings, *more), port)
