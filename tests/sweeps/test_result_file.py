"""A result of many chunks: where their cases lie in it, and what is read of it when."""

import math
import tracemalloc

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

from balltravel.files.read_write import open_lazily, read_dataset
from balltravel.sweeps.columns import empty
from balltravel.sweeps.folder.result_file import pieces, write_result


@given(st.lists(st.integers(1, 5), max_size=4), st.integers(1, 20))
def test_chunks_fall_into_their_places_in_a_grid_of_any_shape(shape, size):
    count = math.prod(shape)
    expected = np.arange(count).reshape(shape)
    found = np.full(shape, -1)
    for start in range(0, count, size):
        values = np.arange(start, min(start + size, count))
        taken = 0
        for where, form, cases in pieces(start, start + len(values), tuple(shape)):
            found[where] = values[cases].reshape(form)
            taken += len(values[cases])
        assert taken == len(values)
    assert found.tolist() == expected.tolist()


CASES, LETTERS = 20_000, 1000


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    """A result in which one case has a long sentence."""
    path, columns = tmp_path_factory.mktemp("result") / "result.nc", empty(CASES)
    columns["error"][7] = LETTERS * "x"
    write_result(path, xr.Dataset(), {"case": CASES}, [(0, columns)])
    return path


def most_memory_of(work):
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_neither_numbers_nor_texts_are_read_when_a_result_is_opened(result):
    """All of it would be 10 MB, and the texts as numpy has them 80 MB; a file's own description is 0.4 MB."""
    assert most_memory_of(lambda: open_lazily(str(result)).close()) < 1e6


def test_one_long_text_does_not_make_all_the_others_as_long(result):
    """Numpy keeps equally long texts, with four bytes a letter: here 80 MB."""
    assert most_memory_of(lambda: read_dataset(result)) < 4 * result.stat().st_size < 4 * CASES * LETTERS


def test_texts_read_late_are_those_that_were_written(result):
    with open_lazily(str(result)) as data:
        assert data.error[7].item() == LETTERS * "x"
        assert data.error[8].item() == ""
        assert set(data.error[:7].values) == {""}
        assert data.identical(read_dataset(result))
