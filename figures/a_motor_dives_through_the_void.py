"""A motor dives through the void of a starved lower, where a piston that moves as told goes on at its speed.

Invented lower, 15 Pa s at 30 cycles/min, 5 mm ball travel: position of the piston, pressure in the lower
chamber and volume drawn in over one cycle, by a constant speed and by the hydraulic motor that would make
that rate in a full lower.

Draws motor_dives.png.
"""

import textwrap
from pathlib import Path
from typing import Any

import xarray as xr

from balltravel import cycle_metrics, read_scenario, simulate
from balltravel.report.figures.style import (
    INLET,
    LIMIT,
    PISTON,
    draw_from_command_line,
    new_figure,
    save,
    tidy,
)
from balltravel.scenario.model import Scenario, with_value
from balltravel.study.travel.dives import with_motor

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
VISCOSITY = 15.0

CLAIM = "In a starved lower a motor's piston dives through the void, so that less is drawn in"
SAID = (
    "by constant speed {constant_fill:.1f} % is drawn in and the void takes {constant_void:.0f} ms to "
    "close, by a motor {motor_fill:.1f} % and {motor_void:.0f} ms"
)


def lowers() -> dict[str, Scenario]:
    """Name -> the lower with a prescribed speed, and with the motor that would make that rate."""
    told = with_value(read_scenario(ROOT / "scenarios" / "primer.toml"), "material.viscosity", VISCOSITY)
    return {"constant": told, "motor": with_motor(told)}


def claim() -> dict[str, float]:
    """Fill [%] and how long the void takes to close [ms] of both."""
    metrics = {name: cycle_metrics(simulate(lower)) for name, lower in lowers().items()}
    fills = {f"{name}_fill": 100.0 * m.fill_fraction for name, m in metrics.items()}
    return {**fills, **{f"{name}_void": 1e3 * m.void_collapse for name, m in metrics.items()}}


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    both = lowers()
    runs = {
        "constant speed": (simulate(both["constant"]), INLET),
        "hydraulic motor": (simulate(both["motor"]), PISTON),
    }
    figure = new_figure(8.0, 8.0)
    panels = figure.subplots(3, 1, sharex=True)
    for name, (data, style) in runs.items():
        _draw(panels, data, name, style)
    panels[1].axhline(1.01325, label="atmosphere", **LIMIT)
    panels[1].set_ylim(-0.1, 2.0)
    for axes, label in zip(
        panels,
        (
            "piston above bottom\ndead centre [mm]",
            "absolute pressure,\nlower chamber [bar]",
            "volume drawn in\n[% of swept volume]",
        ),
        strict=True,
    ):
        tidy(axes, label)
    panels[0].legend(fontsize=10)
    _say_what_happens(panels, runs)
    panels[2].set_ylim(-4.0, 85.0)
    panels[2].set_xlabel("time since the reversal at bottom dead centre [s]")
    figure.suptitle(textwrap.fill(CLAIM, 66), fontsize=13, fontweight="bold")
    panels[0].set_title(
        f"An invented lower, {VISCOSITY:g} Pa s, 30 cycles/min at constant speed", fontsize=10
    )
    path = folder / "motor_dives.png"
    save(figure, path)
    return [path]


def _say_what_happens(panels: Any, runs: dict[str, tuple[xr.Dataset, dict[str, Any]]]) -> None:
    """The dive, the void and what each draws in, where they are seen."""
    dive, _ = runs["hydraulic motor"]
    middle = float(dive.top_dead_centre) + 0.5 * cycle_metrics(dive).void_collapse
    height = 1e3 * float(dive.piston_position.interp(time=middle))
    panels[0].annotate(
        "dives through\nthe void", (middle, height), (-95.0, -60.0), textcoords="offset points", fontsize=10,
        arrowprops={"arrowstyle": "->"},
    )  # fmt: skip
    panels[1].text(0.6, 0.16, "starved: void in the chamber", ha="center", fontsize=10)
    panels[1].text(0.75, 1.05, "atmosphere", transform=panels[1].get_yaxis_transform(), fontsize=10)
    for (run, style), below in zip(runs.values(), (False, True), strict=True):
        fill = 100.0 * cycle_metrics(run).fill_fraction
        end = 100.0 * float(run.passed_volume[-1, 0] / run.swept_volume)
        panels[2].annotate(
            f"at most {fill:.1f} %", (float(run.time[-1]), end), (0.0, -4.0 if below else 4.0),
            textcoords="offset points", ha="right", va="top" if below else "bottom", color=style["color"],
            fontsize=10,
        )  # fmt: skip


def _draw(panels: object, data: xr.Dataset, name: str, style: dict[str, object]) -> None:
    swept = float(data.swept_volume)
    panels[0].plot(data.time, 1e3 * data.piston_position, label=name, **style)  # type: ignore[index]
    panels[1].plot(data.time, 1e-5 * data.lower_pressure, label=name, **style)  # type: ignore[index]
    panels[2].plot(data.time, 100.0 * data.passed_volume[:, 0] / swept, label=name, **style)  # type: ignore[index]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
