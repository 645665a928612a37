"""The Rosenbrock step: its coefficients, its linear algebra and its observed order on closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balltravel.core.rosenbrock import (
    ADVANCE,
    COUPLE,
    GAMMA,
    NODES,
    STAGES,
    TIME_WEIGHTS,
    error_norm,
    factorise,
    solve,
    stage_rhs,
    stage_state,
    step_factor,
)

steady = settings(deadline=None, derandomize=True, max_examples=200)


def one_step(problem, t, y, h):
    """The step of ``integrate.attempt`` for any problem: state after it and the error estimate."""
    rates, jacobian, by_time = problem
    size = len(y)
    J, by_t, scale = jacobian(t, y), by_time(t, y), np.ones(size)
    n = J.shape[1]
    matrix, order, increments, trial = np.empty((n, n)), np.empty(n), np.zeros((STAGES, size)), np.empty(size)
    assert factorise(J, scale, h, matrix, order)
    for stage in range(STAGES):
        stage_state(stage, y, increments, trial)
        stage_rhs(stage, h, rates(t + NODES[stage] * h, trial), by_t, increments)
        solve(J, scale, h, matrix, order, increments[stage])
    return trial + increments[STAGES - 1], increments[STAGES - 1]


def method():
    """alpha, Gamma and b of the method: with U = Gamma k the stages carry alpha = ADVANCE Gamma."""
    lower = np.zeros((STAGES, STAGES))
    lower[:, : STAGES - 1] = COUPLE
    gamma = np.linalg.inv(np.eye(STAGES) / GAMMA - lower)
    advance = np.zeros((STAGES, STAGES))
    advance[:, : STAGES - 1] = ADVANCE
    weights = advance[-1].copy()
    weights[-1] += 1.0
    return advance @ gamma, gamma, weights @ gamma, advance[-1] @ gamma


ORDER_THREE = {
    "1": (lambda b, _a, _beta: b.sum(), 1.0),
    "beta": (lambda b, _a, beta: b @ beta.sum(1), 1 / 2),
    "alpha^2": (lambda b, a, _beta: b @ a.sum(1) ** 2, 1 / 3),
    "beta beta": (lambda b, _a, beta: b @ beta @ beta.sum(1), 1 / 6),
}
ORDER_FOUR = {
    "alpha^3": (lambda b, a, _beta: b @ a.sum(1) ** 3, 1 / 4),
    "alpha alpha beta": (lambda b, a, beta: b @ (a.sum(1) * (a @ beta.sum(1))), 1 / 8),
    "beta alpha^2": (lambda b, a, beta: b @ beta @ a.sum(1) ** 2, 1 / 12),
    "beta beta beta": (lambda b, _a, beta: b @ beta @ beta @ beta.sum(1), 1 / 24),
}


@pytest.mark.parametrize("tree", [*ORDER_THREE, *ORDER_FOUR])
def test_the_coefficients_meet_every_order_condition_up_to_four(tree):
    """Hairer and Wanner 1996, table 7.1 of section IV.7, beta = alpha + Gamma; 1e-12: 16 digits of
    coefficients as large as 30, which cancel."""
    alpha, gamma, b, _ = method()
    value, exact = (ORDER_THREE | ORDER_FOUR)[tree]
    assert value(b, alpha, alpha + gamma) == pytest.approx(exact, abs=1e-12)


def test_the_embedded_method_is_of_order_three_and_not_four():
    """The last increment is the error estimate: without it the weights meet order three and miss four."""
    alpha, gamma, _, b = method()
    for value, exact in ORDER_THREE.values():
        assert value(b, alpha, alpha + gamma) == pytest.approx(exact, abs=1e-12)
    assert max(abs(value(b, alpha, alpha + gamma) - exact) for value, exact in ORDER_FOUR.values()) > 1e-3


def test_the_method_is_stiffly_accurate():
    """The last two stages end on the solution: b is the last row of beta, the row before that of
    the embedded method."""
    alpha, gamma, b, embedded = method()
    beta = alpha + gamma
    assert b == pytest.approx(beta[-1], abs=1e-12)
    assert embedded == pytest.approx(beta[-2], abs=1e-12)
    assert alpha[-1].sum() == pytest.approx(1.0, abs=1e-12)
    assert alpha[-2].sum() == pytest.approx(1.0, abs=1e-12)


def test_nodes_and_weights_of_time_are_the_row_sums():
    """The nodes carry few digits because they are exact."""
    alpha, gamma, _, _ = method()
    assert alpha.sum(1) == pytest.approx(NODES, abs=1e-12)
    assert gamma.sum(1) == pytest.approx(TIME_WEIGHTS, abs=1e-12)
    assert np.diag(gamma) == pytest.approx(GAMMA, rel=1e-12)


def test_the_method_damps_the_fastest_parts_at_once():
    """L-stable: the stability function is 0 at minus infinity and at most 1 on the left half plane."""
    alpha, gamma, b, _ = method()
    beta, one = alpha + gamma, np.ones(STAGES)

    def growth(z):
        return abs(1.0 + z * b @ np.linalg.solve(np.eye(STAGES) - z * beta, one))

    assert growth(-1e8) < 1e-6
    axis = np.geomspace(1e-2, 1e4, 200)
    assert max(growth(1j * y) for y in axis) <= 1.0 + 1e-12
    assert max(growth(y * np.exp(0.75j * math.pi)) for y in axis) < 1.0


@settings(steady, max_examples=100)
@given(st.integers(1, 8), st.integers(0, 5), st.integers(0, 2**32 - 1), st.floats(-6.0, 3.0))
def test_the_linear_solve_agrees_with_lapack(n, more, seed, size):
    """States beyond the square part follow by substitution; 1e-9 of the condition number's share."""
    rng = np.random.default_rng(seed)
    scale = 10.0 ** rng.uniform(-6.0, 6.0, n + more)
    J = rng.normal(size=(n + more, n)) * scale[:, None] / scale[:n]
    rhs, h = rng.normal(size=n + more) * scale, 10.0**size
    full = np.zeros((n + more, n + more))
    full[:, :n] = J
    scaled = np.eye(n + more) / (GAMMA * h) - full / scale[:, None] * scale[None, :]
    matrix, order, got = np.empty((n, n)), np.empty(n), rhs.copy()
    assert factorise(J, scale, h, matrix, order)
    solve(J, scale, h, matrix, order, got)
    expected = np.linalg.solve(scaled, rhs / scale)
    limit = 1e-14 * np.linalg.cond(scaled) * np.abs(expected).max()
    assert got / scale == pytest.approx(expected, abs=limit)


