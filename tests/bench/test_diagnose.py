"""Faults that a synthetic lower of heavy material has are named, and a sound one is called sound.

The truth of each is a run of its own, with everything that is not known drawn anew, and is read with errors:
the diagnosis knows none of it.
"""

import json
import math

import numpy as np
import pytest

from balltravel.bench.causes import GAP_KEYS, NONE, SOUND_GAP, causes_of
from balltravel.bench.diagnose import FAULT, SEEN_EFFECT, SOUND, diagnose, judged
from balltravel.bench.fit import CREEP, Model, rows_of
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.runs import answers_of, at_stall, at_work, can_be
from balltravel.bench.signs import CYCLE_SIGNS, SIGNS, SLOWEST, STALL_SIGNS, run_cycles, run_stalls
from balltravel.report.text.diagnose import diagnosis_text
from balltravel.scenario.model import ScenarioError, with_values
from balltravel.scenario.unknowns import spreads_of

from ..helpers.lowers import scenario

FAULTS, SOUND_ONES, SEED = 30, 10, 7
PRESSURE = 4e6
MOTOR = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 1.2e7,
    "area_ratio": 1.4, "free_cycle_rate": 0.5,
}  # fmt: skip
TIP = {
    "form": "tip", "gauge_pressure": None, "hose_length": 15.0, "hose_diameter": 19e-3,
    "tip_diameter": 1.7e-3, "tip_discharge_coefficient": 0.8,
}  # fmt: skip


class Bench:
    """A heavy lower with motor and tip, and what the runs of its diagnosis say."""

    def __init__(self):
        self.scenario = scenario(material={"viscosity": 10.0}, drive=MOTOR, outlet=TIP)
        self.causes = causes_of(self.scenario)
        self.answers = {
            "seen 1": answers_of(self.scenario, self.causes, at_work(None, None)),
            "stall": answers_of(self.scenario, self.causes, at_stall(PRESSURE, None, None)),
        }
        self.rng = np.random.default_rng(SEED)

    def unknowns(self):
        """Everything that is not known, drawn."""
        drawn = {key: self.rng.uniform() * SOUND_GAP for key in GAP_KEYS}
        for key, spread in spreads_of(self.scenario).items():
            if spread.numbers_only:
                value = {key: float(spread.at(self.rng.uniform(0.02, 0.98)))}
                drawn |= value if can_be(self.scenario, value) else {}
        return drawn

    def fault(self, cause):
        """The changes of a cause at a size of three standard deviations of effect or more; None where it has
        none."""
        keys = [row_of(key) for key in SIGNS]
        model = Model([row for row in keys if math.isfinite(sound_of(self.answers, row))], self.answers)
        curve = model.curve(cause.name)
        moved = curve.expected - model.sound
        effects = np.sqrt((moved * np.linalg.solve(model.covariance, moved.T).T).sum(axis=1))
        strong = curve.shares[effects >= 3.0]
        return cause.size(float(self.rng.choice(strong))) if len(strong) else None

    def seen(self, cycle, stall, i):
        """What somebody reads of the i-th run, with errors."""
        read = {key: self.reading(key, float(values[i])) for key, values in {**cycle, **stall}.items()}
        read = {key: reading for key, reading in read.items() if reading and key != "pounding"}
        working = {key: reading for key, reading in read.items() if key in CYCLE_SIGNS}
        stalled = {key: reading for key, reading in read.items() if key in STALL_SIGNS}
        return Observations((Condition({}, working),), (), PRESSURE, stalled)

    def reading(self, key, value):
        sign, error = SIGNS[key], self.rng.normal()
        if not math.isfinite(value):
            return None
        if key in CREEP:
            if value < 1e-3 / SLOWEST:
                return Reading(SLOWEST, None, True)
            return Reading(self.scenario.lower.stroke / value * math.exp(error * sign.sd))
        if sign.share:
            return Reading((value + sign.floor) * math.exp(error * sign.sd) - sign.floor)
        return Reading(value + error * sign.sd)


def row_of(key):
    place = ((Condition({}, {key: Reading(1.0)}),), (), PRESSURE, {})
    if key in STALL_SIGNS:
        place = ((), (), PRESSURE, {key: Reading(1.0)})
    return rows_of(Observations(*place), 0.09)[0]


def sound_of(answers, row):
    return answers[row.situation].sound[row.key]


@pytest.fixture(scope="module")
def bench():
    return Bench()


