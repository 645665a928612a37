"""What a ball over its seat resists: solves, table, closed forms and textbook forms over lift.

A ball of 1.42 and a cage of 1.42/0.81 seat radii: a line of the table, so that the solves can be shown.
"""

import math
from pathlib import Path

import numpy as np

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import seat_and_cage
from balltravel.closures.table.tabulated import gap_of_lift, solves
from balltravel.closures.tube import tube_resistance
from balltravel.report.figures.curves import lines_figure
from balltravel.report.figures.style import save

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


def curves() -> dict[str, dict[str, np.ndarray]]:
    """Name of a curve -> lift, Rqq gap^2, alpha, S."""
    lift = np.geomspace(0.001, 4.0, 140)
    gap = gap_of_lift(BALL, lift)
    found = {}
    for name, family in (("table", "tabulated"), ("closed forms", "closed form")):
        check = CheckGeometry(1.0, 0.0, BALL, BALL / RATIO, 0.0, 0.7, 1e-9, family=family)
        m = seat_and_cage(check, lift)
        found[name] = {"lift": lift, "Rqq": m.Rqq * gap**2, "alpha": m.Rqw / m.Rqq, "S": m.S}
    # Reynolds' equation in the wedges from ball to plate and from ball to bore: 1/(2 gap^2 tan) each.
    tangent = math.tan(math.asin(1.0 / BALL))
    slit = 12.0 / (2.0 * math.pi) * 0.5 * (tangent + 1.0 / tangent)
    found["lubrication of the two wedges"] = {"lift": lift, "Rqq": np.full(lift.size, slit)}
    cage, tube = BALL / RATIO, tube_resistance(RATIO)
    found["sphere in a tube alone"] = {
        "lift": lift,
        "Rqq": np.full(lift.size, tube.Rqq / cage**3) * gap**2,
        "alpha": np.full(lift.size, tube.Rqw / tube.Rqq * cage**2),
        "S": np.full(lift.size, tube.S * cage),
    }
    points, Rqq, Rqw, S = solves(BALL, RATIO)
    gap = gap_of_lift(BALL, points)
    found["solves"] = {"lift": points, "Rqq": Rqq * gap**2, "alpha": Rqw / Rqq, "S": S}
    return found


def claim() -> dict[str, float]:
    """How many thousand times the resistance falls up to NEAR, by how much it changes when multiplied by
    the gap squared [%], and what a sphere in a tube alone would make of it at NEAR [%]."""
    found = curves()
    table, tube = found["table"], found["sphere in a tube alone"]
    near = table["lift"] <= NEAR
    product = table["Rqq"][near]
    resistance = product / gap_of_lift(BALL, table["lift"][near]) ** 2
    return {
        "falls": float(1e-3 * resistance[0] / resistance[-1]),
        "product": float(100.0 * (product.max() / product.min() - 1.0)),
        "tube": float(100.0 * tube["Rqq"][near][-1] / product[-1]),
    }


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "check_resistance.png"
    cage = f"in a cage of {BALL / RATIO:.3g} seat radii"
    about = (
        "Level in the upper panel: by the inverse square of the gap. Dots: flow solved by finite elements."
    )
    title = f"{CLAIM}\n{about}\nA ball of {BALL:g} seat radii over a sharp edge, {cage}"
    names = {
        "Rqq": "resistance times gap squared\nRqq (gap/r)$^2$ [-]",
        "alpha": "force over pressure drop\nalpha = Rqw/Rqq [-]",
        "S": "slip resistance\nS [-]",
    }
    save(lines_figure(curves(), names, "lift over seat radius [-]", title), path)
    return [path]


if __name__ == "__main__":
    print(*main(), sep="\n")
