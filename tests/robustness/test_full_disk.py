"""A disk that is full, read-only or no disk: told in one line, and the older file stays as it was."""

import contextlib
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from matplotlib.figure import Figure
from robustness.mutants import SCENARIOS
from robustness.processes import NEEDS_FORK, ended, fork

from balltravel.files.read_write import FileError, read_dataset, write_dataset
from balltravel.report.figures.style import save

REFUSED = 7


def drawing():
    figure = Figure()
    figure.subplots().plot([0, 1])
    return figure


def big_drawing():
    figure = Figure(figsize=(20, 20))
    for axes in figure.subplots(6, 6).flat:
        axes.plot([0, 1], label="a")
    return figure


def run(*arguments, stdout=subprocess.PIPE):
    command = [sys.executable, "-m", "balltravel.cli", *map(str, arguments)]
    return subprocess.run(command, stdout=stdout, stderr=subprocess.PIPE, text=True, check=False)


def limited(bytes_, write):
    """A child's work: write with a limit on the size of files; 7 when refused in one line."""
    import resource

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (bytes_, bytes_))
    try:
        write()
    except (FileError, OSError) as error:
        return REFUSED if "\n" not in str(error) and "too large" in str(error) else 1
    return 0


@NEEDS_FORK
@pytest.mark.parametrize("share", [0.0, 1e-4, 0.1, 0.5, 0.999, 1.0])
def test_a_result_that_finds_no_room_is_refused_and_the_older_one_stays(tmp_path, result, share):
    target = tmp_path / "run.nc"
    write_dataset(result(1), target)
    size = target.stat().st_size
    write_dataset(result(0), target)
    child = fork(lambda: limited(int(share * size), lambda: write_dataset(result(1), target)))
    assert ended(child) == (0 if share == 1.0 else REFUSED)
    assert read_dataset(target).identical(result(int(share == 1.0)))
    assert [path.name for path in tmp_path.iterdir()] == ["run.nc"]


@NEEDS_FORK
@pytest.mark.parametrize("ending", ["png", "pdf", "svg"])
@pytest.mark.parametrize("share", [0.0, 0.5, 0.999])
def test_a_picture_that_finds_no_room_is_refused_and_the_older_one_stays(tmp_path, ending, share):
    target = tmp_path / f"run.{ending}"
    save(drawing(), target)
    before = target.read_bytes()
    child = fork(lambda: limited(int(share * len(before)), lambda: save(drawing(), target)))
    assert ended(child) == REFUSED
    assert target.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == [target.name]


def test_a_full_file_system_is_told_and_keeps_the_older_files(small_disk, result):
    write_dataset(result(0, 100), small_disk / "run.nc")
    save(drawing(), small_disk / "run.png")
    before = (small_disk / "run.png").read_bytes()
    with pytest.raises(FileError, match=r"run\.nc: cannot be written: No space left on device"):
        write_dataset(result(1, 40_000), small_disk / "run.nc")
    with pytest.raises(OSError, match="No space left on device"):
        save(big_drawing(), small_disk / "run.png")
    assert read_dataset(small_disk / "run.nc").identical(result(0, 100))
    assert (small_disk / "run.png").read_bytes() == before
    assert sorted(path.name for path in small_disk.iterdir()) == ["run.nc", "run.png"]


def test_a_read_only_file_system_is_told_and_keeps_the_older_files(small_disk, result):
    write_dataset(result(0, 100), small_disk / "run.nc")
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(FileError, match="Read-only file system"):
        write_dataset(result(1, 100), small_disk / "run.nc")
    with pytest.raises(OSError, match="Read-only file system"):
        save(drawing(), small_disk / "run.png")
    assert read_dataset(small_disk / "run.nc").identical(result(0, 100))


def test_the_command_tells_of_a_full_file_system_and_still_prints_its_result(small_disk):
    with contextlib.suppress(OSError), (small_disk / "filler").open("wb", buffering=0) as filler:
        while True:
            filler.write(bytes(4096))
    targets = ["--out", small_disk / "run.nc", "--figure", small_disk / "run.png"]
    done = run("simulate", SCENARIOS[2], *targets)
    assert done.returncode == 1, done.stderr
    assert "Traceback" not in done.stderr
    assert done.stderr.count("cannot be written: No space left on device") == 2
    assert done.stdout
    assert [path.name for path in small_disk.iterdir()] == ["filler"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("form", [[], ["--json"]], ids=["text", "json"])
def test_a_full_standard_output_is_told_by_code_1_and_one_line(form):
    with open("/dev/full", "w") as full:
        done = run("check", SCENARIOS[2], *form, stdout=full)
    assert done.returncode == 1
    assert done.stderr == "standard output: cannot be written: No space left on device\n"


def test_a_folder_that_is_a_file_is_told(tmp_path, result):
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match="Not a directory"):
        write_dataset(result(0, 10), tmp_path / "file" / "run.nc")
    with pytest.raises(OSError, match="Not a directory"):
        save(drawing(), tmp_path / "file" / "run.png")


def test_what_cannot_be_stored_is_told_and_leaves_nothing(tmp_path, result):
    with pytest.raises(FileError, match=r"run\.nc: cannot be written"):
        write_dataset(result(0, 10).assign_attrs(title="a\0b"), tmp_path / "run.nc")
    assert list(tmp_path.iterdir()) == []


def test_a_picture_does_not_write_through_a_link_that_waits_beside_it(tmp_path):
    (tmp_path / "precious").write_text("kept")
    (tmp_path / ".run.png.part").symlink_to(tmp_path / "precious")
    save(drawing(), tmp_path / "run.png")
    assert (tmp_path / "precious").read_text() == "kept"


def test_a_sweep_whose_folder_is_on_a_full_disk_keeps_its_chunks_and_goes_on_when_there_is_room(small_disk):
    rates = ", ".join(f'"{20 + i} /min"' for i in range(24))
    command = ["sweep", SCENARIOS[2], "--over", f"drive.cycle_rate=[{rates}]", "--workers", 2]
    command += ["--over", 'material.viscosity=["5 Pa.s"]', "--over", "shims.below=[[]]"]
    target = small_disk / "sweep"
    full = run(*command, "--out", target)
    said = " ".join(full.stderr.split())
    assert (full.returncode, full.stdout) == (1, ""), full.stderr
    assert f"{target}: cannot be written: No space left on device" in said
    assert " MB free there); " in said
    assert " of 24 cases are finished and stay; the same command goes on when that is mended" in said
    kept = {path: path.read_bytes() for path in target.glob("cases_*.npz")}
    assert kept
    assert not list(target.glob(".*.part"))
    subprocess.run(["mount", "-o", "remount,size=16m", str(small_disk)], check=True)
    again = run(*command, "--out", target)
    assert again.returncode == 0, again.stderr
    assert "of 24 cases are there already" in again.stderr
    assert all(path.read_bytes() == data for path, data in kept.items())
    assert read_dataset(target / "result.nc").sizes["drive_cycle_rate"] == 24
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    read_only = run(*command, "--out", target)
    assert (read_only.returncode, read_only.stdout) == (1, "")
    assert f"{target}: cannot be written: Read-only file system" in " ".join(read_only.stderr.split())
