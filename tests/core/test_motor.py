"""The motor (M1b): valves of air against their ellipse, forces at known points, and mirror images."""

import math

import pytest

from balltravel.core.march import end_of
from balltravel.core.model import V, X
from balltravel.core.motor import (
    BRAKE,
    CRITICAL,
    DRIVE,
    HELD,
    LINEAR,
    MOTOR_SEGMENTS,
    REST,
    Push,
    braking,
    direction_of,
    left_of,
    phase_of,
    push,
    share_of_sonic,
    valve,
)
from balltravel.core.parameters import AIR, HYDRAULIC, Motor
from balltravel.setup.drive import valve_conductance

from ..helpers.boxes import Work, boxed
from ..helpers.lowers import lower

ATMOSPHERE, STROKE = 101325.0, 0.09
AREA, SUPPLY, SPEED, FRICTION, RAMP = 0.027, 7e5, 0.2, 400.0, 0.03
DRIVEN = {
    "profile": "motor", "cycle_rate": None, "motor": "hydraulic", "supply_gauge_pressure": 6e6,
    "area_ratio": 2.5, "free_cycle_rate": 1.0, "friction": 0.05, "moving_mass": 7.0,
}  # fmt: skip
UP, DOWN = DRIVE, MOTOR_SEGMENTS // 2 + DRIVE


def motor(kind=HYDRAULIC, **other):
    air = {"conductance": 4e-3, "exhaust": 2.5e-3, "dead_volume": 1.2e-4} if kind == AIR else {}
    plain = Motor(kind, AREA, SUPPLY, SPEED, 5.0, FRICTION, RAMP, 0.04, limit=20.0, **air)
    return boxed(plain._replace(**other))


def pushed(m, segment=UP, since=1.0, x=0.04, v=0.1, below=3e5, above=2e5):
    out = boxed(Push())
    push(m, segment, since, STROKE, ATMOSPHERE, x, v, below, above, out)
    return out


def test_a_cycle_is_held_driven_braked_and_at_rest_upwards_and_then_downwards():
    assert [phase_of(k) for k in range(MOTOR_SEGMENTS)] == 2 * [HELD, DRIVE, BRAKE, REST]
    assert [direction_of(k) for k in range(MOTOR_SEGMENTS)] == 4 * [1.0] + 4 * [-1.0]
    assert (left_of(STROKE, True, 0.07), left_of(STROKE, False, 0.07)) == pytest.approx((0.02, 0.07))


@pytest.mark.parametrize(
    ("speed", "way"), [(0.1, 1.5e-3), (0.3, 4.5e-3), (9.0, 4.5e-3), (0.0, 0.0), (-1.0, 0.0)]
)
def test_the_brake_takes_half_a_ramp_at_the_speed_and_a_twentieth_of_the_stroke_at_most(speed, way):
    assert braking(motor(), STROKE, speed) == pytest.approx(way, abs=1e-15)


@pytest.mark.parametrize(
    ("ratio", "share"),
    [(0.0, 1.0), (0.1, 1.0), (CRITICAL, 1.0), (0.72, 0.8), (0.86, 0.6), (0.65, math.sqrt(0.75)), (1.0, 0.0)],
)
def test_air_passes_a_valve_by_the_ellipse(ratio, share):
    """sqrt(1 - ((r - b)/(1 - b))^2) above b = 0.3 (ISO 6358-1, from memory): at 0.6, 0.8 and 0.5 of
    the way above b it is 0.8, 0.6 and sqrt(3)/2; all of it below b, none where there is no difference."""
    assert share_of_sonic(ratio)[0] == pytest.approx(share, abs=1e-14)


