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
    """LU factors of 1/(gamma h) - J in scaled states, with partial pivoting; False if singular. On the
    diagonal stand the pivots' reciprocals.

    jacobian: (m, n) with m >= n, the first n rows belong to the states that feed back.
    """
    n = jacobian.shape[1]
    for i in range(n):
        # A division costs several products, and on a GPU most where what is divided is 0, as it often is.
        per_size = 1.0 / scale[i]
        for j in range(n):
            matrix[i, j] = -jacobian[i, j] * scale[j] * per_size
        matrix[i, i] += 1.0 / (GAMMA * h)
    for k in range(n):
        pivot, largest = k, abs(matrix[k, k])
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > largest:
                pivot, largest = i, abs(matrix[i, k])
        order[k] = pivot
        if not largest > 0.0:
            return False
        if pivot != k:
            for j in range(n):
                matrix[k, j], matrix[pivot, j] = matrix[pivot, j], matrix[k, j]
        reciprocal = 1.0 / matrix[k, k]
        matrix[k, k] = reciprocal
        for i in range(k + 1, n):
            if matrix[i, k] != 0.0:
                factor = matrix[i, k] * reciprocal
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
        rhs[i] *= 1.0 / scale[i]
    for k in range(n):
        pivot = int(order[k])
        if pivot != k:
            rhs[k], rhs[pivot] = rhs[pivot], rhs[k]
    # Each sum is a number of its own, not an element of the array: it stays in a register.
    for i in range(1, n):
        total = rhs[i]
        for k in range(i):
            total -= matrix[i, k] * rhs[k]
        rhs[i] = total
    for i in range(n - 1, -1, -1):
        total = rhs[i]
        for k in range(i + 1, n):
            total -= matrix[i, k] * rhs[k]
        rhs[i] = total * matrix[i, i]
    for i in range(n):
        rhs[i] *= scale[i]
    for i in range(max(n, first), m):
        total = rhs[i]
        for j in range(n):
            total += jacobian[i, j] * rhs[j]
        rhs[i] = total * GAMMA * h


@kernel
def with_earlier(own: float, shares: Array, stage: int, increments: Array, i: int) -> float:
    """What a stage has of a state by itself, and its shares of the increments of the stages before. One sum,
    not an array added to an array: it stays in a register."""
    total = own
    for j in range(stage):
        total += shares[stage, j] * increments[j, i]
    return total


@kernel
def stage_state(stage: int, y: Array, increments: Array, out: Array, few: int = 0, first: int = 0) -> None:
    """State at which a stage evaluates the rates. The states from ``few`` up to before ``first`` stand
    still."""
    for i in range(few):
        out[i] = with_earlier(y[i], ADVANCE, stage, increments, i)
    for i in range(few, first):
        out[i] = y[i]
    for i in range(max(few, first), y.shape[0]):
        out[i] = with_earlier(y[i], ADVANCE, stage, increments, i)


@kernel
def stage_rhs(
    stage: int, h: float, rates: Array, by_time: Array, increments: Array, few: int = 0, first: int = 0
) -> None:
    """Right-hand side of a stage's linear system, left in the stage's row of ``increments``; see
    stage_state."""
    right, shift, per_step = increments[stage], h * TIME_WEIGHTS[stage], 1.0 / h
    for i in range(few):
        right[i] = rates[i] + shift * by_time[i]
        right[i] += per_step * with_earlier(0.0, COUPLE, stage, increments, i)
    for i in range(max(few, first), rates.shape[0]):
        right[i] = rates[i] + shift * by_time[i]
        right[i] += per_step * with_earlier(0.0, COUPLE, stage, increments, i)


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
