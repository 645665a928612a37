"""What each family of closures gives of a whole check, by hand from its parts (M4, M5, M6b)."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.by_closed_form import CLOSED_FORM
from balltravel.closures.families import closures_at, lift_functions, resistance_of, seat_and_cage
from balltravel.closures.table.beyond_creeping import gap_area, jet_loss, mass_at
from balltravel.closures.table.by_table import TABULATED
from balltravel.closures.table.tabulated import grid, lift_of_gap
from balltravel.closures.tube import added_mass_coefficient, tube_resistance
from balltravel.core.parameters import (
    ALPHA,
    BACKWARD,
    CONDUCTANCE,
    COUPLING,
    FORWARD,
    FUNCTIONS,
    MASS,
    OPENING_SLIP,
    SLIP,
    STREAM,
)

r, R, RC, BORE, CAGE, ROUGH = 0.0105, 0.0147, 0.0189, 0.008, 0.04, 2e-6
SIZE = CheckGeometry(r, BORE, R, RC, CAGE, 0.7, ROUGH)
LIFTS = np.array([1e-4, 1e-3, 5e-3])
SEAT_AREA, CAGE_AREA = math.pi * r**2, math.pi * RC**2


def edge_gap(lift):
    """Shortest way from the ball to the edge, over its radius, by Pythagoras."""
    return (np.hypot(r, math.sqrt(R * R - r * r) + lift) - R) / r


def gap(lift):
    return np.hypot(edge_gap(lift), ROUGH / r)


def by_hand(lift, bores=True):
    """Edge and ball in its tube in series, lengths in the seat radius: resistances add, S is what is left of
    the ball's drag when it may draw its own flow."""
    tube, g = tube_resistance(R / RC), gap(lift)
    at_edge, in_cage = 3.1 / g**2, tube.Rqq * (r / RC) ** 3
    poiseuille = 8.0 / math.pi * r**3 * (BORE / r**4 + CAGE / RC**4) if bores else 0.0
    Rqq = at_edge + in_cage + poiseuille
    Rqw = math.pi * at_edge + tube.Rqw * r / RC
    drag = 110.0 * np.log1p(1.0 / g) + math.pi**2 * at_edge
    drag = drag + tube.S * RC / r + (tube.Rqw * r / RC) ** 2 / in_cage
    return Rqq, Rqw, drag - Rqw**2 / Rqq


@pytest.mark.parametrize("bores", [True, False])
def test_the_closed_forms_are_edge_tube_and_bores_in_series(bores):
    closed = SIZE._replace(family="closed form")
    found = resistance_of(closed, LIFTS) if bores else seat_and_cage(closed, LIFTS)
    Rqq, Rqw, S = by_hand(LIFTS, bores)
    assert found.Rqq == pytest.approx(Rqq, rel=1e-9)
    assert found.Rqw == pytest.approx(Rqw, rel=1e-9)
    assert pytest.approx(S, rel=1e-9) == found.S


def jet(lift):
    """K_p gap^2: the jet by its discharge coefficient, the annulus into the cage by Borda and Carnot."""
    L = np.hypot(r, math.sqrt(R * R - r * r) + lift)
    annulus = RC**2 - R**2
    behind = (r * r / annulus * (1.0 - annulus / RC**2)) ** 2
    return 1.0 / (0.7 * (1.0 + R / L)) ** 2 + behind * edge_gap(lift) ** 2


def test_the_functions_of_lift_of_the_closed_forms_are_those_of_the_resistance_and_a_jet():
    """The same loss both ways, no onset, the liquid's inertia as far from the seat, nothing of shear."""
    closed = SIZE._replace(family="closed form")
    values, (Rqq, Rqw, S) = lift_functions(closed, LIFTS), by_hand(LIFTS)
    assert values.shape == (FUNCTIONS, 3)
    assert values[CONDUCTANCE] == pytest.approx(1.0 / (Rqq * gap(LIFTS) ** 2), rel=1e-9)
    assert values[ALPHA] == pytest.approx(Rqw / Rqq, rel=1e-9)
    assert values[SLIP] == pytest.approx(S, rel=1e-9)
    assert (values[OPENING_SLIP] == values[SLIP]).all()
    for row in (FORWARD, FORWARD + 1, BACKWARD, BACKWARD + 1):
        assert values[row] == pytest.approx(jet(LIFTS), rel=1e-9)
    assert (values[[STREAM, MASS, COUPLING]] == 1.0).all()
    known = {CONDUCTANCE, ALPHA, SLIP, OPENING_SLIP, FORWARD, FORWARD + 1, BACKWARD, BACKWARD + 1,
             STREAM, MASS, COUPLING}  # fmt: skip
    assert all((values[row] == 0.0).all() for row in range(FUNCTIONS) if row not in known)


