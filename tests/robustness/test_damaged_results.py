"""A result cut short, with one bit flipped or with a block lost is refused in one sentence."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from robustness.tally import COUNTS

from balltravel.files.read_write import FileError, read_dataset, write_dataset


def refused(data, path):
    """Whether a damaged file is refused in words, before any library looks at it."""
    path.write_bytes(data)
    with pytest.raises(FileError) as caught:
        read_dataset(path)
    said = str(caught.value).removeprefix(f"{path}: cannot be read: ")
    return said in ("no result of this program, or cut short", "damaged: its bytes do not match its digest")


@pytest.fixture
def whole(folder, result):
    """The bytes of a result, and a name for its damaged copies."""
    path = folder / "run.nc"
    write_dataset(result(5, 300), path)
    assert read_dataset(path).identical(result(5, 300))
    return path.read_bytes(), path


def test_a_result_cut_at_200_lengths_is_refused(whole):
    data, path = whole
    lengths = sorted({0, 1, len(data) - 1, *np.random.default_rng(11).integers(0, len(data), 200).tolist()})
    assert all(refused(data[:length], path) for length in lengths)
    COUNTS["results cut short: refused"] += len(lengths)


def test_a_result_with_something_behind_it_is_refused(whole):
    data, path = whole
    assert all(refused(data + more, path) for more in (b"\0", b"\n", data))


def test_a_damaged_result_is_refused_in_one_line_and_nothing_is_printed_by_the_libraries(whole):
    data, path = whole
    damaged = [b"", data[:100], data[:5000], b"text" * 100, data[:2000] + bytes(3000) + data[5000:]]
    names = [str(path.with_name(f"{n}.nc")) for n in range(len(damaged))]
    for name, contents in zip(names, damaged, strict=True):
        Path(name).write_bytes(contents)
    code = (
        "import gc, sys\n"
        "from balltravel.files.read_write import FileError, read_dataset\n"
        "for name in sys.argv[1:]:\n"
        "    try:\n        read_dataset(name)\n"
        "    except FileError as error:\n        print(error)\n"
        "gc.collect()\n"
    )
    done = subprocess.run([sys.executable, "-c", code, *names], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    told = done.stdout.splitlines()
    assert [line.split(": cannot be read: ")[0] for line in told] == names


@pytest.mark.parametrize(("seed", "count"), [(12, 2000), pytest.param(13, 20_000, marks=pytest.mark.soak)])
def test_a_result_with_a_flipped_bit_is_refused(whole, seed, count):
    data, path = whole
    for bit in np.random.default_rng(seed).integers(0, 8 * len(data), count).tolist():
        spoilt = data[: bit // 8] + bytes([data[bit // 8] ^ 1 << bit % 8]) + data[bit // 8 + 1 :]
        assert refused(spoilt, path), bit
    COUNTS["results with a bit flipped: refused"] += count


@pytest.mark.parametrize("seed", [14, 15])
def test_a_result_with_a_block_of_another_is_refused(whole, seed, result, folder):
    """A block of 512 bytes lost or from elsewhere, as a failing disk leaves it. Seed 15 has a file on which
    the HDF5 library never comes back."""
    data, path = whole
    write_dataset(result(6, 300), folder / "other.nc")
    other, chance = (folder / "other.nc").read_bytes(), np.random.default_rng(seed)
    for place in chance.integers(0, len(data) // 512, 100).tolist():
        at = 512 * place
        block = [bytes(512), other[at : at + 512], chance.bytes(512)][int(chance.integers(3))]
        spoilt = (data[:at] + block + data[at + 512 :])[: len(data)]
        if spoilt != data:
            assert refused(spoilt, path), place
            COUNTS["results with a block lost: refused"] += 1
