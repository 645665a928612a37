"""Hypothesis without deadlines: no test may fail because the machine is busy. Soaks by ``-m soak`` only.

``within`` and ``agree`` print how near a test came: docs/validation.md is made of that.
"""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")

SCENARIOS = Path(__file__).parents[1] / "scenarios"


def pytest_collection_modifyitems(config, items):
    if "soak" in config.option.markexpr:
        for item in items:
            item.add_marker(pytest.mark.timeout(0))
        return
    skip = pytest.mark.skip(reason="a soak: run with -m soak")
    for item in items:
        if item.get_closest_marker("soak"):
            item.add_marker(skip)


@pytest.fixture
def story():
    """A shipped scenario by name, with settings as on the command line."""
    from balltravel.files.read_write import read_scenario

    def read(name, *settings):
        return read_scenario(SCENARIOS / f"{name}.toml", settings)

    return read


@pytest.fixture
def within():
    """``within(difference, tolerance)``: asserts that a number, or each of an array, is no larger; at the end
    prints how many there were and how large the worst was."""
    seen = {}

    def check(difference, tolerance):
        sizes = np.abs(np.ravel(difference))
        seen.setdefault(tolerance, []).extend(sizes)
        assert sizes.max() <= tolerance

    yield check
    for tolerance, sizes in sorted(seen.items()):
        noun = "number" if len(sizes) == 1 else "numbers"
        print(f"{len(sizes)} {noun} within {tolerance:.1e}: largest difference {max(sizes):.1e}")


@pytest.fixture
def agree(within):
    """``agree(value, expected, rel)``: asserts that numbers agree, relatively."""

    def check(value, expected, rel):
        within(np.asarray(value) / expected - 1.0, rel)

    return check
