"""RODAS4: a stiffly accurate Rosenbrock method of order 4 with an embedded one of order 3, six stages.

Coefficients: Hairer and Wanner 1996, Solving Ordinary Differential Equations II, section IV.7 and the code
RODAS that goes with it (from memory, in agreement with open implementations; verified by the observed order
and the stiff test set). The caller
evaluates the rates; see ``integrate.attempt`` for the eight lines of a step.
"""

import math

import numpy as np

from balltravel.core.jit import kernel
from balltravel.core.parameters import Array

STAGES = 6
GAMMA = 0.25
NODES = np.array([0.0, 0.386, 0.21, 0.63, 1.0, 1.0])
TIME_WEIGHTS = np.array([0.25, -0.1043, 0.1035, -0.0362, 0.0, 0.0])
ADVANCE = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0],
        [1.544, 0.0, 0.0, 0.0, 0.0],
        [0.9466785280815826, 0.2557011698983284, 0.0, 0.0, 0.0],
        [3.314825187068521, 2.896124015972201, 0.9986419139977817, 0.0, 0.0],
        [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 0.0],
        [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1.0],
    ]
)
COUPLE = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0],
        [-5.6688, 0.0, 0.0, 0.0, 0.0],
        [-2.430093356833875, -0.2063599157091915, 0.0, 0.0, 0.0],
        [-0.1073529058151375, -9.594562251023355, -20.47028614809616, 0.0, 0.0],
        [7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160, 0.0],
        [8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054],
    ]
)


@kernel
def assign(target: Array, source: Array) -> None:
    """Copy ``source`` into the beginning of ``target``. A loop: numba compiles slices ten times slower."""
    for i in range(source.shape[0]):
        target[i] = source[i]


@kernel
def factorise(jacobian: Array, scale: Array, h: float, matrix: Array, order: Array) -> bool:
    """LU factors of 1/(gamma h) - J in scaled states, with partial pivoting; False if singular.

    jacobian: (m, n) with m >= n, the first n rows belong to the states that feed back.
    """
    n = jacobian.shape[1]
    for i in range(n):
        for j in range(n):
            matrix[i, j] = -jacobian[i, j] * scale[j] / scale[i]
        matrix[i, i] += 1.0 / (GAMMA * h)
    for k in range(n):
        pivot = k
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > abs(matrix[pivot, k]):
                pivot = i
        order[k] = pivot
        if not abs(matrix[pivot, k]) > 0.0:
            return False
        if pivot != k:
            for j in range(n):
                matrix[k, j], matrix[pivot, j] = matrix[pivot, j], matrix[k, j]
        for i in range(k + 1, n):
            if matrix[i, k] != 0.0:
                factor = matrix[i, k] / matrix[k, k]
                matrix[i, k] = factor
                for j in range(k + 1, n):
                    matrix[i, j] -= factor * matrix[k, j]
    return True


@kernel
def solve(
    jacobian: Array, scale: Array, h: float, matrix: Array, order: Array, rhs: Array, first: int = 0
) -> None:
    """Solve (1/(gamma h) - J) k = rhs in place; rows beyond the square part, from ``first`` on, are states
    that do not feed back, and follow by substitution."""
    m, n = jacobian.shape
    for i in range(n):
        rhs[i] /= scale[i]
    for k in range(n):
        pivot = int(order[k])
        if pivot != k:
            rhs[k], rhs[pivot] = rhs[pivot], rhs[k]
    for k in range(n):
        for i in range(k + 1, n):
            rhs[i] -= matrix[i, k] * rhs[k]
    for k in range(n - 1, -1, -1):
        for j in range(k + 1, n):
            rhs[k] -= matrix[k, j] * rhs[j]
        rhs[k] /= matrix[k, k]
    for i in range(n):
        rhs[i] *= scale[i]
    for i in range(max(n, first), m):
        total = rhs[i]
        for j in range(n):
            total += jacobian[i, j] * rhs[j]
        rhs[i] = total * GAMMA * h


@kernel
def stage_state(stage: int, y: Array, increments: Array, out: Array, few: int = 0, first: int = 0) -> None:
    """State at which a stage evaluates the rates. The states from ``few`` up to before ``first`` stand
    still."""
    assign(out, y)
    for j in range(stage):
        share = ADVANCE[stage, j]
        for i in range(few):
            out[i] += share * increments[j, i]
        for i in range(first, y.shape[0]):
            out[i] += share * increments[j, i]


@kernel
def stage_rhs(
    stage: int, h: float, rates: Array, by_time: Array, increments: Array, few: int = 0, first: int = 0
) -> None:
    """Right-hand side of a stage's linear system, left in the stage's row of ``increments``; see
    stage_state."""
    right, shift, n = increments[stage], h * TIME_WEIGHTS[stage], rates.shape[0]
    for i in range(few):
        right[i] = rates[i] + shift * by_time[i]
    for i in range(first, n):
        right[i] = rates[i] + shift * by_time[i]
    for j in range(stage):
        share = COUPLE[stage, j] / h
        for i in range(few):
            right[i] += share * increments[j, i]
        for i in range(first, n):
            right[i] += share * increments[j, i]


@kernel
def error_norm(
    last: Array,
    before: Array,
    after: Array,
    scale: Array,
    end: Array,
    rtol: float,
    counted: int = 0,
    few: int = 0,
    first: int = 0,
) -> float:
    """Root mean square of the local error over rtol (scale + |y|): the last increment is the error.

    ``counted``: over how many states the mean is, where the others stand still; 0 for all. A state with an
    ``end`` other than 0 counts by its distance from 0 or from there, whichever is less.
    """
    total = 0.0
    for i in range(few):
        total += error_of(i, last, before, after, scale, end) ** 2
    for i in range(first, last.shape[0]):
        total += error_of(i, last, before, after, scale, end) ** 2
    return math.sqrt(total / (counted if counted > 0 else last.shape[0])) / rtol


@kernel
def error_of(i: int, last: Array, before: Array, after: Array, scale: Array, end: Array) -> float:
    """Error of one state in its size."""
    low = max(abs(before[i]), abs(after[i]))
    high = max(abs(end[i] - before[i]), abs(end[i] - after[i]))
    return float(last[i] / (scale[i] + min(low, high)))


@kernel
def step_factor(error: float) -> float:
    """By how much the next step may be longer, for an error norm of this one; between 0.2 and 5."""
    if error <= 0.0:
        return 5.0
    return min(5.0, max(0.2, 0.9 / math.sqrt(math.sqrt(error))))
