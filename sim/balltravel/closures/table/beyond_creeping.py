"""What inertia and the liquid's mass change at a ball over a sharp edge in a plain cage.

From shipped tables of own solves, lengths in seat radii. Each table is turned into a few numbers at its
points, which are interpolated over lift, ball and cage; outside its ratios and lifts a table's end is used.
Set-up code, not a kernel.
"""

import csv
import math
from collections.abc import Callable
from functools import cache, lru_cache
from importlib import resources
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.table.tabulated import edge_matrix, gap_of_lift, lift_of_gap
from balltravel.core.ranges import Range

Array = NDArray[np.float64]

LAMINAR_CONTRACTION = 0.85
"""Jet over gap in laminar flow: own solves lie about it. Where no steady flow was found up to Re 300, K_p of
laminar flow is drawn to what it gives (Borda and Carnot)."""

UNSURE = 0.3
"""How much ln K_p may differ from that, where the solves leave it open."""


SOLVED_REYNOLDS = Range(
    "check with inertia",
    "Reynolds number at the seat",
    ((0.0, 300.0),),
    "own steady laminar solves; beyond, the loss of a turbulent jet takes over",
)
SOLVED_LIFTS = Range(
    "check with inertia", "lift over seat radius", ((-math.inf, 3.0),), "own solves: above, as at 3"
)
EXPONENTS = Range(
    "check with a shear-thinning material",
    "exponent of the flow curve in the seat bore",
    ((0.05, 1.0),),
    "own solves of power laws and of liquids with a yield stress",
)


class Table(NamedTuple):
    """A shipped table: its columns' names, the nodes of its axes, and the values on their grid."""

    names: tuple[str, ...]
    axes: tuple[Array, ...]
    values: Array


class Inertia(NamedTuple):
    """Inertia's part at lifts: K_p gap^2 of laminar flow and the Reynolds number of its onset, to the cage
    and back; kappa over alpha; K_L gap."""

    forward: Array
    forward_onset: Array
    backward: Array
    backward_onset: Array
    kappa: Array
    lift_force: Array


class Mass(NamedTuple):
    """Inertia of the liquid at lifts, density 1, lengths in seat radii: of a flow, of a ball and of both."""

    Mqq: Array
    Mqw: Array
    Mww: Array


@cache
def table(name: str, keys: int) -> Table:
    """A shipped table on the grid of its first ``keys`` columns."""
    text = resources.files(__package__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))
    numbers = np.array([[float(x) for x in row] for row in rows[1:]])
    axes = tuple(np.unique(numbers[:, i]) for i in range(keys))
    ordered = numbers[np.lexsort(numbers[:, keys - 1 :: -1].T)]
    return Table(tuple(rows[0][keys:]), axes, ordered[:, keys:].reshape(*(a.size for a in axes), -1))


def gap_area(ball: float, lift: Array) -> Array:
    """Area of the gap over that of the seat bore (M5h)."""
    L = np.sqrt(1.0 + (math.sqrt(ball * ball - 1.0) + lift) ** 2)
    return np.asarray(gap_of_lift(ball, lift) * (1.0 + ball / L))


def jet_loss(area: Array, contraction: float, beyond: float) -> Array:
    """Loss of a jet from a gap of that area that spreads to another (Borda and Carnot), on the velocity in
    the bore: (1/(contraction area) - 1/beyond)^2, areas over the bore's; 0 for a jet that is wider."""
    return np.asarray(np.maximum(1.0 / (contraction * area) - 1.0 / beyond, 0.0) ** 2)


def coefficient(reynolds: Array, plateau: float, onset: float) -> Array:
    """K_p of laminar flow over the Reynolds number that the flow would have with the plateau's (M5h)."""
    return plateau * reynolds / np.hypot(reynolds, onset)


def first_flow(Rqq: float, per_flow: Array, drop: Array, plateau: float) -> Array:
    """Flow with the plateau's loss at a pressure drop: Rqq q + per_flow plateau q^2 = drop."""
    return np.asarray(2.0 * drop / (Rqq + np.sqrt(Rqq**2 + 4.0 * per_flow * plateau * drop)))


def fitted(reynolds: Array, drop: Array, Rqq: float, guess: float) -> tuple[float, float]:
    """Plateau and onset of K_p from total pressure drops at unit flow; ``guess`` of the plateau, which counts
    where the drops end early. Least squares of the flow that the law gives at each drop."""
    from scipy.optimize import least_squares

    per_flow = reynolds / (4.0 * math.pi)
    open_end = reynolds[-1] < 250.0

    def off(p: Array) -> Array:
        plateau, onset = np.exp(p)
        seen = reynolds * first_flow(Rqq, per_flow, drop, plateau)
        flow = first_flow(Rqq, per_flow * coefficient(seen, plateau, onset) / plateau, drop, plateau)
        return np.append((flow - 1.0) / 0.01, (p[0] - math.log(guess)) / (UNSURE if open_end else 10.0))

    log_plateau, log_onset = least_squares(off, [math.log(guess), math.log(150.0)]).x
    return math.exp(log_plateau), math.exp(log_onset)


