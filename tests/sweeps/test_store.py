"""A folder keeps every finished chunk of a sweep: what is sound stays, what is damaged is computed again, and
what is of another study is refused and not touched."""

import errno
import json
import os
import shutil
import subprocess
import sys
import threading

import pytest
import xarray as xr

from balltravel import ScenarioError, read_dataset, with_values
from balltravel.core.status import Status
from balltravel.files import read_write
from balltravel.files.read_write import FileError
from balltravel.sweeps.columns import compute
from balltravel.sweeps.engine import run_plan
from balltravel.sweeps.folder import resumable, store
from balltravel.sweeps.folder.resumable import run_plan_into
from balltravel.sweeps.pools import pool_for

from ..helpers.plans import FATAL, Viscosities, fails_at_three, same_bits, stand_in

RTOL = 1e-4
PLAN = Viscosities(50)
WHOLE = stand_in(PLAN.scenario, PLAN.changes(0, 50), RTOL)


class Run:
    """Sweeps into a folder, and keeps what was told and which cases were computed."""

    def __init__(self, folder):
        self.folder, self.told, self.computed = folder, [], []
        self.lock = threading.Lock()

    def __call__(self, plan=PLAN, rtol=RTOL, **arguments):
        self.told, self.computed = [], []
        with run_plan_into(
            plan, self.folder, rtol=rtol, workers=2, tell=self.told.append, compute=self.compute, **arguments
        ) as data:
            return data.load()

    def compute(self, scenario, changes, rtol):
        with self.lock:
            self.computed += [values["material.viscosity"] for values in changes]
        return stand_in(scenario, changes, rtol)

    def chunks(self):
        return sorted(self.folder.glob("cases_*.npz"))


@pytest.fixture
def run(tmp_path, monkeypatch):
    """A sweep of 50 cases into a folder, in chunks of 8."""
    monkeypatch.setattr(resumable, "_chosen_block", lambda *_: 8)
    return Run(tmp_path / "sweep")


def broken_off(run, after):
    """Interrupts a sweep after so many cases."""

    def press(done, _):
        if done >= after:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(progress=press)


def test_a_folder_ends_in_the_arrays_that_memory_has(tmp_path):
    plan = Viscosities(30, first=0.02, step=0.7)
    in_memory = run_plan(plan, RTOL, 2)
    with run_plan_into(plan, tmp_path / "sweep", rtol=RTOL, workers=2) as data:
        assert same_bits(in_memory, data)
        assert dict(data.sizes) == {"case": 30}
        assert data.fill_fraction.attrs["units"] == "1"
        assert data.attrs["rtol"] == RTOL
    assert same_bits(compute(plan.scenario, plan.changes(0, 30), RTOL), in_memory)


def test_a_sweep_that_was_broken_off_computes_only_what_is_missing(run):
    broken_off(run, 24)
    kept = len(run.chunks())
    assert 3 <= kept <= 6
    assert same_bits(WHOLE, run())
    assert len(run.computed) == 50 - 8 * kept
    written = f"{run.folder / 'result.nc'}: written"
    assert run.told == [f"{run.folder}: {8 * kept} of 50 cases are there already", written]
    assert same_bits(WHOLE, run())
    assert run.computed == []
    assert written not in run.told  # it was there and sound


def test_progress_of_a_sweep_that_goes_on_begins_at_what_is_there(run):
    broken_off(run, 24)
    kept, counts = 8 * len(run.chunks()), []
    run(progress=lambda *count: counts.append(count))
    assert counts[0] == (kept, 50)
    assert counts[-1] == (50, 50)


# How many cases a chunk has.


@pytest.mark.parametrize(
    ("count", "seconds", "block"),
    [
        (3, None, 1),  # some for each of two threads; none is tried
        (16, None, 4),
        (1000, 0.01, 100),  # a second
        (1000, 2.0, 1),
        (100, 1e-6, 100),  # all of them last no time
        (10_000_000, 0.5, 1000),  # no more files than a folder bears
    ],
)
def test_a_new_folder_is_cut_by_how_long_a_case_takes(monkeypatch, count, seconds, block):
    monkeypatch.setattr(resumable, "_seconds_a_case", lambda *_: seconds)
    with pool_for(2) as pool:
        assert resumable._chosen_block(Viscosities(count), pool, RTOL, stand_in) == block


def test_a_folder_is_cut_although_the_cases_that_are_tried_fail(tmp_path):
    plan = Viscosities(60, first=FATAL, step=0.0)
    with run_plan_into(plan, tmp_path / "sweep", rtol=RTOL, workers=2, compute=fails_at_three) as data:
        assert set(data.error.values) == {"ZeroDivisionError: nobody foresaw this"}
        assert set(data.status.values) == {Status.UNFORESEEN}


