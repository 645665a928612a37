"""What studies make of runs, on made-up runs: bands, dives, ages, walks, effects, stalls; nothing is run."""

import math
from dataclasses import replace

import pytest

from balltravel.core.status import Status
from balltravel.cycle.validity import Excursion
from balltravel.scenario.model import ScenarioError, with_values
from balltravel.study.limits import find, sensitivities
from balltravel.study.search import walk as walking
from balltravel.study.search.crossing import Crossing, Scale, Verdict
from balltravel.study.search.inputs import CYCLE_RATE, INPUTS, MICRONS, Doubt, Input
from balltravel.study.search.walk import Base, Walk, reader_of, verdict_of, walk, walks
from balltravel.study.site.stall import Creep, with_closed_outlet
from balltravel.study.site.wear import PLACES, WearState, gaps_of, signs, states_of
from balltravel.study.travel import accuracy, dives, rest_and_pot_life
from balltravel.study.travel.trials import Trial, landing_missed, missed
from balltravel.sweeps.cases import Case

from ..helpers.lowers import harmonic, scenario
from ..helpers.metrics_by_hand import SWEPT, budget, check, metrics

LONG = Excursion("inlet check", "c", "q", 0.5, 2.0, 1.0, "b")
HAIR = 1e-6
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip
BY_KEY = {item.key: item for item in INPUTS}


# The numerical band.


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


# Dives.


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


# Rest and age.


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


# Walks.


def walked_by(monkeypatch, fill, failed=lambda _: False):
    """A lower whose fill is a function of the cycle rate [1/min]."""
    asked = []

    def run_case(s):
        rate = 60.0 * s.drive.cycle_rate
        asked.append(round(rate, 6))
        return (
            Case(Status.STALLED, None) if failed(rate) else Case(Status.OK, metrics(fill_fraction=fill(rate)))
        )

    monkeypatch.setattr(walking, "run_case", run_case)
    return asked


def test_a_rate_is_walked_up_to_where_the_targets_end(monkeypatch):
    asked = walked_by(monkeypatch, lambda rate: 0.9 + 0.002 * (40.004 - rate))
    base = Base(reader_of(scenario()))
    assert base.meets
    (found,) = walks(base, CYCLE_RATE)
    assert (found.holds, found.fails, found.upward, found.meets_now) == (40.0, 40.01, True, True)
    assert not found.to_the_end
    assert found.runs[40.0][0].drive.cycle_rate == pytest.approx(40.0 / 60.0, rel=1e-12)
    assert len(asked) == len(set(asked)) == len(found.runs)


