"""What a check loses in power-law liquids over lift, and how thinning turns the force on its ball, by the two
viscosities of edge and cage and by direct solves.

Draws shear_rates_in_a_check.png.
"""

from pathlib import Path

import numpy as np

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import resistance_of
from balltravel.closures.table.beyond_creeping import table
from balltravel.closures.table.edge_and_cage import cage_part
from balltravel.closures.table.tabulated import gap_of_lift
from balltravel.core.thinning import CAGE_SHARE, EDGE_SHARE
from balltravel.report.figures.curves import lines_figure
from balltravel.report.figures.style import draw_from_command_line, save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
BALL, RATIO = 1.4, 0.7
EXPONENTS = (0.8, 0.6, 0.3)
NEAR, FAR = 0.01, 1.0
"""Lifts that are compared, over the radius of the seat."""

CLAIM = "A liquid that thins is sheared most at the seat: the less the lift, the more easily it passes"
SAID = (
    "at an exponent of 0.3 the loss over that of a liquid that does not thin is {near:.4f} at a "
    "hundredth of the seat's radius and {far:.2f} at a radius; the rule lies within {rule:.1f} % of "
    "the solves"
)


def held_ball(lift: np.ndarray, n: float) -> dict[str, np.ndarray]:
    """Drop at unit flow past a held ball over a Newtonian liquid's, and the same of force over drop."""
    size = CheckGeometry(1.0, 0.0, BALL, BALL / RATIO, 0.0, 0.7, 1e-9, family="tabulated")
    whole = resistance_of(size, lift)
    part, gap = cage_part(size, lift, whole), gap_of_lift(BALL, lift)
    cage = part.R * whole.Rqq * gap**2
    edge, share = whole.Rqq - cage, 1.0 - part.R * gap**2
    alpha = whole.Rqw / whole.Rqq
    alpha_edge = (alpha - (1.0 - share) * part.alpha) / share

    def mean(first: float, rate: np.ndarray, second: np.ndarray) -> np.ndarray:
        return np.asarray(first * rate ** (n - 1.0) + (1.0 - first) * (second * rate) ** (n - 1.0))

    at_edge = edge * mean(EDGE_SHARE, part.edge_rate / gap**2, part.edge_second)
    in_cage = cage * mean(CAGE_SHARE, part.cage_rate, part.cage_second)
    drop = at_edge + in_cage
    force = alpha_edge * at_edge + part.alpha * in_cage
    return {"lift": lift, "drop": drop / whole.Rqq, "lean": force / drop / alpha}


def curves() -> dict[str, dict[str, np.ndarray]]:
    """Name of a curve -> lift, drop and lean."""
    found = {f"two viscosities, n = {n:g}": held_ball(np.geomspace(0.01, 3.0, 120), n) for n in EXPONENTS}
    t = table("ball_over_edge_thinning", 3)
    i, j = (int(np.flatnonzero(a == v)[0]) for a, v in zip(t.axes, (BALL, RATIO), strict=False))
    for n in EXPONENTS:
        at = t.names.index(f"kq_{n:g}")
        k_q, lean = t.values[i, j, :, at : at + 2].T
        found[f"solves, n = {n:g}"] = {"lift": t.axes[2], "drop": k_q ** (n - 1.0), "lean": lean}
    return found


def claim() -> dict[str, float]:
    """Loss over that of a liquid that does not thin, near the seat and far from it, for each exponent and
    (without a number) for the last; how far the rule is from the solves [%]."""
    losses = {n: held_ball(np.array([NEAR, FAR]), n)["drop"] for n in EXPONENTS}
    solved = curves()
    rule = max(
        float(np.abs(held_ball(each["lift"], n)["drop"] / each["drop"] - 1.0).max())
        for n in EXPONENTS
        for each in [solved[f"solves, n = {n:g}"]]
    )
    numbers = {
        f"{place}_{n:g}": float(losses[n][i]) for n in EXPONENTS for i, place in enumerate(("near", "far"))
    }
    last = losses[EXPONENTS[-1]]
    return {**numbers, "near": float(last[0]), "far": float(last[1]), "rule": 100.0 * rule}


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "shear_rates_in_a_check.png"
    names = {
        "drop": "pressure drop, over that of\na liquid that does not thin [-]",
        "lean": "force over pressure drop, over that\nof a liquid that does not thin [-]",
    }
    held = f"past a held ball of {BALL:g} seat radii r in a cage of {BALL / RATIO:g} r"
    flow = "Power-law liquids, stress = rate$^n$, at a flow of r$^3$ a second,"
    title = f"{CLAIM}\n{flow}\n{held}. Points: flow solved by finite elements."
    figure = lines_figure(curves(), names, "lift over seat radius [-]", title, linear=("lean",))
    lean = (
        "At an equal pressure drop a liquid that thins pushes the ball harder near the seat, less far from it"
    )
    figure.axes[1].set_title(lean, fontsize=10)
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
