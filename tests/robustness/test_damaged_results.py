"""A result cut short or with one bit flipped is refused in one sentence, or holds what it held."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from robustness.processes import NEEDS_FORK, ended, fork
from robustness.tally import COUNTS

from balltravel.files import FileError, read_dataset, write_dataset

BATCH = 250
UNCHANGED, REFUSED, CHANGED, OTHER = b"=", b"r", b"!", b"?"
SECONDS = 60


def same(found, wanted):
    """Identical, in the types and roles of the variables too."""
    types = {name: variable.dtype.kind for name, variable in wanted.variables.items()}
    return (
        found.identical(wanted)
        and set(found.coords) == set(wanted.coords)
        and {name: variable.dtype.kind for name, variable in found.variables.items()} == types
    )


def read_in_turn(contents, path, wanted, pipe):
    """A child's work: read each of the damaged files and tell the outcome, one letter each."""
    for data in contents:
        signal.alarm(SECONDS)  # an endless loop of the HDF5 library ends the child
        path.write_bytes(data)
        outcome = OTHER
        try:
            outcome = UNCHANGED if same(read_dataset(path), wanted) else CHANGED
        except FileError as error:
            if str(error).startswith(f"{path}: cannot be read: ") and str(error).isprintable():
                outcome = REFUSED
        except Exception as error:
            print(repr(error))
        os.write(pipe, outcome)
    return 0


def outcomes(contents, path, wanted):
    """One letter for each damaged file; a crash of the library ends the word too early."""
    reading, writing = os.pipe()
    child = fork(lambda: read_in_turn(contents, path, wanted, writing))
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        word = pipe.read()
    assert (ended(child), len(word)) == (0, len(contents)), f"died at {len(word)}"
    return word


def judge(contents, path, wanted, names, what):
    """Every outcome is a refusal or the same contents; returns how many were refused."""
    refused = 0
    for begin in range(0, len(contents), BATCH):
        word = outcomes(contents[begin : begin + BATCH], path, wanted)
        bad = [names[begin + n] for n, letter in enumerate(word) if letter not in UNCHANGED + REFUSED]
        assert not bad, bad
        refused += word.count(REFUSED)
    COUNTS[f"{what}: refused"] += refused
    COUNTS[f"{what}: read back unchanged"] += len(contents) - refused
    return refused


@pytest.fixture
def whole(folder, result):
    """The bytes of a result, its contents, and a name for its damaged copies."""
    path = folder / "run.nc"
    write_dataset(result(5, 300), path)
    return path.read_bytes(), result(5, 300), path


@NEEDS_FORK
def test_a_result_cut_at_200_lengths_is_refused(whole):
    data, wanted, path = whole
    lengths = sorted({0, 1, len(data) - 1, *np.random.default_rng(11).integers(0, len(data), 200).tolist()})
    refused = judge([data[:length] for length in lengths], path, wanted, lengths, "results cut short")
    assert refused == len(lengths)


def test_a_damaged_result_is_refused_in_one_line_and_nothing_is_printed_by_the_libraries(whole):
    data, _, path = whole
    damaged = [b"", data[:100], data[:5000], b"text" * 100, data[:2000] + bytes(3000) + data[5000:]]
    names = [str(path.with_name(f"{n}.nc")) for n in range(len(damaged))]
    for name, contents in zip(names, damaged, strict=True):
        Path(name).write_bytes(contents)
    code = (
        "import gc, sys\n"
        "from balltravel.files import FileError, read_dataset\n"
        "for name in sys.argv[1:]:\n"
        "    try:\n        read_dataset(name)\n"
        "    except FileError as error:\n        print(error)\n"
        "gc.collect()\n"
    )
    done = subprocess.run([sys.executable, "-c", code, *names], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    told = done.stdout.splitlines()
    assert [line.split(": cannot be read: ")[0] for line in told] == names


def flipped(data, bit):
    return data[: bit // 8] + bytes([data[bit // 8] ^ 1 << bit % 8]) + data[bit // 8 + 1 :]


@NEEDS_FORK
@pytest.mark.parametrize(("seed", "count"), [(12, 500), pytest.param(13, 20_000, marks=pytest.mark.soak)])
def test_a_result_with_a_flipped_bit_is_refused_or_holds_what_it_held(whole, seed, count):
    data, wanted, path = whole
    bits = np.random.default_rng(seed).integers(0, 8 * len(data), count).tolist()
    refused = 0
    for begin in range(0, count, BATCH):
        some = bits[begin : begin + BATCH]
        refused += judge(
            [flipped(data, bit) for bit in some], path, wanted, some, "results with a bit flipped"
        )
    assert refused > count // 10


@NEEDS_FORK
@pytest.mark.parametrize("seed", [14, pytest.param(15, marks=pytest.mark.soak)])
def test_a_result_with_a_block_of_another_is_refused_or_holds_what_it_held(whole, seed, result, folder):
    """A block of 512 bytes lost or from elsewhere, as a failing disk leaves it."""
    data, wanted, path = whole
    write_dataset(result(6, 300), folder / "other.nc")
    other, chance, spoilt = (folder / "other.nc").read_bytes(), np.random.default_rng(seed), []
    places = chance.integers(0, len(data) // 512, 100).tolist()
    for place in places:
        at = 512 * place
        block = [bytes(512), other[at : at + 512], chance.bytes(512)][int(chance.integers(3))]
        spoilt.append((data[:at] + block + data[at + 512 :])[: len(data)])
    judge(spoilt, path, wanted, places, "results with a block lost")
