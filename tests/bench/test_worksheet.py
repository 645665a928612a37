"""The worksheet: one page in grey with every blank, and its answers typed in without explanations."""

import html.parser
import io
import re
import sys
from pathlib import Path

import matplotlib.colors
import pytest
from matplotlib.patches import Patch
from matplotlib.text import Text
from pypdf import PdfReader

import balltravel
from balltravel.bench.new.blanks import BLANKS
from balltravel.bench.new.sheet import CAUTIONS, TITLE
from balltravel.cli.main import main
from balltravel.report.figures.worksheet.page import page_of, worksheet_figure

METRIC = ["48", "90", "34", "29.4", "steel", "21", "37.8", "1+2+4", "1+2", "5", "30", "38", "1.5", "5 Pa.s"]
US = [
    "1 7/8",
    "3 1/2",
    "1 3/8",
    "1 1/8",
    "stainless",
    "0.8",
    "1.5",
    "1/32+1/16",
    "1",
    "3/16",
    "30",
    "1 1/2",
    "5",
    "3500 cP",
]


@pytest.fixture
def sheet(tmp_path, monkeypatch, capsys):
    """Makes a worksheet by the command; its bytes."""
    monkeypatch.chdir(tmp_path)

    def made(name, *options):
        assert main(["new", "--worksheet", name, *options]) == 0
        assert f"balltravel new --answers {name}" in capsys.readouterr().out
        return Path(name).read_bytes()

    return made


@pytest.mark.parametrize("system", ["metric", "us"])
def test_the_pdf_is_one_page_and_its_text_is_text(sheet, system):
    read = PdfReader(io.BytesIO(sheet("sheet.pdf", "--units", system)))
    assert len(read.pages) == 1
    shown = read.pages[0].extract_text()
    width, height = (float(side) / 72.0 * 25.4 for side in read.pages[0].mediabox[2:])
    assert (width, height) == pytest.approx(page_of(system), abs=0.1)
    for text in (TITLE, *CAUTIONS, *(blank.asks for blank in BLANKS)):
        assert text in shown, text
    sizes = [line for line in shown.split("\n") if "usual: " in line]
    assert len(sizes) == len(BLANKS)
    other = r"\b(mm|m|Pa\.s)\b" if system == "us" else r"\b(in|ft|cP)\b"
    assert [line for line in sizes if re.search(rf"\d {other}", line)] == []


@pytest.mark.parametrize("system", ["metric", "us"])
def test_all_that_stands_on_the_page_is_on_it_and_apart(system):
    """Every text lies within the paper, 7 mm from its edges, and no text lies over another."""
    figure = worksheet_figure(system)
    figure.canvas.draw()
    millimetre = figure.dpi / 25.4
    width, height = (side * millimetre for side in page_of(system))
    texts = [text for text in figure.findobj(Text) if text.get_text()]
    assert min(text.get_fontsize() for text in texts) >= 7.5
    boxes = [text.get_window_extent() for text in texts]
    assert len(boxes) > 70
    for box in boxes:
        assert min(box.x0, box.y0, width - box.x1, height - box.y1) > 7.0 * millimetre
    for number, box in enumerate(boxes):
        for other in boxes[:number]:
            wide = min(box.x1, other.x1) - max(box.x0, other.x0)
            high = min(box.y1, other.y1) - max(box.y0, other.y0)
            assert min(wide, high) < 0.5 * millimetre


def test_every_letter_of_a_size_stands_in_the_drawing_too():
    """The material alone is no size; the rate is named beneath the drawing."""
    figure = worksheet_figure("metric")
    seen = [text.get_text() for text in figure.findobj(Text)]
    for blank in BLANKS:
        times = seen.count(blank.letter) + sum(text.startswith(f"{blank.letter}  ") for text in seen)
        assert times >= (1 if blank.name == "material" else 2), blank.letter


def test_the_page_is_grey():
    figure = worksheet_figure("metric")
    colours = {patch.get_edgecolor() for patch in figure.findobj(Patch)}
    colours |= {patch.get_facecolor() for patch in figure.findobj(Patch)}
    colours |= {matplotlib.colors.to_rgba(text.get_color()) for text in figure.findobj(Text)}
    assert all(red == green == blue for red, green, blue, _ in colours)


class _Page(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.texts, self.tags, self.links, self.open = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for name, value in attrs if name in ("src", "href", "xlink:href")]

    def handle_data(self, data):
        self.texts.append(data)


@pytest.mark.parametrize("system", ["metric", "us"])
def test_the_html_needs_nothing_else_and_has_its_drawing_inside(sheet, system):
    page = _Page()
    page.feed(sheet("sheet.html", "--units", system).decode())
    assert page.tags.count("svg") == 1
    assert page.tags.count("tr") == len(BLANKS)
    assert all(link.startswith("#") for link in page.links)
    assert {"script", "link", "img"}.isdisjoint(page.tags)
    whole = " ".join(page.texts)
    assert all(text in whole for text in (TITLE, *CAUTIONS, *(blank.asks for blank in BLANKS)))
    assert {"A", "B", "C", "D", "E", "F", "G", "H", "J", "K", "M", "N"} <= {
        text.strip() for text in page.texts
    }


@pytest.mark.parametrize("ending", ["pdf", "html"])
@pytest.mark.parametrize(
    ("system", "answers", "bore"), [("metric", METRIC, 0.048), ("us", US, 1.875 * 0.0254)]
)
def test_the_blanks_of_a_sheet_are_typed_in_with_its_units(
    sheet, monkeypatch, capsys, ending, system, answers, bore
):
    sheet(f"sheet.{ending}", "--units", system)
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(answers) + "\n"))
    assert main(["new", "lower.toml", "--answers", f"sheet.{ending}"]) == 0
    asked = capsys.readouterr().err
    assert f"A  Bore of the cylinder [{'mm' if system == 'metric' else 'in'}]: " in asked
    assert "Measure:" not in asked
    scenario = balltravel.read_scenario("lower.toml")
    assert scenario.lower.bore == pytest.approx(bore, rel=1e-12)
    assert scenario.drive.cycle_rate == 0.5
    filled = [line for line in Path("lower.toml").read_text().splitlines() if line.startswith("cage_length")]
    assert (" in" in filled[0]) == (system == "us")


def test_without_a_sheet_a_bare_number_is_ambiguous(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", io.StringIO("48\n"))
    assert main(["new", "lower.toml", "--answers"]) == 1
    assert '"48" has no unit' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["new", "--worksheet", "sheet.doc"], "allowed: a name ending in .pdf or .html"),
        (["new", "lower.toml", "--worksheet", "sheet.pdf"], "allowed: --worksheet alone"),
        (["new", "lower.toml", "--answers", "other.pdf"], "no worksheet"),
        (["new", "lower.toml", "--answers", "none.pdf"], "no worksheet"),
        (["new", "lower.toml", "--set", "lower.bore=48 mm"], "--set: allowed with a scenario that is there"),
        (["new", "no_such_folder/lower.toml"], "cannot be written"),
    ],
)
def test_what_goes_not_together_is_refused_before_anything_is_asked(
    tmp_path, monkeypatch, capsys, words, told
):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "other.pdf").write_bytes(b"%PDF-1.4 something else")
    assert main(words) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert told in said
    assert " > " not in said


def test_a_sheet_that_cannot_be_written_is_said_so(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", "--worksheet", "no_such_folder/sheet.pdf"]) == 1
    assert "no_such_folder/sheet.pdf: cannot be written" in capsys.readouterr().err
