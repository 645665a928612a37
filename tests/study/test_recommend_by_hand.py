"""From made-up trials to a recommendation: what is chosen, what beside it, and what is asked of it."""

import numpy as np
import pytest

from balltravel.core.recording import COLUMNS
from balltravel.core.status import Status
from balltravel.cycle.validity import Excursion
from balltravel.study.site import stall
from balltravel.study.travel import reasons
from balltravel.study.travel import recommend as choosing
from balltravel.study.travel.accuracy import Band
from balltravel.study.travel.trials import Choice, Trial
from balltravel.sweeps.cases import Case

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import metrics

LONG = Excursion("inlet check", "c", "q", 0.5, 2.0, 1.0, "b")
SHIMS = {"thicknesses": (0.001, 0.002), "below": ()}
CHOICES = {5: ((), (1, 2)), 6: ((1,), (2,)), 7: ((2,), (1,)), 8: ((1, 2), ())}
FED = {"outlet": {"gauge_pressure": 1e5}, "suction": {"feed": "pressure", "tank_gauge_pressure": 3e5}}


def trial(travel, delivered=0.95, unmet=(), shortfall=0.0, excursions=(), status="ok"):
    cycle = metrics(volumetric_efficiency=delivered) if delivered is not None else None
    return Trial(*CHOICES[travel], travel * 1e-3, status, cycle, tuple(unmet), excursions, 0.0, shortfall)


def choice(travel):
    return Choice(*CHOICES[travel], travel * 1e-3)


def recommend(monkeypatch, trials, drifting=(), **changes):
    """With these trials, and others where both balls drift; and of what a band was asked."""
    asked = []

    def run_trials(s, _progress=None):
        return list(drifting if s.closures.ball_position == "drifting" else trials)

    def band(s, case):
        asked.append((round(1e3 * s.inlet_travel, 6), case))
        return Band({"fill_fraction": 0.1})

    monkeypatch.setattr(reasons, "run_case", lambda _: Case(Status.STALLED, None))
    monkeypatch.setattr(choosing, "run_trials", run_trials)
    monkeypatch.setattr(choosing, "numerical_band", band)
    return choosing.recommend(scenario(shims=SHIMS, **changes)), asked


def test_the_best_that_meets_is_recommended_and_the_next_is_the_runner_up(monkeypatch):
    trials = [trial(5, 0.9), trial(6, 0.97, excursions=(LONG,)), trial(7, 0.99, ["fill"], 0.1)]
    other = [trial(5, 0.96), trial(6, 0.93)]
    found, ((travel, case),) = recommend(monkeypatch, trials, other)
    assert (found.recommended, found.runner_up, found.best_available) == (choice(6), choice(5), None)
    assert found.arrangements == tuple(trials)
    assert (travel, case) == (6.0, Case(Status.OK, trials[1].metrics, (LONG,), 0.0))
    assert found.band.values == {"fill_fraction": 0.1}
    assert found.indication
    assert (found.off_axis.recommended, found.off_axis.metrics) == (choice(5), other[1].metrics)
    assert found.first_stroke is found.pot_life is None
    assert found.warnings[-1] == choosing.VALIDATION_NOTE
    assert found.as_dict()["recommended"]["ball_travel"] == 6e-3


def test_where_none_meets_the_nearest_is_the_best_available(monkeypatch):
    trials = [
        trial(5, 0.9, ["fill"], 0.3),
        trial(6, 0.97, ["landing"], 0.1),
        trial(7, None, status="stalled"),
    ]
    found, asked = recommend(monkeypatch, trials, [trial(6, 0.9, ["fill"], 0.1)])
    assert (found.recommended, found.runner_up, found.best_available) == (None, choice(5), choice(6))
    assert (found.off_axis.recommended, found.off_axis.metrics.volumetric_efficiency) == (None, 0.9)
    assert not found.indication
    assert asked[0][0] == 6.0
    assert choosing.best_of(scenario(), trials) is trials[1]
    assert choosing.best_of(scenario(), [trial(5), trials[1]]).ball_travel == 0.005


