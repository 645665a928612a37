"""Cases drawn at random, through the batch: each has finite numbers, or says in a sentence why not."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from box.scenarios_at_random import scenario_number
from helpers.sweeps_at_random import shipped_scenario, valid_changes
from robustness.tally import COUNTS

from balltravel.core.status import Status
from balltravel.cycle.metrics import metric_names
from balltravel.scenario.model import with_values
from balltravel.setup.outlet import has_tip
from balltravel.sweeps import columns

SEED, EACH, GROUPS = 11, 50, 10
"""Cases of a scenario, scenarios of a test."""

ONE_OF_THE_BOX_IN = 5
"""Most start from a scenario that is shipped, for those of the box take far longer."""

FEW = {"max_cycles": 8, "most_steps": 4000}
"""So that no case takes seconds: one that needs more is flagged."""

OF_A_TIP = ("spray_pressure", "pressure_dip", "dip_at_top", "dip_at_bottom")
"""What a lower without a tip has none of."""

METRICS = [name.replace(".", "_") for name in metric_names()]


@pytest.fixture(autouse=True)
def _few_steps(monkeypatch):
    plain = columns.CaseMaker
    monkeypatch.setattr(columns, "CaseMaker", lambda scenario, rtol, **_: plain(scenario, rtol, **FEW))


def group(number):
    """A scenario and valid changes of it; the number makes them again."""
    of_the_box = number % ONE_OF_THE_BOX_IN == 0
    scenario = scenario_number(SEED, number) if of_the_box else shipped_scenario(number)
    return scenario, valid_changes(np.random.default_rng([SEED, number]), scenario, EACH)


def judge(number, count=EACH):
    """Run a group and look at every case of it; how many ended with which status."""
    scenario, changes = group(number)
    changes = changes[:count]
    found = columns.compute(scenario, changes, rtol=1e-4)
    for i, changed in enumerate(changes):
        which = f"seed {SEED}, group {number}, case {i}"
        status, error = Status(found["status"][i]), found["error"][i]
        assert status != Status.UNFORESEEN, (which, error)
        if status.failed:
            assert error.strip(), which
            assert all(np.isnan(found[name][i]) for name in METRICS), which
            assert found["inlet_flags"][i] == found["piston_flags"][i] == columns.FLAGS.index("no_cycle")
        else:
            assert not error, (which, error)
            tip = has_tip(with_values(scenario, changed).outlet)
            for name in (*METRICS, "outside_range", "scatter"):
                expected = tip or name not in OF_A_TIP
                assert np.isfinite(found[name][i]) == expected, (which, name, found[name][i])
    return [Status(status).name.lower() for status in found["status"]]


def judge_all(numbers, *counts):
    with ThreadPoolExecutor(2) as pool:
        for statuses in pool.map(judge, numbers, *counts):
            for status in statuses:
                COUNTS[f"swept at random, {status}"] += 1


def test_50_cases_have_finite_numbers_or_say_why_they_have_none():
    """Ten of a scenario of the box, forty of one that is shipped."""
    judge_all((10, 11), (10, 40))


@pytest.mark.soak
@pytest.mark.parametrize("portion", range(1, 201))
def test_500_more_cases_have_finite_numbers_or_say_why_they_have_none(portion):
    judge_all(range(portion * GROUPS, (portion + 1) * GROUPS))
