"""A film shows the run: where its balls are, when, how slowly, and in a file that goes by mail."""

import io
import sys

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from PIL import Image

import balltravel
from balltravel import run_cycle
from balltravel.cli.main import main
from balltravel.report.animate import animation
from balltravel.report.care import invented
from balltravel.report.figures.film.encode import PACE, gif, mp4
from balltravel.report.figures.film.pictures import COLOURS, Animation
from balltravel.report.figures.section import LOOKS
from balltravel.report.section.film import FACTORS, film_of, scale_in_words
from balltravel.report.section.moments import moments_of
from balltravel.report.section.shapes import Moves, Part
from balltravel.report.section.titles import one_clock, titles_of

from ..conftest import SCENARIOS

LOWERS = sorted(path.stem for path in SCENARIOS.glob("*.toml"))
IN_THE_SUITE = ("primer_conical_seat", "putty_needs_a_ram_plate", "stain_by_air")
"""A cone, a feed by a plate, an air motor with a tip; the others are a soak."""


def rows_around(m, time):
    """The least and the largest lift of the inlet ball in the rows of a run on both sides of a time."""
    last = np.searchsorted(m.time, time, "right")
    near = m.lift[max(last - 1, 0) : last + 1, 0]
    return near.min(), near.max()


def test_every_moment_has_its_picture_at_its_time_and_time_for_its_sentence(story):
    cycle = run_cycle(story("mastic"))
    film = film_of([cycle], 25.0)
    assert [stop.said for stop in film.stops] == [moment.said for moment in moments_of(cycle)]
    for stop, moment in zip(film.stops, moments_of(cycle), strict=True):
        assert film.share[stop.picture] * cycle.motion.period == pytest.approx(moment.time, abs=1e-8)
        assert film.shown[stop.picture] > 0.2 * len(stop.said.split())
    assert np.all(np.diff(film.share) > 0.0)
    assert film.share[0] == 0.0


def test_the_film_lasts_as_long_as_its_scale_of_time_says(story):
    cycle = run_cycle(story("mastic"))
    film = film_of([cycle], 25.0)
    steps = np.diff(np.append(film.share, 1.0)) * cycle.motion.period
    stopped = np.isin(np.arange(film.share.size), [stop.picture for stop in film.stops])
    assert film.shown[~stopped] == pytest.approx((steps * film.slowed)[~stopped], rel=1e-9)
    slow = set(film.slowed)
    assert slow == {1.0, 20.0}
    assert all(factor in FACTORS for factor in slow)


