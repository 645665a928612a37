"""The page of a lesson in a browser: predict first, then see; by keys alone, printed, at any size."""

import base64
import io
import json
import re
from dataclasses import replace

import numpy as np
import pytest

from balltravel import cycle_metrics, read_scenario, shown_in, simulate
from balltravel.report.pages.lesson.page import lesson_html
from balltravel.study.lesson.lesson import lesson_of
from balltravel.study.travel.recommend import recommend

from ..conftest import SCENARIOS
from .browser import opened

HOSTILE = (
    '</script><script>alert(1)</script>"><img src=x onerror=alert(2)> שלום \u202e "mine" & Söhne '
    + "long" * 40
)

ROUNDING = 0.05 + 1e-9
"""Half of the last digit that the page shows [% of swept]: its stated error."""


@pytest.fixture(scope="module")
def taught():
    return lesson_of(read_scenario(SCENARIOS / "primer.toml"))


@pytest.fixture(scope="module")
def page_text(taught):
    return lesson_html(taught, invented=True)


@pytest.fixture
def lesson(page_text, tmp_path, browser):
    """Opens the page, or one with another text."""

    def open_page(text=None, **options):
        path = tmp_path / "lesson.html"
        path.write_text(text or page_text, encoding="utf-8")
        return opened(browser, path, **options)

    return open_page


def held(text):
    """The data that the page holds."""
    found = re.search(r'<script type="application/json" id="lesson">(.*?)</script>', text, re.DOTALL)
    return json.loads(found[1])


def choose(page, slider, place):
    page.evaluate(
        "([slider, place]) => { const range = document.querySelector(slider); range.value = place;"
        ' range.dispatchEvent(new Event("input")); }',
        [slider, str(place)],
    )


def shows(page):
    """What is on show: where the ball is, both bars and the sentence, of the predicted lower."""
    return (
        page.get_attribute(".predicted .close [data-moves=inlet-ball]", "transform"),
        page.get_attribute(".predicted .fill.drawn", "style"),
        page.get_attribute(".predicted .fill.back", "style"),
        page.text_content("#said"),
    )


def number_in(text):
    return float(re.fullmatch(r"([\d.]+) %", text)[1])


def test_at_sixty_settings_the_page_says_what_simulate_says(lesson, taught, within):
    rng = np.random.default_rng(5)
    settings = [(m, t) for m in range(len(taught.materials)) for t in range(len(taught.travels))]
    with lesson() as page:
        for place in rng.permutation(len(settings))[:60]:
            m, t = settings[place]
            choose(page, "#material", m)
            choose(page, "#travel", t)
            if page.is_visible("#show"):
                page.click("#show")
            value, below = taught.materials[m].value, list(taught.travels[t].below)
            metrics = cycle_metrics(
                simulate(read_scenario(
                    SCENARIOS / "primer.toml",
                    [f"material.viscosity={1e3 * value:.10g} cP", f"shims.below={below}"],
                ))
            )  # fmt: skip
            budget = metrics.loss_budget
            seen = [number_in(page.text_content(f".predicted output.{name}")) for name in ("drawn", "back")]
            shares = [metrics.fill_fraction, budget.inlet_backflow / budget.swept]
            within(np.array(seen) - 100.0 * np.array(shares), ROUNDING)
            said = page.text_content("#said")
            delivered = float(re.search(r"([\d.]+) % delivered", said)[1])
            within(delivered - 100.0 * metrics.volumetric_efficiency, ROUNDING)
            within(
                float(re.search(r"lands at ([\d.]+) m/s", said)[1]) - metrics.inlet.landing_speed, 0.005001
            )


def test_the_best_travel_of_each_step_is_the_one_that_recommend_names(lesson, taught):
    with lesson() as page:
        for place in taught.steps:
            choose(page, "#material", place)
            page.click("#show")
            answer = recommend(taught.materials[place].scenario)
            choice = answer.recommended or answer.best_available
            assert page.text_content(".best .travel").startswith(f"{1e3 * choice.ball_travel:g} mm")


