"""Faults that a synthetic lower of heavy material has are named, and a sound one is called sound.

The truth of each is a run of its own, with everything that is not known drawn anew, and is read with errors:
the diagnosis knows none of it.
"""

import json
from dataclasses import replace

import pytest

from balltravel.bench.causes import NONE
from balltravel.bench.diagnose import FAULT, SEEN_EFFECT, SOUND, diagnose, judged
from balltravel.bench.observed import Condition, Observations, Reading
from balltravel.bench.signs import run_cycles, run_stalls
from balltravel.report.text.bench.diagnose import WORTH_IT, diagnosis_text
from balltravel.scenario.model import ScenarioError

from ..helpers.lowers import scenario
from ..helpers.synthetic_bench import MOTOR, PRESSURE, Bench, observations

FAULTS, SOUND_ONES, SEED = 30, 10, 7


@pytest.fixture(scope="module")
def bench():
    return Bench(SEED)


@pytest.fixture(scope="module")
def diagnosed(bench):
    """Names of the true causes and what was made of each."""
    truths = []
    while len(truths) < FAULTS:
        for cause in bench.causes:
            size = bench.strong_size(cause)
            worn = size is not None and bench.with_fault(cause, size)
            truths += [(cause.name, worn[0])] if worn else []
    truths = truths[:FAULTS] + [(NONE, bench.unknowns()) for _ in range(SOUND_ONES)]
    changes = [changed for _, changed in truths]
    values = run_cycles(bench.scenario, changes) | run_stalls(bench.scenario, changes, PRESSURE)
    return [
        (name, judged(bench.scenario, seen(bench, values, i), bench.causes, bench.answers))
        for i, (name, _) in enumerate(truths)
    ]


def seen(bench, values, i):
    return observations(bench.read({key: column[i] for key, column in values.items()}))


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
    assert {*test.outcomes} == {cause.name for cause in found.causes[:2]}
    first, second = test.outcomes.values()
    assert [*first] == [*second]
    assert not {*first} & {*seen}
    assert [*first.values()] != pytest.approx([*second.values()])
    assert test.clear is (test.apart >= 2.0)
    assert test.changes == {}


def test_the_text_and_the_json_say_the_same(bench, diagnosed):
    for _, found in diagnosed[:3]:
        text = diagnosis_text(bench.scenario, found)
        assert all(len(line) <= 100 for line in text.splitlines())
        assert found.causes[0].title in text
        assert (found.next_test.how in " ".join(text.split())) is (found.next_test.apart >= WORTH_IT)
        told = json.loads(json.dumps(found.as_dict(), default=str))
        assert told["causes"][0]["name"] == found.causes[0].name


def test_the_heading_tells_what_was_set(bench, diagnosed):
    _, found = diagnosed[0]
    set_lower = replace(found, changes={"drive.supply_gauge_pressure": 6e6})
    assert "motor at 60 bar" in " ".join(diagnosis_text(bench.scenario, set_lower).split())
    assert "motor at 60 bar" not in " ".join(diagnosis_text(bench.scenario, found).split())


def test_what_no_scenario_can_say_is_refused():
    nothing = Observations((Condition({}, {"tip_pressure": Reading(1e7)}),))
    no_tip = scenario(drive=MOTOR)
    with pytest.raises(ScenarioError, match="nothing that was seen can be compared"):
        diagnose(no_tip, nothing, workers=1)
