"""The core against the second solver: lowers with a motor, a tip, worn packings, dissolved gas, a strainer.

The second cycle from rest, as in test_referee.py; with a motor when each segment of its stroke ends, too.
"""

import pytest
from referee import solver
from referee.comparison import VOLUMES, compare, verdict
from referee.mixtures import BY_PART, RANDOM, by_part, mixture, stalled, thinning

from balltravel.core.recording import COLUMNS, TIME
from balltravel.core.status import Status
from balltravel.setup.parameters import control_for, core_parameters
from balltravel.setup.runs import run_core

SLOW = (
    "hydraulic motor, no dwell, 20 kg", "air motor", "air motor dives through a void",
    "air motor goes back to its stop", "air motor at a tip",
)  # fmt: skip
QUICK = [name for name in BY_PART if name not in SLOW]


@pytest.mark.parametrize("name", QUICK)
def test_the_core_agrees_with_the_referee_on_each_part(within, name):
    verdict(within, name, compare(by_part(name), 1e-9, 1e-8))


def test_against_a_shut_outlet_both_stall_at_the_same_time_and_creep_as_far(within):
    """The piston's way over the stroke and all volumes over swept, at the core's last step before the end."""
    scenario = stalled()
    p = core_parameters(scenario)
    run = run_core(p, control_for(p, 1e-9, 2, 200_000))
    result = solver.run(scenario, 2, 1e-8)
    (cycle,) = result.cycles
    assert run.status == Status.STALLED
    assert cycle.stalled
    within(run.clock[:3] / cycle.clock[-1] - [t / cycle.clock[-1] for t in cycle.clock], 1e-6)
    last = dict(zip(COLUMNS, run.rows[-1], strict=True))
    there = dict(zip(result.model.names, cycle.sample([run.rows[-1, TIME]])[0], strict=True))
    swept = p.lower.area * p.drive.stroke
    within([(there[key] - last[name]) / swept for key, name in VOLUMES.items()], 1e-6)
    within((there["x"] - last["driven_position"]) / p.drive.stroke, 1e-6)
    print(f"creeps {1e3 * there['x']:.4g} mm in {cycle.clock[-1]:.4g} s")


@pytest.mark.soak
@pytest.mark.parametrize("name", SLOW)
def test_the_core_agrees_with_the_referee_on_air_motors_and_a_heavy_piston(within, name):
    verdict(within, name, compare(by_part(name), 1e-9, 1e-8))


@pytest.mark.soak
@pytest.mark.parametrize("number", range(RANDOM))
def test_the_core_agrees_with_the_referee_on_mixtures(within, number):
    verdict(within, str(number), compare(mixture(number), 1e-9, 1e-8))


@pytest.mark.soak
def test_the_core_agrees_with_the_referee_on_tip_packings_and_strainer_of_a_material_that_thins(within):
    verdict(within, "thinning", compare(thinning(), 1e-9, 1e-8))
