"""Predicts how the two ball checks of a reciprocating pump lower behave, and recommends the ball travel.

The names below are loaded when they are first asked for, so that ``balltravel --help`` stays quick.
"""

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Calibration, calibrate
    from balltravel.bench.diagnose import Diagnosis, diagnose
    from balltravel.bench.history.entries import Entry
    from balltravel.bench.history.history import History, history, log_entry
    from balltravel.bench.observed import Observations
    from balltravel.bench.read_observed import read_observations
    from balltravel.cycle.dataset import cycle_metrics, cycle_of, simulate
    from balltravel.cycle.metrics import Metrics
    from balltravel.cycle.run import Cycle, run_cycle
    from balltravel.files.read_write import read_dataset, read_scenario, read_week, write_dataset
    from balltravel.files.week import WeekMaterial
    from balltravel.report.animate import animate
    from balltravel.report.card import card
    from balltravel.report.job_report import job_report
    from balltravel.report.pages.lesson.page import lesson
    from balltravel.scenario.model import Scenario, ScenarioError, with_shims_below, with_value, with_values
    from balltravel.scenario.ranges import with_ranges
    from balltravel.scenario.unknowns import spreads_of
    from balltravel.study.swept.best_travel import best_travel
    from balltravel.study.swept.envelope import envelope
    from balltravel.study.swept.over_samples import chance, what_decides
    from balltravel.study.swept.samples import samples_of
    from balltravel.study.travel.recommend import Recommendation
    from balltravel.study.verdict.recommend import recommend
    from balltravel.study.week.recommend import Week
    from balltravel.study.week.verdict import recommend_week
    from balltravel.sweeps.distributions import distributions
    from balltravel.sweeps.grid import sweep
    from balltravel.sweeps.values import linear, logarithmic
    from balltravel.units.display import shown_in
    from balltravel.units.spread import Spread

_HOME = {
    "Calibration": "bench.calibrate.calibrate",
    "Cycle": "cycle.run",
    "Diagnosis": "bench.diagnose",
    "Entry": "bench.history.entries",
    "History": "bench.history.history",
    "Metrics": "cycle.metrics",
    "Observations": "bench.observed",
    "Recommendation": "study.travel.recommend",
    "Scenario": "scenario.model",
    "ScenarioError": "scenario.model",
    "Spread": "units.spread",
    "Week": "study.week.recommend",
    "WeekMaterial": "files.week",
    "animate": "report.animate",
    "best_travel": "study.swept.best_travel",
    "card": "report.card",
    "calibrate": "bench.calibrate.calibrate",
    "chance": "study.swept.over_samples",
    "cycle_metrics": "cycle.dataset",
    "cycle_of": "cycle.dataset",
    "diagnose": "bench.diagnose",
    "distributions": "sweeps.distributions",
    "envelope": "study.swept.envelope",
    "history": "bench.history.history",
    "job_report": "report.job_report",
    "lesson": "report.pages.lesson.page",
    "linear": "sweeps.values",
    "log_entry": "bench.history.history",
    "logarithmic": "sweeps.values",
    "read_dataset": "files.read_write",
    "read_observations": "bench.read_observed",
    "read_scenario": "files.read_write",
    "read_week": "files.read_write",
    "recommend": "study.verdict.recommend",
    "run_cycle": "cycle.run",
    "recommend_week": "study.week.verdict",
    "samples_of": "study.swept.samples",
    "shown_in": "units.display",
    "simulate": "cycle.dataset",
    "spreads_of": "scenario.unknowns",
    "sweep": "sweeps.grid",
    "what_decides": "study.swept.over_samples",
    "with_ranges": "scenario.ranges",
    "with_shims_below": "scenario.model",
    "with_value": "scenario.model",
    "with_values": "scenario.model",
    "write_dataset": "files.read_write",
}

__all__ = [
    "Calibration",
    "Cycle",
    "Diagnosis",
    "Entry",
    "History",
    "Metrics",
    "Observations",
    "Recommendation",
    "Scenario",
    "ScenarioError",
    "Spread",
    "Week",
    "WeekMaterial",
    "animate",
    "best_travel",
    "calibrate",
    "card",
    "chance",
    "cycle_metrics",
    "cycle_of",
    "diagnose",
    "distributions",
    "envelope",
    "history",
    "job_report",
    "lesson",
    "linear",
    "log_entry",
    "logarithmic",
    "read_dataset",
    "read_observations",
    "read_scenario",
    "read_week",
    "recommend",
    "recommend_week",
    "run_cycle",
    "samples_of",
    "shown_in",
    "simulate",
    "spreads_of",
    "sweep",
    "what_decides",
    "with_ranges",
    "with_shims_below",
    "with_value",
    "with_values",
    "write_dataset",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'balltravel' has no attribute {name!r}")
    return getattr(importlib.import_module(f"balltravel.{_HOME[name]}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
