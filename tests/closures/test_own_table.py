"""A check solved by itself: walls of drawings, and the functions of lift that its table gives."""

import math

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import family_of
from balltravel.closures.own.by_own_table import OWN_TABLE, excess
from balltravel.closures.own.profile import checked_wall, read_profile, seat_in
from balltravel.closures.own.shape import shape_of_sizes, shape_of_wall, table_of_shape
from balltravel.closures.table.by_table import TABULATED
from balltravel.units import UnitError

from ..helpers.fem import NEEDS_FEM
from ..helpers.own_tables import CONE_TABLE, table_in

BALL = 14.7e-3
EDGE = CheckGeometry(10.5e-3, 8e-3, BALL, 18.9e-3, 40e-3, 0.7, 2e-6, family="tabulated")
CONE = EDGE._replace(seat_radius=9e-3, half_angle=math.radians(45.0), mouth_radius=13e-3)
DRAWN_EDGE = "# a drawing\nr (mm), z (mm)\n10.5, -8\n10.5, 0\n18.9, 0\n18.9, 40\n"
DRAWN_CONE = "d (mm), z (mm)\n18, -4\n18, 0\n26, 4\n37.8, 4\n37.8, 40\n"
COARSE = 0.4


def shape_drawn(text, ball=BALL):
    wall = read_profile(text)
    return shape_of_wall(wall, seat_in(wall, ball), ball)


@NEEDS_FEM
def test_the_drawing_of_an_edge_gives_the_shipped_table_within_three_thousandths(within):
    """Elements of 0.4 of the local width err by up to 0.2 %."""
    from balltravel.closures.fem.own_check import solve_own

    shape = shape_drawn(DRAWN_EDGE)
    rows = tuple(solve_own(shape, lift, COARSE) for lift in (0.01, 0.06, 0.3, 1.5))
    table = table_of_shape(shape, COARSE, rows)
    within(np.expm1(excess(table)(np.log([row[0] for row in rows]))), 3e-3)
    lift = 10.5e-3 * np.array([0.01, 0.06, 0.3, 1.5])
    own, shipped = (family_of(g).lift_functions(g, lift) for g in (EDGE._replace(table=table), EDGE))
    parts = [0, 1, 2]  # G/gap^2, alpha and S
    within(own[parts] / shipped[parts] - 1.0, 3e-3)


@NEEDS_FEM
@pytest.mark.parametrize("lift", [0.02, 0.4])
def test_the_drawing_of_a_cone_is_solved_as_the_cone_of_its_sizes(lift, agree):
    from balltravel.closures.fem.own_check import solve_own

    drawn, sizes = shape_drawn(DRAWN_CONE), shape_of_sizes(CONE)
    assert drawn.half_angle == pytest.approx(math.radians(45.0), rel=1e-12)
    assert drawn[:-1] == pytest.approx(sizes[:-1], rel=1e-12)
    agree(np.array(solve_own(drawn, lift, COARSE)), np.array(solve_own(sizes, lift, COARSE)), 1e-6)


@NEEDS_FEM
def test_a_long_wall_costs_no_more_than_its_own_straight_parts(agree):
    """A cage that is drawn in two steps of the same bore far above the ball is the plain cage."""
    from balltravel.closures.fem.own_check import solve_own

    wall = (*read_profile(DRAWN_EDGE), (18.9e-3, 80e-3), (18.9001e-3, 80e-3))
    shape = shape_of_wall(wall, seat_in(wall, BALL), BALL)
    far, near = (np.array(solve_own(s, 0.3, COARSE)) for s in (shape, shape_drawn(DRAWN_EDGE)))
    # From the ball's top on the cage's loss is taken off, however far up its wall is drawn.
    agree(far[1:4], near[1:4], 2e-3)


def test_a_table_gives_its_own_solves_at_its_lifts_and_the_law_it_is_nearest_to_below(agree):
    made = table_in(CONE_TABLE)
    geometry = CONE._replace(table=made, roughness=1e-12)
    assert family_of(geometry) is OWN_TABLE
    lift, Rqq, Rqw, S = np.array(made.rows)[:, :4].T
    here = OWN_TABLE.seat_and_cage(geometry, lift * made.contact, False)
    for value, solved in zip(here, (Rqq, Rqw, S), strict=True):
        agree(value, solved, 1e-6)
    near = np.array([1e-5, 1e-4]) * made.contact
    ratio = OWN_TABLE.seat_and_cage(geometry, near, False).Rqq / TABULATED.seat_and_cage(geometry, near).Rqq
    assert ratio[0] == pytest.approx(ratio[1], rel=1e-9)
    assert OWN_TABLE.solved(geometry, 3.0 * made.contact * np.ones(1))
    assert not OWN_TABLE.solved(geometry, 3.1 * made.contact * np.ones(1))


def test_with_a_table_only_what_was_solved_changes():
    """K_p and the shear rates are the nearest edge's; conductance, alpha, S and the masses are not."""
    from balltravel.core import parameters as core

    lift = np.array([1e-4, 1e-3, 5e-3])
    own, law = (
        family_of(g).lift_functions(g, lift) for g in (CONE._replace(table=table_in(CONE_TABLE)), CONE)
    )
    for same in (core.FORWARD, core.FORWARD + 1, core.BACKWARD, core.EDGE_RATE, core.CAGE_RATE):
        assert own[same] == pytest.approx(law[same], rel=1e-12)
    for other in (core.CONDUCTANCE, core.ALPHA, core.SLIP, core.OPENING_SLIP, core.MASS, core.STREAM):
        assert (own[other] != law[other]).all()
    assert (own[[core.CONDUCTANCE, core.SLIP, core.OPENING_SLIP]] > 0.0).all()