def test_the_last_hundredth_of_the_ellipse_is_a_straight_line_to_nothing(difference):
    """Continuous at both ends; the slopes are those of the values, on either branch."""
    edge = math.sqrt(1.0 - ((LINEAR - CRITICAL) / (1.0 - CRITICAL)) ** 2)
    assert share_of_sonic(LINEAR)[0] == pytest.approx(edge, rel=1e-12)
    assert share_of_sonic(LINEAR + 1e-12)[0] == pytest.approx(edge, rel=1e-9)
    assert share_of_sonic(0.995)[0] == pytest.approx(0.5 * edge, rel=1e-12)
    for ratio in (0.1, 0.31, 0.5, 0.9, 0.985, 0.993, 0.999):
        h = 0.1 * min(abs(ratio - CRITICAL), abs(ratio - LINEAR), 1.0 - ratio)
        seen = difference(lambda r: share_of_sonic(r)[0], ratio, h)
        assert share_of_sonic(ratio)[1] == pytest.approx(seen, rel=1e-6, abs=1e-12)


PRESSURES = [(7e5, 1e5), (7e5, 4e5), (7e5, 6.96e5), (1.2e5, 1e5), (1e5, 7e5), (4e5, 7e5), (6.96e5, 7e5)]


@pytest.mark.parametrize(("before", "behind"), PRESSURES)
def test_a_valve_of_air_is_alike_in_both_directions_and_has_its_slopes(difference, before, behind):
    """Conductance times the higher pressure times the ellipse's share."""
    C = 4e-3
    flow, by_before, by_behind = valve(C, before, behind)
    high, low = max(before, behind), min(before, behind)
    size = C * high * share_of_sonic(low / high)[0]
    assert flow == pytest.approx(math.copysign(size, before - behind), rel=1e-12)
    assert valve(C, behind, before) == pytest.approx((-flow, -by_behind, -by_before), rel=1e-12)
    h = 0.1 * min(abs(low / high - edge) for edge in (CRITICAL, LINEAR, 1.0)) * low
    assert by_before == pytest.approx(difference(lambda p: valve(C, p, behind)[0], before, h), rel=1e-6)
    seen = difference(lambda p: valve(C, before, p)[0], behind, h)
    assert by_behind == pytest.approx(seen, rel=1e-6, abs=1e-9 * C)


def test_air_shut_in_keeps_pressure_times_volume():
    """Isothermal: without a valve p V stays, so that p' V = -p A v below and + above."""
    out = pushed(motor(AIR, conductance=0.0, exhaust=0.0))
    below, above = 1.2e-4 + AREA * 0.04, 1.2e-4 + AREA * (STROKE - 0.04)
    assert out.below * below + 3e5 * AREA * 0.1 == pytest.approx(0.0, abs=1e-9 * 3e5 * AREA)
    assert out.above * above - 2e5 * AREA * 0.1 == pytest.approx(0.0, abs=1e-9 * 2e5 * AREA)
    assert out.force == pytest.approx(AREA * 1e5 - FRICTION, rel=1e-4)


def test_air_fills_a_side_that_stands_still_at_the_valves_flow_over_its_volume():
    """Below from the supply, above to the atmosphere while it pushes upwards."""
    m = motor(AIR)
    out = pushed(m, v=0.0)
    below, above = 1.2e-4 + AREA * 0.04, 1.2e-4 + AREA * (STROKE - 0.04)
    assert out.below * below == pytest.approx(valve(m.conductance, SUPPLY, 3e5)[0], rel=1e-12)
    assert out.above * above == pytest.approx(-valve(m.exhaust, 2e5, ATMOSPHERE)[0], rel=1e-12)


@pytest.mark.parametrize("kind", [HYDRAULIC, AIR])
@pytest.mark.parametrize("since", [0.2 * RAMP, 0.9 * RAMP, 1.0])
def test_a_downstroke_is_an_upstroke_upside_down(kind, since):
    """Position, speed and both sides of the air exchanged: the force has the other sign, and so on."""
    m = motor(kind)
    up = pushed(m, UP, since, 0.03, 0.12, 4e5, 1.5e5)
    down = pushed(m, DOWN, since, STROKE - 0.03, -0.12, 1.5e5, 4e5)
    assert (down.force, down.by_v, down.by_t) == pytest.approx((-up.force, up.by_v, -up.by_t), rel=1e-12)
    there = (down.above, down.above_x, down.above_v, down.above_own)
    assert there == pytest.approx((up.below, -up.below_x, -up.below_v, up.below_own), rel=1e-9)
    there = (down.below, down.below_x, down.below_v, down.below_own)
    assert there == pytest.approx((up.above, -up.above_x, -up.above_v, up.above_own), rel=1e-9)


