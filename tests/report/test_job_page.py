"""The page of a job: its words are those that are printed, its numbers those of --json; it is one file that
asks for nothing, in a browser and on paper, whoever wrote the title."""

import io
import math
import re
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import pairwise
from xml.etree import ElementTree

import matplotlib as mpl
import pytest
from matplotlib.figure import Figure
from pypdf import PdfReader

import balltravel
from balltravel.files.read_write import as_written, read_scenario_file
from balltravel.report.figures.everyone.embedded import embedded
from balltravel.report.json import answer_dict, strict
from balltravel.report.pages.job.bars import losses, spans, worth_knowing
from balltravel.report.pages.job.drawing import drawing_of
from balltravel.report.pages.job.page import Source, job_html
from balltravel.report.pages.job.tables import input_rows, prospect_rows
from balltravel.report.tables import plain, viscosity_stated
from balltravel.report.text.card.front import limit_name
from balltravel.report.text.check import shown_value
from balltravel.report.text.verdict import verdict_sentences, verdict_text
from balltravel.report.worth_knowing import measured_in_words
from balltravel.scenario.model import ScenarioError, flat, with_shims_below
from balltravel.scenario.unknowns import range_in_words, spreads_of
from balltravel.study.limits import job
from balltravel.study.search.walk import Budget
from balltravel.study.verdict.inputs import inputs_of
from balltravel.study.verdict.record import Answer
from balltravel.units.display import shown_in

from ..conftest import SCENARIOS
from ..helpers.verdicts_by_hand import CHANGES, NONE_MEETS
from .browser import opened

TODAY = date(2026, 3, 31)
HOSTILE = '</style><script>alert(1)</script>"><img src=x onerror=alert(2)>שלום "mine" & Söhne ' + "w" * 60
VERDICTS = {"exactly": None, "changes": CHANGES, "none meets": NONE_MEETS}


@cache
def answered(name, units="both", draw="changes", title=""):
    """A scenario and its answer with a job searched by few runs, and a verdict that nobody drew."""
    settings = (f"title={title!r}",) if title else ()
    scenario = balltravel.read_scenario(SCENARIOS / f"{name}.toml")
    scenario = balltravel.with_value(scenario, "title", title) if settings else scenario
    with shown_in(units), pytest.MonkeyPatch.context() as patch:
        patch.setattr(job, "CHEAP", Budget(runs=6, steps=20_000))
        single = balltravel.recommend(scenario, draws=0)
        recommendation = job.with_job(scenario, replace(single, verdict=VERDICTS[draw]))
        return scenario, Answer(recommendation, VERDICTS[draw])


def page_of(name, units="both", draw="changes", title=""):
    scenario, answer = answered(name, units, draw, title)
    given = read_scenario_file(SCENARIOS / f"{name}.toml")
    text = f"{given.text}\n# </pre><script>alert(3)</script> \u202e turned \u200f \x1b[2J"
    source = Source(given.sha256, text, (), as_written(given, f"{name}.toml"))
    with shown_in(units):
        return job_html(scenario, answer, source, TODAY)


@cache
def written(name, units="both", draw="changes", title=""):
    return page_of(name, units, draw, title)


def text_of(page):
    """What is read, in one line."""
    body = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL).partition("<body>")[2]
    for sign, letter in (("&lt;", "<"), ("&gt;", ">"), ("&#34;", '"'), ("&#39;", "'"), ("&amp;", "&")):
        body = re.sub(r"<[^>]*>", " ", body) if sign == "&lt;" else body
        body = body.replace(sign, letter)
    return " ".join(body.split())


@pytest.mark.parametrize("draw", ["changes", "none meets"])
def test_the_verdict_is_in_the_words_that_are_printed(draw):
    scenario, answer = answered("primer", draw=draw)
    text = text_of(written("primer", draw=draw))
    for sentence in verdict_sentences(scenario, answer.verdict):
        assert sentence in text
    assert " ".join(verdict_text(scenario, answer).split()) in text
    order = (
        verdict_sentences(scenario, answer.verdict)[0],
        answer.recommendation.reservations[0],
        "Every arrangement",
    )
    assert [text.index(words) for words in order] == sorted(text.index(words) for words in order)


