"""Leaks that grow over the litres of a synthetic pump come back within their bands, and their growth as a
trend. Each pump is a run of its own, with everything that is not known drawn once, and read with errors."""

from dataclasses import fields, replace
from datetime import date, timedelta

import numpy as np
import pytest

from balltravel.bench.causes import SOUND_GAP
from balltravel.bench.history import history as history_module
from balltravel.bench.history.book import Book
from balltravel.bench.history.entries import LEAKS, Count, Entry
from balltravel.bench.history.history import DELIVERY, LITRES, Point, judged
from balltravel.bench.history.leaks import OWN, SHARES_RUN, leaks_of
from balltravel.bench.history.trends import trend
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.runs import SHARES
from balltravel.bench.signs import run_cycles, run_stalls
from balltravel.scenario.model import with_values

from ..helpers.synthetic_bench import PRESSURE, Bench, observations

PUMPS, ENTRIES, SEED = 4, 5, 12
LITRES_EACH = 2.5


@pytest.fixture(scope="module")
def bench():
    return Bench(SEED)


def grown(bench, leak):
    """Gaps of an entry each, from a sound one to a fifth of the largest tried, which delivers far less."""
    most = next(cause for cause in leaks_of(bench.scenario) if cause.name == leak).end
    return np.linspace(0.0, 0.2 * most, ENTRIES)


def pump_of(bench, leak):
    """What one pump is over its entries: its unknowns drawn once, but the leak."""
    unknowns = {key: value for key, value in bench.unknowns().items() if key not in OWN[leak]}
    changes = [{**unknowns, OWN[leak][0]: float(gap)} for gap in grown(bench, leak)]
    for changed in changes:
        with_values(bench.scenario, changed)
    return changes


def history_of(bench, values, places):
    entries = [
        Entry(
            date(2026, 1, 1) + timedelta(days=i), litres=Count(place),
            observed=observations(bench.read({key: column[i] for key, column in values.items()})),
        )
        for i, place in enumerate(places)
    ]  # fmt: skip
    return judged(bench.scenario, Book("pump.log.toml", tuple(entries)))


@pytest.fixture(scope="module")
def histories(bench):
    return histories_of(bench, PUMPS)


def histories_of(bench, pumps):
    """Of each leak: true gaps and the history of all pumps, one behind the other to share their runs."""
    made = {}
    for leak in LEAKS:
        changes = [changed for _ in range(pumps) for changed in pump_of(bench, leak)]
        values = run_cycles(bench.scenario, changes) | run_stalls(bench.scenario, changes, PRESSURE)
        places = [1e-3 * LITRES_EACH * i for i in range(len(changes))]
        made[leak] = np.tile(grown(bench, leak), pumps), history_of(bench, values, places)
    return made


def test_a_pressure_of_a_stall_that_nobody_read_is_named_once_for_all_entries():
    seen = Observations((), (), PRESSURE, {}, {}, "as it may be")
    entries = [Entry(date(2026, 1, day), observed=seen) for day in (1, 2)]
    entries.append(Entry(date(2026, 1, 3), observed=Observations((), (), PRESSURE)))
    point = replace(Point(*([None] * len(fields(Point)))), delivered=1.0)
    assert history_module._notes(entries, LITRES, [point]) == tuple(seen.notes)


def test_sizes_that_are_run_begin_smaller_than_those_of_a_diagnosis():
    assert SHARES_RUN[0] < SHARES[0] / 5
    assert SHARES_RUN[-1] == SHARES[-1] == 1.0


def test_days_that_were_set_alike_share_their_runs(histories):
    for _, found in histories.values():
        assert found.runs <= 2 * (1 + len(LEAKS) * len(SHARES_RUN) + 50)


def test_the_true_gap_lies_in_the_band_of_the_leak_that_it_is(histories):
    """60 readings, with the same unknowns over each pump's five: 95 in 100 are 57, and as few as 51 by chance
    (12 independent pumps of which one is off by a whole history)."""
    inside = [
        fit.low - 0.05 * SOUND_GAP <= gap <= fit.high
        for leak, (gaps, found) in histories.items()
        for gap, fit in zip(gaps, (point.leaks[leak] for point in found.points), strict=True)
    ]
    assert len(inside) == 3 * PUMPS * ENTRIES
    assert sum(inside) >= 51


def test_a_band_holds_its_size_and_most_are_far_narrower_than_what_was_possible_before(bench, histories):
    for leak, (_, found) in histories.items():
        end = next(cause for cause in leaks_of(bench.scenario) if cause.name == leak).end
        fits = [point.leaks[leak] for point in found.points]
        assert all(0.0 <= fit.low <= fit.size <= fit.high <= end for fit in fits)
        assert np.median([fit.high - fit.low for fit in fits]) < 0.15 * end


def test_a_leak_that_grows_is_a_trend(histories):
    """Pump by pump, five readings each: most carry the trend, and its slope within half."""
    lines, falls = [], list[bool]()
    for leak, (gaps, found) in histories.items():
        true = (gaps[ENTRIES - 1] - gaps[0]) / (1e-3 * LITRES_EACH * (ENTRIES - 1))
        for pump in range(PUMPS):
            points = found.points[pump * ENTRIES : (pump + 1) * ENTRIES]
            places = [point.place for point in points]
            lines.append((trend(places, [point.leaks[leak].size for point in points]), true))
            falls.append(trend(places, [point.delivered for point in points]).slope < 0.0)
    assert sum(line.carried and line.slope > 0.0 for line, _ in lines) >= 11
    assert sum(abs(line.slope / true - 1.0) < 0.5 for line, true in lines) >= 11
    assert sum(falls) >= 6  # delivery by this cup moves less than what is read of a stall


@pytest.mark.parametrize(
    ("what", "since"),
    [
        ({"material": "epoxy"}, 1),
        ({"shims_below": (1, 2)}, 0),
        ({"shims_below": (1,)}, 1),
        ({"note": "cold"}, 0),
    ],
)
def test_delivery_begins_anew_with_another_material_or_other_shims_alone(bench, monkeypatch, what, since):
    """Of a lower with shims 1 and 2 below its cage, which the second entry says, or says otherwise; a
    material that is named for the first time is another than the scenario's."""
    monkeypatch.setattr(history_module, "fitted_leaks", lambda _, days, *_others: ([{} for _ in days], 0))
    scenario = with_values(bench.scenario, {"shims.thicknesses": (1e-3, 1e-3), "shims.below": (2, 1)})
    condition = Condition({}, {"weighed_per_cycle": Reading(1.5e-4)})
    entries = [
        Entry(date(2026, 1, day), observed=Observations((condition,)), **(what if day == 2 else {}))
        for day in range(1, 6)
    ]
    found = judged(scenario, Book("pump.log.toml", tuple(entries)))
    (delivery,) = (course for course in found.courses if course.name == DELIVERY)
    assert (delivery.since, len(delivery.entries)) == (since, 5 - since)


def test_the_history_of_one_pump_says_so_over_its_litres(bench, histories):
    _, found = histories["rod packing"]
    part = judged(bench.scenario, Book("pump.log.toml", found.entries[:ENTRIES]))
    courses = {course.name: course for course in part.courses}
    assert part.axis == LITRES
    assert part.points == found.points[:ENTRIES]
    assert set(courses) == {DELIVERY, *LEAKS}
    assert courses["rod packing"].line.carried
