"""An invented mastic known by readings: the law through them with its band, and the shear rates at which a
lower asks for it.

Draws material_by_readings.png.
"""

from pathlib import Path

from balltravel import read_scenario
from balltravel.estimate.material_report import material_report
from balltravel.report.figures.material import material_figure
from balltravel.report.figures.style import draw_from_command_line, save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"


CLAIM = "A lower shears its material far faster than a rheometer does"
SAID = (
    "the readings end at {readings:.0f} 1/s; between ball and seat the lower makes {seat:.1f} "
    "thousand 1/s, {times:.0f} times as much; in its suction hose at most {hose:.0f} 1/s"
)


def claim() -> dict[str, float]:
    """The fastest shear rates of the readings [1/s], at a seat that closes [1000/s] and in the hose
    [1/s], and seat over readings."""
    report = material_report(read_scenario(ROOT / "scenarios" / "mastic_by_readings.toml"))
    assert report.source is not None
    readings, seat = report.source.rates[1], max(place.fastest for place in report.places)
    hose = next(place.fastest for place in report.places if place.name == "suction hose")
    return {"readings": readings, "seat": 1e-3 * seat, "hose": hose, "times": seat / readings}


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "material_by_readings.png"
    scenario = read_scenario(ROOT / "scenarios" / "mastic_by_readings.toml")
    figure = material_figure(scenario, material_report(scenario))
    figure.suptitle(f"{CLAIM}", fontsize=13, fontweight="bold")
    figure.axes[0].set_title("An invented mastic, known by readings", fontsize=10)
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