def test_under_a_verdict_of_another_travel_the_page_says_why_and_folds_the_reasons_of_the_single_run():
    _, answer = answered("primer")
    page = written("primer")
    assert answer.recommendation.recommended != CHANGES.chosen
    part = page.partition("<h2>Reasons</h2>")[2].partition("<h2>")[0]
    before, _, folded = part.partition("<details>")
    assert "Why 8 mm: in the half of the draws where it does worst" in text_of(f"<body>{before}")
    overruled = text_of(f"<body>{folded.partition('</details>')[0]}")
    assert "one run, which alone would name 4 mm; the verdict counts" in overruled
    for reason in answer.recommendation.reasons:
        assert plain(reason) in overruled
        assert plain(reason) not in text_of(f"<body>{before}")


def test_under_a_verdict_of_another_travel_what_stands_against_that_travel_comes_first():
    scenario, answer = answered("primer")
    # A lower that has no other travel than the verdict's says what stands against it by itself.
    alone = {
        "shims.thicknesses": (),
        "shims.below": (),
        "inlet_check.base_travel": CHANGES.chosen.ball_travel,
    }
    with shown_in("both"):
        against = balltravel.recommend(balltravel.with_values(scenario, alone), draws=0).reservations
    first, rest = text_of(written("primer")).split("Every arrangement of the shims", 1)
    assert against
    assert answer.recommendation.recommended.ball_travel != CHANGES.chosen.ball_travel
    assert first.index("Before you rely on it (at the likely values)") < first.index(plain(against[0]))
    assert all(plain(line) in first for line in against)
    assert "What stands against 4 mm in this run" in rest


def test_without_a_target_the_page_has_no_column_of_targets_that_are_met():
    scenario, answer = answered("primer")
    unset = balltravel.with_value(scenario, "target.fill_fraction", None)
    unset = balltravel.with_value(unset, "target.landing_speed", None)
    source = Source("0" * 64)
    with shown_in("both"):
        page = text_of(job_html(unset, answer, source))
    assert "all targets met" in text_of(written("primer"))
    assert "all targets met" not in page
    assert "No target is set, so none is counted." in page
    assert re.search(r"2\+3 \(chosen\) 8.00 88\.3 \(", page)


def test_every_number_of_the_arrangements_is_that_of_json():
    scenario, answer = answered("primer")
    found = strict(answer_dict(scenario, answer))
    text = text_of(written("primer"))
    for trial in found["arrangements"]:
        low, middle, high = (100.0 * trial[f"delivery_{share}"] for share in (5, 50, 95))
        names = "+".join(map(str, trial["shims_below"])) or "none"
        marks = r"(?:\((?:chosen|chosen, as it is now|as it is now)\) )?"
        row = rf"{re.escape(names)} {marks}{1e3 * trial['ball_travel']:.2f} "
        row += rf"{100 * trial['chance']['all']:.0f} {middle:.1f} \({low:.1f} to {high:.1f}\) "
        row += f"{100 * trial['regret_95']:.1f}"
        assert re.search(row, text), row
    swept = found["job"]["swept"]
    chosen = next(
        t for t in found["arrangements"] if t["shims_below"] == found["job"]["choice"]["shims_below"]
    )
    budget = chosen["metrics"]["loss_budget"]
    assert budget["swept"] == swept
    assert f"{100 * budget['delivered'] / swept:.1f} % of the swept volume is delivered" in text
    assert f"flows back past the piston ball {100 * budget['piston_backflow'] / swept:.1f} %" in text


def test_bars_are_as_long_as_their_numbers():
    _, answer = answered("primer")
    rows = prospect_rows(*answered("primer")[:1], CHANGES)
    for row, prospect in zip(rows, CHANGES.prospects, strict=True):
        assert row.first.end == pytest.approx(100.0 * prospect.chance["all"])
        assert (row.second.start, row.second.end) == pytest.approx(
            (100.0 * prospect.delivery_5, 100.0 * prospect.delivery_95)
        )
    for bar, known in zip(worth_knowing(CHANGES), CHANGES.measurements, strict=False):
        assert bar.end == pytest.approx(100.0 * known.saved / CHANGES.regret_mean, rel=1e-9)
    trial = next(t for t in answer.recommendation.arrangements if t.choice == CHANGES.chosen)
    drawn = losses(trial.metrics.loss_budget)
    said = [float(bar.said.removesuffix(" %")) for bar in drawn]
    assert sum(said) == pytest.approx(100.0 * (1.0 - trial.delivery), abs=0.05 * (len(said) + 1))
    assert max(bar.end for bar in drawn) == 100.0
    for span, limit in zip(spans(answer.recommendation.job), answer.recommendation.job.limits, strict=True):
        assert 0.0 <= span.now <= 100.0
        for bar in span.bars:
            assert 0.0 <= bar.start <= bar.end <= 100.0
            assert bar.start == pytest.approx(span.now) or not limit.meets_now or not limit.upward


