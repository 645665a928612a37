"""The verdict stands before and after in a calibration's text."""

from balltravel.bench.calibrate.calibrate import calibrate
from balltravel.report.text.bench.calibrate import calibration_text
from balltravel.study.verdict.recommend import recommend

from ..helpers.known_lower import known_lower, point_of, read_of


def test_the_verdict_is_told_before_and_after_in_few_lines():
    lower = known_lower()
    truth = point_of(lower, viscosity=1.0)
    told = calibrate(lower, read_of(lower, truth), workers=1)
    verdict = recommend(lower, draws=32, workers=1).verdict
    text = calibration_text(lower, told, (verdict, verdict))
    before, _, after = text.partition("The verdict before:")[2].partition("The verdict after:")
    for part in (before, after):
        assert "travel" in part.lower()
        assert len(part.strip().splitlines()) <= 6
