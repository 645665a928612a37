"""Where the cases of a chunk lie in a result of any shape."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from balltravel.sweeps.folder.result_file import pieces


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
