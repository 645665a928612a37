"""The loss coefficient of a held ball over the Reynolds number: the law, which goes over to the loss of a
turbulent jet, and solves of steady laminar flow.

Draws loss_over_reynolds_number.png.
"""

import math
from pathlib import Path

import numpy as np

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions
from balltravel.closures.lift_table import closure_table
from balltravel.closures.table.beyond_creeping import table
from balltravel.closures.table.tabulated import edge_matrix, gap_of_lift
from balltravel.core.check import Law, law
from balltravel.core.parameters import Check, Material
from balltravel.core.records import as_record
from balltravel.core.rheology import Rheology
from balltravel.report.figures.curves import named_at, titled
from balltravel.report.figures.style import (
    INLET,
    PISTON,
    THIRD,
    draw_from_command_line,
    new_figure,
    save,
    tidy,
)

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
BALL, RATIO = 1.4, 0.7
LIFTS = (0.1, 0.4, 1.6)

CLAIM = "In slow flow the loss of a check goes with the viscosity; in fast flow it hardly depends on it"
SAID = (
    "at a lift of a tenth of the seat's radius the loss coefficient falls {slow:.1f} times from a "
    "Reynolds number of 3 to 30, and by {fast:.1f} % from 3000 to 20 000"
)


def edge_alone() -> Check:
    """A check of seat radius 1 without bores and without loss at its ends."""
    size = CheckGeometry(1.0, 0.0, BALL, BALL / RATIO, 0.0, 0.7, 1e-9, family="tabulated")
    values, step = closure_table(2.0, 0.02, lambda z: tuple(lift_functions(size, z)))
    return Check(
        1.0, BALL, 2.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1e-9, 0.01, 0.02, step, values, 1.0
    )  # fmt: skip


def coefficient(reynolds: float, drop: float, lift: float) -> float:
    """Total loss of a flow of size 1 over the head of its jet in the bore, times (gap/r)^2."""
    gap = float(gap_of_lift(BALL, np.array([lift]))[0])
    return drop / (0.5 * math.pi * reynolds / (2.0 * math.pi**2)) * gap**2


def by_law(lift: float) -> tuple[np.ndarray, np.ndarray]:
    """Reynolds numbers and coefficients: the compiled law at the pressure drop that gives a flow of 1."""
    check, out = as_record(edge_alone()), as_record(Law())
    numbers = np.geomspace(3.0, 2e4, 60)
    losses = []
    for reynolds in numbers:
        material = as_record(Material(Rheology(1.0), Rheology(1.0), 0.5 * math.pi * reynolds, 1.0, 0.0, 0.0))
        low, high = 0.0, 40.0
        for _ in range(80):
            middle = 0.5 * (low + high)
            law(check, material, lift, 0.0, math.exp(middle), out)
            low, high = (middle, high) if abs(out.flow) < 1.0 else (low, middle)
        losses.append(coefficient(reynolds, math.exp(low), lift))
    return numbers, np.array(losses)


def by_solves(lift: float) -> tuple[np.ndarray, np.ndarray]:
    """The same of the shipped solves."""
    t = table("ball_over_edge_inertia", 4)
    i, j, k = (int(np.flatnonzero(a == v)[0]) for a, v in zip(t.axes, (BALL, RATIO, lift), strict=False))
    drops = t.values[i, j, k, 1].reshape(-1, 2)[:, 0]
    creeping = float(edge_matrix(BALL, RATIO, gap_of_lift(BALL, np.array([lift]))).Rqq[0])
    numbers = np.array([float(name[3:]) for name in t.names[::2]])
    losses = [coefficient(re, drop * creeping, lift) for re, drop in zip(numbers, drops, strict=True)]
    return numbers, np.array(losses)


def claim() -> dict[str, float]:
    """By how many times the coefficient falls in slow flow, and by how much in fast flow [%], at the
    least lift; the same of every lift by its number."""
    numbers = {}
    for lift in LIFTS:
        reynolds, loss = by_law(lift)
        at = np.exp(np.interp(np.log([3.0, 30.0, 3e3, 2e4]), np.log(reynolds), np.log(loss)))
        numbers |= {
            f"slow_{lift:g}": float(at[0] / at[1]),
            f"fast_{lift:g}": float(100.0 * (1.0 - at[3] / at[2])),
        }
    return {**numbers, "slow": numbers["slow_0.1"], "fast": numbers["fast_0.1"]}


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "loss_over_reynolds_number.png"
    figure = new_figure(8.0, 5.6)
    axes = figure.subplots()
    for lift, style, mark, side in zip(LIFTS, (INLET, PISTON, THIRD), "os^", (1.0, -1.0, 1.0), strict=True):
        line, points = by_law(lift), by_solves(lift)
        axes.plot(*line, **style)
        axes.plot(*points, mark, markersize=4, color="#222222")
        named_at(axes, line, 6e3, f"lift {lift:g} r", style, (0.0, side))
    axes.set(xscale="log", yscale="log", ylim=(0.15, 120.0))
    axes.text(4.0, 0.5, "slow: the loss goes\nwith the viscosity", fontsize=11)
    axes.text(6e3, 8.0, "fast: level,\nwhatever the viscosity", fontsize=11, ha="center")
    axes.set_xlabel("Reynolds number of the seat bore [-]")
    tidy(axes, "loss coefficient times (gap/r)$^2$ [-]")
    about = f"A held ball of {BALL:g} seat radii r in a cage of {BALL / RATIO:g} r; flow up past it."
    titled(figure, f"{CLAIM}\n{about} Marks: solved by finite elements.")
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