@pytest.mark.parametrize(
    ("trials", "changes", "why"),
    [
        ([trial(5, 0.0099, ["delivers nothing"], 1.0)], {}, "no arrangement is named"),
        ([trial(5, 1.5, ["feed"], 1.0)], FED, "no arrangement is named"),
        ([trial(5, None, ["the run failed"], np.inf, status="stalled")], {}, "no run was complete"),
    ],
)
def test_what_does_not_pump_or_fails_is_not_named(monkeypatch, trials, changes, why):
    found, asked = recommend(monkeypatch, trials, **changes)
    assert found.recommended is found.runner_up is found.best_available is found.off_axis is None
    assert (asked, found.band.missing) == ([], why)
    assert choosing.best_of(scenario(**changes), trials) is None


def test_a_material_that_rests_and_ages_is_looked_at_where_an_arrangement_is_named(monkeypatch):
    monkeypatch.setattr(choosing, "first_stroke", lambda s: ("first", s.inlet_travel))
    monkeypatch.setattr(choosing, "pot_life", lambda s: ("pot", s.inlet_travel))
    found, _ = recommend(monkeypatch, [trial(5, 0.9), trial(6)], [trial(5)])
    assert (found.first_stroke, found.pot_life) == (("first", 0.006), ("pot", 0.006))
    nothing, _ = recommend(monkeypatch, [trial(5, 0.0099, ["delivers nothing"], 1.0)])
    assert nothing.first_stroke is nothing.pot_life is None


def test_a_feed_just_below_the_outlet_is_pumped(monkeypatch):
    """By half a pascal, at rest in the inlet port."""
    at_rest = 1250.0 * 9.80665 * 0.3
    near = {"outlet": {"gauge_pressure": 1e5},
            "suction": {"feed": "pressure", "tank_gauge_pressure": 1e5 + at_rest - 0.5}}  # fmt: skip
    found, _ = recommend(monkeypatch, [trial(5)], [trial(5)], **near)
    assert found.runner_up is None
    assert found.band.values


def test_a_scenario_whose_balls_drift_is_not_compared_with_itself(monkeypatch):
    drifting = [trial(5)]
    found, _ = recommend(monkeypatch, [], drifting, closures={"ball_position": "drifting"})
    assert (found.recommended, found.off_axis) == (choice(5), None)


def test_a_trial_that_just_pumps_is_named(monkeypatch):
    found, _ = recommend(monkeypatch, [trial(5, 0.01, ["fill"], 0.9)], [])
    assert found.best_available == choice(5)
    assert (found.off_axis.recommended, found.off_axis.metrics) == (None, None)


def test_how_a_run_ended_is_warned_of(monkeypatch):
    found, _ = recommend(monkeypatch, [trial(5, status="not_periodic")], [trial(5)])
    assert found.reservations[0] == Status.NOT_PERIODIC.advice


# A stalled piston.


def creep(monkeypatch, status, upward):
    """A piston that creeps 2 mm from 10 mm on over four seconds, faster at first, at a rising pressure."""
    time = np.array([0.0, 1.0, 1.75, 2.0, 3.0, 4.0])
    rows = np.zeros((6, len(COLUMNS)))
    rows[:, COLUMNS.index("time")] = time
    way = 1.0 if upward else -1.0
    rows[:, COLUMNS.index("piston_position")] = 0.01 + way * np.array([0.0, 1.0, 1.4, 1.5, 1.8, 2.0]) * 1e-3
    rows[:, COLUMNS.index("upper_pressure")] = [1e5, 2e5, 2.5e5, 3e5, 4e5, 8e5]
    rows[:, COLUMNS.index("rod_volume")] = 1e-6 * np.array([0.0, 1.0, 1.75, 2.0, 3.5, 5.0])
    monkeypatch.setattr(stall, "run_stall", lambda _, up, __: (status, rows) if up is upward else None)
    return stall.creep_of(scenario(), upward)


@pytest.mark.parametrize("upward", [True, False])
def test_a_creep_and_a_weep_are_those_of_the_second_half_and_what_moved_beyond_before_is_give(
    monkeypatch, upward
):
    stalled = creep(monkeypatch, Status.STALLED, upward)
    assert stalled.speed == pytest.approx(0.5e-3 / 2.0, rel=1e-9)
    assert stalled.give == pytest.approx(1.5e-3 - 0.5e-3, rel=1e-9)
    assert stalled.weep == pytest.approx(3e-6 / 2.0, rel=1e-9)
    assert (stalled.pressure, stalled.ran_through) == (5e5, False)
    through = creep(monkeypatch, Status.OK, upward)
    assert (through.speed, through.ran_through) == (stalled.speed, True)
    assert creep(monkeypatch, Status.STEP_TOO_SMALL, upward) is None
