"""A scenario with other values, checked only where they reach: always as by the whole validation."""

from pathlib import Path

import numpy as np
import pytest

from balltravel.files.read_write import read_scenario
from balltravel.scenario.changes import Variations
from balltravel.scenario.model import ScenarioError, validated_anew, with_values

from ..helpers.changes_at_random import changes
from ..helpers.lowers import scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = sorted(path.stem for path in SCENARIOS.glob("*.toml") if not path.stem.startswith("week"))
DRAWS = 400


def outcome(function, *arguments):
    """The scenario with what was given of it, or the faults."""
    try:
        made = function(*arguments)
    except ScenarioError as error:
        return error.faults
    # As text, for a default that follows from nothing is nan, which equals nothing.
    return made.model_dump_json(), made.model_dump_json(exclude_unset=True), repr(made)


@pytest.mark.parametrize("faulty", [0.0, 0.15])
@pytest.mark.parametrize("name", NAMES)
def test_other_values_give_what_the_whole_validation_gives(name, faulty):
    base = read_scenario(SCENARIOS / f"{name}.toml")
    rng = np.random.default_rng(len(name))
    refused = 0
    for _ in range(DRAWS):
        drawn = changes(rng, base, faulty=faulty)
        expected = outcome(validated_anew, base, plain_numbers(drawn))
        assert outcome(with_values, base, drawn) == expected, drawn
        refused += not isinstance(expected[0], str)
    assert 0.1 * DRAWS < refused < 0.95 * DRAWS  # both come up, or the test says little


def plain_numbers(drawn):
    return {key: value.item() if isinstance(value, np.generic) else value for key, value in drawn.items()}


@pytest.mark.parametrize("name", NAMES)
def test_changes_after_changes_keep_agreeing(name):
    """What is given and what follows must be right in the scenario that the next change starts from."""
    rng = np.random.default_rng(len(name))
    quick = whole = read_scenario(SCENARIOS / f"{name}.toml")
    for _ in range(DRAWS // 4):
        drawn = plain_numbers(changes(rng, quick))
        expected = outcome(validated_anew, whole, drawn)
        assert outcome(with_values, quick, drawn) == expected, drawn
        if isinstance(expected[0], str):
            quick, whole = with_values(quick, drawn), validated_anew(whole, drawn)


def test_values_as_a_sweep_has_them_need_no_whole_validation():
    changed = Variations(scenario()).changed(
        {"material.viscosity": 3.0, "suction.lift": 0.2, "shims.below": (), "inlet_check.cage": "bore"}
    )
    assert changed is not None
    assert changed[0].material.viscosity == 3.0
    assert {"material.viscosity", "suction.lift", "shims.below"} <= changed[1]


@pytest.mark.parametrize(
    "bad",
    [{"material.viscosity": True}, {"material.density": "1300"}, {"lower.bore": None}, {"lower.rod": 0.6}],
)
def test_what_is_not_surely_in_order_is_left_to_the_whole_validation(bad):
    assert Variations(scenario()).changed(bad) is None


def test_the_scenario_that_is_varied_stays_as_it_is():
    base = scenario()
    before = base.model_dump_json(), base.model_dump_json(exclude_unset=True)
    with_values(base, {"material.solvent": None, "drive.ramp_time": 0.02, "target.delivery": 0.5})
    assert (base.model_dump_json(), base.model_dump_json(exclude_unset=True)) == before
