"""A measured stroke at the ends of what is allowed: its samples, the late one, how far off it may be."""

import pytest

from balltravel.scenario.stroke_trace import backward, read_trace, trace_fault
from balltravel.units import UnitError

UP_AND_DOWN = (0.0, 1.0, 3.0, 7.0, 10.0, 7.0, 3.0, 1.0, 0.0)


def trace_of(positions, times=None):
    return tuple(zip(times or range(len(positions)), positions, strict=True))


def csv_of(samples):
    return "time (s), position (mm)\n" + "".join(f"{n}, {n % 2}\n" for n in range(samples))


def test_five_thousand_samples_are_read_and_one_more_is_refused_with_their_number():
    assert len(read_trace(csv_of(5000))) == 5000
    with pytest.raises(UnitError) as refused:
        read_trace(csv_of(5001))
    assert (refused.value.given, refused.value.allowed) == ("5001 samples", "at most 5000")


def test_eight_samples_are_enough_and_seven_are_not():
    assert trace_fault(trace_of(UP_AND_DOWN[1:])[:8]) is not None  # it does not begin at the bottom
    assert trace_fault(trace_of((0.0, 1.0, 5.0, 10.0, 9.0, 5.0, 1.0, 0.0))) is None
    assert trace_fault(trace_of((0.0, 1.0, 5.0, 10.0, 5.0, 1.0, 0.0)))[:2] == (
        "7 samples", "8 to 5000 of one cycle",
    )  # fmt: skip


def test_the_late_sample_is_named_counted_from_one():
    times = [0.0, 1.0, 2.0, 2.0, 4.0, 5.0, 6.0, 7.0, 8.0]
    assert trace_fault(trace_of(UP_AND_DOWN, times))[0] == "sample 4 is not later than the one before"


@pytest.mark.parametrize("end", ["first", "last"])
def test_a_trace_may_begin_and_end_within_two_per_cent_of_the_stroke_above_its_bottom(end):
    """Of the stroke itself: one that lies 100 above zero too."""
    for rise, fine in ((0.19, True), (0.21, False)):
        positions = [100.0 + x for x in UP_AND_DOWN]
        positions[1 if end == "first" else -2] = 100.0
        positions[0 if end == "first" else -1] = 100.0 + rise
        fault = trace_fault(trace_of(positions))
        assert (fault is None) is fine
        assert fine or fault[0] == "it begins or ends 2.1 % of the stroke above its lowest position"


def test_a_stroke_that_is_highest_at_an_end_is_none():
    """The height of the ends is told first, wherever there is one."""
    level = (0.0, 0.0, 0.0, 0.0, 1e-9, 0.0, 0.0, 0.0, 0.0)
    assert trace_fault(trace_of(level)) is None
    for positions in (
        (10.0, *UP_AND_DOWN[1:4], *UP_AND_DOWN[5:], 0.0),
        (*UP_AND_DOWN[:4], *UP_AND_DOWN[6:], 0.0, 10.0),
    ):
        assert "begins or ends 100 %" in trace_fault(trace_of(positions))[0]


def test_the_highest_position_may_be_next_to_an_end():
    for positions in (
        (0.0, 10.0, 8.0, 6.0, 4.0, 3.0, 2.0, 1.0, 0.0),
        (0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 0.0),
    ):
        assert trace_fault(trace_of(positions)) is None


@pytest.mark.parametrize(("back", "fine"), [(0.99, True), (1.01, False)])
@pytest.mark.parametrize("way", ["up", "down"])
def test_a_trace_may_run_back_by_a_tenth_of_the_stroke(way, back, fine):
    """Below what it has reached on the way up; above it on the way down; of the stroke, not of its height."""
    positions = [50.0 + x for x in ((0.0, 1.0, 5.0, 5.0 - back, 10.0, 7.0, 3.0, 1.0, 0.0) if way == "up"
                                    else (0.0, 1.0, 3.0, 10.0, 7.0, 5.0, 5.0 + back, 1.0, 0.0))]  # fmt: skip
    assert backward(positions) == pytest.approx(back, rel=1e-9)
    fault = trace_fault(trace_of(positions))
    assert (fault is None) is fine
    assert fine or fault[0] == f"it runs back by {10.0 * back:.3g} % of the stroke within a stroke"


def test_a_trace_that_runs_one_way_and_back_does_not_run_backward():
    assert backward(UP_AND_DOWN) == 0.0
    assert backward((0.0, 9.0, 8.0, 10.0, 0.0)) == 1.0
