"""The kernel that holds a cycle against ranges, where it begins and ends; quantities by hand are in
``tests/cycle/test_validity_by_hand.py``."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import LIFTS, OVER_SEAT, SEAT_REYNOLDS
from balltravel.closures.table.beyond_creeping import EXPONENTS
from balltravel.closures.tube import IN_CAGE
from balltravel.core.contents import COMPRESSION, GAS_EXPANSION
from balltravel.core.excursions import (
    BALL_OVER_CAGE,
    BALL_OVER_SEAT,
    COMPRESSED,
    EXPANSION,
    EXPONENT,
    LIFT,
    LINE_REYNOLDS,
    LINE_ROUGHNESS,
    OF_A_CHECK,
    OUTLET_REYNOLDS,
    OUTLET_ROUGHNESS,
    USES,
    excursions,
)
from balltravel.core.excursions import (
    SEAT_REYNOLDS as AT_THE_SEAT,
)
from balltravel.core.friction import HOSE_REYNOLDS, HOSE_ROUGHNESS
from balltravel.core.recording import COLUMNS
from balltravel.core.records import as_record
from balltravel.setup.parameters import core_parameters
from balltravel.setup.ranges import ranges_parameters, uses_of

from ..helpers.lowers import scenario

CLOSED = {"resistance": "closed form"}
SEAT_RADIUS, MODULUS = 0.0105, 1.5e9
"""Of the inlet check [m] and of the material [Pa]."""


def cycle(time, **columns):
    """Rows at rest under 1 bar, but for the columns given."""
    rows = np.zeros((len(time), len(COLUMNS)))
    bars = dict.fromkeys(("port_pressure", "lower_pressure", "upper_pressure"), 1e5)
    for name, values in ({"time": time} | bars | columns).items():
        rows[:, COLUMNS.index(name)] = values
    return rows


def held(rows, s=None, count=None, marking=True, inside=None):
    """Share, worst value and nearest end of each use, and the mask."""
    s = s or scenario(closures=CLOSED)
    ranges = ranges_parameters(s)
    for use, ends in (inside or {}).items():
        ranges.inside[use] = ends
    out, mask = np.full((USES, 3), -7.0), np.zeros(len(rows), bool)
    p = as_record(core_parameters(s))
    excursions(p, as_record(ranges), rows, count or len(rows), marking, mask, out)
    assert not (out == -7.0).any()
    return out, mask


def test_the_uses_stand_in_the_order_of_the_core():
    uses = uses_of(scenario(closures=CLOSED))
    assert len(uses) == USES
    of_check = {
        BALL_OVER_SEAT: OVER_SEAT, BALL_OVER_CAGE: IN_CAGE, LIFT: LIFTS, AT_THE_SEAT: SEAT_REYNOLDS,
        EXPONENT: EXPONENTS,
    }  # fmt: skip
    for place, first in (("inlet check", 0), ("piston check", OF_A_CHECK)):
        for use, limits in of_check.items():
            assert uses[first + use][:2] == (place, limits)
    others = {
        EXPANSION: ("inlet check", GAS_EXPANSION), LINE_REYNOLDS: ("suction line", HOSE_REYNOLDS),
        LINE_ROUGHNESS: ("suction line", HOSE_ROUGHNESS), OUTLET_REYNOLDS: ("outlet hose", HOSE_REYNOLDS),
        OUTLET_ROUGHNESS: ("outlet hose", HOSE_ROUGHNESS), COMPRESSED: ("chambers", COMPRESSION),
    }  # fmt: skip
    for use, expected in others.items():
        assert uses[use][:2] == expected


def test_a_use_that_a_lower_does_not_have_is_never_outside():
    """Newtonian and without an outlet hose, whatever flows."""
    rows = cycle([0.0, 1.0, 2.0], outlet_flow=1.0)
    out, mask = held(rows)
    for use in (EXPONENT, OF_A_CHECK + EXPONENT, OUTLET_REYNOLDS, OUTLET_ROUGHNESS):
        assert out[use, 0] == 0.0
        assert np.isnan(out[use, 1:]).all()
    assert not mask.any()


def test_where_nothing_is_outside_there_is_no_worst_value():
    out, _ = held(cycle([0.0, 1.0, 2.0]))
    assert (out[:, 0] == 0.0).all()
    assert np.isnan(out[:, 1:]).all()


@pytest.mark.parametrize("place", [0, 1])
def test_balls_are_held_by_the_sizes_of_their_own_check(place):
    """1.5 of 10.5 mm of lift at each in turn; the other check stays inside."""
    check = ("inlet", "piston")[place]
    radius = (SEAT_RADIUS, 0.008)[place]
    out, _ = held(cycle([0.0, 1.0, 2.0], **{f"{check}_lift": 1.5 * radius}))
    use = place * OF_A_CHECK + LIFT
    assert out[use] == pytest.approx([1.0, 1.5, 1.2], rel=1e-12)
    assert (np.flatnonzero(out[:, 0]) == [use]).all()


def test_rows_beyond_the_count_are_not_looked_at():
    lift = np.array([0.0, 1.3, 0.0, 9.0, 9.0]) * SEAT_RADIUS
    rows = cycle([0.0, 1.0, 2.0, 3.0, 4.0], inlet_lift=lift)
    out, mask = held(rows, count=3)
    assert out[LIFT] == pytest.approx([0.5, 1.3, 1.2], rel=1e-12)
    assert mask.tolist() == [False, True, False, False, False]


def test_the_mask_is_left_alone_unless_it_is_asked_for():
    rows = cycle([0.0, 1.0, 2.0], inlet_lift=9.0)
    asked, mask = held(rows)
    not_asked, unmarked = held(rows, marking=False)
    assert np.array_equal(asked, not_asked, equal_nan=True)
    assert mask.all()
    assert not unmarked.any()


def test_a_moment_without_length_is_marked_and_has_no_share():
    """Three rows at 1 s, the middle one outside: none of its steps takes any time."""
    lift = np.array([0.0, 0.0, 1.3, 0.0, 0.0]) * SEAT_RADIUS
    out, mask = held(cycle([0.0, 1.0, 1.0, 1.0, 2.0], inlet_lift=lift))
    assert out[LIFT, 0] == 0.0
    assert mask.tolist() == [False, False, True, False, False]


def test_both_ends_of_an_interval_belong_to_the_range():
    pressure = np.array([0.0, 0.05, np.nextafter(0.05, 1.0), 0.05]) * MODULUS
    ends = (0.0, 0.05, 0.0, 0.05)
    s = scenario(closures=CLOSED)
    rows = cycle([0.0, 1.0, 2.0, 3.0], lower_pressure=pressure, upper_pressure=0.0)
    at = rows[:, COLUMNS.index("lower_pressure")] / MODULUS
    _, mask = held(rows, s, inside={COMPRESSED: ends})
    assert mask.tolist() == [not 0.0 <= value <= 0.05 for value in at]
    assert mask[2]


@pytest.mark.parametrize(("value", "end"), [(2100.0, 2000.0), (2900.0, 2000.0), (3100.0, 4000.0)])
def test_between_two_intervals_the_nearer_end_is_told(value, end):
    """The modulus of the liquid makes any number of a pressure."""
    rows = cycle([0.0, 1.0, 2.0], upper_pressure=value * MODULUS)
    out, _ = held(rows, inside={COMPRESSED: (0.0, 2000.0, 4000.0, math.inf)})
    assert out[COMPRESSED] == pytest.approx([1.0, value, end], rel=1e-12)


def test_the_worst_value_is_the_farthest_in_the_sizes_of_its_own_end():
    """Below 1 by a half is farther than above 10 by 4; of equals the first is told."""
    values = np.array([14.0, 0.5, 5.0, 0.5])
    rows = cycle([0.0, 1.0, 2.0, 3.0], lower_pressure=values * MODULUS, upper_pressure=0.0)
    out, _ = held(rows, inside={COMPRESSED: (1.0, 10.0, 1.0, 10.0)})
    assert out[COMPRESSED] == pytest.approx([0.5 / 3.0 + 1.0 / 3.0 + 0.5 / 3.0, 0.5, 1.0], rel=1e-12)


def test_an_end_of_zero_has_a_size():
    """Below 0 nothing is inside, and the distance in sizes of 0 is still a number."""
    rows = cycle([0.0, 1.0, 2.0], lower_pressure=-0.5 * MODULUS, upper_pressure=-0.25 * MODULUS)
    out, _ = held(rows, inside={COMPRESSED: (0.0, 1.0, 0.0, 1.0)})
    assert out[COMPRESSED] == pytest.approx([1.0, -0.25, 0.0], rel=1e-12)
