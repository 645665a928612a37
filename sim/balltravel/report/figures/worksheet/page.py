"""The worksheet: one page to print, as PDF or as HTML with its drawing inside."""

import html
import io
from datetime import UTC, datetime

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from balltravel import __version__
from balltravel.bench.new.blanks import BLANKS, Blank, in_system
from balltravel.bench.new.sheet import CAUTIONS, INTRO, TITLE, mark_of_sheet
from balltravel.report.figures.card.layout import broken
from balltravel.report.figures.worksheet.section import HEIGHT, WIDTH, draw_sheet
from balltravel.units.systems import METRIC

INCH = 25.4
PAGES = {METRIC: (210.0, 297.0)}
LETTER = (8.5 * INCH, 11.0 * INCH)
"""Paper [mm]: A4, and letter in US units."""

ROW = 7.4
LEAST = 7.5
"""The smallest letters [pt]."""

FONTS = {"pdf.fonttype": 42, "svg.fonttype": "none", "svg.hashsalt": "worksheet", "hatch.linewidth": 0.4}
_TO_FILL = (
    "Lower: ______________________   Material: ______________________   Date: ____________   By: __________"
)


def page_of(system: str) -> tuple[float, float]:
    """Width and height of the paper [mm]."""
    return PAGES.get(system, LETTER)


def worksheet_figure(system: str) -> Figure:
    """The page; ``system``: units of its blanks, "metric" or "us"."""
    width, height = page_of(system)
    figure, axes = paper(width, height)
    left, top = (width - WIDTH) / 2.0, height - 9.0
    axes.text(left, top, TITLE, size=14, weight="bold", va="top")
    axes.text(left + WIDTH, top, f"balltravel {__version__}", size=LEAST, va="top", ha="right")
    axes.text(left, top - 7.5, INTRO, size=LEAST, va="top")
    axes.text(left, top - 13.5, _TO_FILL, size=8.5, va="top")
    draw_sheet(axes, left, top - 20.0 - HEIGHT)
    bottom = _table(axes, left, top - 26.8 - HEIGHT, system)
    for number, caution in enumerate(CAUTIONS):
        axes.text(left, bottom - 2.5 - 3.9 * number, caution, size=LEAST, va="top")
    return figure


def paper(width: float, height: float) -> tuple[Figure, Axes]:
    """A sheet with axes in millimetres of paper."""
    figure = Figure(figsize=(width / INCH, height / INCH))
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0.0, width)
    axes.set_ylim(0.0, height)
    axes.set_axis_off()
    return figure, axes


def _table(axes: Axes, left: float, top: float, system: str) -> float:
    """A row a blank; returns where it ends."""
    rule = {"color": "black", "linewidth": 0.5}
    for number, blank in enumerate(BLANKS):
        y = top - ROW * number
        axes.plot((left, left + WIDTH), (y, y), **rule)  # type: ignore[arg-type]
        axes.text(left + 3.0, y - ROW / 2.0, blank.letter, size=10, weight="bold", ha="center", va="center")
        axes.text(left + 7.0, y - 0.6, blank.asks, size=LEAST, va="top")
        axes.text(left + 7.0, y - 4.0, f"usual: {in_system(blank.typical, system)}", size=LEAST, va="top")
        where = "\n".join(broken(blank.where, 71.0, LEAST))
        axes.text(left + 74.0, y - ROW / 2.0, where, size=LEAST, va="center", linespacing=1.1)
        end = left + WIDTH - (7.0 if blank.unit(system) else 0.0)
        axes.plot((left + 147.0, end), (y - ROW + 1.6,) * 2, color="black", linewidth=0.8)
        axes.text(left + WIDTH, y - ROW + 1.6, blank.unit(system), size=8, ha="right", va="bottom")
    bottom = top - ROW * len(BLANKS)
    axes.plot((left, left + WIDTH), (bottom, bottom), **rule)  # type: ignore[arg-type]
    return bottom


def worksheet_pdf(system: str) -> bytes:
    """The page as PDF, its text as text."""
    buffer = io.BytesIO()
    about = {"Title": TITLE, "Keywords": mark_of_sheet(system), "CreationDate": datetime.now(UTC)}
    with mpl.rc_context(FONTS):  # type: ignore[arg-type]
        worksheet_figure(system).savefig(buffer, format="pdf", metadata=about)
    return buffer.getvalue()


def section_figure() -> Figure:
    """The drawing alone."""
    figure, axes = paper(WIDTH, HEIGHT + 8.0)
    draw_sheet(axes, 0.0, 7.0)
    return figure


def section_svg() -> str:
    """The drawing alone, to stand within a page of HTML; its text is text."""
    buffer = io.StringIO()
    with mpl.rc_context(FONTS):  # type: ignore[arg-type]
        section_figure().savefig(buffer, format="svg", metadata={"Date": None})
    text = buffer.getvalue()
    return text[text.index("<svg") :]


_STYLE = """
@page { size: %s; margin: 10mm; }
body { font: 8.5pt sans-serif; color: black; background: white; max-width: 190mm; margin: auto; }
h1 { font-size: 14pt; margin: 0 0 1mm; } p { margin: 1mm 0; }
svg { display: block; width: 170mm; height: auto; margin: 1mm auto; }
table { border-collapse: collapse; width: 100%%; }
td { border-top: 0.2mm solid black; border-bottom: 0.2mm solid black; padding: 0.5mm 1mm; }
td { vertical-align: top; } td.letter { font-weight: bold; font-size: 11pt; }
small { display: block; font-size: 7.5pt; }
td.where { font-size: 7.5pt; width: 66mm; }
td.blank { width: 42mm; vertical-align: bottom; text-align: right; }
"""


def worksheet_html(system: str) -> str:
    """The page as HTML that needs nothing else, to be printed from a browser."""
    paper = "A4" if system == METRIC else "letter"
    rows = "\n".join(_row(blank, system) for blank in BLANKS)
    cautions = "\n".join(f"<p>{html.escape(caution)}</p>" for caution in CAUTIONS)
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{TITLE}</title>
<meta name="keywords" content="{mark_of_sheet(system)}"><style>{_STYLE % paper}</style></head>
<body><h1>{TITLE}</h1><p>{html.escape(INTRO)}</p><p>{_TO_FILL}</p>
{section_svg()}
<table>
{rows}
</table>
{cautions}
<p>balltravel {__version__}</p></body></html>
"""


def _row(blank: Blank, system: str) -> str:
    asks, usual, where = (
        html.escape(text) for text in (blank.asks, in_system(blank.typical, system), blank.where)
    )
    unit = html.escape(blank.unit(system))
    return (
        f'<tr><td class="letter">{blank.letter}</td><td>{asks}<small>usual: {usual}</small></td>'
        f'<td class="where">{where}</td><td class="blank">________________ {unit}</td></tr>'
    )