# Damage.


def emptied(path):
    path.write_bytes(b"")


def cut_short(path):
    path.write_bytes(path.read_bytes()[:-100])


def flipped(path):
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 4
    path.write_bytes(data)


def copied_from_its_neighbour(path):
    shutil.copy(path.with_name("cases_000000016_000000024.npz"), path)


@pytest.mark.parametrize("damage", [emptied, cut_short, flipped, copied_from_its_neighbour])
def test_a_damaged_chunk_is_computed_again(run, damage):
    run()
    damage(run.folder / "cases_000000008_000000016.npz")
    damage(run.folder / "cases_000000032_000000040.npz")
    (run.folder / "result.nc").unlink()
    assert same_bits(WHOLE, run())
    assert sorted(run.computed) == [1.0 + 0.25 * i for i in (*range(8, 16), *range(32, 40))]
    assert run.told[1] == f"{run.folder}: 2 chunks are damaged and computed again"


@pytest.mark.parametrize("damage", [emptied, cut_short, flipped, os.unlink])
@pytest.mark.parametrize("name", ["study.json", "result.nc"])
def test_what_can_be_made_from_the_chunks_is_made_anew(run, damage, name):
    run()
    damage(run.folder / name)
    assert same_bits(WHOLE, run())
    assert run.computed == []
    assert json.loads((run.folder / "study.json").read_text())["block"] == 8
    assert read_dataset(run.folder / "result.nc").sizes["case"] == 50


def test_a_file_that_a_killed_run_was_writing_is_taken_away(run):
    broken_off(run, 24)
    left = run.folder / ".cases_000000040_000000048.npz.x7_.part"
    left.write_bytes(b"half of it")
    hidden = run.folder / ".DS_Store"
    hidden.write_bytes(b"of a system")
    run()
    assert not left.exists()
    assert hidden.exists()


# What is refused.


