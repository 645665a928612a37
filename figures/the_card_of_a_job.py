"""The front of the card that `balltravel recommend --card` makes of a job.

Draws job_card.png.
"""

from datetime import date
from pathlib import Path

from balltravel import read_scenario, recommend
from balltravel.report.figures.card.page import card_figures
from balltravel.report.figures.style import draw_from_command_line, save
from balltravel.report.text.card.front import card_of
from balltravel.study.limits.job import with_job
from balltravel.units.display import shown_in
from balltravel.units.systems import METRIC

ROOT = Path(__file__).parents[1]
IMAGES = ROOT / "docs" / "images"


def main(folder: Path = IMAGES) -> list[Path]:
    """Draw the figure into a folder."""
    scenario, path = read_scenario(ROOT / "scenarios" / "primer.toml"), folder / "job_card.png"
    with shown_in(METRIC):
        recommendation = with_job(scenario, recommend(scenario, draws=32))
        front, _ = card_figures(card_of(scenario, recommendation, date(2026, 3, 31)), METRIC)
        save(front, path)
    return [path]


if __name__ == "__main__":
    draw_from_command_line(main, __doc__, IMAGES)
