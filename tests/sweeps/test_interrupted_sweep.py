"""An interrupt drops what has not begun, at whatever moment it comes."""

import threading
import time

import pytest

from balltravel.sweeps import cases as sweeps


class CutShort(list):
    """Scenarios that are handed out until somebody presses the key."""

    def __iter__(self):
        yield from list.__iter__(self)
        raise KeyboardInterrupt


def test_an_interrupt_while_cases_are_handed_out_drops_those_that_wait(monkeypatch):
    begun, lock = [], threading.Lock()

    def slow_case(scenario, _):
        with lock:
            begun.append(scenario)
        time.sleep(0.2)

    monkeypatch.setattr(sweeps, "run_case", slow_case)
    with pytest.raises(KeyboardInterrupt):
        sweeps.run_cases(CutShort(range(50)), workers=2)
    assert len(begun) <= 4


def test_an_interrupt_while_cases_run_drops_those_that_wait(monkeypatch):
    begun, lock = [], threading.Lock()

    def slow_case(scenario, _):
        with lock:
            begun.append(scenario)
        time.sleep(0.05)

    def pressed(done, _):
        if done == 3:
            raise KeyboardInterrupt

    monkeypatch.setattr(sweeps, "run_case", slow_case)
    with pytest.raises(KeyboardInterrupt):
        sweeps.run_cases(list(range(50)), workers=2, progress=pressed)
    assert 3 <= len(begun) <= 8
