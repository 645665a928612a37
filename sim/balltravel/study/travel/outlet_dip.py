"""The dip at changeover at a spray tip: what shims and what the outlet hose make of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from balltravel.scenario.model import Scenario, ScenarioError, with_shims_below, with_value
from balltravel.setup.outlet import has_tip
from balltravel.study.travel.trials import Trial
from balltravel.sweeps.cases import run_case

STEP = 10.0
"""Factor by which the outlet hose is made softer and stiffer (our choice)."""


@dataclass(frozen=True)
class OutletDip:
    """Dip of the chosen arrangement over the mean pressure, the least and the most of all arrangements, and
    that of the chosen one behind a hose ten times softer and ten times stiffer (None: not run)."""

    chosen: float
    least: float
    most: float
    compliance: float
    softer: float | None
    stiffer: float | None


def outlet_dip(scenario: Scenario, chosen: Trial, trials: Sequence[Trial]) -> OutletDip | None:
    """None without a tip, or where the chosen arrangement did not run."""
    if not has_tip(scenario.outlet) or chosen.metrics is None:
        return None
    dips = [trial.metrics.pressure_dip for trial in trials if trial.metrics is not None]
    at = with_shims_below(scenario, chosen.shims_below)
    give = scenario.outlet.hose_compliance
    softer, stiffer = (_dip_with(at, factor * give) for factor in (STEP, 1.0 / STEP))
    return OutletDip(chosen.metrics.pressure_dip, min(dips), max(dips), give, softer, stiffer)


def _dip_with(scenario: Scenario, compliance: float) -> float | None:
    try:
        changed = with_value(scenario, "outlet.hose_compliance", compliance)
    except ScenarioError:
        return None
    metrics = run_case(changed).metrics
    return None if metrics is None else metrics.pressure_dip
