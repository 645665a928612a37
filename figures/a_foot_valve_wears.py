"""A foot valve wears: the history of an invented pump, as `balltravel log` draws it.

Draws history_of_a_pump.png.
"""

from pathlib import Path

from matplotlib.figure import Figure

from balltravel import history, read_scenario
from balltravel.bench.history.history import History
from balltravel.report.figures.history import history_figure
from balltravel.report.figures.style import draw_from_command_line, save

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"
LOWER = ROOT / "scenarios" / "roof_elastomer_from_a_drum.toml"


def about(found: History, figure: Figure) -> str:
    """What is drawn, a line each; of what the figure says of itself, what is left out stays."""
    drawn = figure.axes[0].get_title()
    faces = [line.get_markerfacecolor() for axes in figure.axes for line in axes.lines]
    hollow = "; hollow: alone it does not explain what was seen" if "white" in faces else ""
    return "\n".join(
        (
            f"An invented pump, {found.entries[0].day} to {found.entries[-1].day}.",
            "Dots with bands (95 of 100): delivery as seen; the gap as fitted to all that was seen that day.",
            f"Dotted: trend; grey: before the foot valve began anew{hollow}.",
            *(line for line in drawn.split("\n") if line.startswith("Not drawn")),
        )
    )


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "history_of_a_pump.png"
    found = history(LOWER, log=ROOT / "scenarios" / "seen" / "drum.log.toml")
    figure = history_figure(read_scenario(LOWER), found)
    assert figure is not None
    figure.axes[0].set_title(about(found, figure), fontsize=9)
    save(figure, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
