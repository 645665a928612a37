"""One cycle for everyone: what is drawn in and how far the ball lifts, over the way of the piston, with what
happens in plain sentences; readable in grey."""

import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from balltravel.cycle.motion import Motion
from balltravel.cycle.run import Cycle
from balltravel.report.care import CARE_IN_FIGURES
from balltravel.report.figures.style import INLET, LIMIT, VOID, heading, mm, new_figure, on_axes_of, tidy
from balltravel.report.section.moments import Moment, moments_of
from balltravel.report.section.names import apart
from balltravel.report.tables import bench, bench_unit, conditions, travel_set
from balltravel.scenario.model import Scenario
from balltravel.study.cycle_report import CycleReport

Array = NDArray[np.float64]

MATTERS = 0.01
"""Loss, of swept, from which on it is the message of a cycle (our choice)."""

SEEN = 0.02
"""Void, of swept, from which on one sees it in the figure."""

_PERCENT = 100.0
_PISTON: dict[str, Any] = {"color": "#222222", "linestyle": (0, (6, 2)), "linewidth": 1.2}
_UP_AND_DOWN = ((0, "bottom"), (50, "half way\nup"), (100, "top"), (150, "half way\ndown"), (200, "bottom"))
_LETTER, _LEFT = 0.075, 0.7
"""Width of a letter of the sentences, and what is left of them [in]."""

_WIDE = 90.0
"""Of a number in its circle, in percent of the stroke, times the width of the figure [in]."""


def plain_figure(cycle: Cycle, width: float = 8.0, footed: bool = True) -> Figure:
    """The cycle over the piston's way up and down: volume drawn in and void, lift of the inlet ball, and its
    moments as numbered sentences. ``width`` [in]; ``footed``: with the lower and the cautions below. Raises
    ValueError of a failed run."""
    if cycle.metrics is None:
        raise ValueError("the run failed; allowed: a cycle that was run to its end")
    moments = moments_of(cycle)
    sentences = _sentences(moments, width)
    rows = sum(sentence.count("\n") + 1 for sentence in sentences)
    figure = new_figure(width, 5.6 + 0.2 * rows)
    shares, lifts, words = figure.subplots(3, 1, height_ratios=(3.0, 1.7, 0.2 * rows))
    _draw_shares(shares, cycle.motion)
    _draw_lift(lifts, cycle.motion)
    for axes in (shares, lifts):
        axes.set_xlim(0.0, 200.0)
        axes.set_xticks(
            [at for at, _ in _UP_AND_DOWN], [] if axes is shares else [n for _, n in _UP_AND_DOWN]
        )
        axes.axvline(100.0, color="#999999", linewidth=0.8, zorder=0)
    lifts.set_xlabel("place of the piston: upstroke, then downstroke")
    _mark_moments(
        shares, lifts, [float(way_of(cycle.motion, moment.time)) for moment in moments], _WIDE / width
    )
    words.set_axis_off()
    words.text(0.0, 1.0, "\n".join(sentences), fontsize=10, va="top", transform=words.transAxes,
               parse_math=False)  # fmt: skip
    figure.suptitle(heading([message_of(cycle)], int(width * 7.4)), fontsize=13, fontweight="bold")
    if footed:
        figure.supxlabel(
            heading([*_about(cycle), CARE_IN_FIGURES], int(width * 15)), fontsize=7.5, x=0.01, ha="left"
        )
    return figure


def plain_figure_of_report(_: Scenario, report: CycleReport) -> Figure | None:
    """The figure of a report's cycle, on the axes of another where one is given; None of a failed run."""
    if report.cycle.metrics is None:
        return None
    other = None if report.like is None else plain_figure(report.like)
    return on_axes_of(plain_figure(report.cycle), other)


def message_of(cycle: Cycle) -> str:
    """What the cycle shows, in a sentence: the larger loss of the inlet, if it counts."""
    assert cycle.metrics is not None
    budget = cycle.metrics.loss_budget
    lacking, back = budget.underfill / budget.swept, budget.inlet_backflow / budget.swept
    if max(lacking, back) < MATTERS:
        given = _PERCENT * cycle.metrics.volumetric_efficiency
        return f"The chamber fills and the ball seats in time: {given:.1f} % is delivered"
    if lacking >= back:
        most = _PERCENT * cycle.metrics.fill_fraction
        return f"The chamber does not fill: at most {most:.1f} % of the swept volume is drawn in"
    volume = bench(budget.inlet_backflow, "volume", 2)
    return f"The ball seats late: {volume}, {_PERCENT * back:.1f} % of the swept volume, flows back"


