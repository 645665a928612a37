"""What a ball over its seat resists over lift, by the table and by solves, and what its cage alone would.

A ball of 1.42 and a cage of 1.42/0.81 seat radii: a line of the table, so that the solves can be shown.

Draws check_resistance.png.
"""

from pathlib import Path

import numpy as np

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import seat_and_cage
from balltravel.closures.table.tabulated import gap_of_lift, solves
from balltravel.closures.tube import tube_resistance
from balltravel.report.figures.curves import named_at, titled
from balltravel.report.figures.style import INLET, PISTON, draw_from_command_line, new_figure, save, tidy

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
BALL, RATIO = 1.42, 0.81
NEAR = 0.1
"""Lift over the radius of the seat below which a ball is near it."""

CLAIM = "Near its seat a ball resists by the inverse square of its gap: the edge counts, not the cage"
SAID = (
    "from a thousandth to a tenth of the seat's radius of lift the resistance falls {falls:.1f} "
    "thousand times, and times the gap squared it changes by {product:.0f} %; a sphere in a tube "
    "alone would make {tube:.1f} % of it there"
)


def curves() -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Name of a curve -> lift over the seat's radius, and Rqq gap^2."""
    lift = np.geomspace(0.001, 4.0, 140)
    check = CheckGeometry(1.0, 0.0, BALL, BALL / RATIO, 0.0, 0.7, 1e-9, family="tabulated")
    points, Rqq, _, _ = solves(BALL, RATIO)
    tube = tube_resistance(RATIO).Rqq / (BALL / RATIO) ** 3
    return {
        "table": (lift, seat_and_cage(check, lift).Rqq * gap_of_lift(BALL, lift) ** 2),
        "tube": (lift, tube * gap_of_lift(BALL, lift) ** 2),
        "solves": (points, Rqq * gap_of_lift(BALL, points) ** 2),
    }


def claim() -> dict[str, float]:
    """How many thousand times the resistance falls up to NEAR, by how much it changes when multiplied by
    the gap squared [%], and what a sphere in a tube alone would make of it at NEAR [%]."""
    found = curves()
    lift, product = found["table"]
    near = lift <= NEAR
    resistance = product[near] / gap_of_lift(BALL, lift[near]) ** 2
    return {
        "falls": float(1e-3 * resistance[0] / resistance[-1]),
        "product": float(100.0 * (product[near].max() / product[near].min() - 1.0)),
        "tube": float(100.0 * found["tube"][1][near][-1] / product[near][-1]),
    }


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "check_resistance.png"
    found = curves()
    at_seat = found["table"][1][0]
    table, tube, solved = ((x, y / at_seat) for x, y in found.values())
    figure = new_figure(8.0, 5.2)
    axes = figure.subplots()
    axes.axvspan(table[0][0], NEAR, facecolor="#eeeeee")
    axes.plot(*table, **INLET)
    axes.plot(*tube, **PISTON)
    axes.plot(*solved, "o", markersize=4, color="#222222")
    axes.set(xscale="log", yscale="log", ylim=(1e-3, 1e3), xlim=(table[0][0], table[0][-1]))
    axes.set_xlabel("lift over the seat's radius [-]")
    tidy(axes, "resistance to flow times gap squared\n(1 at the seat) [-]")
    axes.text(
        0.01,
        40.0,
        "near its seat: level, so the resistance\nto flow goes by 1/gap$^2$",
        ha="center",
        fontsize=11,
    )
    named_at(axes, table, 0.0013, "ball over its edge, in its cage", INLET, (1.0, 1.0))
    named_at(axes, tube, 0.05, "its cage alone", PISTON, (1.5, -1.0))
    about = f"A ball of {BALL:g} seat radii in a cage of {BALL / RATIO:.3g}. Dots: solved by finite elements."
    titled(figure, f"{CLAIM}\n{about}")
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
