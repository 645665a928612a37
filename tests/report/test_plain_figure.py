"""The cycle for everyone: its curves are the run's, its sentences its moments, its message its larger loss;
no word lies on a curve."""

from itertools import pairwise

import numpy as np
import pytest
from matplotlib.text import Text

from balltravel import run_cycle
from balltravel.report.figures.cycle import cycle_figure
from balltravel.report.figures.everyone.cycle import message_of, plain_figure, way_of
from balltravel.report.figures.style import on_axes_of
from balltravel.report.section.moments import moments_of
from balltravel.units.display import shown_in

CASES = [
    ("primer", ()), ("mastic", ("shims.below=[]",)), ("stain", ()), ("roof_elastomer_from_a_drum", ()),
    ("zinc_primer_light_ball", ()), ("mastic", ("shims.below=[1, 2, 3]",)),
]  # fmt: skip


def test_the_way_of_the_piston_goes_up_once_and_ends_where_it_began(story):
    m = run_cycle(story("primer")).motion
    way = way_of(m, m.time)
    assert (np.diff(way) >= -1e-9).all()
    assert (way[0], way[-1]) == (pytest.approx(0.0, abs=1e-6), pytest.approx(200.0, abs=1e-6))
    half = np.interp(100.0, way, m.piston_position)
    assert half == pytest.approx(m.stroke, rel=1e-9)


@pytest.mark.parametrize(("name", "settings"), CASES)
def test_the_curves_are_what_the_metrics_say(story, name, settings):
    cycle = run_cycle(story(name, *settings))
    shares, lifts, _ = plain_figure(cycle).axes
    drawn = shares.lines[1].get_ydata()
    budget = cycle.metrics.loss_budget
    assert drawn.max() == pytest.approx(100.0 * cycle.metrics.fill_fraction, abs=1e-6)
    assert drawn.max() - drawn[-1] == pytest.approx(100.0 * budget.inlet_backflow / budget.swept, abs=0.05)
    assert lifts.lines[0].get_ydata().max() <= 1e3 * cycle.motion.travel[0] * (1.0 + 1e-6)


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        (("shims.below=[]",), "The chamber does not fill: "),
        (("material.viscosity=0.05 Pa.s",), "The chamber fills and the ball seats in time: "),
        (("material.viscosity=3 Pa.s", "shims.below=[1, 2, 3]"), "The ball seats late: "),
    ],
)
def test_the_message_is_the_larger_loss_of_the_inlet(story, settings, words):
    cycle = run_cycle(story("mastic", *settings))
    said = message_of(cycle)
    assert said.startswith(words)
    assert said in " ".join(plain_figure(cycle).get_suptitle().split())
    budget = cycle.metrics.loss_budget
    drawn = cycle.metrics.fill_fraction * budget.swept
    told = {"The chamber does": drawn, "The ball seats": budget.inlet_backflow}
    part = next((each for start, each in told.items() if said.startswith(start)), budget.delivered)
    assert f"{100.0 * part / budget.swept:.1f} %" in said


@pytest.mark.parametrize(("name", "settings"), CASES)
def test_every_moment_has_its_number_and_its_sentence_and_no_word_lies_on_a_curve(story, name, settings):
    cycle = run_cycle(story(name, *settings))
    for width in (4.7, 8.0):
        figure = plain_figure(cycle, width)
        figure.canvas.draw()
        shares, lifts, words = figure.axes
        told = " ".join(words.texts[0].get_text().split())
        for number, moment in enumerate(moments_of(cycle), 1):
            assert f"{number} {moment.said}" in told
        numbers = [text for text in shares.texts if text.get_text().isdigit()]
        boxes = [text.get_window_extent() for text in numbers]
        assert len(numbers) == len(moments_of(cycle))
        assert all(left.x1 <= right.x0 for left, right in pairwise(boxes))
        for axes in (shares, lifts):
            for text in axes.texts:
                assert not crosses(axes, text), text.get_text()
        for text in figure.findobj(Text):
            if text.get_text() and text.get_visible() and text.axes is not None:
                box = text.get_window_extent()
                assert box.x0 >= 0.0
                assert box.x1 <= figure.bbox.width


def crosses(axes, text):
    """Whether a curve, not a line through the whole panel, runs through a text."""
    box = Text.get_window_extent(text)  # of the words alone, without the line from them
    for line in axes.lines:
        at = line.get_transform().transform(line.get_xydata())
        if len(at) < 10:
            continue
        length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(at, axis=0).T))])
        fine = np.arange(0.0, length[-1], 0.5)
        x, y = (np.interp(fine, length, at[:, i]) for i in (0, 1))
        if ((x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)).any():
            return True
    return False


@pytest.mark.parametrize("draw", [plain_figure, cycle_figure])
def test_two_pictures_have_the_same_axes_and_one_that_needs_more_says_so(story, draw):
    short, long = (run_cycle(story("mastic", f"shims.below={below}")) for below in ([], [2, 3]))
    like = draw(short)
    figure = on_axes_of(draw(long), like)
    for axes, other in zip(figure.axes, like.axes, strict=True):
        assert axes.get_xlim() == other.get_xlim()
        assert axes.get_ylim() == other.get_ylim()
    said = [text.get_text() for axes in figure.axes for text in axes.texts]
    assert "goes beyond these axes" in said
    assert "goes beyond these axes" not in [t.get_text() for axes in like.axes for t in axes.texts]


def test_lifts_are_in_the_units_in_use(story):
    with shown_in("us"):
        _, lifts, _ = plain_figure(run_cycle(story("primer"))).axes
    assert lifts.get_ylabel().endswith("[in]")
    assert lifts.lines[0].get_ydata().max() == pytest.approx(5.0 / 25.4, rel=1e-3)
