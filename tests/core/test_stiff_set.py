"""The stiff test set (Robertson, HIRES, Van der Pol, OREGO) with adaptive steps.

End values: Test Set for IVP Solvers (Mazzia and Magherini, Bari), as carried in public copies; equations from
the same set.
"""

import math

import numpy as np
import pytest

from balltravel.core.rosenbrock import (
    STAGES,
    error_norm,
    factorise,
    solve,
    stage_rhs,
    stage_state,
    step_factor,
)


def robertson(y):
    fast, slow = 3e7 * y[1] ** 2, 1e4 * y[1] * y[2]
    rates = np.array([-0.04 * y[0] + slow, 0.04 * y[0] - slow - fast, fast])
    jacobian = np.array(
        [
            [-0.04, 1e4 * y[2], 1e4 * y[1]],
            [0.04, -1e4 * y[2] - 6e7 * y[1], -1e4 * y[1]],
            [0.0, 6e7 * y[1], 0.0],
        ]
    )
    return rates, jacobian


HIRES_LINEAR = np.zeros((8, 8))
for _row, _column, _value in (
    (0, 0, -1.71), (0, 1, 0.43), (0, 2, 8.32), (1, 0, 1.71), (1, 1, -8.75), (2, 2, -10.03), (2, 3, 0.43),
    (2, 4, 0.035), (3, 1, 8.32), (3, 2, 1.71), (3, 3, -1.12), (4, 4, -1.745), (4, 5, 0.43), (4, 6, 0.43),
    (5, 3, 0.69), (5, 4, 1.71), (5, 5, -0.43), (5, 6, 0.69), (6, 6, -1.81), (7, 6, 1.81),
):  # fmt: skip
    HIRES_LINEAR[_row, _column] = _value


def hires(y):
    rates, jacobian = HIRES_LINEAR @ y, HIRES_LINEAR.copy()
    rates[0] += 0.0007
    for row, sign in ((5, -1.0), (6, 1.0), (7, -1.0)):
        rates[row] += sign * 280.0 * y[5] * y[7]
        jacobian[row, 5] += sign * 280.0 * y[7]
        jacobian[row, 7] += sign * 280.0 * y[5]
    return rates, jacobian


def van_der_pol(y):
    """eps y2' = (1 - y1^2) y2 - y1 with eps = 1e-6."""
    rates = np.array([y[1], ((1.0 - y[0] ** 2) * y[1] - y[0]) / 1e-6])
    jacobian = np.array([[0.0, 1.0], [(-2.0 * y[0] * y[1] - 1.0) / 1e-6, (1.0 - y[0] ** 2) / 1e-6]])
    return rates, jacobian


def van_der_pol_slow(y):
    """The same in its own time: y1'' = mu (1 - y1^2) y1' - y1 with mu = 1000."""
    rates = np.array([y[1], 1e3 * (1.0 - y[0] ** 2) * y[1] - y[0]])
    jacobian = np.array([[0.0, 1.0], [-2e3 * y[0] * y[1] - 1.0, 1e3 * (1.0 - y[0] ** 2)]])
    return rates, jacobian


def orego(y):
    a, b = 77.27, 8.375e-6
    rates = np.array(
        [a * (y[1] + y[0] * (1.0 - b * y[0] - y[1])), (y[2] - (1.0 + y[0]) * y[1]) / a, 0.161 * (y[0] - y[2])]
    )
    jacobian = np.array(
        [
            [a * (1.0 - 2.0 * b * y[0] - y[1]), a * (1.0 - y[0]), 0.0],
            [-y[1] / a, -(1.0 + y[0]) / a, 1.0 / a],
            [0.161, 0.0, -0.161],
        ]
    )
    return rates, jacobian