@pytest.mark.parametrize(("share", "left"), [(0.0, 1.0), (0.5, 0.75), (1.0, 0.0), (-0.5, 1.25)])
def test_a_hydraulic_motor_loses_its_supply_by_the_square_of_its_speed(share, left):
    """All of it at the speed without load; against its direction it is braked by as much."""
    m = motor(friction=0.0)
    whole = AREA * (SUPPLY - ATMOSPHERE)
    assert pushed(m, v=share * SPEED).force == pytest.approx(left * whole, abs=1e-9 * whole)


def test_a_hydraulic_motors_valve_shifts_from_one_side_to_the_other_within_the_ramp():
    m, whole = motor(friction=0.0), AREA * (SUPPLY - ATMOSPHERE)
    for since, share in ((0.0, -1.0), (0.25 * RAMP, -0.5), (0.5 * RAMP, 0.0), (RAMP, 1.0), (9.0, 1.0)):
        assert pushed(m, UP, since, v=0.0).force == pytest.approx(share * whole, abs=1e-9 * whole)
        assert pushed(m, DOWN, since, v=0.0).force == pytest.approx(-share * whole, abs=1e-9 * whole)


@pytest.mark.parametrize("v", [-0.3, -1e-4, 1e-5, 3e-4, 0.07])
@pytest.mark.parametrize("kind", [HYDRAULIC, AIR])
def test_friction_is_one_force_against_the_speed_rounded_off_at_rest(difference, kind, v):
    rubbing, smooth = motor(kind), motor(kind, friction=0.0)
    lost = pushed(smooth, v=v).force - pushed(rubbing, v=v).force
    expected = FRICTION * v / math.hypot(v, 1e-3 * SPEED)
    assert lost == pytest.approx(expected, rel=1e-6)
    h = 0.02 * math.hypot(v, 1e-3 * SPEED) if abs(v) > 1e-4 else 0.3 * abs(v)
    seen = difference(lambda s: pushed(rubbing, v=s).force, v, h)
    assert pushed(rubbing, v=v).by_v == pytest.approx(seen, rel=1e-5)


@pytest.mark.parametrize("supply", [1.5e5, 4e5, 1.1e6])
def test_an_air_motors_valve_makes_its_free_speed_with_the_same_pressure_on_both_sides(supply):
    """Without friction no force, and pressures that stay: what comes in is what goes out and what the piston
    sweeps. The pressure by bisection on the valve's flows."""
    C = valve_conductance(AREA * SPEED, supply, ATMOSPHERE)
    m = motor(AIR, supply=supply, friction=0.0, conductance=C, exhaust=C)
    low, high = ATMOSPHERE, supply
    for _ in range(200):
        middle = 0.5 * (low + high)
        if valve(C, supply, middle)[0] > valve(C, middle, ATMOSPHERE)[0]:
            low = middle
        else:
            high = middle
    for segment, speed in ((UP, SPEED), (DOWN, -SPEED)):
        out = pushed(m, segment, v=speed, below=low, above=low)
        assert out.force == 0.0
        filled = m.conductance * supply / 1.2e-4
        assert abs(out.below) < 1e-9 * filled
        assert abs(out.above) < 1e-9 * filled


