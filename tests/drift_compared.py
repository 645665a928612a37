"""Where drifting balls are taken to be, and where the motion of the same run takes them.

``python tests/drift_compared.py [SCENARIO ...]`` prints a line for each travel of the primer and the mastic,
or of the scenarios that are named, with offsets over half the ball guide clearance.
"""

import math
import sys
from pathlib import Path

import balltravel
from balltravel.cycle.run import run_cycle
from balltravel.estimate.drift import drift_of
from balltravel.scenario.model import with_values
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.parameters import ball_share
from balltravel.study.travel.trials import possible_travels

SCENARIOS = Path(__file__).parents[1] / "scenarios"
STARTS = (0.01, 0.1)
HEAD = (
    "                 taken   along the run from 0.01 of touching | from 0.1\n"
    "        travel           at the stop    mean  when it turns  | at the stop    mean  when it turns"
)


def line(name, s):
    """A travel's numbers for the inlet ball."""
    cycle = run_cycle(s)
    taken = ball_share(s, s.inlet_check, s.inlet_travel, lambda: cycle_rate_of(s))
    drifts = (drift_of(cycle, s.closures.tilt, start).inlet for start in STARTS)
    along = " | ".join(f"{d.opened:11.3f} {d.mean:7.3f} {d.closing:14.3f}" for d in drifts)
    return f"{name:8s} {1e3 * s.inlet_travel:4.1f} mm {taken:6.3f} {along}"


if __name__ == "__main__":
    print(HEAD)
    for name in sys.argv[1:] or ("primer", "mastic"):
        drifting = with_values(
            balltravel.read_scenario(SCENARIOS / f"{name}.toml"), {"closures.ball_position": "drifting"}
        )
        print(f"{name}: {math.degrees(drifting.closures.tilt):.1f} degrees out of plumb")
        for at in possible_travels(drifting).values():
            print(line(name, at), flush=True)
