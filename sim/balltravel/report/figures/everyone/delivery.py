"""Delivery over ball travel alone, narrow enough to be read on a phone."""

from matplotlib.figure import Figure

from balltravel.report.figures.style import new_figure
from balltravel.report.figures.travel import draw_delivery_of_run
from balltravel.report.figures.verdict import draw_delivery, legend_below
from balltravel.scenario.model import Scenario
from balltravel.study.verdict.record import Answer
from balltravel.units.systems import unit_in_use


def delivery_figure(scenario: Scenario, answer: Answer, width: float) -> Figure:
    """Over all draws, or at the likely values where nothing was drawn; ``width`` [in]."""
    figure = new_figure(width, 4.6)
    axes = figure.subplots()
    if answer.verdict is not None:
        draw_delivery(axes, scenario, answer, answer.verdict)
    else:
        draw_delivery_of_run(axes, scenario, answer.recommendation)
        axes.set_xlabel(f"ball travel of the inlet check [{unit_in_use('mm')}]")
    legend_below(axes, 2)
    return figure
