"""How far an input may go while the targets hold in 95 of 100 draws of all else: laws, and direct runs."""

import math
from dataclasses import replace

import numpy as np
import pytest

from balltravel.scenario.shims import Arrangement
from balltravel.scenario.unknowns import spreads_of
from balltravel.study.limits import chances
from balltravel.study.limits.find import find_limits
from balltravel.study.search.inputs import INPUTS
from balltravel.study.search.walk import Base, reader_of, walks
from balltravel.study.verdict.draws import draw
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.runs import run_draws
from balltravel.units.spread import Spread

BY_KEY = {item.key: item for item in INPUTS}
RATE, THICK, LENGTH = "drive.cycle_rate", "material.viscosity_factor", "suction.hose_length"
ALONE = ("shims.thicknesses=[]", "shims.below=[]", "inlet_check.base_travel=5 mm")
"""One arrangement, so that no others are run."""


def report(scenario, *keys, **more):
    return find_limits(reader_of(scenario), inputs=[BY_KEY[key] for key in keys], **more)


def rows(scenario, *keys, **more):
    """Key -> the row of the arrangement that is there."""
    return {limit.key: limit for limit in report(scenario, *keys, **more).arrangements[0].limits}


def steps_from_the_limit(row):
    """How many of the sixteen steps of the way from the present value the margin lies before the limit."""
    return 16.0 * (row.holds.value - row.holds_in_95) / (row.holds.value - row.now)


@pytest.fixture
def drawn(monkeypatch):
    """Draw these spreads and no others."""

    def use(of):
        monkeypatch.setattr(chances, "spreads_of", of)

    return use


def test_where_everything_is_known_the_margin_is_the_single_limit(story, drawn):
    drawn(lambda _: {})
    scenario = story("primer", *ALONE)
    place = report(scenario, RATE, THICK, LENGTH).arrangements[0]
    assert place.chance == 1.0
    assert len(place.limits) == 3
    for row in place.limits:
        assert row.holds_in_95 == pytest.approx(row.holds.value, rel=1e-12)
        assert row.chance_now is None


def test_an_input_that_alone_is_not_known_has_its_single_limit_in_its_own_row(story, drawn):
    """And where its range is so narrow that nothing changes, so has another row, within its last step."""
    drawn(lambda _: {"suction.loss_coefficient": Spread("normal", (1.5, 1.0 + 1e-9), logarithmic=True)})
    row = rows(story("primer", *ALONE), LENGTH)[LENGTH]
    assert 0.0 <= steps_from_the_limit(row) <= 1.0 + 1e-3
    drawn(lambda _: {RATE: Spread("normal", (0.5, 1.5), logarithmic=True)})
    row = rows(story("primer", *ALONE), RATE)[RATE]
    assert row.holds_in_95 == pytest.approx(row.holds.value, rel=1e-12)


def test_how_thick_a_material_is_has_no_spread_in_the_row_of_its_viscosity_and_its_readings_neither(story):
    for name in ("primer", "mastic_by_readings"):
        base = Base(reader_of(story(name, *ALONE)))
        look = chances.look_at(base, 32, 0)
        row = chances._Row(base, look.draws, BY_KEY[THICK], look.slack)
        names = {item.key for item in look.draws.drawn}
        assert any(key.startswith(("material.viscosity", "material.readings")) for key in names)
        for changes in row.changes:
            assert not changes.keys() & {"material.viscosity", "material.readings"}
            assert "suction.loss_coefficient" in changes


def test_the_margin_lies_between_the_present_value_and_the_single_limit(story):
    """Where the targets hold now; where a value is sought that makes them hold, it lies beyond the first one
    that does at the likely values."""
    for row in rows(story("primer", *ALONE), RATE, THICK, LENGTH).values():
        assert row.meets_now
        assert min(row.now, row.holds.value) <= row.holds_in_95 <= max(row.now, row.holds.value)
    row = rows(story("mastic", *ALONE), RATE)[RATE]
    assert not row.meets_now
    assert row.holds_in_95 <= row.holds.value < row.now


def test_who_knows_less_may_go_less_far(story, drawn):
    margins = []
    for width in (0.5, 1.0, 2.0):
        drawn(lambda s, width=width: {key: x.widened(width) for key, x in spreads_of(s).items()})
        row = rows(story("primer", *ALONE), LENGTH)[LENGTH]
        margins.append(row.now if row.holds_in_95 is None else row.holds_in_95)
    assert margins[0] > margins[1] >= margins[2]


