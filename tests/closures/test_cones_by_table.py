"""A cone by the table of own solves: at its places, between them, and where film and edge take over."""

import math

import numpy as np
import pytest

from balltravel.closures.table.by_table import put_together, seat_and_cage
from balltravel.closures.table.cones import FADE, cone_of, grid, reference, solves

from ..helpers.fem import NEEDS_FEM

OFF_THE_GRID = ((37.0, 0.86, 0.35, 0.7, 0.05), (50.0, 0.75, 0.15, 0.83, 0.6))
COMMON = (45.0, 0.87, 0.33, 0.75)


def over(law, place, lift):
    """Rqq, alpha and S of a law at lifts over those that are put together."""
    here, form = (f(cone_of(*place), np.atleast_1d(lift)) for f in (law, put_together))
    return np.array([here.Rqq / form.Rqq, here.Rqw / here.Rqq / (form.Rqw / form.Rqq), here.S / form.S])


def test_at_its_places_the_law_is_the_solve(agree):
    for place, solved in list(solves().items())[::37]:
        agree(np.array(seat_and_cage(cone_of(*place[:4]), np.array(place[4:])))[:, 0], solved, 1e-6)


@NEEDS_FEM
@pytest.mark.parametrize("place", OFF_THE_GRID)
def test_between_its_places_the_law_is_as_near_a_fresh_solve_as_the_docs_say(place, within):
    """tests/cones_compared.py has 120 places; without the table they are off by up to 16, 13, 34 %."""
    from balltravel.closures.fem.points import solve_cone

    Rqq, Rqw, S = solve_cone(*place)[5:8]
    here = seat_and_cage(cone_of(*place[:4]), np.array(place[4:]))
    within(here.Rqq / Rqq - 1.0, 0.01)
    within(here.Rqw / Rqw - 1.0, 0.01)
    within(here.S / S - 1.0, 0.03)


def test_a_ball_on_its_seat_has_the_film_alone():
    off = np.abs(over(seat_and_cage, COMMON, np.array([1e-6, 1e-5, 1e-4])) - 1.0)
    assert (off[:, 0] < 1e-5).all()
    assert (np.diff(off) > 0.0).all()


def test_beyond_its_half_angles_the_table_fades_out_smoothly():
    lowest, highest = grid().angles[0], grid().angles[-1]
    for end, way in ((lowest, -1.0), (highest, 1.0)):
        at_end, just_beyond, halfway, far = (
            np.log(over(seat_and_cage, (end + way * beyond, *COMMON[1:]), 0.1))
            for beyond in (0.0, 0.01, 0.5 * FADE, FADE + 0.01)
        )
        assert just_beyond == pytest.approx(at_end, abs=1e-3)
        assert np.abs(halfway).max() < np.abs(at_end).max()
        assert far == pytest.approx(np.zeros((3, 1)), abs=1e-12)


def over_reference(place):
    """Rqq, Rqw and S over what the table is held against."""
    cone, lift = cone_of(*place[:4]), np.array(place[4:])
    return [(a / b)[0] for a, b in zip(seat_and_cage(cone, lift), reference(cone, lift), strict=True)]


@pytest.mark.parametrize(
    ("inside", "beyond"),
    [
        ((45.0, 0.96, 0.33, 0.75, 0.2), (45.0, 0.975, 0.33, 0.75, 0.2)),
        ((45.0, 0.87, 0.03, 0.75, 0.2), (45.0, 0.87, 0.02, 0.75, 0.2)),
        ((45.0, 0.87, 0.33, 0.92, 0.2), (45.0, 0.87, 0.33, 0.95, 0.2)),
        ((45.0, 0.87, 0.33, 0.75, 2.6), (45.0, 0.87, 0.33, 0.75, 4.0)),
    ],
    ids=["bore", "mouth", "ratio", "lift"],
)
def test_beyond_its_ends_the_change_at_the_end_of_the_table_stands(inside, beyond):
    assert over_reference(beyond) == pytest.approx(over_reference(inside), rel=1e-9)


def test_the_table_keeps_every_resistance_positive():
    for degrees in (20.0, 30.0, 37.0, 52.0, 70.0):
        for bore, mouth, ratio in ((0.64, 0.03, 0.5), (0.9, 0.5, 0.8), (0.98, 1.0, 0.95)):
            cone = cone_of(degrees, bore, mouth, ratio)
            here = seat_and_cage(cone, np.geomspace(1e-6, 5.0, 60))
            assert min(part.min() for part in here) > 0.0
            assert (np.diff(here.Rqq) < 0.03 * here.Rqq[:-1]).all()


def test_a_rough_seat_enters_by_its_gap():
    """A rough ball on its seat is where a smooth one is that the roughness lifts."""
    cone = cone_of(*COMMON)
    rough = cone._replace(roughness=0.05)
    lifted = 0.05 / math.sin(cone.half_angle)
    on_seat, smooth = (
        law.S[0] / form.S[0]
        for law, form in (
            (seat_and_cage(rough, np.zeros(1)), put_together(rough, np.zeros(1))),
            (seat_and_cage(cone, np.array([lifted])), put_together(cone, np.array([lifted]))),
        )
    )
    assert on_seat == pytest.approx(smooth, rel=5e-3)


def test_the_shipped_table_has_all_places_of_its_kind():
    points = pytest.importorskip("balltravel.closures.fem.points", exc_type=ImportError)
    assert set(solves()) == set(points.KINDS["cone"].places)