def test_a_ball_on_the_page_is_where_the_run_has_it(page_text, taught, within):
    data = held(page_text)

    def unpacked(low, step, text):
        return low + step * np.frombuffer(base64.b64decode(text), "<u2")

    for m in taught.steps:
        share = np.array(data["materials"][m]["film"]["share"])
        for t in (0, len(taught.travels) - 1):
            motion = taught.materials[m].cycles[taught.travels[t].below].motion
            lift = unpacked(*data["materials"][m]["runs"][t]["moving"]["up"]["inlet-ball"])
            assert lift.max() == pytest.approx(1e3 * motion.lift[:, 0].max(), abs=0.05)
            # The page holds the share of the cycle to four places: what the ball does meanwhile.
            times, near = share * motion.period, 5e-5 * motion.period
            for time, place in zip(times[::20], lift[::20], strict=True):
                rows = (motion.time >= time - near) & (motion.time <= time + near)
                ends = np.interp([time - near, time + near], motion.time, motion.lift[:, 0])
                lifts = 1e3 * np.concatenate([ends, motion.lift[rows, 0]])
                within(max(lifts.min() - place, place - lifts.max(), 0.0), 0.01)


def test_the_class_predicts_before_it_sees(lesson, taught):
    with lesson() as page:
        assert page.text_content(".best .travel") == "?"
        assert page.text_content(".predicted output.drawn") == "?"
        assert "delivered" not in page.text_content("#said")
        assert page.locator(".chart.grows circle").count() == 0
        page.click("#show")
        assert page.text_content(".best .travel") != "?"
        choose(page, "#material", taught.steps[2])
        assert page.text_content(".best .travel") == "?"


def test_the_curve_grows_with_the_cases_tried_up_to_where_the_hose_is_the_limit(lesson, taught):
    with lesson() as page:
        for count, place in enumerate(taught.steps, 1):
            choose(page, "#material", place)
            page.click("#show")
            assert page.locator(".chart.grows circle").count() == count
            assert page.is_visible("#limit") == bool(taught.materials[place].limit)
        assert "The hose is the limit" in page.text_content("#limit")
        heights = page.eval_on_selector_all(
            ".chart.grows circle", "all => all.map(c => Number(c.getAttribute('cy')))"
        )
        assert heights[0] > heights[-1]


def test_every_control_by_keys_alone_changes_ball_bars_and_sentence(lesson):
    with lesson() as page:
        page.focus("#show")
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.className") == "toggle"
        for control, key in (("#travel", "ArrowRight"), ("#travel", "Home")):
            before = shows(page)
            page.focus(control)
            page.keyboard.press(key)
            page.focus(".scrub")
            page.keyboard.press("PageUp")
            after = shows(page)
            assert before[3] != after[3]
        for control in ("#material", ".steps li:nth-child(5) button"):
            before = shows(page)
            page.focus(control)
            page.keyboard.press("Enter" if "button" in control else "End")
            page.focus("#show")
            page.keyboard.press("Enter")
            page.keyboard.press("Tab")
            assert all(a != b for a, b in zip(before[1:], shows(page)[1:], strict=True))
        for control in (".next", ".previous", ".scrub"):
            # The neighbouring moment may be the other lower's, with nothing new in this one.
            before = page.input_value(".scrub")
            page.focus(control)
            page.keyboard.press("Enter" if control != ".scrub" else "End")
            assert page.input_value(".scrub") != before
        page.focus(".question:not([hidden]) summary")
        page.keyboard.press("Enter")
        assert page.is_visible(".question:not([hidden]) details p")


def test_number_keys_go_to_the_steps_and_space_plays(lesson, taught):
    with lesson() as page:
        assert page.text_content(".keys").startswith("Keys: 1 to 6")
        for number, place in enumerate(taught.steps, 1):
            page.keyboard.press(str(number))
            assert page.input_value("#material") == str(place)
        page.keyboard.press("Control+1")
        assert page.input_value("#material") == str(taught.steps[-1])
        page.click("#show")
        page.focus("#travel")
        page.keyboard.press("Space")
        assert page.text_content(".toggle") == "Pause"


def test_an_answer_is_in_sight_once_it_is_opened(lesson):
    for width, height in ((1280, 720), (360, 740)):
        with lesson(width=width, height=height) as page:
            for number in "123456":
                page.keyboard.press(number)
                page.click("#show")
                page.click(".question:not([hidden]) summary")
                page.wait_for_timeout(100)
                answer = page.locator(".question:not([hidden]) details").bounding_box()
                foot = page.locator(".always").bounding_box()
                assert answer["y"] + answer["height"] <= foot["y"] + 1.0


def test_with_tab_alone_every_control_is_reached(lesson):
    with lesson() as page:
        page.click("#show")
        page.evaluate("document.activeElement.blur(); scrollTo(0, 0)")
        reached = set()
        for _ in range(30):
            page.keyboard.press("Tab")
            reached.add(page.evaluate("document.activeElement.id || document.activeElement.className"))
        assert {"material", "travel", "previous", "toggle", "next", "scrub"} <= reached


