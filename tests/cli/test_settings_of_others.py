"""Settings that a user made for other programs change no figure, and stop none."""

import os
import subprocess
import sys

import pytest

RATIOS = ("--ball-over-seat", "1.4", "--cage-over-seat", "1.8", "--lift-over-seat", "0.2")


def draw(folder, environment=()):
    """Draw in a folder; the picture's bytes."""
    done = subprocess.run(
        [sys.executable, "-m", "balltravel.cli", "resistance", *RATIOS, "--figure", "a.png"],
        capture_output=True, text=True, check=False, cwd=folder, env={**os.environ, **dict(environment)},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "a.png: written\n")
    return (folder / "a.png").read_bytes()


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    return draw(tmp_path_factory.mktemp("plain"))


@pytest.mark.parametrize(
    ("text", "place"),
    [
        (b"text.usetex: true\n", "current folder"), (b"backend: nonsense\nno such key: 3\n", "user's folder"),
        (b"\xff\xfe", "current folder"), (b"axes.facecolor: red\n", "user's folder"),
    ],
    ids=["TeX", "unknown", "no text", "red"],
)  # fmt: skip
def test_a_settings_file_of_matplotlib_changes_no_figure(tmp_path, plain, text, place):
    folder = tmp_path if place == "current folder" else tmp_path / "config"
    folder.mkdir(exist_ok=True)
    (folder / "matplotlibrc").write_bytes(text)
    config = [("MPLCONFIGDIR", str(folder))] if place == "user's folder" else []
    assert draw(tmp_path, config) == plain


@pytest.mark.parametrize("backend", ["TkAgg", "module://no_such_module"])
def test_a_backend_that_another_program_wants_changes_no_figure(tmp_path, plain, backend):
    assert draw(tmp_path, [("MPLBACKEND", backend)]) == plain


def test_settings_of_the_program_that_draws_through_ours_come_back():
    import matplotlib

    from balltravel.report.figures.plain import plain_settings

    with matplotlib.rc_context({"axes.facecolor": "red"}):
        with plain_settings():
            assert matplotlib.rcParams["axes.facecolor"] == "white"
        assert matplotlib.rcParams["axes.facecolor"] == "red"
