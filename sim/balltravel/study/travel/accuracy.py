"""How far a case's numbers are those of the equations: the case once more at a tighter tolerance."""

from dataclasses import dataclass

from balltravel.core.status import Status
from balltravel.core.workspace import MOST_ROWS
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import MAX_CYCLES, RTOL
from balltravel.sweeps.cases import Case, run_case

MANY_CYCLES = 400
"""Cycles at most of the second run, where the first did not repeat (our choice)."""

DRIFT = 1e-4
"""Change of delivery over the last cycle, over swept, above which a cycle counts as not settled (our choice);
below it a ball that bounces differently each time is taken to scatter."""

TIGHTER = 1e-2
"""The second run's tolerance over the first's (our choice)."""


@dataclass(frozen=True)
class Band:
    """Numerical band of each metric by dotted name [SI]: how far it may be off by the integration alone, or
    why there is none. It says nothing of how far the equations are from a pump."""

    values: dict[str, float]
    missing: str = ""


def numerical_band(scenario: Scenario, case: Case, rtol: float = RTOL) -> Band:
    """Run a case again at a hundred times tighter tolerance and take the differences as the band.

    A cycle that did not repeat is given many more cycles in the second run, so that what was still to go is
    in the difference; where it still drifts then, there is no band. A volume's band is not less than its
    change over the last cycle.
    """
    if case.metrics is None:
        return Band({}, "the run failed")
    cycles = MANY_CYCLES if case.status == Status.NOT_PERIODIC else MAX_CYCLES
    again = run_case(scenario, TIGHTER * rtol, MOST_ROWS, cycles)
    if again.metrics is None:
        return Band({}, f"the run at a tighter tolerance ended with {again.status.name.lower()}")
    if again.status == Status.NOT_PERIODIC and again.scatter > DRIFT:
        return Band({}, f"the cycle had not settled after {cycles} cycles")
    first, second = case.metrics.flat(), again.metrics.flat()
    band = {name: abs(value - second[name]) for name, value in first.items()}
    scatter = max(case.scatter, again.scatter)
    band["fill_fraction"] = max(band["fill_fraction"], scatter)
    band["volumetric_efficiency"] = max(band["volumetric_efficiency"], scatter)
    swept = case.metrics.loss_budget.swept
    band["delivered_volume"] = max(band["delivered_volume"], scatter * swept)
    return Band(band)
