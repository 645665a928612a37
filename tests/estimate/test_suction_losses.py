"""The static estimate of what takes the suction pressure, against hand calculation."""

import math

import numpy as np
import pytest

from balltravel.closures.families import resistance_of
from balltravel.closures.tube import tube_resistance
from balltravel.estimate.suction_losses import feed_excess, suction_losses
from balltravel.setup.parameters import geometry_of

GRAVITY = 9.80665


def test_each_loss_is_that_of_the_textbook(story):
    """Primer: Poiseuille in the hose with 1.5 heads, the sphere in its tube with both bores, the gap with its
    jet; at the full speed of 0.0968 m/s."""
    s = story("primer", "closures.resistance=closed form")
    found, m, c = suction_losses(s), s.material, s.inlet_check
    flow = math.pi / 4 * 0.048**2 * 0.09 / 0.93
    head = 0.5 * m.density * (flow / (math.pi / 4 * 0.038**2)) ** 2
    hose = 128 * m.viscosity * 1.5 * flow / (math.pi * 0.038**4) + 1.5 * head
    assert found.hose == pytest.approx(hose, rel=1e-9)
    Rc, r = 0.5 * c.cage_diameter, 0.5 * c.seat_diameter
    tube = tube_resistance(c.ball_diameter / c.cage_diameter).Rqq / Rc**3
    bores = 8 / math.pi * (c.seat_length / r**4 + c.cage_length / Rc**4)
    assert found.passage == pytest.approx(m.viscosity * flow * (tube + bores), rel=1e-9)
    R, z0 = 0.5 * c.ball_diameter, math.sqrt(0.25 * (c.ball_diameter**2 - c.seat_diameter**2))
    L = math.hypot(r, z0 + 0.005)
    speed = flow / (math.pi * r * L * (1 - (R / L) ** 2))
    ring, whole = Rc**2 - R**2, Rc**2
    behind = (flow / (math.pi * ring) * (1 - ring / whole)) ** 2
    jet = 0.5 * m.density * ((speed / c.discharge_coefficient) ** 2 + behind)
    creeping = m.viscosity * flow * 3.1 / (r * (L - R) ** 2)
    assert found.gap == pytest.approx(creeping + jet, rel=1e-4)  # the estimate adds the roughness
    at_rest = 101325.0 - m.density * GRAVITY * 0.3
    assert found.available == pytest.approx(at_rest - 2000.0, rel=1e-12)
    assert found.total == pytest.approx(found.hose + found.passage + found.gap, rel=1e-12)


def test_the_gap_is_what_the_table_of_solves_has_beyond_the_passage(story):
    """Of the check's whole resistance at its travel; a tenth less than the closed form's, with its jet."""
    s = story("primer")
    found, closed = suction_losses(s), suction_losses(story("primer", "closures.resistance=closed form"))
    whole = resistance_of(geometry_of(s.inlet_check, s.closures), np.array([0.005])).Rqq[0]
    flow = math.pi / 4 * 0.048**2 * 0.09 / 0.93
    assert closed.passage == pytest.approx(found.passage, rel=1e-12)
    jet = found.gap + found.passage - 5.0 * flow * whole / 0.0105**3
    assert 0.0 < jet < 0.2 * found.gap
    assert 0.4 * closed.gap < found.gap < closed.gap


def test_a_crank_is_taken_at_its_largest_speed(story):
    """pi S f in place of S/(T/2 - t_d - t_r); all losses of the hose but the heads go with it."""
    s = story("primer", "drive.profile=harmonic", "suction.loss_coefficient=0")
    steady = story("primer", "suction.loss_coefficient=0")
    ratio = (math.pi * 0.09 * 0.5) / (0.09 / 0.93)
    assert suction_losses(s).hose == pytest.approx(ratio * suction_losses(steady).hose, rel=1e-9)


def test_losses_that_exceed_what_there_is_leave_the_chamber_unfilled(story):
    found = suction_losses(story("primer"))
    assert not found.unfilled_by(found.hose, found.passage)
    assert found.unfilled_by(1.001 * found.available)
    assert not found.unfilled_by(0.5 * found.available, 0.5 * found.available)


def test_the_feeds_excess_is_what_is_left_at_the_inlet(story):
    fed = story("primer", "suction.tank_gauge_pressure=3 bar", "outlet.gauge_pressure=1 bar")
    assert feed_excess(fed) == pytest.approx(2e5 - 1350.0 * GRAVITY * 0.3, rel=1e-12)