def test_a_singular_matrix_is_said_to_be_one():
    """1/(gamma h) = 4 at h = 1: an eigenvalue of 4 leaves nothing to divide by."""
    J = np.array([[4.0, 0.0], [0.0, 1.0]])
    assert not factorise(J, np.ones(2), 1.0, np.empty((2, 2)), np.empty(2))
    assert factorise(J, np.ones(2), 0.5, np.empty((2, 2)), np.empty(2))


def logistic():
    """y' = y (1 - y)."""
    return (
        (lambda _, y: y * (1.0 - y), lambda _, y: np.array([[1.0 - 2.0 * y[0]]]), lambda *_: np.zeros(1)),
        lambda t: np.array([1.0 / (1.0 + math.exp(-t))]),
    )


def swing():
    """y' = y cos t, and its area, which does not feed back."""
    return (
        (
            lambda t, y: np.array([y[0] * math.cos(t), y[0] * math.cos(t) * y[0]]),
            lambda t, y: np.array([[math.cos(t)], [2.0 * y[0] * math.cos(t)]]),
            lambda t, y: np.array([-y[0] * math.sin(t), -(y[0] ** 2) * math.sin(t)]),
        ),
        lambda t: np.array([math.exp(math.sin(t)), 0.5 * math.exp(2.0 * math.sin(t))]),
    )


def bell():
    """y' = -2 t y^2."""
    return (
        (
            lambda t, y: -2.0 * t * y**2,
            lambda t, y: np.array([[-4.0 * t * y[0]]]),
            lambda _, y: -2.0 * y**2,
        ),
        lambda t: np.array([1.0 / (1.0 + t * t)]),
    )


def spiral():
    """Two states: a rotation whose radius follows r' = r (1 - r^2)/2; r^2 = 1/(1 + e^-t)."""

    def rates(_, y):
        grow = 0.5 * (1.0 - y @ y)
        return np.array([grow * y[0] - y[1], grow * y[1] + y[0]])

    def jacobian(_, y):
        grow = 0.5 * (1.0 - y @ y)
        return np.array([[grow - y[0] ** 2, -y[0] * y[1] - 1.0], [-y[0] * y[1] + 1.0, grow - y[1] ** 2]])

    def exact(t):
        r = (1.0 + math.exp(-t)) ** -0.5
        return np.array([r * math.cos(t), r * math.sin(t)])

    return (rates, jacobian, lambda *_: np.zeros(2)), exact


