"""Checks put together from their parts: cones, balls off their axis, worn seats; by hand at one lift."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry, cage_matrix, edge, loss_coefficient
from balltravel.closures.film import ConeSeat, film
from balltravel.closures.lift_table import closures_at, resistance_of, seat_and_cage
from balltravel.closures.passages import off_axis_gain
from balltravel.closures.resistance import series
from balltravel.closures.tabulated import edge_matrix
from balltravel.closures.tube import tube_resistance

ANGLE = math.radians(42.0)
EDGE = CheckGeometry(0.0105, 0.008, 0.0147, 0.0189, 0.045, 0.7, 4e-6)
CONE = EDGE._replace(half_angle=ANGLE, mouth_radius=0.0125, land_width=4e-4)
LIFT = np.array([0.0012])


def same(found, wanted):
    for got, right in zip(found, wanted, strict=True):
        assert got == pytest.approx(right, rel=1e-9)


def test_the_circle_of_contact_is_the_edge_or_where_the_ball_touches_the_cone():
    assert EDGE.contact_radius == 0.0105
    assert CONE.contact_radius == pytest.approx(0.0147 * math.cos(ANGLE), rel=1e-12)


@pytest.mark.parametrize("tabulated", [False, True])
def test_a_cone_is_its_film_and_an_edge_as_far_away_as_the_films_ends_are(tabulated):
    check = CONE._replace(leak_gap=3e-5, tabulated=tabulated)
    seat = ConeSeat(0.0105, 0.0125, 0.0147, ANGLE, 4e-4)
    gap = np.sqrt((LIFT * math.sin(ANGLE)) ** 2 + 3e-5**2 + 4e-6**2)
    thin, ends = film(seat, gap)
    opening = 0.5 * (ends.bore + ends.mouth) / check.contact_radius
    if tabulated:
        rest = edge_matrix(0.0147 / check.contact_radius, 0.0147 / 0.0189, opening)
    else:
        rest = series(edge(opening), cage_matrix(check))
    same(seat_and_cage(check, LIFT), series(thin, rest))


@pytest.mark.parametrize("tabulated", [False, True])
def test_the_bores_losses_are_in_lengths_of_the_circle_of_contact(tabulated):
    """8 mu L Q/(pi a^4) times r^3/(mu Q); by the table the cage counts from the ball's top on."""
    check = CONE._replace(tabulated=tabulated)
    r = check.contact_radius
    top = math.sqrt(0.0147**2 - r**2) + 0.0012 + 0.0147
    cage = 0.045 - top if tabulated else 0.045
    bores = 8.0 / math.pi * r**3 * (0.008 / 0.0105**4 + cage / 0.0189**4)
    whole, part = resistance_of(check, LIFT), seat_and_cage(check, LIFT)
    assert whole.Rqq[0] == pytest.approx(part.Rqq[0] + bores, rel=1e-9)
    assert whole.Rqw[0] == pytest.approx(part.Rqw[0], rel=1e-12)


def test_a_ball_off_its_axis_divides_the_tubes_resistance_and_leaves_its_slip():
    off = EDGE._replace(offset=0.003)
    tube, gain = tube_resistance(0.0147 / 0.0189), off_axis_gain(0.0147, 0.0189, 0.003)
    assert 1.3 < gain < 2.1
    found, ratio = cage_matrix(off), 0.0105 / 0.0189
    assert found.Rqq[0] == pytest.approx(tube.Rqq * ratio**3 / gain, rel=1e-12)
    assert found.Rqw[0] == pytest.approx(tube.Rqw * ratio / gain, rel=1e-12)
    assert found.S[0] == pytest.approx(tube.S / ratio, rel=1e-12)


def test_off_the_axis_the_table_changes_as_the_closed_forms_do():
    table = EDGE._replace(tabulated=True)
    changes = [
        [
            a / b
            for a, b in zip(
                seat_and_cage(c._replace(offset=0.003), LIFT), seat_and_cage(c, LIFT), strict=True
            )
        ]
        for c in (table, EDGE)
    ]
    same(*changes)


def test_the_inertial_loss_of_a_cone_is_that_of_its_circle_of_contact():
    """The jet through the ring between ball and circle, and the widening behind the ball."""
    r, R, Rc = CONE.contact_radius, 0.0147, 0.0189
    L = np.hypot(r, math.sqrt(R * R - r * r) + LIFT)
    gap = (L - R) / r
    jet = 1.0 / (0.7 * (1.0 + R / L)) ** 2
    widening = (r * r / (Rc**2 - R**2) * (1.0 - (Rc**2 - R**2) / Rc**2)) ** 2
    assert loss_coefficient(CONE, LIFT) == pytest.approx(jet + widening * gap**2, rel=1e-9)


def test_the_four_functions_are_those_of_the_whole_check():
    check = CONE._replace(tabulated=True)
    r, whole = check.contact_radius, resistance_of(check, LIFT)
    gap2 = ((np.hypot(r, math.sqrt(0.0147**2 - r * r) + LIFT) - 0.0147) ** 2 + 4e-6**2) / r**2
    G, alpha, S, loss = closures_at(check, LIFT)
    assert pytest.approx(1.0 / (whole.Rqq * gap2), rel=1e-9) == G
    assert alpha == pytest.approx(whole.Rqw / whole.Rqq, rel=1e-12)
    assert pytest.approx(whole.S, rel=1e-12) == S
    assert loss == pytest.approx(loss_coefficient(check, LIFT), rel=1e-12)
