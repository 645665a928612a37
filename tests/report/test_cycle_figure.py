"""The cycle's figure tells the void's closing from the ball's, and puts several cycles on the same axes."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from balltravel import read_scenario, run_cycle
from balltravel.core.status import Status
from balltravel.report.figures.cycle import beside_figure, cycle_figure
from balltravel.units import to_text

MASTIC = Path(__file__).parents[2] / "scenarios" / "mastic.toml"


@pytest.fixture(scope="module")
def starved():
    return run_cycle(read_scenario(MASTIC, ["shims.below=[1]"]))


@pytest.fixture(scope="module")
def long():
    return run_cycle(read_scenario(MASTIC, ["shims.below=[2, 3]"]))


def texts(axes):
    return [text.get_text() for text in axes.texts]


def bars(axes):
    """Start and end of the intervals [s], from the top down."""
    patches = [path for collection in axes.collections for path in collection.get_paths()]
    return [(path.vertices[:, 0].min(), path.vertices[:, 0].max()) for path in patches]


def test_void_and_ball_have_their_own_intervals_within_the_closing_lag(starved):
    m, figure = starved.metrics, cycle_figure(starved)
    for axes in (figure.axes[2], figure.axes[3]):
        lag, void, ball = (
            to_text(time, "time", 3) for time in (m.inlet.closing_lag, m.void_collapse, m.inlet.ball_lag)
        )
        assert texts(axes) == [f"closing lag {lag}", f"void closes {void}", f"ball lag {ball}"]
        assert np.array(bars(axes)) == pytest.approx(
            np.array(
                [
                    [0.0, m.inlet.closing_lag],
                    [0.0, m.void_collapse],
                    [m.inlet.closing_lag - m.inlet.ball_lag, m.inlet.closing_lag],
                ]
            )
        )


def test_a_full_chamber_has_no_void_in_its_figure(story):
    axes = cycle_figure(run_cycle(story("stain"))).axes[2]
    assert "no void" in texts(axes)


def test_the_first_panel_has_what_is_drawn_in_and_the_void_in_percent_of_swept(starved):
    m, figure = starved.motion, cycle_figure(starved)
    axes = figure.axes[0]
    swept, drawn = (line.get_ydata() for line in axes.lines[:2])
    (void,) = axes.collections
    assert swept.max() == pytest.approx(100.0, abs=1e-6)
    assert drawn.max() == pytest.approx(100.0 * starved.metrics.fill_fraction)
    assert void.get_paths()[0].vertices[:, 1].max() == pytest.approx(
        100.0 * m.void_volume.max() / m.swept_volume
    )
    assert "[%]" in axes.get_ylabel()
    assert "filling 69.5 %" in figure.get_suptitle()


def test_cycles_side_by_side_have_the_same_axes_and_their_own_intervals(starved, long):
    figure = beside_figure([starved, long])
    left, right = figure.axes[0::2], figure.axes[1::2]
    for one, other in zip(left, right, strict=True):
        assert one.get_xlim() == other.get_xlim()
        assert one.get_ylim() == other.get_ylim()
    # The longer lag and the longer travel are both inside.
    assert right[1].get_xlim()[1] > starved.metrics.inlet.closing_lag
    assert left[1].get_ylim()[1] > 1e3 * float(long.motion.travel.max())
    assert texts(left[1])[0] != texts(right[1])[0]
    assert "3 mm" in left[0].get_title()
    assert "8 mm" in right[0].get_title()


def test_a_failed_cycle_beside_says_so_in_its_column(starved, long):
    failed = replace(long, metrics=None, status=Status.STALLED)
    figure = beside_figure([starved, failed])
    assert Status.STALLED.advice[:20] in figure.axes[1].get_title().replace("\n", " ")
    with pytest.raises(ValueError, match="first run failed"):
        beside_figure([failed, starved])
