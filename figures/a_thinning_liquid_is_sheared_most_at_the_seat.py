"""The shear rates at which a thinning liquid's viscosity counts in a check, and what thinning changes in
alpha, over lift and at three exponents."""

from pathlib import Path

import numpy as np

from balltravel.closures.beyond_creeping import table, thinning_at
from balltravel.closures.tabulated import gap_of_lift
from balltravel.plots import lines_figure, save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
BALL, RATIO = 1.4, 0.7
EXPONENTS = (0.8, 0.6, 0.3)


def curves() -> dict[str, dict[str, np.ndarray]]:
    """Name of a curve -> lift, k_q, k_w and the lean of alpha."""
    lift = np.geomspace(0.01, 3.0, 120)
    found = {}
    for n in EXPONENTS:
        thin = thinning_at(BALL, RATIO, gap_of_lift(BALL, lift), np.full(lift.size, n))
        k_q = thin.k_q / gap_of_lift(BALL, lift) ** 2
        found[f"interpolated, n = {n:g}"] = {"lift": lift, "k_q": k_q, "k_w": thin.k_w, "lean": thin.lean}
    t = table("ball_over_edge_thinning", 3)
    i, j = (int(np.flatnonzero(a == v)[0]) for a, v in zip(t.axes, (BALL, RATIO), strict=False))
    for n in EXPONENTS:
        at = t.names.index(f"kq_{n:g}")
        k_q, lean, k_w = t.values[i, j, :, at : at + 3].T
        found[f"solves, n = {n:g}"] = {"lift": t.axes[2], "k_q": k_q, "k_w": k_w, "lean": lean}
    return found


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "shear_rates_in_a_check.png"
    names = {
        "k_q": "$k_q$: rate of the flow over Q/r$^3$ [-]",
        "k_w": "$k_w$: rate of the ball over w/r [-]",
        "lean": "alpha over that of a Newtonian liquid [-]",
    }
    title = f"Shear rates of power-law liquids in a check: R/r {BALL:g}, R/R_c {RATIO:g}"
    save(lines_figure(curves(), names, "lift over seat radius [-]", title, linear=("lean",)), path)
    return [path]


if __name__ == "__main__":
    print(*main(), sep="\n")
