"""Where the balls of a run drift: the share that a run takes is the share that its own motion gives."""

import math
from pathlib import Path

import pytest

from balltravel.cycle.run import run_cycle
from balltravel.estimate.drift import drift_of
from balltravel.files.read_write import read_scenario
from balltravel.scenario.model import with_values
from balltravel.setup.ball_position import share_drifted
from balltravel.setup.parameters import geometry_of

POSITION = "closures.ball_position"


PRIMER = Path(__file__).parents[2] / "scenarios" / "primer.toml"


@pytest.fixture(scope="module")
def runs():
    """Cycles of the primer with a drifting inlet ball, by the shims below."""
    primer = read_scenario(PRIMER)
    return {
        below: run_cycle(with_values(primer, {POSITION: "drifting", "shims.below": below}))
        for below in ((), (1,), (1, 2))
    }


@pytest.mark.parametrize("below", [(), (1,), (1, 2)])
def test_the_share_that_a_run_takes_is_the_one_that_its_motion_gives(runs, below):
    """Within a tenth of the clearance: the run's share is that of a ball at its stop all the stroke."""
    cycle = runs[below]
    s = cycle.scenario
    taken = share_drifted(
        s, s.inlet_check, geometry_of(s.inlet_check, s.closures, 1.0), s.inlet_travel, s.drive.cycle_rate
    )
    found = drift_of(cycle, s.closures.tilt).inlet
    print(f"travel {1e3 * s.inlet_travel:.1f} mm: taken {taken:.3f}, mean {found.mean:.3f}, {found}")
    assert found.mean == pytest.approx(taken, abs=0.1)


def test_a_degree_out_of_plumb_it_hardly_matters_how_centred_a_seat_leaves_its_ball(runs):
    """With a lower that hangs plumb it does, at the travel at which the ball drifts to the edge (2 mm)."""
    for cycle in runs.values():
        shares = [drift_of(cycle, math.radians(1.0), start).inlet.mean for start in (0.01, 0.1)]
        assert shares[0] == pytest.approx(shares[1], abs=0.05)
    centred, aside = (drift_of(runs[()], 0.0, start).inlet.mean for start in (0.01, 0.5))
    assert aside > centred + 0.1


def test_a_longer_travel_centres_the_ball_and_a_tilt_does_not(runs):
    short, long = (drift_of(runs[below]).inlet for below in ((), (1, 2)))
    assert long.closing < 0.1 < 0.4 < short.closing
    assert drift_of(runs[(1, 2)], math.radians(5.0)).inlet.closing > long.closing


def test_a_ball_that_stays_on_its_seat_drifts_nowhere(story):
    held = with_values(story("primer"), {"inlet_check.spring_preload": 200.0})
    assert drift_of(run_cycle(held)).inlet is None