@pytest.mark.parametrize("wide", [1e2, 1e4])
@pytest.mark.parametrize(("segment", "sign"), [(UP, 1.0), (DOWN, -1.0)])
def test_the_wider_an_exhaust_the_nearer_its_side_is_to_the_atmosphere(wide, segment, sign):
    """Where what the piston pushes out, p A v, is what leaves, C p share(p_0/p): near the atmosphere the
    share is a straight line, so that p = p_0/(1 - (1 - LINEAR) A v/(C edge)), whatever the supply."""
    edge = math.sqrt(1.0 - ((LINEAR - CRITICAL) / (1.0 - CRITICAL)) ** 2)
    m = motor(AIR, exhaust=wide * AREA * SPEED)
    p = ATMOSPHERE / (1.0 - (1.0 - LINEAR) / (wide * edge))
    assert ATMOSPHERE < p < ATMOSPHERE * (1.0 + 0.1 / wide)
    sides = (5e5, p) if sign > 0.0 else (p, 5e5)
    out = pushed(m, segment, v=sign * SPEED, below=sides[0], above=sides[1])
    still = out.above if sign > 0.0 else out.below
    assert still == pytest.approx(0.0, abs=1e-9 * m.exhaust * p / 1.2e-4)


def test_a_choked_exhaust_lets_the_piston_go_at_its_conductance_over_the_area_whatever_the_pressure():
    """C p = p A v: the pressure stays at that speed, falls below it and rises above it."""
    narrow = motor(AIR, exhaust=0.1 * AREA * SPEED)
    for p in (3.5e5, 5e5, 7e5):
        assert pushed(narrow, v=0.1 * SPEED, above=p).above == pytest.approx(0.0, abs=1e-9 * p / 0.1)
        assert (
            pushed(narrow, v=0.09 * SPEED, above=p).above
            < 0.0
            < pushed(narrow, v=0.11 * SPEED, above=p).above
        )


@pytest.mark.parametrize(("segment", "end", "way"), [(UP, 0.0, 1.0), (DOWN, STROKE, -1.0)])
@pytest.mark.parametrize("v", [-0.02, 0.01])
def test_behind_its_stroke_a_piston_meets_a_stiff_spring_with_half_the_critical_damping(segment, end, way, v):
    """That gives way by a ten-thousandth of the stroke to the force at stall; ahead of it there is none."""
    m, beyond = motor(), -way * 2e-6
    rate = AREA * (SUPPLY - ATMOSPHERE) / (1e-4 * STROKE)
    damping = 0.5 * 2.0 * math.sqrt(rate * 5.0)
    behind, ahead = (pushed(m, segment, x=end + side * beyond, v=v) for side in (1.0, -1.0))
    assert behind.force - ahead.force == pytest.approx(-rate * beyond - damping * v, rel=1e-9)
    assert behind.by_x - ahead.by_x == pytest.approx(-rate, rel=1e-12)
    assert behind.by_v - ahead.by_v == pytest.approx(-damping, rel=1e-9)


@pytest.mark.parametrize(
    ("segment", "x", "v"), [(BRAKE, 0.088, 0.3), (MOTOR_SEGMENTS // 2 + BRAKE, 0.002, -0.2)]
)
def test_a_brake_brings_the_piston_to_rest_at_the_end_of_its_stroke(segment, x, v):
    """v^2/(2 s) against its way, in a time of 2 s/v."""
    p, work = lower(drive=DRIVEN), Work()
    work.y[X], work.y[V] = x, v
    left = STROKE - x if v > 0.0 else x
    end = end_of(boxed(p), segment, 7.0, work.box)
    assert end == pytest.approx(7.0 + 2.0 * left / abs(v), rel=1e-12)
    assert work.now.brake == pytest.approx(-math.copysign(0.5 * v * v / left, v), rel=1e-12)
    assert v + work.now.brake * (end - 7.0) == pytest.approx(0.0, abs=1e-12)


def test_a_held_piston_and_a_driven_one_have_their_limit_of_time_and_a_resting_one_its_dwell():
    p, work = lower(drive=DRIVEN), Work()
    for segment, lasts in ((HELD, p.motor.limit), (DRIVE, p.motor.limit), (REST, p.motor.dwell_time)):
        assert end_of(boxed(p), segment, 7.0, work.box) == pytest.approx(7.0 + lasts, rel=1e-12)
    assert work.now.since == 7.0