@pytest.fixture(scope="module")
def diagnosed(bench):
    """Names of the true causes and what was made of each."""
    truths = []
    while len(truths) < FAULTS:
        for cause in bench.causes:
            size = bench.fault(cause)
            changes = bench.unknowns()
            if size is None:
                continue
            try:
                worn = cause.changes(with_values(bench.scenario, changes), size)
                with_values(bench.scenario, {**changes, **worn})
            except ScenarioError:
                continue
            truths.append((cause.name, {**changes, **worn}))
    truths = truths[:FAULTS] + [(NONE, bench.unknowns()) for _ in range(SOUND_ONES)]
    changes = [changed for _, changed in truths]
    cycle, stall = run_cycles(bench.scenario, changes), run_stalls(bench.scenario, changes, PRESSURE)
    return [
        (name, judged(bench.scenario, bench.seen(cycle, stall, i), bench.causes, bench.answers))
        for i, (name, _) in enumerate(truths)
    ]


def test_a_diagnosis_takes_no_more_than_some_eighty_runs(bench):
    for answers in bench.answers.values():
        runs = 1 + len(answers.unknowns) + len(answers.causes) * 3
        assert 60 <= runs <= 80


def test_faults_that_show_are_among_the_first_two(diagnosed):
    faults = [(name, [cause.name for cause in found.causes]) for name, found in diagnosed if name != NONE]
    assert len(faults) == FAULTS
    second = sum(name in ranked[:2] for name, ranked in faults)
    first = sum(name == ranked[0] for name, ranked in faults)
    assert second >= 27, [(name, ranked[:3]) for name, ranked in faults if name not in ranked[:2]]
    assert first >= 24


def test_sound_lowers_are_called_sound(diagnosed):
    verdicts = [found.verdict for name, found in diagnosed if name == NONE]
    assert verdicts.count(SOUND) >= 8
    assert verdicts.count(FAULT) <= 1


def test_probabilities_are_shares_of_all_and_the_sizes_lie_where_they_were_tried(bench, diagnosed):
    by_name = {cause.name: cause for cause in bench.causes}
    for _, found in diagnosed:
        assert sum(cause.probability for cause in found.causes) == pytest.approx(1.0)
        for cause in found.causes:
            if cause.name != NONE:
                ends = sorted((by_name[cause.name].start, by_name[cause.name].end))
                assert ends[0] <= cause.size <= ends[1] * (1.0 + 1e-12)


def test_the_verdict_is_a_fault_only_where_its_effect_can_be_seen(diagnosed):
    for _, found in diagnosed:
        if found.verdict == FAULT:
            assert found.causes[0].effect >= SEEN_EFFECT


def test_a_foot_valve_that_leaks_shows_by_creep_down_and_a_rod_packing_by_both(bench):
    for name, ways in (("foot valve", {"down"}), ("piston", {"up"}), ("rod packing", {"up", "down"})):
        creeps = bench.answers["stall"].causes[name]
        found = {way for way in ("up", "down") if creeps[f"seconds_per_stroke_{way}"][-1] > 1e-4}
        assert found == ways


def test_the_next_test_separates_the_first_two_by_what_each_would_show(bench):
    """Rate and pressure alone, both low: what is read next is not one of them, and its outcomes differ."""
    sound = bench.answers["seen 1"].sound
    seen = {
        "cycle_rate": Reading(1.06 * sound["cycle_rate"]),
        "tip_pressure": Reading(0.8 * sound["tip_pressure"]),
    }
    found = judged(
        bench.scenario, Observations((Condition({}, seen),)), bench.causes, bench.answers
    )  # fmt: skip
    test = found.next_test
    assert test.key not in seen
    assert set(test.outcomes) == {cause.name for cause in found.causes[:2]}
    first, second = test.outcomes.values()
    assert first != pytest.approx(second)
    assert test.clear is (test.apart >= 2.0)


def test_the_text_and_the_json_say_the_same(bench, diagnosed):
    for _, found in diagnosed[:3]:
        text = diagnosis_text(bench.scenario, found)
        assert all(len(line) <= 100 for line in text.splitlines())
        assert found.causes[0].title in text
        assert found.next_test.how in " ".join(text.split())
        told = json.loads(json.dumps(found.as_dict(), default=str))
        assert told["causes"][0]["name"] == found.causes[0].name


def test_what_no_scenario_can_say_is_refused():
    nothing = Observations((Condition({}, {"tip_pressure": Reading(1e7)}),))
    no_tip = scenario(drive=MOTOR)
    with pytest.raises(ScenarioError, match="nothing that was seen can be compared"):
        diagnose(no_tip, nothing, workers=1)
