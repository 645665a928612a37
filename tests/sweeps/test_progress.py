"""Progress over several batches of cases: what is counted is what runs, and the last count is the whole."""

import pytest

from balltravel.sweeps.cases import Batches


@pytest.fixture
def counted():
    return []


def run(batch, size):
    for done in range(1, size + 1):
        batch(done, size)


def test_two_batches_are_one_count(counted):
    batches = Batches(lambda *count: counted.append(count), 2)
    run(batches.next(), 3)
    run(batches.next(), 3)
    batches.finish()
    assert counted == [(done, 6) for done in range(1, 7)]


def test_a_second_batch_of_another_size_ends_at_its_own_whole(counted):
    batches = Batches(lambda *count: counted.append(count), 2)
    run(batches.next(), 3)
    run(batches.next(), 2)
    batches.finish()
    assert counted == [(1, 6), (2, 6), (3, 6), (4, 5), (5, 5)]


def test_a_batch_that_falls_away_is_taken_off_the_whole(counted):
    batches = Batches(lambda *count: counted.append(count), 2)
    run(batches.next(), 2)
    batches.finish()
    assert counted == [(1, 4), (2, 4), (2, 2)]


def test_where_nobody_asks_nothing_is_counted():
    batches = Batches(None, 2)
    assert batches.next() is None
    batches.finish()


def test_a_batch_more_than_was_expected_is_never_ahead_of_its_total():
    counted = []
    batches = Batches(lambda *count: counted.append(count), 2)
    for size in (2, 6, 8):
        tell = batches.next()
        tell(size, size)
    batches.finish()
    assert counted == [(2, 4), (8, 8), (16, 16)]
