"""Heavier material needs longer travel: lost volume against ball travel at five viscosities.

The lower is invented (scenarios/primer.toml), its shims are taken away so that the travel is free.

Draws lost_volume.png.
"""

from pathlib import Path

import numpy as np
import xarray as xr
from matplotlib.figure import Figure

from balltravel import read_scenario, sweep, with_values
from balltravel.report.figures.style import draw_from_command_line, save
from balltravel.report.figures.travel import SAME, lost_volume_figure

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
VISCOSITIES = (0.1, 1.0, 3.0, 5.0, 10.0)
CLAIM = "Heavier material needs longer travel"
SAID = (
    "the shortest travel within 0.1 % of swept of the least loss is {at_0_1:.2f} mm (the shortest "
    "tried) in 0.1 Pa s, {at_1:.2f} mm in 1 Pa s, {at_5:.2f} mm in 5 Pa s and {at_10:.2f} mm in 10 Pa s"
)
TRAVELS = np.linspace(0.5e-3, 12e-3, 47)


def lost_volume(travels: np.ndarray = TRAVELS) -> xr.Dataset:
    """The sweep over viscosity [Pa s] and travel [m]."""
    primer = read_scenario(ROOT / "scenarios" / "primer.toml")
    free = with_values(primer, {"shims.thicknesses": (), "shims.below": ()})
    return sweep(
        free, {"material.viscosity": VISCOSITIES, "inlet_check.base_travel": [float(t) for t in travels]}
    )


def claim() -> dict[str, float]:
    """Viscosity [Pa s] -> the shortest travel [mm] within 0.1 % of swept of the least loss, as marked."""
    data = lost_volume()
    delivered = data.volumetric_efficiency.values
    enough = delivered >= delivered.max(axis=1, keepdims=True) - 1e-3
    best = 1e3 * data["inlet_check_base_travel"].values[enough.argmax(axis=1)]
    return {
        f"at_{viscosity:g}".replace(".", "_"): float(travel)
        for viscosity, travel in zip(VISCOSITIES, best, strict=True)
    }


def say_what_is_marked(figure: Figure) -> None:
    """In the legend and above the panel."""
    axes = figure.axes[0]
    words = f"shortest travel\nwithin {SAME:g} % of swept\nof the least loss"
    legend, above = axes.get_legend(), axes.child_axes[0]
    assert legend is not None
    next(text for text in legend.get_texts() if text.get_text().startswith("least")).set_text(words)
    above.set_xlabel(f"{words} [mm]".replace("\n", " "), fontsize=9)


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "lost_volume.png"
    title = f"{CLAIM} (an invented lower, 30 cycles/min)"
    figure = lost_volume_figure(lost_volume(), title)
    say_what_is_marked(figure)
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
