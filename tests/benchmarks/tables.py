"""What is printed and what stands on the page, from the same numbers."""

import textwrap
from collections.abc import Sequence
from typing import NamedTuple

WIDTH = 100


class Table(NamedTuple):
    """Headings, rows of text, and what the reader must know of them."""

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    notes: Sequence[str] = ()


def number(value: float) -> str:
    """Three significant digits; a dash for no number."""
    if value != value:
        return "-"
    if value == 0.0:
        return "0"
    if not 1e-3 <= abs(value) < 1e5:
        return f"{value:.2e}"
    text = f"{value:#.3g}"
    return f"{float(text):.0f}" if "e" in text else text.rstrip(".")


def as_text(table: Table) -> str:
    """For a terminal."""
    lines = [table.columns, *table.rows]
    widths = [max(len(line[k]) for line in lines) for k in range(len(table.columns))]
    rows = [
        "  ".join(
            text.ljust(width) if k == 0 else text.rjust(width)
            for k, (text, width) in enumerate(zip(line, widths, strict=True))
        )
        for line in lines
    ]
    notes = [textwrap.fill(note, WIDTH) for note in table.notes]
    return "\n".join([table.title, *(row.rstrip() for row in rows), *notes])


def as_markdown(table: Table) -> str:
    """For the page."""
    rules = ["---", *["---:"] * (len(table.columns) - 1)]
    rows = ["| " + " | ".join(line) + " |" for line in (table.columns, rules, *table.rows)]
    notes = [textwrap.fill(note, WIDTH) for note in table.notes]
    return "\n\n".join([f"### {table.title}", "\n".join(rows), *notes])
