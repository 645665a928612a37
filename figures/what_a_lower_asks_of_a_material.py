"""An invented mastic known by readings: the law through them with its band, and the shear rates at which a
lower asks for it."""

from pathlib import Path

from balltravel import read_scenario
from balltravel.estimate.material_report import material_report
from balltravel.report.figures.material import material_figure
from balltravel.report.figures.style import save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "material_by_readings.png"
    scenario = read_scenario(ROOT / "scenarios" / "mastic_by_readings.toml")
    save(material_figure(scenario, material_report(scenario)), path)
    return [path]


if __name__ == "__main__":
    print(*main(), sep="\n")