def test_a_ball_aside_passes_more_by_the_factor_that_it_has_without_a_table(agree):
    lift, made = np.array([1e-3, 5e-3]), table_in(CONE_TABLE)
    gains = [
        family_of(g).seat_and_cage(g._replace(offset=3e-3), lift, False).Rqq
        / family_of(g).seat_and_cage(g, lift, False).Rqq
        for g in (CONE, CONE._replace(table=made))
    ]
    assert (gains[0] < 1.0).all()
    agree(gains[1], gains[0], 1e-12)


def test_straight_ends_and_points_on_a_line_are_no_corners():
    wall = read_profile("r (mm), z (mm)\n10,-9\n10,-3\n10,0\n12,2\n14,4\n20,4\n20,9\n20,50\n")
    assert wall == ((0.01, 0.0), (0.014, 0.004), (0.02, 0.004))
    assert read_profile("r (in), z (in)\n0.8,1\n0.8,0\n0.4,0\n0.4,-1\n")[0][0] == pytest.approx(0.4 * 0.0254)


def test_a_ball_sits_where_it_first_touches():
    chamfer = read_profile("r (mm), z (mm)\n10,-1\n10,0\n11,1\n19,1\n19,30\n")
    assert seat_in(chamfer, 14.7e-3).half_angle == pytest.approx(math.radians(45.0))
    # A larger ball finds the chamfer's upper corner, a smaller one its lower one.
    upper, lower = seat_in(chamfer, 17e-3), seat_in(chamfer, 13.5e-3)
    assert (upper.half_angle, upper.contact) == (0.0, pytest.approx(11e-3))
    assert (lower.half_angle, lower.contact) == (0.0, pytest.approx(10e-3))
    assert upper.centre == pytest.approx(1e-3 + math.sqrt(17e-3**2 - 11e-3**2))


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("", "an empty file"),
        ("# only a remark\n", "an empty file"),
        ("10,0\n18,0\n18,9\n", "'10,0' as header; allowed: two columns"),
        ("r (mm), z\n10,0\n18,0\n18,9\n", "'r (mm), z' as header; allowed: two columns"),
        ("r (mm); z (mm)\n10;0\n18;0\n18;9\n", "two columns with a comma between"),
        ("r (kg), z (mm)\n10,0\n18,0\n18,9\n", "no unit of length"),
        ("r (m), z (m)\n10,0\n18,0\n18,9\n", "is the unit in the header right"),
        ("r (um), z (um)\n10,0\n18,0\n18,9\n", "is the unit in the header right"),
        ("r (mm), z (mm)\n10,0\n", "number of points 1; allowed: 3 to 200"),
        ("r (mm), z (mm)\n10,0\n18\n18,9\n", "line 3"),
        ("r (mm), z (mm)\n10,0\nwide,0\n18,9\n", "line 3"),
        ("r (mm), z (mm)\n10,0\n16,0\n12,4\n16,4\n12,-1\n18,9\n", "crosses itself"),
        ("r (mm), z (mm)\n10,0\n14,0\n14,-5\n8,-5\n8,-2\n18,9\n", "open: the bore"),
        ("r (mm), z (mm)\n10,0\n18,0\n9,5\n", "open: it does not widen"),
        ("r (mm), z (mm)\n10,0\n22,0\n22,9\n16,9\n16,4\n18,4\n18,2\n", "open: the cage"),
    ],
)  # fmt: skip
def test_a_wall_that_is_none_is_refused_in_one_sentence(rows, words):
    with pytest.raises(UnitError) as caught:
        read_profile(rows)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("wall", "ball", "words"),
    [
        (((10e-3, 0.0), (14e-3, 0.0), (14e-3, 0.02)), 14.7e-3, "cannot pass into a cage of 28 mm"),
        (((16e-3, 0.0), (18e-3, 0.0), (18e-3, 0.02)), 14.7e-3, "falls through: the narrowest place has 32"),
        (
            ((10e-3, 0.0), (18e-3, 0.0), (18e-3, 0.03), (12e-3, 0.03), (12e-3, 0.04), (18e-3, 0.04)),
            14.7e-3,
            "cannot pass in: it stops at a throat of 24 mm",
        ),
    ],
)
def test_a_ball_that_does_not_sit_in_the_wall_is_refused(wall, ball, words):
    with pytest.raises(UnitError, match=words):
        seat_in(checked_wall(wall), ball)


def test_equal_shapes_of_another_size_have_one_digest_and_other_shapes_another():
    half = CheckGeometry(*(0.5 * size for size in CONE[:5]), *CONE[5:])
    half = half._replace(mouth_radius=0.5 * CONE.mouth_radius)
    here = shape_of_sizes(CONE).digest(0.2)
    assert shape_of_sizes(half).digest(0.2) == here
    others = [
        shape_of_sizes(CONE._replace(mouth_radius=13.1e-3)).digest(0.2),
        shape_of_sizes(CONE._replace(land_width=1e-4)).digest(0.2),
        shape_of_sizes(EDGE).digest(0.2),
        shape_drawn(DRAWN_CONE).digest(0.2),
        shape_of_sizes(CONE).digest(0.3),
    ]
    assert len({here, *others}) == 6
