"""The figure of made-up verdicts shows the record's numbers, and reads in grey."""

from dataclasses import replace

import matplotlib.image
import numpy as np
import pytest
from matplotlib.patches import Rectangle

from balltravel.report.figures.style import plain_tick, save
from balltravel.report.figures.verdict import EQUAL as AS_GOOD
from balltravel.report.figures.verdict import Scale, best_on_grid, verdict_figure
from balltravel.scenario.model import with_values
from balltravel.study.travel.accuracy import Band
from balltravel.study.travel.recommend import Recommendation
from balltravel.study.travel.trials import Trial
from balltravel.study.verdict.record import Answer, VerdictPoints
from balltravel.units.display import shown_in

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import metrics
from ..helpers.verdicts_by_hand import CHANGES, CHOICES, EQUAL, HOLDS, NONE_MEETS, TRAVELS, points

S = with_values(scenario(shims={"thicknesses": (0.001, 0.002, 0.004), "below": ()}), {"target.delivery": 0.8})
KINDS = {"changes": CHANGES, "holds": HOLDS, "equal": EQUAL, "none meets": NONE_MEETS}
TRIALS = tuple(Trial(c.shims_below, c.shims_above, c.ball_travel, "ok", metrics(), ()) for c in CHOICES)
SINGLE = Recommendation(CHOICES[6], None, None, TRIALS, (), ("why",), (), False, Band({}, "no run"))


def drawn(verdict, at=None, of=S):
    figure = verdict_figure(of, Answer(SINGLE, verdict, at or points(verdict)))
    figure.canvas.draw()
    return figure


def said(axes):
    return [text.get_text() for text in axes.texts]


def by_name(axes):
    handles, names = axes.get_legend_handles_labels()
    return dict(zip(names, handles, strict=True))


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_verdict_is_drawn_with_its_first_lines_and_its_axes_have_units(kind, tmp_path):
    figure = drawn(KINDS[kind])
    delivery, *_ = figure.axes
    assert delivery.get_xlabel().endswith("[mm]")
    assert delivery.get_ylabel() == "delivered [% of swept volume]"
    first = " ".join(figure.get_suptitle().split())
    wanted = {"equal": "Any travel does", "none meets": "No travel meets the targets in 92 of 100"}
    assert wanted.get(kind, "Travel 8 mm (0.315 in)") in first
    assert "Pa.s" in first
    save(figure, tmp_path / "verdict.png")
    grey = matplotlib.image.imread(tmp_path / "verdict.png")[..., :3].mean(axis=2)
    assert 0.005 < (grey < 0.9).mean() < 0.7


def test_the_band_and_its_middle_are_the_records_and_the_travel_that_is_named_is_marked():
    delivery = drawn(CHANGES).axes[0]
    marks = by_name(delivery)
    middle = marks["middle of the draws"].get_xydata()
    np.testing.assert_allclose(middle[:, 0], [1e3 * travel for travel in TRAVELS])
    np.testing.assert_allclose(middle[:, 1], [100.0 * p.delivery_50 for p in CHANGES.prospects])
    band = marks["90 of 100 draws"].get_paths()[0].vertices
    assert band[:, 1].min() == pytest.approx(100.0 * min(p.delivery_5 for p in CHANGES.prospects))
    assert band[:, 1].max() == pytest.approx(100.0 * max(p.delivery_95 for p in CHANGES.prospects))
    assert marks["chosen: 8 mm"].get_xdata() == [8.0, 8.0]
    assert marks["target of the delivery"].get_ydata() == [80.0, 80.0]
    assert len(marks["one run at the likely values"].get_xdata()) == len(TRIALS)


def test_the_map_names_each_region_and_boxes_ninety_of_a_hundred_draws():
    at = points(CHANGES)
    map_ = drawn(CHANGES, at).axes[1]
    assert said(map_) == ["6 mm", "7 mm", "8 mm", "9 mm"]
    assert map_.get_xlabel() == "viscosity [Pa.s]"
    assert map_.get_ylabel() == "free gas in the material [%]"
    box = next(patch for patch in map_.patches if isinstance(patch, Rectangle) and not patch.get_fill())
    spots = by_name(map_)["a draw, in the shade of its own best travel"].get_offsets()
    for axis, (start, wide) in enumerate(((box.get_x(), box.get_width()), (box.get_y(), box.get_height()))):
        inside = (spots[:, axis] >= start) & (spots[:, axis] <= start + wide)
        assert inside.mean() == pytest.approx(0.9, abs=0.02)


def test_the_shades_of_the_map_rise_with_the_travel_and_are_told_apart_in_grey():
    image = drawn(CHANGES).axes[1].images[0].get_array()
    greys = np.unique(np.round(image[..., :3].mean(axis=2), 6))
    assert len(greys) == 4
    assert np.diff(greys).min() > 0.1


