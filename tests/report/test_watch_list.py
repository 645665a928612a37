"""What a job card says to watch for in the first minutes."""

import pytest

from balltravel.report.text.card.watch import watch_list
from balltravel.study.travel.trials import run_trials

STARVES, LATE, POUNDS = "Fewer cc a cycle than above", "Spray or pressure dips", "Hard knock"
SUCKS, AIR, CREEPS = "Vacuum at the inlet", "Bubbles", "Outlet closed"


@pytest.mark.parametrize(
    ("name", "settings", "signs"),
    [
        ("primer", ("shims.below=[]",), [STARVES, POUNDS, AIR]),
        ("primer", ("shims.below=[1,2,3]", "target.landing_speed=5 m/s"), [LATE, AIR, SUCKS]),
        ("primer", ("shims.below=[1,2,3]", "suction.lift=4 m"), [LATE, SUCKS, POUNDS, STARVES, AIR]),
        ("primer", ("shims.below=[1,2]", "suction.tank_gauge_pressure=3 bar"), [POUNDS, LATE, AIR]),
    ],
)
def test_what_matters_most_in_a_job_is_first_to_watch_for_and_creep_last(story, name, settings, signs):
    """Two millimetres of travel starve, nine seat late, a lift of 4 m takes most of the air's pressure, and
    what is fed by pressure draws no vacuum."""
    scenario = story(name, *settings)
    below = tuple(sorted(scenario.shims.below))
    trial = next(trial for trial in run_trials(scenario) if trial.shims_below == below)
    listed = [sign.sign for sign in watch_list(scenario, trial)]
    assert len(listed) == len(signs) + 1
    assert all(map(str.startswith, listed, [*signs, CREEPS]))
