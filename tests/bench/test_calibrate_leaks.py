"""Leaks of a synthetic lower are learnt at a stall alone, and no smaller than anybody sees."""

import numpy as np
import pytest

from balltravel.bench.calibrate.calibrate import calibrate, fitted
from balltravel.bench.calibrate.leaks import leaks_of

from ..helpers.known_lower import known_lower, point_of, read_of, unknowns


def test_leaks_are_learnt_at_a_stall_alone_and_by_sum():
    leaky = known_lower(leaks=True)
    truth = point_of(leaky, leak_gap=1.0, rod_packing_gap=0.8)
    rng = np.random.default_rng(9)
    told = calibrate(leaky, read_of(leaky, truth, rng, stalled=True), workers=1)
    by_key = {item.key: item for item in told.inputs}
    for unknown, coordinate in zip(unknowns(leaky).each, truth, strict=True):
        if unknown.key.endswith("_gap"):
            item = by_key[unknown.key]
            assert item.learnt
            assert item.after_range[1] <= unknown.value(float(coordinate)) <= item.after_range[2]
    (down,) = [each for each in told.sums if "foot valve" in each.name]
    assert down.learnt
    assert down.after[1] < down.after[0] < down.after[2]
    assert told.scenario.inlet_check.leak_gap == pytest.approx(by_key["inlet_check.leak_gap"].after.likely)


def test_a_gap_that_leaks_less_than_anybody_sees_may_be_as_small_as_it_likes():
    """Nothing creeps in five minutes: from above the gap is known, from below it is as it was, or lower where
    the upper end pushes it."""
    leaky = known_lower(leaks=True)
    truth = point_of(leaky, leak_gap=-2.0, rod_packing_gap=-2.0)
    fit, _ = fitted(leaky, read_of(leaky, truth, np.random.default_rng(2), stalled=True), 1)
    for law in leaks_of(fit).marginals.values():
        assert law.low < -1.7
        assert law.high < 1.0