@pytest.mark.parametrize("family", ["closed form", "tabulated"])
def test_the_four_closures_are_those_of_the_resistance_and_the_jet(family):
    size = SIZE._replace(family=family)
    total = resistance_of(size, LIFTS)
    conductance, alpha, S, loss = closures_at(size, LIFTS)
    assert conductance == pytest.approx(1.0 / (total.Rqq * gap(LIFTS) ** 2), rel=1e-12)
    assert alpha == pytest.approx(total.Rqw / total.Rqq, rel=1e-12)
    assert (S == total.S).all()
    assert loss == pytest.approx(jet(LIFTS), rel=1e-9)


def test_on_an_edge_a_ball_that_leaves_feels_what_one_that_comes_does_and_on_a_cone_less():
    """A film does not pull (M5i); which of both is meant if nothing is said: the one that comes."""
    cone = SIZE._replace(
        seat_radius=0.007, half_angle=math.radians(42.0), mouth_radius=0.0135, land_width=5e-4
    )
    for family in ("closed form", "tabulated"):
        for call in (resistance_of, seat_and_cage):
            edge, seat = SIZE._replace(family=family), cone._replace(family=family)
            assert pytest.approx(call(edge, LIFTS).S) == call(edge, LIFTS, True).S
            assert (call(seat, LIFTS).S == call(seat, LIFTS, False).S).all()
            assert (call(seat, LIFTS, True).S < call(seat, LIFTS).S).all()
            own = {"closed form": CLOSED_FORM, "tabulated": TABULATED}[family]
            direct = own.whole if call is resistance_of else own.seat_and_cage
            assert (direct(seat, LIFTS).S == call(seat, LIFTS, False).S).all()


def test_the_inertance_of_the_closed_forms_is_that_of_bores_and_of_what_goes_around_the_ball():
    """L/A of bore and cage, and the ball's volume with its added mass over the cage's area once more."""
    around = 4.0 / 3.0 * math.pi * R**3 * (1.0 + added_mass_coefficient(R / RC)) / CAGE_AREA
    expected = BORE / SEAT_AREA + (CAGE + around) / CAGE_AREA
    assert CLOSED_FORM.inertance(SIZE, 1e-3) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("cage", [0.04, 0.01])
def test_the_inertance_of_the_table_is_its_own_up_to_the_balls_top_and_the_cage_above(cage):
    """None is above where the cage is shorter than that."""
    lift, size = 2e-3, SIZE._replace(cage_length=cage)
    top = math.sqrt(R * R - r * r) + lift + R
    near = mass_at(R / r, R / RC, gap(np.array([lift]))).Mqq[0] / r
    expected = BORE / SEAT_AREA + near + max(cage - top, 0.0) / CAGE_AREA
    assert TABULATED.inertance(size, lift) == pytest.approx(expected, rel=1e-9)


def test_the_table_has_solves_up_to_its_ends_and_not_beyond():
    """In ball over seat, ball over cage and lift over seat, each end by itself."""
    table = grid()
    ball, ratio = np.median(table.ball), np.median(table.ratio)

    def size(ball, ratio):
        return SIZE._replace(ball_radius=ball * r, cage_radius=ball * r / ratio)

    lift = np.array([1e-3])
    hair = 1e-9
    for low, high, place in ((*table.ball[[0, -1]], 0), (*table.ratio[[0, -1]], 1)):
        for end, way in ((low, 1.0), (high, -1.0)):
            inside, outside = [ball, ratio], [ball, ratio]
            inside[place], outside[place] = end * (1.0 + way * hair), end * (1.0 - way * hair)
            assert TABULATED.solved(size(*inside), lift)
            assert not TABULATED.solved(size(*outside), lift)
    most = table.lift[-1] * r
    assert TABULATED.solved(size(ball, ratio), np.array([1e-3, most * (1.0 - hair)]))
    assert not TABULATED.solved(size(ball, ratio), np.array([1e-3, most * (1.0 + hair)]))


def test_which_family_has_a_force_and_laws_of_its_own():
    assert (CLOSED_FORM.measured_force, TABULATED.measured_force) == (False, True)
    assert (CLOSED_FORM.flows, TABULATED.flows) == (("Newtonian",), None)
    assert not CLOSED_FORM.solved(SIZE, LIFTS)


def test_the_loss_of_the_table_is_the_eighth_root_of_the_sum_of_eighth_powers():
    """Of the laminar one and of a jet, whose contraction of 0.3 makes it count."""
    size = SIZE._replace(discharge_coefficient=0.3, family="tabulated")
    values, g = lift_functions(size, LIFTS), gap(LIFTS)
    areas = gap_area(R / r, lift_of_gap(R / r, g))
    for first, beyond in ((FORWARD, (RC / r) ** 2 - (R / r) ** 2), (BACKWARD, 1.0)):
        turbulent = jet_loss(areas, 0.3, beyond) * g**2
        expected = (values[first] ** 8 + turbulent**8) ** 0.125
        assert values[first + 1] == pytest.approx(expected, rel=1e-9)
        assert (expected > 1.01 * values[first]).any()
