"""The job card as HTML that needs nothing else, to be printed from a browser on two pages."""

import html
import io
from collections.abc import Iterable

import matplotlib as mpl

from balltravel.report.figures.card.page import TITLE
from balltravel.report.figures.card.section import WIDTH, draw_arrangement, height_of
from balltravel.report.figures.worksheet.page import FONTS, paper
from balltravel.report.text.card.fixed import BACK_NOTE, BACK_TITLE
from balltravel.report.text.card.record import Card
from balltravel.units.systems import US

_STYLE = """
@page { size: %s; margin: 10mm; }
body { font: 8pt/1.2 sans-serif; color: black; background: white; max-width: 190mm; margin: auto; }
h1 { font-size: 14pt; margin: 0; } h2 { font-size: 14pt; margin: 1mm 0; }
h3 { font-size: 9.5pt; margin: 1mm 0; overflow-wrap: anywhere; }
p { margin: 0.6mm 0; } .foot { float: right; } .steps p { font-size: 10pt; font-weight: bold; }
section { border-top: 0.3mm solid black; padding-top: 1mm; margin-top: 1mm; }
.decisive { display: flex; gap: 3mm; } .decisive > div { flex: 1; }
figure { margin: 0; width: 84mm; } svg { width: 84mm; height: auto; display: block; }
table { border-collapse: collapse; width: 100%%; } td, th { text-align: left; vertical-align: top;
padding: 0.3mm 2mm 0.3mm 0; } .numbers td:first-child { font-weight: bold; white-space: nowrap; }
.watch td { width: 33%%; }
.blanks { display: flex; gap: 6mm; } .blanks div { flex: 1; } .blanks p { display: flex; gap: 2mm;
height: 5.4mm; margin: 0; align-items: end; }
.blanks i { flex: 1; border-bottom: 0.2mm solid black; }
.back { break-before: page; font-size: 9.5pt; } li { list-style: "\\2610  "; margin: 1mm 0; }
"""


def card_html(card: Card, system: str) -> str:
    """Front and back."""
    text = html.escape
    size = "letter" if system == US else "A4"
    back = "\n".join(f"<h3>{text(head)}</h3>{_list(lines)}" for head, lines in card.back)
    shims = _list(f"out \u2610 in: {name} {place}" for name, place in card.shims)
    if card.shims:
        head = f"Shims, {len(card.shims)} in all: tick each when it is out and when it is back in"
        shims = f"<section><b>{head}</b>{shims}</section>"
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{TITLE}: {text(card.title)}</title>
<style>{_STYLE % size}</style></head><body>
<div class="front">{_head(TITLE, card)}<p>{text(card.job)}</p>
<section class="decisive"><div><h2>{text(card.headline)}</h2>
<div class="steps">{_paragraphs(card.steps)}</div>
<table class="numbers">{_rows(card.numbers)}</table></div>{_drawing(card)}</section>
<section><b>How sure? {text(card.verdict[0])}</b>{_paragraphs(card.verdict[1:])}</section>
<section><table class="watch"><tr><th>First minutes: sign</th><th>what it means</th><th>what to do</th></tr>
{_rows((row.sign, row.means, row.do) for row in card.watch)}</table></section>
<section class="blanks">{_blanks(card)}</section>
<section>{_paragraphs(card.cautions)}</section></div>
<div class="back">{_head(BACK_TITLE, card)}<p>{text(BACK_NOTE)}</p><section>{back}</section>{shims}
<section><b>Notes</b></section></div></body></html>
"""


def _head(title: str, card: Card) -> str:
    foot, name = html.escape(card.foot), html.escape(card.title)
    return f'<span class="foot">{foot}</span><h1>{title}</h1><h3>{name}</h3>'


def _paragraphs(lines: Iterable[str]) -> str:
    return "".join(f"<p>{html.escape(line)}</p>" for line in lines)


def _list(lines: Iterable[str]) -> str:
    return "<ul>" + "".join(f"<li>{html.escape(line)}</li>" for line in lines) + "</ul>"


def _rows(rows: Iterable[tuple[str, ...]]) -> str:
    cells = ("".join(f"<td>{html.escape(cell)}</td>" for cell in row) for row in rows)
    return "\n".join(f"<tr>{row}</tr>" for row in cells)


def _blanks(card: Card) -> str:
    """Two columns."""
    return "\n".join(
        f"<div><b>{html.escape(head)}</b>"
        + "\n".join(f"<p>{html.escape(blank.name)}<i></i>{html.escape(blank.unit)}</p>" for blank in blanks)
        + "</div>"
        for head, blanks in card.blanks
    )


def _drawing(card: Card) -> str:
    """The section within the page; its text is text."""
    figure, axes = paper(WIDTH, height_of(*card.drawn) + 4.0)
    draw_arrangement(axes, 0.0, 2.0, *card.drawn)
    buffer = io.StringIO()
    with mpl.rc_context(FONTS):  # type: ignore[arg-type]
        figure.savefig(buffer, format="svg", metadata={"Date": None})
    drawn = buffer.getvalue()
    return f"<figure>{drawn[drawn.index('<svg') :]}<p>{html.escape(card.caption)}</p></figure>"
