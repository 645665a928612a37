"""What the balls do in a cycle: an invented lower with a stain, a primer and a mastic.

Draws cycle_NAME.png (for engineers) and plain_NAME.png (for everyone), NAME: stain, primer, mastic.
"""

from pathlib import Path

from balltravel import Cycle, read_scenario, run_cycle
from balltravel.report.figures.cycle import cycle_figure
from balltravel.report.figures.everyone.cycle import plain_figure
from balltravel.report.figures.style import draw_from_command_line, on_axes_of, save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"

NAMES = ("stain", "primer", "mastic")

CLAIM = "The heavier the material, the later the inlet check closes and the less is drawn in"
SAID = (
    "stain, primer and mastic: {stain_fill:.1f}, {primer_fill:.1f} and {mastic_fill:.1f} % is drawn "
    "in, and the inlet check closes {stain_lag:.0f}, {primer_lag:.0f} and {mastic_lag:.0f} ms "
    "after the piston turns"
)


def cycles() -> dict[str, Cycle]:
    """By name."""
    return {name: run_cycle(read_scenario(ROOT / "scenarios" / f"{name}.toml")) for name in NAMES}


def claim() -> dict[str, float]:
    """Fill [%] and closing lag [ms] of each."""
    numbers = {}
    for name, cycle in cycles().items():
        assert cycle.metrics is not None
        numbers[f"{name}_fill"] = 100.0 * cycle.metrics.fill_fraction
        numbers[f"{name}_lag"] = 1e3 * cycle.metrics.inlet.closing_lag
    return numbers


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the three cycles into a folder, those for everyone on the same axes."""
    drawn, like = [], plain_figure(cycles()["mastic"])
    for name, cycle in cycles().items():
        for kind, figure in (
            ("cycle", cycle_figure(cycle)),
            ("plain", on_axes_of(plain_figure(cycle), like)),
        ):
            drawn.append(folder / f"{kind}_{name}.png")
            save(figure, drawn[-1])
    return drawn


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
