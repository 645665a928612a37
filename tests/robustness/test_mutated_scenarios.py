"""Scenario files spoilt at random: accepted and sound, or refused in words; see law.py."""

import re
import subprocess
import sys

import numpy as np
import pytest
from robustness.law import check_message, judge
from robustness.mutants import RANGED, SCENARIOS, WHOLE, spoilt
from robustness.tally import COUNTS

from balltravel.cli.main import main

HEADLINE = re.compile(r"Traceback|Error:")


def mutants(seed, count):
    """Number and contents of each; one number and the seed make it again."""
    for number in range(count):
        yield f"seed {seed}, mutant {number}", spoilt(np.random.default_rng([seed, number]))


def read_all(seed, count, path):
    accepted = 0
    for which, data in mutants(seed, count):
        path.write_bytes(data)
        accepted += judge(path, data, which)
    return accepted


def check_all(seed, count, path, capsys):
    """The command ``check`` in this process: exit code, both outputs."""
    for which, data in mutants(seed, count):
        path.write_bytes(data)
        code = main(["check", str(path)])
        out, err = capsys.readouterr()
        COUNTS[f"commands check ended with {code}"] += 1
        assert code in (0, 2), which
        if code == 2:
            assert not out, which
            check_message(err.removesuffix("\n"), path, data, which)
        else:
            assert not err, which
            assert out, which


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_the_law_accepts_every_file_that_is_shipped(path):
    assert judge(path, path.read_bytes(), path.stem)


@pytest.mark.parametrize("seed", range(4))
def test_500_mutants_are_accepted_and_sound_or_refused_in_words(folder, seed):
    assert 10 < read_all(seed, 500, folder / "mutant.toml") < 250  # both ways are taken often enough


def test_500_mutants_of_a_file_with_ranges_are_too(folder):
    path, accepted = folder / "mutant.toml", 0
    assert judge(path, written(path, RANGED), "as it stands")
    for number in range(500):
        data = written(path, spoilt(np.random.default_rng([77, number]), [RANGED]))
        accepted += judge(path, data, f"ranges, mutant {number}")
    assert 10 < accepted < 250


def written(path, data):
    """The data, when they are in the file."""
    path.write_bytes(data)
    return data


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(1000, 1100))
def test_1000_more_mutants_are_accepted_and_sound_or_refused_in_words(folder, seed):
    assert read_all(seed, 1000, folder / "mutant.toml") < 500


@pytest.mark.parametrize("seed", [50])
def test_100_mutants_given_to_the_command_end_with_code_2_and_words_or_with_a_result(folder, capsys, seed):
    check_all(seed, 100, folder / "mutant.toml", capsys)


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(2000, 2010))
def test_100_more_mutants_given_to_the_command_end_with_code_2_or_a_result(folder, capsys, seed):
    check_all(seed, 100, folder / "mutant.toml", capsys)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data[:700],
        lambda data: data.replace(b'"48 mm"', b"0x" + b"f" * 3900),
        lambda data: data.replace(b'"33 cc"', b'"1e308 m3"'),
    ],
)
def test_a_process_with_a_spoilt_file_ends_with_code_2_and_no_traceback(folder, spoil):
    path = folder / "mutant.toml"
    data = spoil(WHOLE[2])
    path.write_bytes(data)
    command = [sys.executable, "-m", "balltravel.cli", "check", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stderr
    assert not done.stdout
    assert not HEADLINE.search(done.stderr)
    check_message(done.stderr.removesuffix("\n"), path, data, "process")
