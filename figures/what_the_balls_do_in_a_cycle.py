"""What the balls do in a cycle: an invented lower with a stain, a primer and a mastic."""

from pathlib import Path

from balltravel import read_scenario, run_cycle
from balltravel.report.figures.cycle import cycle_figure
from balltravel.report.figures.style import save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the three cycles into a folder."""
    drawn = []
    for name in ("stain", "primer", "mastic"):
        path = folder / f"cycle_{name}.png"
        save(cycle_figure(run_cycle(read_scenario(ROOT / "scenarios" / f"{name}.toml"))), path)
        drawn.append(path)
    return drawn


if __name__ == "__main__":
    print(*main(), sep="\n")
