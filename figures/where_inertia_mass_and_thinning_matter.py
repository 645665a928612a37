"""Where inertia and shear thinning matter: how late the inlet check closes, and the fill, over viscosity,
with and without.

The lower is invented (scenarios/primer.toml), its shims are taken away so that the travel is free. A thinning
material stands at the viscosity that it has at 100 1/s. With --table it prints the table of docs/closures.md,
with the liquid's mass taken away as well.

Draws where_corrections_matter.png.
"""

import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np

from balltravel import read_scenario, with_values
from balltravel.core.parameters import (
    BACKWARD,
    COUPLING,
    FORWARD,
    LIFT_FORCE,
    MASS,
    STREAM,
    Check,
    Parameters,
)
from balltravel.core.status import Status
from balltravel.cycle.metrics import metrics_of
from balltravel.cycle.motion import motion_of
from balltravel.report.figures.curves import named_at, titled
from balltravel.report.figures.style import INLET, PISTON, draw_from_command_line, new_figure, save, tidy
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import run_core

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
VISCOSITIES = np.array([0.01, 0.02, 0.03, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0])
"""Of the table."""

THIN, THICK = np.geomspace(0.01, 1.0, 25), np.geomspace(1.0, 20.0, 14)
"""Of the two panels."""

SHOWN = 5e-3
AT_RATE, EXPONENT, ONSET = 100.0, 0.6, 0.5

