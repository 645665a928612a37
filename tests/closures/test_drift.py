"""How a ball drifts aside (M5k): by the matrix of a solve, and over a whole stroke at its stop. Lengths in
seat radii; R/r 1.4, R/R_c 0.7."""

import numpy as np
import pytest

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.table import drift
from balltravel.closures.table.drift import START, drift_at, offset_in_stroke
from balltravel.closures.table.off_axis_gains import gains
from balltravel.closures.table.off_axis_grid import meeting, reach

from ..helpers.off_axis_rows import beside_centred

BALL, CAGE, CLEARANCE = 1.4, 2.0, 0.6
TOUCHING = CheckGeometry(1.0, 0.0, BALL, CAGE, 0.0, 0.7, 1e-9, offset=CLEARANCE, family="tabulated")
BOTH = meeting(BALL, BALL / CAGE)


def test_a_ball_without_force_and_torque_moves_aside_as_its_solve_has_it():
    """Flow Q, speed up w, force aside F: the two equations of no torque and of that force, solved by hand.
    The flow's share is over the Rqq of the axisymmetric table, 0.3 % from the row's."""
    flow, up, force = 3.0, -0.7, 20.0
    seen = 0
    for _, row in beside_centred():
        share = row["lift"] / BOTH
        if (row["ball"], row["ratio"]) != (BALL, 0.7) or not gains().has(BALL, 0.7, share, row["lean"]):
            continue
        resists = np.array([[row["Rvv"], row["Rvs"]], [row["Rvs"], row["Rss"]]])
        pushes = [
            row["Rqv"] * flow - row["Rwv"] * up + force,
            row["Rqs"] * flow - row["Rws"] * up,
        ]
        aside, _ = np.linalg.solve(resists, pushes)
        found = drift_at(TOUCHING, np.array([row["lift"]])).speed(0, row["offset"], flow, up, force)
        assert found == pytest.approx(aside, rel=2e-2, abs=2e-4)
        seen += 1
    assert seen >= 12


def test_a_stop_below_the_meeting_of_edge_and_cage_lets_the_ball_touch_and_one_far_above_centres_it():
    """By 140 volumes of the seat radius, as a stroke of the primer has."""
    near, far = (offset_in_stroke(TOUCHING, share * BOTH, 140.0, 0.0) for share in (0.6, 1.6))
    assert near > 0.7 * float(reach(BALL, 0.7, 0.6 * BOTH))
    assert far < START * CLEARANCE


def test_where_nothing_flows_a_force_alone_moves_the_ball():
    """Its mobility near the axis times the force, half of it on the mean; the offset stays small."""
    lift = 1.2 * BOTH
    free = drift_at(TOUCHING, np.array([lift])).speed(0, START * CLEARANCE, 0.0, 0.0, 1.0)
    push = 0.02 / free
    moved = offset_in_stroke(TOUCHING, lift, 0.0, push) - START * CLEARANCE
    assert moved == pytest.approx(0.01, rel=0.05)


@pytest.mark.parametrize("share", [0.6, 0.9, 1.0, 1.1, 1.3])
def test_twice_as_many_steps_of_a_stroke_change_its_offset_by_less_than_a_hundredth(monkeypatch, share):
    coarse = offset_in_stroke(TOUCHING, share * BOTH, 140.0, 2.0)
    monkeypatch.setattr(drift, "STEPS", 2 * drift.STEPS)
    assert abs(offset_in_stroke(TOUCHING, share * BOTH, 140.0, 2.0) - coarse) < 0.01 * CLEARANCE


def test_sizes_scale():
    """A check of ten times the size, a thousand times the volume: ten times the offset; the push over the
    viscosity [m2] by the hundred."""
    big = TOUCHING._replace(seat_radius=10.0, ball_radius=14.0, cage_radius=20.0, offset=6.0)
    small, large = (
        offset_in_stroke(TOUCHING, 1.1 * BOTH, 100.0, 3.0),
        offset_in_stroke(big, 11.0 * BOTH, 1e5, 300.0),
    )
    assert large == pytest.approx(10.0 * small, rel=1e-9)
