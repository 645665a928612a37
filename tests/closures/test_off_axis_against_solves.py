"""The rule for a ball off its axis against own solves in space (``closures/table/ball_off_axis.csv``, the
rows so far), and what these solves say of themselves."""

import math

import numpy as np
import pytest

from balltravel.closures.table.off_axis_gains import by_film, factors, factors_of, gains, gains_of, rule
from balltravel.closures.table.off_axis_grid import matrix, meeting, reach, solves
from balltravel.closures.table.tabulated import edge_matrix, gap_of_lift

from ..helpers.off_axis_rows import beside_centred


def by_rule(row):
    """Factors of the rule at a row's place."""
    return rule(row["ball"], row["ratio"], row["lift"], row["offset"])


def test_on_the_axis_they_are_the_axisymmetric_table(within):
    """Rqq, Rqw and S within 0.3 %."""
    for row in (row for row in solves() if row["lean"] == 0.0):
        gap = gap_of_lift(row["ball"], np.array([row["lift"]]))
        table = [float(x[0]) for x in edge_matrix(row["ball"], row["ratio"], gap)]
        within(matrix(row) / table - 1.0, 3e-3)


def test_pressures_of_the_moving_ball_and_force_on_the_held_one_are_the_same(within):
    for row in solves():
        within(row["reciprocity"], 1.5e-3)


def test_the_offsets_are_shares_of_that_at_which_the_ball_touches():
    for row in solves():
        most = reach(row["ball"], row["ratio"], row["lift"])
        assert row["offset"] == pytest.approx(row["lean"] * most, rel=1e-6)


def test_the_rule_passes_as_much_more_as_the_solves(within):
    """Of a ball that is held from turning, up to nine tenths of what touches: Rqq and Rqw within a fifth."""
    worst = np.zeros(2)
    for centred, row in beside_centred():
        off = (by_rule(row) / (matrix(row) / matrix(centred)))[:2] - 1.0
        within(off, 0.2)
        worst = np.maximum(worst, abs(off))
    print(f"largest: Rqq {worst[0]:.3f}, Rqw {worst[1]:.3f}")


def test_in_the_solves_s_rises_with_the_offset_and_the_rule_leaves_it():
    """So the ball by the rule alone, as on a cone, moves more easily than it does."""
    risen = [(matrix(row) / matrix(centred))[2] for centred, row in beside_centred()]
    print(f"S of the rows off the axis over that on it: {min(risen):.2f} to {max(risen):.2f}")
    assert min(risen) > 1.0


def test_a_ball_that_may_turn_lets_more_pass():
    for centred, row in beside_centred():
        assert matrix(row, "free")[0] < matrix(row)[0] < matrix(centred)[0]


def test_at_a_solve_the_table_has_its_numbers():
    known = gains()
    for centred, row in beside_centred():
        line, lift = (row["ball"], row["ratio"]), row["lift"]
        share = lift / meeting(*line)
        is_node = line in known.lines and abs(known.lines[line].share - share).min() < 1e-3
        if is_node and known.has(*line, share, row["lean"]):
            for spin in ("held", "free"):
                expected = matrix(row, spin) / matrix(centred)
                # The offset has seven digits: the last node may lie outside by a rounding.
                found = factors(*line, lift, row["offset"] * (1.0 - 1e-6), spin)
                assert found == pytest.approx(expected, rel=1e-3)


def test_edge_and_cage_are_met_at_once_where_the_table_has_it():
    """A touching ball is as far off as its cage lets it, and a little lower less far."""
    for ball, ratio in ((1.4, 0.7), (1.12, 0.9), (1.8, 0.5)):
        lift, clearance = meeting(ball, ratio), min(ball / ratio - ball, 1.0)
        assert reach(ball, ratio, lift * 1.0001) == pytest.approx(clearance, rel=1e-3)
        assert reach(ball, ratio, lift * 0.99) < clearance * 0.999


def made_up(ball, ratio, lift, lean, more=0.0):
    """A row whose factors are those of the rule times powers of the place, and its film's."""
    offset = lean * reach(ball, ratio, lift)
    on = np.array([100.0 / lift**2, 300.0 / lift, 400.0])
    grown = rule(ball, ratio, lift, offset) * np.exp(lean**2 * (0.1 + 0.02 * np.log(lift) * ball + more))
    off = on * (grown + by_film(ball, ratio, lift, offset))
    names = {"ball": ball, "ratio": ratio, "lift": lift, "lean": lean, "offset": offset}
    whole = {"Rqq": off[0], "Rqw": off[1], "Rww": off[2] + off[1] ** 2 / off[0]}
    return {**names, **whole, "Rqs": 0.0, "Rws": 0.0, "Rss": 1.0}


def test_between_solves_the_table_is_smooth_and_outside_it_is_silent():
    """Factors of the rule times a power that the polynomials hold in lift and lean, and nearly across lines,
    of which a cross is used; a lift that lacks others of its line is left out."""
    lines = [(ball, ratio) for ball in (1.12, 1.4, 1.8) for ratio in (0.5, 0.7, 0.9)]
    lifts = [(*line, part * meeting(*line)) for line in lines for part in (0.5, 1.0, 2.0)]
    places = [(*lift, lean) for lift in lifts for lean in (0.0, 0.35, 0.65, 0.9)]
    known = gains_of(tuple(made_up(*place) for place in (*places, (1.4, 0.7, 1.6, 0.0))))
    assert len(known.lines) == 5
    assert all(line.share.size == 3 for line in known.lines.values())
    lift = 0.8 * meeting(1.3, 0.6)
    place = 1.3, 0.6, lift, 0.5 * reach(1.3, 0.6, lift)
    expected = matrix(made_up(*place[:3], 0.5)) / matrix(made_up(*place[:3], 0.0))
    assert factors_of(known, *place, "held") == pytest.approx(expected, rel=2e-3)
    for outside in ((1.1, 0.6, lift), (1.3, 0.95, lift), (1.3, 0.6, 3.0 * lift), (1.3, 0.6, 0.5 * lift)):
        assert factors_of(known, *outside, 0.0, "held") is None
    assert factors_of(known, 1.3, 0.6, lift, 0.95 * reach(1.3, 0.6, lift), "held") is None


def test_across_ratios_the_table_bends_where_a_ball_over_its_edge_comes_to_its_cage():
    """R/r 1.4: ratio 1.4/2.4. Logarithms that are straight over -ln(1 - ratio) on both sides of it are met
    on both sides, and at it from both."""
    bend = 1.4 / 2.4

    def more(ratio):
        """Rises and falls."""
        beyond = math.log((1.0 - bend) / (1.0 - ratio))
        return (0.8 if ratio < bend else -0.3) * beyond

    places = [
        (1.4, ratio, part * meeting(1.4, ratio), lean, more(ratio))
        for ratio in (0.5, 0.6, 0.7, 0.8)
        for part in (0.5, 1.0, 2.0)
        for lean in (0.0, 0.35, 0.65, 0.9)
    ]
    known = gains_of(tuple(made_up(*place) for place in places))
    for ratio in (0.53, 0.58, bend, 0.59, 0.65, 0.76):
        place = 1.4, ratio, 0.8 * meeting(1.4, ratio)
        expected = matrix(made_up(*place, 0.5, more(ratio))) / matrix(made_up(*place, 0.0))
        found = factors_of(known, *place, 0.5 * reach(1.4, ratio, place[2]), "held")
        # The lift's share is not quite what these powers go by across ratios.
        assert found == pytest.approx(expected, rel=5e-4)
