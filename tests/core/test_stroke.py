"""The piston's motion (M1): both profiles, from a drive to position, speed, acceleration and jerk."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balltravel.core.parameters import pieces
from balltravel.core.records import as_record
from balltravel.core.stroke import motion
from balltravel.scenario.model import Drive
from balltravel.setup.drive import drive_parameters

steady = settings(deadline=None, derandomize=True, max_examples=200)

strokes = st.floats(0.02, 0.5)
# Cycle time [s], ramp and dwell as shares of half of it; two ramps and a dwell leave some constant speed.
changeovers = st.tuples(
    st.floats(0.5, 20.0), st.floats(0.01, 0.3), st.one_of(st.just(0.0), st.floats(0.01, 0.3))
)


def constant_speed(stroke, changeover):
    period, ramp, dwell = changeover
    drive = Drive(
        profile="constant speed",
        cycle_rate=1.0 / period,
        ramp_time=0.5 * period * ramp,
        dwell_time=0.5 * period * dwell,
    )
    return as_record(drive_parameters(drive, stroke))


def crank(stroke, period):
    drive = Drive(profile="harmonic", cycle_rate=1.0 / period)
    return as_record(drive_parameters(drive, stroke))


def times(p, segment):
    return np.linspace(pieces(p.start)[segment], pieces(p.start)[segment + 1], 7)


@steady
@given(strokes, changeovers)
def test_position_and_speed_join_exactly_at_the_kinks(stroke, changeover):
    """1e-14 of stroke and of its speed times the period's share: rounding of the segment's start."""
    p = constant_speed(stroke, changeover)
    for segment in range(p.segments - 1):
        t = pieces(p.start)[segment + 1]
        here, there = motion(p, segment, t), motion(p, segment + 1, t)
        assert here[0] == pytest.approx(there[0], abs=1e-14 * stroke)
        assert here[1] == pytest.approx(there[1], abs=1e-12 * stroke / changeover[1] / p.period)
    first, last = motion(p, 0, 0.0), motion(p, p.segments - 1, p.period)
    assert first[:2] == pytest.approx(last[:2], abs=1e-12 * stroke / p.period)


@steady
@given(strokes, changeovers)
def test_speed_and_acceleration_are_the_slopes_of_position_and_speed(difference, stroke, changeover):
    """Differences are exact for a parabola; 1e-9 of stroke over period and over its square: rounding."""
    p = constant_speed(stroke, changeover)
    for segment in range(p.segments):
        length = pieces(p.start)[segment + 1] - pieces(p.start)[segment]
        t = pieces(p.start)[segment] + 0.4 * length
        _, v, a, jerk = motion(p, segment, t)
        slopes = difference(lambda s, k=segment: motion(p, k, s)[:3], t, 0.1 * length)
        assert v == pytest.approx(slopes[0], abs=1e-14 * stroke * 40.0 / length)
        assert a == pytest.approx(slopes[1], abs=1e-13 * stroke * 40.0 / length / changeover[1] / p.period)
        assert jerk == slopes[2] == 0.0


@steady
@given(strokes, changeovers)
def test_the_area_under_the_speed_is_the_stroke(stroke, changeover):
    """Up to the half period, and back after it; Simpson's rule is exact for straight lines."""
    p = constant_speed(stroke, changeover)
    area = [0.0, 0.0]
    for segment in range(p.segments):
        t = times(p, segment)[[0, 3, 6]]
        v = [motion(p, segment, x)[1] for x in t]
        half = 0 if segment < p.segments // 2 else 1
        area[half] += (t[2] - t[0]) / 6.0 * (v[0] + 4.0 * v[1] + v[2])
    assert area == pytest.approx([stroke, -stroke], rel=1e-12)


@steady
@given(strokes, changeovers)
def test_the_stroke_stands_still_for_the_dwell_and_ramps_for_the_ramp(stroke, changeover):
    """Dwell centred on the reversals; peak speed = S/(half - dwell - ramp)."""
    p = constant_speed(stroke, changeover)
    period, ramp, dwell = changeover
    half = 0.5 * p.period
    speed = stroke / (half * (1.0 - dwell - ramp))
    v = [motion(p, k, x) for k in range(p.segments) for x in times(p, k)]
    assert max(m[1] for m in v) == pytest.approx(speed, rel=1e-9)
    assert min(m[1] for m in v) == pytest.approx(-speed, rel=1e-9)
    assert max(m[2] for m in v) == pytest.approx(speed / (half * ramp), rel=1e-9)
    assert min(m[0] for m in v) == pytest.approx(0.0, abs=1e-12 * stroke)
    assert max(m[0] for m in v) == pytest.approx(stroke, rel=1e-12)
    at_rest = [k for k in range(p.segments) if pieces(p.speed)[k] == pieces(p.acceleration)[k] == 0.0]
    still = sum(pieces(p.start)[k + 1] - pieces(p.start)[k] for k in at_rest)
    assert still == pytest.approx(dwell * p.period, rel=1e-9, abs=1e-12 * p.period)
    assert half in pieces(p.start)[: p.segments + 1]
    assert pieces(p.start)[p.segments] == p.period == pytest.approx(period)


@steady
@given(strokes, st.floats(0.5, 20.0), st.floats(0.0, 1.0))
def test_a_crank_moves_as_a_cosine(difference, stroke, period, share):
    """x = S/2 (1 - cos(2 pi t/T)) and its three derivatives; 1e-8 of the amplitude: the differences."""
    p = crank(stroke, period)
    omega, t = 2.0 * math.pi / p.period, share * p.period
    segment = 0 if share < 0.5 else 1
    x, v, a, jerk = motion(p, segment, t)
    assert x == pytest.approx(0.5 * stroke * (1.0 - math.cos(omega * t)), abs=1e-14 * stroke)
    slopes = difference(lambda s: motion(p, segment, s)[:3], t, 0.01 * p.period)
    for k, (value, slope) in enumerate(zip((v, a, jerk), slopes, strict=True)):
        assert value == pytest.approx(slope, abs=1e-8 * stroke * omega ** (k + 1))


@steady
@given(strokes, st.floats(0.5, 20.0))
def test_a_crank_stands_still_at_both_ends_of_its_stroke(stroke, period):
    """1e-15: the rounding of pi."""
    p = crank(stroke, period)
    bottom, top = motion(p, 0, 0.0), motion(p, 0, pieces(p.start)[1])
    assert bottom[:2] == (0.0, 0.0)
    assert top[0] == pytest.approx(stroke, rel=1e-14)
    assert top[1] == pytest.approx(0.0, abs=1e-14 * stroke / p.period)
    assert pieces(p.start)[1] == 0.5 * p.period
