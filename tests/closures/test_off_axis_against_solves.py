"""The rule for a ball off its axis against own solves in space (``tests/data/own_solves_off_the_axis.csv``,
the rows so far), and what these solves say of themselves."""

import numpy as np
import pytest

from balltravel.closures.off_axis import offset_at
from balltravel.closures.table.tabulated import edge_matrix, gap_of_lift

from ..helpers.off_axis_rows import beside_centred, by_rule, check_of, matrix, rows


def test_on_the_axis_they_are_the_axisymmetric_table(within):
    """Within 0.3 %: Rqq, Rqw and S."""
    for row in (row for row in rows() if row["lean"] == 0.0):
        gap = gap_of_lift(row["ball"], np.array([row["lift"]]))
        table = [float(x[0]) for x in edge_matrix(row["ball"], row["ratio"], gap)]
        within(matrix(row) / table - 1.0, 3e-3)


def test_pressures_of_the_moving_ball_and_force_on_the_held_one_are_the_same(within):
    for row in rows():
        within(row["reciprocity"], 1.5e-3)


def test_the_offsets_are_shares_of_that_at_which_the_ball_touches():
    for row in rows():
        touching = check_of(row, row["ball"] / row["ratio"] - row["ball"])
        most = float(offset_at(touching, np.array([row["lift"]]))[0])
        assert row["offset"] == pytest.approx(row["lean"] * most, rel=1e-6)


def test_the_rule_passes_as_much_more_as_the_solves(within):
    """Of a ball that is held from turning. Rqq within 2 %, Rqw within 5 %: no rule for alpha."""
    worst = np.zeros(2)
    for centred, row in beside_centred():
        off = by_rule(row) / (matrix(row) / matrix(centred))[:2] - 1.0
        within(off / (0.02, 0.05), 1.0)
        worst = np.maximum(worst, abs(off))
    print(f"largest: Rqq {worst[0]:.3f}, Rqw {worst[1]:.3f}")


def test_in_the_solves_s_rises_with_the_offset_and_the_rule_leaves_it():
    """So the rule's ball moves more easily than it does."""
    risen = [(matrix(row) / matrix(centred))[2] for centred, row in beside_centred()]
    print(f"S of the rows off the axis over that on it: {min(risen):.2f} to {max(risen):.2f}")
    assert min(risen) > 1.0


def test_a_ball_that_may_turn_lets_more_pass():
    for centred, row in beside_centred():
        assert matrix(row, "free")[0] < matrix(row)[0] < matrix(centred)[0]