def test_it_moves_by_itself_only_where_motion_is_wanted(lesson):
    for wanted, plays in (("no-preference", True), ("reduce", False)):
        with lesson(reduced_motion=wanted) as page:
            page.click("#show")
            page.wait_for_timeout(200)
            assert page.evaluate("player.playing") is plays
            assert page.text_content(".toggle") == ("Pause" if plays else "Play")


@pytest.mark.parametrize("width", [320, 768, 1280, 1920])
def test_nothing_is_cut_and_the_caution_stays_in_sight(lesson, width):
    with lesson(width=width, height=720) as page:
        for shown in (False, True):
            if shown:
                page.click("#show")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            for end in (0, 1e6):
                page.evaluate(f"scrollTo(0, {end})")
                box = page.locator(".always").bounding_box()
                assert box["y"] + box["height"] <= 721
            assert "Invented lower, computed, not measured." in page.text_content(".always")
        for panel in page.locator(".views figure:visible").all():
            box = panel.bounding_box()
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= width


def test_letters_are_eighteen_points_on_a_projector(lesson):
    with lesson(width=1920, height=1080) as page:
        page.click("#show")
        small = page.evaluate(
            """() => [...document.querySelectorAll(".screen *")].filter(element =>
                [...element.childNodes].some(node => node.nodeType === 3 && node.textContent.trim()) &&
                element.checkVisibility()).map(element => {
                    const svg = element.closest("svg");
                    const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
                    const size = scale * parseFloat(getComputedStyle(element).fontSize);
                    return [element.textContent.slice(0, 40), size];
                }).filter(([, size]) => size < 23.9)"""
        )
        assert small == []


def test_axe_finds_nothing_serious(lesson):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    with lesson() as page:
        for act in (lambda: None, lambda: page.click("#show")):
            act()
            faults = axe.Axe().run(page).response["violations"]
            assert [fault["id"] for fault in faults if fault["impact"] in ("serious", "critical")] == []


def test_a_hostile_title_is_text(lesson, taught):
    scenario = read_scenario(SCENARIOS / "primer.toml").model_copy(update={"title": HOSTILE})
    with lesson(lesson_html(replace(taught, scenario=scenario)), width=320) as page:
        assert page.locator("img").count() == 0
        assert "onerror=alert(2)" in page.text_content("h1 .title")
        assert page.get_attribute("h1 .title", "dir") == "auto"
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        assert page.text_content(".always").startswith("Computed, not measured.")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_printed_it_is_two_pages_for_the_class_and_the_answers_on_one_of_their_own(lesson, taught, paper):
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    with lesson() as page:
        sheets = [
            " ".join(p.extract_text().split())
            for p in pypdf.PdfReader(io.BytesIO(page.pdf(format=paper))).pages
        ]
        stills = page.evaluate(
            'document.querySelectorAll(".stills svg [data-moves=inlet-ball][transform]").length'
        )
    assert len(sheets) == 3
    assert stills == 3
    assert sheets[0].count("Upstroke") >= 1
    assert "Fill in while you try them" in sheets[0]
    assert all(f"{number}. " in sheets[1] for number in range(1, 7))
    for sheet in sheets:
        assert "Invented lower, computed, not measured." in sheet
        assert "relieve pressure, lock out" in sheet
    best = taught.materials[taught.steps[3]].best
    told = f"{100 * best.delivery:.1f} %"
    assert told in sheets[2]
    assert told not in sheets[0] + sheets[1]


def test_the_page_is_small_and_fetches_nothing(page_text):
    assert len(page_text.encode()) < 1_500_000
    assert not re.search(r"https?://(?!www\.w3\.org)", page_text)
    assert not re.search(r"<(link|img|iframe)\b|\bsrc=|@import|url\(", page_text)
    data = held(page_text)
    assert max(len(json.dumps(run)) for material in data["materials"] for run in material["runs"]) < 28_000


def test_in_us_units_no_metric_size_is_shown(story):
    scenario = story("mastic", 'shims.thicknesses=["2 mm"]', "shims.below=[]")
    with shown_in("us"):
        text = lesson_html(lesson_of(scenario))
    data = held(text)
    said = [
        run[words]
        for material in data["materials"]
        for run in material["runs"]
        for words in ("said", "against")
    ]
    said += [saying["said"] for saying in data["sayings"]]
    body = re.sub(r"<(style|svg|script).*?</\1>|<[^>]*>", " ", text, flags=re.DOTALL)
    for words in (*said, body):
        assert not re.search(r"\d (mm|bar|Pa\.s|m/s|kg/m3)\b", words)
    assert re.search(r"\d in: [\d.]+ % of swept drawn in", " ".join(said))
