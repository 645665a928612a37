"""The loss coefficient and the force coefficient of a held ball over the Reynolds number, up and back: solves
of steady laminar flow, and the law that goes over to the loss of a turbulent jet."""

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
from balltravel.report.figures.curves import lines_figure
from balltravel.report.figures.style import save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
BALL, RATIO = 1.4, 0.7
LIFTS = (0.1, 0.4, 1.6)

CLAIM = "In fast flow the loss of a check goes over to that of a jet, whatever the viscosity"
SAID = (
    "at a lift of a tenth of the seat's radius the loss coefficient grows {slow:.1f} times from a "
    "Reynolds number of 3 to 30, and by {fast:.1f} % from 3000 to 20 000"
)


def edge_alone() -> Check:
    """A check of seat radius 1 without bores and without loss at its ends."""
    size = CheckGeometry(1.0, 0.0, BALL, BALL / RATIO, 0.0, 0.7, 1e-9, family="tabulated")
    values, step = closure_table(2.0, 0.02, lambda z: tuple(lift_functions(size, z)))
    return Check(
        1.0, BALL, 2.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1e-9, 0.01, 0.02, step, values, 1.0
    )  # fmt: skip


def coefficients(reynolds: float, drop: float, force: float, lift: float) -> tuple[float, float]:
    """K_p gap^2 and K_F gap of a flow of size 1 from its pressure drop and force."""
    gap = gap_of_lift(BALL, np.array([lift]))
    creeping = edge_matrix(BALL, RATIO, gap)
    density = 0.5 * math.pi * reynolds
    Rqq, Rqw, g = float(creeping.Rqq[0]), float(creeping.Rqw[0]), float(gap[0])
    head = density / (2.0 * math.pi**2)
    return (drop - Rqq) / head * g * g, (force - Rqw) / (head * math.pi) * g


def by_law(lift: float, way: float) -> dict[str, np.ndarray]:
    """The compiled law at the pressure drops that give a flow of size 1."""
    check, out = as_record(edge_alone()), as_record(Law())
    found = []
    for reynolds in np.geomspace(3.0, 2e4, 60):
        material = as_record(Material(Rheology(1.0), Rheology(1.0), 0.5 * math.pi * reynolds, 1.0, 0.0, 0.0))
        low, high = 0.0, 40.0
        for _ in range(80):
            middle = 0.5 * (low + high)
            law(check, material, lift, 0.0, way * math.exp(middle), out)
            low, high = (middle, high) if abs(out.flow) < 1.0 else (low, middle)
        found.append((reynolds, *coefficients(reynolds, math.exp(low), way * float(out.force), lift)))
    x, K_p, K_F = np.array(found).T
    return {"x": x, **_named(way, K_p, K_F)}


def by_solves(lift: float, way: float) -> dict[str, np.ndarray]:
    """The shipped solves."""
    t = table("ball_over_edge_inertia", 4)
    i, j, k = (int(np.flatnonzero(a == v)[0]) for a, v in zip(t.axes, (BALL, RATIO, lift), strict=False))
    rows = t.values[i, j, k, 1 if way > 0 else 0].reshape(-1, 2)
    creeping = edge_matrix(BALL, RATIO, gap_of_lift(BALL, np.array([lift])))
    x = np.array([float(name[3:]) for name in t.names[::2]])
    numbers = [
        coefficients(re, drop * float(creeping.Rqq[0]), force * float(creeping.Rqw[0]), lift)
        for re, (drop, force) in zip(x, rows, strict=True)
    ]
    K_p, K_F = np.array(numbers).T
    return {"x": x, **_named(way, K_p, K_F)}


def _named(way: float, K_p: np.ndarray, K_F: np.ndarray) -> dict[str, np.ndarray]:
    return {"up_p": K_p, "up_F": K_F} if way > 0 else {"back_p": K_p, "back_F": K_F}


def curves() -> dict[str, dict[str, np.ndarray]]:
    """Name of a curve -> Reynolds number and coefficients."""
    lines = {f"law, lift {z:g} r": by_law(z, 1.0) | by_law(z, -1.0) for z in LIFTS}
    points = {f"solves, lift {z:g} r": by_solves(z, 1.0) | by_solves(z, -1.0) for z in LIFTS}
    return {**lines, **points}


def claim() -> dict[str, float]:
    """By how many times the coefficient grows in slow flow, and by how much in fast flow [%], at the
    least lift; the same of every lift by its number."""
    numbers = {}
    for lift in LIFTS:
        line = by_law(lift, 1.0)
        at = np.exp(np.interp(np.log([3.0, 30.0, 3e3, 2e4]), np.log(line["x"]), np.log(line["up_p"])))
        numbers |= {
            f"slow_{lift:g}": float(at[1] / at[0]),
            f"fast_{lift:g}": float(100.0 * (at[3] / at[2] - 1.0)),
        }
    return {**numbers, "slow": numbers["slow_0.1"], "fast": numbers["fast_0.1"]}


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "loss_over_reynolds_number.png"
    names = {
        "up_p": "up: loss coefficient\n$K_p$ (gap/r)$^2$ [-]",
        "back_p": "back: loss coefficient\n$K_p$ (gap/r)$^2$ [-]",
        "up_F": "up: force coefficient\n$K_F$ gap/r [-]",
        "back_F": "back: force coefficient\n$K_F$ gap/r [-]",
    }
    held = f"A held ball of {BALL:g} seat radii r in a cage of {BALL / RATIO:g} r."
    title = f"{CLAIM}\n{held} Level: the loss of a jet.\nPoints: flow solved by finite elements."
    abscissa = "Reynolds number of the seat bore [-]"
    save(lines_figure(curves(), names, abscissa, title, linear=("up_F", "back_F")), path)
    return [path]


if __name__ == "__main__":
    print(*main(), sep="\n")
