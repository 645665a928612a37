"""Walks of an input and the verdict on their way, on made-up runs: nothing is run."""

import math
from dataclasses import replace

import pytest

from balltravel.core.status import Status
from balltravel.scenario.model import ScenarioError, with_values
from balltravel.study.search import walk as walking
from balltravel.study.search.crossing import Scale, Verdict
from balltravel.study.search.inputs import CYCLE_RATE, INPUTS, MICRONS
from balltravel.study.search.walk import Base, reader_of, verdict_of, walk, walks
from balltravel.study.travel.trials import landing_missed, missed
from balltravel.sweeps.cases import Case

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import SWEPT, budget, check, metrics
from ..helpers.walks_by_hand import walked_by

BY_KEY = {item.key: item for item in INPUTS}


def test_a_rate_is_walked_up_to_where_the_targets_end(monkeypatch):
    asked = walked_by(monkeypatch, lambda rate: 0.9 + 0.002 * (40.004 - rate))
    base = Base(reader_of(scenario()))
    assert base.meets
    (found,) = walks(base, CYCLE_RATE)
    assert (found.holds, found.fails, found.upward, found.meets_now) == (40.0, 40.1, True, True)
    assert not found.to_the_end
    assert found.runs[40.0][0].drive.cycle_rate == pytest.approx(40.0 / 60.0, rel=1e-12)
    assert len(asked) == len(set(asked)) == len(found.runs)


