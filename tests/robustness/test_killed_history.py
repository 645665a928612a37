"""A history keeps every entry that was added, through kill -9, a full disk and others who add."""

import os
import signal
import subprocess
import sys

import numpy as np
import pytest
from helpers.lowers import scenario
from robustness.mutants import SCENARIOS
from robustness.processes import NEEDS_FORK, ended, fork, kill_after
from robustness.tally import COUNTS

from balltravel.bench.history.book import add_entry, read_book
from balltravel.files.read_write import FileError

pytestmark = NEEDS_FORK

SOAK = pytest.mark.soak
LOWER = scenario()
SPAN = 5e-3
"""Seconds in which some entries are added."""


def add(log, note):
    return add_entry(log, LOWER, {"note": note})[0]


def notes(log):
    return [entry.note for entry in read_book(log, LOWER).entries]


def added_in_turn(log, name, told, letters):
    """A child's work without end; a number tells of each entry that is there."""
    number = 0
    while True:
        add(log, f"{name}.{number}." + "x" * letters)
        os.write(told, b".")
        number += 1


@pytest.mark.parametrize(("seed", "kills"), [(1, 25), pytest.param(2, 300, marks=SOAK)])
def test_a_kill_loses_no_entry_that_was_added(tmp_path, seed, kills):
    log, chance = tmp_path / "pump.log.toml", np.random.default_rng(seed)
    told_of = []
    for number in range(kills):
        done, told = os.pipe()
        child = fork(lambda number=number, told=told: added_in_turn(log, number, told, 900))
        os.close(told)
        assert os.read(done, 1) == b"."
        assert kill_after(child, float(chance.uniform(0.0, SPAN))) == -9
        count = 1 + len(os.read(done, 100_000))
        os.close(done)
        told_of += [f"{number}.{i}." + "x" * 900 for i in range(count)]
        there = notes(log)
        assert [note for note in there if note in set(told_of)] == told_of, f"seed {seed}, kill {number}"
        assert len(there) - len(told_of) <= number + 1  # one that was added just before the kill, each time
        assert [path.name for path in tmp_path.iterdir()] == ["pump.log.toml"]
        COUNTS["kills while a history was added to"] += 1
        COUNTS["entries added before these kills"] += count


def test_two_who_add_at_once_both_have_all_their_entries(tmp_path):
    log = tmp_path / "pump.log.toml"

    def work(name):
        for number in range(40):
            add(log, f"{name}.{number}")
        return 0

    children = [fork(lambda name=name: work(name)) for name in "abc"]
    assert [ended(child) for child in children] == [0, 0, 0]
    book = read_book(log, LOWER)
    assert not book.aside
    there = [entry.note for entry in book.entries]
    for name in "abc":
        assert [note for note in there if note[0] == name] == [f"{name}.{n}" for n in range(40)]


def test_two_commands_that_add_at_once_both_have_their_entry(tmp_path):
    lower = tmp_path / "primer.toml"
    lower.write_bytes(SCENARIOS[2].read_bytes())
    command = [sys.executable, "-m", "balltravel.cli", "log", str(lower), "--note"]
    children = [subprocess.Popen([*command, name], stdout=subprocess.DEVNULL) for name in ("a", "b", "c")]
    assert [child.wait() for child in children] == [0, 0, 0]
    assert sorted(notes(tmp_path / "primer.log.toml")) == ["a", "b", "c"]


@pytest.mark.parametrize("room", [0, 1, 10, 60, 400])
def test_an_entry_that_finds_no_room_is_refused_and_the_file_is_as_it_was(tmp_path, room):
    log = tmp_path / "pump.log.toml"
    add(log, "first")
    before = log.read_bytes()

    def work():
        import resource

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + room,) * 2)
        try:
            add(log, "x" * 900)
        except FileError as error:
            return 7 if "pump.log.toml: cannot be written: File too large" in str(error) else 1
        return 0

    assert ended(fork(work)) == 7
    assert log.read_bytes() == before
    add(log, "second")
    assert notes(log) == ["first", "second"]


def test_a_full_file_system_is_told_by_the_command_and_nothing_is_lost(small_disk):
    lower = small_disk / "primer.toml"
    lower.write_bytes(SCENARIOS[2].read_bytes())
    log = small_disk / "primer.log.toml"
    command = [sys.executable, "-m", "balltravel.cli", "log", str(lower), "--note"]
    said = None
    for number in range(2000):
        before = log.read_bytes() if log.exists() else b""
        try:
            add(log, f"{number}." + "x" * 900)
        except FileError as error:
            said = str(error)
            break
    assert said == f"{log}: cannot be written: No space left on device"
    assert log.read_bytes() == before
    full = subprocess.run([*command, "y" * 900], capture_output=True, text=True, check=False)
    assert full.returncode == 1
    assert "cannot be written: No space left on device" in " ".join(full.stderr.split())
    assert "Traceback" not in full.stderr
    assert log.read_bytes() == before
    assert notes(log) == [f"{n}." + "x" * 900 for n in range(number)]
    subprocess.run(["mount", "-o", "remount,size=1m", str(small_disk)], check=True)
    again = subprocess.run([*command, "z"], capture_output=True, text=True, check=False)
    assert again.returncode == 0, again.stderr
    assert notes(log)[-1] == "z"


def test_a_history_that_may_only_be_read_is_told(small_disk):
    log = small_disk / "pump.log.toml"
    add(log, "first")
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(FileError, match="cannot be written: Read-only file system"):
        add(log, "second")
    assert notes(log) == ["first"]
