"""The search for the rate that makes a pressure ends whatever its runs are like, and so does a long run."""

from typing import Any

import numpy as np
import pytest

from balltravel.core.recording import COLUMNS
from balltravel.core.status import Status
from balltravel.cycle import found_rate
from balltravel.cycle.run import run_cycle
from balltravel.setup.runs import Run
from balltravel.study.site.suction_head import suction_report

from ..helpers.lowers import scenario

TIP: dict[str, Any] = {
    "form": "tip at pressure",
    "gauge_pressure": 5e6,
    "hose_length": 15.0,
    "hose_diameter": 9.5e-3,
    "tip_diameter": 0.8e-3,
    "tip_discharge_coefficient": 0.8,
}
SPRAYING = scenario(material={"viscosity": 0.1}, drive={"cycle_rate": None}, outlet=TIP)
STEPS_OF_A_RUN = 400_000


@pytest.fixture
def costly(monkeypatch):
    """A lower whose runs take 400 000 steps each and whose pressure is too low up to 100 times the first
    rate; what was run, as periods [s]."""
    periods: list[float] = []

    def run_core(p, _control):
        periods.append(p.drive.period)
        rows = np.zeros((4000, len(COLUMNS)))
        rows[:, COLUMNS.index("time")] = np.linspace(0.0, p.drive.period, 4000)
        rate_over_first = periods[0] / p.drive.period
        rows[:, COLUMNS.index("upper_pressure")] = 5.1e6 * (rate_over_first / 100.0) ** 0.1
        return Run(Status.NOT_PERIODIC, STEPS_OF_A_RUN // 4000, 1e-3, rows, np.zeros((0, 4)), np.zeros(3))

    monkeypatch.setattr(found_rate, "run_core", run_core)
    return periods


def test_the_search_for_a_rate_ends_after_three_million_steps(costly):
    cycle = run_cycle(SPRAYING)
    assert len(costly) * STEPS_OF_A_RUN <= 3_000_000 + STEPS_OF_A_RUN
    assert cycle.steps >= len(costly) * STEPS_OF_A_RUN
    assert cycle.status is Status.RATE_NOT_FOUND
    assert cycle.status.failed
    assert cycle.metrics is None
    assert "give a cycle rate" in cycle.status.advice
    # It has the rows of the rate that came nearest: the fastest of those that were run.
    assert cycle.scenario.drive.cycle_rate == pytest.approx(1.0 / min(costly), rel=1e-12)
    assert cycle.motion.period == pytest.approx(min(costly), rel=1e-12)


def test_the_search_for_a_rate_tells_how_far_it_is(costly):
    told: list[tuple[int, int]] = []
    run_cycle(SPRAYING, progress=lambda done, most: told.append((done, most)))
    assert told == [(done, 60) for done in range(1, len(costly) + 1)]


def test_the_search_for_a_rate_ends_after_a_stated_number_of_runs(monkeypatch):
    monkeypatch.setattr(found_rate, "MOST_RUNS", 3)
    runs = []
    at_rate, found, _ = found_rate.find_rate(SPRAYING, lambda done, most: runs.append((done, most)))
    assert (found, runs[-1]) == (False, (3, 3))
    assert at_rate.outlet.form == "tip"


@pytest.mark.usefixtures("costly")
def test_a_head_needs_the_rate_and_is_refused_without_it():
    with pytest.raises(found_rate.RateNotFoundError, match="was not found within the allowed runs and steps"):
        suction_report(SPRAYING)


def test_a_run_whose_cycle_never_repeats_begins_no_cycle_after_25_times_the_steps_of_one(story):
    """With 50 N on its seat the ball of this lower opens to another lift in every cycle: it never repeats,
    and its hose would be given 120 cycles to settle."""
    unsteady = story("stain_by_air", "inlet_check.spring_preload=50 N")
    cycle = run_cycle(unsteady, most_steps=2500)
    assert cycle.status is Status.NOT_PERIODIC
    assert cycle.motion.time.size < 2500
    assert 25 < cycle.cycles < 100
    assert cycle.metrics is not None
    assert run_cycle(unsteady).cycles == 120