def contents(folder):
    """All files and their bytes."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def refusal(run, *arguments, **named):
    """What is said; and that nothing in the folder was changed, and nothing run."""
    before = contents(run.folder)
    with pytest.raises(ScenarioError) as refused:
        run(*arguments, **named)
    assert contents(run.folder) == before
    assert run.computed == []
    return str(refused.value)


def test_a_folder_of_another_study_is_refused_with_what_differs(run, monkeypatch):
    run()
    assert "tolerance 0.0001 there, 1e-05 now" in refusal(run, rtol=1e-5)
    assert "number of cases 50 there, 49 now; allowed" in refusal(run, Viscosities(49))
    assert "study: the values swept over; allowed" in refusal(run, Viscosities(50, first=2.0))
    other = with_values(PLAN.scenario, {"lower.bore": 0.05, "title": "another"})
    said = refusal(run, Viscosities(50, scenario=other))
    assert "lower.bore 0.048 there, 0.05 now" in said
    assert 'title "One lower, mastic" there, "another" now' in said
    monkeypatch.setattr(store, "origin", lambda: "balltravel 9.0")
    assert ", sources " in (said := refusal(run))
    assert "there, balltravel 9.0 now" in said


def test_a_folder_with_other_files_is_refused(run):
    run.folder.mkdir()
    (run.folder / "thesis.tex").write_text("years of work")
    assert "it has other files: thesis.tex; allowed" in refusal(run)
    assert [path.name for path in run.folder.iterdir()] == ["thesis.tex"]


def test_a_folder_with_other_files_beside_those_of_its_sweep_is_refused(run):
    run()
    (run.folder / "a.npz").write_bytes(b"")
    (run.folder / "b").mkdir()
    assert "it has other files: a.npz and 1 more" in refusal(run)


def test_chunks_of_another_study_without_its_name_are_refused(run):
    run()
    (run.folder / "study.json").unlink()
    assert "study.json is missing or damaged" in refusal(run, rtol=1e-5)


def test_a_chunk_that_this_sweep_cannot_have_is_refused(run):
    run()
    run.chunks()[0].rename(run.folder / "cases_000000000_000000009.npz")
    assert "chunks of another cut (cases_000000000_000000009.npz)" in refusal(run)


@pytest.mark.parametrize("place", ["file", "none/sweep"])
def test_a_place_that_can_be_no_folder_is_refused(tmp_path, place):
    (tmp_path / "file").write_text("mine")
    with pytest.raises(ScenarioError, match="allowed: the name of a folder"):
        Run(tmp_path / place)()
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_a_second_run_in_the_same_folder_is_refused_while_the_first_is_at_work(run):
    second = []

    def try_again(done, _):
        if done and not second:
            with pytest.raises(ScenarioError, match="another run is at work in it") as refused:
                run_plan_into(PLAN, run.folder, rtol=RTOL, compute=stand_in)
            second.append(refused)

    run(progress=try_again)
    assert second


@pytest.mark.skipif(sys.platform == "win32", reason="forks")
def test_a_run_of_another_process_is_seen_and_a_killed_one_forgotten_although_its_child_lives(run):
    run.folder.mkdir()
    code = (
        "import os, sys, time\nfrom pathlib import Path\nfrom balltravel.sweeps.folder.lock import locked\n"
        "with locked(Path(sys.argv[1])):\n"
        "    child = os.fork()\n"
        "    if child:\n        print(child, flush=True)\n"
        "    time.sleep(60)\n"
    )
    other = subprocess.Popen([sys.executable, "-c", code, str(run.folder)], stdout=subprocess.PIPE, text=True)
    child = int(other.stdout.readline())
    try:
        assert "another run is at work in it" in refusal(run)
        other.kill()
        other.wait()
        os.kill(child, 0)  # it is there
        assert same_bits(WHOLE, run())
    finally:
        os.kill(child, 9)


# No room.


@pytest.mark.parametrize("file", ["study.json", "cases_000000024", "result.nc"])
def test_a_full_disk_is_told_and_the_same_call_goes_on_later(run, monkeypatch, file):
    plain, full = read_write._temporary_beside, []

    def beside(target):
        full.append(target.name.startswith(file))
        return plain(target)

    def fsync(_):
        if full[-1]:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as small:
        small.setattr(read_write, "_temporary_beside", beside)
        small.setattr(os, "fsync", fsync)
        with pytest.raises(FileError) as error:
            run()
    spans = [path.stem.split("_")[1:] for path in run.chunks()]
    kept = sum(int(stop) - int(start) for start, stop in spans)
    assert str(error.value).startswith(f"{run.folder}: cannot be written: No space left on device (")
    words = f"{kept} of 50 cases are finished and stay" if kept else "what was finished in it stays"
    assert f"B free there); {words}; the same command goes on when that is mended" in str(error.value)
    assert not list(run.folder.glob(".*.part"))
    assert same_bits(WHOLE, run())
    assert len(run.computed) == 50 - kept


def test_a_disk_that_is_full_in_the_midst_of_the_result_leaves_none(run, monkeypatch):
    run()
    (run.folder / "result.nc").unlink()
    plain = resumable.write_result.__globals__["_Guarded"]

    class Small(plain):
        """A file that has no room for more than 20 kB."""

        def __init__(self, file):
            super().__init__(file)
            self._file = Full(self._file)

    monkeypatch.setitem(resumable.write_result.__globals__, "_Guarded", Small)
    with pytest.raises(FileError, match="No space left on device"):
        run()
    assert not (run.folder / "result.nc").exists()
    monkeypatch.undo()
    assert same_bits(WHOLE, run())


class Full:
    """Writes to a file until 20 kB are full."""

    def __init__(self, file):
        self.file = file

    def __getattr__(self, name):
        return getattr(self.file, name)

    def write(self, data):
        if self.file.tell() + len(data) > 20_000:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return self.file.write(data)


# The result.


def test_a_result_has_the_shape_and_the_coordinates_that_it_is_given(run):
    frame = xr.Dataset(coords={"b": ("b", [1.0, 2.0, 4.0, 8.0, 9.0], {"units": "m"})}, attrs={"title": "a µ"})
    data = run(frame=frame, shape={"a": 2, "b": 5, "c": 5})
    assert data.fill_fraction.dims == ("a", "b", "c")
    assert data.b.attrs["units"] == "m"
    assert data.attrs["title"] == "a µ"
    assert same_bits(WHOLE, data)
    assert data.status.attrs["flag_meanings"].split()[0] == "ok"
    assert read_dataset(run.folder / "result.nc").identical(data)


PEAK = """
import resource, sys, tempfile
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from helpers.plans import Viscosities, stand_in
from balltravel.sweeps.folder.resumable import run_plan_into
count = int(sys.argv[2])
with tempfile.TemporaryDirectory() as name:
    plan = Viscosities(count, step=1e-6)
    run_plan_into(plan, Path(name) / "sweep", workers=2, compute=stand_in).close()
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no resource module")
def test_the_memory_does_not_grow_with_the_number_of_cases():
    tests = os.path.dirname(os.path.dirname(__file__))

    def peak(count):
        done = subprocess.run(
            [sys.executable, "-c", PEAK, tests, str(count)], capture_output=True, text=True, check=True
        )
        return int(done.stdout)

    few, many = peak(10_000), peak(100_000)
    print(f"peak memory of 10 000 cases {few / 1024:.0f} MiB, of 100 000 cases {many / 1024:.0f} MiB")
    assert many <= 1.1 * few
