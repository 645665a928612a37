"""Made-up runs in place of those that a walk makes."""

from balltravel.core.status import Status
from balltravel.study.search import walk as walking
from balltravel.sweeps.cases import Case

from .metrics_by_hand import metrics


def walked_by(monkeypatch, fill, failed=lambda _: False):
    """A lower whose fill is a function of the cycle rate [1/min]."""
    asked = []

    def run_case(s):
        rate = 60.0 * s.drive.cycle_rate
        asked.append(round(rate, 6))
        return (
            Case(Status.STALLED, None) if failed(rate) else Case(Status.OK, metrics(fill_fraction=fill(rate)))
        )

    monkeypatch.setattr(walking, "run_case", run_case)
    return asked