# Name in the table: rates and Jacobian, start, scales of the absolute error.
PROBLEMS = {
    "Robertson": (robertson, [1.0, 0.0, 0.0], [1e-8, 1e-14, 1.0]),
    "HIRES": (hires, [1.0] + [0.0] * 6 + [0.0057], [1e-4] * 8),
    "VanDerPol eps=1e-6 t=2": (van_der_pol, [2.0, -0.66], [1.0, 1.0]),
    "VanDerPol mu=1000 t=2000": (van_der_pol_slow, [2.0, -0.00066], [1.0, 1e-3]),
    "OREGO": (orego, [1.0, 2.0, 3.0], [1.0, 1.0, 1.0]),
}


class Stepper:
    """Adaptive steps on an autonomous problem with the core's kernels."""

    def __init__(self, problem, scale, rtol):
        self.problem, self.scale, self.rtol = problem, np.array(scale), rtol
        n = len(scale)
        self.matrix, self.order, self.increments = np.empty((n, n)), np.empty(n), np.zeros((STAGES, n))
        self.steps = self.refused = 0

    def attempt(self, y, h):
        """State after a step and its error norm."""
        rates, jacobian = self.problem(y)
        none, trial = np.zeros(len(y)), y.copy()
        if not factorise(jacobian, self.scale, h, self.matrix, self.order):
            return trial, math.inf
        for stage in range(STAGES):
            stage_state(stage, y, self.increments, trial)
            if stage > 0:
                rates, _ = self.problem(trial)
            stage_rhs(stage, h, rates, none, self.increments)
            solve(jacobian, self.scale, h, self.matrix, self.order, self.increments[stage])
        last = self.increments[STAGES - 1]
        after = trial + last
        return after, error_norm(last, y, after, self.scale, np.zeros(y.size), self.rtol)

    def run(self, y, end):
        t, h = 0.0, 1e-6 * min(end, 1.0)
        y = np.array(y)
        while t < end:
            whole = t + h * (1.0 + 1e-9) >= end
            step = end - t if whole else h
            after, error = self.attempt(y, step)
            if error <= 1.0:
                t = end if whole else t + step
                y, self.steps = after, self.steps + 1
            else:
                self.refused += 1
            h = step * (step_factor(error) if math.isfinite(error) else 0.2)
            assert self.steps + self.refused < 20_000
        return y


def end_values(table, name):
    rows = [row for row in table("ivp_reference.csv") if row["problem"] == name]
    return rows[0]["t_end"], np.array([row["reference"] for row in rows])


@pytest.mark.parametrize("rtol", [1e-5, 1e-7])
@pytest.mark.parametrize("name", PROBLEMS)
def test_the_end_values_are_met_within_a_hundred_tolerances(within, table, name, rtol):
    """100: what local errors of one tolerance grow to on the way; every component, relatively."""
    problem, start, scale = PROBLEMS[name]
    end, reference = end_values(table, name)
    stepper = Stepper(problem, scale, rtol)
    error = np.abs(stepper.run(start, end) / reference - 1.0).max() / rtol
    print(f"{name} rtol {rtol:g}: {error:.3g} rtol, {stepper.steps} steps, {stepper.refused} refused")
    within(error, 100.0)
    assert stepper.refused < 0.5 * stepper.steps


def test_robertsons_three_shares_stay_one(table):
    """A sum that the equations keep is kept by every step; 1e-12 after some hundred steps' rounding, whose
    increments cancel at steps of up to 1e10."""
    problem, start, scale = PROBLEMS["Robertson"]
    end, _ = end_values(table, "Robertson")
    y = Stepper(problem, scale, 1e-5).run(start, end)
    assert y.sum() == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("name", PROBLEMS)
def test_the_jacobians_of_the_set_agree_with_differences(difference, name):
    """1e-6: so that a wrong derivative in this file does not pass for an error of the method."""
    problem, start, _ = PROBLEMS[name]
    y = np.random.default_rng(5).uniform(0.5, 1.5, len(start))
    _, jacobian = problem(y)
    for k in range(len(y)):
        unit = np.eye(len(y))[k]
        seen = difference(lambda s, e=unit: problem(y + s * e)[0], 0.0, 1e-3)
        assert jacobian[:, k] == pytest.approx(seen, rel=1e-6, abs=1e-11 * np.abs(jacobian).max())
