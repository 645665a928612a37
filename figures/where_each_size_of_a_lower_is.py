"""Where each size of a lower is that `balltravel new` asks for: the drawing of the worksheet.

Draws worksheet_section.png.
"""

from pathlib import Path

from balltravel.report.figures.style import draw_from_command_line, save
from balltravel.report.figures.worksheet.page import section_figure

IMAGES = Path(__file__).parents[1] / "docs" / "images"


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    path = folder / "worksheet_section.png"
    save(section_figure(), path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
