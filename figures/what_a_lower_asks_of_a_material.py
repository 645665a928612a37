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
NEAR = "edge, lift 0.5 mm"
"""End of the names of the places at a seat whose ball is near it: a tenth of its travel."""

CLAIM = "Near its seat a ball shears the material far faster than the readings reach"
SAID = (
    "the readings end at {readings:.0f} 1/s; at the edge of a seat whose ball is lifted by a tenth of its "
    "travel the lower makes {seat:.1f} thousand 1/s, {times:.0f} times as much; elsewhere at most "
    "{elsewhere:.2f} thousand 1/s, {times_elsewhere:.1f} times as much, and in its suction hose "
    "{hose:.0f} 1/s"
)


def claim() -> dict[str, float]:
    """The fastest shear rates of the readings [1/s], at a seat that closes and at all places but those
    [1000/s] and in the hose [1/s], and both over readings."""
    report = material_report(read_scenario(ROOT / "scenarios" / "mastic_by_readings.toml"))
    assert report.source is not None
    readings, seat = report.source.rates[1], max(place.fastest for place in report.places)
    elsewhere = max(place.fastest for place in report.places if not place.name.endswith(NEAR))
    hose = next(place.fastest for place in report.places if place.name == "suction hose")
    return {
        "readings": readings,
        "seat": 1e-3 * seat,
        "hose": hose,
        "times": seat / readings,
        "elsewhere": 1e-3 * elsewhere,
        "times_elsewhere": elsewhere / readings,
    }


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "material_by_readings.png"
    scenario = read_scenario(ROOT / "scenarios" / "mastic_by_readings.toml")
    figure = material_figure(scenario, material_report(scenario))
    figure.suptitle(f"{CLAIM}", fontsize=13, fontweight="bold")
    upper, lower = figure.axes
    upper.set_title("An invented mastic, known by readings", fontsize=10)
    lower.tick_params(axis="y", labelsize=9)
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
