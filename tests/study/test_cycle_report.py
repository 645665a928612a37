"""What `simulate` says beside its numbers: how long the void takes within the closing lag."""

from types import SimpleNamespace

import pytest

from balltravel.core.status import Status
from balltravel.study import cycle_report as module

from ..helpers.lowers import scenario
from ..helpers.metrics_by_hand import check, metrics


def notes(monkeypatch, **numbers):
    """The sentences on the closing lag; lags and the void's closing in seconds."""
    found = metrics(void_collapse=numbers.pop("void"), inlet=check(**numbers))
    cycle = SimpleNamespace(metrics=found, status=Status.OK)
    monkeypatch.setattr(module, "run_cycle", lambda *_, **__: cycle)
    monkeypatch.setattr(module, "dive_caution", lambda *_: ())
    return [text for text in module.cycle_report(scenario()).warnings if "closing lag" in text]


def test_a_void_that_closes_longer_than_the_ball_is_told_apart_from_slow_closing(monkeypatch):
    (text,) = notes(monkeypatch, void=0.307, closing_lag=0.317, ball_lag=0.0119)
    assert text == (
        "inlet check: the closing lag of 317 ms includes 307 ms in which the void (cavitation) closes; "
        "only the ball lag, 11.9 ms, is slow closing."
    )


@pytest.mark.parametrize("void", [0.0, 0.0265, 0.0322])
def test_a_shorter_void_or_none_is_not_worth_a_sentence(monkeypatch, void):
    assert notes(monkeypatch, void=void, closing_lag=0.053, ball_lag=0.0322) == []


def test_a_void_that_outlasts_the_closing_lag_fills_it(monkeypatch):
    """The ball seats while the chamber is still below the atmosphere."""
    (text,) = notes(monkeypatch, void=0.2, closing_lag=0.05, ball_lag=0.01)
    assert "50 ms includes 50 ms" in text
    assert notes(monkeypatch, void=0.2, closing_lag=0.0, ball_lag=0.0) == []