@pytest.mark.parametrize("name", ["primer", "mastic_by_readings"])
def test_every_key_has_its_value_its_range_and_where_they_are_from(name):
    scenario, _ = answered(name, draw="exactly")
    page = written(name, draw="exactly")
    rows = dict(re.findall(r'<tr><th scope="row">([\w.]+)</th>(.*?)</tr>', page))
    assert set(rows) == {key for key, value in flat(scenario).items() if value is not None}
    for key, spread in spreads_of(scenario).items():
        assert range_in_words(key, spread) in text_of(f"<body>{rows[key]}")
    assert "in the file" in rows["lower.bore"]
    assert "default" in rows["closures.ball_position"]


def test_thicknesses_of_shims_in_inches_have_no_empty_bracket_beside_them():
    key, sizes = "shims.thicknesses", ["1/32 in", "1/8 in"]
    scenario = read_scenario_file(
        SCENARIOS / "primer.toml", ['shims.thicknesses=["1/32 in", "1/8 in"]']
    ).scenario
    with shown_in("us"):
        assert shown_value(key, flat(scenario)[key], {key: ", ".join(sizes)}) == "1/32 in, 1/8 in"
    assert shown_value(key, flat(scenario)[key], {key: "1/32 in, 1/8 in"}).endswith(" mm)")


def test_the_viscosity_of_a_thinning_material_stands_with_its_shear_rate():
    thins, same = (
        read_scenario_file(SCENARIOS / f"{name}.toml").scenario
        for name in ("roof_elastomer_from_a_drum", "primer")
    )
    rows = {row.key: row for row in input_rows(thins, {}, ())}
    assert rows["material.viscosity"].value.endswith(" at 1 1/s")
    assert [item.name for item in inputs_of(thins).drawn if item.key == "material.viscosity"] == [
        "viscosity at 1 1/s"
    ]
    limit = replace(answered("primer", draw="exactly")[1].recommendation.job.limits[0], key=job.VISCOSITY)
    assert limit_name(limit, viscosity_stated(thins.material)).endswith("material (at 10 1/s)")
    assert "(" not in limit_name(limit, viscosity_stated(same.material))
    assert measured_in_words(CHANGES.measurements[0]).endswith(" at 100 1/s")


def test_an_input_that_is_measured_has_one_bar():
    names = [bar.name for bar in worth_knowing(CHANGES)]
    assert [name.endswith("measured") for name in names] == [True, True, False]
    assert names[-1] == "free gas, if known exactly"


def test_the_provenance_has_version_date_draws_seed_and_digest():
    text = text_of(written("primer"))
    digest = read_scenario_file(SCENARIOS / "primer.toml").sha256
    assert f"Version balltravel {balltravel.__version__} Date 2026-03-31 Draws 128 draws, seed 0" in text
    assert f"Digest of the file sha256 {digest}" in text


@pytest.mark.parametrize(
    ("units", "not_there"), [("us", r"\d (mm|bar|Pa\.s)\b"), ("metric", r"\d (in(?! \d| the file)|psi|cP)\b")]
)
def test_the_page_is_in_one_system_of_units(units, not_there):
    page = page_of("primer", units, "changes")
    body = page.partition("<body>")[2]
    own_words = re.sub(r"<pre.*?</pre>|<svg.*?</svg>", "", body, flags=re.DOTALL)
    assert re.findall(not_there, text_of(f"<body>{own_words}")) == []


def test_the_section_has_the_shims_of_the_arrangement_that_is_named():
    scenario, answer = answered("primer")
    named = answer.recommendation.job.choice
    drawing = drawing_of(with_shims_below(scenario, named.shims_below), named)
    assert drawing.section.count('class="shim"') == 2 * len(scenario.shims.thicknesses)
    assert str(drawing.section) in written("primer")
    heights = [line.lines[0][1] for line in drawing.names]
    assert heights == sorted(heights)
    assert all(b - a > drawing.letters for a, b in pairwise(heights))
    left, top, width, height = map(float, drawing.box.split())
    pins = re.findall(r'class="stop" cx="([-\d.]+)" cy="([-\d.]+)" r="([\d.]+)"', drawing.section)
    pointed = next(line.part for line in drawing.names if line.lines[0][0] == "stop of the cage")
    assert any(math.dist(pointed, (float(x), float(y))) < float(r) for x, y, r in pins)
    for line in drawing.names:
        assert line.lines[0][1] - 0.8 * drawing.letters >= top
        assert line.lines[-1][1] <= top + height
        assert left <= line.name[0] <= left + width


