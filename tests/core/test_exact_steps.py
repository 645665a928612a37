"""Linear algebra, stages and step control of the Rosenbrock method against plain numpy."""

import math

import numpy as np
import pytest

from balltravel.core.rosenbrock import (
    ADVANCE,
    COUPLE,
    GAMMA,
    STAGES,
    TIME_WEIGHTS,
    assign,
    error_norm,
    factorise,
    solve,
    stage_rhs,
    stage_state,
    step_factor,
)

RNG = np.random.default_rng(11)


@pytest.mark.parametrize("h", [0.03, 40.0])
def test_the_solve_is_that_of_the_whole_matrix(h):
    """(1/(gamma h) - J) k = rhs with the columns of the states that do not feed back 0; the states' scales
    change no digit but the last. The inverse's own error: 1e-10."""
    for _ in range(3):
        J = RNG.normal(size=(6, 4))
        J[0, 0] += 1.0 / (GAMMA * h)  # no pivot on the diagonal
        scale, rhs = 10.0 ** RNG.uniform(-2.0, 2.0, 6), RNG.normal(size=6)
        whole = np.eye(6) / (GAMMA * h)
        whole[:, :4] -= J
        matrix, order, got = np.full((4, 4), np.nan), np.full(4, np.nan), rhs.copy()
        assert factorise(J, scale, h, matrix, order)
        solve(J, scale, h, matrix, order, got)
        assert got == pytest.approx(np.linalg.solve(whole, rhs), rel=1e-9)


def test_the_largest_pivot_is_taken_whatever_its_sign():
    """Every multiplier of the elimination is at most 1 in size, and the order says which row came up."""
    J = np.diag([4.0, 4.0, 4.0]) - np.array([[0.5, 2.0, 1.0], [-3.0, 1.0, 0.0], [1.0, 5.0, 4.0]])
    matrix, order = np.empty((3, 3)), np.empty(3)
    assert factorise(J, np.ones(3), 1.0, matrix, order)
    assert order[0] == 1.0
    assert np.abs(np.tril(matrix, -1)).max() <= 1.0
    upper, lower = np.triu(matrix), np.tril(matrix, -1) + np.eye(3)
    np.fill_diagonal(upper, 1.0 / np.diag(matrix))  # the pivots' reciprocals stand there
    rows = np.array([[0.5, 2.0, 1.0], [-3.0, 1.0, 0.0], [1.0, 5.0, 4.0]])
    for k in range(3):
        rows[[k, int(order[k])]] = rows[[int(order[k]), k]]
    assert lower @ upper == pytest.approx(rows, abs=1e-14)


def test_an_eigenvalue_of_one_over_gamma_h_is_singular():
    """1/(gamma h) = 4 at h = 1: in the first column, in the last, and only after a row has been taken off."""
    for J in (np.diag([4.0, 1.0]), np.diag([1.0, 4.0]), np.array([[4.0, 0.0], [-1.0, 5.0]])):
        assert not factorise(J, np.ones(2), 1.0, np.empty((2, 2)), np.empty(2))
        assert factorise(J, np.ones(2), 0.7, np.empty((2, 2)), np.empty(2))


def test_a_copy_fills_the_beginning_and_leaves_the_rest():
    target = np.full(5, 9.0)
    assign(target, np.array([1.0, 2.0, 3.0]))
    assert list(target) == [1.0, 2.0, 3.0, 9.0, 9.0]


@pytest.mark.parametrize("stage", range(STAGES))
def test_a_stage_takes_the_increments_before_it(stage):
    y, increments = RNG.normal(size=3), RNG.normal(size=(STAGES, 3))
    rates, by_time, h = RNG.normal(size=3), RNG.normal(size=3), 0.3
    out, before = np.empty(3), increments.copy()
    stage_state(stage, y, increments, out)
    assert out == pytest.approx(y + ADVANCE[stage, :stage] @ before[:stage], rel=1e-13)
    stage_rhs(stage, h, rates, by_time, increments)
    expected = rates + COUPLE[stage, :stage] @ before[:stage] / h + h * TIME_WEIGHTS[stage] * by_time
    assert increments[stage] == pytest.approx(expected, rel=1e-12)
    rest = [k for k in range(STAGES) if k != stage]
    assert (increments[rest] == before[rest]).all()


def test_an_error_counts_by_tolerance_scale_and_size():
    """By hand: sizes 0.5 + 2 and 1 + min(4, 1), where the end at 3 is nearer than 0; errors 2 and 3 of
    them."""
    last, rtol = np.array([2.0 * 2.5e-3, -3.0 * 2e-3]), 1e-3
    before, after = np.array([-2.0, 4.0]), np.array([1.0, 3.5])
    scale, end = np.array([0.5, 1.0]), np.array([0.0, 3.0])
    assert error_norm(last, before, after, scale, end, rtol) == pytest.approx(math.sqrt(6.5), rel=1e-12)
    assert error_norm(last, after, before, scale, end, rtol) == pytest.approx(math.sqrt(6.5), rel=1e-12)


@pytest.mark.parametrize(("error", "factor"), [(0.0, 5.0), (-1.0, 5.0), (1e-9, 5.0), (1.0, 0.9), (16.0, 0.45),
                                               (0.0016, 4.5), (1e9, 0.2), (math.inf, 0.2)])  # fmt: skip
def test_the_next_step_follows_the_fourth_root_of_the_error(error, factor):
    """0.9 error^(-1/4), between 0.2 and 5."""
    assert step_factor(error) == pytest.approx(factor, rel=1e-12)


def test_an_entry_of_minus_one_is_eliminated_like_any_other():
    """4 x = 1, 4 y - x = 0."""
    J, one = np.array([[0.0, 0.0], [1.0, 0.0]]), np.ones(2)
    matrix, order, got = np.empty((2, 2)), np.empty(2), np.array([1.0, 0.0])
    assert factorise(J, one, 1.0, matrix, order)
    solve(J, one, 1.0, matrix, order, got)
    assert list(got) == [0.25, 0.0625]
