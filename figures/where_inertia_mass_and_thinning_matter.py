"""Where inertia, the liquid's mass and shear thinning matter: ball lag, fill and the travel that delivers
most, over viscosity, with each correction taken away.

The lower is invented (scenarios/primer.toml), its shims are taken away so that the travel is free. A thinning
material stands at the viscosity that it has at 100 1/s.
"""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np

from balltravel import read_scenario, with_values
from balltravel.core.parameters import (
    BACKWARD,
    COUPLING,
    FORWARD,
    LIFT_FORCE,
    MASS_OPEN,
    MASS_SHUT,
    Check,
    Parameters,
)
from balltravel.cycle.metrics import metrics_of
from balltravel.cycle.motion import motion_of
from balltravel.report.figures.curves import lines_figure
from balltravel.report.figures.style import save
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import run_core

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
VISCOSITIES = np.array([0.01, 0.02, 0.03, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0])
FREE_TRAVELS = np.array([0.6e-3, 1e-3, 1.5e-3, 2e-3, 3e-3, 4e-3, 5e-3, 6e-3, 7e-3, 8e-3, 9e-3, 1e-2, 1.2e-2])
SHOWN = 5e-3
AT_RATE, EXPONENT, ONSET = 100.0, 0.6, 0.5
SAME = 0.005
"""Delivered over swept that counts as the same."""

CLAIM = "Inertia decides how a ball closes in thin material; in thick, thinning decides the fill"
SAID = (
    "without inertia the ball lag is {inertia_thin:.1f} times as long at 0.01 Pa s, and changes by "
    "less than {inertia_thick:.1f} % from 1 Pa s on; thinning takes {thinning_thick:.1f} % of swept "
    "from the fill at 10 Pa s and {thinning_thin:.1f} % at 0.1 Pa s"
)

Change = Callable[[Check], Check]


def whole(check: Check) -> Check:
    """The check as it is."""
    return check


def without_inertia(check: Check) -> Check:
    """Creeping flow: no loss of head, no lift force."""
    values = check.table.copy()
    values[:, FORWARD : BACKWARD + 3] = 0.0
    values[:, LIFT_FORCE] = 0.0
    return check._replace(table=values)


def without_mass(check: Check) -> Check:
    """No liquid moves with the ball, and none pushes it by decelerating."""
    values = check.table.copy()
    values[:, [MASS_SHUT, MASS_OPEN, COUPLING]] = 0.0
    return check._replace(table=values)


def primer(viscosity: float, travel: float, thinning: bool) -> Scenario:
    """The invented lower with a material of a viscosity [Pa s] and a travel [m]."""
    changes: dict[str, object] = {
        "shims.thicknesses": (),
        "shims.below": (),
        "inlet_check.base_travel": travel,
    }
    if thinning:
        at_rest = viscosity * (1.0 + (AT_RATE / ONSET) ** 2) ** (0.5 * (1.0 - EXPONENT))
        changes |= {"material.flow": "shear-thinning", "material.thinning_exponent": EXPONENT}
        changes |= {"material.thinning_onset": ONSET, "material.yield_stress": 0.0}
        viscosity = at_rest
    return with_values(
        read_scenario(ROOT / "scenarios" / "primer.toml"), {**changes, "material.viscosity": viscosity}
    )


def outcome(viscosity: float, travel: float, change: Change, thinning: bool) -> tuple[float, float, float]:
    """Ball lag of the inlet check [s], fill, delivered over swept; nan where a run failed."""
    p: Parameters = core_parameters(primer(viscosity, travel, thinning))
    p = p._replace(inlet=change(p.inlet), piston=change(p.piston))
    result = run_core(p)
    if result.status.failed:
        return np.nan, np.nan, np.nan
    m = metrics_of(motion_of(p, result))
    return m.inlet.ball_lag, m.fill_fraction, m.volumetric_efficiency


def curve(change: Change, thinning: bool = False) -> dict[str, np.ndarray]:
    """Over viscosity: ball lag and fill at the shown travel, and the shortest travel that delivers most."""
    lag, fill, best = [], [], []
    for viscosity in VISCOSITIES:
        at_once = outcome(viscosity, SHOWN, change, thinning)
        lag.append(1e3 * at_once[0])
        fill.append(100.0 * at_once[1])
        delivered = np.array([outcome(viscosity, t, change, thinning)[2] for t in FREE_TRAVELS])
        enough = delivered >= np.nanmax(delivered) - SAME
        best.append(1e3 * FREE_TRAVELS[int(np.argmax(enough))])
    return {"viscosity": VISCOSITIES, "lag": np.array(lag), "fill": np.array(fill), "travel": np.array(best)}


def curves() -> dict[str, dict[str, np.ndarray]]:
    """Name of a curve -> what it has over viscosity."""
    return {
        "full model": curve(whole),
        "creeping flow (no inertia)": curve(without_inertia),
        "no mass of the liquid": curve(without_mass),
        f"thinning, n = {EXPONENT:g}, at its viscosity at {AT_RATE:g} 1/s": curve(whole, thinning=True),
    }


def claim() -> dict[str, float]:
    """At the shown travel: ball lag without inertia over that with it in thin material; the most that
    inertia changes of it in thick material [%]; what thinning changes of the fill [% of swept], thick and
    thin."""
    full, creeping = (
        {viscosity: outcome(viscosity, SHOWN, change, False) for viscosity in (0.01, 0.1, 1.0, 10.0)}
        for change in (whole, without_inertia)
    )
    thins = {viscosity: outcome(viscosity, SHOWN, whole, True) for viscosity in (0.1, 10.0)}
    thick = max(abs(creeping[each][0] / full[each][0] - 1.0) for each in (1.0, 10.0))
    return {
        "inertia_thin": float(creeping[0.01][0] / full[0.01][0]),
        "inertia_thick": float(math.ceil(1e3 * thick) / 10.0),
        "thinning_thick": float(100.0 * (full[10.0][1] - thins[10.0][1])),
        "thinning_thin": float(100.0 * abs(full[0.1][1] - thins[0.1][1])),
    }


def main(folder: Path = IMAGES, found: dict[str, dict[str, np.ndarray]] | None = None) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "where_corrections_matter.png"
    names = {
        "lag": f"ball lag at {1e3 * SHOWN:g} mm [ms]",
        "fill": f"fill at {1e3 * SHOWN:g} mm [%]",
        "travel": "shortest travel that delivers\nmost within 0.5 % of swept [mm]",
    }
    title = f"{CLAIM}\nAn invented lower, 30 cycles/min. Where curves lie on one another, nothing changes."
    save(lines_figure(found or curves(), names, "viscosity [Pa s]", title, linear=("fill", "travel")), path)
    return [path]


def table(found: dict[str, dict[str, np.ndarray]]) -> str:
    """Ball lag and fill at the shown travel, a row a viscosity, as docs/closures.md has them."""
    lines = ["| viscosity | " + " | ".join(found) + " |", "|---" * (len(found) + 1) + "|"]
    for i, viscosity in enumerate(VISCOSITIES):
        cells = (f"{one['lag'][i]:.1f} ms, {one['fill'][i]:.1f} %" for one in found.values())
        lines.append(f"| {viscosity:g} Pa s | " + " | ".join(cells) + " |")
    return "\n".join(lines)


if __name__ == "__main__":
    found = curves()
    print(table(found))
    print(*main(found=found), sep="\n")
