"""The page of an animation in a browser: it shows the run, asks for nothing, and obeys keys."""

import json
import re

import numpy as np
import pytest

from balltravel import animate, run_cycle, with_values
from balltravel.report.pages.animation import PICTURES_PER_SECOND, animation_html
from balltravel.report.section.film import film_of
from balltravel.report.section.lower import lower_sizes

from .browser import opened
from .test_film import rows_around

HOSTILE = (
    '</script><script>alert(1)</script>"><img src=x onerror=alert(2)> שלום "mine" & Söhne ' + "long " * 20
)


@pytest.fixture
def page_of(tmp_path, browser):
    """Writes the page of a scenario, or of two, and opens it."""

    def write(*scenarios, **options):
        path = tmp_path / "ball.html"
        path.write_text(animation_html([run_cycle(each) for each in scenarios]), encoding="utf-8")
        return opened(browser, path, **options)

    return write


def until(page, condition):
    """Wait until something holds; the page's own rules forbid playwright's way of asking."""
    for _ in range(200):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    raise AssertionError(condition)


def ball_in(page, view):
    """Pixels of the inlet ball's middle below the seat's top, and of a millimetre, in a view of the lower."""
    return page.evaluate(
        """view => {
            const svg = document.querySelector(`.${view} svg`), box = svg.getBoundingClientRect();
            const scale = box.height / svg.viewBox.baseVal.height;
            const place = selector => svg.querySelector(selector).getBoundingClientRect();
            const ball = place("[data-moves=inlet-ball] .ball");
            return [(ball.top + ball.bottom) / 2 - place("polygon.seat").top, scale];
        }""",
        view,
    )


@pytest.mark.parametrize("view", ["whole", "close"])
def test_the_ball_is_within_a_pixel_of_where_the_run_has_it_at_fifty_instants(page_of, story, view):
    scenario = story("mastic")
    cycle = run_cycle(scenario)
    film = film_of([cycle], PICTURES_PER_SECOND)
    inlet = lower_sizes(scenario).inlet
    with page_of(scenario) as page:
        for k in np.linspace(0, film.share.size - 1, 50).astype(int):
            page.evaluate(f"player.to({k})")
            below_seat, scale = ball_in(page, view)
            least, most = rows_around(cycle.motion, film.share[k] * cycle.motion.period)
            up = [1e3 * scale * (inlet.ball_at_rest - inlet.mouth_height + lift) for lift in (least, most)]
            assert up[0] - 1.0 <= -below_seat <= up[1] + 1.0


def test_keys_go_from_event_to_event_and_space_plays_and_stops(page_of, story):
    scenario = story("mastic")
    film = film_of([run_cycle(scenario)], PICTURES_PER_SECOND)
    with page_of(scenario) as page:
        at = lambda: page.evaluate("player.k")  # noqa: E731
        assert page.evaluate("player.playing") is False
        for stop in [*film.stops[1:], film.stops[0]]:
            page.keyboard.press("ArrowRight")
            assert at() == stop.picture
            assert page.text_content(".said") == stop.said
            assert page.text_content(".moments [aria-current=true]").endswith(stop.said)
        for stop in reversed(film.stops[1:]):
            page.keyboard.press("ArrowLeft")
            assert at() == stop.picture
        page.focus(".scrub")
        page.keyboard.press("ArrowRight")
        assert at() == film.stops[2].picture
        page.keyboard.press("Home")
        assert at() == 0
        page.keyboard.press("Space")
        assert page.evaluate("player.playing") is True
        until(page, "player.k > 5")
        page.keyboard.press("Space")
        assert page.evaluate("player.playing") is False


def test_every_control_moves_ball_bars_and_sentence_without_a_mouse(page_of, story):
    with page_of(story("mastic")) as page:
        seen = set()
        for _ in range(14):
            page.keyboard.press("Tab")
            focused = page.evaluate("document.activeElement.tagName")
            if focused != "SUMMARY":  # which would hide the events that come next
                page.keyboard.press("End" if focused == "INPUT" else "Enter")
            page.evaluate("player.pause()")
            ball = page.get_attribute(".close [data-moves=inlet-ball]", "transform")
            seen.add((ball, page.text_content("output.drawn"), page.text_content(".said")))
        assert len(seen) >= 7
        assert len({state[0] for state in seen}) >= 3
        assert len({state[1] for state in seen}) >= 3


def test_it_plays_by_itself_unless_less_motion_is_asked_for(page_of, story):
    with page_of(story("mastic"), reduced_motion="no-preference") as page:
        assert page.evaluate("player.playing") is True
        until(page, "player.k > 3")
    with page_of(story("mastic"), reduced_motion="reduce") as page:
        page.wait_for_timeout(300)
        assert page.evaluate("[player.playing, player.k]") == [False, 0]


@pytest.mark.parametrize("width", [320, 360, 768, 1024, 1280, 1920])
@pytest.mark.parametrize("compare", [False, True])
def test_nothing_is_cut_from_320_to_1920_pixels(page_of, story, width, compare):
    lowers = [story("mastic"), story("mastic", "shims.below=[]", f'title="{"longest" * 12} {"long " * 20}"')]
    with page_of(*lowers[: 1 + compare], width=width) as page:
        page.evaluate("player.to(60)")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        views = page.locator("figure svg:visible")
        assert views.count() >= 2
        for view in views.all():
            box = view.bounding_box()
            assert box["x"] >= 0.0
            assert box["x"] + box["width"] <= width
            assert box["width"] > 40.0


@pytest.mark.parametrize("compare", [False, True])
def test_axe_finds_nothing_serious(page_of, story, compare):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed")
    lowers = [story("mastic"), story("mastic", "shims.below=[]")]
    with page_of(*lowers[: 1 + compare]) as page:
        page.keyboard.press("ArrowRight")
        faults = axe.Axe().run(page).response["violations"]
        assert [fault["id"] for fault in faults if fault["impact"] in ("serious", "critical")] == []


def test_hostile_titles_are_text(page_of, story):
    scenario = with_values(story("primer"), {"title": HOSTILE})
    with page_of(scenario, with_values(story("primer"), {"title": "<b>bold</b>"})) as page:
        assert page.locator("img, b").count() == 0
        names = page.locator("h2").all_text_contents()
        assert "onerror=alert(2)" in names[0]
        assert names[1] == "<b>bold</b>"


def test_the_page_holds_the_run_the_cautions_and_nothing_to_fetch(story, tmp_path):
    path = tmp_path / "ball.html"
    animate(story("mastic"), path, compare=story("mastic", "shims.below=[]"))
    text = path.read_text(encoding="utf-8")
    assert len(text) < 200_000
    assert "Computed, not measured" in text
    assert "relieve pressure, lock out" in text
    assert not re.search(r"https?://(?!www\.w3\.org)", text)
    assert not re.search(r"<(link|img|iframe)\b|\bsrc=|@import|url\(", text)
    data = json.loads(
        re.search(r'<script type="application/json" id="run">(.*?)</script>', text, re.DOTALL)[1]
    )
    for settings, lower in zip(((), ("shims.below=[]",)), data["lowers"], strict=True):
        cycle = run_cycle(story("mastic", *settings))
        assert lower["drawn"][-1] == pytest.approx(100 * cycle.metrics.fill_fraction, abs=0.01)
        back = 100 * cycle.metrics.inlet.backflow_volume / cycle.motion.swept_volume
        assert lower["back"][-1] == pytest.approx(back, abs=0.01)
