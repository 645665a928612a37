"""The job card as PDF: front and back, a page each, in the largest letters in which all of it fits."""

import io
from collections.abc import Callable
from datetime import UTC, datetime

import matplotlib as mpl
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from balltravel.report.figures.card.layout import POINT, Column, width_of
from balltravel.report.figures.card.section import WIDTH, draw_arrangement, height_of
from balltravel.report.figures.worksheet.page import FONTS, page_of, paper
from balltravel.report.text.card.fixed import BACK_NOTE, BACK_TITLE
from balltravel.report.text.card.record import Card

EDGE = 11.0
"""Of the paper, left empty [mm]."""

SIZES = (9.5, 9.0, 8.5, 8.0, 7.5)
"""Letters that are tried, the largest first [pt]; none is smaller."""

TITLE = "Job card"
NAMES = 39.0
"""Room for the names of numbers [mm]."""

LINE = 5.8
"""From one line to write on to the next [mm]."""


class TooLongError(ValueError):
    """What stands on a card does not fit on its page."""


def card_figures(card: Card, system: str) -> tuple[Figure, Figure]:
    """Front and back; ``system``: the units in use, by which the paper is chosen. Raises TooLongError."""
    return _fitted(card, system, _front), _fitted(card, system, _back)


def _fitted(card: Card, system: str, draw: Callable[[Column, Card, float], None]) -> Figure:
    width, height = page_of(system)
    for size in SIZES:
        figure, axes = paper(width, height)
        column = Column(axes, EDGE, height - EDGE, width - 2.0 * EDGE)
        draw(column, card, size)
        if column.y >= EDGE:
            return figure
    raise TooLongError(f"the card is {EDGE - column.y:.0f} mm longer than its page")


def card_pdf(card: Card, system: str) -> bytes:
    """Both pages, their text as text."""
    buffer = io.BytesIO()
    about = {"Title": f"{TITLE}: {card.title}", "CreationDate": datetime.now(UTC)}
    with mpl.rc_context(FONTS), PdfPages(buffer, metadata=about) as pages:  # type: ignore[arg-type]
        for figure in card_figures(card, system):
            pages.savefig(figure)
    return buffer.getvalue()


def _head(column: Column, title: str, card: Card, size: float) -> None:
    """Title and version, what the card is for."""
    right = column.left + column.width
    column.put(card.foot, right, column.y - 1.5, size, ha="right")
    column.text(title, size + 5.0, "bold", after=0.6)
    column.text(card.title, size + 1.5, "bold", after=0.4)


def _front(column: Column, card: Card, size: float) -> None:
    _head(column, TITLE, card, size)
    column.text(card.job, size, after=1.2)
    column.rule(1.0)
    _decisive(column, card, size)
    column.rule()
    column.text(f"How sure? {card.verdict[0]}", size + 1.0, "bold", after=0.6)
    for line in card.verdict[1:]:
        column.text(line, size, after=0.3)
    column.y -= 0.8
    column.rule()
    _watch(column, card, size)
    column.rule()
    _blanks(column, card, size)
    column.rule()
    for caution in card.cautions:
        column.text(caution, size)


def _decisive(column: Column, card: Card, size: float) -> None:
    """Where the shims go and what comes of it, left; the section, right."""
    left = Column(column.axes, column.left, column.y, column.width - WIDTH - 4.0)
    left.text(card.headline, size + 6.0, "bold", after=1.0)
    for step in card.steps:
        left.text(step, size + 2.0, "bold", after=0.8)
    left.y -= 1.0
    for name, value in card.numbers:
        left.row([(name, NAMES, "bold"), (value, left.width - NAMES, "normal")], size, gap=0.6)
    x, y = column.left + column.width - WIDTH, column.y - height_of(*card.drawn) - 2.0
    draw_arrangement(column.axes, x, y, *card.drawn)
    under = Column(column.axes, x, y - 1.0, WIDTH)
    under.text(card.caption, max(SIZES[-1], size - 1.0))
    column.y = min(left.y, under.y) - 1.0


def _watch(column: Column, card: Card, size: float) -> None:
    widths = (0.27 * column.width, 0.355 * column.width, 0.375 * column.width)
    heads = ("First minutes: sign", "what it means", "what to do")
    column.row([(head, width, "bold") for head, width in zip(heads, widths, strict=True)], size, gap=0.4)
    for row in card.watch:
        texts = (row.sign, row.means, row.do)
        column.row([(text, width, "normal") for text, width in zip(texts, widths, strict=True)], size)


def _blanks(column: Column, card: Card, size: float) -> None:
    """Two columns: a head, and under it what to fill in, a line to write on, the unit."""
    half, top, lowest = 0.5 * column.width, column.y, column.y
    for number, (head, blanks) in enumerate(card.blanks):
        part = Column(column.axes, column.left + half * number, top, half - 3.0)
        part.text(head, size, "bold", after=1.0)
        for blank in blanks:
            right = part.left + part.width
            part.put(blank.name, part.left, part.y, SIZES[-1])
            part.put(blank.unit, right, part.y, SIZES[-1], ha="right")
            line = part.left + 38.0, right - max(8.0, 2.0 + width_of(blank.unit, SIZES[-1]))
            part.axes.plot(line, (part.y - 3.2,) * 2, color="black", linewidth=0.7)
            part.y -= LINE
        lowest = min(lowest, part.y)
    column.y = lowest


def _back(column: Column, card: Card, size: float) -> None:
    _head(column, BACK_TITLE, card, size)
    column.text(BACK_NOTE, size, after=1.5)
    column.rule(1.0)
    for head, lines in card.back:
        column.text(head, size + 1.5, "bold", after=0.8)
        for line in lines:
            _box(column, size)
            column.text(line, size, indent=6.0, after=1.2)
        column.y -= 1.0
    if card.shims:
        column.rule()
        _tick_off(column, card, size)
    column.rule()
    column.text("Notes", size, "bold", after=LINE)
    y = column.y
    while y >= EDGE:
        column.axes.plot((column.left, column.left + column.width), (y, y), color="black", linewidth=0.3)
        y -= 1.5 * LINE


def _box(column: Column, size: float) -> None:
    """A box to tick."""
    side, top = 0.8 * size * POINT, column.y - 0.1 * size * POINT
    x = column.left + 1.0
    corners = ((x, top), (x + side, top), (x + side, top - side), (x, top - side), (x, top))
    column.axes.plot(*zip(*corners, strict=True), color="black", linewidth=0.7)


def _tick_off(column: Column, card: Card, size: float) -> None:
    """Every shim with where it goes, to tick when it is out and when it is in."""
    column.text(f"Shims, {len(card.shims)} in all: tick each when it is out and when it is back in", size,
                "bold", after=1.0)  # fmt: skip
    third, rows = column.width / 3.0, -(-len(card.shims) // 3)
    step = 1.5 * size * POINT
    for number, (name, place) in enumerate(card.shims):
        x, y = column.left + third * (number // rows), column.y - step * (number % rows)
        cell = Column(column.axes, x, y, third)
        _box(cell, size)
        cell.put("out", x + 5.0, y, size)
        cell.left = x + 11.0
        _box(cell, size)
        cell.put(f"in   {name} {place}", x + 16.0, y, size)
    column.y -= step * rows + 1.0