def way_of(m: Motion, time: Any) -> Array:
    """The way of the piston since bottom dead centre at times [s] of the cycle, in percent of the stroke: 100
    at the top, 200 at the bottom again."""
    share = _PERCENT * np.interp(time, m.time, m.piston_position) / m.stroke
    return np.asarray(np.where(np.asarray(time) <= m.top_dead_centre, share, 2.0 * _PERCENT - share), float)


def _draw_shares(axes: Axes, m: Motion) -> None:
    way, share = way_of(m, m.time), _PERCENT / m.swept_volume
    drawn = share * m.passed_volume[:, 0]
    void = share * m.void_volume
    axes.plot(way, _PERCENT * m.piston_position / m.stroke, **_PISTON)
    axes.fill_between(way, drawn, drawn + void, **VOID)
    axes.plot(way, drawn, **{**INLET, "linewidth": 2.2})
    end = float(drawn[-1])
    _beside(axes, 4.0, "swept by\nthe piston", "#222222")
    _beside(axes, end, f"drawn in\nand kept\n{end:.1f} %", INLET["color"])
    if void.max() >= SEEN * _PERCENT:
        at = int(np.argmax(void))
        inside, free = (way[at], drawn[at] + 0.6 * void[at]), (5.0, 103.0)  # nothing is above the upstroke
        said = f"void\n(cavitation),\nat most {void[at]:.0f} %"
        lead = {"arrowstyle": "-", "linewidth": 0.8}
        axes.annotate(said, inside, free, va="top", color="#222222", arrowprops=lead)
    axes.set_ylim(-3.0, 106.0)
    tidy(axes, "% of swept volume")


def _draw_lift(axes: Axes, m: Motion) -> None:
    travel = mm() * float(m.travel[0])
    axes.plot(way_of(m, m.time), mm() * m.lift[:, 0], **{**INLET, "linewidth": 2.2})
    axes.axhline(travel, **LIMIT)
    _beside(axes, travel, f"stop, {bench(float(m.travel[0]), 'length')}", "#222222")
    axes.set_ylim(-0.06 * travel, 1.15 * travel)
    tidy(axes, f"lift of the\ninlet ball [{bench_unit('length')}]")


def _beside(axes: Axes, height: float, said: str, colour: str) -> None:
    """A name right of the axes, at a curve's end."""
    axes.annotate(
        said, (1.0, height), (5.0, 0.0), xycoords=axes.get_yaxis_transform(), textcoords="offset points",
        va="center", color=colour, annotation_clip=False,
    )  # fmt: skip


def _mark_moments(shares: Axes, lifts: Axes, ways: Sequence[float], wide: float) -> None:
    """A line at each moment through both panels, its number above, so far from its neighbours'."""
    backwards = [200.0 - way for way in ways]
    places = [200.0 - place for place in apart(backwards, [wide] * len(ways))]
    above = shares.get_xaxis_transform()
    for number, (way, place) in enumerate(zip(ways, places, strict=True), 1):
        for axes in (shares, lifts):
            axes.axvline(way, color="#555555", linewidth=0.7, linestyle=":", zorder=0)
        shares.plot([way, place], [1.0, 1.05], color="#555555", linewidth=0.7, transform=above, clip_on=False)
        shares.text(
            place, 1.09, str(number), transform=above, ha="center", va="center", fontsize=10,
            bbox={"boxstyle": "circle,pad=0.2", "facecolor": "white", "edgecolor": "#222222"},
        )  # fmt: skip


def _sentences(moments: Sequence[Moment], width: float) -> list[str]:
    """Numbered, each broken at the figure's width."""
    letters = int((width - _LEFT) / _LETTER)
    return [
        textwrap.fill(f"{number}  {moment.said}", letters, subsequent_indent="    ")
        for number, moment in enumerate(moments, 1)
    ]


def _about(cycle: Cycle) -> list[str]:
    return [cycle.scenario.title, conditions(cycle.scenario), f"Inlet check: {travel_set(cycle.scenario)}."]
