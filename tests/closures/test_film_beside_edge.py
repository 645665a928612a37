"""The film between the underside of a ball off its axis and the plate beside the edge of its seat (M5k),
against Reynolds' equation solved anew by finite differences. Lengths in seat radii, viscosity 1."""

import math

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from balltravel.closures.table.off_axis_gains import by_film, film_more, squeezed
from balltravel.closures.table.off_axis_grid import meeting

BALL = 1.4
NODES, WIDE = 110, 40.0


def resistance(slope, ends_at_the_edge=True):
    """Of a film 1 + 2 slope x + x^2 + y^2 thick over x > 0 to a wall that leaves at unit speed: div(h^3 grad
    p) = 12, its pressure 0 far away and at x = 0 (or mirrored there); nodes closer towards the origin."""
    x = WIDE * np.expm1(6.0 * np.linspace(0.0, 1.0, NODES + 1)) / math.expm1(6.0)
    share = 0.5 * (np.diff(x, prepend=0.0) + np.diff(x, append=x[-1]))
    inside = np.ones((x.size, x.size), bool)
    inside[-1], inside[:, -1], inside[0] = False, False, not ends_at_the_edge
    number = np.where(inside, np.cumsum(inside).reshape(inside.shape) - 1, -1)
    middle = 0.5 * (x[1:] + x[:-1])

    def thick(a, b):
        return 1.0 + 2.0 * slope * a + a * a + b * b

    conducts = {
        0: thick(middle[:, None], x[None, :]) ** 3 * share[None, :] / np.diff(x)[:, None],
        1: thick(x[:, None], middle[None, :]) ** 3 * share[:, None] / np.diff(x)[None, :],
    }
    rows, columns, entries = [], [], []
    for axis, g in conducts.items():
        low, high = np.delete(number, -1, axis), np.delete(number, 0, axis)
        for one, other in ((low, high), (high, low)):
            here, both = one >= 0, (one >= 0) & (other >= 0)
            rows += [one[here], one[both]]
            columns += [one[here], other[both]]
            entries += [g[here], -g[both]]
    matrix = coo_matrix((np.concatenate(entries), (np.concatenate(rows), np.concatenate(columns))))
    area = np.outer(share, share)[inside]
    return 2.0 * 12.0 * float(area @ spsolve(matrix.tocsc(), area))


def by_formula(slope):
    """The same of the package: h = 1 + 2 slope x + (x^2 + y^2) is a ball of radius 1/2 over a gap of 1."""
    return float(squeezed(0.5, np.array(1.0), np.array(2.0 * slope)))


def test_a_film_that_is_mirrored_at_the_edge_is_half_of_that_of_a_ball_over_a_plane():
    """6 pi R^2/gap (Brenner 1961 and earlier, from memory): so the finite differences are right."""
    assert resistance(0.0, ends_at_the_edge=False) == pytest.approx(0.5 * 6.0 * math.pi * 0.25, rel=0.01)


@pytest.mark.parametrize("slope", [0.0, 0.3, 1.0, 3.0, 10.0])
def test_the_film_resists_as_reynolds_equation_has_it(slope):
    expected = resistance(slope)
    print(f"slope {slope}: {by_formula(slope) / expected - 1.0:+.4f}")
    assert by_formula(slope) == pytest.approx(expected, rel=0.03)


def test_a_ball_whose_lowest_point_comes_to_the_edge_sits_in_a_film_as_thin_as_its_gap():
    """In a wide cage, level with the plate: half the gap there, all but twice the resistance; while that of
    a ball that leaves the edge higher up does not grow beyond its slope's."""
    level = np.array([meeting(BALL, 0.5)])
    near, nearer = (
        film_more(BALL, level, np.array([1.0 - math.sqrt(2.0 * BALL * gap)]), 0.0)[0] for gap in (2e-5, 1e-5)
    )
    assert nearer / near == pytest.approx(2.0, rel=0.01)
    low = np.array([0.2])
    touching = film_more(BALL, low, 1.0 - np.sqrt(BALL**2 - (math.sqrt(BALL**2 - 1.0) + low) ** 2), 1e-9)[0]
    assert touching < 100.0 < nearer


def test_on_the_axis_there_is_no_more_film_than_on_the_axis():
    assert film_more(BALL, np.array([0.0, 0.3]), np.zeros(2), 1e-3) == pytest.approx(0.0, abs=1e-12)
    assert by_film(BALL, 0.7, 0.3, 0.0) == pytest.approx(0.0, abs=1e-12)
