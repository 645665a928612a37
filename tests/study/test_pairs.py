"""Two inputs that help where none does alone, on made-up lowers: the least pair, in few runs."""

import math

import pytest

from balltravel.core.status import Status
from balltravel.study.limits import find, pairs, sensitivities
from balltravel.study.search import walk as walking
from balltravel.study.search.inputs import INPUTS
from balltravel.study.search.walk import reader_of
from balltravel.study.travel import accuracy
from balltravel.sweeps.cases import Case

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import metrics

BY_KEY = {item.key: item for item in INPUTS}
HOSE, LIFT, THICK, TRAVEL = (
    "suction.hose_length",
    "suction.lift",
    "material.viscosity_factor",
    "piston_check.travel",
)


def searched(monkeypatch, fill, *keys, steps=0):
    """Limits of a lower whose fill is a function of its scenario; and how many pairs were run."""
    runs = []

    def case(s):
        return Case(Status.OK, metrics(fill_fraction=fill(s)), (), 0.0, steps)

    def counted(s):
        runs.append(s)
        return case(s)

    for module in (walking, find):
        monkeypatch.setattr(module, "run_case", case)
    monkeypatch.setattr(pairs, "run_case", counted)
    monkeypatch.setattr(find, "run_trials", lambda *_: [])
    monkeypatch.setattr(sensitivities, "numerical_band", lambda *_: accuracy.Band({}))
    monkeypatch.setattr(sensitivities, "run_cases", lambda scenarios, **_: [case(s) for s in scenarios])
    report = find.find_limits(reader_of(scenario()), inputs=[BY_KEY[key] for key in keys], draws=0, workers=1)
    return report.arrangements[0], runs


def needs_both(s):
    """A hose shorter by a metre and a lift lower by 2 m each gain 4 %, and 5.5 % are missing; the scenario
    has 1.5 m and 0.3 m."""
    return 0.845 + 0.04 * (1.5 - s.suction.hose_length) + 0.02 * (0.3 - s.suction.lift)


def test_where_no_input_helps_alone_two_do_and_the_least_change_is_told(monkeypatch):
    place, runs = searched(monkeypatch, needs_both, HOSE, LIFT, TRAVEL)
    assert [limit.holds for limit in place.limits] == [None] * len(place.limits)
    pair = place.pairs.least
    assert set(pair.keys) == {HOSE, LIFT}
    # All the way is 1.2 m of hose and 2.3 m of lift, 9.4 %: five eighths of it gain 5.875 %, half 4.7 %.
    assert pair.share == 5.0 / 8.0
    by_key = dict(zip(pair.keys, pair.values, strict=True))
    # By numbers of three digits.
    assert by_key == pytest.approx({HOSE: 1.5 - 0.75, LIFT: 0.3 - 2.3 * 5.0 / 8.0}, abs=5e-3)
    # It was run as the text that is given.
    again = reader_of(scenario())(pair.holds.settings)
    assert needs_both(again) == pair.holds.fill >= 0.9
    assert pair.holds.missed == ()
    assert place.pairs.runs == len(runs) <= pairs.MOST_RUNS


def test_no_pair_is_sought_where_an_input_helps_alone_or_all_targets_hold(monkeypatch):
    place, runs = searched(monkeypatch, lambda s: 0.8 + 0.1 * (1.5 - s.suction.hose_length), HOSE, LIFT)
    assert any(limit.holds for limit in place.limits)
    assert (place.pairs, runs) == (None, [])
    place, runs = searched(monkeypatch, lambda _: 0.95, HOSE, LIFT)
    assert (place.pairs, runs) == (None, [])


def test_where_no_pair_helps_that_is_said_with_what_was_combined(monkeypatch):
    place, runs = searched(monkeypatch, lambda s: needs_both(s) - 0.1, HOSE, LIFT, TRAVEL)
    assert place.pairs.least is None
    assert set(place.pairs.combined) == {"hose's length", "lift above the tank"}
    assert place.pairs.runs == len(runs) == 1


def test_pairs_are_made_of_the_five_that_gain_most_in_at_most_forty_runs(monkeypatch):
    keys = (
        "drive.cycle_rate", THICK, "suction.hose_diameter", HOSE, LIFT, "suction.tank_gauge_pressure",
        "inlet_check.cage_diameter",
    )  # fmt: skip

    def fill(s):
        """Each at its best end gains a little, the later ones more; any two of them are enough."""
        gains = (
            (0.5 - s.drive.cycle_rate) / 0.5, (1.0 - s.material.viscosity_factor),
            (s.suction.hose_diameter - 0.038) / 0.038, (1.5 - s.suction.hose_length) / 1.5,
            (0.3 - s.suction.lift) / 2.3, s.suction.tank_gauge_pressure / 5e5,
            (s.inlet_check.cage_diameter - 0.0378) / 0.0378,
        )  # fmt: skip
        share = sum(min(max(gain, 0.0), 1.0) * (0.02 + 0.001 * n) for n, gain in enumerate(gains))
        return 0.87 + share

    place, runs = searched(monkeypatch, fill, *keys)
    assert len(place.pairs.combined) == 5
    assert len(runs) <= 40
    assert place.pairs.least is not None


def test_inputs_whose_runs_are_long_are_not_combined(monkeypatch):
    place, runs = searched(monkeypatch, needs_both, HOSE, LIFT, steps=200_000)
    assert (place.pairs.combined, runs) == ((), [])


def test_progress_tells_parts_done_that_never_fall_and_end_at_all_of_them(monkeypatch):
    told = []
    searched(monkeypatch, needs_both, HOSE, LIFT)
    find.find_limits(
        reader_of(scenario()),
        inputs=[BY_KEY[HOSE], BY_KEY[LIFT]],
        draws=0,
        workers=1,
        progress=lambda done, whole: told.append((done, whole)),
    )
    done = [part for part, _ in told]
    assert done == sorted(done)
    assert len({whole for _, whole in told}) == 1
    assert len(set(done)) > 4
    assert all(math.isfinite(part) and part <= whole for part, whole in told)