@pytest.mark.parametrize(
    ("slowed", "words"), [(20, "slowed 20 times"), (1, "real time"), (0.5, "2 times as fast")]
)
def test_the_scale_of_time_is_said_in_words(slowed, words):
    assert scale_in_words(slowed) == words


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=() if n in IN_THE_SUITE else pytest.mark.soak) for n in LOWERS]
)
def test_pictures_of_a_gif_have_the_balls_where_the_run_has_them_and_the_file_is_small(story, name):
    """In 50 pictures, or in all of a film that has fewer, the ball found by its colour is within a pixel."""
    cycle = run_cycle(story(name))
    film = film_of([cycle], PACE[".gif"])
    drawing = Animation([cycle], film)
    data = gif(list(drawing.pictures()), film.shown, COLOURS)
    assert len(data) < 3e6
    pictures = Image.open(io.BytesIO(data))
    close = drawing.drawings[0].views[1]
    ball = next(shape for shape, _ in close.drawn if shape.moves is Moves.INLET_BALL)
    colour = np.round(255 * np.array(to_rgb(LOOKS[Part.BALL]["facecolor"])))
    height = pictures.size[1]
    shown = 0.0
    for k in range(pictures.n_frames):
        pictures.seek(k)
        shown += pictures.info["duration"]
        if k % max(1, pictures.n_frames // 50):
            continue
        rgb = np.asarray(pictures.convert("RGB"), float)
        place = close.axes.transData.transform
        column = round(place((0.0, 0.0))[0])
        least, most = rows_around(cycle.motion, film.share[k] * cycle.motion.period)
        tops = [height - place((0.0, ball.centre.y + ball.radius + lift))[1] for lift in (least, most)]
        bottom = height - place((0.0, ball.centre.y - ball.radius + least))[1]
        amber = np.abs(rgb[:, column] - colour).max(axis=1) < 30.0
        rows = [row for row in np.nonzero(amber)[0] if tops[1] - 20 < row < bottom + 20]
        # A line of 1.4 pixels about the ball is not amber.
        assert tops[1] - 1.0 <= rows[0] - 0.7 <= tops[0] + 1.0
        assert rows[-1] + 1.7 == pytest.approx(bottom, abs=1.0 + tops[0] - tops[1])
    assert shown == pytest.approx(1e3 * film.length, abs=40.0)


def test_the_bars_end_at_what_the_metrics_say(story):
    cycle = run_cycle(story("mastic"))
    film = film_of([cycle], PACE[".gif"])
    drawing = Animation([cycle], film)
    drawing.picture(len(film.share) - 1)
    words = [text.get_text() for text in drawing.drawings[0].shares]
    swept = cycle.motion.swept_volume
    assert words[0] == f"{100 * cycle.metrics.fill_fraction:.1f} %"
    assert words[1] == f"{100 * cycle.metrics.inlet.backflow_volume / swept:.1f} %"
    widths = [bar.get_width() for bar in drawing.drawings[0].bars]
    assert widths[0] == pytest.approx(100 * cycle.metrics.fill_fraction, rel=1e-6)


def test_two_lowers_are_shown_at_the_same_share_of_their_cycles_and_that_is_said(story):
    cycles = [run_cycle(story("primer")), run_cycle(story("primer", "drive.cycle_rate=20 /min"))]
    film = film_of(cycles, PACE[".gif"])
    drawing = Animation(cycles, film)
    first, second = (lower.places.time for lower in drawing.drawings)
    assert second == pytest.approx(1.5 * first, rel=1e-9)
    assert "30 and 20 cycles/min" in one_clock(cycles)
    assert one_clock(cycles[:1] * 2) == ""
    titles = titles_of(cycles)
    assert titles.whole == "One lower, primer"
    assert "30 cycles/min" in titles.each[0][0]
    assert "20 cycles/min" in titles.each[1][0]


def test_lowers_that_look_the_same_in_words_get_the_names_that_are_given(story):
    cycles = [run_cycle(story("primer")), run_cycle(story("primer", "suction.hose_length=3 m"))]
    assert titles_of(cycles, ("as given", "compared")).each == (("as given",), ("compared",))


def test_a_file_that_says_that_it_is_invented_is_quoted():
    for path in sorted(SCENARIOS.glob("*.toml")):
        words = invented(path.read_text(encoding="utf-8"))
        assert words.startswith("Invented: neither")
        assert words.endswith("practice.")
        assert words.count(".") == 1
    assert invented('title = "mine"\n# the bore was measured\n') == ""


def test_animate_refuses_what_it_cannot_write(story, tmp_path, capsys):
    with pytest.raises(balltravel.ScenarioError, match=r"allowed: a name ending in \.gif, \.mp4 or \.html"):
        balltravel.animate(story("primer"), tmp_path / "ball.avi")
    file = str(SCENARIOS / "primer.toml")
    assert main(["simulate", file, "--animate", str(tmp_path / "ball.avi")]) == 2
    assert main(["simulate", file, "--compare", "shims.below=[]"]) == 2
    out = str(tmp_path / "ball.html")
    assert main(["simulate", file, "--animate", out, "--compare", "shims.below=[9]"]) == 2
    assert main(["simulate", file, "--animate", out, "--compare", file, "--compare", file]) == 2
    said = capsys.readouterr().err
    assert "--compare: nothing is animated; allowed: with --animate" in said
    assert "--compare shims.below=[9]: shims.below: no shim has the number 9" in " ".join(said.split())
    assert "--compare: 2 files given; allowed: one" in said
    assert not list(tmp_path.iterdir())


def test_without_ffmpeg_mp4_is_refused_in_a_plain_sentence(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("PATH", str(tmp_path))
    out = str(tmp_path / "ball.mp4")
    assert main(["simulate", str(SCENARIOS / "primer.toml"), "--animate", out]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert (
        "needs the program ffmpeg, which is not on this machine; allowed here: a name ending in .gif" in said
    )


@pytest.fixture
def ffmpeg_of_ours(tmp_path, monkeypatch):
    """Puts a program by that name on the path, which does what the text of a Python program says."""
    if sys.platform == "win32":
        pytest.skip("a program is a script with its first line here")

    def put(text):
        program = tmp_path / "bin" / "ffmpeg"
        program.parent.mkdir(exist_ok=True)
        program.write_text(f"#!{sys.executable}\nimport sys\n{text}\n")
        program.chmod(0o755)
        monkeypatch.setenv("PATH", str(program.parent))

    return put


def test_ffmpeg_gets_each_picture_as_often_as_it_stays(ffmpeg_of_ours):
    ffmpeg_of_ours('open(sys.argv[-1], "wb").write(sys.stdin.buffer.read())')
    pictures = [np.full((2, 4, 3), value, np.uint8) for value in (10, 20, 30)]
    data = np.frombuffer(mp4(iter(pictures), np.array([0.04, 0.2, 0.08])), np.uint8).reshape(-1, 24)
    assert data[:, 0].tolist() == [10] + 5 * [20] + 2 * [30]


def test_what_ffmpeg_says_when_it_fails_is_said(ffmpeg_of_ours, tmp_path, capsys):
    ffmpeg_of_ours('sys.exit("no encoder here")')
    out = str(tmp_path / "ball.mp4")
    assert main(["simulate", str(SCENARIOS / "stain.toml"), "--animate", out]) == 1
    assert "cannot be written: ffmpeg failed: no encoder here" in capsys.readouterr().err


def test_a_run_that_fails_is_not_animated(story, tmp_path, capsys):
    setting = "drive.supply_gauge_pressure=0.4 bar"  # the motor stalls
    out = tmp_path / "ball.html"
    command = ["simulate", str(SCENARIOS / "stain_by_air.toml"), "--set", setting, "--animate", str(out)]
    assert main(command) == 3
    assert f"{out}: not drawn, for a run failed" in capsys.readouterr().err
    assert not out.exists()
    with pytest.raises(ValueError, match="the run failed: The motor stalls"):
        animation([run_cycle(story("stain_by_air", setting))], ".html")