def test_around_a_place_on_the_map_the_travel_that_costs_least_there_is_best():
    """Two arrangements: below the middle of the first input one costs nothing, above it the other; the second
    input tells nothing. Near the middle both cost the same, and the one that is named stays."""
    x = np.linspace(1.0, 2.0, 101)
    values = np.column_stack([x, np.tile(x[::-7], 7)[:101]])
    loss = np.column_stack([np.where(x > 1.5, 0.1, 0.0), np.where(x > 1.5, 0.0, 0.1)])
    keys, names, dimensions = ("a", "b"), ("a", "b"), ("number", "number")
    at = VerdictPoints(keys, names, dimensions, values, np.zeros(101), loss)
    best = best_on_grid(at, 0, 20)
    assert (best[:, :9] == 0).all()
    assert (best[:, 11:] == 1).all()
    nothing = replace(at, loss=np.column_stack([np.full(101, 0.9 * AS_GOOD), np.zeros(101)]))
    assert (best_on_grid(nothing, 0, 20) == 0).all()
    assert (best_on_grid(replace(nothing, loss=2.0 * nothing.loss), 0, 20) == 1).all()


def test_a_choice_of_names_is_an_axis_with_a_part_a_name():
    at = points(CHANGES)
    names = (at.values[:, 1] > 0.0063).astype(float)
    seat = replace(
        at, values=np.column_stack([at.values[:, 0], names]), names=("viscosity", "form of the seat"),
        dimensions=("viscosity", ""), choices=((), ("edge", "cone")),
    )  # fmt: skip
    map_ = drawn(CHANGES, seat).axes[1]
    assert [label.get_text() for label in map_.get_yticklabels()] == ["edge", "cone"]
    spots = by_name(map_)["a draw, in the shade of its own best travel"].get_offsets()
    assert ((spots[:, 1] > 0.5) == (names > 0.5)).all()


def test_marks_of_an_axis_are_numbers_as_elsewhere_and_not_powers_of_ten():
    values = np.geomspace(2e9, 4e10, 128)[:, None] * np.ones(2)  # [Pa]
    at = replace(points(CHANGES), values=values, dimensions=("pressure", "pressure"), choices=((), ()))
    with shown_in("us"):
        words = Scale(at, 0).ticks[1]
    assert {"500000", "1000000"} <= {*words}
    assert plain_tick(1e6, None) == "1000000"


def test_draws_in_which_nothing_pumps_are_crosses():
    at = points(CHANGES)
    dry = replace(at, best=np.where(np.arange(128) < 5, np.nan, at.best))
    assert len(by_name(drawn(CHANGES, dry).axes[1])["a draw in which none pumps"].get_offsets()) == 5


def test_the_bars_are_what_is_saved_and_the_marks_what_chance_would_show():
    worth = drawn(CHANGES).axes[2]
    measured = [*CHANGES.measurements, CHANGES.deciding[1]]
    np.testing.assert_allclose(
        [bar.get_width() for bar in worth.patches], [100.0 * m.saved for m in measured]
    )
    assert [bar.get_hatch() for bar in worth.patches] == [None, None, "////"]
    assert said(worth)[0] == " 0.51 %: the viscosity where you pump it at 100 1/s"
    noise, total = worth.lines[0], by_name(worth)["all that is given up on average: 0.72 %"]
    assert noise.get_xdata() == pytest.approx([0.04, 0.04])
    assert total.get_xdata() == pytest.approx([0.72, 0.72])


def test_what_cannot_be_drawn_is_left_out():
    """No map where one travel is best everywhere, no bars where nothing is worth measuring."""
    assert len(drawn(EQUAL).axes) == 1
    _, worth = verdict_figure(S, Answer(SINGLE, CHANGES, None)).axes
    assert len(worth.patches) == 3
    at = points(CHANGES)
    one_best = replace(at, loss=np.tile(np.abs(np.arange(8) - 6.0), (128, 1)))
    _, worth = drawn(CHANGES, one_best).axes
    assert len(worth.patches) == 3


def test_the_longest_title_and_names_stay_inside_the_figure():
    long = "W$ide " * 33
    figure = drawn(
        replace(CHANGES, measurements=(replace(CHANGES.measurements[0], what="viscosity " * 6),)),
        of=with_values(S, {"title": long}),
    )
    box = figure._suptitle.get_window_extent()
    assert box.x0 >= 0.0
    assert box.x1 <= figure.bbox.width
    for axes in figure.axes:
        for text in (axes.title, axes._left_title, *axes.texts, *axes.get_legend().get_texts()):
            assert text.get_window_extent().x1 <= figure.bbox.width


def test_without_a_verdict_the_figure_is_the_single_runs():
    figure = verdict_figure(S, Answer(SINGLE, None))
    assert len(figure.axes) == 4
    assert "backflow" in figure.axes[1].get_ylabel()