def end_error(problem, exact, start, length, steps):
    """Largest error at the end of steps that alternate by 10 % about their mean."""
    t, y = start, exact(start)
    for k in range(steps):
        h = length / steps * (1.1 if k % 2 else 0.9)
        y, _ = one_step(problem, t, y, h)
        t += h
    return float(np.abs(y - exact(t)).max())


@pytest.mark.parametrize(
    ("case", "coarsest"),
    [(logistic, 16), (swing, 64), (bell, 32), (spiral, 32)],
    ids=lambda c: getattr(c, "__name__", c),
)
def test_the_observed_order_is_four(case, coarsest):
    """Least squares over five levels between the first steps that resolve the problem and rounding, root mean
    square over six random phases; 0.1 (3.93 to 4.08 seen)."""
    problem, exact = case()
    rng = np.random.default_rng(20)
    steps = coarsest * 2 ** np.arange(5)
    errors = np.zeros(len(steps))
    for start in rng.uniform(-1.0, 0.5, 6):
        errors += np.array([end_error(problem, exact, start, 2.0 + start, n) for n in steps]) ** 2
    order = -np.polyfit(np.log(steps), 0.5 * np.log(errors), 1)[0]
    print(f"{case.__name__}: observed order {order:.3f}")
    assert order == pytest.approx(4.0, abs=0.1)


def test_one_step_errs_by_the_fifth_power_of_its_length_and_says_the_fourth():
    """The estimate is the difference between orders three and four; five levels each, at instants where the
    leading terms do not vanish."""
    problem, exact = bell()
    sizes = 0.1 * 0.5 ** np.arange(5)
    estimate = [abs(one_step(problem, 0.7, exact(0.7), h)[1][0]) for h in sizes]
    error = [abs(one_step(problem, 0.3, exact(0.3), h)[0][0] - exact(0.3 + h)[0]) for h in sizes]
    assert np.polyfit(np.log(sizes), np.log(estimate), 1)[0] == pytest.approx(4.0, abs=0.1)
    assert np.polyfit(np.log(sizes), np.log(error), 1)[0] == pytest.approx(5.0, abs=0.1)


@pytest.mark.parametrize("stiffness", [1e4, 1e6, 1e8])
def test_a_stiff_problem_keeps_an_error_of_step_over_stiffness(stiffness):
    """Prothero and Robinson: y' = -L (y - cos t) - sin t. Order four is lost, as with every Rosenbrock
    method not made for this problem: the error is about 0.025 h/L (order 1.2 over these steps)."""
    problem = (
        lambda t, y: -stiffness * (y - math.cos(t)) - math.sin(t),
        lambda *_: np.array([[-stiffness]]),
        lambda t, _: np.array([-stiffness * math.sin(t) - math.cos(t)]),
    )
    steps = np.array([16, 32, 64, 128, 256])
    errors = np.array([end_error(problem, lambda t: np.array([math.cos(t)]), 0.3, 2.0, n) for n in steps])
    order = -np.polyfit(np.log(steps), np.log(errors), 1)[0]
    print(f"L = {stiffness:g}: errors {errors}, observed order {order:.2f}")
    assert order > 1.1
    assert (errors < 0.05 * 2.0 / steps / stiffness).all()


def test_the_error_norm_is_a_root_mean_square_over_the_tolerance():
    last, before, after = np.array([3e-6, -4e-3]), np.array([1.0, -200.0]), np.array([-2.0, 100.0])
    scale = np.array([1.0, 0.0])
    expected = math.sqrt(((3e-6 / (1e-6 * 3.0)) ** 2 + (4e-3 / (1e-6 * 200.0)) ** 2) / 2.0)
    assert error_norm(last, before, after, scale, np.zeros(scale.size), 1e-6) == pytest.approx(
        expected, rel=1e-14
    )


@steady
@given(st.floats(-12.0, 12.0))
def test_the_next_step_is_between_a_fifth_and_five_times_this_one(power):
    """0.9 error^(-1/4): the estimate's order."""
    factor = step_factor(10.0**power)
    assert 0.2 <= factor <= 5.0
    if 0.2 < factor < 5.0:
        assert factor == pytest.approx(0.9 * 10.0 ** (-0.25 * power), rel=1e-12)
    assert step_factor(0.0) == 5.0
