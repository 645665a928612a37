"""What delivery over travel says in one sentence, and where it falls off a cliff, by hand."""

from dataclasses import replace

import pytest

import balltravel
from balltravel.report.figures.everyone.delivery import delivery_figure
from balltravel.report.figures.verdict import verdict_figure
from balltravel.report.over_travel import Point, cliffs, points_of_draws, points_of_run, travel_message
from balltravel.study.verdict.record import Answer

from ..helpers.verdicts_by_hand import CHANGES

MM = 1e-3


def points(*deliveries):
    """Of travels of 2 mm, 3 mm and so on: delivered and surely delivered, in percent."""
    return [Point((2 + i) * MM, a / 100.0, b / 100.0) for i, (a, b) in enumerate(deliveries)]


def test_a_cliff_is_where_the_next_shorter_travel_surely_loses_five_percent():
    found = cliffs(points((80, 40), (97, 72), (97, 93.7), (97, 96.4), (96, 96)))
    assert [(short.travel, long.travel) for short, long in found] == [(2 * MM, 3 * MM), (3 * MM, 4 * MM)]
    assert cliffs(points((97, 90.1), (97, 95.0))) == []


@pytest.mark.parametrize(
    ("deliveries", "said"),
    [
        (
            [(80, 40), (97, 72), (97.4, 93.7), (97, 96.4), (95.1, 94.5)],
            "Shorter than 4 mm it may starve: delivery can fall from 93.7 to 72.0 %; 6 mm gives up 1.9 % by "
            "closing late",
        ),
        (
            [(47, 40), (69, 61), (82, 73), (88, 81)],
            "Shorter than 5 mm it may starve: delivery can fall from 81.0 to 73.0 %; even 5 mm is not enough",
        ),
        ([(99.8, 99.8), (99.8, 99.7)], "Travel hardly matters here: any delivers 99.8 %"),
        ([(99.8, 99.8), (99.4, 99.3)], "Travel hardly matters here: any delivers 99.4 to 99.8 %"),
        ([(98, 97.9), (97, 97), (96, 96)], "2 mm delivers 98.0 %; 4 mm gives up 2.0 % by closing late"),
        ([(95, 95), (96, 96)], "3 mm delivers 96.0 %; even 3 mm is not enough"),
        ([(95, 95)], "The only travel delivers 95.0 %"),
        ([], "No travel could be run"),
    ],
)
def test_the_message_is_chosen_by_the_numbers(deliveries, said):
    assert travel_message(points(*deliveries)) == said


@pytest.mark.parametrize("draws", ["drawn", "exactly"])
def test_a_figure_has_its_message_as_title_and_hatches_its_cliffs(story, draws):
    scenario = story("primer")
    single = balltravel.recommend(scenario, draws=0)
    verdict = CHANGES if draws == "drawn" else None
    of = points_of_draws(CHANGES) if verdict else points_of_run(single)
    for figure in (
        verdict_figure(scenario, Answer(single, verdict)),
        delivery_figure(scenario, Answer(replace(single, verdict=verdict), verdict), 4.7),
    ):
        axes = figure.axes[0]
        assert " ".join(axes.get_title(loc="left").split()) == travel_message(of)
        spans = [patch for patch in axes.patches if patch.get_hatch()]
        edges = sorted((span.get_x() / 1e3, (span.get_x() + span.get_width()) / 1e3) for span in spans)
        expected = [(short.travel, long.travel) for short, long in cliffs(of)]
        assert len(edges) == len(expected) > 0
        assert sum(edges, ()) == pytest.approx(sum(expected, ()))
        figure.canvas.draw()
        assert axes.title.get_window_extent().x1 <= figure.bbox.width
