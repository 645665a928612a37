"""Numerical bands, dives of a motor, rest and age, on made-up runs: nothing is run."""

import math
from dataclasses import replace

import pytest

from balltravel.core.status import Status
from balltravel.study.search import walk as walking
from balltravel.study.travel import accuracy, dives, rest_and_pot_life
from balltravel.sweeps.cases import Case

from ..helpers.lowers import harmonic, scenario
from ..helpers.metrics_by_hand import SWEPT, metrics

HAIR = 1e-6
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip


def band_of(monkeypatch, first, second):
    """And how the second run was asked for."""
    asked = []

    def run_case(_, rtol, most_steps, max_cycles):
        asked.append((rtol, most_steps, max_cycles))
        return second

    monkeypatch.setattr(accuracy, "run_case", run_case)
    return accuracy.numerical_band(scenario(), first), asked


def test_a_band_is_what_a_hundred_times_tighter_changes(monkeypatch):
    first = Case(Status.OK, metrics(fill_fraction=0.95, piston_speed=0.1))
    second = Case(Status.OK, metrics(fill_fraction=0.953, piston_speed=0.098))
    band, ((rtol, steps, cycles),) = band_of(monkeypatch, first, second)
    assert (rtol, steps, cycles) == (pytest.approx(1e-8), 200_000, 30)
    assert (band.values["fill_fraction"], band.values["piston_speed"]) == pytest.approx((0.003, 0.002))
    assert band.values["inlet.landing_speed"] == 0.0
    assert band.missing == ""


@pytest.mark.parametrize(("one", "other"), [(0.004, 0.001), (0.001, 0.004)])
def test_a_volume_is_not_known_better_than_it_repeats(monkeypatch, one, other):
    first = Case(Status.OK, metrics(fill_fraction=0.95), (), one)
    second = Case(Status.OK, metrics(fill_fraction=0.953), (), other)
    band, _ = band_of(monkeypatch, first, second)
    assert band.values["fill_fraction"] == band.values["volumetric_efficiency"] == 0.004
    assert band.values["delivered_volume"] == pytest.approx(0.004 * SWEPT)
    wide, _ = band_of(
        monkeypatch, first, Case(Status.OK, metrics(fill_fraction=0.9, volumetric_efficiency=0.9))
    )
    assert (wide.values["fill_fraction"], wide.values["volumetric_efficiency"]) == pytest.approx((0.05, 0.1))


def test_a_cycle_that_did_not_repeat_gets_many_more_and_none_where_it_still_drifts(monkeypatch):
    first = Case(Status.NOT_PERIODIC, metrics())
    for drift, known in ((1e-4, True), (1.01e-4, False)):
        band, ((_, _, cycles),) = band_of(monkeypatch, first, Case(Status.NOT_PERIODIC, metrics(), (), drift))
        assert cycles == 400
        assert bool(band.values) is known
        assert band.missing == ("" if known else "the cycle had not settled after 400 cycles")
    settled, _ = band_of(monkeypatch, first, Case(Status.OK, metrics(), (), 0.5))
    assert settled.values["fill_fraction"] == 0.5


def test_a_run_that_fails_has_no_band(monkeypatch):
    assert band_of(monkeypatch, Case(Status.STALLED, None), None)[0].missing == "the run failed"
    band, _ = band_of(monkeypatch, Case(Status.OK, metrics()), Case(Status.STALLED, None))
    assert (band.values, band.missing) == ({}, "the run at a tighter tolerance ended with stalled")


def test_the_motor_of_a_dive_is_half_as_strong_again_as_its_loads_and_keeps_the_rate_of_a_full_lower():
    """Supply times half the bore less friction is 1.5 times the larger load; half a cycle is a stroke's rest
    and the way at the mean of sqrt(1 - load/supply - friction) of the free speed."""
    s = scenario()
    found = dives.with_motor(s).drive
    bore, rod = 0.048**2, 0.034**2
    supply = 1.5 * 1e7 * 2.0 * max(bore - rod, rod) / bore / (1.0 - s.drive.friction)
    assert (found.profile, found.motor, found.area_ratio) == ("motor", "hydraulic", 1.0)
    assert found.supply_gauge_pressure == pytest.approx(supply, rel=1e-12)
    rest, slow = (
        0.07,
        [
            1.0 / math.sqrt(1.0 - 1e7 * 2.0 * part / bore / supply - s.drive.friction)
            for part in (bore - rod, rod)
        ],
    )
    half = rest + (1.0 - rest) / (0.5 * sum(slow))
    assert found.free_cycle_rate == pytest.approx(0.5 / half, rel=1e-12)
    assert (found.ramp_time, found.dwell_time) == (0.03, 0.04)


def test_the_motor_of_a_crank_ramps_for_a_twentieth_of_its_half_and_is_no_weaker_than_for_5_bar():
    found = dives.with_motor(scenario(drive=harmonic(0.5), outlet={"gauge_pressure": 1e5})).drive
    bore, rod = 0.048**2, 0.034**2
    supply = 1.5 * 5e5 * 2.0 * max(bore - rod, rod) / bore / (1.0 - found.friction)
    assert found.supply_gauge_pressure == pytest.approx(supply, rel=1e-12)
    assert (found.ramp_time, found.dwell_time) == (pytest.approx(0.05), 0.0)


