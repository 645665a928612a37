"""What is said to whoever interrupts a command is what happened."""

import os
import re
import stat
import sys
from pathlib import Path

import pytest
import xarray as xr

from balltravel.cli import main as cli
from balltravel.cli import output
from balltravel.cli.command import Command
from balltravel.files.read_write import write_dataset

PRIMER = Path(__file__).parents[2] / "scenarios" / "primer.toml"
MADE_UP = f"{Path(__file__).stem}_made_up"


@pytest.fixture
def told(monkeypatch, tmp_path, capsys):
    """Runs a made-up command that is interrupted at a place; returns code and what was said."""

    def interrupt(*_):
        raise KeyboardInterrupt

    def call(place, *arguments):
        steps = {name: lambda *_: None for name in ("work", "figure", "text")}
        steps |= {"work": lambda _: (1,), "text": lambda *_: "a result", place: interrupt}
        row = Command(
            "try", "", steps["work"], "text", "json", figure="figure", draws="it", writes="it",
            dataset=lambda *_: xr.Dataset({"x": 1}), compiled=False,
        )  # fmt: skip
        monkeypatch.setattr(cli, "COMMANDS", (row,))
        monkeypatch.setattr("balltravel.cli.run._load", lambda name: steps[name])
        monkeypatch.chdir(tmp_path)
        code = cli.main(["try", str(PRIMER), *arguments])
        return code, capsys.readouterr().err

    return call


def test_before_anything_was_written_nothing_was(told, tmp_path):
    said = "interrupted: nothing was written\n"
    assert told("work", "--out", "a.nc", "--figure", "a.png") == (130, said)
    assert list(tmp_path.iterdir()) == []


