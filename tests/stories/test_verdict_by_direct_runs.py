"""The verdict where one thing alone is not known, beside direct runs at the ends of its range."""

import re

import pytest

import balltravel
from balltravel.report.worth_knowing import what_changes
from balltravel.study.travel.recommend import recommend as at_likely_values

SHIM = 1e-3
"""The smallest shim of the primer [m]."""

CONE = (
    "inlet_check.seat=cone",
    "inlet_check.seat_half_angle=43 deg",
    "inlet_check.seat_mouth_diameter=27.5 mm",
)

JOBS = {
    "seat": (
        {"inlet_check.seat": ["edge", "cone"], "inlet_check.seat_half_angle": (0.7505, 0.7505),
         "inlet_check.seat_mouth_diameter": (0.0275, 0.0275)},
        (("inlet_check.seat=edge",), CONE),
    ),
    "gas": (
        {"material.free_gas_fraction": ("0.05 %", "3 %")},
        (("material.free_gas_fraction=0.05 %",), ("material.free_gas_fraction=3 %",)),
    ),
    "viscosity": (
        {"material.viscosity": ("3 Pa.s", "8 Pa.s")},
        (("material.viscosity=3 Pa.s",), ("material.viscosity=8 Pa.s",)),
    ),
}  # fmt: skip
"""What is not known -> its range, and what is set at either end: all else of the primer is known exactly."""


def travel(choice):
    return choice.ball_travel


@pytest.fixture(scope="module", params=JOBS)
def job(request):
    """Name, verdict, and the single runs at both ends."""
    file = request.config.rootpath / "scenarios" / "primer.toml"
    scenario = balltravel.read_scenario(file)
    known = balltravel.with_ranges(scenario, dict.fromkeys(balltravel.spreads_of(scenario), "exactly"))
    ranges, ends = JOBS[request.param]
    verdict = balltravel.recommend(balltravel.with_ranges(known, ranges), draws=32).verdict
    assert {given.key for given in verdict.inputs} == {next(iter(ranges))}
    return request.param, verdict, [at_likely_values(balltravel.read_scenario(file, end)) for end in ends]


def given_up(run, choice):
    """Delivery given up by an arrangement in a single run, over swept."""
    delivered = {trial.choice: trial.delivery for trial in run.arrangements}
    return max(delivered.values()) - delivered[choice]


def test_the_ends_name_what_the_verdict_says_within_a_shim(job):
    _, verdict, ends = job
    said = [verdict.chosen] * 2
    if verdict.thresholds:
        said = [verdict.thresholds[0].below, verdict.thresholds[0].above]
    for choice, run in zip(said, ends, strict=True):
        best = max(run.arrangements, key=lambda trial: trial.delivery).choice
        named = sorted((travel(run.recommended), travel(best)))
        assert named[0] - 1.001 * SHIM <= travel(choice) <= named[1] + 1.001 * SHIM
        assert given_up(run, choice) <= verdict.within


def test_it_changes_where_one_travel_for_all_costs_a_quarter_percent_and_holds_where_it_does_not(job):
    """The best travel differs at the ends of each; but where none is far off at the other end, to know it
    saves next to nothing, and it is said how little."""
    name, verdict, ends = job
    best = [max(run.arrangements, key=lambda trial: trial.delivery).choice for run in ends]
    assert best[0] != best[1]
    assert verdict.changes == (name == "viscosity")
    if verdict.changes:
        assert verdict.deciding[0].key == "material.viscosity"
        assert 3.0 < verdict.thresholds[0].at < 8.0
        assert travel(verdict.thresholds[0].below) < travel(verdict.thresholds[0].above)
    else:
        assert verdict.holds >= 0.9
        assert verdict.regret_mean < 0.0025
        assert all(given_up(run, verdict.chosen) <= 0.005 for run in ends)


def test_what_is_not_known_is_what_saves_most_and_of_what_holds_it_is_said_how_little(job):
    name, verdict, _ = job
    words = {
        "seat": "seat of the inlet check",
        "gas": "free gas fraction",
        "viscosity": "viscosity in the lower",
    }
    assert verdict.saves_most.name == words[name]
    assert (verdict.saves_most.saved < 0.0025) != verdict.changes
    holds = rf"Holds: .* would save at most 0\.[012]\d % of swept on average \({words[name]}\)\."
    assert bool(re.fullmatch(holds, what_changes(verdict))) != verdict.changes