def chance_at(scenario, key, settings, count, seed):
    """By direct runs of draws that the search has not seen: no code of the search is used."""
    read = reader_of(scenario)
    there = read(settings)
    spreads = {name: spread for name, spread in spreads_of(there).items() if name != key}
    runs = run_draws(draw(inputs_of(there, spreads), count, seed), [Arrangement((), (), there.inlet_travel)])
    met = np.logical_and.reduce([by == 0.0 for by in runs.shortfalls.values()])
    return float(met.mean())


@pytest.mark.parametrize("key", [RATE, LENGTH])
def test_fresh_draws_hold_in_95_of_100_at_the_margin_and_in_fewer_beyond_it(story, key):
    """Of 128 draws each, both shares have a standard deviation of at most 0.0193, their difference 0.0272:
    three of them."""
    scenario, item = story("primer", *ALONE), BY_KEY[key]
    row = rows(scenario, key, draws=128)[key]
    within = 3.0 * math.sqrt(2.0 * 0.95 * 0.05 / 128.0)
    unit = 60.0 if key == RATE else 1.0
    beyond = row.holds_in_95 + 3.0 / 16.0 * (row.holds.value - row.now)

    at_margin, past_it, at_limit = (
        chance_at(scenario, key, item.settings(scenario, unit * value), 128, 11)
        for value in (row.holds_in_95, beyond, row.holds.value)
    )
    assert at_margin >= 0.95 - within
    assert past_it < 0.95 + within
    assert past_it < at_margin
    assert at_limit < 0.95


def test_where_the_present_value_does_not_hold_in_95_of_100_its_chance_is_told(story):
    """The same by direct runs of the same draws."""
    scenario = story("mastic", *ALONE, "material.viscosity_factor=0.9")
    place = report(scenario, LENGTH).arrangements[0]
    (row,) = place.limits
    assert row.meets_now
    assert row.holds_in_95 is None
    assert row.chance_now == chance_at(scenario, LENGTH, (), 32, 0) < 0.95
    assert 0.0 < place.chance < 0.95


def test_the_same_bits_whatever_number_of_threads(story):
    scenario = story("primer", *ALONE)
    first, second = (report(scenario, LENGTH, workers=workers) for workers in (1, 3))
    assert repr(first) == repr(second)
    # Both walk lengths of three digits, so another seed may end at the same one; its draws are others.
    others = [report(scenario, LENGTH, seed=seed).arrangements[0].limits for seed in (3, 4, 5)]
    assert any(other != first.arrangements[0].limits for other in others)


def test_without_draws_all_else_is_the_same_and_nothing_is_said_of_them(story):
    scenario = story("primer", *ALONE)
    with_draws, without = (report(scenario, RATE, draws=draws) for draws in (32, 0))
    plain = [replace(row, holds_in_95=None, chance_now=None) for row in with_draws.arrangements[0].limits]
    assert tuple(plain) == without.arrangements[0].limits
    told = without.as_dict()
    assert not told.keys() & {"draws", "seed"}
    assert "chance" not in told["arrangements"][0]
    assert not told["arrangements"][0]["limits"][0].keys() & {"holds_in_95", "chance_now"}
    assert with_draws.as_dict()["arrangements"][0]["limits"][0]["holds_in_95"] is not None


def test_a_lower_whose_runs_are_long_is_not_drawn(story, monkeypatch):
    monkeypatch.setattr(chances, "MOST_STEPS", 1000)
    monkeypatch.setattr(chances, "compute", lambda *_: pytest.fail("something was drawn"))
    place = report(story("primer", *ALONE), RATE).arrangements[0]
    assert place.chance is None
    assert (place.limits[0].holds_in_95, place.limits[0].chance_now) == (None, None)


def test_a_row_takes_few_runs(story, monkeypatch):
    """Six bisections of all 32 draws would be 192."""
    count, run = [], chances.compute

    def counted(scenario, changes, rtol):
        count.append(len(changes))
        return run(scenario, changes, rtol)

    monkeypatch.setattr(chances, "compute", counted)
    base = Base(reader_of(story("primer", *ALONE)))
    look = chances.look_at(base, 32, 0)
    assert sum(count) == 32
    (walked,) = walks(base, BY_KEY[LENGTH])
    assert chances.margin_task(look, walked)().holds_in_95 is not None
    assert 32 + 20 < sum(count) < 32 + 96
