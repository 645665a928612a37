"""A lower whose signs are simulated is found again; contradictions are named; nothing said is refused."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from balltravel.bench.calibrate.calibrate import calibrate, fitted
from balltravel.bench.calibrate.ranges import NOT_LEARNT
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.signs import SIGNS
from balltravel.report.text.bench.calibrate import calibration_text
from balltravel.scenario.model import ScenarioError
from balltravel.units.display import shown_in

from ..helpers.known_lower import SETTINGS, STATED, known_lower, point_of, read_of, unknowns
from ..helpers.lowers import scenario
from ..helpers.synthetic_bench import MOTOR


@pytest.fixture(scope="module")
def lower():
    return known_lower()


@pytest.fixture(scope="module")
def truth(lower):
    return point_of(lower, viscosity=1.2, hose_diameter=-0.8, free_gas_fraction=0.5)


@pytest.fixture(scope="module")
def calibrated(lower, truth):
    return calibrate(lower, read_of(lower, truth, np.random.default_rng(3)), workers=1)


def test_signs_without_errors_lead_back_to_where_they_are_from(lower, truth):
    fit, notes = fitted(lower, read_of(lower, truth), 1)
    # The prior draws what is known to a quarter of its width (0.0625 of the variance) a little to its middle.
    np.testing.assert_allclose(fit.posterior.best[:3], truth[:3], atol=0.15)
    assert fit.posterior.chi_square < np.sum(truth**2) + 0.1
    assert notes == []


def test_a_pressure_of_the_stall_that_nobody_read_is_named_with_what_is_learnt_by_it(lower, truth):
    observed = replace(read_of(lower, truth), stall_pressure=170e5, stall_pressure_from="as it may be")
    _, notes = fitted(lower, observed, 1)
    assert notes == ["pressure of the stall: not given, taken as 170 bar, as it may be"]


def test_a_lower_is_found_again_by_its_readings(lower, truth, calibrated):
    by_key = {item.key: item for item in calibrated.inputs}
    for unknown, coordinate in zip(unknowns(lower).each, truth, strict=True):
        middle, _, high = by_key[unknown.key].after_range
        off = math.log(unknown.value(float(coordinate)) / middle) / math.log(high / middle)
        assert abs(off) < 1.5  # three standard deviations
    assert by_key["material.viscosity"].share < 0.35
    assert by_key["suction.hose_diameter"].share < 0.35
    assert not calibrated.misfit
    assert calibrated.contradictions == ()


def test_learnt_is_what_got_a_fifth_narrower_and_only_that_is_in_the_new_scenario(lower, calibrated):
    for item in calibrated.inputs:
        assert item.learnt is (item.share <= NOT_LEARNT)
    ranges = calibrated.scenario.ranges
    for key in STATED:
        item = next(item for item in calibrated.inputs if item.key == key)
        if item.learnt:
            assert ranges[key].numbers == pytest.approx(item.after.numbers)
        else:
            assert ranges[key] == lower.ranges[key]
    untouched = ranges.keys() - {item.key for item in calibrated.learnt}
    assert all(ranges[key] == lower.ranges[key] for key in untouched)


def test_readings_that_say_nothing_are_refused(lower):
    rate = Reading(0.37, sd=0.2)
    with pytest.raises(ScenarioError, match="by which no range gets narrower: nothing is learnt"):
        calibrate(lower, Observations((Condition({}, {"cycle_rate": rate}),)), workers=1)


def test_what_no_scenario_can_say_is_refused():
    tip = Observations((Condition({}, {"tip_pressure": Reading(1e7)}),))
    with pytest.raises(ScenarioError, match="nothing that was seen can be compared"):
        calibrate(scenario(drive=MOTOR), tip, workers=1)


def test_the_next_reading_is_none_that_was_made(calibrated):
    further = calibrated.next_reading
    read = {(reading.situation, reading.key) for reading in calibrated.readings}
    if further is not None:
        assert (further.situation, further.key) not in read
        assert further.then < further.now


def test_the_text_and_the_json_say_the_same_in_either_system(lower, calibrated):
    told = json.loads(json.dumps(calibrated.as_dict(), default=str))
    assert told["misfit"] is False
    assert len(told["inputs"]) == len(calibrated.inputs)
    for units in ("metric", "us", "both"):
        with shown_in(units):
            text = calibration_text(lower, calibrated)
        assert max(map(len, text.splitlines())) <= 100
        assert f"{len(calibrated.learnt)} inputs learnt" in text
        assert all(item.name in text for item in calibrated.learnt)
        assert (" mm" in text) is (units != "us")


def test_every_setting_that_the_scenario_does_not_have_is_an_unknown_of_its_own():
    """A supply of which 95 of 100 lie within 5 %, set otherwise in the second condition alone."""
    lower = known_lower()
    assert [unknown.only for unknown in unknowns(lower).each if unknown.only] == [(2,)]
    point = np.zeros(len(unknowns(lower)))
    point[-1] = 1.0
    second = unknowns(lower).changes(point, 2)["drive.supply_gauge_pressure"]
    assert second == pytest.approx(SETTINGS[1]["drive.supply_gauge_pressure"] * 1.05 ** (1 / 1.96), rel=1e-3)
    assert "drive.supply_gauge_pressure" not in unknowns(lower).changes(point, 1)


def test_the_errors_of_reading_are_those_of_the_signs(lower, truth):
    fit, _ = fitted(lower, read_of(lower, truth), 1)
    for row, variance in zip(fit.rows, np.diag(fit.posterior.errors), strict=True):
        assert variance >= SIGNS[row.key].sd ** 2
        assert math.isfinite(row.value)
