"""A foot valve wears: the history of an invented pump, as `balltravel log` draws it.

Draws history_of_a_pump.png.
"""

from pathlib import Path

from balltravel import history, read_scenario
from balltravel.report.figures.history import history_figure
from balltravel.report.figures.style import draw_from_command_line, save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
LOWER = ROOT / "scenarios" / "roof_elastomer_from_a_drum.toml"


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "history_of_a_pump.png"
    found = history(LOWER, log=ROOT / "scenarios" / "seen" / "drum.log.toml")
    figure = history_figure(read_scenario(LOWER), found)
    assert figure is not None
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
