"""What contradicts a scenario is named: a reading that cannot be, a material that thins."""

from dataclasses import replace

import numpy as np
import pytest

from balltravel.bench.calibrate import contradictions
from balltravel.bench.calibrate.calibrate import calibrate
from balltravel.report.text.bench.calibrate import calibration_text

from ..helpers.known_lower import known_lower, point_of, read_of, unknowns


@pytest.fixture(scope="module")
def lower():
    return known_lower()


@pytest.fixture(scope="module")
def truth(lower):
    return point_of(lower, viscosity=1.2, hose_diameter=-0.8, free_gas_fraction=0.5)


def with_reading(observed, number, key, factor):
    """The same observations with one reading so many times as large."""
    seen = list(observed.seen)
    readings = dict(seen[number - 1].readings)
    readings[key] = replace(readings[key], value=factor * readings[key].value)
    seen[number - 1] = replace(seen[number - 1], readings=readings)
    return replace(observed, seen=tuple(seen))


def test_a_reading_that_cannot_be_is_a_contradiction_and_named_first(lower, truth, monkeypatch):
    monkeypatch.setattr(contradictions, "_alternatives", lambda _: ())  # to save time
    observed = read_of(lower, truth, np.random.default_rng(3))
    told = calibrate(lower, with_reading(observed, 2, "tip_pressure", 1.3), workers=1)
    assert told.misfit
    first = told.contradictions[0]
    assert first.what == "pressure at the tip (seen 2) was read wrongly"
    assert first.mends
    assert told.next_reading is None
    text = calibration_text(lower, told)
    assert "Contradiction: no values in these ranges explain what was read" in text
    assert "pressure at the tip (seen 2) was read wrongly: mends it" in text


def test_thinning_of_which_the_scenario_says_nothing_is_named(lower, truth, monkeypatch):
    """A power law of exponent 0.6 that is as thick at 10 1/s. To save time only the material is tried."""
    monkeypatch.setattr(contradictions, "_alternatives", contradictions._thinning)
    thick = unknowns(lower).changes(truth)["material.viscosity"]
    thins = {"material.flow": "power law", "material.thinning_exponent": 0.6,
             "material.viscosity": thick * 10.0**0.4}  # fmt: skip
    told = calibrate(lower, read_of(lower, truth, np.random.default_rng(4), thins), workers=1)
    assert told.misfit
    mending = [each.what for each in told.contradictions if each.mends]
    assert "the material thins" in mending
