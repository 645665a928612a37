"""The search for the first change of verdict, on made-up functions whose changes are known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from balltravel.study.search.crossing import Scale, Verdict, search

RATIO = Scale(1.3, 100.0)
STEPS = Scale(0.1, 20.0, geometric=False, quantum=0.001)


def filled(fill, target=0.9, more=()):
    """The verdict of a fill, with other misses."""
    return Verdict((*(("fill",) if fill < target else ()), *more), {"fill": fill - target})


class Counted:
    """A made-up lower: value -> verdict, and which values were asked."""

    def __init__(self, verdict):
        self.verdict, self.asked = verdict, []

    def __call__(self, value):
        self.asked.append(value)
        return self.verdict(value)


def anything(_):
    return True


def neighbours(a, b, scale):
    return scale.middle(a, b) in (a, b)


@given(st.floats(1.02, 90.0), st.sampled_from([-1, 1]))
def test_a_known_root_lies_between_the_neighbours_that_are_found(factor, way):
    """fill = 1 - 0.1 x/root or its mirror: 0.9 at the root, above it on the near side."""
    root = 7.0 * factor**way
    judge = Counted(lambda x: filled(1.0 - 0.1 * (x / root) ** way))
    found = search(judge, anything, RATIO, 7.0, way, math.inf * way)
    assert found.good == found.inner
    assert found.bad == found.outer
    assert min(found.inner, found.outer) <= root <= max(found.inner, found.outer) or math.isclose(
        root, found.good, rel_tol=1e-12
    )
    assert neighbours(found.inner, found.outer, RATIO)
    assert not found.scatters
    # Each step of the scan, a few of the root finder (bisection alone takes about twelve), at most four looks
    # beside: no value is run twice.
    scan = math.log(factor) / math.log(1.3)
    assert len(judge.asked) == len(set(judge.asked)) <= scan + 2 + 8 + 4


@given(st.floats(0.35, 15.0), st.sampled_from([-1, 1]))
def test_a_linear_input_passes_through_zero(distance, way):
    start = -way * 0.3  # so that zero lies on the way
    root = start + way * distance
    found = search(
        lambda x: filled(0.9 + 0.01 * way * (root - x)), anything, STEPS, start, way, math.inf * way
    )
    assert way * found.good <= way * root + 1e-9
    assert way * found.bad >= way * root - 1e-9
    # Four digits where they are coarser than the quantum.
    assert (
        abs(found.bad - found.good)
        <= max(0.001, 10.0 ** (math.floor(math.log10(abs(root) + 0.01)) - 3)) * 1.01
    )


def test_where_the_targets_are_missed_the_first_value_that_meets_them_is_found():
    found = search(lambda x: filled(1.0 - 0.02 * x), anything, RATIO, 10.0, -1, 0.0)
    assert (found.good, found.bad) == (5.0, 5.001)
    assert found.good == found.outer


def test_of_several_changes_the_first_outward_is_reported():
    """Meets below 12, misses to 20, meets to 35, misses beyond."""
    judge = Counted(lambda x: filled(0.95 if x <= 12.0 or 20.0 <= x <= 35.0 else 0.8))
    found = search(judge, anything, RATIO, 8.0, 1, math.inf)
    assert (found.good, found.bad) == (12.0, 12.01)


def test_an_island_wider_than_a_step_is_found_from_below_and_from_above():
    island = lambda x: filled(0.95 if 10.0 <= x <= 14.0 else 0.8)  # noqa: E731
    assert search(island, anything, RATIO, 3.0, 1, math.inf).good == 10.0
    assert search(island, anything, RATIO, 60.0, -1, 0.0).good == 14.0


def test_another_target_inside_the_bracket_sends_the_search_back_to_bisection():
    """The fill alone decides at both ends (root 20), and the landing is missed from 15 to 16.2: as the scan
    sees neither, the answer is one of the two changes outward into a miss, with neighbours that differ."""

    def verdict(x):
        return filled(1.0 - 0.1 * x / 20.0, more=("landing",) if 15.0 < x < 16.2 else ())

    found = search(verdict, anything, Scale(2.0, 100.0), 11.0, 1, math.inf)
    assert found.good in (15.0, 20.0)
    assert verdict(found.good).meets
    assert not verdict(found.bad).meets
    assert neighbours(found.good, found.bad, RATIO)


def test_a_failed_run_counts_as_missing_and_is_bisected():
    def verdict(x):
        return Verdict(("run",)) if x > 17.5 else filled(0.95)

    found = search(verdict, anything, RATIO, 10.0, 1, math.inf)
    assert (found.good, found.bad) == (17.5, 17.51)
    assert found.tried[found.bad].misses == ("run",)


def test_without_a_change_the_range_that_was_searched_is_told():
    found = search(lambda _: filled(0.95), anything, RATIO, 10.0, 1, 500.0)
    assert (found.good, found.bad, found.last, found.refused) == (None, None, 500.0, False)
    assert search(lambda _: filled(0.95), anything, RATIO, 10.0, 1, 1e9).last == 1000.0  # hundredfold


def test_where_the_rules_refuse_the_range_ends_and_its_end_is_run():
    judge = Counted(lambda _: filled(0.95))
    found = search(judge, lambda x: x < 33.3333, RATIO, 10.0, 1, math.inf)
    assert (found.good, found.last, found.refused) == (None, 33.33, True)
    assert max(judge.asked) == 33.33
    steep = search(lambda x: filled(0.95 if x < 33.0 else 0.5), lambda x: x < 33.3333, RATIO, 10.0, 1, 1e9)
    assert 32.9 < steep.good < steep.bad <= 33.0


def test_a_verdict_that_goes_to_and_fro_is_said_to_scatter_and_the_first_miss_counts():
    """Missed from 20 on, and at a single number below it, which is one of the looks beside 20."""
    near = RATIO.rounded(19.99 * 1.3**-0.03)

    def verdict(x):
        return filled(0.95 if x < 20.0 and x != near else 0.8)

    found = search(verdict, anything, RATIO, 10.0, 1, math.inf)
    assert found.scatters
    assert (found.good, found.bad) == (RATIO.rounded(near - 0.01), near)


def test_a_verdict_that_comes_back_beyond_the_limit_is_said_to_scatter():
    found = search(
        lambda x: filled(0.95 if x < 20.0 or x > 20.3 else 0.8), anything, Scale(2.0, 100.0), 10.3, 1, 20.25
    )
    assert found.good < 20.0 <= found.bad
    found = search(lambda x: filled(0.95 if x < 20.0 or x > 20.3 else 0.8), anything, RATIO, 10.0, 1, 20.2)
    assert found.scatters


def looks(scale, at, way):
    """The two numbers beside a change at which one looks again: 0.03 and 0.1 steps away."""
    parts = (way * 0.03, way * 0.1)
    return [scale.rounded(at * 1.3**part if scale.geometric else at + 0.1 * part) for part in parts]


@pytest.mark.parametrize(("scale", "start"), [(RATIO, 40.0), (STEPS, 23.0)])
@pytest.mark.parametrize("look", [0, 1])
def test_on_the_way_down_one_looks_on_both_sides_too(scale, start, look):
    """Met from 20 on: missed at a single number above it, or met again at one just below."""
    before, beyond = looks(scale, 20.0, 1)[look], looks(scale, scale.rounded(20.0 - 0.01), -1)[look]

    def met_but_at(*others):
        return lambda x: filled(0.95 if (x >= 20.0) is (x not in others) else 0.8)

    clean = search(met_but_at(), anything, scale, start, -1, 0.0)
    assert (clean.scatters, clean.good, clean.bad) == (False, 20.0, 19.99)
    if before != 20.0:  # 0.003 more are no other number of four digits
        missed = search(met_but_at(before), anything, scale, start, -1, 0.0)
        assert (missed.scatters, missed.bad) == (True, before)
    if beyond != 19.99:  # 0.003 less are no other number of four digits
        again = search(met_but_at(beyond), anything, scale, start, -1, 0.0)
        assert (again.scatters, again.good, again.bad) == (True, 20.0, 19.99)


@given(st.floats(-1e5, 1e5).filter(lambda x: abs(x) > 1e-6), st.sampled_from([0.0, 0.001, 0.01]))
def test_a_rounded_number_has_four_digits_and_rounds_to_itself(x, quantum):
    scale = Scale(1.3, 10.0, quantum=quantum)
    short = scale.rounded(x)
    assert scale.rounded(short) == short
    assert float(f"{short:.4g}") == short
    assert not quantum or short / quantum == pytest.approx(round(short / quantum), abs=1e-6, rel=1e-12)
    assert abs(short - x) <= max(0.5 * quantum, 0.5e-3 * abs(x)) * (1.0 + 1e-9)


@pytest.mark.parametrize("scale", [RATIO, STEPS])
def test_the_values_of_a_scan_go_outward_and_end_at_the_end(scale):
    for way, end in ((1, 9.0), (-1, 0.5)):
        values = list(scale.outward(3.0, way, end))
        assert values[-1] == end
        assert all(way * (b - a) > 0.0 for a, b in zip([3.0, *values], values, strict=False))
    assert list(scale.outward(3.0, 1, 3.0)) == []


class Patience:
    """So many runs and no more; begins a further one only where it is asked whether it may."""

    def __init__(self, judge, most):
        self.judge, self.most = judge, most

    def is_spent(self):
        return len(self.judge.asked) >= self.most


@pytest.mark.parametrize("most", range(2, 24))
@pytest.mark.parametrize("smooth", [True, False])
def test_a_search_ends_where_its_runs_are_spent_and_says_so(most, smooth):
    """Met up to 20: what is told of it is true, whether or not there were runs enough for all."""

    def verdict(x):
        return filled(1.0 - 0.1 * x / 20.0) if smooth else Verdict(() if x <= 20.0 else ("landing",))

    judge = Counted(verdict)
    found = search(judge, anything, RATIO, 8.0, 1, 50.0, Patience(judge, most).is_spent)
    whole = search(verdict, anything, RATIO, 8.0, 1, 50.0)
    assert len(judge.asked) <= most
    if found.good is None:
        assert found.unfinished
        assert found.last == max(judge.asked) < 20.0
    else:
        assert verdict(found.good).meets
        assert not verdict(found.bad).meets
        assert found.good <= 20.0 < found.bad
        assert found.unfinished is not neighbours(found.good, found.bad, RATIO)
    assert not whole.unfinished
    assert (whole.good, whole.bad) == (20.0, 20.01)


def test_of_a_search_that_had_no_runs_left_to_its_end_no_end_is_told():
    judge = Counted(lambda _: filled(0.95))
    found = search(judge, anything, RATIO, 10.0, 1, 500.0, Patience(judge, 4).is_spent)
    assert (found.good, found.unfinished, len(judge.asked)) == (None, True, 4)
    assert found.last == max(judge.asked) < 30.0