def dived(monkeypatch, fill, status=Status.OK):
    case = Case(status, None if fill is None else metrics(fill_fraction=fill, cycle_rate=0.7))
    monkeypatch.setattr(dives, "run_case", lambda _: case)


def test_a_dive_is_told_where_a_hundredth_is_void_and_the_fill_differs_by_half_a_hundredth(monkeypatch):
    void = metrics(void_volume=0.02 * SWEPT, fill_fraction=0.9)
    dived(monkeypatch, 0.8)
    (told,) = dives.dive_caution(scenario(), void)
    assert "a void (cavitation) of 2 % of swept" in told
    assert "runs at 30 cycles/min in a full lower" in told
    assert told.endswith("fill 80.0 % instead of 90.0 %, at 42 cycles/min.")
    for share, words in ((0.01, 0), (0.01 * (1.0 + HAIR), 1)):
        found = dives.dive_caution(scenario(), metrics(void_volume=share * SWEPT, fill_fraction=0.9))
        assert len(found) == words
    for fill, words in ((0.8951, 0), (0.8949, 1), (0.9051, 1), (0.9049, 0)):
        dived(monkeypatch, fill)
        assert len(dives.dive_caution(scenario(), void)) == words
    dived(monkeypatch, None, Status.STALLED)
    assert dives.dive_caution(scenario(), void)[0].endswith(
        "a motor would dive through the void and draw in less."
    )


def test_no_dive_is_looked_for_without_a_void_with_a_motor_or_where_nothing_comes_in(monkeypatch):
    dived(monkeypatch, 0.5)
    void = metrics(void_volume=0.02 * SWEPT, fill_fraction=0.9)
    assert dives.dive_caution(scenario(), None) == ()
    assert dives.dive_caution(scenario(drive=MOTOR), void) == ()
    assert dives.dive_caution(scenario(), replace(void, fill_fraction=0.0099)) == ()
    assert dives.dive_caution(scenario(), replace(void, fill_fraction=0.01)) != ()
    assert dives.dive_of(scenario(drive=MOTOR), void) is None
    assert dives.dive_of(scenario(), metrics(void_volume=0.01 * SWEPT)) is None
    assert dives.dive_of(scenario(), void) == (0.5, 1.0, 0.7)


def test_the_first_stroke_is_run_once_at_the_rested_viscosity_and_at_a_hundredfold_at_most(monkeypatch):
    asked = []

    def run_case(s, max_cycles):
        asked.append((s.material.viscosity_factor, max_cycles))
        return Case(Status.OK, metrics())

    monkeypatch.setattr(rest_and_pot_life, "run_case", run_case)
    for factor, ratio, run_at in ((1.0, 3.0, 3.0), (2.0, 3.0, 6.0), (40.0, 3.0, 100.0)):
        s = scenario(material={"viscosity_factor": factor, "rested_ratio": ratio})
        assert rest_and_pot_life.first_stroke(s).ratio == run_at / factor
    assert asked == [(3.0, 1), (6.0, 1), (100.0, 1)]
    assert rest_and_pot_life.first_stroke(scenario()) is None


def aging(monkeypatch, until):
    """A lower that fills until an age [s]."""
    asked = []

    def run_case(s, **_):
        asked.append(s.material.age)
        return Case(Status.OK, metrics(fill_fraction=0.95 if s.material.age <= until else 0.85))

    monkeypatch.setattr(walking, "run_case", run_case)
    return asked


def test_a_pot_life_is_the_last_second_at_which_the_targets_hold(monkeypatch):
    asked = aging(monkeypatch, 5000.4)
    found = rest_and_pot_life.pot_life(scenario(material={"doubling_time": 1800.0}))
    assert found.age == pytest.approx(5000.0, abs=1.0)
    assert found.growth == pytest.approx(2.0 ** (found.age / 1800.0), rel=1e-12)
    assert found.missed == "fill 85.0 % (target 90 %)"
    assert asked[:3] == [0.0, 450.0, 900.0]


def test_a_pot_life_ends_at_a_hundredfold_or_is_over_already(monkeypatch):
    asked = aging(monkeypatch, math.inf)
    found = rest_and_pot_life.pot_life(scenario(material={"doubling_time": 1800.0, "age": 600.0}))
    assert (found.age, found.missed) == (math.inf, "")
    assert found.growth == pytest.approx(100.0, rel=1e-9)
    assert max(asked) == pytest.approx(600.0 + 1800.0 * math.log2(100.0), rel=1e-3)
    aging(monkeypatch, 100.0)
    found = rest_and_pot_life.pot_life(scenario(material={"doubling_time": 1800.0, "age": 3600.0}))
    assert (found.age, found.growth) == (None, pytest.approx(4.0))
    assert found.missed == "fill 85.0 % (target 90 %)"
    assert rest_and_pot_life.pot_life(scenario()) is None


def test_a_rested_material_counts_from_any_ratio_above_one_and_an_age_to_a_second(monkeypatch):
    monkeypatch.setattr(rest_and_pot_life, "run_case", lambda *_, **__: Case(Status.OK, metrics()))
    found = rest_and_pot_life.first_stroke(scenario(material={"rested_ratio": 1.5}))
    assert found.ratio == 1.5
    aging(monkeypatch, 301.0)
    found = rest_and_pot_life.pot_life(scenario(material={"doubling_time": 240.0}))
    assert found.age == 301.0
