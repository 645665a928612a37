"""What is offered to be measured, and docs/verdict.md, which lists it."""

import math
from pathlib import Path

import numpy as np
import pytest

from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.study.travel.trials import Choice
from balltravel.study.verdict.measurements import TOOLS, VISCOSITY_ERROR, Offer, Tool, judged, with_error
from balltravel.units import to_text

PAGE = (Path(__file__).parents[2] / "docs" / "verdict.md").read_text(encoding="utf-8")
CHOICES = [Choice((), (1,), 0.002), Choice((1,), (), 0.004)]


def error_in_words(key, tool):
    """``2 %``, ``0.5 K``, ``0.02 mm``, ``seen``."""
    if tool.relative:
        return f"{100.0 * tool.relative:g} %"
    if not tool.absolute:
        return "seen"
    dimension = quantity_of(FIELDS[key]).dimension
    return f"{tool.absolute:g} K" if dimension == "temperature" else to_text(tool.absolute, dimension, 3)


def table():
    """The table of the page."""
    rows = ["| what | how | standard deviation |", "|---|---|---|"]
    viscosity = f"{100.0 * VISCOSITY_ERROR:g} %"
    rows.append(f"| viscosity | with a viscometer, at the temperature in the lower | {viscosity} |")
    groups = {}
    for key, tool in TOOLS.items():
        groups.setdefault((tool.how, error_in_words(key, tool)), []).append(f"`{key}`")
    rows += [f"| {', '.join(keys)} | {how} | {error} |" for (how, error), keys in groups.items()]
    return "\n".join(rows)


def test_the_page_lists_every_measurement_with_its_error():
    assert table() in PAGE


@pytest.mark.parametrize("key", TOOLS)
def test_a_measurement_is_of_a_key_that_there_is(key):
    assert key in FIELDS


def test_an_instrument_errs_by_what_it_is_said_to():
    exact = np.full(4096, 5.0)
    said = with_error(exact, Tool("", relative=0.1), 3)
    assert np.std(np.log(said / exact)) == pytest.approx(0.1, rel=0.05)
    assert np.std(with_error(exact, Tool("", absolute=0.2), 3)) == pytest.approx(0.2, rel=0.05)
    assert np.array_equal(with_error(exact, Tool("look"), 3), exact)


def losses(x):
    """One arrangement is right below 5, the other above, by as much as x is off."""
    return 0.02 * np.column_stack([np.maximum(np.log(x / 5.0), 0.0), np.maximum(-np.log(x / 5.0), 0.0)])


X = np.exp(np.linspace(math.log(1.0), math.log(25.0), 128))


def offer(error):
    says = with_error(X, Tool("", relative=error), 1)
    return Offer("viscosity", "how", ("material.viscosity",), "viscosity", says, 100.0)


def test_a_better_instrument_saves_more_and_none_more_than_there_is_to_save():
    total = float(losses(X).mean(axis=0).min())
    saved = [judged([offer(error)], losses(X), CHOICES, total, 0)[0].saved for error in (0.0, 0.2, 0.5)]
    assert total >= saved[0] > saved[1] > saved[2] > 0.0
    assert saved[0] == pytest.approx(total, rel=0.02)


def test_the_answer_for_each_outcome_changes_where_the_better_arrangement_does():
    (found,) = judged([offer(0.0)], losses(X), CHOICES, 1.0, 0)
    assert [outcome.choice for outcome in found.outcomes] == CHOICES
    assert found.outcomes[0].high == pytest.approx(5.0, rel=0.02)
    assert sum(outcome.share for outcome in found.outcomes) == pytest.approx(1.0)
    assert (found.outcomes[0].low, found.outcomes[-1].high) == (X.min(), X.max())


def test_of_one_measurement_at_several_rates_the_one_that_saves_most_is_offered():
    poor, good = offer(1.0)._replace(rate=10.0), offer(0.05)._replace(rate=1000.0)
    (found,) = judged([poor, good], losses(X), CHOICES, 1.0, 0)
    assert found.rate == 1000.0


def test_what_plays_no_part_is_not_offered():
    rng = np.random.default_rng(0)
    for seed in range(30):
        blind = Offer("gas", "how", ("material.free_gas_fraction",), "fraction", rng.random(128))
        assert judged([blind], losses(X), CHOICES, 1.0, seed) == ()


def test_what_is_seen_has_an_answer_for_each_name():
    seat = np.array(["edge"] * 96 + ["cone"] * 32, object)
    loss = np.where((seat == "cone")[:, None], [[0.05, 0.0]], [[0.0, 0.03]])
    look = Offer("seat", "look", ("inlet_check.seat",), "", seat)
    (found,) = judged([look], loss, CHOICES, 1.0, 0)
    assert {outcome.names: outcome.choice for outcome in found.outcomes} == {
        ("edge",): CHOICES[0],
        ("cone",): CHOICES[1],
    }
    assert [outcome.share for outcome in found.outcomes] == [0.75, 0.25]