def test_figures_of_one_page_have_no_name_twice_and_letters_are_letters():
    page = written("primer")
    names = re.findall(r'\bid="([^"]*)"', page)
    assert len(names) == len(set(names)) > 100
    for name in re.findall(r'href="#([^"]*)"|url\(#([^)]*)\)', page):
        assert "".join(name) in names
    assert "viscosity in the lower" in text_of(page)


def test_an_embedded_figure_keeps_what_is_drawn_whatever_its_words():
    mpl.use("agg")
    figure = Figure(figsize=(3, 2))
    axes = figure.subplots()
    axes.plot([0, 1], [0, 1], "o", label='id="x" url(#y) <b> & \u202e')
    axes.legend()
    svg = embedded(figure, "one", 'label "quoted" <b>')
    root = ElementTree.fromstring(svg)
    assert root.get("aria-label") == 'label "quoted" <b>'
    said = "".join(root.itertext())
    assert 'id="x" url(#y) <b> &' in said
    assert str(embedded(figure, "two", "")).replace('"two-', '"one-').count('id="one-') == svg.count(
        'id="one-'
    )
    assert "<style" not in svg


def test_python_writes_the_page_and_gets_its_numbers(tmp_path):
    scenario = balltravel.read_scenario(SCENARIOS / "primer.toml")
    path = tmp_path / "job.html"
    made = balltravel.job_report(scenario, answered("primer")[1].recommendation, path)
    assert made.job.choice == CHANGES.chosen
    assert "Digest of the scenario" in path.read_text(encoding="utf-8")
    with pytest.raises(ScenarioError, match=r"a name ending in \.html"):
        balltravel.job_report(scenario, made, tmp_path / "job.pdf")


# --- in a browser


@pytest.fixture
def shown(browser, tmp_path):
    """Opens a page, which must ask for nothing and say nothing on the console."""

    def show(*case, **options):
        path = tmp_path / "job.html"
        path.write_text(written(*case), encoding="utf-8")
        return opened(browser, path, **options)

    return show


@pytest.mark.parametrize("width", [360, 768, 1280, 1920])
def test_nothing_is_cut_from_360_to_1920_pixels(shown, width):
    with shown("primer", "both", "changes", HOSTILE, width=width) as page:
        page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        table = page.locator(".wide").first
        assert table.evaluate("each => each.scrollWidth <= each.clientWidth")
        letters = page.locator(".names text").first.bounding_box()["height"]
        assert letters >= 12.0
        for line in page.locator(".names text").all():
            box = line.bounding_box()
            assert box["x"] + box["width"] <= width


def test_axe_finds_nothing_serious(browser, tmp_path):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    path = tmp_path / "job.html"
    for case in (("primer",), ("primer", "both", "none meets"), ("mastic_by_readings", "both", "exactly")):
        path.write_text(written(*case), encoding="utf-8")
        page = browser.new_context(bypass_csp=True).new_page()
        page.goto(path.as_uri())
        page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
        response = axe.Axe().run(page).response
        assert len(response["passes"]) > 10
        faults = [
            fault["id"] for fault in response["violations"] if fault["impact"] in ("serious", "critical")
        ]
        assert faults == []
        page.close()


def test_hostile_titles_are_text(shown):
    with shown("primer", "both", "changes", HOSTILE) as page:
        assert page.locator("script, img").count() == 0
        title = page.locator("h1").text_content()
        assert "</style><script>alert(1)</script>" in title
        assert "\u202e" not in page.content()


def test_printed_all_that_is_folded_is_there(shown):
    with shown("primer") as page:
        pages = PdfReader(io.BytesIO(page.pdf(format="A4"))).pages
    text = " ".join(" ".join(each.extract_text() for each in pages).split())
    assert "inlet_check.ball_diameter" in text
    assert "Reasons of this run, which the verdict overrules:" in text
    assert "What to watch for" in text
    assert "Shims below" in pages[0].extract_text()


def test_every_folded_part_opens_by_keyboard(shown):
    with shown("primer") as page:
        for number in range(page.locator("summary").count()):
            page.locator("summary").nth(number).focus()
            before = page.locator("details").nth(number).evaluate("each => each.open")
            page.keyboard.press("Enter")
            assert page.locator("details").nth(number).evaluate("each => each.open") is not before


def test_the_page_is_small_enough_to_mail_and_holds_no_address():
    page = written("primer")
    assert len(page) < 1_500_000
    assert not re.search(r"https?://(?!www\.w3\.org)", page.partition("<pre")[0])
    assert not re.search(r"<(link|iframe|script)\b|\bsrc=|@import", page)