def inertia_of(ball: float, ratio: float, lift: float, both: Array, reynolds: Array) -> list[float]:
    """The six numbers of a point; ``both``: drops and forces over their creeping values, (way, Re, 2), way 0
    back, nan where no flow was found."""
    gap = gap_of_lift(ball, np.array([lift]))
    matrix = edge_matrix(ball, ratio, gap)
    Rqq, alpha = float(matrix.Rqq[0]), float(matrix.Rqw[0] / matrix.Rqq[0])
    g, area = float(gap[0]), gap_area(ball, np.array([lift]))
    annulus = (ball / ratio) ** 2 - ball**2
    push = alpha * Rqq
    laminar, sides, forces = {}, [], []
    for way, beyond, sign in ((1, annulus, 1.0), (0, 1.0, -1.0)):
        known = ~np.isnan(both[way, :, 0])
        drop, more = both[way, known, 0] * Rqq, (both[way, known, 1] - 1.0) * push
        guess = max(float(jet_loss(area, LAMINAR_CONTRACTION, beyond)[0]), 0.2)
        laminar[way] = fitted(reynolds[known], drop, Rqq, guess)
        weight = 1.0 / (push + np.abs(more))
        sides.append(weight[:, None] * np.stack([drop - Rqq, 0.25 * sign * reynolds[known]], axis=1))
        forces.append(weight * more)
    # The force that turns with the flow goes with the loss, the one that does not with the flow squared.
    kappa, lifted = np.linalg.lstsq(np.concatenate(sides), np.concatenate(forces))[0]
    (forward, on), (back, back_on) = laminar[1], laminar[0]
    return [
        math.log(forward * g * g),
        math.log(on),
        math.log(back * g * g),
        math.log(back_on),
        float(kappa) / alpha,
        float(lifted) * g,
    ]


@cache
def _inertia_grid() -> Table:
    t = table("ball_over_edge_inertia", 4)
    reynolds = np.array([float(name[3:]) for name in t.names[::2]])
    values = np.empty((*(a.size for a in t.axes[:3]), 6))
    for i, j, k in np.ndindex(values.shape[:3]):
        both = t.values[i, j, k].reshape(2, -1, 2)
        values[i, j, k] = inertia_of(
            float(t.axes[0][i]), float(t.axes[1][j]), float(t.axes[2][k]), both, reynolds
        )
    return Table(Inertia._fields, t.axes[:3], values)


def _mass_grid() -> Table:
    return table("ball_over_edge_mass", 3)


def _between(values: Array, axis: Array, x: float) -> Array:
    """Linear along the first axis; its ends beyond them."""
    i = min(max(int(np.searchsorted(axis, x)) - 1, 0), axis.size - 2)
    share = min(max((x - axis[i]) / (axis[i + 1] - axis[i]), 0.0), 1.0)
    return np.asarray((1.0 - share) * values[i] + share * values[i + 1])


@lru_cache(maxsize=64)
def _over_lift(grid: Callable[[], Table], ball: float, ratio: float) -> Callable[[Array], Array]:
    """Values of a table over the logarithm of the lift; the travels of one check share them."""
    from scipy.interpolate import PchipInterpolator

    table = grid()
    by_ratio = _between(table.values, np.log(table.axes[0] - 0.95), math.log(ball - 0.95))
    column = _between(by_ratio, -np.log(1.0 - table.axes[1]), -math.log(1.0 - ratio))
    interpolated: Callable[[Array], Array] = PchipInterpolator(np.log(table.axes[2]), column)
    return interpolated


def _at(grid: Callable[[], Table], ball: float, ratio: float, gap: Array) -> Array:
    """Values of a table at a ball, a ratio and gaps: (gaps, ...)."""
    lifts = grid().axes[2]
    lift = np.clip(lift_of_gap(ball, gap), lifts[0], lifts[-1])
    return np.asarray(_over_lift(grid, ball, ratio)(np.log(lift)))


def inertia_at(ball: float, ratio: float, gap: Array) -> Inertia:
    """Inertia's part at gaps > 0; ``ball``: R/r_s, ``ratio``: R/R_c. Source: own solves of steady flow,
    ``ball_over_edge_inertia.csv``, Re 10 to 300 on the bore, ball 1.12 to 1.8, ratio 0.5 to 0.95, lift 0.05
    to 3; below, the gap's limit."""
    grid = _inertia_grid()
    x = _at(_inertia_grid, ball, ratio, gap).T
    # kappa tends to alpha and K_L gap stays as the gap closes: from the table's first lift on linearly.
    first = float(gap_of_lift(ball, grid.axes[2][:1])[0])
    near = np.minimum(gap / first, 1.0)
    kappa = 1.0 + (x[4] - 1.0) * near
    # Above the last lift K_p stays, not K_p gap^2.
    last = float(gap_of_lift(ball, grid.axes[2][-1:])[0])
    x[[0, 2]] += 2.0 * np.log(np.maximum(gap / last, 1.0))
    return Inertia(np.exp(x[0]), np.exp(x[1]), np.exp(x[2]), np.exp(x[3]), kappa, x[5])


def mass_at(ball: float, ratio: float, gap: Array) -> Mass:
    """Inertia of the liquid at gaps. Source: own solves of potential flow, ``ball_over_edge_mass.csv``, lift
    0.001 to 3."""
    x = _at(_mass_grid, ball, ratio, gap).T
    return Mass(x[0], x[1], x[2])