CLAIM = "In thin material inertia decides when the ball closes; in thick, thinning decides the fill"
SAID = (
    "without inertia the inlet check closes {creeping_thin:.1f} ms after the piston turns instead of "
    "{full_thin:.1f} ms in 0.03 Pa s, and within {inertia_thick:.1f} % of the same time from 1 Pa s on; "
    "thinning takes {thinning_thick:.1f} % of swept from the fill at 10 Pa s and {thinning_thin:.1f} % at "
    "0.1 Pa s"
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
    values[:, [STREAM, MASS, COUPLING]] = 0.0
    return check._replace(table=values)


def primer(viscosity: float, thinning: bool) -> Scenario:
    """The invented lower with a material of a viscosity [Pa s]."""
    changes: dict[str, object] = {
        "shims.thicknesses": (),
        "shims.below": (),
        "inlet_check.base_travel": SHOWN,
    }
    if thinning:
        at_rest = viscosity * (1.0 + (AT_RATE / ONSET) ** 2) ** (0.5 * (1.0 - EXPONENT))
        changes |= {"material.flow": "shear-thinning", "material.thinning_exponent": EXPONENT}
        changes |= {"material.thinning_onset": ONSET, "material.yield_stress": 0.0}
        viscosity = at_rest
    return with_values(
        read_scenario(ROOT / "scenarios" / "primer.toml"), {**changes, "material.viscosity": viscosity}
    )


class Outcome(NamedTuple):
    """How late the inlet check closes [ms], and the fill [%]; nan where the run failed, or, of
    the lag, where the cycle does not repeat itself."""

    lag: float
    fill: float


def outcome(viscosity: float, change: Change, thinning: bool = False) -> Outcome:
    """Of a run."""
    p: Parameters = core_parameters(primer(viscosity, thinning))
    p = p._replace(inlet=change(p.inlet), piston=change(p.piston))
    result = run_core(p)
    if result.status.failed:
        return Outcome(np.nan, np.nan)
    m = metrics_of(motion_of(p, result))
    lag = 1e3 * m.inlet.closing_lag if result.status == Status.OK else np.nan
    return Outcome(lag, 100.0 * m.fill_fraction)


def over(viscosities: np.ndarray, change: Change, thinning: bool = False) -> Outcome:
    """At the shown travel over viscosity, as arrays."""
    return Outcome(*np.array([outcome(each, change, thinning) for each in viscosities]).T)


def claim() -> dict[str, float]:
    """At the shown travel: how late the check closes in thin material with inertia and without; the most that
    inertia changes of it in thick material [%]; what thinning changes of the fill [% of swept], thick and
    thin."""
    full, creeping = (
        {viscosity: outcome(viscosity, change) for viscosity in (0.03, 0.1, 1.0, 10.0)}
        for change in (whole, without_inertia)
    )
    thins = {viscosity: outcome(viscosity, whole, True) for viscosity in (0.1, 10.0)}
    thick = max(abs(creeping[each].lag / full[each].lag - 1.0) for each in (1.0, 10.0))
    return {
        "full_thin": full[0.03].lag,
        "creeping_thin": creeping[0.03].lag,
        "inertia_thick": float(math.ceil(1e3 * thick) / 10.0),
        "thinning_thick": full[10.0].fill - thins[10.0].fill,
        "thinning_thin": abs(full[0.1].fill - thins[0.1].fill),
    }


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "where_corrections_matter.png"
    figure = new_figure(8.0, 8.0)
    upper, lower = figure.subplots(2, 1)
    full, creeping = over(THIN, whole), over(THIN, without_inertia)
    upper.plot(THIN, full.lag, **INLET)
    upper.plot(THIN, creeping.lag, **PISTON)
    upper.set(xscale="log", ylim=(0.0, None), title="Thin: when the inlet check closes")
    tidy(upper, "closes after the piston turns [ms]")
    upper.set_xlabel("viscosity [Pa s], the same at all shear rates")
    named_at(upper, (THIN, full.lag), 0.02, "with inertia", INLET, (0.5, 1.0))
    named_at(upper, (THIN, creeping.lag), 0.05, "without inertia", PISTON, (0.0, -1.0))
    if (restless := np.isnan(creeping.lag)).any():
        end = THIN[restless].max()
        upper.axvspan(THIN[0], end, ymax=0.27, facecolor="#eeeeee")
        words = "without:\nthe ball\nbounces\non and on"
        upper.text(
            math.sqrt(THIN[0] * end), 6.0, words, color=PISTON["color"], fontsize=8, ha="center", va="center"
        )
    plain, thins = over(THICK, whole), over(THICK, whole, thinning=True)
    lower.plot(THICK, plain.fill, **INLET)
    lower.plot(THICK, thins.fill, **PISTON)
    lower.set(
        xscale="log",
        ylim=(0.0, 105.0),
        title=f"Thick, both liquids equal at {AT_RATE:g} 1/s: how much is drawn in",
    )
    tidy(lower, "drawn in [% of swept]")
    lower.set_xlabel(f"viscosity at {AT_RATE:g} 1/s [Pa s], at which both liquids are equal")
    named_at(lower, (THICK, plain.fill), 12.0, "does not thin", INLET, (1.0, 1.0))
    named_at(lower, (THICK, thins.fill), 9.5, "thins, so it is thicker in the hose", PISTON, (-1.0, -0.5))
    titled(figure, f"{CLAIM}\nAn invented lower at {1e3 * SHOWN:g} mm of travel, 30 cycles/min")
    save(figure, path)
    return [path]


def table() -> str:
    """How late the inlet check closes, and fill, at the shown travel: a row a viscosity, as docs/closures.md
    has them."""
    columns = {
        "full model": over(VISCOSITIES, whole),
        "creeping flow": over(VISCOSITIES, without_inertia),
        "no mass of the liquid": over(VISCOSITIES, without_mass),
        "thinning": over(VISCOSITIES, whole, thinning=True),
    }
    lines = ["| viscosity | " + " | ".join(columns) + " |", "|---" * (len(columns) + 1) + "|"]
    for i, viscosity in enumerate(VISCOSITIES):
        cells = (f"{_lag(column.lag[i])}, {column.fill[i]:.1f} %" for column in columns.values())
        lines.append(f"| {viscosity:g} Pa s | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def _lag(lag: float) -> str:
    return "bounces" if math.isnan(lag) else f"{lag:.1f} ms"


if __name__ == "__main__":
    if "--table" in sys.argv:
        print(table())
    else:
        draw_from_command_line(main, __doc__, IMAGES)