def test_a_rate_too_fast_is_walked_down_and_up_again_where_no_lower_one_helps(monkeypatch):
    walked_by(monkeypatch, lambda rate: 0.9 + 0.01 * (20.004 - rate))
    (down,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert (down.holds, down.fails, down.upward, down.meets_now) == (20.0, 20.01, False, False)
    walked_by(monkeypatch, lambda rate: 0.9 + 0.01 * (rate - 40.004))
    (up,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert (up.holds, up.fails, up.upward) == (40.01, 40.0, True)
    walked_by(monkeypatch, lambda _: 0.5)
    (never,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert (never.holds, never.fails, never.upward) == (None, 30.0, False)
    assert never.to_the_end
    walked_by(monkeypatch, lambda _: 0.95)
    (always,) = walks(Base(reader_of(scenario())), CYCLE_RATE)
    assert always.fails is None
    assert always.holds == max(always.runs)


def test_a_rate_whose_nearest_number_of_four_digits_is_beyond_the_limit_is_walked_back(monkeypatch):
    walked_by(monkeypatch, lambda rate: 0.9 + 0.01 * (29.998 - rate))
    base = Base(reader_of(with_values(scenario(), {"drive.cycle_rate": 29.996 / 60.0})))
    assert base.meets
    (found,) = walks(base, CYCLE_RATE)
    assert (found.holds, found.fails, found.upward, found.meets_now) == (29.99, 30.0, False, False)


def test_an_input_that_is_hard_at_either_end_is_walked_both_ways(monkeypatch):
    def run_case(s):
        near = abs(1e3 * s.piston_check.travel - 5.0) < 1.0005
        return Case(Status.OK, metrics(fill_fraction=0.95 if near else 0.5))

    monkeypatch.setattr(walking, "run_case", run_case)
    down, up = walks(Base(reader_of(scenario())), BY_KEY["piston_check.travel"])
    assert (down.holds, down.fails, up.holds, up.fails) == (4.0, 3.999, 6.0, 6.001)


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


# Limits and effects.


def walked(good, runs, last, meets_first=True, scatters=False):
    verdicts = {x: Verdict(() if fill >= 0.9 else ("fill",)) for x, fill in runs.items()}
    cases = {
        x: (with_values(scenario(), {"drive.cycle_rate": x / 60.0}),
            Case(Status.OK, metrics(fill_fraction=fill)) if fill else Case(Status.STALLED, None))
        for x, fill in runs.items()
    }  # fmt: skip
    inner, outer = good
    return Walk(
        CYCLE_RATE, meets_first, Crossing(inner, outer, last, False, scatters, verdicts), cases, False
    )


def test_a_limit_has_the_runs_on_both_sides_of_it(monkeypatch):
    walked_by(monkeypatch, lambda _: 0.95)
    found = find._limit(
        Base(reader_of(scenario())),
        walked((40.0, 40.01), {30.0: 0.95, 40.0: 0.9, 40.01: 0.85, 50.0: 0.0}, 40.01),
    )
    assert (found.key, found.now, found.upward, found.meets_now) == ("drive.cycle_rate", 0.5, True, True)
    assert found.at_most
    assert (found.holds.value, found.beyond.value) == pytest.approx((40.0 / 60.0, 40.01 / 60.0))
    assert (found.holds.fill, found.beyond.fill, found.holds.settings) == (
        0.9,
        0.85,
        ("drive.cycle_rate=40 /min",),
    )
    assert found.limited_by == ("fill 85.0 % (target 90 %)",)
    assert (found.runs, found.failed_runs, found.scatters) == (4, 1, False)
    open_end = find._limit(Base(reader_of(scenario())), walked((None, None), {30.0: 0.95, 60.0: 0.95}, 60.0))
    assert open_end.holds is open_end.beyond is None
    assert (open_end.searched.value, open_end.limited_by) == (pytest.approx(1.0), ())


def test_a_value_that_was_tried_says_what_its_case_says():
    shaky = Case(Status.NOT_PERIODIC, metrics(fill_fraction=0.8, volumetric_efficiency=0.7), (LONG,))
    found = find.tried_value(CYCLE_RATE, scenario(), shaky, ("a",))
    assert (found.fill, found.delivery, found.landing, found.value) == (0.8, 0.7, 0.2, 0.5)
    assert (found.indication, found.repeats, found.viscosity) == (True, False, 5.0)
    assert found.missed == ("fill 80.0 % (target 90 %)",)
    failed = find.tried_value(None, scenario(), Case(Status.STALLED, None), ())
    assert math.isnan(failed.value)
    assert failed.missed == ("the run failed (stalled)",)
    assert (failed.fill, failed.delivery, failed.landing, failed.indication) == (None, None, None, False)


def effects_of(monkeypatch, fill, inputs, band=0.0, first=0.9):
    """Effects of a lower whose fill is a function of its scenario; the settings that were read."""
    monkeypatch.setattr(
        sensitivities, "run_cases",
        lambda scenarios, **_: [Case(Status.OK, metrics(fill_fraction=fill(s)), (), 2e-3) for s in scenarios],
    )  # fmt: skip
    values = accuracy.Band({"fill_fraction": band})
    monkeypatch.setattr(sensitivities, "numerical_band", lambda *_: values)
    s, asked = scenario(), []

    def read(settings):
        asked.append(tuple(settings))
        return reader_of(s)(settings)

    case = Case(Status.OK, metrics(fill_fraction=first), (), 1e-4)
    return sensitivities.sensitivities(s, case, read, inputs), asked


def test_the_effect_of_an_input_is_what_its_doubt_changes_either_way(monkeypatch):
    """Fill 0.9 at 30/min, a hundredth less for each 1/min more; hose a tenth as much."""
    found, asked = effects_of(
        monkeypatch,
        lambda s: 0.9 - 0.01 * (60.0 * s.drive.cycle_rate - 30.0) + (s.suction.hose_length - 1.5) / 10.0,
        [BY_KEY["suction.hose_length"], CYCLE_RATE],
    )
    assert asked == [("suction.hose_length=1.35 m",), ("suction.hose_length=1.65 m",),
                     ("drive.cycle_rate=27 /min",), ("drive.cycle_rate=33 /min",)]  # fmt: skip
    rate, hose = found.effects
    assert (rate.key, rate.step) == ("drive.cycle_rate", "+-10 %")
    assert (rate.less.fill, rate.more.fill, rate.size) == pytest.approx((0.03, -0.03, 0.03))
    assert (rate.less.words, rate.more.words) == ("10 % slower", "10 % faster")
    assert hose.size == pytest.approx(0.015)
    assert (found.fill, found.delivery, found.accuracy) == (0.9, 1.0, 5e-4)
    assert rate.scatter == 2e-3
    assert found.is_significant(rate)
    assert effects_of(monkeypatch, lambda _: 0.9, [CYCLE_RATE], band=0.04)[0].accuracy == 0.04
    assert not effects_of(monkeypatch, lambda _: 0.9015, [CYCLE_RATE])[0].is_significant(
        effects_of(monkeypatch, lambda _: 0.9015, [CYCLE_RATE])[0].effects[0]
    )


def test_doubts_of_other_kinds_have_their_own_words(monkeypatch):
    found, _ = effects_of(
        monkeypatch, lambda _: 0.9,
        [BY_KEY["suction.lift"], BY_KEY["suction.port_compliance"], BY_KEY["inlet_check.leak_gap"]],
    )  # fmt: skip
    lift, port, leak = found.effects
    assert (lift.step, lift.less.words, lift.more.words) == ("+-0.2 m", "0.2 m less", "0.2 m more")
    assert (port.step, port.less.words, port.more.words) == ("x and / 2", "1/2 of it", "2 times as much")
    assert (leak.step, leak.less, leak.more.words) == ("+20 um", None, "20 um more")
    kelvin = BY_KEY["material.temperature"]
    assert sensitivities._step_words(kelvin) == "+-5 K"
    assert sensitivities._change_words(kelvin, False) == "5 K colder"


def test_without_a_run_nothing_has_an_effect_and_what_the_rules_refuse_has_none(monkeypatch):
    none = sensitivities.sensitivities(scenario(), Case(Status.STALLED, None), reader_of(scenario()), INPUTS)
    assert (none.fill, none.effects, none.accuracy) == (None, (), math.inf)
    far = Input(
        "suction.lift", "lift", "m", "less", "more", Scale(0.1, 20.0, geometric=False), 1, Doubt("+-", 9.0)
    )
    found, _ = effects_of(monkeypatch, lambda _: 0.8, [far])
    (effect,) = found.effects
    assert (effect.more.fill, effect.more.size, effect.more.scatter) == (None, 0.0, 0.0)
    assert effect.less.fill == pytest.approx(-0.1)


# Wear.


def test_a_state_of_wear_has_a_gap_at_one_place_alone():
    found = states_of(scenario(), 4e-5)
    assert list(found) == ["sound", *PLACES]
    for name, s in found.items():
        assert gaps_of(s) == {place: 4e-5 if place == name else 0.0 for place in PLACES}
    worn = scenario(inlet_check={"leak_gap": 1e-5})
    found = states_of(worn, 4e-5)
    assert list(found) == ["as it is", "sound", *PLACES]
    assert gaps_of(found["as it is"])["inlet seat"] == 1e-5
    assert gaps_of(found["piston seat"])["inlet seat"] == 0.0


def test_a_piston_creeps_where_it_is_seen_and_ten_times_as_fast_as_a_sound_one():
    """1 mm a minute, or ten times the sound one's."""
    seen = 1e-3 / 60.0

    def state(name, up, down):
        creeps = [None if speed is None else Creep(speed, 1e5, False) for speed in (up, down)]
        return WearState(name, {}, None, False, *creeps)

    states = [state("sound", 0.0, 1e-5), state("a", seen * (1.0 + HAIR), 1.001e-4),
              state("b", seen * (1.0 - HAIR), 0.999e-4), state("c", None, 1.0)]  # fmt: skip
    assert signs(states) == {
        "sound": (False, False),
        "a": (True, True),
        "b": (False, False),
        "c": (False, True),
    }


def test_the_motor_of_a_stall_pushes_as_the_outlet_does():
    found = with_closed_outlet(scenario())
    assert (found.outlet.form, found.drive.profile, found.drive.motor) == ("closed", "motor", "hydraulic")
    assert (found.drive.supply_gauge_pressure, found.drive.area_ratio, found.drive.friction) == (
        1e7,
        1.0,
        0.0,
    )
    assert (found.drive.free_cycle_rate, found.drive.ramp_time, found.drive.dwell_time) == (0.5, 0.03, 0.04)
    crank = with_closed_outlet(scenario(drive=harmonic(0.5), outlet={"gauge_pressure": 0.0})).drive
    assert (crank.supply_gauge_pressure, crank.ramp_time) == (1e5, pytest.approx(0.1))
    own = with_closed_outlet(scenario(drive=MOTOR)).drive
    assert (own.supply_gauge_pressure, own.area_ratio) == (6e6, 2.5)


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


# Limits of the arrangement that is there and of the best.


def limited(monkeypatch, unmet=(), best=(1,)):
    """Limits of the cycle rate where made-up trials name an arrangement."""
    names = {(): 0.005, (1,): 0.006}

    def run_trials(*_):
        good, other = (metrics(volumetric_efficiency=share) for share in (0.95, 0.9))
        return [Trial(below, (), travel, "ok", good if below == best else other, unmet)
                for below, travel in names.items()]  # fmt: skip

    monkeypatch.setattr(find, "run_trials", run_trials)
    walked_by(monkeypatch, lambda rate: 0.9 + 0.002 * (40.004 - rate))
    monkeypatch.setattr(sensitivities, "numerical_band", lambda *_: accuracy.Band({}))
    monkeypatch.setattr(
        sensitivities, "run_cases", lambda scenarios, **_: [Case(Status.OK, metrics()) for _ in scenarios]
    )
    s = scenario(shims={"thicknesses": (0.001,), "below": ()})
    return find.find_limits(reader_of(s), inputs=[CYCLE_RATE, BY_KEY["material.density"]], workers=1)


def test_limits_are_sought_where_the_shims_are_and_where_they_should_be(monkeypatch):
    found = limited(monkeypatch)
    here, there = found.arrangements
    assert (here.names, here.settings, here.choice.ball_travel) == (("now",), (), 0.005)
    assert (here.choice.shims_below, here.choice.shims_above) == ((), (1,))
    assert (there.names, there.settings, there.choice.shims_below) == (
        ("recommended",),
        ("shims.below=[1]",),
        (1,),
    )
    for arrangement in found.arrangements:
        (limit,) = arrangement.limits
        assert (limit.key, limit.holds.value) == ("drive.cycle_rate", pytest.approx(40.0 / 60.0))
        assert math.isnan(arrangement.here.value)
    assert {effect.key for effect in found.sensitivities.effects} == {"drive.cycle_rate", "material.density"}


def test_where_the_best_is_there_already_it_has_both_names_and_a_nearest_is_called_that(monkeypatch):
    (both,) = limited(monkeypatch, best=()).arrangements
    assert (both.names, both.settings) == (("now", "recommended"), ())
    near = limited(monkeypatch, unmet=("fill",)).arrangements[1]
    assert near.names == ("nearest",)


def test_where_nothing_is_named_the_limits_are_those_of_what_is_there(monkeypatch):
    monkeypatch.setattr(find, "best_of", lambda *_: None)
    (only,) = limited(monkeypatch).arrangements
    assert only.names == ("now",)


def test_no_other_inputs_than_all_are_looked_at_where_none_are_named(monkeypatch):
    seen = []
    monkeypatch.setattr(find, "walks", lambda _, item: seen.append(item.key) or [])
    monkeypatch.setattr(find, "run_trials", lambda *_: [])
    monkeypatch.setattr(find, "sensitivities", lambda *_: None)
    walked_by(monkeypatch, lambda _: 0.95)
    find.find_limits(reader_of(scenario()), workers=1)
    assert seen == [item.key for item in INPUTS if item.harder is not None and item.is_active(scenario())]
    assert {item.harder for item in INPUTS} == {-1, 0, 1, None}
    assert Input("suction.lift", "", "m", "", "", MICRONS).harder == 0


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
            round(0.123456 / quantum) * quantum, abs=1e-4 * quantum + 5e-5
        )
        assert (scale.quantum, scale.geometric) == (quantum, False)
    assert BY_KEY["inlet_check.cage_diameter"].scale.step == 1.03
    grown = list(BY_KEY["suction.lift"].scale.outward(0.0, 1, 0.5))
    assert grown == pytest.approx([0.1, 0.23, 0.399, 0.5])
    assert list(Scale(0.1, 1.0, False, 0.001, 1.0).outward(0.0, 1, 0.35)) == pytest.approx(
        [0.1, 0.2, 0.3, 0.35]
    )


def test_a_walk_does_not_begin_where_the_rules_refuse(monkeypatch):
    """A rate that four digits round up to where ramps and dwell take half a cycle."""
    walked_by(monkeypatch, lambda _: 0.95)
    rate = 49.99996
    tight = {"drive.ramp_time": 0.2, "drive.dwell_time": 30.0 / 50.0 - 0.4, "drive.cycle_rate": rate / 60.0}
    assert walk(Base(reader_of(with_values(scenario(), tight))), CYCLE_RATE, -1) is None


def test_an_input_without_a_harder_side_is_walked_upward(monkeypatch):
    walked_by(monkeypatch, lambda rate: 0.9 + 0.002 * (40.004 - rate))
    (found,) = walks(Base(reader_of(scenario())), replace(CYCLE_RATE, harder=None))
    assert (found.upward, found.holds) == (True, 40.0)


def test_a_rested_material_counts_from_any_ratio_above_one_and_an_age_to_a_second(monkeypatch):
    monkeypatch.setattr(rest_and_pot_life, "run_case", lambda *_, **__: Case(Status.OK, metrics()))
    found = rest_and_pot_life.first_stroke(scenario(material={"rested_ratio": 1.5}))
    assert found.ratio == 1.5
    aging(monkeypatch, 301.0)
    found = rest_and_pot_life.pot_life(scenario(material={"doubling_time": 240.0}))
    assert found.age == 301.0


def test_an_effect_without_either_side_is_none_and_one_just_as_large_as_the_accuracy_counts(monkeypatch):
    effect = sensitivities.Effect("k", "w", "s", None, None)
    assert (effect.size, effect.scatter) == (0.0, 0.0)
    change = sensitivities.Change((), "w", 0.01, -0.02)
    assert (change.size, change.scatter) == (0.02, 0.0)
    known = sensitivities.Sensitivities(0.9, 0.9, 0.02, ())
    assert known.is_significant(replace(effect, more=change))
    free = with_values(scenario(), {"material.free_gas_fraction": 0.0})
    monkeypatch.setattr(
        sensitivities, "run_cases", lambda scenarios, **_: [Case(Status.OK, metrics())] * len(scenarios)
    )
    monkeypatch.setattr(sensitivities, "numerical_band", lambda *_: accuracy.Band({}))
    found = sensitivities.sensitivities(
        free, Case(Status.OK, metrics()), reader_of(free), [BY_KEY["material.free_gas_fraction"]]
    )
    assert found.effects == ()


def test_what_the_rules_refuse_is_not_run_and_what_follows_keeps_its_place(monkeypatch):
    """A lift of 9 m more is refused; the rate after it has its own numbers."""
    far = Input(
        "suction.lift", "lift", "m", "less", "more", Scale(0.1, 20.0, geometric=False), 1, Doubt("+", 9.0)
    )
    found, _ = effects_of(monkeypatch, lambda s: 0.9 if s.drive.cycle_rate < 0.5 else 0.8, [far, CYCLE_RATE])
    by_key = {effect.key: effect for effect in found.effects}
    assert by_key["suction.lift"].more.fill is None
    assert by_key["suction.lift"].less is None
    assert (by_key["drive.cycle_rate"].less.fill, by_key["drive.cycle_rate"].more.fill) == pytest.approx(
        (0.0, -0.1)
    )
