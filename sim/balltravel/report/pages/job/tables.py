"""Tables of the page of a job: every arrangement of the shims, and every key of the scenario."""

import math
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, NamedTuple

from balltravel.material.model import material_model
from balltravel.report.pages.job.bars import Bar
from balltravel.report.tables import plain, shim_names
from balltravel.report.text.check import shown_value
from balltravel.report.text.recommend import mark_of, misses_of
from balltravel.report.worth_knowing import of_hundred
from balltravel.scenario.model import Scenario, defaults_taken, flat
from balltravel.scenario.tables import given_keys
from balltravel.scenario.unknowns import IN_THE_FILE, origin_of, range_in_words, spreads_of
from balltravel.study.verdict.record import ALL
from balltravel.units.display import fixed, prose

if TYPE_CHECKING:
    from balltravel.study.travel.recommend import Recommendation, Trial
    from balltravel.study.verdict.record import Prospect, Verdict


class Row(NamedTuple):
    """An arrangement: what it is (chosen, as it is now), its shims below and its travel, two bars and a last
    word."""

    is_named: bool
    marks: str
    shims: str
    travel: str
    first: Bar
    second: Bar
    last: str


class InputRow(NamedTuple):
    """A key, its value and where that is from, its range and where that is from."""

    key: str
    value: str
    given: str
    range: str
    origin: str


def prospect_rows(scenario: Scenario, verdict: "Verdict") -> list[Row]:
    """Every arrangement over all draws: how often all targets are met, what it delivers in 90 of 100, what it
    gives up."""
    return [_prospect_row(scenario, verdict, prospect) for prospect in verdict.prospects]


def _prospect_row(scenario: Scenario, verdict: "Verdict", prospect: "Prospect") -> Row:
    low, middle, high = (
        100.0 * max(0.0, share) for share in (prospect.delivery_5, prospect.delivery_50, prospect.delivery_95)
    )
    named = prospect.choice == verdict.chosen
    chance = prospect.chance[ALL]
    now = math.isclose(prospect.choice.ball_travel, scenario.inlet_travel, rel_tol=1e-9)
    return Row(
        named,
        ", ".join(["chosen"] * named + ["as it is now"] * now),
        shim_names(prospect.choice.shims_below),
        fixed(prospect.choice.ball_travel, "length", "mm", 2),
        Bar("", of_hundred(chance), 0.0, 100.0 * chance),
        Bar("", f"{middle:.1f} ({low:.1f} to {high:.1f})", low, high, middle),
        f"{100.0 * prospect.regret_95:.1f}",
    )


def trial_rows(scenario: Scenario, recommendation: "Recommendation") -> list[Row]:
    """Every arrangement at exact values: filling, delivery, and what it misses."""
    return [_trial_row(scenario, recommendation, trial) for trial in recommendation.arrangements]


_MARKS = {"*": "recommended", "near": "nearest", "2nd": "runner-up", "now": "as it is now"}


def _trial_row(scenario: Scenario, recommendation: "Recommendation", trial: "Trial") -> Row:
    marks = mark_of(recommendation, trial, scenario.inlet_travel).split()
    metrics = trial.metrics
    return Row(
        trial.choice in (recommendation.recommended, recommendation.best_available),
        ", ".join(_MARKS[mark] for mark in marks),
        shim_names(trial.shims_below),
        fixed(trial.ball_travel, "length", "mm", 2),
        _share(None if metrics is None else metrics.fill_fraction),
        _share(None if metrics is None else trial.delivery),
        misses_of(trial, scenario.target.landing_speed) if metrics else trial.status.replace("_", " "),
    )


def _share(share: float | None) -> Bar:
    """Of the swept volume; None of a run that failed."""
    if share is None:
        return Bar("", "-", 0.0, 0.0)
    return Bar("", f"{100.0 * share:.1f}", 0.0, 100.0 * min(max(share, 0.0), 1.0))


def input_rows(scenario: Scenario, written: Mapping[str, str], was_set: Collection[str]) -> list[InputRow]:
    """Every key that has a value; ``written``: the text of values that were written as text; ``was_set``:
    keys that were given beside the file."""
    spreads, given, defaults = spreads_of(scenario), set(given_keys(scenario)), set(defaults_taken(scenario))

    def source(key: str) -> str:
        if key in was_set:
            return "--set"
        return IN_THE_FILE if key in given else "default" if key in defaults else "plays no part here"

    where = f" {material_model(scenario.material).key_stated}".rstrip()
    return [
        InputRow(
            key,
            f"{shown_value(key, value, written)}{where if key == 'material.viscosity' else ''}",
            source(key),
            plain(range_in_words(key, spreads[key])) if key in spreads else "",
            plain(prose(origin_of(key, spreads[key]))) if key in spreads else "",
        )
        for key, value in flat(scenario).items()
        if value is not None
    ]
