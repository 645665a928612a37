"""Limits of inputs and what matters most, on made-up runs: nothing is run."""

import math
from dataclasses import replace

import pytest

from balltravel.core.status import Status
from balltravel.cycle.validity import Excursion
from balltravel.scenario.model import with_values
from balltravel.study.limits import find, sensitivities
from balltravel.study.search.crossing import Crossing, Scale, Verdict
from balltravel.study.search.inputs import CYCLE_RATE, INPUTS, MICRONS, Doubt, Input
from balltravel.study.search.walk import Base, Walk, reader_of
from balltravel.study.travel import accuracy
from balltravel.study.travel.trials import Trial
from balltravel.sweeps.cases import Case

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import metrics
from ..helpers.walks_by_hand import walked_by

LONG = Excursion("inlet check", "c", "q", 0.5, 2.0, 1.0, "b")
BY_KEY = {item.key: item for item in INPUTS}


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
    found = find.limit_of(
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
    open_end = find.limit_of(
        Base(reader_of(scenario())), walked((None, None), {30.0: 0.95, 60.0: 0.95}, 60.0)
    )
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
    return find.find_limits(reader_of(s), inputs=[CYCLE_RATE, BY_KEY["material.density"]], draws=0, workers=1)


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
    find.find_limits(reader_of(scenario()), draws=0, workers=1)
    assert seen == [item.key for item in INPUTS if item.harder is not None and item.is_active(scenario())]
    assert {item.harder for item in INPUTS} == {-1, 0, 1, None}
    assert Input("suction.lift", "", "m", "", "", MICRONS).harder == 0


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