def test_a_rate_too_fast_is_walked_down_and_up_again_where_no_lower_one_helps(monkeypatch):
    walked_by(monkeypatch, lambda rate: 0.9 + 0.01 * (20.004 - rate))
    (down,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert (down.holds, down.fails, down.upward, down.meets_now) == (20.0, 20.1, False, False)
    walked_by(monkeypatch, lambda rate: 0.9 + 0.01 * (rate - 40.004))
    (up,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert (up.holds, up.fails, up.upward) == (40.1, 40.0, True)
    walked_by(monkeypatch, lambda _: 0.5)
    (never,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert (never.holds, never.fails, never.upward) == (None, 30.0, False)
    assert never.to_the_end
    walked_by(monkeypatch, lambda _: 0.95)
    (always,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert always.fails is None
    assert always.holds == max(always.runs)


def test_a_rate_whose_nearest_number_of_three_digits_is_beyond_the_limit_is_walked_back(monkeypatch):
    walked_by(monkeypatch, lambda rate: 0.9 + 0.01 * (29.998 - rate))
    base = Base(reader_of(with_values(scenario(), {"drive.cycle_rate": 29.996 / 60.0})))
    assert base.meets
    (found,) = walks(base, CYCLE_RATE)
    assert (found.holds, found.fails, found.upward, found.meets_now) == (29.9, 30.0, False, False)


def test_an_input_that_is_hard_at_either_end_is_walked_both_ways(monkeypatch):
    def run_case(s):
        near = abs(1e3 * s.piston_check.travel - 5.0) < 1.0005
        return Case(Status.OK, metrics(fill_fraction=0.95 if near else 0.5))

    monkeypatch.setattr(walking, "run_case", run_case)
    down, up = walks(Base(reader_of(scenario())), BY_KEY["piston_check.travel"])
    assert (down.holds, down.fails, up.holds, up.fails) == (4.0, 3.99, 6.0, 6.01)


def test_a_walk_needs_room_and_rules_that_take_where_it_begins(monkeypatch):
    walked_by(monkeypatch, lambda _: 0.95)
    slow = with_values(scenario(), {"drive.cycle_rate": 0.005})
    assert walk(Base(reader_of(slow)), CYCLE_RATE, -1) is None
    assert walk(Base(reader_of(slow)), CYCLE_RATE, 1) is not None


def test_a_walk_of_the_travel_ends_where_the_ball_stands_out_of_its_cage(monkeypatch):
    """41 mm of cage and a ball whose top is 25 mm high at no lift: 16 mm are left."""
    monkeypatch.setattr(walking, "run_case", lambda _: Case(Status.OK, metrics()))
    top = 1e3 * (math.sqrt(0.0111**2 - 0.008**2) + 0.0111)
    found = walk(Base(reader_of(scenario())), BY_KEY["piston_check.travel"], 1)
    assert found.holds == pytest.approx(40.0 - top, abs=0.01)
    assert found.to_the_end


def test_a_verdict_has_the_margins_of_fill_and_of_a_delivery_that_is_asked_for():
    s = with_values(scenario(), {"target.delivery": 0.8})
    good = Case(Status.OK, metrics(fill_fraction=0.95, volumetric_efficiency=0.7))
    found = verdict_of(s, good)
    assert found.misses == ("delivery",)
    assert found.margins == pytest.approx({"fill": 0.05, "delivery": -0.1})
    assert verdict_of(scenario(), good).margins == pytest.approx({"fill": 0.05})
    assert verdict_of(scenario(), Case(Status.STALLED, None)) == Verdict(("run",))
    hard = Case(Status.OK, metrics(fill_fraction=0.5, inlet=check(landing_speed=1.0)))
    assert verdict_of(scenario(), hard, landing_missed).misses == ("landing",)
    assert verdict_of(scenario(), hard, missed).misses == ("fill", "landing")


def test_a_reader_takes_settings_as_one_writes_them():
    read = reader_of(scenario(shims={"thicknesses": (0.001, 0.002), "below": (1,)}))
    found = read(("drive.cycle_rate=24 /min", "shims.below=[1, 2]", "suction.feed=open"))
    assert (found.drive.cycle_rate, found.shims.below, found.suction.feed) == (0.4, (1, 2), "open")
    assert read(("shims.below=[]",)).shims.below == ()
    with pytest.raises(ScenarioError):
        read(("drive.cycle_rate=1 /h",))


def test_inputs_are_hard_as_they_are_and_leave_what_they_must():
    """A tank said to be open has pressure put on it, a hose of its own temperature follows the lower's."""
    fed = BY_KEY["suction.tank_gauge_pressure"]
    assert fed.settings(scenario(), 0.2) == ("suction.tank_gauge_pressure=0.2 bar",)
    assert fed.settings(scenario(suction={"feed": "open"}), 0.2) == (
        "suction.tank_gauge_pressure=0.2 bar", "suction.feed=pressure",
    )  # fmt: skip
    law = {"temperature_law": "Andrade", "activation_energy": 4e4, "stated_temperature": 293.15,
           "temperature": 293.15}  # fmt: skip
    warm = BY_KEY["material.temperature"]
    assert not warm.is_active(scenario())
    assert warm.settings(scenario(material=law), 25.0) == ("material.temperature=25 degC",)
    assert warm.settings(scenario(material=law, suction={"temperature": 288.15}), 25.0) == (
        "material.temperature=25 degC", "suction.temperature=20 degC",
    )  # fmt: skip
    assert BY_KEY["inlet_check.base_travel"].settings(scenario(), 6.0) == (
        "shims.below=[]", "inlet_check.base_travel=6 mm",
    )  # fmt: skip
    assert BY_KEY["inlet_check.leak_gap"].settings(scenario(), 6.0) == (
        "inlet_check.leak_gap=6 um", "piston_check.leak_gap=6 um",
    )  # fmt: skip
    assert (CYCLE_RATE.now(scenario()), CYCLE_RATE.ends(scenario())) == (30.0, (6.0, 200.0))
    assert MICRONS.rounded(3.14159) == pytest.approx(3.1)
    assert budget().swept == SWEPT


def test_each_scale_walks_in_steps_that_its_input_can_be_set_to():
    """Kelvin to a hundredth, metres to a millimetre, bars to ten pascals, an altitude to a metre, micrometres
    to a tenth; the first step of each."""
    for key, quantum, step in (
        ("material.temperature", 0.01, 1.0), ("suction.lift", 0.001, 0.1),
        ("suction.tank_gauge_pressure", 1e-4, 0.05), ("suction.altitude", 1.0, 100.0),
        ("inlet_check.leak_gap", 0.1, 5.0), ("inlet_check.spring_preload", 1e-3, 0.05),
    ):  # fmt: skip
        scale = BY_KEY[key].scale
        assert next(scale.outward(0.0, 1, math.inf)) == pytest.approx(step)
        assert scale.rounded(0.123456) == pytest.approx(
            round(0.123456 / quantum) * quantum, abs=1e-4 * quantum + 5e-4
        )
        assert (scale.quantum, scale.geometric) == (quantum, False)
    assert BY_KEY["inlet_check.cage_diameter"].scale.step == 1.03
    grown = list(BY_KEY["suction.lift"].scale.outward(0.0, 1, 0.5))
    assert grown == pytest.approx([0.1, 0.23, 0.399, 0.5])
    assert list(Scale(0.1, 1.0, False, 0.001, 1.0).outward(0.0, 1, 0.35)) == pytest.approx(
        [0.1, 0.2, 0.3, 0.35]
    )


def test_a_walk_does_not_begin_where_the_rules_refuse(monkeypatch):
    """A rate that three digits round up to where ramps and dwell take half a cycle."""
    walked_by(monkeypatch, lambda _: 0.95)
    rate = 49.99996
    tight = {"drive.ramp_time": 0.2, "drive.dwell_time": 30.0 / 50.0 - 0.4, "drive.cycle_rate": rate / 60.0}
    assert walk(Base(reader_of(with_values(scenario(), tight))), CYCLE_RATE, -1) is None


def test_an_input_without_a_harder_side_is_walked_upward(monkeypatch):
    walked_by(monkeypatch, lambda rate: 0.9 + 0.002 * (40.004 - rate))
    (found,) = walks(Base(reader_of(scenario())), replace(CYCLE_RATE, harder=None))
    assert (found.upward, found.holds) == (True, 40.0)
