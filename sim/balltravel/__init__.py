"""Predicts how the two ball checks of a reciprocating pump lower behave, and recommends the ball travel.

The names below are loaded when they are first asked for, so that ``balltravel --help`` stays quick.
"""

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from balltravel.advice import Recommendation, recommend
    from balltravel.files import read_dataset, read_scenario, read_week, write_dataset
    from balltravel.metrics import Metrics, cycle_metrics
    from balltravel.scenario import Scenario, ScenarioError, with_shims_below, with_value, with_values
    from balltravel.scenario_file import WeekMaterial
    from balltravel.simulation import simulate
    from balltravel.sweeps import sweep
    from balltravel.week import Week, recommend_week

_HOME = {
    "Metrics": "metrics",
    "Recommendation": "advice",
    "Scenario": "scenario",
    "ScenarioError": "scenario",
    "Week": "week",
    "WeekMaterial": "scenario_file",
    "cycle_metrics": "metrics",
    "read_dataset": "files",
    "read_scenario": "files",
    "read_week": "files",
    "recommend": "advice",
    "recommend_week": "week",
    "simulate": "simulation",
    "sweep": "sweeps",
    "with_shims_below": "scenario",
    "with_value": "scenario",
    "with_values": "scenario",
    "write_dataset": "files",
}

__all__ = [
    "Metrics",
    "Recommendation",
    "Scenario",
    "ScenarioError",
    "Week",
    "WeekMaterial",
    "cycle_metrics",
    "read_dataset",
    "read_scenario",
    "read_week",
    "recommend",
    "recommend_week",
    "simulate",
    "sweep",
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