def test_a_sweep_that_is_interrupted_says_how_the_next_one_goes_on(monkeypatch, capsys):
    def interrupt(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("balltravel.sweeps.grid.sweep", interrupt)
    assert cli.main(["sweep", str(PRIMER)]) == 130
    assert "with --out FOLDER a sweep keeps what is finished" in capsys.readouterr().err


@pytest.mark.parametrize("place", ["figure", "text"])
def test_a_result_that_was_written_before_is_named(told, tmp_path, place):
    code, err = told(place, "--out", "a.nc", *(["--figure", "a.png"] if place == "figure" else []))
    assert (code, err) == (130, "a.nc: written\ninterrupted: a.nc was written\n")
    assert (tmp_path / "a.nc").exists()


def test_a_file_that_was_being_written_is_named(told, monkeypatch):
    def interrupted_write(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("balltravel.files.read_write.write_dataset", interrupted_write)
    err = told("text", "--out", "a.nc")[1]
    assert err == "interrupted: a.nc was being written: it is whole, or as it was before\n"


def test_a_result_that_was_being_printed_may_be_cut_short(told, monkeypatch):
    class Stopping:
        def write(self, _):
            raise KeyboardInterrupt

    monkeypatch.setattr(sys, "stdout", Stopping())
    assert told("none")[1] == "interrupted: the printed result may be cut short\n"


# A name that cannot be written.


def refused(told, *arguments):
    """Refused before the work, which would be interrupted."""
    code, err = told("work", *arguments)
    assert code == 2, err
    return err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_what_is_no_plain_file_is_refused_before_the_run(told, tmp_path):
    os.mkfifo(tmp_path / "a.nc")
    assert "no plain file" in refused(told, "--out", "a.nc")


@pytest.mark.parametrize(
    ("option", "name", "words"),
    [
        ("--figure", ".png", "a name ending in"),
        ("--out", ".nc", "a name ending in"),
        ("--out", f"{'long' * 70}.nc", "name too long"),
        ("--out", "around.nc", "symbolic links"),
        ("--out", "dangling.nc", "No such file"),
        ("--out", "there.nc", "Permission denied"),
    ],
)
def test_a_name_that_cannot_be_written_is_refused_before_the_run(
    told, tmp_path, monkeypatch, option, name, words
):
    (tmp_path / "around.nc").symlink_to("around.nc")
    (tmp_path / "dangling.nc").symlink_to(tmp_path / "gone" / "a.nc")
    (tmp_path / "there.nc").touch()
    plain_open = os.open

    def open_as_no_superuser(path, *arguments, **named):
        if Path(path).name == "there.nc":
            raise PermissionError(13, "Permission denied")
        return plain_open(path, *arguments, **named)

    monkeypatch.setattr(os, "open", open_as_no_superuser)
    assert words.lower() in refused(told, option, name).lower()
    assert len(list(tmp_path.iterdir())) == 3


def test_a_long_name_that_the_folder_can_have_is_written(tmp_path):
    write_dataset(xr.Dataset({"x": 1}), tmp_path / f"{'n' * 250}.nc")
    assert len(list(tmp_path.iterdir())) == 1


# An older file of that name.


def test_a_link_stays_a_link_and_what_it_leads_to_is_replaced(tmp_path):
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "real.nc").write_bytes(b"old")
    (tmp_path / "link.nc").symlink_to(Path("far") / "real.nc")
    write_dataset(xr.Dataset({"x": 1}), tmp_path / "link.nc")
    assert (tmp_path / "link.nc").is_symlink()
    assert (tmp_path / "far" / "real.nc").stat().st_size > 500
    assert len(list(tmp_path.rglob("*"))) == 3


def test_a_link_to_nothing_yet_gets_its_file(tmp_path):
    (tmp_path / "link.nc").symlink_to("real.nc")
    write_dataset(xr.Dataset({"x": 1}), tmp_path / "link.nc")
    assert (tmp_path / "link.nc").is_symlink()
    assert (tmp_path / "real.nc").stat().st_size > 500


@pytest.mark.skipif(sys.platform == "win32", reason="rights of POSIX")
def test_rights_stay_those_that_the_file_had(tmp_path):
    path = tmp_path / "a.nc"
    path.touch()
    path.chmod(0o640)
    write_dataset(xr.Dataset({"x": 1}), path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


# Progress.


@pytest.fixture
def lines(monkeypatch, capsys):
    """The lines of progress of these counts, one every second, twenty seconds between two lines."""

    def tell(*counts):
        clock = iter(range(10_000))
        monkeypatch.setattr(output.time, "monotonic", lambda: float(next(clock)))
        with output.progress_bar("runs") as progress:
            for done, whole in counts:
                progress(done, whole)
        return capsys.readouterr().err.splitlines()

    return tell


def test_progress_that_was_begun_is_told_to_its_end(lines):
    assert lines(*((done, 50) for done in range(1, 51)))[-1] == "50 of 50 runs"
    assert lines(*((done, 3) for done in range(1, 4))) == []


def test_counts_that_threads_bring_out_of_order_do_not_fall(lines):
    counts = [(done, 60) for done in (*range(1, 59), 60, 59)]
    told = [int(line.split()[0]) for line in lines(*counts)]
    assert told[-1] == 60
    assert told == sorted(told)


def test_a_line_of_progress_has_the_rate_and_the_time_left(lines):
    """One count a second; what a former run had done, 40 cases, is no part of the rate."""
    told = lines(*((40 + 2 * done, 100_000) for done in range(1, 30)))
    assert re.fullmatch(r"\d+ of 100000 runs, 1 a second, about 28 h left", told[0]), told


@pytest.mark.parametrize(
    ("seconds", "words"), [(0.4, "0 s"), (119, "119 s"), (120, "2 min"), (7200, "2 h"), (864_000, "10 days")]
)
def test_a_time_left_is_told_as_one_tells_it(seconds, words):
    assert output.time_in_words(seconds) == words


def test_a_slow_rate_is_told_by_the_minute():
    assert output.rate_in_words(0.05) == "3 a minute"
    assert output.rate_in_words(123.4) == "123 a second"
