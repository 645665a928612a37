"""Scenarios and valid changes of them, drawn at random, as a sweep has them."""

from pathlib import Path
from typing import Any

import numpy as np

from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import Scenario, ScenarioError, with_values

from .changes_at_random import changes

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


def shipped_scenario(number: int) -> Scenario:
    """One of those that are shipped."""
    return read_scenario(SHIPPED[number % len(SHIPPED)])


def valid_changes(rng: np.random.Generator, scenario: Scenario, count: int) -> list[dict[str, Any]]:
    """So many changes that make a scenario."""
    valid: list[dict[str, Any]] = []
    while len(valid) < count:
        drawn = changes(rng, scenario)
        try:
            with_values(scenario, drawn)
        except ScenarioError:
            continue
        valid.append(drawn)
    return valid
